"""How often do hands change between water and gloves? Counted under a named convention: rules name none."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise


@dataclass(frozen=True, slots=True)
class CountingConvention:
    """What one change is.

    With `round_trip`, there and back is one change; else each way is one. A change counts only when at most
    `gap_seconds` lie between (None: however long). A pair put on within `drying_seconds` after water or rub
    counts as put on wet skin where nobody noted it (None: only what was noted counts). [seconds, >= 0]
    """

    name: str
    round_trip: bool = False
    gap_seconds: int | None = None
    drying_seconds: int | None = None

    @property
    def says(self) -> str:
        """The convention in one line, to be printed beside the counts."""
        way = "there and back is one change" if self.round_trip else "each way is one change"
        if self.gap_seconds is None:
            return f"{self.name}: {way}, however long between"
        return f"{self.name}: {way}, at most {self.gap_seconds} s between"


# Each way, however long between, gives the highest count: it misses the fewest posts.
EACH_WAY = CountingConvention("each way")
ROUND_TRIP = CountingConvention("round trip", round_trip=True)


@dataclass(frozen=True, slots=True)
class Spell:
    """A stretch of time, in UTC so that a change of the clocks is no time at all."""

    start: datetime
    end: datetime

    @property
    def elapsed(self) -> timedelta:
        """How long it really lasted."""
        return self.end - self.start


def count_changes(one: Iterable[Spell], other: Iterable[Spell], convention: CountingConvention) -> int:
    """How often hands go from one kind of contact to the other.

    Parameters
    ----------
    one, other
        Spells of each kind, in UTC. A wash is a spell without length.
    convention
        What counts as one change.

    Returns
    -------
    int
        Changes. [count, >= 0]

    Notes
    -----
    The rules that limit these changes do not say what one change is, or how long may lie between. An added
    spell never lowers the count, whatever the convention.

    Examples
    --------
    Wet, gloves, wet: two changes each way, one round trip.

    >>> from datetime import UTC
    >>> at = lambda minute: datetime(2026, 11, 25, 8, minute, tzinfo=UTC)
    >>> wet, gloves = [Spell(at(0), at(5)), Spell(at(20), at(25))], [Spell(at(6), at(19))]
    >>> count_changes(wet, gloves, EACH_WAY), count_changes(wet, gloves, ROUND_TRIP)
    (2, 1)
    """
    told = [(spell.start, spell.end, 0) for spell in one] + [(spell.start, spell.end, 1) for spell in other]
    told.sort(key=lambda each: each[:2])
    most = None if convention.gap_seconds is None else timedelta(seconds=convention.gap_seconds)
    changes = sum(
        kind != next_kind and (most is None or start - end <= most)
        for (_, end, kind), (start, _, next_kind) in pairwise(told)
    )
    return changes // 2 if convention.round_trip else changes
