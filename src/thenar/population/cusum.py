"""Has the mean of a measurement shifted, seen through the sum of its differences from usual?"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy import optimize

from thenar.population.comparable import NothingToCompare, check_between, check_number
from thenar.population.counts import check_amount
from thenar.population.cusum_run_length import measure_run_length

METHOD = "Cumulative sum: Page 1954, Biometrika 41:100-115; NIST/SEMATECH e-Handbook, section 6.3.2.3."
HIGHEST = 30.0  # standard deviations; a threshold beyond it alarms less than once in a million values


@dataclass(frozen=True, slots=True)
class SumSettings:
    """What is usual, the slack taken from each difference, and the threshold. [unit of the values]"""

    usual: float
    slack: float
    threshold: float

    def __post_init__(self) -> None:
        check_number("usual", self.usual)
        check_amount("slack", self.slack)
        check_amount("threshold", self.threshold)


@dataclass(frozen=True, slots=True)
class MeasureSums:
    """Sums of what lay above usual and below it, after each value. `first_alarm` and `since` count from 1."""

    upper: tuple[float, ...]
    lower: tuple[float, ...]
    first_alarm: int | None
    since: int | None
    false_alarm_every: float | None
    finding: str
    method: str = METHOD


def sum_measures(
    values: Sequence[float], settings: SumSettings, deviation: float | None = None
) -> MeasureSums:
    """Follow the mean of a measurement on both sides, and tell when it shifted.

    Parameters
    ----------
    values
        In order of time. [1 or more]
    settings
        What is usual, slack and threshold. Slack is half the shift worth seeing.
    deviation
        Standard deviation of one value, to say how often the alarm is false; None if not known. [above 0]

    Returns
    -------
    MeasureSums
        `since` is the value after which the sum was last 0: the likely start of the shift.

    Raises
    ------
    UnusableCount, NothingToCompare
        A value that is no number; no value.

    Notes
    -----
    Values are independent and near normal. For counts of cases use `watch_cases`.

    References
    ----------
    .. [1] Page, Biometrika 1954;41:100-115.

    Examples
    --------
    >>> sums = sum_measures([10.0, 11.0, 14.0, 15.0], SumSettings(usual=10.0, slack=1.0, threshold=5.0))
    >>> sums.upper, sums.first_alarm, sums.since
    ((0.0, 0.0, 3.0, 7.0), 4, 3)
    """
    if not values:
        raise NothingToCompare("No value was given.", "Give the values in order of time.")
    for value in values:
        check_number("values", value)
    upper = _sums([value - settings.usual - settings.slack for value in values])
    lower = _sums([settings.usual - value - settings.slack for value in values])
    alarm, since, way = _first(upper, lower, settings.threshold)
    every = None if deviation is None else _both_sides(settings, deviation)
    return MeasureSums(
        upper=upper,
        lower=lower,
        first_alarm=alarm,
        since=since,
        false_alarm_every=every,
        finding=_finding(alarm, since, way, every),
    )


def threshold_for(slack: float, false_alarm_every: float, *, both_sides: bool = True) -> float:
    """The threshold with one false alarm in so many values on average.

    Parameters
    ----------
    slack
        Reference value. [standard deviations of one value, above 0]
    false_alarm_every
        Mean number of values between false alarms. [above 2, below 1,000,000]
    both_sides
        Rises and falls are watched.

    Returns
    -------
    float
        [standard deviations of one value]

    References
    ----------
    .. [1] Brook and Evans, Biometrika 1972;59:539-549.

    Examples
    --------
    >>> round(threshold_for(0.5, 168), 2)
    4.0
    """
    check_between("slack", slack, 0, 5)
    check_between("false_alarm_every", false_alarm_every, 2, 1_000_000)
    one_side = false_alarm_every * (2 if both_sides else 1)
    least = 1e-6  # a threshold of nothing: the alarm comes with any value above the slack
    if measure_run_length(slack, least) >= one_side:
        return least
    return float(
        optimize.brentq(
            lambda height: np.log(measure_run_length(slack, height) / one_side), least, HIGHEST, xtol=1e-7
        )
    )


def _sums(differences: Sequence[float]) -> tuple[float, ...]:
    total, sums = 0.0, []
    for difference in differences:
        total = max(0.0, total + difference)
        sums.append(total)
    return tuple(sums)


def _first(
    upper: Sequence[float], lower: Sequence[float], threshold: float
) -> tuple[int | None, int | None, str]:
    for place in range(len(upper)):
        for sums, way in ((upper, "risen"), (lower, "fallen")):
            if sums[place] > threshold:
                return place + 1, start_of_rise(sums, place) + 1, way
    return None, None, ""


def start_of_rise(sums: Sequence[float], alarm: int) -> int:
    """Index of the first value since the sum was last 0: the likely start of the change."""
    return next((at + 1 for at in range(alarm, -1, -1) if sums[at] == 0), 0)


def _both_sides(settings: SumSettings, deviation: float) -> float:
    check_amount("deviation", deviation)
    return measure_run_length(settings.slack / deviation, settings.threshold / deviation) / 2


def _finding(alarm: int | None, since: int | None, way: str, every: float | None) -> str:
    said = "No lasting shift was seen."
    if alarm is not None:
        said = f"The mean has {way}, most likely since value {since}; its sum passed the "
        said += f"threshold at value {alarm}."
    if every is None:
        return said
    return f"{said} If nothing had changed, an alarm would come once in {every:.0f} values on average."
