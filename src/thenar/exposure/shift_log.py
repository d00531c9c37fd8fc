"""Reads the timed log of a shift into spells and moments; whatever can't be right is asked back by line."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from enum import StrEnum

from thenar.errors import BadInput
from thenar.exposure.alternations import Spell


class EventKind(StrEnum):
    """What happened to the hands."""

    WASH = "wash"
    RUB = "rub"
    WET_START = "wet_start"
    WET_STOP = "wet_stop"
    GLOVES_ON = "gloves_on"
    GLOVES_OFF = "gloves_off"
    CREAM = "cream"


class Watched(StrEnum):
    """What an observer was watching for. What nobody watched is not known; it is not zero."""

    WASHES = "washes"
    RUBS = "rubs"
    WET = "wet contact"
    GLOVES = "gloves"
    CREAM = "cream"


class GloveKind(StrEnum):
    """Liquid-proof gloves. Cotton liners keep no liquid in or out and are not logged."""

    EXAMINATION = "examination"
    STERILE = "sterile"
    HOUSEHOLD = "household"
    CHEMICAL = "chemical"


EVERYTHING = frozenset(Watched)
WATCHED_FOR = {
    EventKind.WASH: Watched.WASHES,
    EventKind.RUB: Watched.RUBS,
    EventKind.WET_START: Watched.WET,
    EventKind.WET_STOP: Watched.WET,
    EventKind.GLOVES_ON: Watched.GLOVES,
    EventKind.GLOVES_OFF: Watched.GLOVES,
    EventKind.CREAM: Watched.CREAM,
}


@dataclass(frozen=True, slots=True)
class Event:
    """One line of the log. `at` knows its zone. Wet contact is water on bare skin.

    `gel` belongs to a rub, `skin_wet` to gloves put on: None where nobody noted it.
    """

    at: datetime
    kind: EventKind
    line: int
    glove: GloveKind | None = None
    gel: bool | None = None
    skin_wet: bool | None = None


@dataclass(frozen=True, slots=True)
class Query:
    """What can't be right, to be asked back. `line` is 0 where it is about the whole."""

    line: int
    says: str


class ShiftQueries(BadInput):
    """The log or tally contradicts itself, so it is asked back and not counted."""

    def __init__(self, queries: tuple[Query, ...]) -> None:
        super().__init__(
            what=" ".join(query.says for query in queries),
            why="A count that rests on a guess would give a verdict that rests on it too.",
            todo="Ask whoever kept the log and correct what is named.",
        )
        self.queries = queries


@dataclass(frozen=True, slots=True)
class Rub:
    """A hand rub. `gel` is None where nobody noted it."""

    at: datetime
    gel: bool | None


@dataclass(frozen=True, slots=True)
class GloveWear:
    """One pair, on and off. `skin_wet` is None where nobody noted it."""

    spell: Spell
    skin_wet: bool | None


@dataclass(frozen=True, slots=True)
class SortedLog:
    """The log by kind, in UTC and in order of time."""

    washes: tuple[datetime, ...]
    rubs: tuple[Rub, ...]
    wet: tuple[Spell, ...]
    gloves: tuple[GloveWear, ...]
    creams: tuple[datetime, ...]


@dataclass(slots=True)
class _Reading:
    """Where the reading stands: what is running, what was seen, what must be asked."""

    last: Event | None = None
    wet_since: Event | None = None
    gloves_since: Event | None = None
    washes: list[datetime] = field(default_factory=list)
    rubs: list[Rub] = field(default_factory=list)
    wet: list[Spell] = field(default_factory=list)
    gloves: list[GloveWear] = field(default_factory=list)
    creams: list[datetime] = field(default_factory=list)
    queries: list[Query] = field(default_factory=list)

    def ask(self, event: Event, says: str) -> None:
        self.queries.append(Query(event.line, f"Line {event.line}, {event.at:%H:%M}: {says}."))


