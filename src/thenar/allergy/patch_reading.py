"""What do the readings of one position say together: an outcome, a strength, a pattern over days?"""

from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from thenar.allergy.patch_rules import Caution, ReadingRules
from thenar.allergy.patch_test import POSITIVE, Kind, PatchGrade, PatchTest

Mark = tuple[int, PatchGrade]  # a day of the test, and the grade on it

# An irritant reaction is seen but is no step towards a positive one, so it stands beside a doubtful one.
_RANK = {
    PatchGrade.NEGATIVE: 0,
    PatchGrade.DOUBTFUL: 1,
    PatchGrade.IRRITANT: 1,
    PatchGrade.WEAK: 2,
    PatchGrade.STRONG: 3,
    PatchGrade.EXTREME: 4,
}


class Outcome(StrEnum):
    """What one position came to. `NEGATIVE` says no more than that nothing was seen on the days read."""

    POSITIVE = "positive"
    POSITIVE_LATER = "positive after the days that count"
    DOUBTFUL = "doubtful"
    IRRITANT = "irritant"
    NEGATIVE = "negative"
    NOT_SETTLED = "not settled: not read on a day that counts"
    NOT_TESTED = "not tested"


class Pattern(StrEnum):
    """How a reaction moved over the days."""

    NO_REACTION = "no reaction"
    CRESCENDO = "grows"
    PLATEAU = "stays the same"
    DECRESCENDO = "fades, as irritation often does"
    UNEVEN = "rises and fades"
    LATE = "first positive after the days that count"
    MAY_BE_SENSITISED = "first reaction so late that the test itself may have sensitised"
    NOT_KNOWN = "not known: read once at most"


@dataclass(frozen=True, slots=True)
class PositionReading:
    """What one position says. `strength` is the strongest positive or doubtful grade behind the outcome."""

    position: int
    outcome: Outcome
    strength: PatchGrade | None
    pattern: Pattern
    marks: tuple[Mark, ...]

    @property
    def is_positive(self) -> bool:
        """Whether it counts as positive, in time or later."""
        return self.outcome in (Outcome.POSITIVE, Outcome.POSITIVE_LATER)


def read_position(test: PatchTest, position: int, rules: ReadingRules) -> PositionReading:
    """Bring the readings of one position to an outcome, a strength and a pattern.

    Parameters
    ----------
    test
        The test as read so far.
    position
        The number of the position.
    rules
        Holds the days that count.

    Returns
    -------
    PositionReading
        Positive if weak or stronger on one of the days that count; positive later if only after them. A grade
        before them neither confirms nor clears. Doubtful goes before irritant: it keeps the question open.

    Notes
    -----
    Readings before the days that count only serve the pattern. A negative outcome is not a clearance: see
    `missed_readings` for what the days not read may hide.

    References
    ----------
    The days and grades that count as positive: `rules.positive_from` and `rules.positive_to` name theirs.

    Examples
    --------
    >>> from datetime import date
    >>> from thenar.allergy.patch_test import Position, Reading
    >>> test = PatchTest(date(2026, 3, 2), None, (Position(1, "nickel-sulfate", "5", "pet"),), (
    ...     Reading(1, date(2026, 3, 4), PatchGrade.DOUBTFUL),
    ...     Reading(1, date(2026, 3, 6), PatchGrade.STRONG)))
    >>> from thenar.allergy.patch_rules import reading_rules
    >>> from thenar.knowledge import load
    >>> rules = reading_rules(load(), date(2026, 11, 25))
    >>> read = read_position(test, 1, rules)
    >>> read.outcome.value, read.strength.value, read.pattern.value
    ('positive', '++', 'grows')
    """
    marks = test.days_of(position)
    outcome = _outcome(marks, rules)
    if outcome is Outcome.NOT_SETTLED and not marks and test.is_not_tested(position):
        outcome = Outcome.NOT_TESTED
    return PositionReading(
        position, outcome, _strength(marks, outcome, rules), pattern_of(marks, rules), marks
    )


