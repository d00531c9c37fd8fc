"""How few products does a part take, whatever they cost, and which can be among so few?"""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import replace
from math import ceil

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, linprog

from thenar.allergy.formulary_demand import Lists, Part, Places, shortest
from thenar.allergy.formulary_programme import ROUNDING, Effort, Numbers, Reached, solve


def fewest_products(part: Part, stay: frozenset[int], effort: Effort) -> Reached:
    """The fewest products that serve every cell of a part, with those that stay.

    Parameters
    ----------
    part
        The cells, each with the products that serve; none is without.
    stay
        Products that are chosen in any case.
    effort
        When to stop.

    Returns
    -------
    Reached
        A number that is enough, and the number below which it is impossible; the same unless time ran out.

    Raises
    ------
    OutOfTime
        No number was found in time.

    Notes
    -----
    What serves a cell with a short list serves every cell whose list holds all of it; and a product is not
    needed beside one that serves all the same cells. Little is left once both are used as often as they
    apply.
    """
    staying = stay.intersection(part.products)
    hard = _without_what_follows(_unserved_by(staying, part))
    if not hard:
        return Reached(len(staying), len(staying))
    products = sorted(frozenset().union(*hard))
    every = LinearConstraint(_holds(hard, products), 1, np.inf)
    found = solve(np.ones(len(products)), [every], Bounds(0, 1), 1, effort)
    assert found is not None  # all products together serve everyone
    chosen, least = found
    return Reached(len(staying) + round(chosen.sum()), len(staying) + ceil(least - ROUNDING))


def narrowed(part: Part, stay: frozenset[int], at_most: int) -> Part:
    """The part without the products that nobody can choose and still do with `at_most`.

    A product is left out if it takes more even with fractions of the others. Where the number is close to the
    fewest, that is most of them, and the search for the cheapest is short.
    """
    staying = stay.intersection(part.products)
    lists = shortest(_unserved_by(staying, part))
    products = sorted(frozenset().union(*lists))
    room = at_most - len(staying)
    if not lists or _with_fractions(lists, products) + 1 <= room:
        return part
    ruled_out = {place for place in products if _with_fractions(lists, products, place) > room + ROUNDING}
    return Part(
        tuple(replace(cell, may_use=_without(cell.may_use, ruled_out)) for cell in part.cells),
        _without(part.products, ruled_out),
    )


def _without(places: Places, ruled_out: Collection[int]) -> Places:
    return tuple(place for place in places if place not in ruled_out)


def _with_fractions(lists: Lists, products: Sequence[int], chosen: int | None = None) -> float:
    """How many products it takes at least if fractions of them count, with one of them `chosen`."""
    bounds = [(float(place == chosen), 1.0) for place in products]
    answer = linprog(
        np.ones(len(products)), A_ub=-_holds(lists, products), b_ub=-np.ones(len(lists)), bounds=bounds
    )
    return float(answer.fun)


def _unserved_by(staying: frozenset[int], part: Part) -> frozenset[frozenset[int]]:
    return frozenset(frozenset(cell.may_use) for cell in part.cells if staying.isdisjoint(cell.may_use))


def _holds(lists: Lists, products: Sequence[int]) -> Numbers:
    return np.array([[place in each for place in products] for each in lists], dtype=float)


def _without_what_follows(lists: Collection[frozenset[int]]) -> Lists:
    before: Collection[frozenset[int]] = ()
    while before != lists:
        before, lists = lists, shortest(_only_the_best_products(lists))
    return tuple(lists)


def _only_the_best_products(lists: Iterable[frozenset[int]]) -> Iterable[frozenset[int]]:
    """The lists with only those products that no other product can stand in for everywhere."""
    serves: dict[int, set[int]] = {}
    for nth, each in enumerate(lists):
        for place in each:
            serves.setdefault(place, set()).add(nth)
    kept: list[int] = []
    for place in sorted(serves, key=lambda place: (-len(serves[place]), place)):
        if not any(serves[place] <= serves[other] for other in kept):
            kept.append(place)
    best = frozenset(kept)
    return [each & best for each in lists]
