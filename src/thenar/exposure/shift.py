"""What did a shift do to a pair of hands? Counted from a timed log."""

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from thenar.exposure.alternations import EACH_WAY, CountingConvention, Spell, count_changes
from thenar.exposure.shift_log import (
    EVERYTHING,
    Event,
    EventKind,
    GloveKind,
    GloveWear,
    Query,
    Rub,
    ShiftQueries,
    SortedLog,
    Watched,
    read_log,
)

__all__ = [
    "EACH_WAY",
    "EVERYTHING",
    "CountingConvention",
    "Event",
    "EventKind",
    "GloveKind",
    "Query",
    "ShiftQuantities",
    "ShiftQueries",
    "Watched",
    "measure_shift",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class ShiftQuantities:
    """One shift in numbers. None is "not known", which is never zero. [counts and minutes, >= 0]

    `whole_shift` is false where only part of a shift was seen: then everything is "at least". Wet minutes are
    water on bare skin, washing not among them. `gel_rubs` are those of the rubs that were gel. The changes
    are counted by `convention`; two of them also with rubs taken as wet contact.
    """

    whole_shift: bool
    minutes_observed: float | None = None
    washes: int | None = None
    rubs: int | None = None
    gel_rubs: int | None = None
    wet_contacts: int | None = None
    wet_minutes: float | None = None
    pairs: int | None = None
    glove_minutes: float | None = None
    longest_glove_wear_minutes: float | None = None
    gloves_on_wet_skin: int | None = None
    wet_glove_alternations: int | None = None
    wet_glove_alternations_with_gels: int | None = None
    wet_glove_alternations_with_rubs: int | None = None
    wash_glove_alternations: int | None = None
    cream_uses: int | None = None
    convention: str | None = None


def measure_shift(
    events: Sequence[Event],
    convention: CountingConvention = EACH_WAY,
    *,
    whole_shift: bool,
    watched: frozenset[Watched] = EVERYTHING,
) -> ShiftQuantities:
    """Count what one shift did to the hands.

    Parameters
    ----------
    events
        The log, in the order things happened, each time with its zone.
    convention
        What one change between water and gloves is.
    whole_shift
        Whether the log runs from the shift's start to its end.
    watched
        What the observer was watching for; anything else stays not known.

    Returns
    -------
    ShiftQuantities
        Counts, and minutes as they really passed: over midnight, and over a change of the clocks.

    Raises
    ------
    ShiftQueries
        The log contradicts itself; everything to ask back is listed by line.

    Notes
    -----
    A wash is a moment: the seconds it wets the skin are not wet minutes, for the rules count washes on their
    own. A log that was cut off is not a whole shift, and no limit is then held to be kept.

    Examples
    --------
    >>> from datetime import UTC
    >>> at = lambda hour, minute: datetime(2026, 11, 25, hour, minute, tzinfo=UTC)
    >>> log = [
    ...     Event(at(8, 0), EventKind.WASH, line=1),
    ...     Event(at(8, 1), EventKind.GLOVES_ON, line=2),
    ...     Event(at(8, 21), EventKind.GLOVES_OFF, line=3),
    ... ]
    >>> shift = measure_shift(log, whole_shift=True)
    >>> shift.washes, shift.pairs, shift.glove_minutes, shift.wash_glove_alternations, shift.wet_minutes
    (1, 1, 20.0, 1, 0.0)
    """
    log = read_log(events, watched)
    worn = [wear.spell for wear in log.gloves]
    washes, rubs, wet, gloves, cream = (each in watched for each in Watched)
    gels = _gel_rubs(log.rubs) if rubs else None
    with_gels = _at(rub.at for rub in log.rubs if rub.gel)
    with_rubs = _at(rub.at for rub in log.rubs)
    return ShiftQuantities(
        whole_shift=whole_shift,
        washes=len(log.washes) if washes else None,
        rubs=len(log.rubs) if rubs else None,
        gel_rubs=gels,
        wet_contacts=len(log.wet) if wet else None,
        wet_minutes=_minutes(log.wet) if wet else None,
        pairs=len(worn) if gloves else None,
        glove_minutes=_minutes(worn) if gloves else None,
        longest_glove_wear_minutes=max((_minutes([one]) for one in worn), default=0.0) if gloves else None,
        gloves_on_wet_skin=_on_wet_skin(log, convention) if gloves else None,
        wet_glove_alternations=count_changes(log.wet, worn, convention) if wet and gloves else None,
        wet_glove_alternations_with_gels=(
            count_changes([*log.wet, *with_gels], worn, convention)
            if wet and gloves and gels is not None
            else None
        ),
        wet_glove_alternations_with_rubs=(
            count_changes([*log.wet, *with_rubs], worn, convention) if wet and gloves and rubs else None
        ),
        wash_glove_alternations=(
            count_changes(_at(log.washes), worn, convention) if washes and gloves else None
        ),
        cream_uses=len(log.creams) if cream else None,
        convention=convention.says,
    )


def _minutes(spells: Iterable[Spell]) -> float:
    """Added as exact times first, so that a spell cut in two gives the same."""
    return sum((spell.elapsed for spell in spells), timedelta()) / timedelta(minutes=1)


def _at(moments: Iterable[datetime]) -> list[Spell]:
    return [Spell(moment, moment) for moment in moments]


def _gel_rubs(rubs: Iterable[Rub]) -> int | None:
    """Not known as soon as one rub's kind was not noted."""
    gels = [rub.gel for rub in rubs]
    return None if None in gels else sum(map(bool, gels))


def _on_wet_skin(log: SortedLog, convention: CountingConvention) -> int | None:
    """Pairs put on wet skin: as noted, or else by the time since the last water or rub."""
    wetted = sorted([*log.washes, *(rub.at for rub in log.rubs), *(spell.end for spell in log.wet)])
    noted = [_skin_wet(wear, wetted, convention) for wear in log.gloves]
    return None if None in noted else sum(map(bool, noted))


def _skin_wet(wear: GloveWear, wetted: list[datetime], convention: CountingConvention) -> bool | None:
    if wear.skin_wet is not None or convention.drying_seconds is None:
        return wear.skin_wet
    before = bisect_right(wetted, wear.spell.start)
    if before == 0:
        return False
    return wear.spell.start - wetted[before - 1] <= timedelta(seconds=convention.drying_seconds)
