"""Do rare cases follow each other sooner, or later, than they used to?"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from math import ceil, log, log1p

import numpy as np

from thenar.population.comparable import NothingToCompare, check_number
from thenar.population.counts import UnusableCount, check_count

T_METHOD = "t-chart on transformed gaps: Nelson 1994, Journal of Quality Technology 26:239-241."
G_METHOD = (
    "g-chart: Kaminsky and others 1992, Journal of Quality Technology 24:63-69; exact geometric limits."
)
NELSON = 0.2777  # makes exponential gaps near normal: Nelson 1994 (1/3.6)
MEAN_RANGE_OF_TWO = 1.128  # mean range of two normal values, in standard deviations
REACH = 3.0  # standard deviations: Shewhart's choice, common practice
EITHER_TAIL = 0.00135  # beyond three standard deviations of a normal value
ENOUGH_GAPS = 20  # to draw limits from: common practice


class GapPlace(Enum):
    """Where a gap lies against its limits."""

    SHORTER = "shorter than chance allows"
    WITHIN = "within"
    LONGER = "longer than chance allows"


@dataclass(frozen=True, slots=True)
class Gap:
    """One gap, as given, as charted, and where it lies."""

    gap: float
    charted: float
    place: GapPlace


@dataclass(frozen=True, slots=True)
class GapChart:
    """Gaps in the order given. `lower` at or below 0 means that no gap can be too short to be chance."""

    gaps: tuple[Gap, ...]
    center: float
    lower: float
    upper: float
    mean_range: float | None
    outside: tuple[int, ...]
    sees_a_rise: bool
    finding: str
    cautions: tuple[str, ...]
    method: str


def chart_time_between(gaps: Sequence[float], exponent: float = NELSON) -> GapChart:
    """A t-chart: time from each case to the next.

    Parameters
    ----------
    gaps
        In order of time; 0 for two cases on one day. [days, 0 or more; 2 or more gaps]
    exponent
        Power that makes the gaps near normal. [above 0, at most 1]

    Returns
    -------
    GapChart
        `center`, limits and `mean_range` are on the transformed scale; `outside` counts gaps from 1.

    Raises
    ------
    UnusableCount, NothingToCompare
        A negative gap, or too few.

    Notes
    -----
    Cases come independently at a steady rate; if the number of people at risk changes, gaps do too. A single
    gap can rarely be too short: the chart sees improvement, and hardly a rise.

    References
    ----------
    .. [1] Nelson, Journal of Quality Technology 1994;26:239-241.
    .. [2] Montgomery, Introduction to Statistical Quality Control, 7th edition, example 7.6.

    Examples
    --------
    >>> chart = chart_time_between([30.0, 41.0, 2.0, 35.0, 90.0])
    >>> chart.outside, chart.sees_a_rise
    ((), False)
    """
    for gap in gaps:
        check_number("gaps", gap)
        if gap < 0:
            raise UnusableCount("gaps", gap, "0 or more")
    if not 0 < exponent <= 1:
        raise UnusableCount("exponent", exponent, "above 0 and at most 1")
    _refuse_too_few(gaps)
    charted = np.asarray(gaps, dtype=float) ** exponent
    center, mean_range = float(charted.mean()), float(np.abs(np.diff(charted)).mean())
    reach = REACH * mean_range / MEAN_RANGE_OF_TWO
    return _charted(gaps, charted.tolist(), (center - reach, center, center + reach), mean_range, T_METHOD)


def chart_number_between(gaps: Sequence[int]) -> GapChart:
    """A g-chart: how many went without between each case and the next (shifts, starters, checks).

    Parameters
    ----------
    gaps
        In order of time; 0 where a case follows a case. [counts; 2 or more gaps]

    Returns
    -------
    GapChart
        Limits are whole numbers that chance passes at most once in 741 gaps on either side.

    Raises
    ------
    UnusableCount, NothingToCompare
        A count that can't be, too few, or nobody in between.

    Notes
    -----
    Each one is a case independently with the same chance, taken from the mean gap. A gap of 0 has the chance
    of a case itself, so only where fewer than one in 741 is a case can a gap be too short to be chance.

    References
    ----------
    .. [1] Kaminsky, Benneyan, Davis and Burke, Journal of Quality Technology 1992;24:63-69.

    Examples
    --------
    One case in 10 on average: 0.9 ^ 63 is the first power below 0.00135, so a gap above 62 is not chance.

    >>> chart = chart_number_between([9, 5, 13, 9])
    >>> chart.center, chart.upper, chart.sees_a_rise
    (9.0, 62.0, False)
    """
    for gap in gaps:
        check_count("gaps", gap)
    _refuse_too_few(gaps)
    mean = float(np.mean(gaps))
    if mean == 0:
        raise NothingToCompare("Every one was a case.", "Check what was counted between cases.")
    goes_without = -log1p(1 / mean)  # log of the chance that one more goes without, mean / (mean + 1)
    # A gap above `upper` has chance (mean / (mean + 1)) ^ (upper + 1).
    upper = ceil(log(EITHER_TAIL) / goes_without) - 1
    lower = max(0, int(log1p(-EITHER_TAIL) / goes_without))
    limits = (float(lower), mean, float(max(upper, 0)))
    return _charted(gaps, [float(gap) for gap in gaps], limits, None, G_METHOD)


def _refuse_too_few(gaps: Sequence[float]) -> None:
    if len(gaps) < 2:
        raise NothingToCompare(
            "Fewer than two gaps were given.", "Give the gaps between three cases or more."
        )


def _charted(
    gaps: Sequence[float],
    charted: Sequence[float],
    limits: tuple[float, float, float],
    mean_range: float | None,
    method: str,
) -> GapChart:
    lower, center, upper = limits
    placed = tuple(
        Gap(gap, figure, _place(figure, lower, upper)) for gap, figure in zip(gaps, charted, strict=True)
    )
    outside = tuple(number for number, gap in enumerate(placed, 1) if gap.place is not GapPlace.WITHIN)
    sees_a_rise = lower > 0
    return GapChart(
        gaps=placed,
        center=center,
        lower=lower,
        upper=upper,
        mean_range=mean_range,
        outside=outside,
        sees_a_rise=sees_a_rise,
        finding=_finding(placed),
        cautions=tuple(_cautions(len(gaps), sees_a_rise)),
        method=method,
    )


def _place(figure: float, lower: float, upper: float) -> GapPlace:
    if figure > upper:
        return GapPlace.LONGER
    return GapPlace.SHORTER if figure < lower else GapPlace.WITHIN


def _finding(gaps: Sequence[Gap]) -> str:
    said = [
        f"{place.value}: {', '.join(numbers)}"
        for place in (GapPlace.SHORTER, GapPlace.LONGER)
        if (numbers := [str(number) for number, gap in enumerate(gaps, 1) if gap.place is place])
    ]
    if not said:
        return "No gap between cases is longer or shorter than chance allows."
    return f"Gaps counted from the first, {'; '.join(said)}."


def _cautions(gaps: int, sees_a_rise: bool) -> list[str]:
    said = ["The limits come from the same gaps they judge."]
    if not sees_a_rise:
        said.append(
            "No single gap could be too short to be chance: a rise shows in a cumulative sum, not here."
        )
    if gaps < ENOUGH_GAPS:
        said.append(f"{gaps} gaps tell what is usual; {ENOUGH_GAPS} or more are common practice.")
    return said
