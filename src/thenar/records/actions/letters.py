"""Moves a letter along its road; the states and their order are in letter_states.py."""

from collections.abc import Mapping
from datetime import datetime

from django.db import transaction

from thenar.errors import Conflict, NotAllowed
from thenar.records.audit import note
from thenar.records.days import day_of
from thenar.records.frozen import content_hash
from thenar.records.letter_states import BY_WORKER, LetterState, Step, StepTaken, letter_state
from thenar.records.models import Adjustment, Case, Letter, LetterStep, User
from thenar.records.rights import Act, may, require, require_not_own
from thenar.records.turns import wait_turn


class AlreadyReplaced(Conflict):
    """A newer wording stands in for this letter."""

    def __init__(self) -> None:
        super().__init__(
            what="The earlier letter was already replaced.",
            why="Two new wordings of one letter would contradict each other.",
            todo="Open the case to see the newest letter.",
        )


class AlreadyTaken(Conflict):
    """A step came a second time, as from a page opened before the first."""

    def __init__(self, taken: LetterStep) -> None:
        super().__init__(
            what=f"Already {_PAST[Step(taken.kind)]} on {taken.on.day} {taken.on:%B %Y}.",
            why="A step is taken once; this page was opened before that.",
            todo="Nothing more is needed here.",
        )


_PAST = {
    Step.CONTENT_AGREED: "agreed in content",
    Step.OFFERED: "offered",
    Step.SEEN: "seen",
    Step.SEE_DECLINED: "left unread by the worker's wish",
    Step.CONSENTED: "agreed to",
    Step.REFUSED: "refused",
    Step.WITHDRAWN: "withdrawn",
    Step.RELEASED: "released",
}


class AnotherOnItsWay(Conflict):
    """A second letter to one recipient in one case, and nobody said that it is meant."""

    def __init__(self) -> None:
        super().__init__(
            what="A letter to this manager is already on its way.",
            why="Two letters about one worker could ask the same manager for different things.",
            todo="Change the wording of that one, or say that this one goes besides it.",
        )


@transaction.atomic
def draft_letter(
    *,
    adjustment: Adjustment,
    recipient: User,
    content: Mapping[str, object],
    by: User,
    now: datetime,
    replaces: Letter | None = None,
    besides: bool = False,
) -> Letter:
    """Freeze a wording for one recipient. A new wording replaces the old one, which is withdrawn.

    A second letter to the same recipient in one case goes out only if it is meant to go `besides` the first.
    """
    require(by, Act.WRITE_CLINICAL)
    require_not_own(adjustment.case.worker, by)
    wait_turn(adjustment.case.worker_id)
    if replaces is not None:
        _withdraw_replaced(_as_it_stands(replaces), by=by, now=now)
    if not besides and any(one.recipient_id == recipient.pk for one in on_their_way(adjustment.case)):
        raise AnotherOnItsWay
    letter = Letter.objects.create(
        worker=adjustment.case.worker,
        adjustment=adjustment,
        recipient=recipient,
        content=dict(content),
        content_hash=content_hash(content),
        replaces=replaces,
        at=now,
        by=by,
    )
    note(
        "letter drafted",
        by=by,
        now=now,
        target=letter.ref,
        worker_ref=letter.worker.ref,
        data_class="C2",
    )
    return letter


@transaction.atomic
def take_letter_step(
    *, letter: Letter, step: Step, by: User, now: datetime, how: str = "", comment: str = ""
) -> LetterState:
    """Take one step, if it is that step's turn and this person's to take.

    The worker takes their own steps on their own page; the practitioner may record one that was
    spoken, and then says `how` (in the room, by telephone).
    """
    _require_theirs(letter, step, by, how)
    wait_turn(letter.worker_id)
    letter = _as_it_stands(letter)
    state = state_of(letter)
    if step not in state.may:
        if step in state.taken:
            raise AlreadyTaken(letter.steps.filter(kind=step.value).latest("pk"))
        raise Conflict(
            what=f"A letter that is “{state.label}” can't become “{step.value.replace('_', ' ')}”.",
            why="Nothing is sent before the worker was offered to see it and agreed to this recipient.",
            todo="Open the letter again to see which steps are left.",
        )
    if step is Step.RELEASED and content_hash(letter.content) != letter.content_hash:
        raise Conflict(
            what="The letter's content is not what was agreed.",
            why="Only the wording the worker agreed to may be sent.",
            todo="Draft the letter again.",
        )
    _write_step(letter, step, by=by, now=now, how=how, comment=comment)
    return state_of(letter)


