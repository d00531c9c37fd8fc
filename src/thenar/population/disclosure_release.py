"""What is to be published, and what may be?"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from thenar.errors import BadInput, NotAllowed
from thenar.population.disclosure_knowledge import Published
from thenar.population.disclosure_rule import DisclosureRule, Why
from thenar.population.disclosure_tables import Cell, Key, Table, UnusableTable, name_of


class ReleaseRefused(NotAllowed):
    """The table would let someone be recognised."""

    def __init__(self, failures: Sequence["Failure"]) -> None:
        first, more = failures[0], len(failures) - 1
        others = f" So it is with {more} more." if more else ""
        super().__init__(
            what=f"Not released: {first.cell} {first.says}.{others}",
            why="A colleague who knows who works there could tell whose hands are sore.",
            todo="Publish what `suppress` proposes, or put small wards together.",
        )


class NotAudited(BadInput):
    """A release that no audit has passed."""

    def __init__(self) -> None:
        super().__init__(
            what="This release was never audited.",
            why="What a colleague could work out from it is not known.",
            todo="Publish what `audit(...).passed_release()` gives.",
        )


class Among(Enum):
    """Whom the figures count among."""

    ROSTER = "everyone on the roster"
    ANSWERED = "those who answered"


@dataclass(frozen=True, slots=True)
class Release:
    """A frozen table, the cells hidden in it, and the rule by which.

    A table counted among those who answered carries the participation table, already passed: who did not
    answer is personal too.
    """

    table: Table
    hidden: frozenset[Key]
    rule: DisclosureRule
    among: Among = Among.ROSTER
    participation: "PassedRelease | None" = None

    def __post_init__(self) -> None:
        for key in self.hidden:
            if key not in self.table.places:
                raise UnusableTable(f"{name_of(key)}: is hidden, but no cell.", "Mend its name.")
        if self.participation is not None:
            _check_participation(self.table, self.participation)

    def must_hide(self, cell: Cell) -> Why | None:
        """Why a cell of the table can't be shown, whatever else is; None if it could be."""
        if self.participation is not None and cell.key in self.participation.release.hidden:
            return Why.LINKED
        return self.rule.hides(cell.count, cell.people)

    @property
    def published(self) -> Published:
        """The release as a later attacker reads it."""
        return Published(self.table, self.hidden, self.rule)


@dataclass(frozen=True, slots=True)
class Figure:
    """A cell as it is printed. All three are None where it is hidden. [people; share of 100]"""

    cell: str
    count: int | None
    people: int | None
    percent: int | None

    @property
    def in_words(self) -> str:
        """The figure for a page.

        >>> Figure("Ward 3", 10, 40, 25).in_words, Figure("Ward 4", None, None, None).in_words
        ('Ward 3: about 10 of 40 (25 %)', 'Ward 4: *')
        """
        if self.count is None:
            return f"{self.cell}: *"
        return f"{self.cell}: about {self.count} of {self.people} ({self.percent} %)"


class PassedRelease:
    """What may be published: only an audit that found nothing makes one."""

    __slots__ = ("_release",)
    _release: Release

    def __init__(self) -> None:
        raise NotAudited

    @property
    def release(self) -> Release:
        """The release that passed."""
        return self._release

    @property
    def figures(self) -> tuple[Figure, ...]:
        """Every cell as it is printed: rounded, or hidden."""
        release = self._release
        return tuple(
            Figure(cell.name, None, None, None)
            if cell.key in release.hidden
            else _figure(cell.name, release.rule.rounded(cell.count), release.rule.rounded(cell.people))
            for cell in release.table.cells
        )


def _figure(name: str, count: int, people: int) -> Figure:
    return Figure(name, count, people, (200 * count + people) // (2 * people))


@dataclass(frozen=True, slots=True)
class Failure:
    """A cell for which the release can't be published."""

    cell: str
    says: str


def _check_participation(table: Table, participation: PassedRelease) -> None:
    answered = {cell.key: cell.count for cell in participation.release.table.cells}
    if participation.release.table.on != table.on:
        raise UnusableTable(
            f"{table.what}: is of {table.on}, its participation of {participation.release.table.on}.",
            "Freeze both on one day.",
        )
    for cell in table.cells:
        if answered.get(cell.key) != cell.people:
            raise UnusableTable(
                f"{cell.name}: counts among {cell.people}, but {answered.get(cell.key, 'an unknown number')} "
                "answered.",
                "Count the finding among those who answered.",
            )
