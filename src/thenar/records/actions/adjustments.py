"""Agrees what the workplace changes for a while."""

from datetime import date, datetime

from django.db import transaction

from thenar.errors import BadInput
from thenar.records.actions.cases import require_open
from thenar.records.audit import note
from thenar.records.models import Adjustment, Case, User
from thenar.records.rights import Act, require, require_not_own


@transaction.atomic
def agree_adjustment(
    *,
    case: Case,
    measures: tuple[str, ...],
    start_on: date,
    end_on: date | None,
    review_on: date,
    by: User,
    now: datetime,
) -> Adjustment:
    """Keep the measures agreed with the worker. They are all a manager will ever see."""
    require(by, Act.WRITE_CLINICAL)
    require_not_own(case.worker, by)
    require_open(case)
    _check_days(start_on, end_on, review_on)
    if not measures:
        raise BadInput(
            what="No measure was chosen.",
            why="A letter without a measure asks the workplace for nothing.",
            todo="Choose at least one.",
        )
    adjustment = Adjustment.objects.create(
        case=case,
        measures=list(measures),
        start_on=start_on,
        end_on=end_on,
        review_on=review_on,
        at=now,
        by=by,
    )
    note(
        "adjustment agreed",
        by=by,
        now=now,
        target=adjustment.ref,
        worker_ref=case.worker.ref,
        data_class="C2",
    )
    return adjustment


def _check_days(start_on: date, end_on: date | None, review_on: date) -> None:
    if review_on < start_on or (end_on is not None and end_on < start_on):
        raise BadInput(
            what="The end or the review comes before the start.",
            why="The manager must know from when to when.",
            todo="Put the days in order: start, then review, then end.",
        )
    if end_on is not None and review_on > end_on:
        raise BadInput(
            what=f"The review on {review_on.day} {review_on:%B %Y} comes after the end on "
            f"{end_on.day} {end_on:%B %Y}.",
            why="The change would run out before anyone has looked whether it is still needed.",
            todo="Choose a review on or before the last day, or a later end.",
        )