def on_their_way(case: Case) -> list[Letter]:
    """The letters of a case that have neither been released nor stopped, oldest first."""
    rows = Letter.objects.filter(adjustment__case=case).select_related("worker", "recipient")
    return [one for one in rows.prefetch_related("steps").order_by("at", "pk") if not state_of(one).ended]


def withdraw_with_case(case: Case, *, by: User, now: datetime) -> None:
    """Withdraw what is still on its way in a case that closes, inside the caller's transaction.

    Raises
    ------
    Conflict
        When the worker has agreed to a letter and nobody has sent it: that is decided, not swept away.
    """
    letters = on_their_way(case)
    if any(Step.CONSENTED in state_of(one).taken for one in letters):
        raise Conflict(
            what="A letter of this case has the worker's yes and was not released.",
            why="Closing would drop a change of work that the worker agreed to.",
            todo="Open the letter and release it, or withdraw it; then close the case.",
        )
    for one in letters:
        _write_step(one, Step.WITHDRAWN, by=by, now=now, how="The case was closed", comment="")


def _as_it_stands(letter: Letter) -> Letter:
    """The letter read anew: the one in hand may remember steps from before someone else's."""
    return Letter.objects.select_related("worker", "recipient").get(pk=letter.pk)


def _withdraw_replaced(letter: Letter, *, by: User, now: datetime) -> None:
    if Letter.objects.filter(replaces=letter).exists():
        raise AlreadyReplaced
    if not state_of(letter).ended:
        _write_step(letter, Step.WITHDRAWN, by=by, now=now, how="Replaced by a new wording", comment="")


def state_of(letter: Letter) -> LetterState:
    """Where a letter stands now."""
    steps = [
        StepTaken(Step(taken.kind), taken.content_hash, taken.recipient_id) for taken in letter.steps.all()
    ]
    return letter_state(steps, content_hash=letter.content_hash, recipient_id=letter.recipient_id)


def _require_theirs(letter: Letter, step: Step, by: User, how: str) -> None:
    is_worker = letter.worker.user_id is not None and letter.worker.user_id == by.pk
    if is_worker and step in BY_WORKER:
        return
    if is_worker or not may(by, Act.WRITE_CLINICAL):
        _refuse_step(by)
    if step in BY_WORKER and not how.strip():
        raise NotAllowed(
            what="This step is the worker's own.",
            why="You can record it for them only if they told you.",
            todo="Say how they told you: in the room, by telephone, in writing.",
        )


def _refuse_step(by: User) -> None:
    """Refuse someone who is not the practitioner of this letter."""
    raise NotAllowed(
        what=f"This step is not for {by.get_access_display().lower()}s to take.",
        why="Wording and release are the practitioner's; seeing and agreeing are the worker's.",
        todo="Wait for the other's step, or talk to them.",
    )


def _write_step(letter: Letter, step: Step, *, by: User, now: datetime, how: str, comment: str) -> None:
    names_recipient = step in (Step.CONSENTED, Step.RELEASED)
    LetterStep.objects.create(
        letter=letter,
        kind=step.value,
        on=day_of(now),
        how=how,
        comment=comment,
        content_hash=letter.content_hash,
        recipient=letter.recipient if names_recipient else None,
        at=now,
        by=by,
    )
    note(
        f"letter {step.value.replace('_', ' ')}",
        by=by,
        now=now,
        target=letter.ref,
        worker_ref=letter.worker.ref,
        data_class="C2",
    )
