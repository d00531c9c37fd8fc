"""Compare controls for a post, and record one."""

from dataclasses import dataclass
from datetime import date

from django import forms
from django.conf import settings
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from thenar.errors import BadInput
from thenar.records.actions.controls import record_control
from thenar.records.models.workplace import HIERARCHY
from thenar.records.queries.workplace import AreaStory, area_story
from thenar.records.rights import Act, may, require
from thenar.screens import clock
from thenar.screens.book import book
from thenar.screens.clinic.reasons import Reason, reason_for
from thenar.screens.clinic.taking import taken, typed
from thenar.screens.keeping import new_form_key
from thenar.screens.people import for_those_who, person
from thenar.screens.workplace.compared import Comparison, compare
from thenar.screens.workplace.control_forms import PRICES, CompareForm, RecordForm, name_of
from thenar.screens.workplace.looking import Look, look_at, view_choices
from thenar.screens.workplace.ready_controls import BY_KIND, READY, ReadyControl
from thenar.screens.workplace.wording import percent

COMPARED = ("role", "part", "rules", "rubs")  # what the address says besides the controls


@dataclass(frozen=True, slots=True)
class Offered:
    """A ready control on the page: whether it is ticked, its fields, and what belongs beside it."""

    ready: ReadyControl
    ticked: bool
    fields: tuple[forms.BoundField, ...]
    costs: tuple[forms.BoundField, ...]
    reasons: tuple[Reason, ...]


@dataclass(frozen=True, slots=True)
class Chosen:
    """What was compared, and which of it is to be recorded."""

    form: CompareForm
    record: RecordForm
    comparison: Comparison


@require_http_methods(["GET", "HEAD", "POST"])
@for_those_who(Act.SEE_WORKPLACE)
def compare_controls(request: HttpRequest, ref: str) -> HttpResponse:
    """Choose controls, see what each would do, and record one."""
    if request.method == "POST":
        require(person(request), Act.WRITE_WORKPLACE)
    on = clock.today()
    story = area_story(ref=ref, by=person(request), on=on)
    sent = typed(request)
    asked = request.GET if sent is None else sent
    look = look_at(story.record, asked, on)
    people = look.post.post.people if look.post else 0
    form = CompareForm(asked if "compare" in asked else None, people)
    comparison = _comparison(form, look, on)
    compared = {kind: form.words(kind) for kind in form.chosen()} if comparison else {}
    record = RecordForm(sent, compared)
    if comparison:
        chosen = Chosen(form, record, comparison)
        kept = taken(
            request,
            f"compare_controls {ref}",
            record,
            lambda: _recorded(request, story, look, chosen),
        )
        if kept:
            return redirect(f"{reverse('area', args=[ref])}#controls")
    return render(
        request,
        "workplace/controls.html",
        {
            "story": story,
            "area": story.area,
            "look": look,
            "form": form,
            "offered": tuple(_offered(ready, form) for ready in READY),
            "price_fields": tuple(form[f"price-{name}"] for name in PRICES),
            "comparison": comparison,
            "record": record,
            "carried": _carried(asked, form),
            "usual": tuple((form.words(kind), _usually(kind)) for kind in compared),
            "may_write": may(person(request), Act.WRITE_WORKPLACE),
            "form_key": new_form_key(person(request)),
            "site": settings.SITE_NAME,
            **view_choices(request, look, on),
        },
    )


def _comparison(form: CompareForm, look: Look, on: date) -> Comparison | None:
    """What the chosen controls would do; None where nothing is chosen yet, or can't be worked out."""
    if not form.is_bound or not form.is_valid() or look.post is None or look.part is None:
        return None
    try:
        return compare(
            look.post,
            look.part,
            form.plans(),
            book=book(),
            on=on,
            policy=look.limits.policy,
            drawn_id=look.limits.drawn.id,
            baseline=form.baseline(),
            shifts_a_year=form.cleaned_data["shifts_a_year"],
            prices=form.prices(),
            spending=form.spending(),
        )
    except BadInput as problem:
        form.add_error(None, str(problem))
        return None


def _recorded(request: HttpRequest, story: AreaStory, look: Look, chosen: Chosen) -> str:
    form, given = chosen.form, chosen.record.cleaned_data
    kind, words = given["control"], form.words(given["control"])
    plan = next(one for one in chosen.comparison.plans if one.name == words)
    post = next(one for one in story.record.posts if look.post and one.role.ref == look.post.post.role_ref)
    part = look.part.part if look.part else ""
    return record_control(
        area=story.area,
        role=post.role,
        control={"kind": kind, **form.figures(kind)},
        words=_with_figures(words, kind, form),
        hierarchy=given["hierarchy"],
        start_on=given["start_on"],
        review_on=given["review_on"],
        owner=given["owner"],
        expected={"part": part, **plan.expected},
        edition=book().edition,
        by=person(request),
        now=clock.now(),
    ).ref


def _with_figures(words: str, kind: str, form: CompareForm) -> str:
    labels = {asked.name: asked.label for asked in BY_KIND[kind].figures}
    told = [f"{labels[name].lower()} {figure:g}" for name, figure in form.figures(kind).items()]
    return f"{words}: {', '.join(told)}"[:240] if told else words


def _offered(ready: ReadyControl, form: CompareForm) -> Offered:
    ticked = ready.kind in (form["plan"].value() or ())
    fields = [form[name_of(ready.kind, asked.name)] for asked in ready.figures]
    if ready.kind == "own_measure":
        fields.insert(0, form["own_words"])
    costs = tuple(form[name_of(ready.kind, name)] for name in ("once", "a_year"))
    reasons = tuple(reason_for(key, book(), says=_says(key)) for key in ready.cautions)
    return Offered(ready, ticked, tuple(fields), costs, reasons)


def _says(rule_id: str) -> str:
    """A caution's words; a share that was reached elsewhere is said with its number."""
    rule = book().rule(rule_id)
    value = rule.on(clock.today())
    return value.text or f"{rule.says} {percent(float(value.amount or 0))} elsewhere; never taken as yours."


def _usually(kind: str) -> str:
    return dict(HIERARCHY).get(BY_KIND[kind].hierarchy, "yours to say")


def _carried(asked: QueryDict, form: CompareForm) -> tuple[tuple[str, str], ...]:
    """What the comparison was made with, to be sent again with the control that is recorded."""
    names = {*form.fields, *COMPARED, "compare"}
    return tuple((name, value) for name, values in asked.lists() if name in names for value in values)
