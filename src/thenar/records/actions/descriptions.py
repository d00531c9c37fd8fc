"""Records what a role in an area does in a usual shift. The newest description is in force."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db import transaction

from thenar.errors import BadInput
from thenar.exposure.care_acts import CareAct, Cleansed, Occasion, Pathogen, Tier, refuse_unusable_acts
from thenar.exposure.starting_rates import StartingRate, starting_rate
from thenar.knowledge import Book
from thenar.records.audit import note
from thenar.records.days import day_of
from thenar.records.models import Area, Role, User, WorkDescription
from thenar.records.rights import Act, require

LONGEST_SHIFT = 24


@dataclass(frozen=True, slots=True, kw_only=True)
class DescribedWork:
    """A usual shift: its length [hours, above 0 to 24], the acts of care in it, and the kind of unit.

    `unit_type`, `staff_group` and `patients_per_worker` choose the published rate an estimate starts from;
    without a unit type the counts stand alone. No acts means that nobody has described them.
    """

    shift_hours: Decimal
    unit_type: str = ""
    staff_group: str = ""
    patients_per_worker: float | None = None
    acts: tuple[CareAct, ...] = ()

    def start(self, book: Book, on: date) -> StartingRate | None:
        """The published rate to start from; None without a unit type."""
        if not self.unit_type:
            return None
        return starting_rate(self.unit_type, self.staff_group, self.patients_per_worker, book, on)


@transaction.atomic
def describe(
    *, area: Area, role: Role, work: DescribedWork, by: User, now: datetime, book: Book
) -> WorkDescription:
    """Keep a description; an earlier one stays as it was.

    Raises
    ------
    BadInput
        The hours, the acts, or what the published rate needs can't be used.
    """
    require(by, Act.WRITE_WORKPLACE)
    if not 0 < work.shift_hours <= LONGEST_SHIFT:
        raise BadInput(
            what=f"A usual shift of {work.shift_hours} hours.",
            why="The load of a shift grows with its length.",
            todo=f"Give the hours from start to end, more than 0 and at most {LONGEST_SHIFT}.",
        )
    if work.acts:
        refuse_unusable_acts(work.acts, book)
    work.start(book, day_of(now))
    kept = WorkDescription.objects.create(
        area=area,
        role=role,
        described_on=day_of(now),
        unit_type=work.unit_type,
        shift_hours=work.shift_hours,
        acts=acts_kept(work),
        edition=book.edition,
        at=now,
        by=by,
    )
    note("work described", by=by, now=now, target=kept.ref, data_class="C5")
    return kept


def acts_kept(work: DescribedWork) -> dict[str, object]:
    """What is kept beside length and unit type: the acts, whose hands they are, and patients to each."""
    return {
        "staff_group": work.staff_group,
        "patients_per_worker": work.patients_per_worker,
        "acts": [_act_kept(act) for act in work.acts],
    }


def described(row: WorkDescription) -> DescribedWork:
    """The description as the computations take it."""
    kept: Mapping[str, Any] = row.acts
    return DescribedWork(
        shift_hours=row.shift_hours,
        unit_type=row.unit_type,
        staff_group=kept["staff_group"],
        patients_per_worker=kept["patients_per_worker"],
        acts=acts_of(kept["acts"]),
    )


def acts_of(kept: Sequence[Mapping[str, Any]]) -> tuple[CareAct, ...]:
    """Acts of care as they were kept; what is not known stays None."""
    return tuple(
        CareAct(**{name: _SORTS.get(name, _same)(given) for name, given in act.items()}) for act in kept
    )


def _same(given: Any) -> Any:
    return given


_SORTS: Mapping[str, Callable[[Any], Any]] = {
    "occasion": Occasion,
    "pathogen": Pathogen,
    "cleansed": Cleansed,
    "gloves": Tier,
}


def _act_kept(act: CareAct) -> dict[str, object]:
    return {name: given for name, given in asdict(act).items() if given is not None}
