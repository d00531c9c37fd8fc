"""What a role in an area does in a usual shift: its length, the kind of unit, the acts of care in it."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from thenar.records.actions.descriptions import describe, described
from thenar.records.models import Area, Role, WorkDescription
from thenar.records.queries.observations import area_to, descriptions_in_force, roles_in
from thenar.records.rights import Act
from thenar.screens import clock
from thenar.screens.book import book
from thenar.screens.clinic.taking import taken, typed
from thenar.screens.keeping import new_form_key
from thenar.screens.people import for_those_who, person
from thenar.screens.workplace.describing_form import WorkForm, as_typed


@require_http_methods(["GET", "HEAD", "POST"])
@for_those_who(Act.WRITE_WORKPLACE)
def describe_work(request: HttpRequest, ref: str) -> HttpResponse:
    """Describe the work of one role here; without a role, choose one."""
    by = person(request)
    area = area_to(Act.WRITE_WORKPLACE, ref=ref, by=by)
    roles = roles_in(area, on=clock.today())
    before = descriptions_in_force(area, by=by)
    given = typed(request)
    wanted = request.GET.get("role") or (given.get("role") if given else None)
    role = next((one for one in roles if one.ref == wanted), None)
    if role is None:
        listed = [(one, before.get(one.pk)) for one in roles]
        return render(request, "workplace/describe_roles.html", {"area": area, "listed": listed})
    return _described(request, area, role, before.get(role.pk))


def _described(request: HttpRequest, area: Area, role: Role, before: WorkDescription | None) -> HttpResponse:
    by = person(request)
    given = typed(request)
    if given is None and before is not None:
        form = WorkForm(initial=as_typed(described(before)), book=book(), on=clock.today())
    else:
        form = WorkForm(given, book=book(), on=clock.today())
    if "more_rows" not in request.POST and taken(
        request,
        f"describe {area.ref} {role.ref}",
        form,
        lambda: describe(area=area, role=role, work=form.work(), by=by, now=clock.now(), book=book()).ref,
    ):
        messages.success(request, f"The work of {role.name} is described.")
        return redirect("area", ref=area.ref)
    context = {
        "area": area,
        "role": role,
        "before": before,
        "form": form,
        "form_key": new_form_key(by),
        "checked": request.method == "POST" and "more_rows" not in request.POST,
    }
    return render(request, "workplace/describe_work.html", context)
