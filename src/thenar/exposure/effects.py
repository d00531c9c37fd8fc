"""What share of cases would a plan spare? From published ratios, each within its own contrast only."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from thenar.exposure.attributable import Draws, Ratio, draw_ratio, odds_to_risk_ratio
from thenar.exposure.shift import ShiftQuantities
from thenar.knowledge import Book, Citation, RiskRatio


class Side(StrEnum):
    """Where a shift lies to a contrast."""

    ABOVE = "above"
    BETWEEN = "between"
    BELOW = "below"


@dataclass(frozen=True, slots=True)
class Range:
    """A figure with the interval it probably lies in."""

    estimate: float
    lower: float
    upper: float


@dataclass(frozen=True, slots=True)
class Effect:
    """What one published ratio says of a plan.

    `fraction` is the share of cases spared (below 0: added). It is None if the plan stays on one side of the
    contrast, or too little is known; `why_not` says which. `association` holds where chance did not decide
    who was exposed. `went_below` and `went_above` are shares of the shifts that changed side.
    """

    ratio: RiskRatio
    citation: Citation
    other_views: tuple[tuple[str, Citation], ...]
    went_below: float
    went_above: float
    fraction: Range | None
    why_not: str = ""

    @property
    def association(self) -> bool:
        """Whether the figure is an association only."""
        return not self.ratio.randomised

    @property
    def from_odds(self) -> bool:
        """Whether an odds ratio was turned into a risk ratio."""
        return self.ratio.measure == "odds ratio"


@dataclass(frozen=True, slots=True)
class Crossing:
    """Which shifts lie above a contrast before a plan, and which change side under it."""

    exposed: tuple[bool, ...]
    went_below: tuple[bool, ...]
    went_above: tuple[bool, ...]

    @property
    def any(self) -> bool:
        """Whether any shift changes side."""
        return any(self.went_below) or any(self.went_above)


@dataclass(frozen=True, slots=True)
class Chance:
    """How the draws are made: how many, from which seed, and each shift's weight in each draw."""

    draws: int
    seed: int
    weights: Draws

    def ratio(self, ratio: RiskRatio) -> Draws:
        """Plausible risk ratios: the same values wherever the ratio is used."""
        drawn = draw_ratio(
            float(ratio.estimate),
            float(ratio.lower),
            float(ratio.upper),
            confidence=float(ratio.confidence),
            draws=self.draws,
            seed=self.seed,
            name=ratio.id,
        )
        return _as_risk_ratio(ratio, drawn)


def chance_for(shifts: int, draws: int, seed: int) -> Chance:
    """Draws for so many shifts, each of which stands for an unknown share of all shifts.

    Parameters
    ----------
    shifts
        How many shifts were counted. [1 or more]
    draws
        How many draws. [1 or more]
    seed
        Makes the draws repeatable.

    Notes
    -----
    The weights are a Bayesian bootstrap: with few shifts the shares are uncertain, and the intervals show it.
    A single shift is taken to stand for all, and no interval can show how far it does.

    References
    ----------
    .. [1] Rubin, Annals of Statistics 1981;9:130-134.

    Examples
    --------
    >>> chance_for(1, draws=2, seed=1).weights.tolist()
    [[1.0, 1.0]]
    """
    stream = np.random.default_rng([seed, shifts])
    weights = stream.standard_exponential((shifts, draws))
    weights /= weights.sum(axis=0)
    return Chance(draws, seed, weights)


def side_of(ratio: RiskRatio, shift: ShiftQuantities) -> Side | None:
    """Where a shift lies to a ratio's contrast; None where that is not known.

    Examples
    --------
    >>> from thenar.knowledge import load
    >>> ratio = load().risk_ratios["risk-ratio.washes-15-20"]
    >>> [side_of(ratio, ShiftQuantities(whole_shift=True, washes=n)).value for n in (14, 15, 19, 20)]
    ['below', 'between', 'between', 'above']
    """
    amount = getattr(shift, ratio.factor)
    if amount is None:
        return None
    if amount >= ratio.from_on:
        return Side.ABOVE
    if not shift.whole_shift:
        return None
    return Side.BELOW if amount < ratio.below else Side.BETWEEN


def crossing(
    ratio: RiskRatio, before: Sequence[ShiftQuantities], after: Sequence[ShiftQuantities]
) -> Crossing | None:
    """Which shifts change side; None where one of them is not known.

    Notes
    -----
    A shift between the cut-offs of pooled studies counts as exposed: only one that gets from above them all
    to below them all has gone below, and one that gets from below to between has gone above. So no gain is
    overstated, and no harm passed over.
    """
    sides = [(side_of(ratio, b), side_of(ratio, a)) for b, a in zip(before, after, strict=True)]
    if any(None in pair for pair in sides):
        return None
    return Crossing(
        exposed=tuple(b is not Side.BELOW for b, _ in sides),
        went_below=tuple(pair == (Side.ABOVE, Side.BELOW) for pair in sides),
        went_above=tuple(b is Side.BELOW and a is not Side.BELOW for b, a in sides),
    )


