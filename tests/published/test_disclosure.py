"""The attacker's limits against a worked example of the literature.

Handbook on Statistical Disclosure Control, chapter 4 "Magnitude tabular data", section 4.2, example 3, which
restates J. Geurts, Heuristics for cell suppression in tables, Statistics Netherlands 1992, table 10, page 20:
https://sdctools.github.io/HandbookSDC/04-magnitude-tabular-data.html
"""

from datetime import date

import numpy as np
import pytest

from thenar.population.disclosure_attack import limits_of
from thenar.population.disclosure_knowledge import of_table
from thenar.population.disclosure_rule import DisclosureRule
from thenar.population.disclosure_tables import ALL, Area, Cell, Table

# Exact figures, nobody protected by a threshold, and so many people that only the totals bound a cell.
AS_THERE = DisclosureRule(
    least_people=0, least_with=0, least_without=0, rounded_to=1, margin=0, days_between=28
)
PEOPLE = 1_000
# Rows 1 to 3, columns 1 and 2, with totals. The four hidden cells are not printed there; any that add up do.
ROW_TOTALS, THIRD_ROW = (7, 3, 6, 16), (3, 3, 6)


def example(first):
    """The table with `first` people in the hidden cell of row 1, column 1; the rest follows."""
    body = [(first, 7 - first), (6 - first, first - 3), THIRD_ROW[:2]]
    rows = [(*pair, sum(pair)) for pair in body]
    rows.append(tuple(sum(column) for column in zip(*rows, strict=True)))
    assert tuple(row[2] for row in rows) == ROW_TOTALS
    assert rows[3][:2] == (9, 7)
    areas = (Area("Total"), *(Area(name, "Total") for name in "123"))
    weights = {"1": 1, "2": 1, "3": 1, "Total": 3}
    cells = tuple(
        Cell(area, count, weights[area] * PEOPLE * (2 if column == ALL else 1), (column,))
        for area, row in zip(("1", "2", "3", "Total"), rows, strict=True)
        for column, count in zip(("one", "two", ALL), row, strict=True)
    )
    return Table("example 3", date(2026, 3, 1), areas, cells, ("column",))


@pytest.mark.parametrize("first", [3, 4, 5, 6])
def test_limits_of_example_3_agree_whatever_the_hidden_cells_are(first):
    table = example(first)
    hidden = np.array([cell.area in "12" and cell.of != (ALL,) for cell in table.cells])
    known = of_table(table, AS_THERE)
    cell = known.cells[[table.places["1", "one"]]]
    assert limits_of(known, hidden, cell).tolist() == [[3, 6]]  # printed: at least 3, at most 6
