"""Looking at the hands: score them, read the score, correct it."""

from collections.abc import Collection
from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from thenar.records.actions.examinations import record_examination
from thenar.records.models import Examination
from thenar.records.queries.cases import CaseStory, case_story, examination_story
from thenar.records.rights import Act
from thenar.screens import clock
from thenar.screens.book import book
from thenar.screens.clinic.course import band_words, signs_of, stage_of
from thenar.screens.clinic.examination_form import ALL_CLEAR, ExaminationForm, as_recorded, refilled
from thenar.screens.clinic.grid import AREA_WORDS, SIGN_WORDS, TRADE_WORDS, GridForm
from thenar.screens.clinic.page import case_page
from thenar.screens.clinic.reasons import Reason, reason_for, reason_for_judgement, reason_for_line
from thenar.screens.clinic.taking import taken, typed
from thenar.screens.people import for_those_who, person
from thenar.skin.severity import MOST_EXTENT, MOST_SIGN, Area, HandSigns, Sign, band_of, scored_from

FORMULA = "severity.structure.total-most"
EXTENT_RULE = "severity.structure.extent-most"
LOOKING = ("care.looking.redness", "care.looking.touch", "care.looking.hard-to-judge")


@dataclass(frozen=True, slots=True)
class Column:
    """A heading of the grid: in plain words, in the trade's, and its highest grade."""

    label: str
    trade: str
    most: int


@dataclass(frozen=True, slots=True)
class ScoredRow:
    """One area of a kept examination with its part in the total. [points]"""

    label: str
    grades: tuple[int, ...]
    signs: int
    extent: int
    score: int


@require_http_methods(["GET", "HEAD", "POST"])
@for_those_who(Act.WRITE_CLINICAL)
def examine(request: HttpRequest, ref: str) -> HttpResponse:
    """Record a new examination."""
    by, now = person(request), clock.now()
    story = case_story(ref=ref, by=by, now=now, why="examining")
    last = story.standing_examinations[-1] if story.standing_examinations else None
    form = _form(request, story, last, {"examined_on": clock.today()})
    made = _recorded(request, f"examine {ref}", form, story)
    review = _came_from(request, story)
    if made:
        return redirect("review", ref=review) if review else redirect("examination", ref=made)
    return _examine_page(request, story, form, last, review=review)


@require_http_methods(["GET", "HEAD", "POST"])
@for_those_who(Act.WRITE_CLINICAL)
def correct(request: HttpRequest, ref: str) -> HttpResponse:
    """Record a new examination that stands in for a mistaken one."""
    mistaken, story = examination_story(ref=ref, by=person(request), now=clock.now())
    if request.method != "POST" and hasattr(mistaken, "corrected_by"):
        return redirect("examination", ref=ref)
    form = _form(request, story, story.before(mistaken), as_recorded(mistaken), correcting=True)
    made = _recorded(request, f"correct {ref}", form, story, corrects=mistaken)
    if made:
        return redirect("examination", ref=made)
    return _examine_page(request, story, form, story.before(mistaken), mistaken=mistaken)


@require_POST
@for_those_who(Act.WRITE_CLINICAL)
def score(request: HttpRequest, ref: str) -> HttpResponse:  # noqa: ARG001  (reads nothing of the case)
    """The score of what is typed so far: adds up the grades sent, and reads no record."""
    form = GridForm(request.POST)
    form.is_valid()
    queried = {query.area for query in form.queries}
    settled = [area for area, seen in form.seen.items() if seen is not None and area not in queried]
    rows = _scored_rows(form.whole, settled)
    total = sum(row.score for row in rows)
    return render(
        request,
        "clinic/score.html",
        {
            "graded": form.graded(),
            "rows": rows,
            "total": total,
            "band": band_of(total, book(), clock.today()) if form.signs else None,
            "queried": [row for row in form.rows() if row.area in queried],
        },
    )