def effects_of(
    before: Sequence[ShiftQuantities], after: Sequence[ShiftQuantities], book: Book, chance: Chance
) -> tuple[tuple[Effect, Draws | None], ...]:
    """What each published ratio says of the change from one set of shifts to another, with its draws.

    Parameters
    ----------
    before, after
        The same shifts as worked and as planned, in the same order.
    book
        The knowledge that holds the ratios, in order of preference within each factor.
    chance
        Draws and weights, made for as many shifts.

    Returns
    -------
    tuple of (Effect, draws)
        One for each ratio whose factor the change touches. Draws are None where the effect is not known.

    Notes
    -----
    Potential impact fraction between two sides of a contrast: (p - p') (RR - 1) / (1 + p (RR - 1)), with p
    and p' the shares of shifts above it before and after. Shares of shifts stand in for shares of people. A
    change that stays on one side has an effect nobody published: it is "not known", which is not none.
    Fractions of several factors are never added.

    References
    ----------
    .. [1] Drescher and Becher, Biometrics 1997;53:1170-1176.

    Examples
    --------
    >>> from thenar.knowledge import load
    >>> washed = [ShiftQuantities(whole_shift=True, washes=n) for n in (25, 12)]
    >>> rubbed = [ShiftQuantities(whole_shift=True, washes=n) for n in (9, 9)]
    >>> found = effects_of(washed, rubbed, load(), chance_for(2, draws=1000, seed=1))
    >>> effect, _ = found[0]
    >>> effect.ratio.id, round(effect.fraction.estimate, 3), effect.association
    ('risk-ratio.washes-15-20', 0.248, True)
    """
    changed = {
        ratio.factor
        for ratio in book.risk_ratios.values()
        if any(
            getattr(b, ratio.factor) != getattr(a, ratio.factor) for b, a in zip(before, after, strict=True)
        )
    }
    return tuple(
        _effect(ratio, before, after, book, chance)
        for ratio in book.risk_ratios.values()
        if ratio.factor in changed
    )


def spared_fraction(exposed: Draws | float, gone: Draws | float, ratio: Draws | float) -> Draws | float:
    """Share of cases spared when `gone`, a share of all, leave the exposed. [shares, ratio above 0]

    Examples
    --------
    Everyone exposed leaves: the fraction is Levin's.

    >>> round(spared_fraction(0.30, 0.30, 1.66), 3)
    0.165
    """
    return gone * (ratio - 1) / (1 + exposed * (ratio - 1))


def in_range(estimate: float, draws: Draws) -> Range:
    """The estimate with the middle 95 % of its draws."""
    lower, upper = np.quantile(draws, (0.025, 0.975))
    return Range(estimate, float(lower), float(upper))


def changes_without_ratio(
    before: Sequence[ShiftQuantities], after: Sequence[ShiftQuantities], book: Book
) -> tuple[str, ...]:
    """Quantities that change and for which no ratio with limits is published."""
    with_ratio = {ratio.factor for ratio in book.risk_ratios.values()}
    counts = Counter(
        field
        for field in ("washes", "rubs", "wet_minutes", "pairs", "glove_minutes", "cream_uses")
        for b, a in zip(before, after, strict=True)
        if field not in with_ratio and getattr(b, field) != getattr(a, field)
    )
    return tuple(counts)


def _effect(
    ratio: RiskRatio,
    before: Sequence[ShiftQuantities],
    after: Sequence[ShiftQuantities],
    book: Book,
    chance: Chance,
) -> tuple[Effect, Draws | None]:
    crossed = crossing(ratio, before, after)
    citation, views = book.cite(ratio), book.entry(ratio.id).other_views
    if crossed is None:
        why = "Not known: not counted in every shift, or only part of a shift was seen."
        return Effect(ratio, citation, views, 0, 0, None, why), None
    below, above = _share(crossed.went_below), _share(crossed.went_above)
    if not crossed.any:
        why = "Not known: no shift crosses the contrast, and within one side of it nothing is published."
        return Effect(ratio, citation, views, below, above, None, why), None
    point = _as_risk_ratio(ratio, float(ratio.estimate))
    estimate = spared_fraction(_share(crossed.exposed), below - above, point)
    draws = _fraction_draws(crossed, chance.ratio(ratio), chance.weights)
    return Effect(ratio, citation, views, below, above, in_range(float(estimate), draws)), draws


def _fraction_draws(crossed: Crossing, ratio: Draws, weights: Draws) -> Draws:
    exposed = _weighed_share(crossed.exposed, weights)
    gone = _weighed_share(crossed.went_below, weights) - _weighed_share(crossed.went_above, weights)
    return np.asarray(spared_fraction(exposed, gone, ratio))


def _weighed_share(flags: Sequence[bool], weights: Draws) -> Draws:
    share: Draws = weights[np.asarray(flags)].sum(axis=0)
    return share


def _as_risk_ratio(ratio: RiskRatio, drawn: Ratio) -> Ratio:
    if ratio.unexposed_risk is None or ratio.measure == "risk ratio":
        return drawn
    return odds_to_risk_ratio(drawn, float(ratio.unexposed_risk))


def _share(flags: Sequence[bool]) -> float:
    return sum(flags) / len(flags)
