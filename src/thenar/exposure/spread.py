"""Do observers, or sessions, differ more than chance makes them?"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from thenar.exposure.sessions import Seen

SPREAD_DRAWS = 4000


@dataclass(frozen=True, slots=True)
class Spread:
    """How far several counts of one rate lie apart.

    `index` is about 1 where they differ as chance makes them; `by_chance` is how often chance alone gives
    one as large. [0 to 1]
    """

    index: float
    by_chance: float


def spread_of(counts: Sequence[Seen], seed: int) -> Spread | None:
    """How far counts of what may be one rate lie apart, and how often chance alone does that.

    Parameters
    ----------
    counts
        What each observer, or each session, saw.
    seed
        Makes the draws repeatable.

    Returns
    -------
    Spread or None
        Pearson's chi-square over its degrees of freedom, and its chance given the sum of the counts. None
        where there are fewer than two counts, or no act at all.

    Notes
    -----
    The chance is drawn 4000 times, so one that is really 0.05 comes out within 0.007 of it. Few acts can
    hide any difference: a spread that chance explains does not show that observers agree.

    Examples
    --------
    Two observers, an hour each: 2 and 18 acts where 10 and 10 are expected; (8 x 8 + 8 x 8) / 10.

    >>> spread = spread_of([Seen(2, 1), Seen(18, 1)], seed=1)
    >>> round(spread.index, 6), spread.by_chance < 0.01
    (12.8, True)
    """
    acts = np.array([seen.count for seen in counts])
    hours = np.array([seen.hours for seen in counts])
    if len(counts) < 2 or not acts.sum():
        return None
    shares = hours / hours.sum()
    expected = acts.sum() * shares
    drawn = np.random.default_rng(seed).multinomial(acts.sum(), shares, size=SPREAD_DRAWS)
    index = float(((acts - expected) ** 2 / expected).sum()) / (len(counts) - 1)
    by_chance = ((drawn - expected) ** 2 / expected).sum(axis=1) / (len(counts) - 1)
    as_large = int((by_chance >= index * (1 - 1e-9)).sum())
    return Spread(index, (1 + as_large) / (1 + SPREAD_DRAWS))
