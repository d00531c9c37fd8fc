"""How are products chosen: part by part, and their number shared out where it is bounded?"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import reduce
from itertools import product
from operator import add

from thenar.allergy.formulary_cover import fewest_products
from thenar.allergy.formulary_demand import Part, Shelf, in_use, total_units
from thenar.allergy.formulary_programme import Effort, OutOfTime, Reached, cheapest, tidied, write_model

STEPS = 5  # the fewest; the cheapest and a tidier choice, each once more where the number is bounded


@dataclass(frozen=True, slots=True)
class Found:
    """Products, and how far the main goal was met."""

    chosen: frozenset[int]
    reached: Reached

    def __add__(self, other: "Found") -> "Found":
        return Found(self.chosen | other.chosen, self.reached + other.reached)

    def or_cheaper(self, other: "Found") -> "Found":
        """Whichever costs less; what is proven is proven of both."""
        chosen = min(self, other, key=lambda each: each.reached.value).chosen
        values, leasts = (self.reached.value, other.reached.value), (self.reached.least, other.reached.least)
        return Found(chosen, Reached(min(values), min(leasts)))


NOTHING = Found(frozenset(), Reached(0, 0.0))


@dataclass(frozen=True, slots=True)
class Search:
    """Parts that share no products, searched one by one."""

    shelf: Shelf
    parts: tuple[Part, ...]
    effort: Effort

    @property
    def apart(self) -> frozenset[int]:
        """The products that stay although they serve nobody."""
        return self.shelf.stay.difference(*(part.products for part in self.parts))

    def fewest(self) -> tuple[Reached, ...]:
        """How many products each part takes at least."""
        return tuple(fewest_products(part, self.shelf.stay, self._share(part)) for part in self.parts)

    def takes_more_than(self, at_most: int, fewest: Sequence[Reached]) -> bool:
        """Whether it is proven to take more.

        Raises
        ------
        OutOfTime
            Neither that nor the contrary is known.
        """
        if sum(each.least for each in fewest) + len(self.apart) > at_most:
            return True
        if sum(each.value for each in fewest) + len(self.apart) > at_most:
            raise OutOfTime(self.effort.seconds)
        return False

    def of_the_fewest(self, fewest: Sequence[Reached]) -> Found:
        """The cheapest products of which there are no more than it takes."""
        found = (self._cheapest(part, each.value) for part, each in zip(self.parts, fewest, strict=True))
        chosen = self.apart.union(*(each.chosen for each in found))
        return Found(chosen, Reached(len(chosen), sum(each.least for each in fewest) + len(self.apart)))

    def cheapest(self) -> Found:
        """The cheapest products, however many."""
        return reduce(add, map(self._cheapest, self.parts), self._kept_apart())

    def cheapest_within(self, at_most: int, fewest: Sequence[Reached]) -> Found:
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
        model = write_model(part, self.shelf)
        chosen, least = cheapest(model, effort, at_most)
        cost = self._cost(part, chosen)
        tidy = tidied(model, effort, at_most, cost, self.shelf.present)
        if tidy is not None and self._cost(part, tidy) <= cost:
            chosen = tidy
        chosen = in_use(part.cells, chosen, self.shelf.stay)
        cost = self._cost(part, chosen)
        return Found(chosen, Reached(cost, min(cost, least)))

    def _cost(self, part: Part, chosen: frozenset[int]) -> int:
        return sum(total_units(part.cells, self.shelf, chosen))

    def _share(self, part: Part, steps: int = 1) -> Effort:
        """The time for one of some steps of a part, by its share of all cells."""
        cells = sum(len(each.cells) for each in self.parts)
        return Effort(self.effort.gap, self.effort.seconds * len(part.cells) / cells / steps)

    def _kept_apart(self) -> Found:
        kept = sum(self.shelf.keeping[place] for place in self.apart)
        return Found(self.apart, Reached(kept, kept))


def _shared_out(curves: Sequence[dict[int, Found]], at_most: int) -> Found:
    """One choice for each part, such that the numbers they may have add up to no more than `at_most`."""
    best = {0: NOTHING}
    for curve in curves:
        longer: dict[int, Found] = {}
        for (so_far, found), (number, choice) in product(best.items(), curve.items()):
            both = found + choice
            longer[so_far + number] = both.or_cheaper(longer.get(so_far + number, both))
        best = longer
    return reduce(Found.or_cheaper, (found for number, found in best.items() if number <= at_most))
