"""Opens and closes cases."""

from datetime import date, datetime

from django.db import transaction

from thenar.errors import BadInput, Conflict
from thenar.records.actions.letters import withdraw_with_case
from thenar.records.audit import note
from thenar.records.days import day_of, not_after_today
from thenar.records.models import Case, CaseClosing, Examination, ReviewOutcome, User, Worker
from thenar.records.rights import Act, require, require_not_own
from thenar.records.turns import wait_turn

CLEAR_BAND = "clear"


@transaction.atomic
def open_case(*, worker: Worker, by: User, now: datetime) -> Case:
    """Open a case that did not begin with a skin check."""
    require(by, Act.WRITE_CLINICAL)
    require_not_own(worker, by)
    return begin_case(worker=worker, by=by, now=now)


def begin_case(*, worker: Worker, by: User, now: datetime) -> Case:
    """Open a case inside the caller's transaction. A worker has one open case at a time."""
    wait_turn(worker.pk)
    if Case.objects.open().filter(worker=worker).exists():
        raise Conflict(
            what="This worker already has an open case.",
            why="Two cases of one episode would split its story.",
            todo="Add to the open case, or close it first.",
        )
    earlier = worker.cases.order_by("-opened_on", "-pk").first()
    case = Case.objects.create(worker=worker, opened_on=day_of(now), earlier=earlier, at=now, by=by)
    note("case opened", by=by, now=now, target=case.ref, worker_ref=worker.ref)
    return case


def require_open(case: Case) -> None:
    """Refuse to add to a closed case; an open one stays open until the transaction ends."""
    wait_turn(case.worker_id)
    if CaseClosing.objects.filter(case=case).exists():
        raise Conflict(
            what="This case is closed.",
            why="A closed case tells a finished story.",
            todo="Open a new case; it will point back to this one.",
        )


@transaction.atomic
def close_case(
    *,
    case: Case,
    outcome: str,
    closed_on: date,
    by: User,
    now: datetime,
    note_text: str = "",
    all_the_same: bool = False,
) -> CaseClosing:
    """Close a case; reviews still to come are no longer needed, letters on their way are withdrawn.

    "Skin clear" against the last score needs `all_the_same` and its reason in `note_text`.
    """
    require(by, Act.WRITE_CLINICAL)
    require_not_own(case.worker, by)
    not_after_today(closed_on, now, field="Closed on")
    require_open(case)
    _not_before_opening(closed_on, case)
    if outcome == "clear" and not (all_the_same and note_text.strip()):
        _clear_by_the_last_score(case)
    withdraw_with_case(case, by=by, now=now)
    closing = CaseClosing.objects.create(
        case=case, closed_on=closed_on, outcome=outcome, note=note_text, at=now, by=by
    )
    for review in case.reviews.filter(outcome__isnull=True):
        ReviewOutcome.objects.create(
            review=review, done_on=closed_on, outcome="not_needed", note="Case closed", at=now, by=by
        )
    note("case closed", by=by, now=now, target=case.ref, worker_ref=case.worker.ref)
    return closing


def _not_before_opening(closed_on: date, case: Case) -> None:
    if closed_on < case.opened_on:
        raise BadInput(
            what=f"Closed on: {closed_on:%d %B %Y} is before the case was opened.",
            why="A case runs from its opening to its closing.",
            todo="Enter the day it was opened or a later one.",
        )


def _clear_by_the_last_score(case: Case) -> None:
    standing = Examination.objects.filter(case=case, corrected_by__isnull=True)
    last = standing.order_by("examined_on", "pk").last()
    if last is not None and last.band != CLEAR_BAND:
        raise BadInput(
            what="The case would end with clear skin, and the last score is not in the band clear.",
            why="The closing would contradict what was seen last.",
            todo="Examine again, choose another ending, or close all the same and say why in the note.",
        )