def read_log(events: Sequence[Event], watched: frozenset[Watched] = EVERYTHING) -> SortedLog:
    """Sort a shift's events into spells and moments.

    Parameters
    ----------
    events
        In the order they happened.
    watched
        What the observer was watching for.

    Raises
    ------
    ShiftQueries
        Something overlaps, has no end or no start, runs backwards, or is at a time that does not exist; all
        of it is listed, by line.

    Notes
    -----
    Hands are taken together: it does not know left from right.
    """
    reading = _Reading()
    if not events:
        reading.queries.append(Query(0, "The log is empty: nothing seen and nobody watching look alike."))
    for event in events:
        _read_event(reading, event, watched)
    for opened, running in (
        (reading.wet_since, "wet contact that starts"),
        (reading.gloves_since, "gloves that go on"),
    ):
        if opened:
            reading.ask(opened, f"no end to the {running} here")
    if reading.queries:
        raise ShiftQueries(tuple(sorted(reading.queries, key=lambda query: query.line)))
    return SortedLog(
        tuple(reading.washes),
        tuple(reading.rubs),
        tuple(reading.wet),
        tuple(reading.gloves),
        tuple(reading.creams),
    )


def _read_event(reading: _Reading, event: Event, watched: frozenset[Watched]) -> None:
    if event.at.tzinfo is None or event.at.utcoffset() is None:
        reading.ask(event, "the time has no zone")
        return
    if not _exists(event.at):
        reading.ask(event, "this time does not exist; the clocks went forward over it")
        return
    if WATCHED_FOR[event.kind] not in watched:
        reading.ask(event, f"{event.kind} is logged, but nobody watched for {WATCHED_FOR[event.kind]}")
    if reading.last and _moment(event) < _moment(reading.last):
        reading.ask(event, f"earlier than line {reading.last.line}, {reading.last.at:%H:%M}")
    reading.last = event
    _READ[event.kind](reading, event)


def _moment(event: Event) -> datetime:
    """In UTC: the difference of two times in one zone would be by the clock on the wall."""
    return event.at.astimezone(UTC)


def _exists(at: datetime) -> bool:
    return at.astimezone(UTC).astimezone(at.tzinfo).replace(tzinfo=None) == at.replace(tzinfo=None)


def _wash(reading: _Reading, event: Event) -> None:
    _refuse_overlap(reading, event, "a wash")
    reading.washes.append(_moment(event))


def _rub(reading: _Reading, event: Event) -> None:
    _refuse_overlap(reading, event, "a rub")
    reading.rubs.append(Rub(_moment(event), event.gel))


def _cream(reading: _Reading, event: Event) -> None:
    _refuse_overlap(reading, event, "cream")
    reading.creams.append(_moment(event))


def _refuse_overlap(reading: _Reading, event: Event, what: str) -> None:
    if reading.gloves_since:
        reading.ask(event, f"{what} while the gloves from line {reading.gloves_since.line} are on")
    if reading.wet_since:
        reading.ask(event, f"{what} while the wet contact from line {reading.wet_since.line} is running")


def _wet_start(reading: _Reading, event: Event) -> None:
    if reading.wet_since:
        reading.ask(
            event, f"wet contact starts, but that from line {reading.wet_since.line} is still running"
        )
        return
    if reading.gloves_since:
        line = reading.gloves_since.line
        reading.ask(event, f"wet contact starts while the gloves from line {line} are on; is the skin wet?")
    reading.wet_since = event


def _wet_stop(reading: _Reading, event: Event) -> None:
    if reading.wet_since is None:
        reading.ask(event, "wet contact stops, but none was running")
        return
    reading.wet.append(Spell(_moment(reading.wet_since), _moment(event)))
    reading.wet_since = None


def _gloves_on(reading: _Reading, event: Event) -> None:
    if reading.gloves_since:
        reading.ask(event, f"gloves go on, but those from line {reading.gloves_since.line} are still on")
        return
    if reading.wet_since:
        line = reading.wet_since.line
        reading.ask(event, f"gloves go on while the wet contact from line {line} is running")
    reading.gloves_since = event


def _gloves_off(reading: _Reading, event: Event) -> None:
    on = reading.gloves_since
    if on is None:
        reading.ask(event, "gloves come off, but none were on")
        return
    if event.glove and on.glove and event.glove is not on.glove:
        reading.ask(event, f"{event.glove} gloves come off, but line {on.line} put on {on.glove} gloves")
    reading.gloves.append(GloveWear(Spell(_moment(on), _moment(event)), on.skin_wet))
    reading.gloves_since = None


_READ = {
    EventKind.WASH: _wash,
    EventKind.RUB: _rub,
    EventKind.CREAM: _cream,
    EventKind.WET_START: _wet_start,
    EventKind.WET_STOP: _wet_stop,
    EventKind.GLOVES_ON: _gloves_on,
    EventKind.GLOVES_OFF: _gloves_off,
}
