"""The door to counting what a shift does to hands."""

from dataclasses import asdict, dataclass
from datetime import date
from typing import Annotated

from pydantic import AwareDatetime, ConfigDict, Field
from pydantic.dataclasses import dataclass as checked

from thenar.cli.doors import Cited, Door, cited, not_after
from thenar.errors import BadInput
from thenar.exposure.shift import (
    EVERYTHING,
    CountingConvention,
    Event,
    EventKind,
    GloveKind,
    ShiftQuantities,
    ShiftQueries,
    Watched,
    measure_shift,
)
from thenar.exposure.tally import PLAUSIBLE, Tally, measure_tally, query_counts
from thenar.knowledge import Book

STRICT = ConfigDict(extra="forbid", strict=True)

Count = Annotated[int, Field(ge=0, description="a count; null where nobody counted")]
Minutes = Annotated[float, Field(ge=0, description="minutes; null where nobody timed it")]
Seconds = Annotated[int, Field(ge=0)]


@checked(frozen=True, slots=True, config=STRICT)
class EventGiven:
    """One line of the log. `at` needs its distance from UTC, such as 2026-11-25T22:10:00+00:00."""

    at: AwareDatetime
    kind: EventKind
    glove: GloveKind | None = None
    gel: bool | None = None
    skin_wet: bool | None = None


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class TallyGiven:
    """Counts from a tally sheet, with the minutes it was kept over. Leave out what nobody counted."""

    minutes_observed: Minutes
    washes: Count | None = None
    rubs: Count | None = None
    gel_rubs: Count | None = None
    wet_contacts: Count | None = None
    wet_minutes: Minutes | None = None
    pairs: Count | None = None
    glove_minutes: Minutes | None = None
    longest_glove_wear_minutes: Minutes | None = None
    gloves_on_wet_skin: Count | None = None
    wet_glove_alternations: Count | None = None
    wash_glove_alternations: Count | None = None
    cream_uses: Count | None = None


@checked(frozen=True, slots=True, config=STRICT)
class ConventionGiven:
    """What one change between water and gloves is."""

    name: str = "each way"
    round_trip: bool = False
    gap_seconds: Seconds | None = None
    drying_seconds: Seconds | None = None


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class ShiftGiven:
    """A shift, as events or as a tally: one of the two.

    `whole_shift` says whether it was seen from start to end. `counts_confirmed` lets counts stand that would
    be asked back. `watched` names what was watched for, everything if left out.
    """

    whole_shift: bool
    events: tuple[EventGiven, ...] | None = None
    tally: TallyGiven | None = None
    convention: ConventionGiven = ConventionGiven()
    watched: tuple[Watched, ...] | None = None
    counts_confirmed: bool = False
    on: date | None = None


@dataclass(frozen=True, slots=True)
class ShiftAnswer:
    """The shift in numbers; null is not known, never zero. `sources` are the limits counts were held to."""

    quantities: ShiftQuantities
    on: date
    sources: tuple[Cited, ...]
    edition: str


def quantities_of(given: ShiftGiven, book: Book, on: date) -> ShiftQuantities:
    """The shift counted, either way; raise ShiftQueries on what must be asked back."""
    quantities = _measured(given)
    queries = query_counts(quantities, book, on)
    if queries and not given.counts_confirmed:
        raise ShiftQueries(queries)
    return quantities


def _measured(given: ShiftGiven) -> ShiftQuantities:
    if (given.events is None) == (given.tally is None):
        raise BadInput(
            what="A shift needs events or a tally, and not both.",
            why="Two accounts of one shift would have to be merged by a guess.",
            todo="Give `events`, or give `tally`.",
        )
    convention = CountingConvention(**asdict(given.convention))
    if given.tally is not None:
        counts = asdict(given.tally)
        changes = counts["wet_glove_alternations"], counts["wash_glove_alternations"]
        counted_by = None if changes == (None, None) else convention.says
        return measure_tally(Tally(whole_shift=given.whole_shift, convention=counted_by, **counts))
    events = [
        Event(one.at, one.kind, line, one.glove, one.gel, one.skin_wet)
        for line, one in enumerate(given.events or (), start=1)
    ]
    watched = EVERYTHING if given.watched is None else frozenset(given.watched)
    return measure_shift(events, convention, whole_shift=given.whole_shift, watched=watched)


def _compute(given: ShiftGiven, book: Book, today: date) -> ShiftAnswer:
    on = not_after(given.on, today)
    limits = [rule for rule in book.rules.values() if rule.id.startswith(PLAUSIBLE)]
    return ShiftAnswer(
        quantities=quantities_of(given, book, on),
        on=on,
        sources=tuple(cited(rule.id, book.cite(rule.on(on))) for rule in limits),
        edition=book.edition,
    )


DOOR = Door("shift", ShiftGiven, ShiftAnswer, _compute)
