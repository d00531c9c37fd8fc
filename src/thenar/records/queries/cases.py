"""One case, whole; and the single records that hang from it."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import TypeVar

from django.db import models, transaction

from thenar.records.actions.letters import state_of
from thenar.records.audit import note
from thenar.records.days import day_of
from thenar.records.models import (
    Adjustment,
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
from thenar.records.queries.posts import current_post, managers_of
from thenar.records.queries.standing import Standing, adjustment_standings
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
    def standings(self) -> dict[int, Standing]:
        """How each adjustment stands, by its id."""
        return adjustment_standings(self.letters)

    @property
    def letters_on_their_way(self) -> tuple[Letter, ...]:
        """Letters neither released nor stopped, oldest first."""
        return tuple(letter for letter in self.letters if not state_of(letter).ended)

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
        checks=tuple(case.checks.select_related("check_report", "by").order_by("at", "pk")),
        examinations=tuple(
            case.examinations.select_related("by", "corrects", "corrected_by").order_by("examined_on", "pk")
        ),
        plans=tuple(case.plans.select_related("by").order_by("at", "pk")),
        adjustments=tuple(case.adjustments.select_related("by").order_by("at", "pk")),
        letters=tuple(
            Letter.objects.filter(adjustment__case=case)
            .select_related("recipient", "worker", "adjustment", "replaced_by")
            .prefetch_related("steps")
            .order_by("at", "pk")
        ),
        reviews=tuple(case.reviews.select_related("outcome").order_by("due_on", "pk")),
        managers=managers_of(post, today) if post else (),
    )


@dataclass(frozen=True, slots=True)
class CheckStory:
    """One skin check with what the practitioner needs to decide on it.

    `others` are the worker's other checks that wait, newest first; `managers` answer for where they work.
    """

    check: SkinCheck
    worker: Worker
    post: Post | None
    open_case: Case | None
    sorting: CheckSorting | None
    others: tuple[SkinCheck, ...]
    managers: tuple[User, ...]

    @property
    def older(self) -> tuple[SkinCheck, ...]:
        """The waiting ones that came in before this one, newest first."""
        mine = (self.check.submitted_at, self.check.pk)
        return tuple(one for one in self.others if (one.submitted_at, one.pk) < mine)


@transaction.atomic
def check_story(*, ref: str, by: User, now: datetime) -> CheckStory:
    """One skin check, whose it is, and whether a case is open; the look is noted."""
    rows = SkinCheck.objects.filter(ref=ref).select_related("worker", "sorting__by", "sorting__case")
    check = _seen(rows, lambda one: one.worker, by=by, now=now, why="check")
    today = day_of(now)
    post = current_post(check.worker, today)
    waiting = SkinCheck.objects.filter(worker=check.worker, sorting__isnull=True).exclude(pk=check.pk)
    return CheckStory(
        check=check,
        worker=check.worker,
        post=post,
        open_case=Case.objects.open().filter(worker=check.worker).first(),
        sorting=getattr(check, "sorting", None),
        others=tuple(waiting.order_by("-submitted_at", "-pk")),
        managers=managers_of(post, today) if post else (),
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
    """One review, with the examinations and the other reviews of its case."""
    rows = Review.objects.filter(ref=ref).select_related("case__worker", "case__closing", "outcome__by")
    rows = rows.prefetch_related("case__examinations__corrected_by", "case__reviews__outcome")
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
