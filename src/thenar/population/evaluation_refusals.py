"""Which figures can't tell whether a change worked, and why?"""

from collections.abc import Sequence

from thenar.population.comparable import check_named_once
from thenar.population.evaluation_terms import CannotEvaluate, Change, WardMonth
from thenar.population.stated import Period

FEWEST_MONTHS = 8  # a side: Penfold and Zhang, Academic Pediatrics 2013;13:S38-S44 (from memory)
SIDES = ("before", "after")


def check_series(given: Sequence[WardMonth], change: Change, period: Period) -> None:
    """Refuse months given twice or outside the period, wards nobody counted, and a day outside the months."""
    check_named_once("months", [f"{one.ward}, {one.month:%Y-%m}" for one in given])
    wards = {one.ward for one in given}
    if missing := sorted(change.wards - wards):
        raise CannotEvaluate(
            f"No month was given for {', '.join(missing)}, where {change.what} came.",
            "Give its months, or check how the ward is written.",
        )
    for one in given:
        if not period.first <= one.month <= period.last:
            raise CannotEvaluate(
                f"{one.month:%Y-%m} of {one.ward} lies outside the stated period, {period}.",
                "Give the period the months come from.",
            )
    first, last = min(one.month for one in given), max(one.month for one in given)
    if not first < change.on <= last:
        raise CannotEvaluate(
            f"{change.what} came on {change.on}, outside the months given ({first:%Y-%m} to {last:%Y-%m}).",
            "Give months from before and after it.",
        )


def check_sides(before: Sequence[WardMonth], after: Sequence[WardMonth], changed: frozenset[str]) -> None:
    """Refuse too few months, an arm without a case on a side, and counts that never vary."""
    for side, rows in zip(SIDES, (before, after), strict=True):
        _check_months(side, rows, changed)
    arms = [("where it came", changed)]
    if comparison := frozenset(one.ward for one in before if one.ward not in changed):
        arms.append(("on comparison wards", comparison))
    for named, wards in arms:
        for side, rows in zip(SIDES, (before, after), strict=True):
            _check_cases(f"{side} the change {named}", [one for one in rows if one.ward in wards])
        _check_vary(named, [one for one in (*before, *after) if one.ward in wards])


def _check_months(side: str, rows: Sequence[WardMonth], changed: frozenset[str]) -> None:
    months = len({one.month for one in rows if one.ward in changed})
    if months < FEWEST_MONTHS:
        raise CannotEvaluate(
            f"{months} months {side} the change were given; {FEWEST_MONTHS} or more are needed.",
            "Give a longer series, or compare the two rates as they are (`rate-ratio`).",
        )


def _check_cases(where: str, rows: Sequence[WardMonth]) -> None:
    if sum(one.cases for one in rows) == 0:
        raise CannotEvaluate(
            f"There is no case {where}.",
            "Compare the two rates as they are (`rate-ratio`): its exact interval can bear that.",
        )


def _check_vary(named: str, rows: Sequence[WardMonth]) -> None:
    if len({one.cases for one in rows}) == 1:
        raise CannotEvaluate(
            f"Every month has the same count {named} ({rows[0].cases}).",
            "Check where the counts come from: cases do not come so evenly.",
        )
