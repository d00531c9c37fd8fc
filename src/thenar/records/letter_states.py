"""The road of a letter from wording to release: which step may follow, and why not.

    agreed -> offered -> seen or declined to see -> (comments) -> consented -> released
    withdrawal or refusal ends it at any point before release

No clock and no database here, so that every path can be walked in a test.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum


class Step(StrEnum):
    """What can happen to a letter."""

    CONTENT_AGREED = "content_agreed"
    OFFERED = "offered"
    SEEN = "seen"
    SEE_DECLINED = "see_declined"
    COMMENTED = "commented"
    CONSENTED = "consented"
    REFUSED = "refused"
    WITHDRAWN = "withdrawn"
    RELEASED = "released"


ENDED = frozenset({Step.REFUSED, Step.WITHDRAWN, Step.RELEASED})
BY_WORKER = frozenset(
    {Step.SEEN, Step.SEE_DECLINED, Step.COMMENTED, Step.CONSENTED, Step.REFUSED, Step.WITHDRAWN}
)


@dataclass(frozen=True, slots=True)
class StepTaken:
    """A step that was taken, for which wording, and for consent and release, to whom."""

    kind: Step
    content_hash: str
    recipient_id: int | None = None


@dataclass(frozen=True, slots=True)
class LetterState:
    """Where a letter stands."""

    taken: tuple[Step, ...]
    may: frozenset[Step]

    @property
    def ended(self) -> bool:
        """Nothing more can happen to this letter."""
        return any(step in ENDED for step in self.taken)

    @property
    def released(self) -> bool:
        """The recipient has it."""
        return Step.RELEASED in self.taken

    @property
    def waits_for_worker(self) -> bool:
        """The next step is the worker's. A comment gives the turn back to the practitioner."""
        offered = Step.OFFERED in self.taken and Step.CONSENTED not in self.taken
        return not self.ended and offered and not self.was_commented

    @property
    def was_commented(self) -> bool:
        """The worker's comment is the newest word on a letter that is still on its way."""
        return not self.ended and self.taken[-1:] == (Step.COMMENTED,)

    @property
    def label(self) -> str:
        """The state in words."""
        if self.was_commented and Step.CONSENTED in self.taken:
            return "Agreed, and commented since"
        return _LABELS[self.taken[-1]] if self.taken else "Draft"


_LABELS = {
    Step.CONTENT_AGREED: "Content agreed",
    Step.OFFERED: "Waiting for the worker to see it",
    Step.SEEN: "Seen, waiting for the worker's yes",
    Step.SEE_DECLINED: "Not wanted to be seen first, waiting for the worker's yes",
    Step.COMMENTED: "Worker has commented",
    Step.CONSENTED: "Agreed, ready to release",
    Step.REFUSED: "Worker did not agree",
    Step.WITHDRAWN: "Withdrawn",
    Step.RELEASED: "Released",
}


def letter_state(steps: Iterable[StepTaken], *, content_hash: str, recipient_id: int) -> LetterState:
    """Fold the steps into a state. Steps for another wording or another recipient count for nothing.

    Examples
    --------
    >>> letter_state([], content_hash="a", recipient_id=7).may == {Step.CONTENT_AGREED, Step.WITHDRAWN}
    True
    >>> offered = [StepTaken(Step.CONTENT_AGREED, "a"), StepTaken(Step.OFFERED, "a")]
    >>> Step.RELEASED in letter_state(offered, content_hash="a", recipient_id=7).may
    False
    """
    taken = tuple(
        step.kind
        for step in steps
        if step.content_hash == content_hash and step.recipient_id in (None, recipient_id)
    )
    return LetterState(taken=taken, may=_may_follow(frozenset(taken)))


def _may_follow(taken: frozenset[Step]) -> frozenset[Step]:
    if taken & ENDED:
        return frozenset()
    if Step.CONTENT_AGREED not in taken:
        return frozenset({Step.CONTENT_AGREED, Step.WITHDRAWN})
    if Step.OFFERED not in taken:
        return frozenset({Step.OFFERED, Step.WITHDRAWN})
    if not taken & {Step.SEEN, Step.SEE_DECLINED}:
        return frozenset({Step.SEEN, Step.SEE_DECLINED, Step.REFUSED, Step.WITHDRAWN})
    if Step.CONSENTED not in taken:
        return frozenset({Step.COMMENTED, Step.CONSENTED, Step.REFUSED, Step.WITHDRAWN})
    return frozenset({Step.COMMENTED, Step.RELEASED, Step.WITHDRAWN})
