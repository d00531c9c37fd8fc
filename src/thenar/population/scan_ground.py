"""Over which areas, roles, periods and products is a cluster looked for, and what was counted there?"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from thenar.population.comparable import NothingToCompare, check_named_once
from thenar.population.counts import UnusableCount, check_count

Numbers = NDArray[np.float64]
Whole = NDArray[np.int64]
Yes = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class ScanArea:
    """A place and the one it is part of; None at the top."""

    name: str
    within: str | None = None


@dataclass(frozen=True, slots=True)
class Counted:
    """New cases of a role in an area in one period, and the time at risk they came from.

    `starts` is the first day of the period; `person_time` is in any one unit. [count; 0 or more]
    """

    area: str
    role: str
    starts: date
    cases: int
    person_time: float

    def __post_init__(self) -> None:
        where = f"{self.area}, {self.role}, {self.starts}"
        check_count(f"cases of {where}", self.cases)
        time = self.person_time
        if isinstance(time, bool) or not np.isfinite(time) or time < 0:
            raise UnusableCount(f"person_time of {where}", time, "a number, 0 or more")
        if self.cases and not time:
            raise UnusableCount(
                f"person_time of {where}", time, f"above 0, since {self.cases} cases came there"
            )


@dataclass(frozen=True, slots=True)
class Stocked:
    """A product present in an area from a day until another, both included; None where it still is."""

    product: str
    area: str
    first: date
    last: date | None = None


@dataclass(frozen=True, slots=True)
class Span:
    """Periods one after another: the first day of each, and the last day of the last."""

    starts: tuple[date, ...]
    last: date

    def __post_init__(self) -> None:
        days = (*self.starts, self.last)
        if not self.starts:
            raise NothingToCompare("No period was given.", "Give the first day of each period.")
        if list(self.starts) != sorted(set(self.starts)) or self.last < days[-2]:
            raise NothingToCompare(
                "The periods are not in order of time.", "Give each first day once, in order."
            )

    def ends(self, period: int) -> date:
        """The last day of a period."""
        after = self.starts[period + 1 :]
        return date.fromordinal(after[0].toordinal() - 1) if after else self.last


@dataclass(frozen=True, slots=True, eq=False)
class ScanGround:
    """Counts by area, role and period, and where each product was in stock. Made by `lay_ground`.

    `cases` and `person_time` are [areas, roles, periods], `stock` is [products, areas, periods], `within`
    holds for each area those it is part of, itself first.
    """

    areas: tuple[str, ...]
    within: tuple[tuple[int, ...], ...]
    roles: tuple[str, ...]
    span: Span
    products: tuple[str, ...]
    cases: Whole
    person_time: Numbers
    stock: Yes

    @property
    def total(self) -> int:
        """All cases."""
        return int(self.cases.sum())

    @property
    def at_work(self) -> Yes:
        """Where and when there was person-time. [areas, roles, periods]"""
        return np.asarray(self.person_time > 0, dtype=np.bool_)


def lay_ground(
    areas: Sequence[ScanArea], span: Span, counts: Sequence[Counted], stock: Sequence[Stocked]
) -> ScanGround:
    """Lay counts and stock out by area, role, period and product.

    Parameters
    ----------
    areas
        A tree, or several; an area with others in it may have posts of its own.
    span
        The periods.
    counts
        One for each area, role and period with person-time; what is left out had none.
    stock
        A product counts as in stock in every period of which it was there one day.

    Raises
    ------
    UnusableCount, NothingToCompare
        A count that can't be; cases without person-time; an area or period that is not there; a line twice;
        no product; no case.

    Examples
    --------
    >>> span = Span((date(2026, 1, 1), date(2026, 2, 1)), date(2026, 2, 28))
    >>> ground = lay_ground(
    ...     [ScanArea("Hospital"), ScanArea("Ward 1", within="Hospital")],
    ...     span,
    ...     [Counted("Ward 1", "nurse", starts, cases, 2.5) for starts, cases in zip(span.starts, (0, 3))],
    ...     [Stocked("product 31", "Ward 1", date(2026, 2, 14))],
    ... )
    >>> ground.within, ground.cases.tolist(), ground.stock.tolist()
    (((0,), (1, 0)), [[[0, 0]], [[0, 3]]], [[[False, False], [False, True]]])
    """
    names = [area.name for area in areas]
    check_named_once("areas", names)
    place = {name: number for number, name in enumerate(names)}
    within = _lines_up(areas, place)
    if not stock:
        raise NothingToCompare(
            "No product was given.",
            "Give the stock of each area; without it no rise can be laid to a product.",
        )
    roles = sorted({one.role for one in counts})
    cases, person_time = _laid(counts, place, roles, span)
    if not cases.any():
        raise NothingToCompare("No case was given.", "Nothing can gather where there is nothing; scan later.")
    products = sorted({one.product for one in stock})
    return ScanGround(
        tuple(names),
        within,
        tuple(roles),
        span,
        tuple(products),
        cases,
        person_time,
        _stocked(stock, place, products, span),
    )


def _laid(
    counts: Sequence[Counted], place: dict[str, int], roles: list[str], span: Span
) -> tuple[Whole, Numbers]:
    at_period = {starts: period for period, starts in enumerate(span.starts)}
    at_role = {role: number for number, role in enumerate(roles)}
    shape = (len(place), len(roles), len(span.starts))
    cases, person_time = np.zeros(shape, dtype=np.int64), np.zeros(shape)
    times = Counter((one.area, one.role, one.starts) for one in counts)
    for one in counts:
        where = f"{one.area}, {one.role}, {one.starts}"
        if one.area not in place:
            raise UnusableCount("area of counts", one.area, "one of the areas given")
        if one.starts not in at_period:
            raise UnusableCount(f"starts of {where}", str(one.starts), "the first day of a period given")
        if times[one.area, one.role, one.starts] > 1:
            raise UnusableCount("counts", where, "given once")
        cell = place[one.area], at_role[one.role], at_period[one.starts]
        cases[cell], person_time[cell] = one.cases, one.person_time
    return cases, person_time


def _lines_up(areas: Sequence[ScanArea], place: dict[str, int]) -> tuple[tuple[int, ...], ...]:
    """For each area its number and those of the areas it is part of, upwards."""
    lines = []
    for area in areas:
        line, above = [place[area.name]], area.within
        while above is not None:
            if above not in place:
                raise UnusableCount(f"within of {areas[line[-1]].name}", above, "one of the areas given")
            if place[above] in line:
                raise UnusableCount(f"within of {area.name}", above, "an area that is not part of it in turn")
            line.append(place[above])
            above = areas[place[above]].within
        lines.append(tuple(line))
    return tuple(lines)


def _stocked(stock: Sequence[Stocked], place: dict[str, int], products: list[str], span: Span) -> Yes:
    present = np.zeros((len(products), len(place), len(span.starts)), dtype=bool)
    number = {product: at for at, product in enumerate(products)}
    starts = np.array([day.toordinal() for day in span.starts])
    ends = np.array([span.ends(period).toordinal() for period in range(len(starts))])
    for one in stock:
        if one.area not in place:
            raise UnusableCount(f"area of {one.product}", one.area, "one of the areas given")
        last = one.last or span.last
        if one.last is not None and one.last < one.first:
            raise UnusableCount(
                f"last of {one.product} in {one.area}", str(one.last), f"{one.first} or later"
            )
        present[number[one.product], place[one.area]] |= (starts <= last.toordinal()) & (
            ends >= one.first.toordinal()
        )
    return present
