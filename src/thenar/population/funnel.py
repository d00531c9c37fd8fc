"""Which areas have more cases, or fewer, than chance and the usual differences between areas allow?"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import Enum
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from thenar.population.comparable import (
    AreaCount,
    AreaShare,
    NothingToCompare,
    check_between,
    check_named_once,
)
from thenar.population.counts import check_amount
from thenar.population.funnel_limits import (
    WINSORISED,
    Overdispersion,
    binomial_limits,
    overdispersion,
    poisson_limits,
)

METHOD = "Funnel limits: Spiegelhalter 2005, Statistics in Medicine 24:1185-1202."
INNER, OUTER = 0.95, 0.998  # the two pairs of limits of the paper, its section 2
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
            f"Fewer than one case is expected in {thin} of {areas} areas: no number could be too low there."
        )
    return said
