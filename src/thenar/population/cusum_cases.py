"""Are an area's cases rising above what its person-time brings, and how often would that alarm be false?"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from functools import partial
from math import log

import numpy as np
from scipy import stats

from thenar.population.comparable import NothingToCompare, PeriodCount, check_between, check_named_once
from thenar.population.counts import UnusableCount, check_amount
from thenar.population.cusum import start_of_rise
from thenar.population.cusum_run_length import Increment, least_threshold, steps_run_length

METHOD = (
    "Poisson cumulative sum: Lucas 1985, Technometrics 27:129-144; run lengths by Markov chain: Brook and "
    "Evans 1972, Biometrika 59:539-549."
)
GRIDS = (1, 2, 4, 5, 10, 20, 25, 50, 100, 200, 500, 1000)  # steps for one case
RATE_NOT_KNOWN = "Where the usual rate is itself uncertain, false alarms are more frequent than stated."
OF_A_RISE = (
    "The rise began about then; the sum can't tell the day, or the cause.",
    "Start and alarm were chosen by the sum: the cases between them overstate the rise.",
    RATE_NOT_KNOWN,
)
COARSEST = 0.05  # our choice: a reference value is rounded by no more than this share of itself


class Alarm(Enum):
    """When the alarm comes. Published tables differ in this."""

    REACHED = "the sum reaches the threshold"
    PASSED = "the sum passes the threshold"


@dataclass(frozen=True, slots=True)
class CaseWatch:
    """A designed watch over one area's cases, or over each of `areas` at once.

    `false_alarm_every` is for one area and `false_alarm_anywhere_every` for all together, `found_after` how
    long a rise to `rise` times the usual goes on before its alarm. [periods, on average] The alarm comes when
    the sum passes `threshold`. [cases]
    """

    rise: float
    steps_per_case: int
    threshold: float
    areas: int
    false_alarm_every: float
    false_alarm_anywhere_every: float
    found_after: float
    head_start: bool
    method: str = METHOD

    @property
    def threshold_steps(self) -> int:
        """The threshold in steps of the sum."""
        return round(self.threshold * self.steps_per_case)


@dataclass(frozen=True, slots=True)
class WatchedPeriod:
    """One period: its cases, what was expected, and the sum after it. [cases]"""

    period: str
    cases: int
    expected: float
    sum: float
    above: bool


@dataclass(frozen=True, slots=True)
class WatchedCases:
    """The sum over time. `since` is the likely start; counts run from there to the first alarm."""

    periods: tuple[WatchedPeriod, ...]
    watch: CaseWatch
    first_alarm: str | None
    since: str | None
    cases_since: int | None
    expected_since: float | None
    finding: str
    cautions: tuple[str, ...]


def reference_value(usual: float, raised: float) -> float:
    """What is taken from the sum in each period, best for telling `raised` from `usual`.

    Parameters
    ----------
    usual, raised
        Mean cases in a period. [above 0; raised above usual]

    References
    ----------
    .. [1] Lucas, Technometrics 1985;27:129-144.

    Examples
    --------
    >>> round(reference_value(0.4, 1.0), 3)
    0.655
    """
    check_amount("usual", usual)
    check_amount("raised", raised)
    if raised <= usual:
        raise UnusableCount("raised", raised, f"above the usual, {usual:g}")
    return (raised - usual) / (log(raised) - log(usual))


def case_run_length(
    mean: float,
    reference: float,
    threshold: float,
    steps_per_case: int,
    *,
    alarm: Alarm = Alarm.PASSED,
    head_start: bool = False,
) -> float:
    """Mean number of periods until the alarm, with `mean` cases a period.

    Parameters
    ----------
    mean
        Cases in a period. [above 0]
    reference, threshold
        Both whole numbers of steps. [cases]
    steps_per_case
        Steps that one case adds to the sum. [1 or more]
    alarm
        Whether reaching the threshold is enough.
    head_start
        The sum starts at half the threshold, to see sooner whether a measure failed.

    Raises
    ------
    UnusableCount
        A figure that can't be, or one that is no whole number of steps.

    References
    ----------
    .. [1] Lucas, Technometrics 1985;27:129-144.

    Examples
    --------
    >>> round(case_run_length(0.25, 0.25, 10, 4, alarm=Alarm.REACHED))
    438
    """
    check_amount("mean", mean)
    top = _steps("threshold", threshold, steps_per_case)
    increment = _increment(mean, _steps("reference", reference, steps_per_case), steps_per_case, top)
    start = top // 2 if head_start else 0
    return steps_run_length([increment], steps_per_case, top + (alarm is Alarm.PASSED), start)


def design_watch(
    expected: Sequence[float],
    rise: float,
    false_alarm_every: float,
    *,
    areas: int = 1,
    steps_per_case: int | None = None,
    head_start: bool = False,
) -> CaseWatch:
    """The lowest threshold whose false alarms are no more frequent than stated.

    Parameters
    ----------
    expected
        Cases expected in each period from its person-time, repeated round and round (a year of months, say).
        [above 0]
    rise
        How many times the usual rate is worth an alarm. [above 1, at most 20]
    false_alarm_every
        Periods between false alarms anywhere, on average. [above 1]
    areas
        How many such areas are watched at once: the false alarms of all are kept to the stated rate.
    steps_per_case
        Steps that one case adds; chosen if left out.
    head_start
        The sum starts at half the threshold.

    Returns
    -------
    CaseWatch
        Its false alarms are exact for the rounded reference values it uses.

    Raises
    ------
    UnusableCount, NothingToCompare
        A figure that can't be; no period; so little expected that the sum has no step for it.

    Notes
    -----
    The reference value of each period follows its person-time, so a small month is not held to a large one's
    number. False alarms are those of independent Poisson counts at exactly the usual rate: where that rate is
    itself uncertain, or cases come in pairs, there are more.

    References
    ----------
    .. [1] Lucas, Technometrics 1985;27:129-144.
    .. [2] Höhle and Paul, Computational Statistics and Data Analysis 2008;52:4357-4368: changing means.

    Examples
    --------
    >>> watch = design_watch([0.4], rise=3, false_alarm_every=500, steps_per_case=4)
    >>> watch.threshold, round(watch.false_alarm_every, 1)
    (3.75, 644.6)
    """
    if not expected:
        raise NothingToCompare("No period was given.", "Give the cases expected in each period.")
    for amount in expected:
        check_amount("expected", amount)
    check_between("rise", rise, 1, 20)
    check_between("false_alarm_every", false_alarm_every, 1, 1_000_000)
    if type(areas) is not int or areas < 1:
        raise UnusableCount("areas", areas, "a whole number, 1 or more")
    grid = steps_per_case or _grid(expected, rise)
    run_length = partial(_watch_length, expected, rise, grid, head_start=head_start)
    steps = least_threshold(run_length, false_alarm_every * areas)
    every = run_length(steps)
    return CaseWatch(
        rise=rise,
        steps_per_case=grid,
        threshold=steps / grid,
        areas=areas,
        false_alarm_every=every,
        false_alarm_anywhere_every=every / areas,
        found_after=run_length(steps, times=rise),
        head_start=head_start,
    )


def watch_cases(periods: Sequence[PeriodCount], watch: CaseWatch) -> WatchedCases:
    """Follow an area's cases, and tell when they rose above what its person-time brings.

    Parameters
    ----------
    periods
        In order of time; `at_risk` is the number of cases expected. [1 or more]
    watch
        The threshold, designed beforehand.

    Returns
    -------
    WatchedCases
        The sum goes on after an alarm; when it was answered, begin anew.

    Raises
    ------
    UnusableCount, NothingToCompare
        A period twice; no period; so little expected that the watch has no step for it.

    References
    ----------
    .. [1] Lucas, Technometrics 1985;27:129-144.

    Examples
    --------
    >>> watch = design_watch([0.4], rise=3, false_alarm_every=500)
    >>> months = [PeriodCount(f"month {month}", cases, 0.4) for month, cases in enumerate((0, 0, 3, 1, 3), 1)]
    >>> watched = watch_cases(months, watch)
    >>> watched.since, watched.first_alarm, watched.cases_since
    ('month 3', 'month 5', 7)
    """
    if not periods:
        raise NothingToCompare("No period was given.", "Give the periods in order of time.")
    check_named_once("periods", [one.period for one in periods])
    sums = _case_sums(periods, watch)
    above = [total > watch.threshold_steps for total in sums]
    points = tuple(
        WatchedPeriod(one.period, one.cases, one.at_risk, total / watch.steps_per_case, passed)
        for one, total, passed in zip(periods, sums, above, strict=True)
    )
    if True not in above:
        return WatchedCases(points, watch, None, None, None, None, _all_quiet(watch), (RATE_NOT_KNOWN,))
    alarm = above.index(True)
    rising = points[start_of_rise(sums, alarm) : alarm + 1]
    cases, usual = sum(one.cases for one in rising), sum(one.expected for one in rising)
    return WatchedCases(
        periods=points,
        watch=watch,
        first_alarm=points[alarm].period,
        since=rising[0].period,
        cases_since=cases,
        expected_since=usual,
        finding=f"Since {rising[0].period}: {cases} cases against {usual:.1f} expected; the sum passed its "
        f"threshold in {points[alarm].period}. {_by_chance(watch)}",
        cautions=OF_A_RISE,
    )


def _steps(field: str, cases: float, steps_per_case: int) -> int:
    check_amount(field, cases)
    steps = round(cases * steps_per_case)
    if abs(steps - cases * steps_per_case) > 1e-9 or steps < 1:
        raise UnusableCount(field, cases, f"a whole number of steps of 1/{steps_per_case}")
    return steps


def _increment(mean: float, reference_steps: int, steps_per_case: int, top: int) -> Increment:
    """Chances of every number of cases that need not bring the alarm by itself."""
    most = (top + reference_steps) // steps_per_case
    return Increment(tuple(stats.poisson.pmf(np.arange(most + 1), mean).tolist()), reference_steps)


def _reference_steps(expected: float, rise: float, grid: int) -> int:
    steps = round(reference_value(expected, expected * rise) * grid)
    if steps < 1:
        raise UnusableCount(
            "expected", expected, "enough for one step of the sum (longer periods, or more areas)"
        )
    return steps


def _grid(expected: Sequence[float], rise: float) -> int:
    """The coarsest steps on which every reference value is close to what it should be."""
    references = np.array([reference_value(one, one * rise) for one in set(expected)])
    for grid in GRIDS:
        if np.all(np.abs(np.round(references * grid) / grid - references) <= COARSEST * references):
            return grid
    raise UnusableCount(
        "expected",
        min(expected),
        "larger: with so few cases to expect a rise can't be told (take longer periods)",
    )


def _watch_length(
    expected: Sequence[float], rise: float, grid: int, threshold: int, *, head_start: bool, times: float = 1.0
) -> float:
    """Periods until the alarm, at `times` the usual rate; the threshold is in steps."""
    increments = {
        mean: _increment(mean * times, _reference_steps(mean, rise, grid), grid, threshold)
        for mean in set(expected)
    }
    start = threshold // 2 if head_start else 0
    return steps_run_length([increments[mean] for mean in expected], grid, threshold + 1, start)


def _case_sums(periods: Sequence[PeriodCount], watch: CaseWatch) -> list[int]:
    total, sums = watch.threshold_steps // 2 if watch.head_start else 0, []
    for one in periods:
        gained = one.cases * watch.steps_per_case
        total = max(0, total + gained - _reference_steps(one.at_risk, watch.rise, watch.steps_per_case))
        sums.append(total)
    return sums


def _all_quiet(watch: CaseWatch) -> str:
    return (
        f"No lasting rise was seen. A rise to {watch.rise:g} times the usual rate would be found after "
        f"{watch.found_after:.0f} periods on average; a smaller one later, or not at all."
    )


def _by_chance(watch: CaseWatch) -> str:
    said = f"If nothing had changed, such an alarm would come once in {watch.false_alarm_every:.0f} periods"
    if watch.areas == 1:
        return f"{said} on average."
    anywhere = f"once in {watch.false_alarm_anywhere_every:.0f} in all {watch.areas} together"
    return f"{said} in one area on average, and {anywhere}."
