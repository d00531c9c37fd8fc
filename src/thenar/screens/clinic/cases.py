"""One episode on one page, and closing it."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods, require_safe

from thenar.records.actions.cases import close_case as record_closing
from thenar.records.actions.letters import state_of
from thenar.records.models import Adjustment
from thenar.records.queries.cases import CaseStory, case_story
from thenar.records.rights import Act
from thenar.screens import clock
from thenar.screens.book import book
from thenar.screens.clinic.course import Stage, course_of, yardsticks
from thenar.screens.clinic.forms import CloseForm
from thenar.screens.clinic.page import case_page
from thenar.screens.clinic.reasons import Reason, reason_for, reason_for_judgement
from thenar.screens.clinic.taking import taken, typed
from thenar.screens.people import for_those_who, person


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
            "adjustments": [_with_letters(one, story) for one in reversed(story.adjustments)],
            "reviews_done": [one for one in reversed(story.reviews) if hasattr(one, "outcome")],
        },
    )


@require_http_methods(["GET", "HEAD", "POST"])
@for_those_who(Act.WRITE_CLINICAL)
def close_case(request: HttpRequest, ref: str) -> HttpResponse:
    """Close a case, told what is still open in it."""
    story = case_story(ref=ref, by=person(request), now=clock.now(), why="closing")
    form = CloseForm(typed(request), initial={"closed_on": clock.today()})
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
            "last": story.standing_examinations[-1] if story.standing_examinations else None,
            "open_letters": [one for one in story.letters if not state_of(one).ended],
        },
    )


def _course_reasons(stages: tuple[Stage, ...]) -> list[Reason]:
    """Why the newest band and the newest change read as they do."""
    newest = next((stage for stage in stages if stage.corrected_by is None), None)
    if newest is None:
        return []
    band = reason_for(f"severity.band.{newest.examination.band}", book(), edition=newest.examination.edition)
    return [band, *(reason_for_judgement(one, book()) for one in newest.judgements)]


def _with_letters(adjustment: Adjustment, story: CaseStory) -> tuple[Adjustment, list[tuple[object, object]]]:
    letters = [one for one in reversed(story.letters) if one.adjustment_id == adjustment.pk]
    return adjustment, [(letter, state_of(letter)) for letter in letters]
