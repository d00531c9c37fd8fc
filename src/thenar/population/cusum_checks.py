"""Is the share of checks with a finding rising, judged after every single check?"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import log, log1p

from thenar.population.comparable import NothingToCompare, check_between
from thenar.population.counts import UnusableCount
from thenar.population.cusum import start_of_rise
from thenar.population.cusum_run_length import Increment, least_threshold, steps_run_length

METHOD = "Bernoulli cumulative sum: Reynolds and Stoumbos 1999, Journal of Quality Technology 31:87-108."


@dataclass(frozen=True, slots=True)
class CheckWatch:
    """A designed watch over checks one by one.

    A finding adds `steps_per_finding` steps and every check takes one away; the alarm comes when the sum
    passes `threshold`. [findings] `false_alarm_every` and `found_after` are in checks, on average.
    """

    usual: float
    raised: float
    steps_per_finding: int
    threshold: float
    false_alarm_every: float
    found_after: float
    method: str = METHOD

    @property
    def threshold_steps(self) -> int:
        """The threshold in steps of the sum."""
        return round(self.threshold * self.steps_per_finding)


@dataclass(frozen=True, slots=True)
class WatchedChecks:
    """The sum after each check. `first_alarm` and `since` count checks from 1."""

    sums: tuple[float, ...]
    watch: CheckWatch
    first_alarm: int | None
    since: int | None
    finding: str


def design_check_watch(usual: float, raised: float, false_alarm_every: float) -> CheckWatch:
    """The lowest threshold whose false alarms are no more frequent than stated.

    Parameters
    ----------
    usual, raised
        Share of checks with a finding: usual, and worth an alarm. [above 0, below 1]
    false_alarm_every
        Checks between false alarms, on average. [above 1, below 1,000,000]

    Raises
    ------
    UnusableCount, NothingToCompare
        A share that can't be, or `raised` not above `usual`.

    Notes
    -----
    The reference value is rounded to one over a whole number, so run lengths by Markov chain are exact.
    Checks are independent and in order of time; the same worker checked again and again is not.

    References
    ----------
    .. [1] Reynolds and Stoumbos, Journal of Quality Technology 1999;31:87-108.

    Examples
    --------
    >>> watch = design_check_watch(0.02, 0.06, false_alarm_every=1000)
    >>> watch.steps_per_finding, watch.false_alarm_every >= 1000
    (27, True)
    """
    check_between("usual", usual, 0, 1)
    check_between("raised", raised, 0, 1)
    check_between("false_alarm_every", false_alarm_every, 1, 1_000_000)
    if raised <= usual:
        raise UnusableCount("raised", raised, f"above the usual, {usual:g}")
    grid = _steps_per_finding(usual, raised)

    def run_length(threshold: int, share: float = usual) -> float:
        return steps_run_length([Increment((1 - share, share), 1)], grid, threshold + 1)

    steps = least_threshold(run_length, false_alarm_every)
    return CheckWatch(
        usual=usual,
        raised=raised,
        steps_per_finding=grid,
        threshold=steps / grid,
        false_alarm_every=run_length(steps),
        found_after=run_length(steps, raised),
    )


def watch_checks(findings: Sequence[bool], watch: CheckWatch) -> WatchedChecks:
    """Follow checks one by one, and tell when findings became more frequent.

    Parameters
    ----------
    findings
        Whether each check had a finding, in order of time. [1 or more]
    watch
        The threshold, designed beforehand.

    Raises
    ------
    NothingToCompare
        No check.

    References
    ----------
    .. [1] Reynolds and Stoumbos, Journal of Quality Technology 1999;31:87-108.

    Examples
    --------
    >>> watch = design_check_watch(0.1, 0.4, false_alarm_every=50)
    >>> watched = watch_checks([False, False, True, True, True], watch)
    >>> watched.since, watched.first_alarm
    (3, 4)
    """
    if not findings:
        raise NothingToCompare("No check was given.", "Give the checks in order of time.")
    total, sums = 0, []
    for found in findings:
        total = max(0, total + bool(found) * watch.steps_per_finding - 1)
        sums.append(total)
    alarm = next((at for at, steps in enumerate(sums) if steps > watch.threshold_steps), None)
    since = None if alarm is None else start_of_rise(sums, alarm)
    return WatchedChecks(
        sums=tuple(steps / watch.steps_per_finding for steps in sums),
        watch=watch,
        first_alarm=None if alarm is None else alarm + 1,
        since=None if since is None else since + 1,
        finding=_finding(findings, since, alarm, watch),
    )


def _steps_per_finding(usual: float, raised: float) -> int:
    against = -(log1p(-raised) - log1p(-usual))  # what a check without a finding speaks against a rise
    in_favour = log(raised / usual) + against
    return max(2, round(in_favour / against))


def _finding(findings: Sequence[bool], since: int | None, alarm: int | None, watch: CheckWatch) -> str:
    if since is None or alarm is None:
        return (
            f"No lasting rise was seen. A share of {watch.raised:.1%} would be found after "
            f"{watch.found_after:.0f} checks on average."
        )
    found = sum(map(bool, findings[since : alarm + 1]))
    return (
        f"Since check {since + 1}: {found} findings in {alarm + 1 - since} checks, against a usual share of "
        f"{watch.usual:.1%}. If nothing had changed, an alarm would come once in "
        f"{watch.false_alarm_every:.0f} checks on average."
    )
