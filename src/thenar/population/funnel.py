"""Which areas have more cases, or fewer, than chance and the usual differences between areas allow?"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import Enum
from statistics import NormalDist
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from thenar.population.comparable import (
    AreaCount,
    AreaShare,
    NothingToCompare,
    check_between,
    check_named_once,
)
from thenar.population.counts import check_amount

METHOD = "Funnel limits: Spiegelhalter 2005, Statistics in Medicine 24:1185-1202."
INNER, OUTER = 0.95, 0.998  # the two pairs of limits of the paper, its section 2
WINSORISED = 0.1  # of the areas at either end, as in the paper, its section 4.3
FEW_AREAS = 10  # a tenth of fewer is no area, so nothing would be drawn in
FEW_EXPECTED = 1  # our choice: below it the square-root scale is far from normal
Numbers = NDArray[np.float64]


class Place(Enum):
    """Where an area lies against its limits."""

    FAR_ABOVE = "above the outer limit"
    ABOVE = "above the inner limit"
    WITHIN = "within the limits"
    BELOW = "below the inner limit"
    FAR_BELOW = "below the outer limit"


@dataclass(frozen=True, slots=True)
class Limits:
    """What chance allows, on the scale of the area's figure."""

    lower: float
    upper: float


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


@dataclass(frozen=True, slots=True)
class AreaPlace:
    """One area: its figure, what chance alone allows (exact) and what was used (never narrower)."""

    area: str
    cases: int
    figure: float
    inner_exact: Limits
    outer_exact: Limits
    inner: Limits
    outer: Limits
    place: Place
    says: str


@dataclass(frozen=True, slots=True)
class Funnel:
    """Every area by name, never by rank."""

    areas: tuple[AreaPlace, ...]
    target: float
    factor: float
    variance: float
    finding: str
    cautions: tuple[str, ...]
    method: str = METHOD


@dataclass(frozen=True, slots=True)
class _Scale:
    """How one kind of figure is judged: names, sizes, exact limits, and the transform with its way back."""

    areas: tuple[str, ...]
    cases: tuple[int, ...]
    figures: tuple[float, ...]
    sizes: tuple[float, ...]
    exact: Callable[[float, Sequence[float]], tuple[float, ...]]
    target: float
    distance: Numbers
    error: Numbers
    transformed_target: float
    back: Callable[[float], float]
    of_what: str


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


def spread_of_ratios(
    areas: Sequence[AreaCount], target: float = 1.0, winsorised: float = WINSORISED
) -> Overdispersion:
    """How much more the areas' ratios of cases to expected differ than chance, on the square-root scale.

    Parameters
    ----------
    areas
        The areas compared.
    target
        Ratio they are held against. [above 0]
    winsorised
        Share of areas drawn in at either end. [fraction, 0 to below a half]

    Examples
    --------
    >>> even = [AreaCount("Ward 1", 5, 5.0), AreaCount("Ward 2", 8, 8.0)]
    >>> spread_of_ratios(even).factor
    0.0
    """
    scale = _ratios(areas, target)
    return overdispersion((scale.distance / scale.error).tolist(), scale.error.tolist(), winsorised)


def compare_ratios(areas: Sequence[AreaCount], target: float = 1.0, *, widen: bool = True) -> Funnel:
    """Hold each area's cases against what was expected there, allowing for its size.

    Parameters
    ----------
    areas
        At least two, each named once.
    target
        Ratio of cases to expected that they are held against. [above 0]
    widen
        Allow for the differences usual between areas, beyond chance.

    Returns
    -------
    Funnel
        Areas by name. Limits used are the exact ones, or wider where areas differ more than chance.

    Raises
    ------
    UnusableCount, NothingToCompare
        Counts that can't be, an area twice, fewer than two areas.

    Notes
    -----
    Expected counts must already allow for what areas differ in by nature (roles, time at risk). Widened
    limits are drawn on the square-root scale and take a random effect between areas. An area outside its
    limits differs; why, the figure does not say.

    References
    ----------
    .. [1] Spiegelhalter, Statistics in Medicine 2005;24:1185-1202.

    Examples
    --------
    >>> wards = [AreaCount("Ward 1", 5, 5.2), AreaCount("Ward 2", 14, 4.2), AreaCount("Ward 3", 3, 4.0)]
    >>> funnel = compare_ratios(wards, widen=False)
    >>> [area.place.value for area in funnel.areas]
    ['within the limits', 'above the outer limit', 'within the limits']
    """
    check_amount("target", target)
    return _judged(
        _ratios(areas, target), widen=widen, thin=sum(a.expected * target < FEW_EXPECTED for a in areas)
    )


