"""What needs the practitioner now.

Each list is found in one pass over what is still open; only the rows shown are then read whole, so that the
page costs the same after five years as after one.
"""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction
from django.db.models import Exists, OuterRef

from thenar.records.actions.letters import state_of
from thenar.records.audit import note
from thenar.records.days import day_of
from thenar.records.letter_states import ENDED, LetterState, Step
from thenar.records.models import Letter, LetterStep, Post, Review, SkinCheck, User, Worker
from thenar.records.models.checks import URGENCIES
from thenar.records.rights import Act, require

SHOWN = 40
COMING_SHOWN = 10


@dataclass(frozen=True, slots=True)
class WaitingCheck:
    """A check nobody has dealt with."""

    check: SkinCheck
    worker: Worker
    post: Post | None
    waiting_days: int


@dataclass(frozen=True, slots=True)
class DueReview:
    """A review that is due, late or coming."""

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
    """Everything that waits, most urgent first; each list is cut, and its total says how many there are."""

    on: date
    checks: tuple[WaitingCheck, ...]
    checks_total: int
    checks_by_urgency: Mapping[str, int]
    reviews: tuple[DueReview, ...]
    reviews_total: int
    coming: tuple[DueReview, ...]
    coming_total: int
    letters: tuple[OpenLetter, ...]
    letters_total: int


@transaction.atomic
def what_waits(*, by: User, now: datetime) -> Today:
    """The practitioner's list: new checks by urgency then wait, reviews due, letters on their way."""
    require(by, Act.SEE_TODAY)
    today = day_of(now)
    waiting = _checks_waiting(by)
    check_ids = [pk for pk, _, _ in waiting]
    due_ids, coming_ids = _reviews_waiting(by, today)
    letter_ids = _letters_waiting(by)
    checks = _checks(check_ids[:SHOWN])
    due, coming = _reviews(due_ids[:SHOWN]), _reviews(coming_ids[:COMING_SHOWN])
    workers = [check.worker for check in checks] + [review.case.worker for review in (*due, *coming)]
    posts = _current_posts(workers, today)
    note("today looked at", by=by, now=now, why=f"{len(checks)} checks, {len(due)} reviews")
    return Today(
        on=today,
        checks=tuple(_waiting(check, posts, today) for check in checks),
        checks_total=len(check_ids),
        checks_by_urgency=Counter(urgency for _, urgency, _ in waiting),
        reviews=tuple(_due(review, posts, today) for review in due),
        reviews_total=len(due_ids),
        coming=tuple(_due(review, posts, today) for review in coming),
        coming_total=len(coming_ids),
        letters=tuple(
            OpenLetter(letter, letter.worker, state_of(letter)) for letter in _letters(letter_ids[:SHOWN])
        ),
        letters_total=len(letter_ids),
    )


_WEIGHT = {code: weight for weight, (code, _) in enumerate(URGENCIES)}


def _checks_waiting(by: User) -> list[tuple[int, str, datetime]]:
    """Id, urgency and moment of each check nobody has dealt with: most urgent first, then longest waiting."""
    rows = SkinCheck.objects.filter(sorting__isnull=True).exclude(worker__user=by)
    waiting = list(rows.values_list("pk", "urgency", "submitted_at"))
    waiting.sort(key=lambda row: (-_WEIGHT[row[1]], row[2], row[0]))
    return waiting


def _checks(ids: list[int]) -> list[SkinCheck]:
    found = SkinCheck.objects.select_related("worker").in_bulk(ids)
    return [found[pk] for pk in ids]


def _reviews_waiting(by: User, today: date) -> tuple[list[int], list[int]]:
    """Ids of the reviews without an outcome, oldest day first: those due, those to come."""
    rows = Review.objects.filter(outcome__isnull=True).exclude(case__worker__user=by)
    waiting = list(rows.order_by("due_on", "pk").values_list("pk", "due_on"))
    due = [pk for pk, due_on in waiting if due_on <= today]
    return due, [pk for pk, _ in waiting[len(due) :]]


def _reviews(ids: list[int]) -> list[Review]:
    found = Review.objects.select_related("case__worker").in_bulk(ids)
    return [found[pk] for pk in ids]


def _letters_waiting(by: User) -> list[int]:
    """Ids of the letters on their way: those agreed and ready to release first, then the oldest."""
    steps = LetterStep.objects.filter(letter=OuterRef("pk"))
    rows = (
        Letter.objects.filter(~Exists(steps.filter(kind__in=[step.value for step in ENDED])))
        .exclude(worker__user=by)
        .annotate(agreed=Exists(steps.filter(kind=Step.CONSENTED.value)))
    )
    return list(rows.order_by("-agreed", "at", "pk").values_list("pk", flat=True))


def _letters(ids: list[int]) -> list[Letter]:
    rows = Letter.objects.select_related("worker", "recipient", "adjustment").prefetch_related("steps")
    found = rows.in_bulk(ids)
    return [found[pk] for pk in ids]


def _current_posts(workers: list[Worker], today: date) -> dict[int, Post]:
    posts = Post.objects.running_on(today).filter(worker__in=workers).select_related("area", "role")
    return {post.worker_id: post for post in posts.order_by("from_on")}


def _waiting(check: SkinCheck, posts: dict[int, Post], today: date) -> WaitingCheck:
    waited = (today - day_of(check.submitted_at)).days
    return WaitingCheck(check, check.worker, posts.get(check.worker_id), waited)


def _due(review: Review, posts: dict[int, Post], today: date) -> DueReview:
    worker = review.case.worker
    return DueReview(review, worker, posts.get(worker.pk), (today - review.due_on).days)
