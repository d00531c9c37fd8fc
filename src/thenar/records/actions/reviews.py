"""Sets the next look in a case, and records what became of it."""

from datetime import date, datetime

from django.db import transaction

from thenar.errors import BadInput, Conflict
from thenar.records.actions.cases import require_open
from thenar.records.audit import note
from thenar.records.days import day_of
from thenar.records.models import Case, Review, ReviewOutcome, User
from thenar.records.rights import Act, require, require_not_own
from thenar.records.turns import wait_turn


@transaction.atomic
def set_review(*, case: Case, due_on: date, purpose: str, by: User, now: datetime) -> Review:
    """Set a review for a day that has not passed."""
    require(by, Act.WRITE_CLINICAL)
    require_not_own(case.worker, by)
    require_open(case)
    if due_on < day_of(now):
        raise BadInput(
            what=f"Due on: {due_on:%d %B %Y} has passed.",
            why="A review is a look still to come.",
            todo="Choose today or a later day.",
        )
    review = Review.objects.create(
        case=case, due_on=due_on, purpose=purpose, set_on=day_of(now), at=now, by=by
    )
    note("review set", by=by, now=now, target=review.ref, worker_ref=case.worker.ref, data_class="C3")
    return review


@transaction.atomic
def finish_review(
    *,
    review: Review,
    outcome: str,
    by: User,
    now: datetime,
    note_text: str = "",
    next_due_on: date | None = None,
    no_next: bool = False,
) -> ReviewOutcome:
    """Record what became of a review; with `next_due_on`, the next one is set in the same breath.

    A review that is done leaves a next one to come, unless `no_next` is said, with the reason in `note_text`.
    """
    require(by, Act.WRITE_CLINICAL)
    require_not_own(review.case.worker, by)
    wait_turn(review.case.worker_id)
    if ReviewOutcome.objects.filter(review=review).exists():
        raise Conflict(
            what="This review already has an outcome.",
            why="Two outcomes of one review would contradict each other.",
            todo="Open the case to see what was recorded.",
        )
    if outcome in ("moved", "missed") and next_due_on is None:
        raise BadInput(
            what="The review did not happen, and no new day was set.",
            why="The worker would drop out of sight.",
            todo="Set the day of the next review.",
        )
    if outcome == "done" and next_due_on is None and not (no_next and note_text.strip()):
        _another_to_come(review)
    done = ReviewOutcome.objects.create(
        review=review, done_on=day_of(now), outcome=outcome, note=note_text, at=now, by=by
    )
    note("review finished", by=by, now=now, target=review.ref, worker_ref=review.case.worker.ref)
    if next_due_on is not None:
        set_review(case=review.case, due_on=next_due_on, purpose=review.purpose, by=by, now=now)
    return done


def _another_to_come(review: Review) -> None:
    others = Review.objects.filter(case_id=review.case_id, outcome__isnull=True).exclude(pk=review.pk)
    if not others.exists():
        raise BadInput(
            what="The review is done, and no next one was set.",
            why="An open case without a review drops out of sight.",
            todo="Set the day of the next review, or say that there is none and why.",
        )