@require_safe
@for_those_who(Act.SEE_CLINICAL)
def examination(request: HttpRequest, ref: str) -> HttpResponse:
    """One examination: the grid, the map, the score and why it is that score."""
    seen, story = examination_story(ref=ref, by=person(request), now=clock.now())
    stage = stage_of(seen, story, book(), clock.today())
    return case_page(
        request,
        story,
        "clinic/examination.html",
        {
            "examination": seen,
            "stage": stage,
            "before": story.before(seen),
            "columns": _columns(),
            "rows": _scored_rows(signs_of(seen)),
            "score_reasons": _score_reasons(seen),
            "change_reasons": [reason_for_judgement(one, book()) for one in stage.judgements],
        },
    )


def _came_from(request: HttpRequest, story: CaseStory) -> str:
    """The review of this case that the examination was begun from; the form carries it along."""
    ref = (typed(request) or request.GET).get("review", "")
    return ref if any(one.ref == ref for one in story.reviews) else ""


def _form(
    request: HttpRequest,
    story: CaseStory,
    last: Examination | None,
    first: dict[str, object],
    *,
    correcting: bool = False,
) -> ExaminationForm:
    last_signs = signs_of(last) if last else None
    sent = typed(request)
    fill = request.POST.get("fill")
    if fill in ("last", "clear"):
        signs = last_signs if fill == "last" and last_signs else ALL_CLEAR
        sent, first = None, refilled(request.POST, signs)
    return ExaminationForm(
        sent,
        initial=first,
        last=last_signs,
        correcting=correcting,
        first_day=scored_from(book()),
        opened_on=story.case.opened_on,
    )


def _recorded(
    request: HttpRequest,
    name: str,
    form: ExaminationForm,
    story: CaseStory,
    corrects: Examination | None = None,
) -> str | None:
    def write() -> str:
        assert form.signs is not None
        return record_examination(
            case=story.case,
            signs=form.signs,
            marks=tuple(form.cleaned_data["marks"]),
            examined_on=form.cleaned_data["examined_on"],
            circumstances=form.circumstances(),
            by=person(request),
            now=clock.now(),
            book=book(),
            corrects=corrects,
            correction_reason=form.cleaned_data.get("correction_reason", ""),
        ).ref

    return taken(request, name, form, write)


def _examine_page(
    request: HttpRequest,
    story: CaseStory,
    form: ExaminationForm,
    last: Examination | None,
    *,
    mistaken: Examination | None = None,
    review: str = "",
) -> HttpResponse:
    return case_page(
        request,
        story,
        "clinic/examine.html",
        {
            "form": form,
            "last": last,
            "last_band": band_words(last.band) if last else "",
            "mistaken": mistaken,
            "review": review,
            "columns": _columns(),
            "looking": [book().entry(line).says for line in LOOKING],
            "grid_reasons": [reason_for(FORMULA, book()), reason_for(EXTENT_RULE, book())],
            "looking_reasons": [reason_for_line(book().lines[line], book()) for line in LOOKING],
        },
    )


def _columns() -> list[Column]:
    signs = [Column(SIGN_WORDS[sign], TRADE_WORDS[sign], MOST_SIGN) for sign in Sign]
    return [Column("Extent", "of the area", MOST_EXTENT), *signs]


def _scored_rows(signs: HandSigns, only: Collection[Area] = tuple(Area)) -> list[ScoredRow]:
    rows = []
    for area in only:
        here = signs.at(area)
        grades = (here.extent, *(here.grade(sign) for sign in Sign))
        added = here.sum_of_signs()
        rows.append(ScoredRow(AREA_WORDS[area], grades, added, here.extent, added * here.extent))
    return rows


def _score_reasons(seen: Examination) -> list[Reason]:
    return [
        reason_for(FORMULA, book(), edition=seen.edition),
        reason_for(f"severity.band.{seen.band}", book(), edition=seen.edition),
    ]
