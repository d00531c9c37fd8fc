"""Which of many tests still stand, when so many were made at once?"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from thenar.population.comparable import NothingToCompare, check_between, check_named_once
from thenar.population.counts import UnusableCount

METHOD = "Benjamini and Hochberg 1995; Benjamini and Yekutieli 2001; Bonferroni."
Chances = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class NamedTest:
    """One test: how likely a result at least so far from usual is by chance. [0 to 1]"""

    name: str
    chance: float

    def __post_init__(self) -> None:
        if not isinstance(self.chance, int | float) or not 0 <= self.chance <= 1:
            raise UnusableCount(f"chance of {self.name}", self.chance, "from 0 to 1")


@dataclass(frozen=True, slots=True)
class AdjustedTest:
    """One test beside the others.

    `false_share` is the least share of false findings at which it would still stand; `false_share_any` the
    same without trusting that the tests hang together kindly; `chance_of_any` its chance anywhere among all.
    """

    name: str
    chance: float
    false_share: float
    false_share_any: float
    chance_of_any: float
    stands: bool


@dataclass(frozen=True, slots=True)
class JudgedTogether:
    """All tests, by name, and what may be said of them."""

    tests: tuple[AdjustedTest, ...]
    stand: int
    stand_by_bonferroni: int
    finding: str
    method: str = METHOD


def judge_together(tests: Sequence[NamedTest], share: float = 0.05) -> JudgedTogether:
    """Judge many tests at once, so that few of the findings are false.

    Parameters
    ----------
    tests
        All that were made, also those that showed nothing. [1 or more]
    share
        Of the findings, the share that may be false on average. [fraction, above 0, below 1]

    Returns
    -------
    JudgedTogether
        By name. A test stands where its `false_share` is at most `share`.

    Raises
    ------
    UnusableCount, NothingToCompare
        A chance that can't be one, a name twice, no test.

    Notes
    -----
    The share of false findings is held for independent tests and for those that rise together. Tests left
    out because they showed nothing make the rest look surer than they are.

    References
    ----------
    .. [1] Benjamini and Hochberg, Journal of the Royal Statistical Society B 1995;57:289-300.
    .. [2] Benjamini and Yekutieli, Annals of Statistics 2001;29:1165-1188.

    Examples
    --------
    >>> tests = [NamedTest("Ward 1", 0.004), NamedTest("Ward 2", 0.04), NamedTest("Ward 3", 0.6)]
    >>> judged = judge_together(tests)
    >>> [round(test.false_share, 3) for test in judged.tests], judged.stand
    ([0.012, 0.06, 0.6], 1)
    """
    if not tests:
        raise NothingToCompare("No test was given.", "Give every test that was made.")
    check_between("share", share, 0, 1)
    check_named_once("tests", [test.name for test in tests])
    chances = np.array([test.chance for test in tests])
    false_share, any_way, bonferroni = (
        _step_up(chances),
        _step_up(chances, _harmonic(len(tests))),
        _bonferroni(chances),
    )
    adjusted = [
        AdjustedTest(test.name, test.chance, float(one), float(other), float(anywhere), bool(one <= share))
        for test, one, other, anywhere in zip(tests, false_share, any_way, bonferroni, strict=True)
    ]
    stand = sum(test.stands for test in adjusted)
    return JudgedTogether(
        tests=tuple(sorted(adjusted, key=lambda test: test.name.casefold())),
        stand=stand,
        stand_by_bonferroni=int(np.sum(bonferroni <= share)),
        finding=_finding(tests, stand, share),
    )


def _step_up(chances: Chances, factor: float = 1.0) -> Chances:
    """From the largest down, each chance times tests over its place, never above the one after it."""
    order = np.argsort(chances, kind="stable")
    places = np.arange(1, chances.size + 1)
    stepped = np.minimum.accumulate((chances[order] * chances.size * factor / places)[::-1])[::-1]
    adjusted = np.empty_like(chances, dtype=float)
    adjusted[order] = np.minimum(stepped, 1)
    return adjusted


def _harmonic(tests: int) -> float:
    return float(np.sum(1 / np.arange(1, tests + 1)))


def _bonferroni(chances: Chances) -> Chances:
    return np.minimum(chances * chances.size, 1)


def _finding(tests: Sequence[NamedTest], stand: int, share: float) -> str:
    alone = sum(test.chance <= share for test in tests)
    return (
        f"Of {len(tests)} tests, {stand} still stand when judged together; {alone} would have passed alone, "
        f"and {len(tests) * share:.2g} would be expected to by chance if nothing at all were going on."
    )
