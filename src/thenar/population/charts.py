"""Did a period's proportion, or its rate, differ from the usual by more than chance allows?"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from thenar.population.comparable import NothingToCompare, PeriodCount, check_named_once, check_people
from thenar.population.counts import UnusableCount

METHOD = (
    "p- and u-charts with limits three standard errors away: Montgomery, Introduction to Statistical Quality "
    "Control; widened as in Laney 2002, Quality Engineering 14:531-537."
)
REACH = 3.0  # standard errors: Shewhart's choice, common practice
MEAN_RANGE_OF_TWO = 1.128  # mean range of two normal values, in standard deviations: Laney 2002
ENOUGH_PERIODS = 20  # to draw limits from: common practice
FEW_CASES = 5  # a period, on average; below it the lower limit is 0: common practice
Numbers = NDArray[np.float64]


class Against(Enum):
    """Where a period lies against its limits."""

    ABOVE = "above"
    WITHIN = "within"
    BELOW = "below"


@dataclass(frozen=True, slots=True)
class ChartPoint:
    """One period: its figure, what chance allows there, and where it lies."""

    period: str
    figure: float
    lower: float
    upper: float
    against: Against


@dataclass(frozen=True, slots=True)
class Chart:
    """All periods in the order given.

    `spread` is how much more periods differ than chance makes them (1 by chance alone); limits are widened by
    it where it is above 1, and never narrowed. `false_alarms` is how many periods chance puts outside.
    """

    center: float
    spread: float | None
    points: tuple[ChartPoint, ...]
    false_alarms: float | None
    finding: str
    cautions: tuple[str, ...]
    method: str = METHOD


def chart_shares(periods: Sequence[PeriodCount], *, usual: int | None = None, widen: bool = False) -> Chart:
    """A p-chart: the share of people with a finding, period by period.

    Parameters
    ----------
    periods
        In order of time; `at_risk` counts people. [2 or more]
    usual
        How many of the first periods tell what is usual; all of them if left out.
    widen
        Allow for periods differing more than chance (Laney's p'-chart).

    Raises
    ------
    UnusableCount, NothingToCompare
        Counts that can't be, a period twice, fewer than two periods, nobody or everybody a case.

    Notes
    -----
    By chance one alarm in about 370 periods where each has many cases; `false_alarms` counts it for the
    people given. The same people asked again and again are not independent.

    References
    ----------
    .. [1] Montgomery, Introduction to Statistical Quality Control, 7th edition, section 7.2.
    .. [2] Laney, Quality Engineering 2002;14:531-537.

    Examples
    --------
    >>> asked = [PeriodCount("May", 8, 50), PeriodCount("June", 12, 50), PeriodCount("July", 28, 50)]
    >>> chart = chart_shares(asked)
    >>> [point.against.value for point in chart.points], round(chart.center, 2)
    (['within', 'within', 'above'], 0.32)
    """
    for one in periods:
        check_people(one.period, one.cases, one.at_risk)
    cases, people, center = _columns(periods, usual)
    if center >= 1:
        raise NothingToCompare("Everybody is a case.", "Check what counts as a case.")
    errors = np.sqrt(center * (1 - center) / people)
    return _charted(
        periods,
        cases / people,
        center,
        errors,
        usual=usual,
        widen=widen,
        chance=stats.binom(people.astype(int), center),
        most=1,
    )


def chart_rates(periods: Sequence[PeriodCount], *, usual: int | None = None, widen: bool = False) -> Chart:
    """A u-chart: cases for each unit of person-time, period by period.

    Parameters
    ----------
    periods
        In order of time; `at_risk` is person-time in any one unit. [2 or more]
    usual
        How many of the first periods tell what is usual; all of them if left out.
    widen
        Allow for periods differing more than chance (Laney's u'-chart).

    Raises
    ------
    UnusableCount, NothingToCompare
        Counts that can't be, a period twice, fewer than two periods, no case.

    Notes
    -----
    With fewer than five cases a period the lower limit is 0 and a slow rise stays within: see `watch_cases`.

    References
    ----------
    .. [1] Montgomery, Introduction to Statistical Quality Control, 7th edition, section 7.3.
    .. [2] Laney, Quality Engineering 2002;14:531-537.

    Examples
    --------
    >>> worked = [PeriodCount("May", 9, 4.0), PeriodCount("June", 7, 4.5), PeriodCount("July", 8, 4.0)]
    >>> chart = chart_rates(worked)
    >>> round(chart.center, 2), round(chart.points[0].upper, 2)
    (1.92, 4.0)
    """
    cases, time, center = _columns(periods, usual)
    errors = np.sqrt(center / time)
    return _charted(
        periods,
        cases / time,
        center,
        errors,
        usual=usual,
        widen=widen,
        chance=stats.poisson(time * center),
        most=np.inf,
    )


def _columns(periods: Sequence[PeriodCount], usual: int | None) -> tuple[Numbers, Numbers, float]:
    """Cases, what they came from, and the usual figure."""
    check_named_once("periods", [one.period for one in periods])
    if len(periods) < 2:
        raise NothingToCompare("Fewer than two periods were given.", "Give the periods before it as well.")
    if usual is not None and not 2 <= usual <= len(periods):
        raise UnusableCount("usual", usual, f"from 2 to the number of periods, {len(periods)}")
    cases = np.array([float(one.cases) for one in periods])
    at_risk = np.array([float(one.at_risk) for one in periods])
    center = float(cases[:usual].sum() / at_risk[:usual].sum())
    if center == 0:
        raise NothingToCompare(
            "The usual periods have no case.", "Use the rare-event charts, or give more periods."
        )
    return cases, at_risk, center


def _charted(
    periods: Sequence[PeriodCount],
    figures: Numbers,
    center: float,
    errors: Numbers,
    *,
    usual: int | None,
    widen: bool,
    chance: Any,
    most: float,
) -> Chart:
    spread = _spread(((figures - center) / errors)[:usual]) if widen else None
    reach = REACH * errors * max(1.0, spread or 1.0)
    lower, upper = np.maximum(center - reach, 0), np.minimum(center + reach, most)
    points = tuple(
        ChartPoint(one.period, figure, low, high, _against(figure, low, high))
        for one, figure, low, high in zip(
            periods, figures.tolist(), lower.tolist(), upper.tolist(), strict=True
        )
    )
    at_risk = np.array([one.at_risk for one in periods])
    false_alarms = None if widen else float(_outside(chance, lower * at_risk, upper * at_risk).sum())
    learnt_from = usual or len(periods)
    return Chart(
        center=center,
        spread=spread,
        points=points,
        false_alarms=false_alarms,
        finding=_finding(points, false_alarms),
        cautions=tuple(_cautions(periods[:learnt_from], spread, apart=usual is not None)),
    )


def _spread(distances: Numbers) -> float:
    """Of neighbouring periods, so that a lasting shift does not hide itself."""
    return float(np.mean(np.abs(np.diff(distances)))) / MEAN_RANGE_OF_TWO


def _against(figure: float, lower: float, upper: float) -> Against:
    if figure > upper:
        return Against.ABOVE
    return Against.BELOW if figure < lower else Against.WITHIN


def _outside(chance: Any, lower_cases: Numbers, upper_cases: Numbers) -> Numbers:
    """Exact chance of a count outside both limits, for each period."""
    slack = 1e-9  # a count that equals its limit lies within
    outside: Numbers = chance.sf(np.floor(upper_cases + slack)) + chance.cdf(np.ceil(lower_cases - slack) - 1)
    return outside


def _finding(points: Sequence[ChartPoint], false_alarms: float | None) -> str:
    said = [
        f"{against.value}: {', '.join(named)}"
        for against in (Against.ABOVE, Against.BELOW)
        if (named := [point.period for point in points if point.against is against])
    ]
    finding = f"Outside the limits, {'; '.join(said)}." if said else "No period lies outside its limits."
    if false_alarms is None:
        return finding
    return f"{finding} If nothing had changed, {false_alarms:.2g} of {len(points)} would be expected there."


def _cautions(usual: Sequence[PeriodCount], spread: float | None, *, apart: bool) -> list[str]:
    said = []
    if not apart:
        said.append("The limits come from the same periods they judge: a lasting change draws them along.")
    if len(usual) < ENOUGH_PERIODS:
        said.append(f"{len(usual)} periods tell what is usual; {ENOUGH_PERIODS} or more are common practice.")
    if sum(one.cases for one in usual) < FEW_CASES * len(usual):
        said.append(f"Fewer than {FEW_CASES} cases a period: a cumulative sum sees a rise sooner.")
    if spread is not None and spread > 1:
        said.append(
            f"Periods differ {spread:.2g} times as much as chance makes them; the limits were widened."
        )
    return said
