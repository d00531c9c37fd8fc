"""The door to rates: what was watched, how sure that makes a post's load, and its chance to pass limits."""

from dataclasses import dataclass
from datetime import date
from typing import Annotated, Any, Literal

from pydantic import ConfigDict, Field
from pydantic.dataclasses import dataclass as checked

from thenar.cli.doors import Cited, Door, Schema, cited, not_after
from thenar.errors import BadInput
from thenar.exposure.load_chances import Limit
from thenar.exposure.rates import CAUTIONS, PartRate, PostRates, Rate, estimate_rates
from thenar.exposure.sessions import PER_HOUR, ObservationSession, Quantity, Timed
from thenar.exposure.shift_load import Load, ShiftPart, predict_shift
from thenar.exposure.spread import Spread
from thenar.exposure.starting_rates import StartingRate, staff_groups, starting_rate, unit_types
from thenar.exposure.tally import PLAUSIBLE, Tally
from thenar.knowledge import Book

STRICT = ConfigDict(extra="forbid", strict=True)
SPREAD = "rates.spread-by-chance"

Name = Annotated[str, Field(min_length=1)]
Count = Annotated[int, Field(ge=0, description="a count; null where nobody counted")]
Minutes = Annotated[float, Field(ge=0, description="minutes; null where nobody timed it")]


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class SessionGiven:
    """One observer watching one worker. Leave out what nobody counted; 0 says that there was none."""

    observer: Name
    shift_part: Name
    minutes: Annotated[float, Field(ge=0)]
    washes: Count | None = None
    rubs: Count | None = None
    pairs: Count | None = None
    glove_minutes: Minutes | None = None
    wet_contacts: Count | None = None
    wet_minutes: Minutes | None = None

    def session(self, area: str, role: str) -> ObservationSession:
        """The session as the computation takes it."""
        counts = Tally(
            minutes_observed=self.minutes,
            whole_shift=False,
            washes=self.washes,
            rubs=self.rubs,
            pairs=self.pairs,
            glove_minutes=self.glove_minutes,
            wet_contacts=self.wet_contacts,
            wet_minutes=self.wet_minutes,
        )
        return ObservationSession(
            observer=self.observer, area=area, role=role, shift_part=self.shift_part, counts=counts
        )


@checked(frozen=True, slots=True, config=STRICT)
class PartGiven:
    """A part of the shift to judge, named as in the sessions."""

    name: Name
    hours: float
    night: bool


@checked(frozen=True, slots=True, config=STRICT)
class LimitGiven:
    """A limit on one quantity of a shift. [acts, or minutes]"""

    name: Name
    quantity: Quantity | Timed
    operator: Literal[">", ">="]
    amount: float


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class RatesGiven:
    """The sessions of one area and role, and the shift to judge.

    `unit_type` asks for a published rate to start from and needs `staff_group`; most also need
    `patients_per_worker`. Without it the counts stand alone.
    """

    area: Name
    role: Name
    shift: Annotated[tuple[PartGiven, ...], Field(min_length=1)]
    sessions: tuple[SessionGiven, ...] = ()
    limits: tuple[LimitGiven, ...] = ()
    unit_type: str | None = None
    staff_group: str | None = None
    patients_per_worker: float | None = None
    counts_confirmed: bool = False
    seed: Annotated[int, Field(ge=0)] = 1
    on: date | None = None


@dataclass(frozen=True, slots=True)
class StartAnswer:
    """Where washes and rubs start from. `covers` says which hours of the day the rate was counted in."""

    unit_type: str
    staff_group: str
    covers: str
    opportunities_per_hour: float
    acts_per_hour: float
    worth_hours: float
    working: str


@dataclass(frozen=True, slots=True)
class PerHourAnswer:
    """Acts an hour, with the middle 95 % of where the rate may lie. `share_of_start` is not from watching."""

    acts_seen: int
    hours_seen: float
    per_hour: float
    lower: float
    upper: float
    share_of_start: float


@dataclass(frozen=True, slots=True)
class ObserverAnswer:
    """One observer's sessions, by the counts alone."""

    observer: str
    rate: PerHourAnswer


@dataclass(frozen=True, slots=True)
class RateAnswer:
    """One quantity in one part of the shift: all observers together, and apart."""

    quantity: Quantity
    shift_part: str
    together: PerHourAnswer
    observers: tuple[ObserverAnswer, ...]
    between_observers: Spread | None
    between_sessions: Spread | None


@dataclass(frozen=True, slots=True)
class LengthAnswer:
    """How long one act takes. [minutes]"""

    timed: Timed
    acts_timed: int
    mean_minutes: float


