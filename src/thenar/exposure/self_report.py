"""Would the verdict stand if the report is off? Tried with half the time and with twice the count."""

from dataclasses import dataclass, fields, replace
from datetime import date
from enum import StrEnum
from typing import Any

from thenar.exposure.rule_matrix import Outcome
from thenar.exposure.rule_sets import RubPolicy, governing_rule_set
from thenar.exposure.shift import ShiftQuantities
from thenar.exposure.wet_work import RuleSetVerdict, judge_shift
from thenar.knowledge import Book, Citation

TIME, COUNT = "self-report.time", "self-report.count"
# Cream and the length of the shift itself are reported well enough, and no limit looks at them.
_NOT_SCALED = {"whole_shift", "convention", "minutes_observed", "cream_uses"}
_NUMBERS = [field.name for field in fields(ShiftQuantities) if field.name not in _NOT_SCALED]


class Reading(StrEnum):
    """How the report is read."""

    AS_LOGGED = "as logged"
    HALF_THE_TIME = "half the time"
    TWICE_THE_COUNT = "twice the count"


@dataclass(frozen=True, slots=True)
class Flip:
    """A rule set that says something else under another reading."""

    rule_set_id: str
    name: str
    reading: Reading
    was: str
    becomes: str
    governing: bool


@dataclass(frozen=True, slots=True)
class ReportBand:
    """The verdicts under each reading, what flips, and whether to observe rather than ask.

    `governing` is None where the rule set that governs is not known.
    """

    verdicts: dict[Reading, tuple[RuleSetVerdict, ...]]
    flips: tuple[Flip, ...]
    governing: str | None
    observe: bool
    says: str
    citations: tuple[tuple[str, Citation], ...]


def try_report(
    quantities: ShiftQuantities,
    book: Book,
    on: date,
    jurisdiction: str = "generic",
    rub_policy: RubPolicy = RubPolicy.EXCLUDED,
) -> ReportBand:
    """Judge a reported shift as logged, with half the time, and with twice the count.

    Parameters
    ----------
    quantities
        What was reported, not observed.
    book
        The knowledge that holds the rule sets and the two factors.
    on
        Day of the shift.
    jurisdiction
        Whose rule set governs; `generic` where no country is set.
    rub_policy
        Whether alcohol rubs are wet contact.

    Returns
    -------
    ReportBand
        `observe` is true where a verdict that matters would flip or is not known. Those that matter are the
        governing rule set's or, where that is not known or is words only, every set's in force.

    Raises
    ------
    UnknownJurisdiction
        The knowledge doesn't have it.

    Notes
    -----
    A band to try a verdict against, not a correction. Nurses observed worked wet for less than half the time
    and almost twice as often as they reported; in other trades reports erred both ways, so that no one factor
    holds. A verdict that stands in the band may still be wrong.

    References
    ----------
    .. [1] Jungbauer and others, Contact Dermatitis 2004, doi 10.1111/j.0105-1873.2004.0314.x.

    Examples
    --------
    Ten washes, doubled, are 20: wet work by the German rule set, which counts from 15.

    >>> from thenar.knowledge import load
    >>> shift = ShiftQuantities(
    ...     whole_shift=True,
    ...     washes=10,
    ...     wet_minutes=30.0,
    ...     wet_glove_alternations=0,
    ...     wash_glove_alternations=0,
    ... )
    >>> band = try_report(shift, load(), date(2026, 11, 25), "DE")
    >>> band.observe, band.says
    (True, "Observe, don't ask: the verdict would not stand with twice the count.")
    """
    time, count = book.rule(TIME).on(on), book.rule(COUNT).on(on)
    readings = {
        Reading.AS_LOGGED: quantities,
        Reading.HALF_THE_TIME: _times_scaled(quantities, float(time.amount or 1)),
        Reading.TWICE_THE_COUNT: _counts_scaled(quantities, int(count.amount or 1)),
    }
    verdicts = {reading: judge_shift(read, book, on, rub_policy) for reading, read in readings.items()}
    rule_set = governing_rule_set(jurisdiction, book, on)
    governing = rule_set.id if rule_set else None
    flips = tuple(_flips(verdicts, governing))
    matter = _that_matter(verdicts[Reading.AS_LOGGED], governing)
    shaken = [flip for flip in flips if flip.rule_set_id in {verdict.rule_set_id for verdict in matter}]
    unknown = any(verdict.outcome is Outcome.NOT_KNOWN for verdict in matter)
    return ReportBand(
        verdicts=verdicts,
        flips=flips,
        governing=governing,
        observe=bool(shaken) or unknown,
        says=_advice(shaken, unknown),
        citations=((TIME, book.cite(time)), (COUNT, book.cite(count))),
    )


def _times_scaled(quantities: ShiftQuantities, factor: float) -> ShiftQuantities:
    return _scaled(quantities, [name for name in _NUMBERS if name.endswith("minutes")], factor)


def _counts_scaled(quantities: ShiftQuantities, factor: int) -> ShiftQuantities:
    return _scaled(quantities, [name for name in _NUMBERS if not name.endswith("minutes")], factor)


def _scaled(quantities: ShiftQuantities, names: list[str], factor: float) -> ShiftQuantities:
    """The quantities with some multiplied; what is not known stays so under any reading."""
    known = {name: getattr(quantities, name) for name in names}
    scaled: dict[str, Any] = {name: amount * factor for name, amount in known.items() if amount is not None}
    return replace(quantities, **scaled)


def _flips(verdicts: dict[Reading, tuple[RuleSetVerdict, ...]], governing: str | None) -> list[Flip]:
    flips = []
    for reading in (Reading.HALF_THE_TIME, Reading.TWICE_THE_COUNT):
        for logged, read in zip(verdicts[Reading.AS_LOGGED], verdicts[reading], strict=True):
            if (logged.outcome, logged.tier_rank) != (read.outcome, read.tier_rank):
                rule_set = logged.ready.rule_set
                was, becomes = _with_tier(logged), _with_tier(read)
                flips.append(
                    Flip(rule_set.id, rule_set.name, reading, was, becomes, rule_set.id == governing)
                )
    return flips


def _with_tier(verdict: RuleSetVerdict) -> str:
    return f"{verdict.says}; tier {verdict.tier_says}" if verdict.ready.rule_set.tiers else verdict.says


def _that_matter(verdicts: tuple[RuleSetVerdict, ...], governing: str | None) -> tuple[RuleSetVerdict, ...]:
    """The governing set, if its numbers can be tried; a set in words stands whatever is reported."""
    named = tuple(verdict for verdict in verdicts if verdict.rule_set_id == governing)
    if named and named[0].ready.criteria:
        return named
    return tuple(verdict for verdict in verdicts if verdict.ready.in_force)


def _advice(shaken: list[Flip], unknown: bool) -> str:
    if shaken:
        readings = " and with ".join(dict.fromkeys(flip.reading.value for flip in shaken))
        return f"Observe, don't ask: the verdict would not stand with {readings}."
    if unknown:
        return "Observe, don't ask: the report leaves out what the verdict needs."
    return "The verdict stands with half the time and with twice the count. It may still be wrong."