def compare_shares(areas: Sequence[AreaShare], target: float, *, widen: bool = True) -> Funnel:
    """Hold each area's proportion against a target, allowing for how many people were asked.

    Parameters
    ----------
    areas
        At least two, each named once.
    target
        Proportion that they are held against. [above 0, below 1]
    widen
        Allow for the differences usual between areas, beyond chance.

    Returns
    -------
    Funnel
        Areas by name.

    Raises
    ------
    UnusableCount, NothingToCompare
        Counts that can't be, an area twice, fewer than two areas.

    Notes
    -----
    As `compare_ratios`, on the arcsine scale. People who did not answer are not in the figure.

    References
    ----------
    .. [1] Spiegelhalter, Statistics in Medicine 2005;24:1185-1202.

    Examples
    --------
    >>> wards = [AreaShare("Ward 1", 12, 60), AreaShare("Ward 2", 23, 60)]
    >>> [area.place.value for area in compare_shares(wards, 0.2, widen=False).areas]
    ['within the limits', 'above the outer limit']
    """
    check_between("target", target, 0, 1)
    thin = sum(area.people * target < FEW_EXPECTED for area in areas)
    return _judged(_proportions(areas, target), widen=widen, thin=thin)


def _interpolated(chance: Any, shares: Sequence[float]) -> tuple[float, ...]:
    for share in shares:
        check_between("share", share, 0, 1)
    whole = chance.ppf(shares)
    return tuple((whole - (chance.cdf(whole) - shares) / chance.pmf(whole)).tolist())


def _ratios(areas: Sequence[AreaCount], target: float) -> _Scale:
    figures = np.array([area.cases / area.expected for area in areas])
    expected = np.array([area.expected for area in areas])
    return _Scale(
        areas=tuple(area.area for area in areas),
        cases=tuple(area.cases for area in areas),
        figures=tuple(figures.tolist()),
        sizes=tuple(expected.tolist()),
        exact=lambda size, shares: poisson_limits(size, shares, target),
        target=target,
        distance=np.sqrt(figures) - np.sqrt(target),
        error=1 / (2 * np.sqrt(expected)),
        transformed_target=float(np.sqrt(target)),
        back=lambda root: max(root, 0.0) ** 2,
        of_what="cases for each one expected",
    )


def _proportions(areas: Sequence[AreaShare], target: float) -> _Scale:
    figures = np.array([area.cases / area.people for area in areas])
    people = np.array([area.people for area in areas])
    return _Scale(
        areas=tuple(area.area for area in areas),
        cases=tuple(area.cases for area in areas),
        figures=tuple(figures.tolist()),
        sizes=tuple(people.tolist()),
        exact=lambda size, shares: binomial_limits(int(size), shares, target),
        target=target,
        distance=np.arcsin(np.sqrt(figures)) - np.arcsin(np.sqrt(target)),
        error=1 / (2 * np.sqrt(people)),
        transformed_target=float(np.arcsin(np.sqrt(target))),
        back=lambda angle: float(np.sin(np.clip(angle, 0, np.pi / 2)) ** 2),
        of_what="of the people asked",
    )


