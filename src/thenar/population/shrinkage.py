"""How does each area truly stand, when small areas swing by chance, and how sure is its place?"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log

import numpy as np
from numpy.typing import NDArray
from scipy import optimize, special

from thenar.population.comparable import AreaCount, NothingToCompare, check_between, check_named_once
from thenar.population.counts import UnusableCount, check_amount

METHOD = (
    "Gamma-Poisson model: Clayton and Kaldor 1987, Biometrics 43:671-681; the spread between areas "
    "carried as uncertain, with a flat prior: Gelman 2006, Bayesian Analysis 1:515-534."
)
FEWEST_AREAS = 3  # with a flat prior, two areas say nothing of how areas differ: Gelman 2006, section 3.2
WIDEST_SPREAD = 2.0  # our choice: true ratios twice as spread as their mean is more than wards differ
GRID_SPREADS, GRID_MEANS = 80, 81
DRAWS = 10_000
FIRST_LOOK = np.geomspace(0.01, 5, 40)  # relative spreads from which the best single fit is searched
WORTH_NOTHING = 1e-4  # of the log-likelihood: so small a gain can not be told from no spread
Numbers = NDArray[np.float64]


class NoSpread(NothingToCompare):
    """Areas differ no more than chance, so no gamma distribution of true ratios fits best."""

    def __init__(self) -> None:
        super().__init__(
            "The areas differ no more than chance makes them: no single spread between them fits best.",
            "Use the overall ratio for every area, or `shrink_ratios`, which carries what is not known.",
        )


@dataclass(frozen=True, slots=True)
class Span:
    """A figure and the interval it lies in."""

    middle: float
    lower: float
    upper: float


@dataclass(frozen=True, slots=True)
class GammaFit:
    """True ratios of areas as a gamma distribution: `shape`, and `rate` in expected cases."""

    shape: float
    rate: float
    log_likelihood: float

    @property
    def mean(self) -> float:
        """Mean of the true ratios."""
        return self.shape / self.rate

    def mean_of(self, area: AreaCount) -> float:
        """The area's ratio, drawn towards the mean the more the fewer cases were expected."""
        return (self.shape + area.cases) / (self.rate + area.expected)

    def interval_of(self, area: AreaCount, level: float = 0.95) -> Span:
        """The area's ratio with the spread between areas taken as known: too narrow with few areas."""
        shares = np.array([0.5, (1 - level) / 2, (1 + level) / 2])
        limits = special.gammaincinv(self.shape + area.cases, shares) / (self.rate + area.expected)
        return Span(*limits.tolist())


@dataclass(frozen=True, slots=True)
class MomentEstimate:
    """Overall ratio, variance between areas, and each area's ratio drawn in, in the order given."""

    mean: float
    variance: float
    ratios: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class ShrunkArea:
    """One area: its ratio as counted, and drawn in with an interval. Its place is only known as a range."""

    area: str
    cases: int
    expected: float
    counted: float
    ratio: float
    lower: float
    upper: float
    chance_above: float
    place_from: int
    place_to: int
    says: str


@dataclass(frozen=True, slots=True)
class ShrunkAreas:
    """Every area by name. `spread` is how far true ratios vary around their mean, relative to it."""

    areas: tuple[ShrunkArea, ...]
    mean: Span
    spread: Span
    level: float
    seed: int
    draws: int
    finding: str
    cautions: tuple[str, ...]
    method: str = METHOD


def fit_gamma(areas: Sequence[AreaCount]) -> GammaFit:
    """The gamma distribution of true ratios under which the counts are most likely.

    Parameters
    ----------
    areas
        At least three, each named once.

    Raises
    ------
    UnusableCount, NothingToCompare
        An area twice, fewer than three areas, no case anywhere.
    NoSpread
        Areas differ no more than chance.

    References
    ----------
    .. [1] Clayton and Kaldor, Biometrics 1987;43:671-681, section 3.

    Examples
    --------
    >>> fit = fit_gamma([AreaCount("A", 2, 8.0), AreaCount("B", 15, 9.0), AreaCount("C", 30, 10.0)])
    >>> round(fit.mean, 2), round(fit.mean_of(AreaCount("D", 0, 0.5)), 2)
    (1.65, 1.09)
    """
    _refuse_too_few(areas)
    cases, expected = _columns(areas)
    overall = log(cases.sum() / expected.sum())

    def misfit(at: Numbers) -> float:
        shape = exp(-2 * at[0])
        return -float(_log_likelihood(cases, expected, shape, shape / exp(at[1])))

    # Towards no spread the likelihood is flat: a search begun there would never come back.
    begin = min(np.log(FIRST_LOOK), key=lambda spread: misfit(np.array([spread, overall])))
    best = optimize.minimize(
        misfit,
        (begin, overall),
        method="Nelder-Mead",
        options={"xatol": 1e-8, "fatol": 1e-11, "maxiter": 2_000},
    )
    if best.fun >= -_no_spread_log_likelihood(cases, expected) - WORTH_NOTHING:
        raise NoSpread
    shape = exp(-2 * best.x[0])
    return GammaFit(shape, shape / exp(best.x[1]), -float(best.fun))


