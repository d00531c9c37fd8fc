"""What is found: products with whom they serve and what they cost, or who has none and what to look for."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import ceil

import numpy as np

from thenar.allergy.formulary_demand import Cell, Shelf, total_units
from thenar.allergy.formulary_programme import ROUNDING
from thenar.allergy.formulary_search import Best
from thenar.allergy.formulary_terms import Goal, Question

ALTERNATIVES = 3


@dataclass(frozen=True, slots=True)
class Use:
    """The product a group uses for a need. `cost` is that of a year, for all its workers."""

    pattern: str
    need: str
    product: str
    workers: int
    cost: Decimal | None


@dataclass(frozen=True, slots=True)
class Serves:
    """How many workers use a product for a need, and how many of them have allergies."""

    need: str
    workers: int
    with_allergies: int


@dataclass(frozen=True, slots=True)
class Alternative:
    """What could take the place of a chosen product with all else as it is; without a product, nothing need.

    `adds` is what that adds to the cost of a year; None: not known.
    """

    product: str | None
    adds: Decimal | None


@dataclass(frozen=True, slots=True)
class Cost:
    """The cost of a year: what is used, what is kept. [the site's currency]"""

    use: Decimal
    stock: Decimal

    @property
    def total(self) -> Decimal:
        """Both together."""
        return self.use + self.stock


@dataclass(frozen=True, slots=True)
class Chosen:
    """A product of the formulary. `obligations` are those that it meets.

    `stays` if it was told to; without that, it serves somebody or meets an obligation.
    """

    product: str
    serves: tuple[Serves, ...]
    obligations: tuple[str, ...]
    stays: bool
    cost: Cost | None
    alternatives: tuple[Alternative, ...]


@dataclass(frozen=True, slots=True)
class Lacking:
    """A need that some workers, or the house, have no product for. Without a pattern: an obligation."""

    need: str
    pattern: str | None
    workers: int


@dataclass(frozen=True, slots=True)
class AgainstPresent:
    """The formulary beside what is in stock now.

    `cost_now` is None if a cost is not known or somebody lacks a product now: then the two can't be compared.
    """

    keep: tuple[str, ...]
    add: tuple[str, ...]
    drop: tuple[str, ...]
    cost_now: Cost | None
    lacking_now: tuple[Lacking, ...]


@dataclass(frozen=True, slots=True)
class Formulary:
    """Products such that everyone asked for has one for each need.

    `cost` is None if a cost is not known. `at_least` is proven: no formulary has a lower cost, or fewer
    products, whichever was the goal; `gap` is how far this one may be above the best. `cost_gap` is how far
    its cost may be above that of others with no more products than it has or may have. [shares, 0 to 1]
    """

    goal: Goal
    chosen: tuple[Chosen, ...]
    uses: tuple[Use, ...]
    cost: Cost | None
    at_least: Decimal
    gap: float
    cost_gap: float
    against_present: AgainstPresent | None

    @property
    def products(self) -> tuple[str, ...]:
        """The products by name."""
        return tuple(each.product for each in self.chosen)


@dataclass(frozen=True, slots=True)
class Nearly:
    """A product that would serve if it were free of these allergens."""

    product: str
    allergens: frozenset[str]


@dataclass(frozen=True, slots=True)
class Sought:
    """What to look for where a need of a group has no product.

    `without` are the allergens that stand in the way in any product of the kind, the most frequent first: a
    product free of them is worth judging. Where no product of the kind is offered, they are those found in
    any other. `nearest` are the products with the fewest of them. `ask_maker` are products that would serve
    if the maker confirmed that they are free of what can't be excluded. `banned` would serve if they were
    not banned.
    """

    lacking: Lacking
    without: tuple[str, ...]
    nearest: tuple[Nearly, ...]
    ask_maker: tuple[Nearly, ...]
    banned: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class NoFormulary:
    """Proof that there is no formulary, what to look for, and the best that can be done.

    `fewest` is how many products it takes if that is more than there may be; None if the number is no
    hindrance. `partial` serves everyone who can be served, with more products than allowed if need be.
    """

    sought: tuple[Sought, ...]
    fewest: int | None
    partial: Formulary


def describe(question: Question, cells: Sequence[Cell], shelf: Shelf, best: Best) -> Formulary:
    """A choice of products in full: who uses what, costs, alternatives, and the present stock beside it."""
    chosen, cost = best.found.chosen, best.found.cost
    least = ceil(
        (cost if best.number is None else best.number).least - ROUNDING
    )  # there are only whole units
    return Formulary(
        goal=Goal.CHEAPEST if best.number is None else Goal.FEWEST,
        chosen=_chosen(cells, shelf, chosen),
        uses=_uses(cells, shelf, chosen),
        cost=_cost(cells, shelf, chosen),
        at_least=shelf.money(least) if best.number is None else Decimal(least),
        gap=(best.number or cost).gap,
        cost_gap=cost.gap,
        against_present=_against_present(question, cells, shelf, chosen),
    )


def _cost(cells: Sequence[Cell], shelf: Shelf, chosen: Collection[int]) -> Cost | None:
    if not shelf.comparable:
        return None
    use, stock = total_units(cells, shelf, chosen)
    return Cost(shelf.money(use), shelf.money(stock))


def _uses(cells: Sequence[Cell], shelf: Shelf, chosen: frozenset[int]) -> tuple[Use, ...]:
    uses = []
    for cell in cells:
        place = cell.used(chosen)
        if cell.group is not None and place is not None:
            each = shelf.offers[place].cost_a_worker
            cost = None if each is None else each * cell.workers
            product = shelf.offers[place].product
            uses.append(Use(cell.group.pattern, cell.need.name, product, cell.workers, cost))
    return tuple(uses)


def _chosen(cells: Sequence[Cell], shelf: Shelf, chosen: frozenset[int]) -> tuple[Chosen, ...]:
    alternatives = _alternatives(cells, shelf, chosen)
    found = []
    for place in sorted(chosen, key=lambda place: shelf.offers[place].product):
        mine = [cell for cell in cells if cell.used(chosen) == place]
        found.append(
            Chosen(
                product=shelf.offers[place].product,
                serves=_serves(mine),
                obligations=tuple(
                    cell.need.name for cell in cells if cell.group is None and place in cell.may_use
                ),
                stays=place in shelf.stay,
                cost=_cost(mine, shelf, (place,)),
                alternatives=alternatives.get(place, ()),
            )
        )
    return tuple(found)


def _serves(cells: Sequence[Cell]) -> tuple[Serves, ...]:
    needs = dict.fromkeys(cell.need.name for cell in cells if cell.group is not None)
    return tuple(
        Serves(
            need,
            sum(cell.workers for cell in cells if cell.need.name == need),
            sum(
                cell.workers
                for cell in cells
                if cell.need.name == need and cell.group is not None and cell.group.judged is not None
            ),
        )
        for need in needs
    )


def _alternatives(
    cells: Sequence[Cell], shelf: Shelf, chosen: frozenset[int]
) -> dict[int, tuple[Alternative, ...]]:
    """For each product that need not stay: what could stand in for it with all else as it is."""
    costs = np.full((len(cells), len(shelf.offers)), np.inf)
    for row, cell in enumerate(cells):
        costs[row, list(cell.may_use)] = [cell.workers * shelf.prices[place] for place in cell.may_use]
    now = sum(total_units(cells, shelf, chosen))
    found: dict[int, tuple[Alternative, ...]] = {}
    for place in chosen - shelf.stay:
        rest = sorted(chosen - {place})
        without = costs[:, rest].min(axis=1, initial=np.inf)
        spent = sum(shelf.keeping[other] for other in rest) - now
        instead: dict[int | None, float] = {None: spent + without.sum()}
        for other in _in_its_place(place, cells, chosen):
            instead[other] = spent + shelf.keeping[other] + np.minimum(without, costs[:, other]).sum()
        found[place] = _best(shelf, instead)
    return found


def _in_its_place(place: int, cells: Sequence[Cell], chosen: frozenset[int]) -> frozenset[int]:
    """The products not chosen that may be used for something this one is used for."""
    mine = (cell.may_use for cell in cells if cell.used(chosen) == place)
    return frozenset(other for may_use in mine for other in may_use) - chosen


def _best(shelf: Shelf, instead: Mapping[int | None, float]) -> tuple[Alternative, ...]:
    """Those that leave nobody without a product, the cheapest first."""
    possible = sorted(
        (added, -1 if other is None else other) for other, added in instead.items() if np.isfinite(added)
    )
    return tuple(
        Alternative(
            None if other < 0 else shelf.offers[other].product,
            shelf.money(int(added)) if shelf.comparable else None,
        )
        for added, other in possible[:ALTERNATIVES]
    )


def _against_present(
    question: Question, cells: Sequence[Cell], shelf: Shelf, chosen: frozenset[int]
) -> AgainstPresent | None:
    if question.present is None:
        return None
    products = frozenset(shelf.names(chosen))
    lacking = tuple(lacking_of(cell) for cell in cells if cell.used(shelf.present) is None)
    return AgainstPresent(
        keep=tuple(sorted(products & question.present)),
        add=tuple(sorted(products - question.present)),
        drop=tuple(sorted(question.present - products)),
        cost_now=None if lacking else _cost(cells, shelf, shelf.present),
        lacking_now=lacking,
    )


def lacking_of(cell: Cell) -> Lacking:
    """A cell as it is named to others."""
    return Lacking(cell.need.name, None if cell.group is None else cell.group.pattern, cell.workers)
