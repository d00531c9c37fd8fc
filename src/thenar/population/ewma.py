"""Has the mean of a measurement drifted, seen through a running average?"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

import numpy as np
from scipy import optimize, special

from thenar.population.comparable import NothingToCompare, check_between, check_number
from thenar.population.counts import UnusableCount, check_amount

METHOD = "Exponentially weighted moving average: Lucas and Saccucci 1990, Technometrics 32:1-12."
STATES = 301  # of the chain, odd; 601 change run lengths by less than 1 in 1,000
WIDEST = 8.0  # standard deviations: beyond it no run length is ever asked for


@dataclass(frozen=True, slots=True)
class AverageSettings:
    """What is usual, and how the average is drawn.

    `usual` and `deviation` describe one value; `weight` is the share of the newest value [above 0, at
    most 1]; `width` the limits' distance in standard deviations of the average.
    """

    usual: float
    deviation: float
    weight: float
    width: float

    def __post_init__(self) -> None:
        check_number("usual", self.usual)
        check_amount("deviation", self.deviation)
        check_amount("width", self.width)
        check_weight(self.weight)


@dataclass(frozen=True, slots=True)
class AveragePoint:
    """One value, the running average there, and the limits that hold there. [unit of the values]"""

    value: float
    average: float
    lower: float
    upper: float


@dataclass(frozen=True, slots=True)
class RunningAverage:
    """The average over time. `first_alarm` counts values from 1; None where there is none."""

    points: tuple[AveragePoint, ...]
    lower_at_last: float
    upper_at_last: float
    first_alarm: int | None
    false_alarm_every: float
    finding: str
    method: str = METHOD


def check_weight(weight: float) -> None:
    """Refuse a weight of the newest value that is not above 0 and at most 1."""
    check_number("weight", weight)
    if not 0 < weight <= 1:
        raise UnusableCount("weight", weight, "above 0 and at most 1")


def average_over_time(values: Sequence[float], settings: AverageSettings) -> RunningAverage:
    """Follow the mean of a measurement, and tell when it left what is usual.

    Parameters
    ----------
    values
        In order of time, evenly spaced. [1 or more]
    settings
        What is usual, and how far away is too far.

    Returns
    -------
    RunningAverage
        Limits widen over the first values to `lower_at_last` and `upper_at_last`. `false_alarm_every` is the
        mean number of values between false alarms, under the settled limits.

    Raises
    ------
    UnusableCount, NothingToCompare
        A value that is no number; no value.

    Notes
    -----
    Values are independent and near normal (a mean score of many examinations; not a count of few cases).

    References
    ----------
    .. [1] Lucas and Saccucci, Technometrics 1990;32:1-12.

    Examples
    --------
    >>> seen = average_over_time([11.0, 9.0, 14.0, 15.0], AverageSettings(10.0, 2.0, 0.3, 3.0))
    >>> [round(point.average, 2) for point in seen.points], seen.first_alarm
    ([10.3, 9.91, 11.14, 12.3], None)
    """
    if not values:
        raise NothingToCompare("No value was given.", "Give the values in order of time.")
    for value in values:
        check_number("values", value)
    points = tuple(_points(values, settings))
    outside = [place for place, one in enumerate(points, 1) if not one.lower <= one.average <= one.upper]
    settled = settings.width * settings.deviation * sqrt(settings.weight / (2 - settings.weight))
    every = average_run_length(settings.weight, settings.width)
    return RunningAverage(
        points=points,
        lower_at_last=settings.usual - settled,
        upper_at_last=settings.usual + settled,
        first_alarm=outside[0] if outside else None,
        false_alarm_every=every,
        finding=_finding(points, outside, settings, every),
    )


def average_run_length(weight: float, width: float, shift: float = 0.0) -> float:
    """Mean number of values until the average leaves its settled limits.

    Parameters
    ----------
    weight
        Share of the newest value. [above 0, at most 1]
    width
        Distance of the limits. [standard deviations of the average, above 0]
    shift
        How far the mean has shifted from the start. [standard deviations of one value]

    Notes
    -----
    Markov chain on equal steps between the limits; normal values.

    References
    ----------
    .. [1] Lucas and Saccucci, Technometrics 1990;32:1-12, table 3 and appendix.

    Examples
    --------
    >>> round(average_run_length(0.2, 2.962)), round(average_run_length(0.2, 2.962, shift=1.0), 1)
    (500, 10.5)
    """
    check_weight(weight)
    check_amount("width", width)
    check_number("shift", shift)
    limit = width * sqrt(weight / (2 - weight))
    step = 2 * limit / STATES
    middles = -limit + step * (np.arange(STATES) + 0.5)
    edges = np.append(middles - step / 2, limit)
    reached = special.ndtr((edges - (1 - weight) * middles[:, None]) / weight - shift)
    lengths = np.linalg.solve(np.eye(STATES) - np.diff(reached, axis=1), np.ones(STATES))
    return float(lengths[STATES // 2])


def width_for(weight: float, false_alarm_every: float) -> float:
    """How wide limits must be for one false alarm in so many values on average.

    Parameters
    ----------
    weight
        Share of the newest value. [above 0, at most 1]
    false_alarm_every
        Mean number of values between false alarms. [2 to 1,000,000]

    Returns
    -------
    float
        [standard deviations of the average]

    References
    ----------
    .. [1] Lucas and Saccucci, Technometrics 1990;32:1-12.

    Examples
    --------
    >>> round(width_for(0.1, 500), 2)
    2.81
    """
    check_weight(weight)
    check_between("false_alarm_every", false_alarm_every, 2, 1_000_000)
    return float(
        optimize.brentq(
            lambda width: np.log(average_run_length(weight, width) / false_alarm_every),
            0.01,
            WIDEST,
            xtol=1e-6,
        )
    )


def _points(values: Sequence[float], settings: AverageSettings) -> list[AveragePoint]:
    average, points = settings.usual, []
    for place, value in enumerate(values, 1):
        average = settings.weight * value + (1 - settings.weight) * average
        settled = 1 - (1 - settings.weight) ** (2 * place)
        reach = settings.width * settings.deviation * sqrt(settings.weight / (2 - settings.weight) * settled)
        points.append(AveragePoint(value, average, settings.usual - reach, settings.usual + reach))
    return points


def _finding(
    points: Sequence[AveragePoint], outside: Sequence[int], settings: AverageSettings, every: float
) -> str:
    by_chance = f"If nothing had changed, an alarm would come once in {every:.0f} values on average."
    if not outside:
        return f"The running average stayed within its limits. {by_chance}"
    first = points[outside[0] - 1]
    way = "above" if first.average > settings.usual else "below"
    return f"At value {outside[0]} the running average went {way} what chance allows. {by_chance}"
