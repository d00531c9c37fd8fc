"""Which products may serve which group for which need, what do they cost, and what hangs together?"""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from thenar.allergy.formulary_terms import Group, Need, Offer, Question
from thenar.allergy.verdict_terms import Answer

Places = tuple[int, ...]
Lists = tuple[frozenset[int], ...]


@dataclass(frozen=True, slots=True)
class Cell:
    """One need of one group. Without a group: an obligation to stock.

    `may_use` are the places of the products that serve, the cheapest first.
    """

    need: Need
    group: Group | None
    may_use: Places

    @property
    def workers(self) -> int:
        """How many workers need it."""
        return 0 if self.group is None else self.group.workers

    def used(self, chosen: Collection[int]) -> int | None:
        """The product used if these are chosen: the cheapest that serves."""
        return next((place for place in self.may_use if place in chosen), None)


@dataclass(frozen=True, slots=True)
class Shelf:
    """The offers that are not banned, the cheapest to use first, with costs in whole units of money.

    `unit` is the smallest part of the currency in use. If any cost that matters is not known, then
    `comparable` is false and every price is 0. Among equals, what is in stock now comes first.
    """

    offers: tuple[Offer, ...]
    unit: Decimal
    comparable: bool
    prices: Places
    keeping: Places
    stay: frozenset[int]
    present: frozenset[int]

    def names(self, places: Iterable[int]) -> tuple[str, ...]:
        """The products at these places, by name."""
        return tuple(sorted(self.offers[place].product for place in places))

    def money(self, units: float) -> Decimal:
        """Whole units as an amount. [the site's currency]"""
        return Decimal(units) * self.unit


@dataclass(frozen=True, slots=True)
class Part:
    """Cells that share products with each other and with no other part."""

    cells: tuple[Cell, ...]
    products: Places


def put_up(question: Question) -> Shelf:
    """Order the offers that are not banned and turn their costs into whole units."""
    present = question.present or frozenset()
    offers = tuple(
        sorted(
            (offer for offer in question.offers if offer.product not in question.banned),
            key=lambda offer: (_cost(offer), offer.product not in present, offer.product),
        )
    )
    unit = _smallest_part(offers)
    comparable = all(
        offer.cost_a_worker is not None
        for offer in offers
        if any(need.met_by(offer) for need in question.needs)
    )
    return Shelf(
        offers=offers,
        unit=unit,
        comparable=comparable,
        prices=tuple(int((offer.cost_a_worker or 0) / unit) if comparable else 0 for offer in offers),
        keeping=tuple(int(offer.cost_of_stock / unit) if comparable else 0 for offer in offers),
        stay=frozenset(place for place, offer in enumerate(offers) if offer.product in question.stay),
        present=frozenset(place for place, offer in enumerate(offers) if offer.product in present),
    )


def _cost(offer: Offer) -> Decimal:
    return Decimal("Infinity") if offer.cost_a_worker is None else offer.cost_a_worker


def _smallest_part(offers: Sequence[Offer]) -> Decimal:
    costs = (cost for offer in offers for cost in (offer.cost_a_worker, offer.cost_of_stock))
    exponents = (cost.normalize().as_tuple().exponent for cost in costs if cost is not None)
    return Decimal(1).scaleb(
        min((exponent for exponent in exponents if isinstance(exponent, int)), default=0)
    )


def cells_of(question: Question, shelf: Shelf) -> tuple[Cell, ...]:
    """Every need of every group, and every obligation, with the products that serve."""
    free = {group.pattern: _free_of_matches(group, shelf) for group in question.groups}
    cells = []
    for need in question.needs:
        kind = tuple(place for place, offer in enumerate(shelf.offers) if need.met_by(offer))
        if need.obligation:
            cells.append(Cell(need, None, kind))
        for group in filter(need.of, question.groups):
            may_use = tuple(place for place in kind if place in free[group.pattern])
            cells.append(Cell(need, group, may_use))
    return tuple(sorted(cells, key=_by_name))


def _by_name(cell: Cell) -> tuple[str, str]:
    return cell.need.name, "" if cell.group is None else cell.group.pattern


def _free_of_matches(group: Group, shelf: Shelf) -> frozenset[int]:
    if group.judged is None:
        return frozenset(range(len(shelf.offers)))
    free = {each.product for each in group.judged if each.answer is Answer.NO_MATCH_FOUND}
    return frozenset(place for place, offer in enumerate(shelf.offers) if offer.product in free)


def parts_of(cells: Iterable[Cell]) -> tuple[Part, ...]:
    """The cells in parts that can be looked at one by one, because no product is in two of them."""
    parts: list[tuple[set[int], list[Cell]]] = []
    for cell in cells:
        products, joined = set(cell.may_use), [cell]
        apart = []
        for part in parts:
            if part[0].isdisjoint(products):
                apart.append(part)
            else:
                products |= part[0]
                joined = part[1] + joined
        parts = [*apart, (products, joined)]
    return tuple(Part(tuple(joined), tuple(sorted(products))) for products, joined in parts)


def total_units(cells: Sequence[Cell], shelf: Shelf, chosen: Collection[int]) -> tuple[int, int]:
    """What use and keeping cost in whole units, with everyone on the cheapest chosen product that serves."""
    used = ((cell.workers, cell.used(chosen)) for cell in cells)
    use = sum(workers * shelf.prices[place] for workers, place in used if place is not None)
    return use, sum(shelf.keeping[place] for place in chosen)


def in_use(cells: Sequence[Cell], chosen: frozenset[int], stay: frozenset[int]) -> frozenset[int]:
    """The chosen products without those that nobody uses and nothing asks for."""
    return (chosen & stay).union(place for cell in cells if (place := cell.used(chosen)) is not None)


def shortest(lists: Iterable[frozenset[int]]) -> Lists:
    """The lists that hold no other list, in an order of their own."""
    kept: list[frozenset[int]] = []
    for each in sorted(frozenset(lists), key=lambda each: (len(each), sorted(each))):
        if not any(shorter <= each for shorter in kept):
            kept.append(each)
    return tuple(kept)
