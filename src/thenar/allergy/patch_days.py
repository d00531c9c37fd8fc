"""Which readings of a patch test are due, taken or missed, and what does a missed one cost?"""

from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from itertools import pairwise

from thenar.allergy.patch_rules import Caution, ReadingRules, Stage
from thenar.allergy.patch_test import PatchTest


class Standing(StrEnum):
    """Where a reading stands. Only `TAKEN` says that every position was read."""

    TAKEN = "taken"
    TO_COME = "to come"
    DUE = "due"
    OVERDUE = "overdue, still worth taking"
    MISSED = "missed"


@dataclass(frozen=True, slots=True)
class DueReading:
    """One reading of the schedule. `unread` are the positions that still lack it."""

    stage: Stage
    from_on: date
    to_on: date
    standing: Standing
    unread: tuple[int, ...]


def readings_due(test: PatchTest, rules: ReadingRules, today: date) -> tuple[DueReading, ...]:
    """Every reading of the schedule, and where it stands on a day.

    Parameters
    ----------
    test
        The test as read so far.
    rules
        Holds the schedule.
    today
        The day asked about.

    Returns
    -------
    tuple of DueReading
        In the order of the schedule. A reading can be taken until the next one begins, the last one at any
        later time. A position found not tested is not waited for.

    Notes
    -----
    The days of the schedule are partly from memory: see each stage's citation.

    Examples
    --------
    >>> from thenar.allergy.patch_test import Position
    >>> test = PatchTest(date(2026, 3, 2), None, (Position(1, "nickel-sulfate", "5", "pet"),))
    >>> from thenar.allergy.patch_rules import reading_rules
    >>> from thenar.knowledge import load
    >>> rules = reading_rules(load(), test.applied_on)
    >>> [(one.stage.name, one.standing.value) for one in readings_due(test, rules, date(2026, 3, 5))]
    [('D2', 'missed'), ('D3 or D4', 'due'), ('about D7', 'to come')]
    """
    begins = [stage.first_day for stage in rules.stages]
    ends = [*(following - 1 for _, following in pairwise(begins)), None]
    return tuple(_due(test, stage, end, today) for stage, end in zip(rules.stages, ends, strict=True))


def missed_readings(test: PatchTest, rules: ReadingRules, today: date) -> tuple[Caution, ...]:
    """What a missed or overdue reading may hide, with the published figures. An early all-clear is none.

    Returns
    -------
    tuple of Caution
        One for each reading whose days have passed and that some position lacks. Where no figure is
        published, the caution says so.

    Examples
    --------
    >>> from thenar.allergy.patch_test import PatchGrade, Position, Reading
    >>> test = PatchTest(date(2026, 3, 2), None, (Position(1, "nickel-sulfate", "5", "pet"),),
    ...     (Reading(1, date(2026, 3, 4), PatchGrade.NEGATIVE),))
    >>> from thenar.allergy.patch_rules import reading_rules
    >>> from thenar.knowledge import load
    >>> missed_readings(test, reading_rules(load(), test.applied_on), date(2026, 3, 7))[0].says[:34]
    'A reading was not taken: D3 or D4.'
    """
    return tuple(
        _caution(test, due)
        for due in readings_due(test, rules, today)
        if due.standing in (Standing.MISSED, Standing.OVERDUE)
    )


def occlusion_caution(test: PatchTest, rules: ReadingRules) -> Caution | None:
    """What to think of patches that stayed on for another time than the rules ask; None if there is nothing.

    Examples
    --------
    >>> from thenar.allergy.patch_rules import reading_rules
    >>> from thenar.allergy.patch_test import Position
    >>> from thenar.knowledge import load
    >>> test = PatchTest(date(2026, 3, 2), date(2026, 3, 3), (Position(1, "nickel-sulfate", "5", "pet"),))
    >>> print(occlusion_caution(test, reading_rules(load(), test.applied_on)).says)
    The patches stayed on for 1 day; the rules count on 2, and so do the grades and figures here.
    """
    if test.occluded_until is None or test.day(test.occluded_until) == rules.occlusion.amount:
        return None
    days = test.day(test.occluded_until)
    says = (
        f"The patches stayed on for {days} day{'' if days == 1 else 's'}; the rules count on "
        f"{rules.occlusion.amount}, and so do the grades and figures here."
    )
    return Caution(says, (rules.occlusion.citation,))


def _due(test: PatchTest, stage: Stage, end: int | None, today: date) -> DueReading:
    unread = tuple(
        position.number
        for position in test.positions
        if not test.is_not_tested(position.number) and not _is_read(test, position.number, stage, end)
    )
    from_on = test.applied_on + timedelta(stage.first_day)
    to_on = test.applied_on + timedelta(stage.last_day)
    return DueReading(stage, from_on, to_on, _standing(test, stage, end, today, unread), unread)


def _is_read(test: PatchTest, position: int, stage: Stage, end: int | None) -> bool:
    return any(stage.first_day <= day and (end is None or day <= end) for day, _ in test.days_of(position))


def _standing(
    test: PatchTest, stage: Stage, end: int | None, today: date, unread: tuple[int, ...]
) -> Standing:
    day = test.day(today)
    if not unread:
        return Standing.TAKEN
    if day < stage.first_day:
        return Standing.TO_COME
    if day <= stage.last_day:
        return Standing.DUE
    return Standing.OVERDUE if end is None or day <= end else Standing.MISSED


def _caution(test: PatchTest, due: DueReading) -> Caution:
    whole = len(due.unread) == len(test.positions)
    of_some = "" if whole else f", at {len(due.unread)} of {len(test.positions)} positions"
    rates = due.stage.if_missed
    costs = " ".join(map(str, rates)) or "No figure is published for what that hides."
    return Caution(
        f"A reading was not taken: {due.stage.name}{of_some}. {costs}",
        tuple(rate.citation for rate in rates) or (due.stage.citation,),
    )
