"""What does someone know who reads every table and every roster?

Everything published is written as bounds on sums of unknowns: the cases in groups of people.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array, vstack

from thenar.population.disclosure_rule import DisclosureRule
from thenar.population.disclosure_tables import Key, Sum, Table, finest, is_chain_of_totals, sums_of
from thenar.population.disclosure_tracks import Track

Numbers = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Published:
    """An earlier table and the cells that were hidden in it, with the rule of its day."""

    table: Table
    hidden: frozenset[Key]
    rule: DisclosureRule


@dataclass(frozen=True, slots=True)
class Knowledge:
    """What an attacker knows, as a linear programme over groups of people.

    `cells` gives each cell of the table as a sum of groups; if it shows it lies from `least` to `most`.
    `ties` hold whatever shows, from `tie_least` to `tie_most`: earlier tables, and totals made up in two
    ways. `people` bounds the cases of each group, `truth` is how many there are. `whole` says that limits
    must be searched in whole people, because fractions may reach further.
    """

    cells: csr_array
    least: Numbers
    most: Numbers
    ties: csr_array
    tie_least: Numbers
    tie_most: Numbers
    people: Numbers
    truth: Numbers
    whole: bool


def of_table(table: Table, rule: DisclosureRule) -> Knowledge:
    """What is known from one table alone: all denominators, and how its cells add up."""
    inner = finest(table)
    column = {at: nth for nth, at in enumerate(inner)}
    sums = sums_of(table)
    rows, ties = _as_sums(len(table.cells), column, sums)
    windows = [rule.window(cell.count, cell.people) for cell in table.cells]
    nothing = np.zeros(ties.shape[0])
    return Knowledge(
        cells=rows,
        least=np.array([least for least, _ in windows], dtype=float),
        most=np.array([most for _, most in windows], dtype=float),
        ties=ties,
        tie_least=nothing,
        tie_most=nothing,
        people=np.array([table.cells[at].people for at in inner], dtype=float),
        truth=np.array([table.cells[at].count for at in inner], dtype=float),
        whole=not is_chain_of_totals(table),
    )


def _as_sums(cells: int, column: dict[int, int], sums: Sequence[Sum]) -> tuple[csr_array, csr_array]:
    """Each cell as a sum of the finest, and the ties between two ways of adding up the same total."""
    first: dict[int, Sum] = {}
    again: list[Sum] = []
    for each in sums:
        if each.total in first:
            again.append(each)
        else:
            first[each.total] = each
    made: dict[int, frozenset[int]] = {}

    def groups(at: int) -> frozenset[int]:
        if at not in made:
            made[at] = (
                frozenset({column[at]})
                if at in column
                else frozenset().union(*(groups(part) for part in first[at].parts))
            )
        return made[at]

    entries = [(at, group) for at in range(cells) for group in groups(at)]
    rows = _matrix([(at, group, 1.0) for at, group in entries], cells, len(column))
    differ = []
    for each in again:
        row = rows[[each.total]] - csr_array(rows[list(each.parts)].sum(axis=0)[None, :])
        row.eliminate_zeros()
        if row.nnz:
            differ.append(row)
    return rows, vstack(differ, format="csr") if differ else csr_array((0, len(column)))


def _matrix(entries: Sequence[tuple[int, int, float]], height: int, width: int) -> csr_array:
    at = [entry[0] for entry in entries]
    to = [entry[1] for entry in entries]
    return csr_array(([entry[2] for entry in entries], (at, to)), shape=(height, width))


def of_tracks(
    table: Table, rule: DisclosureRule, tracks: Sequence[Track], earlier: Sequence[Published]
) -> Knowledge:
    """What is known from a table and all earlier ones, by someone who read every roster.

    Notes
    -----
    The attacker is also told of every cell in which nobody's finding came or went from one snapshot to the
    next, which rosters do not say. In the others anything may have happened. Known so, what is hidden by
    everything published stays hidden when nothing more is published.
    """
    groups = _groups(tracks)
    ties, windows = [csr_array((0, len(groups)))], []
    for nth, before in enumerate(earlier):
        shows = [at for at, cell in enumerate(before.table.cells) if cell.key not in before.hidden]
        ties.append(_cells_by_group(before.table, nth, groups)[shows])
        windows += [before.rule.window(c.count, c.people) for c in (before.table.cells[at] for at in shows)]
    return replace(
        of_table(table, rule),
        cells=_cells_by_group(table, len(earlier), groups),
        ties=vstack(ties, format="csr"),
        tie_least=np.array([least for least, _ in windows], dtype=float),
        tie_most=np.array([most for _, most in windows], dtype=float),
        people=np.array([group.people for group in groups], dtype=float),
        truth=np.array([group.cases for group in groups], dtype=float),
        whole=True,
    )


@dataclass(frozen=True, slots=True)
class _Group:
    """A track over snapshots between which nothing changed around it: number of the snapshot, cell."""

    places: tuple[tuple[int, Key], ...]
    people: int
    cases: int


def _groups(tracks: Sequence[Track]) -> list[_Group]:
    restless = {
        (step, place)
        for track in tracks
        for step, changed in enumerate(track.changed)
        if changed
        for place in track.places[step : step + 2]
    }
    groups = []
    for track in tracks:
        stretch: list[tuple[int, Key]] = []
        for at, place in enumerate(track.places):
            before = track.places[at - 1] if at else None
            settled = not {(at - 1, before), (at - 1, place)} & restless
            if stretch and (place is None or before is None or not settled):
                groups.append(_Group(tuple(stretch), track.people, track.cases[stretch[0][0]]))
                stretch = []
            if place is not None:
                stretch.append((at, place))
        if stretch:
            groups.append(_Group(tuple(stretch), track.people, track.cases[stretch[0][0]]))
    return groups


def _cells_by_group(table: Table, snapshot: int, groups: Sequence[_Group]) -> csr_array:
    inner = finest(table)
    row = {table.cells[at].key: nth for nth, at in enumerate(inner)}
    stand = [
        (row[place], nth, 1.0)
        for nth, group in enumerate(groups)
        for at, place in group.places
        if at == snapshot
    ]
    return csr_array(of_sums(table) @ _matrix(stand, len(inner), len(groups)))


def of_sums(table: Table) -> csr_array:
    """Each cell of a table as a sum of its finest."""
    column = {at: nth for nth, at in enumerate(finest(table))}
    return _as_sums(len(table.cells), column, sums_of(table))[0]
