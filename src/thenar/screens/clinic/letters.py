"""An adjustment and the letter that tells a manager of it: make both, and walk the letter to its release."""

from datetime import timedelta

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from thenar.documents.compose import adjustment_content
from thenar.documents.letters import to_json
from thenar.documents.typeset import adjustment_letter_pdf
from thenar.errors import BadInput
from thenar.records.actions.adjustments import agree_adjustment
from thenar.records.actions.letters import AlreadyReplaced, draft_letter, state_of, take_letter_step
from thenar.records.letter_states import Step
from thenar.records.models import Letter, LetterStep
from thenar.records.queries.cases import CaseStory, case_story
from thenar.records.queries.cases import letter as one_letter
from thenar.records.rights import Act, may, require
from thenar.screens import clock
from thenar.screens.book import book
from thenar.screens.clinic.letter_forms import AdjustmentForm, LetterStepForm
from thenar.screens.clinic.letter_steps import letter_steps, own_steps, spoken_steps
from thenar.screens.clinic.page import case_page
from thenar.screens.clinic.reasons import reason_for_line
from thenar.screens.clinic.service import contact
from thenar.screens.clinic.taking import taken, typed
from thenar.screens.keeping import new_form_key
from thenar.screens.papers import letter_content, pdf_page
from thenar.screens.people import for_those_who, person
from thenar.screens.workplace.duty_in_letter import words_for_letter

FIRST_REVIEW = timedelta(weeks=4)


@require_http_methods(["GET", "HEAD", "POST"])
@for_those_who(Act.WRITE_CLINICAL)
def adjustment_new(request: HttpRequest, ref: str) -> HttpResponse:
    """Agree what the workplace changes, and draft the letter that says so."""
    story = case_story(ref=ref, by=person(request), now=clock.now(), why="agreeing an adjustment")
    lines = book().lines_about("adjustment.measure")
    old = _replaced(story, request.GET.get("replaces", ""))
    first = _first(story, old) | words_for_letter(request.GET.get("duties", ""), story, request)
    form = AdjustmentForm(typed(request), initial=first, lines=lines, managers=story.managers)
    made = taken(request, f"adjustment_new {ref}", form, lambda: _made(request, story, form))
    if made:
        return redirect("letter", ref=made)
    chosen = set(form["measures"].value() or ())
    return case_page(
        request,
        story,
        "clinic/adjustment_new.html",
        {
            "form": form,
            "replaces": old,
            "on_their_way": [one for one in story.letters_on_their_way if one != old],
            "choices": [(line, line.id in chosen, reason_for_line(line, book())) for line in lines],
        },
    )


@require_http_methods(["GET", "HEAD", "POST"])
@for_those_who(Act.SEE_CLINICAL)
def letter(request: HttpRequest, ref: str) -> HttpResponse:
    """The letter as it will be read, where it stands, and the steps that are left."""
    by = person(request)
    kept = one_letter(ref=ref, by=by, now=clock.now())
    if request.method == "POST":
        require(by, Act.WRITE_CLINICAL)
    form = LetterStepForm(typed(request))
    made = taken(request, f"letter {ref}", form, lambda: _stepped(request, kept, form))
    if made:
        return redirect("letter", ref=made)
    state = state_of(kept)
    return render(
        request,
        "clinic/letter.html",
        {
            "letter": kept,
            "content": letter_content(kept),
            "state": state,
            "steps": letter_steps(kept, state),
            "own_steps": own_steps(kept, state),
            "spoken_steps": spoken_steps(state),
            "can_withdraw": Step.WITHDRAWN in state.may,
            "case": kept.adjustment.case,
            "worker": kept.worker,
            "form": form,
            "sent": form["step"].value() if form.is_bound else "",
            "form_key": new_form_key(by),
            "may_write": may(by, Act.WRITE_CLINICAL),
            "starts_late": not state.ended and kept.adjustment.start_on < clock.today(),
            "today": clock.today(),
            "comment": _newest_comment(kept) if state.was_commented else None,
            "case_open": not hasattr(kept.adjustment.case, "closing"),
        },
    )


@require_safe
@for_those_who(Act.SEE_CLINICAL)
def letter_pdf(request: HttpRequest, ref: str) -> HttpResponse:
    """The letter on paper."""
    kept = one_letter(ref=ref, by=person(request), now=clock.now())
    pdf = adjustment_letter_pdf(letter_content(kept), demo=settings.DEMO)
    return pdf_page(pdf, f"letter-{kept.ref}")


def _first(story: CaseStory, old: Letter | None) -> dict[str, object]:
    recipient = str(story.managers[0].pk) if story.managers else ""
    if old is None:
        today = clock.today()
        return {"start_on": today, "review_on": today + FIRST_REVIEW, "recipient": recipient}
    adjustment = old.adjustment
    ready = {line.says: line.id for line in book().lines_about("adjustment.measure")}
    return {
        "measures": [ready[text] for text in adjustment.measures if text in ready],
        "own_words": "\n".join(text for text in adjustment.measures if text not in ready),
        **_days(old),
        "recipient": recipient,
        "replaces": old.ref,
    }


def _days(old: Letter) -> dict[str, object]:
    """From when to when: as in the old letter, or from today where it was not sent before its first day."""
    adjustment, today = old.adjustment, clock.today()
    start, review, end = adjustment.start_on, adjustment.review_on, adjustment.end_on
    if state_of(old).released or start >= today:
        return {"start_on": start, "review_on": review, "end_on": end}
    later = today - start
    return {"start_on": today, "review_on": review + later, "end_on": end + later if end else None}


def _newest_comment(kept: Letter) -> LetterStep:
    return [step for step in kept.steps.all() if step.kind == Step.COMMENTED.value][-1]


def _replaced(story: CaseStory, ref: str) -> Letter | None:
    """The letter of this case that a new wording replaces, if it can still be."""
    found = next((one for one in story.letters if one.ref == ref), None)
    return None if found is None or hasattr(found, "replaced_by") else found


def _made(request: HttpRequest, story: CaseStory, form: AdjustmentForm) -> str:
    """Agree the adjustment and draft its letter; both or neither."""
    by, now, given = person(request), clock.now(), form.cleaned_data
    if story.post is None:
        raise BadInput(
            what="The worker has no post today.",
            why="The letter names the area where work changes.",
            todo="Have the staff list brought up to date.",
        )
    replaces = _replaced(story, given["replaces"])
    if given["replaces"] and replaces is None:
        raise AlreadyReplaced
    adjustment = agree_adjustment(
        case=story.case,
        measures=form.texts(),
        start_on=given["start_on"],
        end_on=given["end_on"],
        review_on=given["review_on"],
        by=by,
        now=now,
    )
    recipient = form.managers[given["recipient"]]
    content = adjustment_content(
        adjustment=adjustment,
        recipient=recipient,
        area=story.post.area.name,
        contact=contact(),
        by=by,
        on=clock.today(),
    )
    adjustment_letter_pdf(content, demo=settings.DEMO)  # what doesn't fit on its page is not kept
    return draft_letter(
        adjustment=adjustment,
        recipient=recipient,
        content=to_json(content),
        by=by,
        now=now,
        replaces=replaces,
        besides=given["besides"],
    ).ref


def _stepped(request: HttpRequest, kept: Letter, form: LetterStepForm) -> str:
    take_letter_step(
        letter=kept,
        step=Step(form.cleaned_data["step"]),
        by=person(request),
        now=clock.now(),
        how=form.cleaned_data["how"],
        comment=form.cleaned_data["comment"],
    )
    return kept.ref
