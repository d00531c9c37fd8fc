"""How are products chosen: part by part, and their number shared out where it is bounded?"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import reduce
from itertools import product
from operator import add

from thenar.allergy.formulary_cover import fewest_products, narrowed
from thenar.allergy.formulary_demand import Part, Shelf, in_use, total_units
from thenar.allergy.formulary_programme import Effort, OutOfTime, Reached, cheapest, tidied, write_model
from thenar.allergy.formulary_terms import Goal

STEPS = 3  # the cheapest of any number, the cheapest of a bounded number, and all that is soon done


@dataclass(frozen=True, slots=True)
class Found:
    """Products, how near their cost is to the least, and how many are not in stock now."""

    chosen: frozenset[int]
    cost: Reached
    new: int

    def __add__(self, other: "Found") -> "Found":
        return Found(self.chosen | other.chosen, self.cost + other.cost, self.new + other.new)

    def or_better(self, other: "Found") -> "Found":
        """Whichever costs less, or else is fewer, or else adds less; what is proven is proven of both."""
        best = min(self, other, key=lambda each: (each.cost.value, len(each.chosen), each.new))
        return replace(best, cost=Reached(best.cost.value, min(self.cost.least, other.cost.least)))


NOTHING = Found(frozenset(), Reached(0, 0.0), new=0)


@dataclass(frozen=True, slots=True)
class Best:
    """What was found. `number` says how few products there are, where that was to be few or had to be.

    `too_many`: proven to be more than there may be.
    """

    found: Found
    number: Reached | None = None
    too_many: bool = False


@dataclass(frozen=True, slots=True)
class Search:
    """Parts that share no products, searched one by one."""

    shelf: Shelf
    parts: tuple[Part, ...]
    effort: Effort

    def best(self, goal: Goal, at_most: int | None) -> Best:
        """The best products; if it takes more than there may be, the cheapest of as few as it takes."""
        if at_most is None and goal is Goal.CHEAPEST:
            return Best(self._cheapest_of_any_number())
        fewest = [fewest_products(part, self.shelf.stay, self._share(part)) for part in self.parts]
        number = reduce(add, fewest, Reached(len(self.apart), len(self.apart)))
        if at_most is not None and number.least <= at_most:
            if number.value > at_most:
                raise OutOfTime(self.effort.seconds)
            if goal is Goal.CHEAPEST:
                return Best(self._cheapest_within(at_most, fewest))
        found = self._cheapest_of_the_fewest(fewest)
        number = Reached(len(found.chosen), number.least)
        return Best(found, number, too_many=at_most is not None and number.value > at_most)

    @property
    def apart(self) -> frozenset[int]:
        """The products that stay although they serve nobody."""
        return self.shelf.stay.difference(*(part.products for part in self.parts))

    def _cheapest_of_the_fewest(self, fewest: Sequence[Reached]) -> Found:
        """The cheapest products of which there are no more than it takes."""
        found = (self._cheapest(part, each.value) for part, each in zip(self.parts, fewest, strict=True))
        return reduce(add, found, self._kept_apart())

    def _cheapest_of_any_number(self) -> Found:
        """The cheapest products, however many."""
        return reduce(add, map(self._cheapest, self.parts), self._kept_apart())

    def _cheapest_within(self, at_most: int, fewest: Sequence[Reached]) -> Found:
        """The cheapest products, of which there may be `at_most`, which is enough.

        What each part costs with one product fewer, two fewer and so on tells how to share out the number.
        """
        free = [self._cheapest(part) for part in self.parts]
        allowed = at_most - len(self.apart)
        over = sum(len(each.chosen) for each in free) - allowed
        if over <= 0:
            return reduce(add, free, self._kept_apart())
        room = allowed - sum(each.value for each in fewest)
        curves = []
        for part, best, least in zip(self.parts, free, fewest, strict=True):
            most = len(best.chosen)
            fewer = range(max(least.value, most - over), min(most, least.value + room + 1))
            curve = {number: self._cheapest(part, number, len(fewer)) for number in fewer}
            curves.append(curve | ({most: best} if most <= least.value + room else {}))
        return self._kept_apart() + _shared_out(curves, allowed)

    def _cheapest(self, part: Part, at_most: int | None = None, steps: int = 1) -> Found:
        effort = self._share(part, steps)
        if at_most is not None:
            part = narrowed(part, self.shelf.stay, at_most)
        model = write_model(part, self.shelf)
        chosen, least = cheapest(model, effort, at_most)
        cost = self._cost(part, chosen)
        tidy = tidied(model, effort, at_most, cost, self.shelf.present)
        if tidy is not None and self._cost(part, tidy) <= cost:
            chosen = tidy
        chosen = in_use(part.cells, chosen, self.shelf.stay)
        cost = self._cost(part, chosen)
        return Found(chosen, Reached(cost, min(cost, least)), len(chosen - self.shelf.present))

    def _cost(self, part: Part, chosen: frozenset[int]) -> int:
        return sum(total_units(part.cells, self.shelf, chosen))

    def _share(self, part: Part, steps: int = 1) -> Effort:
        """The time for one of some steps of a part, by its share of all cells."""
        cells = sum(len(each.cells) for each in self.parts)
        return Effort(self.effort.gap, self.effort.seconds * len(part.cells) / cells / steps)

    def _kept_apart(self) -> Found:
        kept = sum(self.shelf.keeping[place] for place in self.apart)
        return Found(self.apart, Reached(kept, kept), len(self.apart - self.shelf.present))


def _shared_out(curves: Sequence[dict[int, Found]], at_most: int) -> Found:
    """One choice for each part, such that the numbers they may have add up to no more than `at_most`."""
    best = {0: NOTHING}
    for curve in curves:
        longer: dict[int, Found] = {}
        for (so_far, found), (number, choice) in product(best.items(), curve.items()):
            both = found + choice
            longer[so_far + number] = both.or_better(longer.get(so_far + number, both))
        best = longer
    return reduce(Found.or_better, (found for number, found in best.items() if number <= at_most))
