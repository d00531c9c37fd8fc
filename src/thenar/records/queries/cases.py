"""One case, whole; and the single records that hang from it."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from typing import TypeVar

from django.db import models, transaction

from thenar.records.audit import note
from thenar.records.days import day_of
from thenar.records.models import (
    Adjustment,
    AreaManager,
    Case,
    CheckSorting,
    Examination,
    Letter,
    Plan,
    Post,
    Review,
    SkinCheck,
    User,
    Worker,
)
from thenar.records.queries.workers import visible_worker
from thenar.records.rights import Act, NotVisible, require

Kept = TypeVar("Kept", bound=models.Model)


@dataclass(frozen=True, slots=True)
class CaseStory:
    """One episode, with everything that belongs to it, oldest first."""

    case: Case
    worker: Worker
    post: Post | None
    checks: tuple[CheckSorting, ...]
    examinations: tuple[Examination, ...]
    plans: tuple[Plan, ...]
    adjustments: tuple[Adjustment, ...]
    letters: tuple[Letter, ...]
    reviews: tuple[Review, ...]
    managers: tuple[User, ...]

    @property
    def is_open(self) -> bool:
        """Whether the case still runs."""
        return not hasattr(self.case, "closing")

    @property
    def standing_examinations(self) -> tuple[Examination, ...]:
        """Examinations that no later entry corrects, oldest first."""
        return tuple(one for one in self.examinations if not hasattr(one, "corrected_by"))

    @property
    def plan_in_force(self) -> Plan | None:
        """The newest plan."""
        return self.plans[-1] if self.plans else None

    def before(self, examination: Examination) -> Examination | None:
        """The standing examination before this one, to judge a change against."""
        earlier = [
            one
            for one in self.standing_examinations
            if (one.examined_on, one.pk) < (examination.examined_on, examination.pk)
            and one.corrects_id != examination.pk
        ]
        return earlier[-1] if earlier else None

    @property
    def reviews_to_come(self) -> tuple[Review, ...]:
        """Reviews without an outcome, soonest first."""
        return tuple(review for review in self.reviews if not hasattr(review, "outcome"))


@transaction.atomic
def case_story(*, ref: str, by: User, now: datetime, why: str = "case page") -> CaseStory:
    """One case and all that belongs to it; the look is noted."""
    rows = Case.objects.filter(ref=ref).select_related("worker", "earlier", "closing__by")
    case = _seen(rows, lambda case: case.worker, by=by, now=now, why=why)
    worker = case.worker
    today = day_of(now)
    post = current_post(worker, today)
    return CaseStory(
        case=case,
        worker=worker,
        post=post,
        checks=tuple(case.checks.select_related("check_report", "by").order_by("at")),
        examinations=tuple(
            case.examinations.select_related("by", "corrects", "corrected_by").order_by("examined_on", "pk")
        ),
        plans=tuple(case.plans.select_related("by").order_by("at")),
        adjustments=tuple(case.adjustments.select_related("by").order_by("at")),
        letters=tuple(
            Letter.objects.filter(adjustment__case=case)
            .select_related("recipient", "worker", "adjustment", "replaced_by")
            .prefetch_related("steps")
            .order_by("at")
        ),
        reviews=tuple(case.reviews.select_related("outcome").order_by("due_on", "pk")),
        managers=managers_of(post, today) if post else (),
    )


def current_post(worker: Worker, on: date) -> Post | None:
    """The post a worker holds on a day; the newest if there are several."""
    posts = Post.objects.running_on(on).filter(worker=worker).select_related("area", "role")
    return posts.order_by("-from_on").first()


def managers_of(post: Post, today: date) -> tuple[User, ...]:
    """Who answers for a post's area, nearest first."""
    path = post.area.path
    above = [path[: end + 1] for end in range(1, len(path)) if path[end] == "/"]
    managing = AreaManager.objects.running_on(today).filter(area__path__in=above)
    rows = managing.select_related("user", "area").order_by("-area__path")
    return tuple(dict.fromkeys(row.user for row in sorted(rows, key=lambda row: -len(row.area.path))))


@dataclass(frozen=True, slots=True)
class CheckStory:
    """One skin check with what the practitioner needs to decide on it."""

    check: SkinCheck
    worker: Worker
    post: Post | None
    open_case: Case | None
    sorting: CheckSorting | None


@transaction.atomic
def check_story(*, ref: str, by: User, now: datetime) -> CheckStory:
    """One skin check, whose it is, and whether a case is open; the look is noted."""
    rows = SkinCheck.objects.filter(ref=ref).select_related("worker", "sorting__by", "sorting__case")
    check = _seen(rows, lambda one: one.worker, by=by, now=now, why="check")
    return CheckStory(
        check=check,
        worker=check.worker,
        post=current_post(check.worker, day_of(now)),
        open_case=Case.objects.open().filter(worker=check.worker).first(),
        sorting=getattr(check, "sorting", None),
    )


@transaction.atomic
def examination_story(*, ref: str, by: User, now: datetime) -> tuple[Examination, CaseStory]:
    """One examination inside its case, so that it can be judged against the one before."""
    require(by, Act.SEE_CLINICAL)
    row = Examination.objects.filter(ref=ref).select_related("case").first()
    if row is None:
        raise NotVisible(by=by, target="examination")
    story = case_story(ref=row.case.ref, by=by, now=now, why="examination")
    return next(one for one in story.examinations if one.pk == row.pk), story


@transaction.atomic
def plan(*, ref: str, by: User, now: datetime) -> Plan:
    """One plan."""
    rows = Plan.objects.filter(ref=ref).select_related("case__worker", "case__closing", "by")
    return _seen(rows, lambda one: one.case.worker, by=by, now=now, why="plan")


@transaction.atomic
def review(*, ref: str, by: User, now: datetime) -> Review:
    """One review."""
    rows = Review.objects.filter(ref=ref).select_related("case__worker", "case__closing", "outcome__by")
    return _seen(rows, lambda one: one.case.worker, by=by, now=now, why="review")


@transaction.atomic
def letter(*, ref: str, by: User, now: datetime) -> Letter:
    """One letter, for the practitioner."""
    rows = Letter.objects.filter(ref=ref).select_related(
        "worker", "recipient", "adjustment__case__closing", "replaces", "replaced_by", "by"
    )
    return _seen(rows.prefetch_related("steps__by"), lambda one: one.worker, by=by, now=now, why="letter")


def _seen(
    rows: models.QuerySet[Kept], worker_of: Callable[[Kept], Worker], *, by: User, now: datetime, why: str
) -> Kept:
    """The one row, if its worker is visible to a person with clinical rights; the look is noted."""
    require(by, Act.SEE_CLINICAL)
    row = rows.first()
    if row is None:
        raise NotVisible(by=by, target=why)
    worker = visible_worker(worker_of(row).ref, by=by, on=day_of(now))
    note("record looked at", by=by, now=now, worker_ref=worker.ref, why=why)
    return row