@dataclass(frozen=True, slots=True)
class RatesAnswer:
    """What is known of the post and of a shift to come. Null with `not_known` is never "none"."""

    area: str
    role: str
    start: StartAnswer | None
    watched_hours: dict[str, float]
    unseen_parts: tuple[str, ...]
    rates: tuple[RateAnswer, ...]
    lengths: tuple[LengthAnswer, ...]
    loads: tuple[Load, ...]
    cautions: tuple[str, ...]
    sources: tuple[Cited, ...]
    seed: int
    on: date
    edition: str


def _compute(given: RatesGiven, book: Book, today: date) -> RatesAnswer:
    on = not_after(given.on, today)
    start = _start(given, book, on)
    rates = estimate_rates(
        [session.session(given.area, given.role) for session in given.sessions],
        start,
        book,
        on,
        area=given.area,
        role=given.role,
        seed=given.seed,
        counts_confirmed=given.counts_confirmed,
    )
    parts = [ShiftPart(part.name, part.hours, part.night) for part in given.shift]
    limits = [Limit(one.name, one.quantity, one.operator, one.amount) for one in given.limits]
    shift = predict_shift(rates, parts, limits, seed=given.seed)
    return RatesAnswer(
        area=given.area,
        role=given.role,
        start=_start_answer(start) if start else None,
        watched_hours=dict(rates.watched_hours),
        unseen_parts=shift.unseen_parts,
        rates=tuple(map(_rate_answer, rates.rates)),
        lengths=tuple(LengthAnswer(one.timed, one.acts, one.mean) for one in rates.lengths),
        loads=shift.loads,
        cautions=(*shift.cautions, *rates.cautions),
        sources=_sources(rates, book, on),
        seed=given.seed,
        on=on,
        edition=book.edition,
    )


def _start(given: RatesGiven, book: Book, on: date) -> StartingRate | None:
    if given.unit_type is None:
        if given.staff_group is None and given.patients_per_worker is None:
            return None
        raise BadInput(
            what="staff_group or patients_per_worker is given, but no unit_type.",
            why="Both only serve to take a worker's part of a published rate.",
            todo=f"Give a unit_type ({', '.join(unit_types(book))}), or leave all three out.",
        )
    return starting_rate(given.unit_type, given.staff_group or "", given.patients_per_worker, book, on)


def _start_answer(start: StartingRate) -> StartAnswer:
    return StartAnswer(
        unit_type=start.unit_type,
        staff_group=start.role,
        covers=start.covers.value,
        opportunities_per_hour=start.opportunities_per_hour,
        acts_per_hour=start.acts_per_hour,
        worth_hours=start.weight_hours,
        working=start.working,
    )


def _rate_answer(part: PartRate) -> RateAnswer:
    return RateAnswer(
        quantity=part.quantity,
        shift_part=part.shift_part,
        together=_per_hour(part.rate),
        observers=tuple(ObserverAnswer(one.observer, _per_hour(one.rate)) for one in part.observers),
        between_observers=part.between_observers,
        between_sessions=part.between_sessions,
    )


def _per_hour(rate: Rate) -> PerHourAnswer:
    return PerHourAnswer(
        acts_seen=rate.seen.count,
        hours_seen=rate.seen.hours,
        per_hour=rate.mean,
        lower=rate.lower,
        upper=rate.upper,
        share_of_start=rate.share_of_start,
    )


def _sources(rates: PostRates, book: Book, on: date) -> tuple[Cited, ...]:
    of_start = rates.start.citations if rates.start else ()
    plausible = [rule for rule in book.rules if rule.startswith(PLAUSIBLE)]
    others = [(rule, book.cite(book.rule(rule).on(on))) for rule in (*CAUTIONS, SPREAD, PER_HOUR, *plausible)]
    return tuple(cited(rule, citation) for rule, citation in (*of_start, *others))


def _name_the_choices(schema: Schema, book: Book) -> Schema:
    """Add the types of unit and the roles a published rate is known for: they stand in the book."""
    known = unit_types(book)
    groups = dict.fromkeys(group for unit in known for group in staff_groups(unit, book))
    properties: dict[str, Any] = dict(schema["properties"])
    properties["unit_type"] = {"enum": [*known, None], "default": None}
    properties["staff_group"] = {"enum": [*groups, None], "default": None}
    return {**schema, "properties": properties}


DOOR = Door("rates", RatesGiven, RatesAnswer, _compute, _name_the_choices)
