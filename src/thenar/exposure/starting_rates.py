"""What rate to start from before anyone has watched: published, by type of unit, and how little it weighs."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from thenar.errors import BadInput
from thenar.exposure.opportunities import HOURS_IN_A_DAY, Covers, opportunities_per_shift
from thenar.knowledge import Book, Citation

OPPORTUNITIES = "rates.opportunities."
COVERS = "rates.covers."
ADHERENCE = "rates.adherence."
WASH_SHARE = "rates.wash-share"
WEIGHT = "rates.starting-weight"
NIGHTS = "rates.caution.night"


@dataclass(frozen=True, slots=True, kw_only=True)
class StartingRate:
    """Acts an hour of one worker, worked out from a published rate, worth `weight_hours` of watching.

    `opportunities_per_hour` are those that fall to the worker; `acts_per_hour` those taken, of which
    `wash_share` are washes and the rest rubs. `working` says it in words, `about_nights` how nights differ;
    `citations` name each step.
    """

    unit_type: str
    role: str
    covers: Covers
    opportunities_per_hour: float
    acts_per_hour: float
    wash_share: float
    weight_hours: float
    working: str
    about_nights: str
    citations: tuple[tuple[str, Citation], ...]

    def per_hour(self, quantity: str) -> float | None:
        """The rate of one quantity an hour; None where nothing is published to start from."""
        shares = {"washes": self.wash_share, "rubs": 1 - self.wash_share}
        return self.acts_per_hour * shares[quantity] if quantity in shares else None


class UnknownUnitType(BadInput):
    """No rate is published, or none was found, for such a unit."""

    def __init__(self, given: str, known: Iterable[str]) -> None:
        super().__init__(
            what=f"No rate is known for the unit type {given!r}.",
            why="A rate borrowed from another kind of unit would pass for knowledge of this one.",
            todo=f"Name one of: {', '.join(known)}; or leave the unit type out and use the counts alone.",
        )


class UnknownShare(BadInput):
    """No share of the opportunities is known for such a role."""

    def __init__(self, given: str, known: Iterable[str]) -> None:
        super().__init__(
            what=f"No share of the opportunities is known for the role {given!r}.",
            why="A published rate is of all staff together; a role's own part of it is needed.",
            todo=f"Name the nearest of: {', '.join(known)}; or leave the unit type out.",
        )


class PatientsNeeded(BadInput):
    """A rate by patient can't be turned into a worker's without the number of patients."""

    def __init__(self, unit_type: str) -> None:
        super().__init__(
            what=f"The rate for {unit_type} is counted by patient, and patients per worker are missing.",
            why="A nurse with one patient and a nurse with five do not cleanse their hands equally often.",
            todo="Give the patients to each worker of this role. No usual number is assumed.",
        )


def unit_types(book: Book) -> tuple[str, ...]:
    """The types of unit a published rate is known for."""
    return tuple(rule.removeprefix(OPPORTUNITIES) for rule in book.rules if rule.startswith(OPPORTUNITIES))


def staff_groups(unit_type: str, book: Book) -> tuple[str, ...]:
    """The roles whose share of a unit's opportunities is known: its own shares if there are any."""
    prefix = _share_prefix(unit_type, book)
    return tuple(rule.removeprefix(prefix) for rule in book.rules if rule.startswith(prefix))


def starting_rate(
    unit_type: str, role: str, patients_per_worker: float | None, book: Book, on: date
) -> StartingRate:
    """How often one worker cleanses their hands in an hour, going by what is published.

    Parameters
    ----------
    unit_type
        One of `unit_types`.
    role
        One of `staff_groups`. It is not used where a rate is already one worker's.
    patients_per_worker
        Patients to each worker of that role. [above 0] None only where a rate is already one worker's.
    book
        The knowledge that holds the rates and this software's choices, printed as such.
    on
        Day whose values are used.

    Raises
    ------
    UnknownUnitType, UnknownShare, PatientsNeeded
        What is needed for the step from the unit to a worker is not known.
    NotAnAmount
        Patients per worker are outside their range.

    Notes
    -----
    Four steps, each rough: opportunities by patient, the role's share, the share taken, the share washed. So
    it weighs as little as the knowledge says. Only washes and rubs have one; gloves and water have none.

    Examples
    --------
    Medical ward, five patients to a nurse: 4.5 x 0.77 x 5 opportunities an hour, 0.40 of them taken.

    >>> from thenar.knowledge import load
    >>> start = starting_rate("medical-ward", "nurse", 5, load(), date(2026, 11, 25))
    >>> round(start.opportunities_per_hour, 3), round(start.acts_per_hour, 2), start.covers.value
    (17.325, 6.93, 'daytime')
    """
    if OPPORTUNITIES + unit_type not in book.rules:
        raise UnknownUnitType(unit_type, unit_types(book))
    per_worker, of_whom, used = _opportunities_per_hour(unit_type, role, patients_per_worker, book, on)
    adherence_id = ADHERENCE + (unit_type if ADHERENCE + unit_type in book.rules else "general")
    taken, washed, weight = (_amount(rule, book, on) for rule in (adherence_id, WASH_SHARE, WEIGHT))
    used += (COVERS + unit_type, adherence_id, WASH_SHARE, WEIGHT, NIGHTS)
    return StartingRate(
        unit_type=unit_type,
        role=role,
        covers=Covers(book.rule(COVERS + unit_type).on(on).text or ""),
        opportunities_per_hour=per_worker,
        acts_per_hour=per_worker * taken,
        wash_share=washed,
        weight_hours=weight,
        working=(
            f"{of_whom} = {per_worker:.3g} opportunities an hour; {taken:g} of them taken, "
            f"{washed:g} of those by washing. It weighs as much as {weight:g} h of watching."
        ),
        about_nights=book.rule(NIGHTS).on(on).text or "",
        citations=tuple((rule, book.cite(book.rule(rule).on(on))) for rule in used),
    )


def _opportunities_per_hour(
    unit_type: str, role: str, patients_per_worker: float | None, book: Book, on: date
) -> tuple[float, str, tuple[str, ...]]:
    """One worker's opportunities an hour, the working in words, and the rules used."""
    rule_id = OPPORTUNITIES + unit_type
    rate, unit = _amount(rule_id, book, on), book.rule(rule_id).unit
    if unit == "count/h":
        return rate, f"{rate:g}", (rule_id,)
    if patients_per_worker is None:
        raise PatientsNeeded(unit_type)
    prefix = _share_prefix(unit_type, book)
    if prefix + role not in book.rules:
        raise UnknownShare(role, staff_groups(unit_type, book))
    share = _amount(prefix + role, book, on)
    days = unit == "count/patient-day"
    hourly = rate / HOURS_IN_A_DAY if days else rate
    per_worker = opportunities_per_shift(hourly, share, patients_per_worker, 1)
    words = f"{rate:g}{' / 24' if days else ''} x {share:g} x {patients_per_worker:g}"
    return per_worker, words, (rule_id, prefix + role)


def _share_prefix(unit_type: str, book: Book) -> str:
    own = f"rates.{unit_type}-share."
    return own if any(rule.startswith(own) for rule in book.rules) else "rates.role-share."


def _amount(rule_id: str, book: Book, on: date) -> float:
    return float(book.rule(rule_id).on(on).amount or 0)