def _judged(scale: _Scale, *, widen: bool, thin: int) -> Funnel:
    if len(scale.areas) < 2:
        raise NothingToCompare("Fewer than two areas were given.", "Give every area that is compared.")
    check_named_once("areas", scale.areas)
    spread = overdispersion((scale.distance / scale.error).tolist(), scale.error.tolist())
    variance = spread.variance if widen else 0.0
    places = [_placed(scale, index, variance) for index in range(len(scale.areas))]
    places.sort(key=lambda place: place.area.casefold())
    return Funnel(
        areas=tuple(places),
        target=scale.target,
        factor=spread.factor,
        variance=variance,
        finding=_finding(places),
        cautions=tuple(_cautions(len(places), spread, thin, widened=variance > 0)),
    )


def _placed(scale: _Scale, index: int, variance: float) -> AreaPlace:
    inner_exact, outer_exact = (_exact(scale, index, level) for level in (INNER, OUTER))
    inner = _widened(scale, index, variance, INNER, inner_exact)
    outer = _widened(scale, index, variance, OUTER, outer_exact)
    figure = scale.figures[index]
    place = _place(figure, inner, outer)
    return AreaPlace(
        area=scale.areas[index],
        cases=scale.cases[index],
        figure=figure,
        inner_exact=inner_exact,
        outer_exact=outer_exact,
        inner=inner,
        outer=outer,
        place=place,
        says=f"{figure:.2f} {scale.of_what}, {place.value} ({inner.lower:.2f} to {inner.upper:.2f}; outer "
        f"{outer.lower:.2f} to {outer.upper:.2f}).",
    )


def _exact(scale: _Scale, index: int, level: float) -> Limits:
    lower, upper = scale.exact(scale.sizes[index], ((1 - level) / 2, (1 + level) / 2))
    return Limits(max(lower, 0.0) / scale.sizes[index], upper / scale.sizes[index])


def _widened(scale: _Scale, index: int, variance: float, level: float, exact: Limits) -> Limits:
    """With the areas' own spread; never narrower than chance alone."""
    if variance == 0:
        return exact
    reach = NormalDist().inv_cdf((1 + level) / 2) * float(np.sqrt(scale.error[index] ** 2 + variance))
    lower, upper = scale.back(scale.transformed_target - reach), scale.back(scale.transformed_target + reach)
    return Limits(min(lower, exact.lower), max(upper, exact.upper))


def _place(figure: float, inner: Limits, outer: Limits) -> Place:
    if figure > outer.upper:
        return Place.FAR_ABOVE
    if figure > inner.upper:
        return Place.ABOVE
    if figure < outer.lower:
        return Place.FAR_BELOW
    return Place.BELOW if figure < inner.lower else Place.WITHIN


def _finding(places: Sequence[AreaPlace]) -> str:
    said = [
        f"{place.value}: {', '.join(named)}"
        for place in Place
        if place is not Place.WITHIN and (named := [one.area for one in places if one.place is place])
    ]
    by_chance = (
        f"By chance alone about {len(places) * (1 - INNER):.2g} of {len(places)} areas would lie outside the "
        f"inner limits and {len(places) * (1 - OUTER):.2g} outside the outer."
    )
    if not said:
        return f"No area differs from the target by more than its limits allow. {by_chance}"
    return f"Outside the limits, {'; '.join(said)}. {by_chance}"


def _cautions(areas: int, spread: Overdispersion, thin: int, *, widened: bool) -> list[str]:
    said = ["An area outside its limits differs from the target; the figure does not say why."]
    if widened:
        said.append(
            f"Areas differ {spread.factor:.2g} times as much as chance makes them; the limits were widened "
            "for it. Something the expected numbers leave out differs between areas."
        )
    if areas < FEW_AREAS:
        said.append(f"With {areas} areas, how much areas usually differ is hardly known.")
    if thin:
        said.append(
            f"In {thin} areas fewer than one case is expected: no number of cases could be too low there."
        )
    return said
