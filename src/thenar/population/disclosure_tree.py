"""What can be told of each cell of one tree of areas, without solving a programme?"""

import numpy as np
from numpy.typing import NDArray

from thenar.population.disclosure_rule import DisclosureRule
from thenar.population.disclosure_tables import Sum, Table, sums_of


def limits_in_tree(table: Table, rule: DisclosureRule, hidden: NDArray[np.bool_]) -> NDArray[np.int64]:
    """The least and the greatest value of each cell that fits one table of areas alone. [people]

    Notes
    -----
    First each total is bounded by its parts, the deepest first; then each part by its total and the others.
    In a tree every bound found so is reached, so these are the attacker's limits; `limits_of` finds the same
    and works for every table.
    """
    limits = np.array(
        [
            (0, cell.people) if is_hidden else rule.window(cell.count, cell.people)
            for cell, is_hidden in zip(table.cells, hidden, strict=True)
        ],
        dtype=np.int64,
    )
    downwards = _from_the_top(sums_of(table))
    for each in reversed(downwards):
        least, most = limits[list(each.parts)].sum(axis=0)
        limits[each.total] = max(limits[each.total, 0], least), min(limits[each.total, 1], most)
    for each in downwards:
        parts = limits[list(each.parts)]
        others = parts.sum(axis=0) - parts
        limits[list(each.parts), 0] = np.maximum(parts[:, 0], limits[each.total, 0] - others[:, 1])
        limits[list(each.parts), 1] = np.minimum(parts[:, 1], limits[each.total, 1] - others[:, 0])
    return limits


def _from_the_top(sums: tuple[Sum, ...]) -> list[Sum]:
    """The sums such that each comes after the one its total is a part of."""
    of_total = {each.total: each for each in sums}
    parts = {part for each in sums for part in each.parts}
    ordered = [each for each in sums if each.total not in parts]
    for each in ordered:  # grows while it is read
        ordered += [of_total[part] for part in each.parts if part in of_total]
    return ordered
