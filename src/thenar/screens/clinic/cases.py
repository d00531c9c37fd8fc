"""One episode on one page, and closing it."""

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods, require_safe

from thenar.records.actions.cases import close_case as record_closing
from thenar.records.actions.letters import state_of
from thenar.records.letter_states import LetterState
from thenar.records.models import Adjustment, Letter
from thenar.records.queries.cases import CaseStory, case_story
from thenar.records.queries.standing import Standing
from thenar.records.rights import Act
from thenar.screens import clock
from thenar.screens.book import book
from thenar.screens.clinic.course import Stage, course_of, yardsticks
from thenar.screens.clinic.forms import CloseForm
from thenar.screens.clinic.page import case_page
from thenar.screens.clinic.reasons import Reason, reason_for, reason_for_judgement
from thenar.screens.clinic.taking import taken, typed
from thenar.screens.people import for_those_who, person


@dataclass(frozen=True, slots=True)
class ShownAdjustment:
    """An adjustment with how it stands, and its letters, newest first."""

    adjustment: Adjustment
    standing: Standing
    letters: tuple[tuple[Letter, LetterState], ...]


@require_safe
@for_those_who(Act.SEE_CLINICAL)
def case(request: HttpRequest, ref: str) -> HttpResponse:
    """The course, what is in force, and what comes next."""
    story = case_story(ref=ref, by=person(request), now=clock.now())
    stages = course_of(story, book(), clock.today())
    return case_page(
        request,
        story,
        "clinic/case.html",
        {
            "stages": stages,
            "yardsticks": yardsticks(book(), clock.today()),
            "course_reasons": _course_reasons(stages),
            "last": story.standing_examinations[-1] if story.standing_examinations else None,
            "plan": story.plan_in_force,
            "adjustments": [_shown(one, story) for one in reversed(story.adjustments)],
            "reviews_done": [one for one in reversed(story.reviews) if hasattr(one, "outcome")],
        },
    )


@require_http_methods(["GET", "HEAD", "POST"])
@for_those_who(Act.WRITE_CLINICAL)
def close_case(request: HttpRequest, ref: str) -> HttpResponse:
    """Close a case, told what is still open in it."""
    story = case_story(ref=ref, by=person(request), now=clock.now(), why="closing")
    last = story.standing_examinations[-1] if story.standing_examinations else None
    form = CloseForm(typed(request), initial={"closed_on": clock.today()}, last=last)
    made = taken(
        request,
        f"close_case {ref}",
        form,
        lambda: (
            record_closing(
                case=story.case,
                outcome=form.cleaned_data["outcome"],
                closed_on=form.cleaned_data["closed_on"],
                by=person(request),
                now=clock.now(),
                note_text=form.cleaned_data["note"],
                all_the_same=form.cleaned_data["all_the_same"],
            ).case.ref
        ),
    )
    if made:
        return redirect("case", ref=made)
    return case_page(
        request,
        story,
        "clinic/close_case.html",
        {
            "form": form,
            "last": last,
            "open_letters": [(one, state_of(one)) for one in story.letters_on_their_way],
        },
    )


def _course_reasons(stages: tuple[Stage, ...]) -> list[Reason]:
    """Why the newest band and the newest change read as they do."""
    newest = next((stage for stage in stages if stage.corrected_by is None), None)
    if newest is None:
        return []
    band = reason_for(f"severity.band.{newest.examination.band}", book(), edition=newest.examination.edition)
    return [band, *(reason_for_judgement(one, book()) for one in newest.judgements)]


def _shown(adjustment: Adjustment, story: CaseStory) -> ShownAdjustment:
    letters = [one for one in reversed(story.letters) if one.adjustment_id == adjustment.pk]
    return ShownAdjustment(
        adjustment=adjustment,
        standing=story.standings.get(adjustment.pk, Standing.ON_ITS_WAY),
        letters=tuple((letter, state_of(letter)) for letter in letters),
    )
