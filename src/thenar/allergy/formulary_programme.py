"""Which products to choose in one part, as an integer programme.

Workers use the cheapest chosen product that serves them. So a group need not be given a product by name: it
is enough to know, for each stretch of its list from the cheapest on, whether anything in the stretch is
chosen; if not, the next dearer product is needed. Groups whose lists begin alike share those stretches.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

from thenar.allergy.formulary_demand import Cell, Part, Places, Shelf, shortest
from thenar.errors import ThenarError

Numbers = NDArray[np.float64]
INFEASIBLE = 2
UNEXPLAINED = 4
HALF_A_UNIT = 0.5
ROUNDING = 1e-6
TIDYING = 20  # branches: a tidier choice is worth a look, not a long search


class OutOfTime(ThenarError):
    """The search stopped before it found a formulary."""

    def __init__(self, seconds: float) -> None:
        super().__init__(
            what=f"One step of the search found no formulary in its {seconds:.2g} seconds.",
            why="It is not known what is possible; nothing was decided.",
            todo="Give it more time, or search for fewer areas at once.",
        )


@dataclass(frozen=True, slots=True)
class Effort:
    """How hard to search: stop at this gap [share, 0 to 1], or after this time for one goal. [seconds]

    `branches` bounds the search the same way however fast the machine is; None: no bound.
    """

    gap: float
    seconds: float
    branches: int | None = None


@dataclass(frozen=True, slots=True)
class Reached:
    """How far a goal was met, in whole units: the value found and the least that is possible."""

    value: int
    least: float

    @property
    def gap(self) -> float:
        """How far the value may be above the best. [share of the value, 0 to 1]"""
        return max(0.0, self.value - self.least) / self.value if self.value > 0 else 0.0

    def __add__(self, other: "Reached") -> "Reached":
        return Reached(self.value + other.value, self.least + other.least)


@dataclass(frozen=True, slots=True)
class Model:
    """One part written as a programme.

    The first columns say which products are chosen, the others which stretches have nothing chosen. `rows`
    times the columns is at least `least`. `cost` is what each column costs, `always` what is spent whatever
    is chosen, and `must` marks the products that stay. `covers` say the same again in the products alone: of
    each short list one. Where the number of products is bounded, that shortens the search.
    """

    products: Places
    rows: csr_array
    covers: csr_array
    least: Numbers
    cost: Numbers
    always: int
    must: Numbers

    @property
    def count(self) -> Numbers:
        """One for every product."""
        return (np.arange(len(self.cost)) < len(self.products)).astype(float)


@dataclass(slots=True)
class _Stretch:
    """The products of a list up to some price. `waits` is what it costs if nothing in it is chosen."""

    before: int | None
    adds: Places
    waits: int = 0
    last: bool = False


def write_model(part: Part, shelf: Shelf) -> Model:
    """Write a part down.

    Parameters
    ----------
    part
        The cells, each with the products that serve, the cheapest first; none is without.
    shelf
        The products with their prices.

    Returns
    -------
    Model
        The programme.
    """
    stretches, always = _stretches(part.cells, shelf.prices)
    column = {place: at for at, place in enumerate(part.products)}
    open_ended = [at for at, stretch in enumerate(stretches) if not stretch.last]
    waiting = {at: len(column) + nth for nth, at in enumerate(open_ended)}
    entries: list[tuple[int, int, float]] = []
    least = np.zeros(len(stretches))
    for row, stretch in enumerate(stretches):
        entries += [(row, column[place], 1.0) for place in stretch.adds]
        if row in waiting:
            entries.append((row, waiting[row], 1.0))
        if stretch.before is None:
            least[row] = 1.0
        else:
            entries.append((row, waiting[stretch.before], -1.0))
    at, to, factor = zip(*entries, strict=True)
    width = len(column) + len(waiting)
    keeping = [shelf.keeping[place] for place in part.products]
    return Model(
        products=part.products,
        rows=csr_array((factor, (at, to)), shape=(len(stretches), width)),
        covers=_covers(part, column, width),
        least=least,
        cost=np.array([*keeping, *(stretches[at].waits for at in open_ended)], dtype=float),
        always=always,
        must=_marked(part.products, shelf.stay, width),
    )


def _covers(part: Part, column: Mapping[int, int], width: int) -> csr_array:
    lists = shortest(frozenset(cell.may_use) for cell in part.cells)
    at, to = zip(*((row, column[place]) for row, each in enumerate(lists) for place in each), strict=True)
    return csr_array((np.ones(len(at)), (at, to)), shape=(len(lists), width))


def _marked(products: Places, marked: frozenset[int], width: int) -> Numbers:
    marks = np.zeros(width)
    marks[: len(products)] = [place in marked for place in products]
    return marks


def _stretches(cells: Iterable[Cell], prices: Sequence[int]) -> tuple[list[_Stretch], int]:
    """All stretches, each after the one it continues, and what the cheapest of everything costs.

    Short lists come first: a list that goes on where another ended needs no more stretches, for something is
    chosen by then.
    """
    stretches: list[_Stretch] = []
    known: dict[tuple[int | None, Places], int] = {}
    always = 0
    for cell in sorted(cells, key=lambda cell: len(cell.may_use)):
        levels = [tuple(level) for _, level in groupby(cell.may_use, key=lambda place: prices[place])]
        always += cell.workers * prices[levels[0][0]]
        at: int | None = None
        for level, dearer in zip(levels, [*levels[1:], None], strict=True):
            if (at, level) not in known:
                known[at, level] = len(stretches)
                stretches.append(_Stretch(at, level))
            at = known[at, level]
            if stretches[at].last:
                break
            if dearer is None:
                stretches[at].last = True
            else:
                stretches[at].waits += cell.workers * (prices[dearer[0]] - prices[level[0]])
    return stretches, always


def cheapest(model: Model, effort: Effort, at_most: int | None) -> tuple[frozenset[int], float]:
    """The products that cost least.

    Parameters
    ----------
    model
        What must hold.
    effort
        When to stop.
    at_most
        How many products there may be; that many are enough. None: any number.

    Returns
    -------
    tuple
        The places of the products, and what must be spent in any case. [whole units]

    Raises
    ------
    OutOfTime
        No products were found in time.

    Notes
    -----
    The same model gives the same answer unless time ran out.

    Examples
    --------
    A group of 3 may use only the dearer of two products, a group of 10 both. With both products
    3 × 6 + 10 × 4 + 2 × 5 = 68, with the dearer one 13 × 6 + 5 = 83.

    >>> from decimal import Decimal
    >>> from thenar.allergy.formulary_terms import Group, Need, Offer, Question
    >>> from thenar.allergy.formulary_demand import put_up
    >>> from thenar.allergy.product import Category
    >>> soap = Need("soap", Category.SOAP)
    >>> prices = ("A", 4), ("B", 6)
    >>> offers = tuple(Offer(name, Category.SOAP, Decimal(each), Decimal(5)) for name, each in prices)
    >>> shelf = put_up(Question(offers, (), (soap,)))
    >>> part = Part((Cell(soap, Group("few", 3), (1,)), Cell(soap, Group("many", 10), (0, 1))), (0, 1))
    >>> cheapest(write_model(part, shelf), Effort(gap=0, seconds=5), at_most=None)
    (frozenset({0, 1}), 68.0)
    """
    found = solve(model.cost, _limits(model, at_most), Bounds(model.must, 1), model.count, effort)
    assert found is not None  # all products together serve everyone
    columns, least = found
    return _taken(model, columns), least + model.always


def tidied(
    model: Model, effort: Effort, at_most: int | None, spent: int, present: frozenset[int]
) -> frozenset[int] | None:
    """The fewest products, and of these the fewest new ones, for what is `spent` on others.

    None if the solver found none in time, or none within its rounding.
    """
    beyond_always = spent - model.always
    scale = max(1, beyond_always)  # large numbers in a row would drown in the solver's tolerance
    limits = [*_limits(model, at_most), _at_most(model.cost / scale, (beyond_always + HALF_A_UNIT) / scale)]
    new = _marked(model.products, frozenset(model.products) - present, len(model.cost))
    untidy = model.count * (len(model.products) + 1) + new
    try:
        found = solve(
            untidy, limits, Bounds(model.must, 1), model.count, Effort(0.0, effort.seconds, TIDYING)
        )
    except OutOfTime:
        return None
    return None if found is None else _taken(model, found[0])


def solve(
    goal: Numbers,
    limits: Sequence[LinearConstraint],
    bounds: Bounds,
    whole: Numbers | int,
    effort: Effort,
) -> tuple[Numbers, float] | None:
    """The columns that make a goal least, and how low it can be at all; None if nothing keeps the limits.

    Raises
    ------
    OutOfTime
        Neither an answer nor a proof was found in time.

    References
    ----------
    .. [1] Huangfu and Hall, Math Program Comput 2018;10:119-142, doi 10.1007/s12532-017-0130-5: the solver.
    """
    answer = milp(
        goal,
        integrality=whole,
        bounds=bounds,
        constraints=limits,
        options={"mip_rel_gap": effort.gap, "time_limit": effort.seconds, "node_limit": effort.branches},
    )
    if answer.status == INFEASIBLE:
        return None
    if answer.status == UNEXPLAINED:
        raise RuntimeError(answer.message)
    if answer.x is None:
        raise OutOfTime(effort.seconds)
    least = answer.mip_dual_bound
    return answer.x, 0.0 if least is None else max(0.0, float(least))


def _limits(model: Model, at_most: int | None) -> list[LinearConstraint]:
    serving = LinearConstraint(model.rows, model.least, np.inf)
    if at_most is None:
        return [serving]
    return [serving, LinearConstraint(model.covers, 1, np.inf), _at_most(model.count, at_most)]


def _at_most(terms: Numbers, most: float) -> LinearConstraint:
    return LinearConstraint(csr_array(terms[None, :]), -np.inf, most)


def _taken(model: Model, columns: Numbers) -> frozenset[int]:
    chosen = zip(model.products, columns, strict=False)  # the products are the first columns
    return frozenset(place for place, share in chosen if share > HALF_A_UNIT)
