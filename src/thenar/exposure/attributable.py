"""What share of cases goes with an exposure, and what share a change would spare."""

from collections.abc import Sequence
from math import isclose, isfinite, log
from statistics import NormalDist
from typing import TypeVar
from zlib import crc32

import numpy as np
from numpy.typing import NDArray

from thenar.errors import BadInput

Draws = NDArray[np.float64]
Ratio = TypeVar("Ratio", float, Draws)


class UnusableFigure(BadInput):
    """A share, a risk or a ratio that can't be one."""

    def __init__(self, field: str, figure: object, says: str) -> None:
        super().__init__(
            what=f"{field}: is {figure!r}; it must be {says}.",
            why="The formula would give a number that means nothing.",
            todo=f"Check {field} against its source.",
        )


def levin(exposed_share: float, risk_ratio: Ratio) -> Ratio:
    """Share of all cases that goes with an exposure, from how common it is among everyone.

    Parameters
    ----------
    exposed_share
        Share of people exposed. [0 to 1]
    risk_ratio
        Risk in the exposed relative to the unexposed, or draws of it. [above 0]

    Raises
    ------
    UnusableFigure
        The share is not from 0 to 1, or the ratio is not above 0.

    Notes
    -----
    For crude ratios; with adjusted ones use `miettinen`. Fractions of several factors do not add up: two
    causes can share a case. From cross-sectional figures it is an association, not what could be avoided.

    References
    ----------
    .. [1] Levin, Acta Unio Internationalis Contra Cancrum 1953;9:531-541.

    Examples
    --------
    >>> round(levin(0.30, 1.66), 3)
    0.165
    """
    _refuse_no_share("exposed_share", exposed_share)
    _refuse_no_ratio("risk_ratio", risk_ratio)
    excess = exposed_share * (risk_ratio - 1)
    return excess / (1 + excess)


def miettinen(exposed_share_of_cases: float, risk_ratio: Ratio) -> Ratio:
    """Share of all cases that goes with an exposure, from how common it is among cases.

    Parameters
    ----------
    exposed_share_of_cases
        Share of the cases who were exposed. [0 to 1]
    risk_ratio
        Adjusted risk ratio, or draws of it. [above 0]

    Raises
    ------
    UnusableFigure
        The share is not from 0 to 1, or the ratio is not above 0.

    References
    ----------
    .. [1] Miettinen, American Journal of Epidemiology 1974;99:325-332.

    Examples
    --------
    >>> round(miettinen(0.6, 2.5), 3)
    0.36
    """
    _refuse_no_share("exposed_share_of_cases", exposed_share_of_cases)
    _refuse_no_ratio("risk_ratio", risk_ratio)
    return exposed_share_of_cases * (risk_ratio - 1) / risk_ratio


def bruzzi(shares_of_cases: Sequence[float], risk_ratios: Sequence[float]) -> float:
    """Share of all cases that goes with an exposure of several levels, from its levels among cases.

    Parameters
    ----------
    shares_of_cases
        Share of the cases at each level. [0 to 1, together 1]
    risk_ratios
        Adjusted risk ratio of each level; 1 for the level of comparison. [above 0]

    Raises
    ------
    UnusableFigure
        Shares don't make up the whole, a ratio is not above 0, or the two differ in length.

    References
    ----------
    .. [1] Bruzzi and others, American Journal of Epidemiology 1985;122:904-914.

    Examples
    --------
    >>> round(bruzzi([0.4, 0.6], [1, 2.5]), 3)
    0.36
    """
    _refuse_uneven(shares_of_cases, risk_ratios, "shares_of_cases")
    return 1 - sum(share / ratio for share, ratio in zip(shares_of_cases, risk_ratios, strict=True))


def impact_fraction(before: Sequence[float], after: Sequence[float], risk_ratios: Sequence[float]) -> float:
    """Share of all cases that a shift between levels of exposure would spare; below 0 it would add cases.

    Parameters
    ----------
    before, after
        Share of people at each level. [0 to 1, together 1]
    risk_ratios
        Risk at each level relative to the level of comparison. [above 0]

    Raises
    ------
    UnusableFigure
        Shares don't make up the whole, a ratio is not above 0, or the three differ in length.

    References
    ----------
    .. [1] Walter, American Journal of Epidemiology 1980;112:409-416.
    .. [2] Drescher and Becher, Biometrics 1997;53:1170-1176.

    Examples
    --------
    >>> round(impact_fraction([0.3, 0.5, 0.2], [0.5, 0.4, 0.1], [1, 1.8, 3.2]), 3)
    0.163
    """
    _refuse_uneven(before, risk_ratios, "before")
    _refuse_uneven(after, risk_ratios, "after")
    risk_before = sum(share * ratio for share, ratio in zip(before, risk_ratios, strict=True))
    risk_after = sum(share * ratio for share, ratio in zip(after, risk_ratios, strict=True))
    return (risk_before - risk_after) / risk_before


