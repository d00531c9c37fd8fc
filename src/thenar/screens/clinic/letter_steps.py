"""The road of a letter as the page shows it: where it stands, and what may be done next, by whom."""

from dataclasses import dataclass

from thenar.records.letter_states import LetterState, Step
from thenar.records.models import Letter
from thenar.screens.stops import Stop

SPOKEN = {
    Step.SEEN: "They have read it",
    Step.SEE_DECLINED: "They do not want to read it first",
    Step.COMMENTED: "They have a comment",
    Step.CONSENTED: "They agree that it is sent",
    Step.REFUSED: "They do not agree",
}


@dataclass(frozen=True, slots=True)
class OwnStep:
    """A step the practitioner takes, with what it does."""

    code: str
    label: str
    explains: str


def letter_steps(letter: Letter, state: LetterState) -> list[Stop]:
    """The stops from draft to release, or to where the letter ended."""
    days = {Step(step.kind): step.on for step in letter.steps.all()}
    seen = Step.SEE_DECLINED if Step.SEE_DECLINED in days else Step.SEEN
    road = [
        ("Content agreed", Step.CONTENT_AGREED),
        ("Offered to the worker", Step.OFFERED),
        ("Not wanted to be read" if seen is Step.SEE_DECLINED else "Read by the worker", seen),
        ("Worker agreed", Step.CONSENTED),
        ("Released", Step.RELEASED),
    ]
    stops = [Stop("Drafted", "done", letter.at.date())]
    waiting = not state.ended
    for label, step in road:
        if step in days:
            stops.append(Stop(label, "done", days[step]))
        elif state.ended and not state.released:
            continue
        else:
            stops.append(Stop(label, "current" if waiting else "todo"))
            waiting = False
    for label, step in (("Worker did not agree", Step.REFUSED), ("Withdrawn", Step.WITHDRAWN)):
        if step in days:
            stops.append(Stop(label, "current", days[step]))
    return stops


def own_steps(letter: Letter, state: LetterState) -> list[OwnStep]:
    """The practitioner's next steps, apart from withdrawing."""
    to_whom = f"{letter.recipient.called}"
    steps = {
        Step.CONTENT_AGREED: OwnStep(
            Step.CONTENT_AGREED,
            "The content is agreed",
            "You went through the measures with the worker, and they are right.",
        ),
        Step.OFFERED: OwnStep(
            Step.OFFERED,
            "Offer it to the worker",
            "The letter appears on the worker's own page. They can read it first, comment, agree or refuse.",
        ),
        Step.RELEASED: OwnStep(
            Step.RELEASED,
            f"Release it to {to_whom}",
            f"{to_whom} can read this wording from now on. It can't be called back.",
        ),
    }
    return [one for step, one in steps.items() if step in state.may]


def spoken_steps(state: LetterState) -> list[tuple[str, str]]:
    """The worker's next steps, for when they say it to the practitioner."""
    return [(step, words) for step, words in SPOKEN.items() if step in state.may]