def pattern_of(marks: tuple[Mark, ...], rules: ReadingRules) -> Pattern:
    """How a reaction moved over the days that were read.

    Parameters
    ----------
    marks
        Days and grades, in order. [days from application]
    rules
        Holds the last day that counts, and from which day on a first reaction may come from the test.

    Notes
    -----
    A late reaction needs an earlier reading that was not positive; without one nobody knows when it began.
    A pattern is a hint: allergic reactions fade too, and irritant ones may stay.

    Examples
    --------
    >>> from datetime import date
    >>> from thenar.allergy.patch_rules import reading_rules
    >>> from thenar.knowledge import load
    >>> rules = reading_rules(load(), date(2026, 11, 25))
    >>> pattern_of(((2, PatchGrade.WEAK), (4, PatchGrade.NEGATIVE)), rules).value
    'fades, as irritation often does'
    >>> pattern_of(((4, PatchGrade.NEGATIVE), (7, PatchGrade.WEAK)), rules).value
    'first positive after the days that count'
    """
    if len(marks) < 2:
        return Pattern.NOT_KNOWN
    seen = [day for day, grade in marks if grade is not PatchGrade.NEGATIVE]
    positive = [day for day, grade in marks if grade in POSITIVE]
    first_read = marks[0][0]
    if not seen:
        return Pattern.NO_REACTION
    if first_read < seen[0] and seen[0] >= rules.sensitised_from.amount:
        return Pattern.MAY_BE_SENSITISED
    if positive and first_read < positive[0] and positive[0] > rules.positive_to.amount:
        return Pattern.LATE
    return _course([_RANK[grade] for _, grade in marks])


def positives_of(test: PatchTest, rules: ReadingRules) -> tuple[PositionReading, ...]:
    """The positions that came out positive, controls left aside."""
    return tuple(
        read
        for position in test.positions
        if position.kind is not Kind.IRRITANT_CONTROL
        and (read := read_position(test, position.number, rules)).is_positive
    )


def irritant_control_reacted(test: PatchTest) -> bool | None:
    """Whether the skin reacted to an irritant control on any day; None where none was put on and read."""
    marks = [mark for control in test.of_kind(Kind.IRRITANT_CONTROL) for mark in test.days_of(control.number)]
    return any(grade is not PatchGrade.NEGATIVE for _, grade in marks) if marks else None


def has_many_positives(test: PatchTest, rules: ReadingRules) -> bool:
    """Whether so many positions are positive that the skin as a whole may be over-reactive."""
    many = rules.many_positives
    return many is not None and len(positives_of(test, rules)) >= many.amount


def skin_cautions(test: PatchTest, rules: ReadingRules) -> tuple[Caution, ...]:
    """What about this skin makes every reaction of the test less certain.

    Returns
    -------
    tuple of Caution
        The irritant control reacted; or so many positions are positive that the skin may react to everything.

    Examples
    --------
    >>> from datetime import date
    >>> from thenar.allergy.patch_test import Position, Reading
    >>> control = Position(1, "sodium lauryl sulfate", "0.5", "aq", kind=Kind.IRRITANT_CONTROL)
    >>> test = PatchTest(date(2026, 3, 2), None, (control,),
    ...     (Reading(1, date(2026, 3, 5), PatchGrade.IRRITANT),))
    >>> from thenar.allergy.patch_rules import reading_rules
    >>> from thenar.knowledge import load
    >>> rules = reading_rules(load(), date(2026, 11, 25))
    >>> skin_cautions(test, rules)[0].says[:30]
    'The irritant control reacted. '
    """
    cautions = []
    if irritant_control_reacted(test):
        told = rules.control_positive
        cautions.append(Caution(f"The irritant control reacted. {told.says}", told.citations))
    if (many := rules.many_positives) and has_many_positives(test, rules):
        says = (
            f"{len(positives_of(test, rules))} positions are positive. From {many.amount} on, the skin as a "
            "whole may be over-reactive: test the weaker ones again, one by one, when it is calm."
        )
        cautions.append(Caution(says, (many.citation,)))
    return tuple(cautions)


def _outcome(marks: tuple[Mark, ...], rules: ReadingRules) -> Outcome:
    first, last = rules.positive_from.amount, rules.positive_to.amount
    counting = {grade for day, grade in marks if first <= day <= last}
    later = {grade for day, grade in marks if day > last}
    if counting.intersection(POSITIVE):
        return Outcome.POSITIVE
    if later.intersection(POSITIVE):
        return Outcome.POSITIVE_LATER
    if PatchGrade.DOUBTFUL in counting | later:
        return Outcome.DOUBTFUL
    if PatchGrade.IRRITANT in counting | later:
        return Outcome.IRRITANT
    return Outcome.NEGATIVE if counting else Outcome.NOT_SETTLED


def _strength(marks: tuple[Mark, ...], outcome: Outcome, rules: ReadingRules) -> PatchGrade | None:
    if outcome is Outcome.DOUBTFUL:
        return PatchGrade.DOUBTFUL
    grades = [grade for day, grade in marks if day >= rules.positive_from.amount and grade in POSITIVE]
    return max(grades, key=lambda grade: _RANK[grade], default=None)


def _course(ranks: list[int]) -> Pattern:
    steps = [after - before for before, after in pairwise(ranks)]
    rises, falls = any(step > 0 for step in steps), any(step < 0 for step in steps)
    if rises and falls:
        return Pattern.UNEVEN
    if rises:
        return Pattern.CRESCENDO
    return Pattern.DECRESCENDO if falls else Pattern.PLATEAU
