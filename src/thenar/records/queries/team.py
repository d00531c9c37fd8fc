"""What a manager may see: released adjustments of their own staff, nothing else."""

from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction
from django.db.models import QuerySet

from thenar.records.audit import note
from thenar.records.days import day_of
from thenar.records.models import Area, AreaManager, Letter, LetterStep, User, Worker
from thenar.records.queries.standing import Standing, letter_standings
from thenar.records.rights import Act, NotVisible, require


@dataclass(frozen=True, slots=True)
class ReleasedAdjustment:
    """One released letter, reduced to what a manager needs."""

    letter_ref: str
    called: str
    staff_number: str
    measures: tuple[str, ...]
    start_on: date
    end_on: date | None
    review_on: date
    released_on: date
    running: bool


@dataclass(frozen=True, slots=True)
class Team:
    """A manager's page."""

    areas: tuple[Area, ...]
    adjustments: tuple[ReleasedAdjustment, ...]


@transaction.atomic
def team_of(*, by: User, now: datetime) -> Team:
    """Adjustments released to this manager, for staff who are theirs today. No word on anyone else.

    A letter that a later released wording replaces is left out: two would contradict each other.
    """
    require(by, Act.SEE_TEAM)
    today = day_of(now)
    managed = AreaManager.objects.running_on(today).filter(user=by).select_related("area")
    letters = _in_force(_released_to(by, now))
    note("team looked at", by=by, now=now, data_class="C2", why=f"{len(letters)} adjustments")
    return Team(
        areas=tuple(row.area for row in managed),
        adjustments=tuple(_reduced(letter, today) for letter in letters),
    )


@transaction.atomic
def released_letter(*, ref: str, by: User, now: datetime) -> Letter:
    """One letter that was released to this manager."""
    require(by, Act.SEE_TEAM)
    letter = _released_to(by, now).filter(ref=ref).first()
    if letter is None:
        raise NotVisible(by=by, target="letter")
    note(
        "letter read by its recipient",
        by=by,
        now=now,
        target=letter.ref,
        worker_ref=letter.worker.ref,
        data_class="C2",
    )
    return letter


def _in_force(released: QuerySet[Letter]) -> list[Letter]:
    letters = list(released)
    wordings = Letter.objects.filter(worker__in={one.worker_id for one in letters})
    standings = letter_standings(wordings.prefetch_related("steps"))
    return [one for one in letters if standings[one.pk] is Standing.IN_FORCE]


def _released_to(by: User, now: datetime) -> QuerySet[Letter]:
    own_staff = Worker.objects.visible_to(by, day_of(now))
    released = LetterStep.objects.filter(kind="released", recipient=by)
    return (
        Letter.objects.filter(recipient=by, steps__in=released, worker__in=own_staff)
        .select_related("worker", "adjustment")
        .prefetch_related("steps")
        .distinct()
        .order_by("-adjustment__start_on", "pk")
    )


def _reduced(letter: Letter, today: date) -> ReleasedAdjustment:
    adjustment = letter.adjustment
    released = next(step for step in letter.steps.all() if step.kind == "released")
    return ReleasedAdjustment(
        letter_ref=letter.ref,
        called=letter.worker.called,
        staff_number=letter.worker.staff_number,
        measures=tuple(adjustment.measures),
        start_on=adjustment.start_on,
        end_on=adjustment.end_on,
        review_on=adjustment.review_on,
        released_on=released.on,
        running=adjustment.end_on is None or adjustment.end_on >= today,
    )
