"""Putting a patch test on: choose, look over the numbered positions, keep."""

from dataclasses import dataclass
from datetime import date, timedelta

from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods

from thenar.allergy.patch_own_products import how_to_put_on, preparation_cautions
from thenar.allergy.patch_rules import ReadingRules, reading_rules
from thenar.allergy.patch_test import Position
from thenar.allergy.product import Category
from thenar.knowledge.allergens import PatchSeries
from thenar.records.actions.patch_tests import apply_patch_test
from thenar.records.models import PatchTest, Post
from thenar.records.queries.workers import WorkerStory, worker_story
from thenar.records.rights import Act
from thenar.screens import clock
from thenar.screens.book import book
from thenar.screens.clinic.reasons import reason_for
from thenar.screens.clinic.taking import taken, typed
from thenar.screens.patch.apply_form import MORE_ROWS, ApplyForm, gives_a_range
from thenar.screens.patch.page import typed_pairs, worker_page
from thenar.screens.patch.wording import allergen_name, prepared, put_on
from thenar.screens.people import for_those_who, person

_DAY_RULES = (
    *("patch-test.occlusion", "patch-test.reading.first"),
    *("patch-test.reading.second", "patch-test.reading.third"),
)


@dataclass(frozen=True, slots=True)
class ShownSeries:
    """A series to choose, and how far its members are known."""

    series: PatchSeries
    chosen: bool


@dataclass(frozen=True, slots=True)
class Numbered:
    """A position before it is kept."""

    position: Position
    name: str
    prepared: str
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Visit:
    """A day on which the worker has to come."""

    name: str
    from_on: date
    to_on: date


@require_http_methods(["GET", "HEAD", "POST"])
@for_those_who(Act.WRITE_CLINICAL)
def patch_test_new(request: HttpRequest, ref: str) -> HttpResponse:
    """Put a patch test on. Nothing is kept before the numbered positions were looked over."""
    story = worker_story(ref=ref, by=person(request), now=clock.now(), why="patch test")
    do = request.POST.get("do", "look")
    form = _form(request, story, afresh=do in ("more", "change"))
    if do == "keep":
        made = taken(request, f"patch_test_new {ref}", form, lambda: _kept(request, story, form).ref)
        if made:
            return redirect("patch_test", ref=made)
    if request.method == "POST" and do == "look" and form.is_valid():
        return _look_over(request, story, form)
    return _choose(request, story, form)


def _form(request: HttpRequest, story: WorkerStory, *, afresh: bool) -> ApplyForm:
    sent = typed(request)
    rows = int(rows) if (rows := sent.get("rows", "") if sent else "").isascii() and rows.isdecimal() else 0
    cases = [story.open_case] if story.open_case else []
    if sent is None or afresh:
        more = MORE_ROWS if request.POST.get("do") == "more" else 0
        opened = story.open_case.ref if story.open_case else ""
        first = _as_typed(sent) if sent else {"applied_on": clock.today(), "case": opened}
        return ApplyForm(book=book(), cases=cases, rows=rows + more, initial=first)
    return ApplyForm(sent, book=book(), cases=cases, rows=rows)


def _as_typed(sent: QueryDict) -> dict[str, object]:
    return {name: sent.getlist(name) if name == "series" else sent.get(name) for name in sent}


def _kept(request: HttpRequest, story: WorkerStory, form: ApplyForm) -> PatchTest:
    return apply_patch_test(
        worker=story.worker,
        case=story.open_case if form.cleaned_data["case"] else None,
        applied_on=form.cleaned_data["applied_on"],
        series=form.cleaned_data["series"],
        positions=form.positions,
        note_text=form.cleaned_data["note"],
        book=book(),
        by=person(request),
        now=clock.now(),
    )


def _choose(request: HttpRequest, story: WorkerStory, form: ApplyForm) -> HttpResponse:
    known = book()
    chosen = form["series"].value() or ()
    context = {
        "form": form,
        "series": [ShownSeries(one, one.id in chosen) for one in known.allergens.series.values()],
        "allergens": sorted((one.name for one in known.allergens.allergens.values()), key=str.casefold),
        "how": [(kind.value.capitalize(), how_to_put_on(kind)) for kind in Category],
        "control_reasons": [
            reason_for(f"patch-test.control.{name}", known) for name in ("low", "further-positive")
        ],
    }
    return worker_page(request, story.worker, post_now(story), "patch/apply.html", context)


def _look_over(request: HttpRequest, story: WorkerStory, form: ApplyForm) -> HttpResponse:
    known, on = book(), form.cleaned_data["applied_on"]
    rules = reading_rules(known, on)
    context = {
        "pairs": typed_pairs(request),
        "applied_on": on,
        "numbered": [
            Numbered(one, put_on(one, known), prepared(one), _cautions(one)) for one in form.positions
        ],
        "left_out": [allergen_name(one, known) for one in form.left_out],
        "off_on": on + timedelta(rules.occlusion.amount),
        "visits": visits(on, rules),
        "reasons": [reason_for(rule, known) for rule in _DAY_RULES],
        "case": story.open_case if form.cleaned_data["case"] else None,
    }
    return worker_page(request, story.worker, post_now(story), "patch/look_over.html", context)


def _cautions(position: Position) -> tuple[str, ...]:
    if gives_a_range(position.concentration):
        return (
            "Published as a range, and kept so. Put it on as a single allergen to say which strength it was.",
        )
    return preparation_cautions(position)


def visits(on: date, rules: ReadingRules) -> list[Visit]:
    """The days of the readings of a test put on on a day."""
    return [
        Visit(stage.name, on + timedelta(stage.first_day), on + timedelta(stage.last_day))
        for stage in rules.stages
    ]


def post_now(story: WorkerStory) -> Post | None:
    """Where the worker works now, or will."""
    today = clock.today()
    return next((one for one in story.posts if one.until_on is None or one.until_on >= today), None)
