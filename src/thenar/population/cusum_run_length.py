"""How long does a cumulative sum run until its alarm, on average?"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import exp, inf

import numpy as np
from numpy.typing import NDArray
from scipy import sparse, special

from thenar.population.comparable import NothingToCompare, check_number
from thenar.population.counts import check_amount

STATES = 200  # of the chain for measurements; 400 change its run lengths by less than 1 in 1,000
SETTLED = 1e-12  # the chain's distribution no longer changes from round to round
NOTHING_LEFT = 1e-200  # chance of no alarm in a round
MOST_ROUNDS = 1_000_000
MOST_STEPS = 2**15
SIEGMUND = 1.166  # what the threshold is overshot by, both ends together: Siegmund 1985


@dataclass(frozen=True, slots=True)
class Increment:
    """What one period adds: chances of 0, 1, 2 … cases (the rest is more), less `reference_steps`."""

    chances: tuple[float, ...]
    reference_steps: int


def steps_run_length(increments: Sequence[Increment], steps_per_case: int, top: int, start: int = 0) -> float:
    """Mean number of periods until a sum of whole steps reaches `top`.

    Parameters
    ----------
    increments
        One for each period, repeated round and round. [1 or more]
    steps_per_case
        Steps that one case adds. [1 or more]
    top
        Steps at which the alarm comes. [1 or more]
    start
        Steps the sum starts with. [0 to below `top`]

    Returns
    -------
    float
        [periods] Infinite if the alarm can't come.

    Raises
    ------
    NothingToCompare
        The chain does not settle.

    Notes
    -----
    The sum never falls below 0. A Markov chain over the steps, exact for independent periods: it runs until
    the sum's distribution given no alarm repeats itself; from there the chance of no alarm falls by the same
    share each round.

    References
    ----------
    .. [1] Brook and Evans, Biometrika 1972;59:539-549.

    Examples
    --------
    A sum that gains half with a case, loses half without, and alarms at 1 waits for two cases in a row; by
    chance of one half each that takes 6 periods.

    >>> round(steps_run_length([Increment((0.5, 0.5), 1)], steps_per_case=2, top=2), 9)
    6.0
    """
    chains = {increment: _chain(increment, steps_per_case, top) for increment in set(increments)}
    around = [chains[increment] for increment in increments]
    sums = np.zeros(top)
    sums[start] = 1.0
    periods, no_alarm_yet = 0.0, 1.0
    for _ in range(MOST_ROUNDS):
        after, this_round = sums, 0.0
        for chain in around:
            this_round += float(after.sum())
            after = chain @ after
        left = float(after.sum())
        if left < NOTHING_LEFT:
            return periods + no_alarm_yet * this_round
        after = after / left
        if np.abs(after - sums).max() < SETTLED:
            return periods + (no_alarm_yet * this_round / (1 - left) if left < 1 else inf)
        periods, no_alarm_yet, sums = periods + no_alarm_yet * this_round, no_alarm_yet * left, after
    raise NothingToCompare(
        "The sum's run length did not settle.", "Take a larger reference value, or fewer steps for a case."
    )


def least_threshold(run_length: Callable[[int], float], every: float) -> int:
    """The lowest threshold, in steps, that no more than one false alarm in `every` periods passes on average.

    Raises
    ------
    NothingToCompare
        No threshold within reach does.

    Examples
    --------
    >>> least_threshold(lambda steps: 2.0**steps, 500)
    9
    """
    high = 1  # doubled until it is high enough; then the way between is halved
    while run_length(high) < every:
        high *= 2
        if high > MOST_STEPS:
            raise NothingToCompare(
                "No threshold keeps false alarms as rare as asked.",
                "Ask for a larger rise, or allow more false alarms.",
            )
    low = high // 2
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if run_length(middle) >= every else (middle, high)
    return high


def measure_run_length(slack: float, threshold: float, shift: float = 0.0) -> float:
    """Mean number of values until a one-sided sum of normal measurements passes its threshold.

    Parameters
    ----------
    slack, threshold
        Reference value and threshold. [standard deviations of one value; above 0]
    shift
        How far the mean has shifted from the start. [standard deviations]

    Returns
    -------
    float
        [values] Watching both sides, alarms without a shift come twice as often.

    References
    ----------
    .. [1] Brook and Evans, Biometrika 1972;59:539-549.

    Examples
    --------
    >>> round(measure_run_length(0.5, 4.0)), round(measure_run_length(0.5, 4.0, shift=1.0), 2)
    (335, 8.38)
    """
    _check_sum(slack, threshold, shift)
    step = 2 * threshold / (2 * STATES - 1)
    at = step * np.arange(STATES)  # the first state, at 0, is half as wide as the others
    reached = special.ndtr(at + step / 2 - at[:, None] - (shift - slack))
    moves = np.diff(reached, axis=1, prepend=0.0)
    return float(np.linalg.solve(np.eye(STATES) - moves, np.ones(STATES))[0])


def siegmund_run_length(slack: float, threshold: float, shift: float = 0.0) -> float:
    """The same by a formula that can be worked by hand, near enough to plan with.

    Parameters
    ----------
    slack, threshold, shift
        As for `measure_run_length`. [standard deviations]

    References
    ----------
    .. [1] Siegmund, Sequential Analysis, Springer 1985.

    Examples
    --------
    >>> round(siegmund_run_length(0.5, 4.0, shift=1.0), 2)
    8.34
    """
    _check_sum(slack, threshold, shift)
    drift, reach = shift - slack, threshold + SIEGMUND
    if drift == 0:
        return reach**2
    return (exp(-2 * drift * reach) + 2 * drift * reach - 1) / (2 * drift**2)


def _check_sum(slack: float, threshold: float, shift: float) -> None:
    check_amount("slack", slack)
    check_amount("threshold", threshold)
    check_number("shift", shift)


def _chain(increment: Increment, steps_per_case: int, top: int) -> sparse.csr_array:
    """Moves of one period among sums below `top`, from column to row; what reaches `top` is lost."""
    sums = np.arange(top)
    rows, columns, chances = [], [], []
    for cases, chance in enumerate(increment.chances):
        after = np.maximum(sums + cases * steps_per_case - increment.reference_steps, 0)
        stays = after < top
        rows.append(after[stays])
        columns.append(sums[stays])
        chances.append(np.full(int(stays.sum()), chance))
    moves: tuple[NDArray[np.int64], NDArray[np.int64]] = (np.concatenate(rows), np.concatenate(columns))
    return sparse.csr_array((np.concatenate(chances), moves), shape=(top, top))
