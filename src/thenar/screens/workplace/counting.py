"""Counting what hands do: typed from a paper sheet, printed to be ticked, or pressed on a phone."""

from dataclasses import asdict
from pathlib import Path

from django.contrib import messages
from django.contrib.staticfiles import finders
from django.http import HttpRequest, HttpResponse, HttpResponseBase, JsonResponse
from django.middleware.csrf import get_token
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.crypto import salted_hmac
from django.utils.http import urlencode
from django.views.decorators.http import require_http_methods, require_safe

from thenar.errors import BadInput, Conflict, ThenarError
from thenar.exposure.sessions import CountsAskedBack
from thenar.exposure.shift import EACH_WAY, Watched
from thenar.records.actions.observations import record_session
from thenar.records.models import Area, ObservedSession, User
from thenar.records.models.workplace import SHIFT_PARTS
from thenar.records.queries.observations import area_to, roles_in, sessions_in, tally_of
from thenar.records.receipts import taken_once
from thenar.records.rights import Act
from thenar.screens import clock
from thenar.screens.book import book
from thenar.screens.clinic.taking import taken, typed
from thenar.screens.keeping import new_form_key
from thenar.screens.people import for_those_who, person
from thenar.screens.workplace.counting_form import SessionForm
from thenar.screens.workplace.phone_log import read_phone_log

LATEST = 8
HOURS_ON_SHEET = 8
WATCHED_FOR = [
    (Watched.WASHES, "Hand washes"),
    (Watched.RUBS, "Hand rubs"),
    (Watched.WET, "Water on bare hands"),
    (Watched.GLOVES, "Gloves"),
    (Watched.CREAM, "Cream"),
]


@require_http_methods(["GET", "HEAD", "POST"])
@for_those_who(Act.OBSERVE)
def count_shift(request: HttpRequest, ref: str) -> HttpResponse:
    """Type a session from a paper sheet."""
    area = area_to(Act.OBSERVE, ref=ref, by=person(request))
    form = _session_form(request, area)
    if _recorded(request, area, form, came_by="page"):
        return redirect("count_shift", ref=ref)
    latest = [(row, tally_of(row)) for row in sessions_in(area, by=person(request))[:LATEST]]
    return render(request, "workplace/count_shift.html", _context(request, area, form) | {"latest": latest})


@require_safe
@for_those_who(Act.OBSERVE)
def tally_sheet(request: HttpRequest, ref: str) -> HttpResponse:
    """A sheet to print, with boxes to tick for each hour."""
    area = area_to(Act.OBSERVE, ref=ref, by=person(request))
    context = {
        "area": area,
        "hours": range(1, HOURS_ON_SHEET + 1),
        "convention": EACH_WAY.says.partition(": ")[2],
    }
    return render(request, "workplace/tally_sheet.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@for_those_who(Act.OBSERVE)
def count_on_phone(request: HttpRequest, ref: str) -> HttpResponse:
    """Count with big buttons. Without script the same page is a form of plain numbers."""
    area = area_to(Act.OBSERVE, ref=ref, by=person(request))
    form = _session_form(request, area)
    if _recorded(request, area, form, came_by="phone"):
        return redirect("count_on_phone", ref=ref)
    context = _context(request, area, form) | {
        "parts": SHIFT_PARTS,
        "watched_for": WATCHED_FOR,
        "who": _tag(person(request)),
        "sign_in": f"{reverse('sign_in')}?{urlencode({'next': request.path})}",
    }
    if "offline" in request.GET:  # what a phone keeps: nobody's name, no key, no form
        context |= {
            "kept_on_phone": True,
            "person": None,
            "places": [],
            "messages": [],
            "who": "",
            "form_key": "",
        }
    return render(request, "workplace/count_phone.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@for_those_who(Act.OBSERVE)
def sync_sessions(request: HttpRequest, ref: str) -> HttpResponseBase:
    """Take a session from a phone, once however often it is sent. A look first gives the key for sending."""
    by = person(request)
    area = area_to(Act.OBSERVE, ref=ref, by=by)
    if request.method != "POST":
        return JsonResponse({"token": get_token(request), "who": _tag(by)})
    try:
        return JsonResponse({"ref": _taken_from_phone(request.body, area, by)})
    except CountsAskedBack as asked:
        return _refused(asked, 422, asked_back=True)
    except BadInput as problem:
        return _refused(problem, 422)
    except Conflict as problem:
        return _refused(problem, 409)


@require_safe
@for_those_who(Act.OBSERVE)
def counting_worker(request: HttpRequest) -> HttpResponse:  # noqa: ARG001
    """The script that keeps the phone page for when there is no connection. Its reach is that page alone."""
    path = finders.find("thenar/counting-worker.js")
    assert isinstance(path, str)  # shipped
    return HttpResponse(Path(path).read_bytes(), content_type="text/javascript; charset=utf-8")


def _session_form(request: HttpRequest, area: Area) -> SessionForm:
    roles = roles_in(area, on=clock.today())
    initial = {"observer": person(request).called, "role": request.GET.get("role", "")}
    return SessionForm(typed(request), roles=roles, initial=initial)


def _context(request: HttpRequest, area: Area, form: SessionForm) -> dict[str, object]:
    return {
        "area": area,
        "form": form,
        "roles": form.roles.values(),
        "form_key": new_form_key(person(request)),
    }


def _recorded(request: HttpRequest, area: Area, form: SessionForm, *, came_by: str) -> bool:
    """Whether the form was taken; what is asked back can be confirmed on the form."""

    def write() -> str:
        try:
            return _record(request, area, form, came_by).ref
        except CountsAskedBack:
            form.asked_back = True
            raise

    if not taken(request, f"count {came_by} {area.ref}", form, write):
        return False
    messages.success(request, "The session is recorded. The next sheet can be typed.")
    return True


def _record(request: HttpRequest, area: Area, form: SessionForm, came_by: str) -> ObservedSession:
    return record_session(
        seen=form.seen(area),
        came_by=came_by,
        by=person(request),
        now=clock.now(),
        book=book(),
        counts_confirmed=form.cleaned_data["counts_confirmed"],
    )


def _taken_from_phone(raw: bytes, area: Area, by: User) -> str:
    """The reference of the session, now or when it came before. Confirming is no part of what it says."""
    log, now = read_phone_log(raw), clock.now()
    body = {name: given for name, given in asdict(log).items() if name != "confirmed"}
    roles = {role.ref: role for role in roles_in(area, on=clock.today())}
    return taken_once(
        key=f"phone {log.key}",
        form=f"count on phone {area.ref}",
        body=body,
        now=now,
        write=lambda: (
            record_session(
                seen=log.seen(area, roles, by.called),
                came_by="phone",
                by=by,
                now=now,
                book=book(),
                counts_confirmed=log.confirmed,
            ).ref
        ),
    )


def _refused(problem: ThenarError, status: int, *, asked_back: bool = False) -> JsonResponse:
    return JsonResponse(
        {"what": problem.what, "why": problem.why, "todo": problem.todo, "asked_back": asked_back},
        status=status,
    )


def _tag(by: User) -> str:
    """Tells a phone whether the person signed in is the one who counted, without saying who that is."""
    return salted_hmac("thenar.counting", str(by.pk)).hexdigest()[:16]
