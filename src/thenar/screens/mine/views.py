"""A worker's own pages: the record, a check, letters to answer, papers, who looked."""

from dataclasses import replace

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from thenar.documents.typeset import adjustment_letter_pdf, care_plan_pdf
from thenar.errors import ThenarError
from thenar.records.actions.letters import state_of, take_letter_step
from thenar.records.letter_states import Step
from thenar.records.models import LetterStep
from thenar.records.queries import mine as own
from thenar.records.rights import Act
from thenar.screens import clock
from thenar.screens.book import book
from thenar.screens.check.outcome import outcome_of
from thenar.screens.check.questions import answer_in_words
from thenar.screens.keeping import new_form_key, submitted_once, typed_before
from thenar.screens.mine.letter_answers import AnswerForm, where_it_stands
from thenar.screens.mine.record import own_record
from thenar.screens.mine.sentences import is_own_look, tell
from thenar.screens.papers import letter_content, pdf_page, plan_content
from thenar.screens.people import for_those_who, person
from thenar.screens.stops import Stop
from thenar.skin.triage import triage_table

_READ = frozenset({Step.SEEN, Step.SEE_DECLINED})


@require_safe
@for_those_who(Act.SEE_OWN)
def mine(request: HttpRequest) -> HttpResponse:
    """My record in plain words."""
    story = own.my_story(by=person(request), now=clock.now())
    context = {"story": story, "worker": story.worker, "record": own_record(story, clock.today())}
    return render(request, "mine/mine.html", context)


@require_safe
@for_those_who(Act.SEE_OWN)
def my_check(request: HttpRequest, ref: str) -> HttpResponse:
    """One of my skin checks, with what it led to."""
    check = own.my_check(ref=ref, by=person(request), now=clock.now())
    answered = [
        (question.asks, answer_in_words(question, check.answers.get(question.id)))
        for question in triage_table(book()).questions
    ]
    context = {"check": check, "outcome": outcome_of(check, book()), "answered": answered}
    return render(request, "check/result.html", context)


@require_safe
@for_those_who(Act.SEE_OWN)
def my_plan_pdf(request: HttpRequest, ref: str) -> HttpResponse:
    """My plan on paper; `?print=large` for large print."""
    plan = own.my_plan(ref=ref, by=person(request), now=clock.now())
    content = plan_content(plan)
    if request.GET.get("print") == "large":
        content = replace(content, large_print=True)
    return pdf_page(care_plan_pdf(content, demo=settings.DEMO), f"plan-{plan.ref}")


@require_http_methods(["GET", "HEAD", "POST"])
@for_those_who(Act.SEE_OWN)
def my_letter(request: HttpRequest, ref: str) -> HttpResponse:
    """A letter about me: read it, then say yes or no, or something about it."""
    letter = own.my_letter(ref=ref, by=person(request), now=clock.now())
    state = state_of(letter)
    if request.method == "POST":
        form = AnswerForm(letter, state, request.POST)
        if form.is_valid() and _answered(request, form, ref):
            return redirect("my_letter", ref=ref)
        letter = own.my_letter(ref=ref, by=person(request), now=clock.now())
        state = state_of(letter)
        form.offered = AnswerForm(letter, state).offered
    else:
        form = AnswerForm(letter, state, typed_before(request))
    days = {step.kind: step for step in letter.steps.all()}
    context = {
        "letter": letter,
        "content": letter_content(letter),
        "stands": where_it_stands(letter, state),
        "stops": _stops(days, state.ended),
        "may_read": bool(_READ & set(state.taken)) or state.ended,
        "open_it": Step.SEEN in state.taken or state.released,
        "comments": [step for step in letter.steps.all() if step.comment],
        "form": form,
        "form_key": new_form_key(person(request)),
    }
    return render(request, "mine/letter.html", context)


@require_safe
@for_those_who(Act.SEE_OWN)
def my_letter_pdf(request: HttpRequest, ref: str) -> HttpResponse:
    """The letter on paper, once the worker has chosen to read it or not to."""
    letter = own.my_letter(ref=ref, by=person(request), now=clock.now())
    state = state_of(letter)
    if not state.ended and not _READ & set(state.taken):
        return redirect("my_letter", ref=ref)
    pdf = adjustment_letter_pdf(letter_content(letter), demo=settings.DEMO)
    return pdf_page(pdf, f"letter-{letter.ref}")


@require_safe
@for_those_who(Act.SEE_OWN)
def who_looked(request: HttpRequest) -> HttpResponse:
    """Everyone who looked at my record or wrote in it."""
    looks = own.who_looked(by=person(request), now=clock.now())
    context = {
        "told": [tell(look) for look in looks if not is_own_look(look)],
        "own_looks": [tell(look) for look in looks if is_own_look(look)],
        "is_cut": len(looks) >= own.LOOKS_AT_MOST,
        "at_most": own.LOOKS_AT_MOST,
    }
    return render(request, "mine/who_looked.html", context)


def _answered(request: HttpRequest, form: AnswerForm, ref: str) -> bool:
    """Take the worker's answer, once; what stands against it becomes a message on the form."""

    def take() -> str:
        letter = own.my_letter(ref=ref, by=person(request), now=clock.now())
        take_letter_step(
            letter=letter,
            step=Step(form.cleaned_data["step"]),
            by=person(request),
            now=clock.now(),
            comment=form.cleaned_data.get("comment", ""),
        )
        return letter.ref

    try:
        submitted_once(request, f"my letter {ref}", take)
    except ThenarError as problem:
        form.add_error(None, f"{problem.what} {problem.todo}")
        return False
    return True


def _stops(days: dict[str, LetterStep], ended: bool) -> list[Stop]:
    """The road so far and what is still to come, as the worker sees it."""
    unseen = "see_declined" in days
    road = (
        ("Offered to you", "Offered to you", ("offered",)),
        (
            "You did not need to see it" if unseen else "You read it",
            "Read it, or not",
            ("seen", "see_declined"),
        ),
        ("You said yes", "Your yes or no", ("consented",)),
        ("Sent", "To be sent", ("released",)),
    )
    stops: list[Stop] = []
    following = "current"
    for done, to_come, kinds in road:
        step = next((days[kind] for kind in kinds if kind in days), None)
        if step is not None:
            stops.append(Stop(done, "done", step.on))
        elif not ended:
            stops.append(Stop(to_come, following))
            following = "todo"
    for label, kind in (("You said no", "refused"), ("Stopped", "withdrawn")):
        if kind in days:
            stops.append(Stop(label, "current", days[kind].on))
    return stops
