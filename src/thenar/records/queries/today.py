"""What needs the practitioner now.

Each list is found in one pass over what is still open; only the rows shown are then read whole, so that the
page costs the same after five years as after one.
"""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db import transaction
from django.db.models import Case, Exists, OuterRef, Subquery, When

from thenar.knowledge import Book
from thenar.records.actions.letters import state_of
from thenar.records.audit import note
from thenar.records.days import day_of
from thenar.records.letter_states import ENDED, LetterState, Step
from thenar.records.models import Letter, LetterStep, Post, Review, SkinCheck, User, Worker
from thenar.records.models.checks import URGENCIES
from thenar.records.queries.concerns import WaitingConcern, concerns_waiting
from thenar.records.queries.patch_tests import WaitingReading, readings_due
from thenar.records.rights import Act, require

SHOWN = 40
COMING_SHOWN = 10
REFUSED_SHOWN_FOR = timedelta(days=30)


@dataclass(frozen=True, slots=True)
class WaitingCheck:
    """The gravest check of one worker that nobody has dealt with; `others` of theirs wait behind it."""

    check: SkinCheck
    worker: Worker
    post: Post | None
    waiting_days: int
    others: int


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
class RefusedLetter:
    """A letter the worker said no to, and nothing has come in its place."""

    letter: Letter
    worker: Worker
    on: date


@dataclass(frozen=True, slots=True)
class Today:
    """Everything that waits, most urgent first; each list is cut, and its total says how many there are.

    `checks` holds one row for each worker; `workers_total` counts those rows, `checks_total` every check.
    """

    on: date
    checks: tuple[WaitingCheck, ...]
    checks_total: int
    workers_total: int
    checks_by_urgency: Mapping[str, int]
    reviews: tuple[DueReview, ...]
    reviews_total: int
    coming: tuple[DueReview, ...]
    coming_total: int
    letters: tuple[OpenLetter, ...]
    letters_total: int
    refused: tuple[RefusedLetter, ...]
    readings_due: tuple[WaitingReading, ...]
    readings_total: int
    concerns: tuple[WaitingConcern, ...]
    concerns_total: int


@transaction.atomic
def what_waits(*, by: User, now: datetime, book: Book) -> Today:
    """The practitioner's list: checks by urgency then wait, reviews due, letters on their way or refused,
    patch tests to be read, and products that may not suit someone.
    """
    require(by, Act.SEE_TODAY)
    today = day_of(now)
    waiting = _checks_waiting(by)
    behind = Counter(worker_id for _, _, _, worker_id in waiting)
    check_ids = _one_a_worker(waiting)
    due_ids, coming_ids = _reviews_waiting(by, today)
    letter_ids, refused_ids = _letters_waiting(by), _letters_refused(by, today)
    checks = _checks(check_ids[:SHOWN])
    due, coming = _reviews(due_ids[:SHOWN]), _reviews(coming_ids[:COMING_SHOWN])
    letters = _letters([*letter_ids[:SHOWN], *refused_ids[:SHOWN]])
    workers = [check.worker for check in checks] + [review.case.worker for review in (*due, *coming)]
    posts = _current_posts(workers, today)
    readings, readings_total = readings_due(by=by, now=now, book=book)
    concerns, concerns_total = concerns_waiting(by=by, now=now)
    note("today looked at", by=by, now=now, why=f"{len(checks)} checks, {len(due)} reviews")
    return Today(
        on=today,
        checks=tuple(_waiting(check, posts, today, behind[check.worker_id] - 1) for check in checks),
        checks_total=len(waiting),
        workers_total=len(check_ids),
        checks_by_urgency=Counter(urgency for _, urgency, _, _ in waiting),
        reviews=tuple(_due(review, posts, today) for review in due),
        reviews_total=len(due_ids),
        coming=tuple(_due(review, posts, today) for review in coming),
        coming_total=len(coming_ids),
        letters=tuple(
            OpenLetter(letter, letter.worker, state_of(letter))
            for letter in letters[: len(letter_ids[:SHOWN])]
        ),
        letters_total=len(letter_ids),
        refused=tuple(_refused(letter) for letter in letters[len(letter_ids[:SHOWN]) :]),
        readings_due=readings,
        readings_total=readings_total,
        concerns=concerns,
        concerns_total=concerns_total,
    )


