"""What does chance allow an area of its size, and how much more than that do areas differ?"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy import stats

from thenar.population.comparable import check_between
from thenar.population.counts import check_amount

WINSORISED = 0.1  # of the areas at either end: Spiegelhalter 2005, section 4.3


@dataclass(frozen=True, slots=True)
class Overdispersion:
    """How much more areas differ than chance makes them.

    `z` are the areas' distances from the target in standard errors, `drawn_in` the same with the ends drawn
    in. `factor` is the mean of their squares (1 by chance alone), `factor_raw` without drawing in, `variance`
    what areas differ by on the transformed scale.
    """

    z: tuple[float, ...]
    drawn_in: tuple[float, ...]
    factor: float
    factor_raw: float
    variance: float


def poisson_limits(expected: float, shares: Sequence[float], target: float = 1.0) -> tuple[float, ...]:
    """Counts that Poisson chance stays under in each of `shares`, interpolated between whole numbers.

    Parameters
    ----------
    expected
        Cases expected at the reference rate. [above 0]
    shares
        Shares of the distribution below each limit. [fractions, above 0, below 1]
    target
        Ratio that areas are held against. [above 0]

    Raises
    ------
    UnusableCount
        `expected`, `target` or a share can't be one.

    Notes
    -----
    A lower limit may be below 0, which no count reaches. Not the limits around an observed count (which ask
    what its mean could be), though they look alike.

    References
    ----------
    .. [1] Spiegelhalter, Statistics in Medicine 2005;24:1185-1202, appendix A.1.1.

    Examples
    --------
    >>> [round(limit, 2) for limit in poisson_limits(20, (0.025, 0.975))]
    [11.21, 28.75]
    """
    check_amount("expected", expected)
    check_amount("target", target)
    return _interpolated(stats.poisson(expected * target), shares)


def binomial_limits(people: int, shares: Sequence[float], target: float) -> tuple[float, ...]:
    """Counts among `people` that binomial chance stays under in each of `shares`, interpolated.

    Parameters
    ----------
    people
        People asked. [1 or more]
    shares
        Shares of the distribution below each limit. [fractions, above 0, below 1]
    target
        Proportion that areas are held against. [above 0, below 1]

    Raises
    ------
    UnusableCount
        `people`, `target` or a share can't be one.

    References
    ----------
    .. [1] Spiegelhalter, Statistics in Medicine 2005;24:1185-1202, appendix A.1.1.

    Examples
    --------
    >>> [round(limit / 60, 3) for limit in binomial_limits(60, (0.025, 0.975), 0.2)]
    [0.095, 0.298]
    """
    check_amount("people", people)
    check_between("target", target, 0, 1)
    return _interpolated(stats.binom(people, target), shares)


def overdispersion(
    z: Sequence[float], errors: Sequence[float], winsorised: float = WINSORISED
) -> Overdispersion:
    """How much more areas differ than chance, with the ends drawn in so that outliers can't hide themselves.

    Parameters
    ----------
    z
        Distance of each area from the target. [standard errors]
    errors
        Standard error of each area, on the transformed scale. [above 0]
    winsorised
        Share of areas at either end whose `z` is drawn in to that quantile. [fraction, 0 to below a half]

    Returns
    -------
    Overdispersion
        `variance` is 0 where areas differ no more than chance: limits are then not narrowed.

    Notes
    -----
    Moment estimator of a random effect between areas. With fewer than 10 areas it says little.

    References
    ----------
    .. [1] Spiegelhalter, Statistics in Medicine 2005;24:1185-1202, section 4.3 and appendix A.3.
    .. [2] DerSimonian and Laird, Controlled Clinical Trials 1986;7:177-188.

    Examples
    --------
    >>> wide = overdispersion([-3.0, -1.0, 0.0, 1.0, 3.0], [0.2] * 5, winsorised=0)
    >>> wide.factor, round(wide.variance, 3)
    (4.0, 0.16)
    """
    raw, weights = np.asarray(z, dtype=float), 1 / np.asarray(errors, dtype=float) ** 2
    drawn_in = np.clip(raw, *np.quantile(raw, [winsorised, 1 - winsorised]))
    factor = float(np.mean(drawn_in**2))
    beyond_chance = raw.size * factor - (raw.size - 1)
    scale = float(weights.sum() - (weights**2).sum() / weights.sum())
    return Overdispersion(
        z=tuple(raw.tolist()),
        drawn_in=tuple(drawn_in.tolist()),
        factor=factor,
        factor_raw=float(np.mean(raw**2)),
        variance=max(0.0, beyond_chance / scale) if scale > 0 else 0.0,
    )


def _interpolated(chance: Any, shares: Sequence[float]) -> tuple[float, ...]:
    for share in shares:
        check_between("share", share, 0, 1)
    whole = chance.ppf(shares)
    return tuple((whole - (chance.cdf(whole) - shares) / chance.pmf(whole)).tolist())
