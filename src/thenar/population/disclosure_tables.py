"""Which counts stand in a table, and do they add up?"""

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from thenar.errors import BadInput
from thenar.population.counts import check_count, check_part

ALL = "all"
Key = tuple[str, ...]


class UnusableTable(BadInput):
    """The cells do not make a table."""

    def __init__(self, what: str, todo: str) -> None:
        super().__init__(
            what=what,
            why="Whether anyone can be recognised can't be told from it, so nothing may be published.",
            todo=todo,
        )


@dataclass(frozen=True, slots=True)
class Area:
    """A place and the one it is part of; None at the top."""

    name: str
    within: str | None = None


@dataclass(frozen=True, slots=True)
class Cell:
    """How many people of an area have the finding; `of` gives each dimension, `ALL` for its total."""

    area: str
    count: int
    people: int
    of: tuple[str, ...] = ()

    @property
    def key(self) -> Key:
        """What names the cell in its table."""
        return (self.area, *self.of)

    @property
    def name(self) -> str:
        """The cell as a person says it."""
        return name_of(self.key)


def name_of(key: Key) -> str:
    """The cell of that key as a person says it.

    >>> name_of(("Ward 3", "nurse", ALL))
    'Ward 3, nurse'
    """
    return ", ".join((key[0], *(value for value in key[1:] if value != ALL)))


@dataclass(frozen=True, slots=True)
class Sum:
    """A cell that others add up to, by their places in the table."""

    total: int
    parts: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """One frozen table: a finding counted on a day by area, and by other dimensions if there are any.

    Parameters
    ----------
    what
        The finding that is counted.
    on
        The day on which the figures were frozen.
    areas
        The areas as a tree.
    cells
        The counts. Not every area needs every value of a dimension, but where some parts of an area have it,
        all have.
    dimensions
        Names of the other dimensions.

    Raises
    ------
    UnusableCount
        A count that is negative, broken, or more than its people.
    UnusableTable
        An unknown area, a cell twice, areas in a circle, or totals that do not add up.

    Examples
    --------
    >>> areas = Area("Medicine"), Area("Ward 1", "Medicine"), Area("Ward 2", "Medicine")
    >>> cells = Cell("Medicine", 13, 50), Cell("Ward 1", 9, 30), Cell("Ward 2", 4, 20)
    >>> sums_of(Table("hand eczema", date(2026, 3, 1), areas, cells))
    (Sum(total=0, parts=(1, 2)),)
    """

    what: str
    on: date
    areas: tuple[Area, ...]
    cells: tuple[Cell, ...]
    dimensions: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        _check_areas(self.areas)
        _check_cells(self)
        for each in sums_of(self):
            _check_sum(self, each)

    @property
    def places(self) -> dict[Key, int]:
        """Where each cell stands."""
        return {cell.key: at for at, cell in enumerate(self.cells)}


def sums_of(table: Table) -> tuple[Sum, ...]:
    """Which cells add up to which: areas to the area they are in, values to the total of their dimension."""
    parents = {area.name: area.within for area in table.areas}
    parts: dict[tuple[Key, int], list[int]] = defaultdict(list)
    for at, cell in enumerate(table.cells):
        within = parents[cell.area]
        if within is not None:
            parts[(within, *cell.of), 0].append(at)
        for nth, value in enumerate(cell.of, start=1):
            if value != ALL:
                parts[(*cell.key[:nth], ALL, *cell.key[nth + 1 :]), nth].append(at)
    places = table.places
    return tuple(Sum(places[total], tuple(at)) for (total, _), at in parts.items() if total in places)


def is_chain_of_totals(table: Table) -> bool:
    """Whether limits found with fractions of people are those for whole people.

    So it is for one tree of areas with at most one dimension beside it: such a table is a network of flows,
    and the limits of a flow between whole numbers are whole.
    """
    return len(table.dimensions) <= 1


def finest(table: Table) -> tuple[int, ...]:
    """Places of the cells that are no total of others."""
    totals = {each.total for each in sums_of(table)}
    return tuple(at for at in range(len(table.cells)) if at not in totals)


def _check_areas(areas: tuple[Area, ...]) -> None:
    parents = {area.name: area.within for area in areas}
    _refuse_twice((area.name for area in areas), "area")
    for area in areas:
        if area.within is not None and area.within not in parents:
            raise UnusableTable(
                f"{area.name}: is within {area.within!r}, which is not among the areas.",
                "Add it, or leave `within` out for the top.",
            )
        above, steps = area.within, 0
        while above is not None and steps <= len(areas):
            above, steps = parents.get(above), steps + 1
        if steps > len(areas):
            raise UnusableTable(f"{area.name}: is within itself.", "Areas must form a tree.")


def _check_cells(table: Table) -> None:
    known = {area.name for area in table.areas}
    if not table.cells:
        raise UnusableTable("The table has no cells.", "Count something first.")
    for cell in table.cells:
        if cell.area not in known:
            raise UnusableTable(
                f"{cell.name}: there is no area {cell.area!r}.", "Add the area, or mend the name."
            )
        if len(cell.of) != len(table.dimensions):
            raise UnusableTable(
                f"{cell.name}: has {len(cell.of)} values for {len(table.dimensions)} dimensions.",
                f"Give one for each dimension, {ALL!r} for its total.",
            )
        check_count(f"people of {cell.name}", cell.people)
        check_part(f"count of {cell.name}", cell.count, cell.people)
    _refuse_twice((cell.name for cell in table.cells), "cell")


def _refuse_twice(names: Iterable[str], kind: str) -> None:
    for name, times in Counter(names).items():
        if times > 1:
            raise UnusableTable(f"The {kind} {name} stands {times} times.", "Name it once.")


def _check_sum(table: Table, each: Sum) -> None:
    total = table.cells[each.total]
    parts = [table.cells[at] for at in each.parts]
    for field, whole, added in (
        ("count", total.count, sum(cell.count for cell in parts)),
        ("people", total.people, sum(cell.people for cell in parts)),
    ):
        if whole != added:
            names = ", ".join(cell.name for cell in parts[:3]) + (", ..." if len(parts) > 3 else "")
            raise UnusableTable(
                f"{field} of {total.name}: is {whole}, but its parts ({names}) add up to {added}.",
                "Count parts and totals from the same frozen records; name who is in no part as a part.",
            )
