"""What needs the practitioner now."""

from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction
from django.db.models import Case as SqlCase
from django.db.models import IntegerField, Value, When

from thenar.records.actions.letters import state_of
from thenar.records.audit import note
from thenar.records.days import day_of
from thenar.records.letter_states import LetterState
from thenar.records.models import Letter, Post, Review, SkinCheck, User, Worker
from thenar.records.models.checks import URGENCIES
from thenar.records.rights import Act, require

SHOWN = 40


@dataclass(frozen=True, slots=True)
class WaitingCheck:
    """A check nobody has dealt with."""

    check: SkinCheck
    worker: Worker
    post: Post | None
    waiting_days: int


@dataclass(frozen=True, slots=True)
class DueReview:
    """A review that is due or late."""

    review: Review
    worker: Worker
    post: Post | None
    days_late: int


@dataclass(frozen=True, slots=True)
class OpenLetter:
    """A letter on its way."""

    letter: Letter
    worker: Worker
    state: LetterState


@dataclass(frozen=True, slots=True)
class Today:
    """Everything that waits, most urgent first; each list is cut at `SHOWN` and says how many there are."""

    on: date
    checks: tuple[WaitingCheck, ...]
    checks_total: int
    reviews: tuple[DueReview, ...]
    reviews_total: int
    coming: tuple[DueReview, ...]
    letters: tuple[OpenLetter, ...]
    letters_total: int


@transaction.atomic
def what_waits(*, by: User, now: datetime) -> Today:
    """The practitioner's list: new checks by urgency then wait, reviews due, letters on their way."""
    require(by, Act.SEE_TODAY)
    today = day_of(now)
    checks = _unsorted_checks(by)
    due = Review.objects.filter(outcome__isnull=True, due_on__lte=today).exclude(case__worker__user=by)
    coming = Review.objects.filter(outcome__isnull=True, due_on__gt=today).exclude(case__worker__user=by)
    letters = _letters_on_their_way(by)
    shown_checks = list(checks[:SHOWN])
    shown_due = list(_with_worker(due.order_by("due_on", "pk"))[:SHOWN])
    shown_coming = list(_with_worker(coming.order_by("due_on", "pk"))[:10])
    posts = _current_posts(
        {check.worker_id for check in shown_checks}
        | {review.case.worker_id for review in (*shown_due, *shown_coming)},
        today,
    )
    note("today looked at", by=by, now=now, why=f"{len(shown_checks)} checks, {len(shown_due)} reviews")
    return Today(
        on=today,
        checks=tuple(
            WaitingCheck(
                check, check.worker, posts.get(check.worker_id), (today - day_of(check.submitted_at)).days
            )
            for check in shown_checks
        ),
        checks_total=checks.count(),
        reviews=tuple(_due(review, posts, today) for review in shown_due),
        reviews_total=due.count(),
        coming=tuple(_due(review, posts, today) for review in shown_coming),
        letters=tuple(OpenLetter(letter, letter.worker, state_of(letter)) for letter in letters[:SHOWN]),
        letters_total=letters.count(),
    )


def _unsorted_checks(by: User):  # type: ignore[no-untyped-def]
    weight = SqlCase(
        *[When(urgency=code, then=Value(place)) for place, (code, _) in enumerate(URGENCIES)],
        output_field=IntegerField(),
    )
    return (
        SkinCheck.objects.filter(sorting__isnull=True)
        .exclude(worker__user=by)
        .annotate(weight=weight)
        .order_by("-weight", "submitted_at", "pk")
        .select_related("worker")
    )


def _letters_on_their_way(by: User):  # type: ignore[no-untyped-def]
    return (
        Letter.objects.exclude(steps__kind__in=["released", "withdrawn", "refused"])
        .exclude(worker__user=by)
        .select_related("worker", "recipient", "adjustment")
        .prefetch_related("steps")
        .order_by("at", "pk")
    )


def _with_worker(reviews):  # type: ignore[no-untyped-def]
    return reviews.select_related("case__worker")


def _current_posts(worker_ids: set[int], today: date) -> dict[int, Post]:
    posts = Post.objects.running_on(today).filter(worker_id__in=worker_ids).select_related("area", "role")
    return {post.worker_id: post for post in posts.order_by("from_on")}


def _due(review: Review, posts: dict[int, Post], today: date) -> DueReview:
    worker = review.case.worker
    return DueReview(review, worker, posts.get(worker.pk), (today - review.due_on).days)