def shrink_by_moments(areas: Sequence[AreaCount]) -> MomentEstimate:
    """Draw each area's ratio towards the overall one, by moments alone.

    Parameters
    ----------
    areas
        At least three, each named once.

    Returns
    -------
    MomentEstimate
        A variance between areas below 0 is taken as 0: every area then has the overall ratio.

    Raises
    ------
    UnusableCount, NothingToCompare
        An area twice, fewer than three areas, no case anywhere.

    References
    ----------
    .. [1] Marshall, Applied Statistics 1991;40:283-294.

    Examples
    --------
    >>> areas = [AreaCount("A", 2, 100.0), AreaCount("B", 3, 100.0), AreaCount("C", 2, 100.0)]
    >>> shrink_by_moments(areas).variance
    0.0
    """
    _refuse_too_few(areas)
    cases, expected = _columns(areas)
    ratios, mean = cases / expected, float(cases.sum() / expected.sum())
    around_mean = float((expected * (ratios - mean) ** 2).sum() / expected.sum())
    variance = max(0.0, around_mean - mean / float(expected.mean()))
    drawn_in = mean + variance * (ratios - mean) / (variance + mean / expected)
    return MomentEstimate(mean, variance, tuple(drawn_in.tolist()))


def shrink_ratios(
    areas: Sequence[AreaCount],
    *,
    seed: int,
    target: float = 1.0,
    level: float = 0.95,
    draws: int = DRAWS,
) -> ShrunkAreas:
    """Each area's true ratio of cases to expected, steadied by the others, with the range of its place.

    Parameters
    ----------
    areas
        At least three, each named once. `expected` allows for roles and time at risk.
    seed
        Makes the draws repeatable. [0 or more]
    target
        Ratio that areas are held against. [above 0]
    level
        Level of the intervals. [fraction, above 0, below 1]
    draws
        Draws from what is known of all areas together. [1,000 or more]

    Returns
    -------
    ShrunkAreas
        By name. `chance_above` is the chance that the true ratio is above `target`; place 1 is the highest.

    Raises
    ------
    UnusableCount, NothingToCompare
        An area twice, fewer than three areas, no case anywhere, a setting that can't be.

    Notes
    -----
    True ratios follow a gamma distribution; neither its mean nor its spread is taken as known. Flat priors on
    the logarithm of the mean and on the relative spread from 0 to 2, on a grid. One very different area is
    drawn in too far, since a gamma distribution has no room for it: the funnel shows it.

    References
    ----------
    .. [1] Clayton and Kaldor, Biometrics 1987;43:671-681.
    .. [2] Gelman, Bayesian Analysis 2006;1:515-534.
    .. [3] Goldstein and Spiegelhalter, Journal of the Royal Statistical Society A 1996;159:385-443: ranks.

    Examples
    --------
    >>> wards = [AreaCount("Ward 1", 0, 0.9), AreaCount("Ward 2", 9, 4.0), AreaCount("Ward 3", 4, 5.1)]
    >>> shrunk = shrink_ratios(wards, seed=1)
    >>> [(area.area, area.place_from, area.place_to) for area in shrunk.areas]
    [('Ward 1', 1, 3), ('Ward 2', 1, 2), ('Ward 3', 1, 3)]
    """
    _refuse_too_few(areas)
    check_between("level", level, 0, 1)
    check_amount("target", target)
    if draws < 1_000:
        raise UnusableCount("draws", draws, "1,000 or more")
    cases, expected = _columns(areas)
    rng = np.random.default_rng(seed)
    spreads, means = _drawn_spreads_and_means(cases, expected, draws, rng)
    shapes = 1 / spreads**2
    ratios = rng.gamma(shapes[:, None] + cases) / ((shapes / means)[:, None] + expected)
    ends = [(1 - level) / 2, (1 + level) / 2]
    shrunk = sorted(_shrunk(areas, ratios, target, ends), key=lambda area: area.area.casefold())
    spread = _interval(spreads, ends)
    return ShrunkAreas(
        areas=tuple(shrunk),
        mean=_interval(means, ends),
        spread=spread,
        level=level,
        seed=seed,
        draws=draws,
        finding=_finding(shrunk, level),
        cautions=tuple(_cautions(spread)),
    )