_WEIGHT = {code: weight for weight, (code, _) in enumerate(URGENCIES)}


def _checks_waiting(by: User) -> list[tuple[int, str, datetime, int]]:
    """Id, urgency, moment and worker's id of each check nobody has dealt with.

    Most urgent first, then longest waiting.
    """
    rows = SkinCheck.objects.filter(sorting__isnull=True).exclude(worker__user=by)
    waiting = list(rows.values_list("pk", "urgency", "submitted_at", "worker_id"))
    waiting.sort(key=lambda row: (-_WEIGHT[row[1]], row[2], row[0]))
    return waiting


def _one_a_worker(waiting: list[tuple[int, str, datetime, int]]) -> list[int]:
    """Ids of each worker's gravest waiting check, in the order of the list."""
    gravest: dict[int, int] = {}
    for pk, _, _, worker_id in waiting:
        gravest.setdefault(worker_id, pk)
    return list(gravest.values())


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
    """Ids of the letters on their way: ready to release first, then commented, then the oldest."""
    steps = LetterStep.objects.filter(letter=OuterRef("pk"))
    rows = (
        Letter.objects.filter(~Exists(steps.filter(kind__in=[step.value for step in ENDED])))
        .exclude(worker__user=by)
        .annotate(agreed=Exists(steps.filter(kind=Step.CONSENTED.value)))
        .annotate(newest=Subquery(steps.order_by("-pk").values("kind")[:1]))
        .annotate(commented=Case(When(newest=Step.COMMENTED.value, then=1), default=0))
    )
    return list(rows.order_by("-agreed", "-commented", "at", "pk").values_list("pk", flat=True))


def _letters_refused(by: User, today: date) -> list[int]:
    """Ids of the letters refused of late in open cases that hold no newer letter, newest refusal first."""
    refusals = LetterStep.objects.filter(kind=Step.REFUSED.value, on__gt=today - REFUSED_SHOWN_FOR)
    newer = Letter.objects.filter(adjustment__case=OuterRef("adjustment__case"), pk__gt=OuterRef("pk"))
    rows = Letter.objects.filter(steps__in=refusals, adjustment__case__closing__isnull=True)
    rows = rows.filter(~Exists(newer)).exclude(worker__user=by)
    return list(rows.order_by("-steps__on", "pk").values_list("pk", flat=True))


def _letters(ids: list[int]) -> list[Letter]:
    rows = Letter.objects.select_related("worker", "recipient", "adjustment").prefetch_related("steps")
    found = rows.in_bulk(ids)
    return [found[pk] for pk in ids]


def _current_posts(workers: list[Worker], today: date) -> dict[int, Post]:
    posts = Post.objects.running_on(today).filter(worker__in=workers).select_related("area", "role")
    return {post.worker_id: post for post in posts.order_by("from_on")}


def _waiting(check: SkinCheck, posts: dict[int, Post], today: date, others: int) -> WaitingCheck:
    waited = (today - day_of(check.submitted_at)).days
    return WaitingCheck(check, check.worker, posts.get(check.worker_id), waited, others)


def _refused(letter: Letter) -> RefusedLetter:
    said_no = next(step for step in letter.steps.all() if step.kind == Step.REFUSED.value)
    return RefusedLetter(letter, letter.worker, said_no.on)


def _due(review: Review, posts: dict[int, Post], today: date) -> DueReview:
    worker = review.case.worker
    return DueReview(review, worker, posts.get(worker.pk), (today - review.due_on).days)