def odds_to_risk_ratio(odds_ratio: Ratio, unexposed_risk: float) -> Ratio:
    """Risk ratio that an odds ratio stands for, where the outcome is common.

    Parameters
    ----------
    odds_ratio
        Odds ratio, or draws of it. [above 0]
    unexposed_risk
        Risk in the unexposed. [above 0, below 1]

    Raises
    ------
    UnusableFigure
        The risk is not between 0 and 1, or the ratio is not above 0.

    Notes
    -----
    Exact for a crude odds ratio and the true risk of the unexposed. With an adjusted odds ratio it is
    approximate and its interval too narrow; with the risk of the whole study as a stand-in, an illustration.

    References
    ----------
    .. [1] Zhang and Yu, JAMA 1998;280:1690-1691.

    Examples
    --------
    >>> round(odds_to_risk_ratio(1.73, 0.147), 3)
    1.562
    """
    if not 0 < unexposed_risk < 1:
        raise UnusableFigure("unexposed_risk", unexposed_risk, "above 0 and below 1")
    _refuse_no_ratio("odds_ratio", odds_ratio)
    return odds_ratio / (1 - unexposed_risk + unexposed_risk * odds_ratio)


def draw_ratio(
    estimate: float, lower: float, upper: float, *, confidence: float, draws: int, seed: int, name: str
) -> Draws:
    """Plausible values of a published ratio: normal on the log scale, as wide as its interval.

    Parameters
    ----------
    estimate, lower, upper
        The ratio and the ends of its interval. [above 0]
    confidence
        Level of the interval. [above 0, below 1]
    draws
        How many values. [1 or more]
    seed
        Makes the draws repeatable. [0 or more]
    name
        The ratio's own name. Two controls that rest on one ratio must draw the same values: they rise and
        fall together.

    Raises
    ------
    UnusableFigure
        The interval does not hold the estimate, or an end is not above 0.

    Examples
    --------
    >>> drawn = draw_ratio(1.66, 1.51, 1.83, confidence=0.95, draws=20_000, seed=1, name="washes")
    >>> [round(float(np.quantile(drawn, q)), 1) for q in (0.025, 0.5, 0.975)]
    [1.5, 1.7, 1.8]
    """
    if not 0 < lower <= estimate <= upper or not isfinite(upper):
        raise UnusableFigure("lower", lower, f"above 0, with {estimate} between it and {upper}")
    if not 0 < confidence < 1:
        raise UnusableFigure("confidence", confidence, "above 0 and below 1")
    width = (log(upper) - log(lower)) / (2 * NormalDist().inv_cdf((1 + confidence) / 2))
    stream = np.random.default_rng([seed, crc32(name.encode())])
    drawn: Draws = np.exp(log(estimate) + width * stream.standard_normal(draws))
    return drawn


def _refuse_no_share(field: str, share: float) -> None:
    if not 0 <= share <= 1:
        raise UnusableFigure(field, share, "a share from 0 to 1")


def _refuse_no_ratio(field: str, ratio: float | Draws) -> None:
    least = float(np.min(ratio))
    if not least > 0 or not isfinite(float(np.max(ratio))):
        raise UnusableFigure(field, least, "above 0")


def _refuse_uneven(shares: Sequence[float], ratios: Sequence[float], field: str) -> None:
    if len(shares) != len(ratios):
        raise UnusableFigure(field, len(shares), f"as many shares as there are ratios, {len(ratios)}")
    for share in shares:
        _refuse_no_share(field, share)
    for ratio in ratios:
        _refuse_no_ratio("risk_ratios", ratio)
    if not isclose(sum(shares), 1, abs_tol=1e-6):
        raise UnusableFigure(field, sum(shares), "shares that together make 1")
