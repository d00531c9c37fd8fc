"""May this table leave the service, and if not, because of which cell?"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from math import comb

import numpy as np
from numpy.typing import NDArray

from thenar.population.disclosure_attack import Aims, Marks, Worlds, limits_of, missed_aims, nobody_known
from thenar.population.disclosure_knowledge import Knowledge, Published, of_table, of_tracks
from thenar.population.disclosure_programme import hide_least
from thenar.population.disclosure_release import (
    Among,
    Failure,
    NotAudited,
    PassedRelease,
    Release,
    ReleaseRefused,
)
from thenar.population.disclosure_rule import DisclosureRule, Why, refuse_laxer
from thenar.population.disclosure_tables import Key, Table, UnusableTable, finest, sums_of
from thenar.population.disclosure_tracks import Track, check_tracks
from thenar.population.disclosure_tree import limits_in_tree


@dataclass(frozen=True, slots=True)
class Limits:
    """What an attacker who knows every roster can say of a hidden cell: no fewer, no more. [people]"""

    cell: str
    why: Why
    least: int
    most: int
    people: int


@dataclass(frozen=True, slots=True)
class Audit:
    """What attackers make of a release. Only `audit` makes one with a passed release in it.

    `limits` are of every hidden cell. `known_to_insider` is how likely it is that one of two colleagues,
    picked at random in a finest cell, is given away to someone who knows all the others in it. [share; None
    without limits]
    """

    release: Release
    failures: tuple[Failure, ...]
    limits: tuple[Limits, ...]
    known_to_insider: float | None
    _passed: PassedRelease | None = None

    @property
    def passed(self) -> bool:
        """Whether the release may be published."""
        return self._passed is not None

    def passed_release(self) -> PassedRelease:
        """The release, ready to publish.

        Raises
        ------
        ReleaseRefused
            It failed; the cell is named.
        """
        if self._passed is None:
            raise ReleaseRefused(self.failures) if self.failures else NotAudited
        return self._passed


def suppress(
    table: Table,
    rule: DisclosureRule,
    *,
    among: Among = Among.ROSTER,
    participation: PassedRelease | None = None,
    earlier: Sequence[PassedRelease] = (),
    tracks: Sequence[Track] = (),
) -> Release:
    """Hide what must be hidden, and as little more as protects it.

    Parameters
    ----------
    table
        The frozen counts.
    rule
        The rule in force, `rule_of(book, on)`.
    among, participation
        Whom the figures count among; for those who answered, the participation table as it was released.
    earlier, tracks
        Tables of the same finding released before, oldest first, and who stood where at each of them and at
        this one.

    Returns
    -------
    Release
        Ready for `audit`.

    Raises
    ------
    NothingHelps
        What was published before gives someone away already.

    Notes
    -----
    The least number of people in hidden cells, counted once for each level, such that in no sum one cell is
    hidden alone, an attacker's limits for each cell the rule hides lie `rule.margin` from the truth on both
    sides as far as there are people, and nobody is known from all releases together. Limits are those of
    someone who knows all denominators and every roster; see `disclosure_programme.hide_least`.

    Examples
    --------
    Ward 2 has too few cases. One cell is never hidden alone, so ward 3 goes too: it has fewer people than
    ward 1.

    >>> from thenar.knowledge import load
    >>> from thenar.population.disclosure_rule import rule_of
    >>> from thenar.population.disclosure_tables import Area, Cell
    >>> wards = Cell("Ward 1", 12, 40), Cell("Ward 2", 3, 30), Cell("Ward 3", 8, 35)
    >>> areas = Area("Medicine"), *(Area(ward.area, "Medicine") for ward in wards)
    >>> table = Table("hand eczema", date(2026, 3, 1), areas, (Cell("Medicine", 23, 105), *wards))
    >>> checked = audit(suppress(table, rule_of(load(), table.on)))
    >>> for figure in checked.passed_release().figures:
    ...     print(figure.in_words)
    Medicine: about 25 of 105 (24 %)
    Ward 1: about 10 of 40 (25 %)
    Ward 2: *
    Ward 3: *
    """
    release = Release(table, frozenset(), rule, among, participation)
    must = np.array([release.must_hide(cell) is not None for cell in table.cells])
    attacks = [_on_cells(table, rule)]
    if earlier:
        attacks.append(_on_people(table, rule, earlier, tracks))
    cost = np.array([cell.people for cell in table.cells], dtype=float)
    hidden = hide_least(cost, must, sums_of(table), attacks).cells
    return Release(table, _keys(table, hidden), rule, among, participation)


def audit(
    release: Release,
    earlier: Sequence[PassedRelease] = (),
    tracks: Sequence[Track] = (),
    *,
    with_limits: bool = True,
) -> Audit:
    """Attack a release as colleagues could, before it is published.

    Parameters
    ----------
    release
        What is to be published.
    earlier, tracks
        Tables of the same finding released before, oldest first, and who stood where at each of them and at
        this one.
    with_limits
        False: only whether it may be published, which is sooner known.

    Returns
    -------
    Audit
        With every reason why it can't be published. What passed is in `passed_release()`.

    Raises
    ------
    LaxerThanShipped
        Its rule shows more than the shipped one.
    UnusableTable
        Earlier tables without tracks, of another finding, too soon, or not adding up to the rosters.

    Notes
    -----
    The attackers: one who reads the release, all earlier ones and every roster; the same told of each cell in
    which nobody changed since the last snapshot; and one who knows all colleagues in a cell but two, for whom
    a share is given and nothing refused. An attacker who knows how cells are chosen, or who pools what
    several know, is not among them.
    """
    table, rule = release.table, release.rule
    refuse_laxer(rule, table.on)
    hidden = np.array([cell.key in release.hidden for cell in table.cells])
    people = _on_people(table, rule, earlier, tracks) if earlier else _on_finest(table, rule)
    failures = (
        *_unsafe_by_themselves(release),
        *_alone(release, hidden),
        *_too_narrow(release, hidden),
        *_known(people, hidden, table, earlier),
    )
    result = Audit(release, failures, (), None)
    if with_limits:
        if earlier or table.dimensions:
            bounds = limits_of(people[0], hidden, people[0].cells)
        else:
            bounds = limits_in_tree(table, rule, hidden)
        result = Audit(release, failures, _limits(release, bounds), _known_to_insider(table, bounds))
    return result if failures else _pass(result)


def _pass(result: Audit) -> Audit:
    passed = object.__new__(PassedRelease)
    passed._release = result.release  # the one place that may: __init__ refuses everyone else
    return Audit(result.release, (), result.limits, result.known_to_insider, passed)


def _keys(table: Table, hidden: Marks) -> frozenset[Key]:
    return frozenset(cell.key for cell, is_hidden in zip(table.cells, hidden, strict=True) if is_hidden)


def _on_cells(table: Table, rule: DisclosureRule) -> tuple[Knowledge, Aims]:
    """From this table alone: each cell that the rule hides must stay as uncertain as the margin asks."""
    known = of_table(table, rule)
    at = [nth for nth, cell in enumerate(table.cells) if rule.hides(cell.count, cell.people) is not None]
    kept = np.array(
        [rule.kept_from(table.cells[nth].count, table.cells[nth].people) for nth in at], dtype=float
    ).reshape(-1, 2)
    return known, Aims(known.cells[at], kept[:, 0], kept[:, 1])


def _on_finest(table: Table, rule: DisclosureRule) -> tuple[Knowledge, Aims]:
    known = of_table(table, rule)
    return known, nobody_known(known)


def _on_people(
    table: Table, rule: DisclosureRule, earlier: Sequence[PassedRelease], tracks: Sequence[Track]
) -> tuple[Knowledge, Aims]:
    """From all tables together: of nobody it may be certain whether they have the finding."""
    before = [passed.release.published for passed in earlier]
    _check_order(table, rule, before)
    if not tracks:
        raise UnusableTable(
            f"{table.what} on {table.on}: there are earlier releases, but no rosters.",
            "Give who stood where at each release; who joined or left can be worked out by subtraction.",
        )
    check_tracks(tracks, [*(each.table for each in before), table])
    known = of_tracks(table, rule, tracks, before)
    return known, nobody_known(known)


def _check_order(table: Table, rule: DisclosureRule, before: Sequence[Published]) -> None:
    days = [*(each.table.on for each in before), table.on]
    for first, second in pairwise(days):
        if (second - first).days < rule.days_between:
            raise UnusableTable(
                f"{table.what}: {second} is less than {rule.days_between} days after {first}.",
                "Publish fixed snapshots, oldest first; what changes from day to day names who changed.",
            )
    for each in before:
        if each.table.what != table.what:
            raise UnusableTable(
                f"{each.table.what}: is not {table.what}.", "Give earlier releases of the same finding."
            )


def _unsafe_by_themselves(release: Release) -> list[Failure]:
    failures = []
    if release.among is Among.ANSWERED and release.participation is None:
        failures.append(
            Failure(release.table.what, "counts among those who answered, whose table is missing")
        )
    for cell in release.table.cells:
        why = release.must_hide(cell)
        if why is not None and cell.key not in release.hidden:
            failures.append(Failure(cell.name, f"shows, but must be hidden ({why.value})"))
    return failures


def _alone(release: Release, hidden: Marks) -> list[Failure]:
    cells = release.table.cells
    failures = []
    for each in sums_of(release.table):
        members = [each.total, *each.parts]
        if hidden[members].sum() == 1:
            lone = next(at for at in members if hidden[at])
            failures.append(
                Failure(
                    cells[lone].name,
                    f"is the only cell hidden of those that make up {cells[each.total].name}",
                )
            )
    return failures


def _too_narrow(release: Release, hidden: Marks) -> list[Failure]:
    table, rule = release.table, release.rule
    known, aims = _on_cells(table, rule)
    at = [nth for nth, cell in enumerate(table.cells) if rule.hides(cell.count, cell.people) is not None]
    failures = []
    for target, way, _ in missed_aims(Worlds(known), aims, hidden):
        least, most = rule.kept_from(table.cells[at[target]].count, table.cells[at[target]].people)
        side = f"up to {most}" if way > 0 else f"down to {least}"
        failures.append(
            Failure(table.cells[at[target]].name, f"can be narrowed down; {side} must stay possible")
        )
    return failures


def _known(
    attack: tuple[Knowledge, Aims], hidden: Marks, table: Table, earlier: Sequence[PassedRelease]
) -> list[Failure]:
    known, aims = attack
    failures = []
    for target, _, _ in missed_aims(Worlds(known), aims, hidden):
        group = aims.targets[[target]].indices[0]
        cell, on = _where(known, int(group), table, earlier)
        failures.append(Failure(cell, f"on {on} leaves no doubt about someone who worked there"))
    return failures


def _where(known: Knowledge, group: int, table: Table, earlier: Sequence[PassedRelease]) -> tuple[str, date]:
    """The finest cell in which a group stands now, or stood last."""
    for cell, nth in ((table.cells[at].name, at) for at in finest(table)):
        if group in known.cells[[nth]].indices:
            return cell, table.on
    start = known.ties.shape[0]
    for passed in reversed(earlier):
        release = passed.release
        shows = [cell for cell in release.table.cells if cell.key not in release.hidden]
        start -= len(shows)
        within = [cell for nth, cell in enumerate(shows) if group in known.ties[[start + nth]].indices]
        if within:
            return min(within, key=lambda cell: cell.people).name, release.table.on
    return table.what, table.on


def _limits(release: Release, bounds: NDArray[np.int64]) -> tuple[Limits, ...]:
    return tuple(
        Limits(cell.name, release.must_hide(cell) or Why.OTHERS, int(least), int(most), cell.people)
        for cell, (least, most) in zip(release.table.cells, bounds, strict=True)
        if cell.key in release.hidden
    )


def _known_to_insider(table: Table, bounds: NDArray[np.int64]) -> float:
    """Of two colleagues both are known if they are alike and the count stands at a limit.

    Who knows the others knows the count but for those two. Two without the finding are given away where the
    count can't be higher, two with it where it can't be lower.
    """
    known = everyone = 0.0
    for at in finest(table):
        cell, (least, most) = table.cells[at], bounds[at]
        if cell.people >= 2:
            pairs = comb(cell.count, 2) * (least == cell.count)
            pairs += comb(cell.people - cell.count, 2) * (most == cell.count)
            known += cell.people * pairs / comb(cell.people, 2)
            everyone += cell.people
    return known / everyone if everyone else 0.0