def _refuse_too_few(areas: Sequence[AreaCount]) -> None:
    if len(areas) < FEWEST_AREAS:
        raise NothingToCompare(
            f"{len(areas)} areas were given; how areas differ can't be told from fewer than {FEWEST_AREAS}.",
            "Give every area of the hospital, also those without a case.",
        )
    check_named_once("areas", [area.area for area in areas])
    if not any(area.cases for area in areas):
        raise NothingToCompare(
            "There is no case in any area.", "Widen the period, or check what was counted."
        )


def _columns(areas: Sequence[AreaCount]) -> tuple[Numbers, Numbers]:
    return np.array([float(area.cases) for area in areas]), np.array([float(area.expected) for area in areas])


def _log_likelihood(
    cases: Numbers, expected: Numbers, shape: Numbers | float, rate: Numbers | float
) -> Numbers:
    """Of the counts, summed over areas (the last axis): negative binomial."""
    each = (
        special.gammaln(cases + shape)
        - special.gammaln(shape)
        - special.gammaln(cases + 1)
        - shape * np.log1p(expected / rate)
        + cases * (np.log(expected) - np.log(expected + rate))
    )
    summed: Numbers = each.sum(axis=-1)
    return summed


def _no_spread_log_likelihood(cases: Numbers, expected: Numbers) -> float:
    usual = expected * cases.sum() / expected.sum()
    return float((cases * np.log(usual) - usual - special.gammaln(cases + 1)).sum())


def _drawn_spreads_and_means(
    cases: Numbers, expected: Numbers, draws: int, rng: np.random.Generator
) -> tuple[Numbers, Numbers]:
    """Draws of the relative spread and the mean of true ratios, each in proportion to its likelihood."""
    spreads = (np.arange(GRID_SPREADS) + 0.5) * WIDEST_SPREAD / GRID_SPREADS
    reach = 5 * np.sqrt(1 / cases.sum() + WIDEST_SPREAD**2 / cases.size)
    means = np.exp(log(cases.sum() / expected.sum()) + np.linspace(-reach, reach, GRID_MEANS))
    shapes = 1 / spreads[:, None, None] ** 2
    likely = _log_likelihood(cases, expected, shapes, shapes / means[None, :, None])
    weights = np.exp(likely - likely.max()).ravel()
    cells = rng.choice(weights.size, size=draws, p=weights / weights.sum())
    within = rng.uniform(-0.5, 0.5, size=(2, draws))  # a cell stands for all that lies in it
    return (
        spreads[cells // GRID_MEANS] + within[0] * WIDEST_SPREAD / GRID_SPREADS,
        means[cells % GRID_MEANS] * np.exp(within[1] * 2 * reach / (GRID_MEANS - 1)),
    )


def _shrunk(
    areas: Sequence[AreaCount], ratios: Numbers, target: float, ends: Sequence[float]
) -> list[ShrunkArea]:
    places = (-ratios).argsort(axis=1).argsort(axis=1) + 1
    lower, upper = np.quantile(ratios, ends, axis=0).tolist()
    place_from, place_to = np.quantile(places, ends, axis=0, method="inverted_cdf").astype(int).tolist()
    above = (ratios > target).mean(axis=0).tolist()
    return [
        ShrunkArea(
            area=area.area,
            cases=area.cases,
            expected=area.expected,
            counted=area.cases / area.expected,
            ratio=ratio,
            lower=lower[index],
            upper=upper[index],
            chance_above=above[index],
            place_from=place_from[index],
            place_to=place_to[index],
            says=f"{area.cases} cases against {area.expected:.1f} expected. Steadied by the other areas, "
            f"{ratio:.2f} times expected ({lower[index]:.2f} to {upper[index]:.2f}). Its place "
            f"among {len(areas)} areas: anywhere from {place_from[index]} to {place_to[index]}.",
        )
        for index, (area, ratio) in enumerate(zip(areas, ratios.mean(axis=0).tolist(), strict=True))
    ]


def _interval(drawn: Numbers, ends: Sequence[float]) -> Span:
    return Span(float(np.median(drawn)), *np.quantile(drawn, ends).tolist())


def _finding(areas: Sequence[ShrunkArea], level: float) -> str:
    sure = (1 + level) / 2
    above = [area.area for area in areas if area.chance_above >= sure]
    below = [area.area for area in areas if area.chance_above <= 1 - sure]
    said = [f"More cases than expected, beyond chance: {', '.join(above)}."] * bool(above)
    said += [f"Fewer than expected, beyond chance: {', '.join(below)}."] * bool(below)
    if not said:
        return "No area can be told from what was expected: its size and chance are enough to explain it."
    return f"{' '.join(said)} The order of areas is otherwise not known."


def _cautions(spread: Span) -> list[str]:
    return [
        "Places are given as ranges only: an order of areas would mostly be chance.",
        f"True ratios vary around their mean by about {spread.middle:.0%} "
        f"({spread.lower:.0%} to {spread.upper:.0%}).",
    ]
