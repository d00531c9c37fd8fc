"""Did a control or a programme change how many new cases there are?"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from thenar.population.counts import UnusableCount, check_confidence
from thenar.population.evaluation_fit import FEWEST_WARDS, Fitted, columns_of, fit, month_number
from thenar.population.evaluation_refusals import check_series, check_sides
from thenar.population.evaluation_terms import Arm, ArmMonth, Change, Effect, Shape, WardMonth
from thenar.population.evaluation_words import SEASON_MONTHS, cautions_of, sentence_of
from thenar.population.stated import Grounds

METHOD = (
    "Segmented quasi-Poisson regression with person-years as offset: Lopez Bernal, Cummins and Gasparrini "
    "2017, Int J Epidemiol 46:348-355; with comparison wards: the same, 2018, Int J Epidemiol 47:2082-2093."
)
SEASON_PAIRS = 2  # sines and cosines of a year: as in the paper of 2017
MOST_PAIRS = 5  # a sixth would follow the months one by one
Rows = NDArray[np.bool_]


def evaluate(
    given: Sequence[WardMonth],
    change: Change,
    grounds: Grounds,
    *,
    season_pairs: int | None = None,
    confidence: float = 0.95,
) -> Effect:
    """What a change did to the rate of new cases, against the wards' own past and other wards.

    Parameters
    ----------
    given
        New cases and person-years by ward and month. Wards the change did not come to are the comparison.
    change
        What came, where, when, and how it is thought to act.
    grounds
        What counts as a case, who said so, and in which days; the months lie within.
    season_pairs
        Sines and cosines that follow the year; if left out, two where there are 12 months on each side and
        else none. [0 to 5]
    confidence
        Level of the intervals. [above 0, below 1]

    Returns
    -------
    Effect
        Rate ratios with intervals, month by month what would have been, and the sentence to read out.

    Raises
    ------
    UnusableCount, CannotEvaluate
        Counts that can't be, a month twice, no person-years, the day of the change outside the months, fewer
        than eight months on a side, an arm without a case on a side, counts that never vary.

    Notes
    -----
    The interval is the wider of quasi-Poisson and, with three wards or more in each arm, clustered by ward
    (corrected for few wards, Student's t). Spread below what chance makes never narrows it. A ward without
    any case says nothing about a change and is left out of the fit. Not for a change that came to wards on
    different days, nor for one whose wards were picked after looking at the figures. The trend is taken to go
    on as it was: over years that is hard to believe without comparison wards.

    References
    ----------
    .. [1] Lopez Bernal, Cummins and Gasparrini, Int J Epidemiol 2017;46:348-355.
    .. [2] Lopez Bernal, Cummins and Gasparrini, Int J Epidemiol 2018;47:2082-2093 (comparison wards).
    .. [3] Cameron and Miller, Journal of Human Resources 2015;50:317-372 (few clusters).

    Examples
    --------
    Nine months with 76 cases, then nine with 40, on the same ward: 40 / 76 = 0.53.

    >>> from datetime import date
    >>> from thenar.population.stated import AnswerFrom, Period
    >>> months = [date(2025 + n // 12, n % 12 + 1, 1) for n in range(18)]
    >>> cases = [8, 9, 8, 9, 8, 9, 8, 9, 8, 4, 5, 4, 5, 4, 5, 4, 5, 4]
    >>> ward = [WardMonth("Ward 1", month, n, 3.0) for month, n in zip(months, cases)]
    >>> soap = Change(what="Rub for soap", wards=frozenset({"Ward 1"}), on=date(2025, 10, 1))
    >>> grounds = Grounds("hand eczema", AnswerFrom.EXAMINATION, Period(date(2025, 1, 1), date(2026, 6, 30)))
    >>> found = evaluate(ward, soap, grounds)
    >>> round(found.ratio.estimate, 2), found.cases_after, found.season_pairs
    (0.53, 40, 0)
    """
    check_confidence(confidence)
    check_series(given, change, grounds.period)
    split = _split(given, change)
    pairs = _season_pairs(season_pairs, split)
    fitted = fit(
        columns_of(split.rows, change, split.first_after, pairs),
        by_ward=split.by_ward(change),
        arms=2 if split.compared(change) else 1,
        confidence=confidence,
    )
    return _effect(given, split, fitted, change, grounds=grounds, pairs=pairs)


@dataclass(frozen=True, slots=True)
class _Split:
    """The rows to fit, in which month the change is first seen whole, and what was left out."""

    rows: tuple[WardMonth, ...]
    first_after: int
    left_out: tuple[str, ...]

    def months(self, change: Change, *, after: bool) -> int:
        return len({row.month for row in self._side(after) if row.ward in change.wards})

    def fewest_cases(self, change: Change) -> int:
        """Cases of the arm and side that has fewest."""
        sums: Counter[tuple[bool, bool]] = Counter()
        for row in self.rows:
            sums[row.ward in change.wards, month_number(row) >= self.first_after] += row.cases
        return min(sums.values())

    def compared(self, change: Change) -> int:
        return len({row.ward for row in self.rows} - change.wards)

    def by_ward(self, change: Change) -> bool:
        compared = self.compared(change)
        changed = len({row.ward for row in self.rows} & change.wards)
        return changed >= FEWEST_WARDS and (compared == 0 or compared >= FEWEST_WARDS)

    def _side(self, after: bool) -> list[WardMonth]:
        return [row for row in self.rows if (month_number(row) >= self.first_after) is after]


def _split(given: Sequence[WardMonth], change: Change) -> _Split:
    came = change.on.year * 12 + change.on.month - 1
    broken = came + (change.on.day > 1)  # the month it came into belongs to neither side
    first_after = broken + change.settling_months
    before = [row for row in given if month_number(row) < came]
    after = [row for row in given if month_number(row) >= first_after]
    check_sides(before, after, change.wards)
    kept = sorted((*before, *after), key=lambda row: (row.ward, row.month))
    without_case = _without_case(kept)
    said = []
    if first_after > came:
        said.append(f"Months left out, from the day of the change on: {first_after - came}.")
    if without_case:
        said.append(f"Without any case, so they tell nothing of a change: {', '.join(without_case)}.")
    return _Split(tuple(row for row in kept if row.ward not in without_case), first_after, tuple(said))


def _without_case(rows: Sequence[WardMonth]) -> list[str]:
    cases: Counter[str] = Counter()
    for row in rows:
        cases[row.ward] += row.cases
    return sorted(ward for ward, many in cases.items() if many == 0)


def _season_pairs(asked: int | None, split: _Split) -> int:
    if asked is None:
        sides: dict[bool, set[date]] = {False: set(), True: set()}
        for row in split.rows:
            sides[month_number(row) >= split.first_after].add(row.month)
        return SEASON_PAIRS if min(map(len, sides.values())) >= SEASON_MONTHS else 0
    if isinstance(asked, bool) or not 0 <= asked <= MOST_PAIRS:
        raise UnusableCount("season_pairs", asked, f"from 0 to {MOST_PAIRS}")
    return asked


def _effect(
    given: Sequence[WardMonth],
    split: _Split,
    fitted: Fitted,
    change: Change,
    *,
    grounds: Grounds,
    pairs: int,
) -> Effect:
    touched = _touched(split, change)
    ratio = fitted.ratio_over(touched)
    seen = round(float(fitted.columns.cases[touched].sum()))
    without = float(fitted.expected_without[touched].sum())
    compared = split.compared(change)
    carry_over = _carry_over(split, fitted, change)
    months_before, months_after = (split.months(change, after=after) for after in (False, True))
    return Effect(
        ratio=ratio,
        level=fitted.effect(0),
        slope=fitted.effect(1) if change.shape is Shape.AT_ONCE_AND_GROWING else None,
        cases_after=seen,
        without_change=without,
        months_before=months_before,
        months_after=months_after,
        wards_changed=len(change.wards),
        wards_comparison=compared,
        season_pairs=pairs,
        spread=fitted.spread,
        carry_over=carry_over,
        months=_months(given, split, fitted, change),
        sentence=sentence_of(
            ratio,
            change=change,
            case=grounds.case_definition,
            seen=seen,
            without=without,
            months=months_after,
            compared=compared,
        ),
        cautions=cautions_of(
            change,
            grounds,
            compared=compared,
            fewest_cases=split.fewest_cases(change),
            by_ward=split.by_ward(change),
            season_pairs=pairs,
            carry_over=carry_over,
            months=months_before + months_after,
            left_out=split.left_out,
        ),
        method=METHOD,
    )


def _touched(split: _Split, change: Change) -> Rows:
    """Which rows the change could have touched."""
    return np.array(
        [row.ward in change.wards and month_number(row) >= split.first_after for row in split.rows]
    )


def _carry_over(split: _Split, fitted: Fitted, change: Change) -> float:
    """How far one month's surprise on the changed wards goes with the next month's."""
    seen: Counter[int] = Counter()
    expected: Counter[int] = Counter()
    for row, cases in zip(split.rows, fitted.expected.tolist(), strict=True):
        if row.ward in change.wards:
            seen[month_number(row)] += row.cases
            expected[month_number(row)] += cases
    surprise = {month: (seen[month] - cases) / cases**0.5 for month, cases in expected.items()}
    pairs = sum(one * surprise[month + 1] for month, one in surprise.items() if month + 1 in surprise)
    whole = sum(one**2 for one in surprise.values())
    return pairs / whole if whole else 0.0


def _months(
    given: Sequence[WardMonth], split: _Split, fitted: Fitted, change: Change
) -> tuple[ArmMonth, ...]:
    touched = _touched(split, change)
    month_of = np.array([month_number(row) for row in split.rows])
    changed = np.array([row.ward in change.wards for row in split.rows])
    told = []
    for arm in Arm:
        rows = [row for row in given if (row.ward in change.wards) is (arm is Arm.CHANGED)]
        for month in sorted({row.month for row in rows}):
            of_month = [row for row in rows if row.month == month]
            fit_rows = (month_of == month_number(of_month[0])) & (changed == (arm is Arm.CHANGED))
            told.append(
                ArmMonth(
                    arm=arm,
                    month=month,
                    cases=sum(row.cases for row in of_month),
                    person_years=sum(row.person_years for row in of_month),
                    fitted=float(fitted.expected[fit_rows].sum()) if fit_rows.any() else None,
                    without=fitted.without_over(fit_rows) if (fit_rows & touched).any() else None,
                )
            )
    return tuple(told)
