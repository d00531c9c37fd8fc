"""Which windows hold more cases than expected, and by what likelihood ratio, for many draws of cases at once?

A window is an area with all in it, a role or all, a product in stock or any, and periods one after another.
Only windows that begin (and, looking back, end) in a period with a case can be the least likely of their
kind: any other holds the same cases as one of these, with more expected. So each case is written down in
every set of area, role and product that it belongs to, all are sorted at once, and a case's place in its set
is the number of cases since then.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse, special

from thenar.population.scan_ground import Numbers, ScanGround, Whole

ANY = 0  # the place of "any product" among products
ENTRIES = 100_000  # of cases in sets worked on at once: what a processor keeps near


@dataclass(frozen=True, slots=True)
class Reach:
    """Which windows are looked at.

    `ending_now`: only those that reach the last period. `longest` in periods. `most_expected`: no window
    expecting more cases than that. `least_cases` in a window.
    """

    ending_now: bool
    longest: int
    most_expected: float
    least_cases: int


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """Windows with more cases than expected, one a place: their draw, set, first and last period."""

    draw: Whole
    set: Whole
    first: Whole
    last: Whole
    cases: Whole
    expected: Numbers
    ratio: Numbers


@dataclass(frozen=True, slots=True, eq=False)
class Windows:
    """All sets of area, role and product, with what is expected in each since each period.

    A key is the number of a set times the periods, plus how many periods ago; keys in order run through each
    set from now backwards. `since` has the cases expected by key, `first` and `keys` the keys of each area
    and period without its role.
    """

    areas: int
    roles: int
    periods: int
    since: Numbers
    first: Whole
    keys: Whole
    total: int
    reach: Reach

    @property
    def products(self) -> int:
        """Products, "any" among them."""
        return len(self.since) // (self.areas * (self.roles + 1) * self.periods)

    def unpack(self, one: int) -> tuple[int, int, int]:
        """Area, product (`ANY` or its number from 1) and role (the last for all) of a set."""
        place, role = divmod(one, self.roles + 1)
        area, product = divmod(place, self.products)
        return area, product, role

    def found(self, draw: Whole, area: Whole, role: Whole, period: Whole) -> Iterator[Found]:
        """Windows with more cases than expected among cases given one a place, of one draw or many."""
        keys = self._sorted_keys(draw, area, role, period)
        if self.reach.ending_now:
            yield self._ending_now(keys)
        else:
            yield from self._ending_anywhere(keys)

    def _sorted_keys(self, draw: Whole, area: Whole, role: Whole, period: Whole) -> Whole:
        if self.reach.ending_now:
            recent = period >= self.periods - self.reach.longest
            draw, area, role, period = draw[recent], area[recent], role[recent], period[recent]
        at = area * self.periods + period
        lengths = self.first[at + 1] - self.first[at]
        before = np.cumsum(lengths) - lengths
        places = np.repeat(self.first[at] - before, lengths) + np.arange(lengths.sum())
        without_role = self.keys[places] + np.repeat(draw * len(self.since), lengths)
        of_role = without_role + np.repeat(role * self.periods, lengths)
        keys = np.concatenate([of_role, without_role + self.roles * self.periods])
        keys.sort()
        return keys

    def _ending_now(self, keys: Whole) -> Found:
        starts = _starts(keys // self.periods)
        cases = np.arange(1, len(keys) + 1) - np.repeat(starts[:-1], np.diff(starts))
        return self._kept(keys, np.zeros_like(keys), cases, self.since[keys % len(self.since)])

    def _ending_anywhere(self, keys: Whole) -> Iterator[Found]:
        """Windows from each period with a case to the next, to the one after, and so on."""
        runs = _starts(keys)
        keys, counts = keys[runs[:-1]], np.diff(runs)
        until_here = np.cumsum(counts)
        where, ago, sets = keys % len(self.since), keys % self.periods, keys // self.periods
        since = self.since[where]
        before_last = np.where(ago > 0, self.since[where - (ago > 0)], 0.0)
        closing = np.arange(len(keys))
        for lag in range(self.reach.longest):
            closing = closing[closing + lag < len(keys)]
            opening = closing + lag
            together = (sets[opening] == sets[closing]) & (ago[opening] - ago[closing] < self.reach.longest)
            closing, opening = closing[together], opening[together]
            if len(closing) == 0:
                return
            cases = until_here[opening] - until_here[closing] + counts[closing]
            yield self._kept(keys[opening], ago[closing], cases, since[opening] - before_last[closing])

    def _kept(self, keys: Whole, ended_ago: Whole, cases: Whole, expected: Numbers) -> Found:
        high = (cases > expected) & (cases >= self.reach.least_cases)
        keep = np.flatnonzero(high & (expected <= self.reach.most_expected))
        keys, cases, expected = keys[keep], cases[keep], expected[keep]
        sets = keys // self.periods
        each = len(self.since) // self.periods
        last = self.periods - 1
        return Found(
            sets // each,
            sets % each,
            last - keys % self.periods,
            last - ended_ago[keep],
            cases,
            expected,
            log_ratio(cases, expected, self.total),
        )


def log_ratio(cases: NDArray[np.int64] | int, expected: Numbers | float, total: int) -> NDArray[np.float64]:
    """Logarithm of how much likelier the cases are if the rate inside differs from that outside.

    Parameters
    ----------
    cases, expected
        Inside. Expected cases of everywhere add up to `total`. [cases above expected; expected above 0]
    total
        Cases everywhere.

    References
    ----------
    .. [1] Kulldorff, Communications in Statistics: Theory and Methods 1997;26:1481-1496, Poisson model.

    Examples
    --------
    By hand: 8 ln(8/4) + 12 ln(12/16) = 5.545 - 3.452.

    >>> round(float(log_ratio(8, 4.0, 20)), 3)
    2.093
    """
    inside, outside = np.asarray(cases), total - np.asarray(cases)
    left = np.maximum(total - np.asarray(expected), np.finfo(float).tiny)
    ratio: NDArray[np.float64] = inside * np.log(inside / expected) + special.xlogy(outside, outside / left)
    return ratio


def lay_windows(ground: ScanGround, expected: Numbers, reach: Reach) -> Windows:
    """Number the sets and add up what is expected in each.

    Examples
    --------
    >>> from datetime import date
    >>> from thenar.population.scan_ground import Counted, ScanArea, Span, Stocked, lay_ground
    >>> day = date(2026, 1, 1)
    >>> ground = lay_ground(
    ...     [ScanArea("A")],
    ...     Span((day,), day),
    ...     [Counted("A", "nurse", day, 6, 3.0)],
    ...     [Stocked("soap", "A", day)],
    ... )
    >>> windows = lay_windows(ground, ground.person_time, Reach(True, 1, 6.0, 2))
    >>> len(windows.since), windows.unpack(3)  # any product or soap, nurses or all
    (4, (0, 1, 1))
    """
    areas, roles, periods = ground.cases.shape
    products = len(ground.products) + 1
    stock = np.concatenate([np.ones((1, areas, periods), dtype=bool), ground.stock])
    upwards = _upwards(ground)
    since = np.empty((areas, products, roles + 1, periods))
    for product in range(products):
        there = (expected * stock[product][:, None, :])[:, :, ::-1].reshape(areas, -1)
        summed = (upwards @ there).reshape(areas, roles, periods)
        since[:, product, :roles] = np.cumsum(summed, axis=2)
        since[:, product, roles] = np.cumsum(summed.sum(axis=1), axis=1)
    first, keys = _keys(ground, stock, (products, roles + 1, periods))
    return Windows(areas, roles, periods, since.ravel(), first, keys, ground.total, reach)


def _upwards(ground: ScanGround) -> sparse.csr_array:
    """Adds each area's figures to those of every area it is part of."""
    pairs = [(above, area) for area, line in enumerate(ground.within) for above in line]
    rows, columns = zip(*pairs, strict=True)
    size = len(ground.areas)
    return sparse.csr_array((np.ones(len(pairs)), (rows, columns)), shape=(size, size))


def _keys(ground: ScanGround, stock: NDArray[np.bool_], shape: tuple[int, int, int]) -> tuple[Whole, Whole]:
    """For each area and period the keys, without role, of the sets that what happens there belongs to."""
    products, roles, periods = shape
    lengths, keys = [], []
    for area, line in enumerate(ground.within):
        period, product = np.nonzero(stock[:, area, :].T)
        sets = np.array(line)[None, :] * products + product[:, None]
        keys.append((sets * (roles * periods) + (periods - 1 - period)[:, None]).ravel())
        lengths.append(np.bincount(period, minlength=periods) * len(line))
    first = np.concatenate([[0], np.cumsum(np.concatenate(lengths))])
    return first, np.concatenate(keys)


def _starts(values: Whole) -> Whole:
    """Where each run of equal values starts, and the end of the last."""
    return np.concatenate([[0], np.flatnonzero(np.diff(values)) + 1, [len(values)]])
