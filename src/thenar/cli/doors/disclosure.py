"""The door to disclosure control: which cells of a table to hide, and what an attacker can still tell."""

from dataclasses import dataclass, fields, replace
from datetime import date
from typing import Annotated

from pydantic import ConfigDict, Field
from pydantic.dataclasses import dataclass as checked

from thenar.cli.doors import Cited, Door, cited
from thenar.knowledge import Book
from thenar.population.disclosure import Audit, Limits, audit, suppress
from thenar.population.disclosure_release import Among, Failure, Figure, PassedRelease
from thenar.population.disclosure_rule import DisclosureRule, citations, rule_of
from thenar.population.disclosure_tables import Area, Cell, Table

STRICT = ConfigDict(extra="forbid", strict=True)

Name = Annotated[str, Field(min_length=1)]
Count = Annotated[int, Field(ge=0, description="people")]
Asked = Annotated[int | None, Field(ge=0, description="never below the shipped rule; null: as in the book")]


@checked(frozen=True, slots=True, config=STRICT)
class AreaGiven:
    """An area, and the one it is part of."""

    name: Name
    within: Name | None = None


@checked(frozen=True, slots=True, config=STRICT)
class CellGiven:
    """How many of an area's people have the finding. `of` gives each dimension, "all" for its total."""

    area: Name
    count: Count
    people: Count
    of: tuple[Name, ...] = ()

    def cell(self) -> Cell:
        """The cell as the computation takes it."""
        return Cell(self.area, self.count, self.people, self.of)


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class SiteRuleGiven:
    """A site's own amounts, each at least as strict as the shipped one. [people; days]"""

    least_people: Asked = None
    least_with: Asked = None
    least_without: Asked = None
    rounded_to: Asked = None
    margin: Asked = None
    days_between: Asked = None

    def over(self, rule: DisclosureRule) -> DisclosureRule:
        """The rule with these amounts in place of its own."""
        own = {field.name: getattr(self, field.name) for field in fields(self)}
        return replace(rule, **{name: amount for name, amount in own.items() if amount is not None})


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class DisclosureGiven:
    """A frozen table with all its totals.

    `participation` has the same cells, counting those who answered among those asked, where the finding
    counts among those who answered.
    """

    what: Name
    on: date
    areas: tuple[AreaGiven, ...]
    cells: tuple[CellGiven, ...]
    dimensions: tuple[Name, ...] = ()
    participation: tuple[CellGiven, ...] | None = None
    site_rule: SiteRuleGiven = SiteRuleGiven()


@dataclass(frozen=True, slots=True)
class DisclosureAnswer:
    """What may be printed, and what an attacker who knows every roster can tell of the hidden cells.

    `figures` with null are hidden. `hidden` says why and between which numbers the attacker knows the count
    to lie; it is for the service, not to be printed. `known_to_insider` is how likely one of two colleagues
    is given away to someone who knows all the others. [share]
    """

    figures: tuple[Figure, ...]
    participation: tuple[Figure, ...]
    hidden: tuple[Limits, ...]
    known_to_insider: float | None
    rule: DisclosureRule
    sources: tuple[Cited, ...]
    edition: str


@dataclass(frozen=True, slots=True)
class AuditAnswer:
    """Whether a release may be published, and if not, because of which cells."""

    what: str
    on: date
    passed: bool
    refused: tuple[Failure, ...]
    hidden: tuple[Limits, ...]
    known_to_insider: float | None
    rule: DisclosureRule
    edition: str


def audit_answer(checked_release: Audit, book: Book) -> AuditAnswer:
    """An audit as it is printed."""
    release = checked_release.release
    return AuditAnswer(
        what=release.table.what,
        on=release.table.on,
        passed=checked_release.passed,
        refused=checked_release.failures,
        hidden=checked_release.limits,
        known_to_insider=checked_release.known_to_insider,
        rule=release.rule,
        edition=book.edition,
    )


def _compute(given: DisclosureGiven, book: Book, today: date) -> DisclosureAnswer:  # noqa: ARG001
    rule = given.site_rule.over(rule_of(book, given.on))
    participation = _participation(given, rule)
    among = Among.ROSTER if participation is None else Among.ANSWERED
    release = suppress(_table(given, given.what, given.cells), rule, among=among, participation=participation)
    found = audit(release)
    return DisclosureAnswer(
        figures=found.passed_release().figures,
        participation=() if participation is None else participation.figures,
        hidden=found.limits,
        known_to_insider=found.known_to_insider,
        rule=rule,
        sources=tuple(cited(rule_id, source) for rule_id, source in citations(book, given.on)),
        edition=book.edition,
    )


def _participation(given: DisclosureGiven, rule: DisclosureRule) -> PassedRelease | None:
    if given.participation is None:
        return None
    table = _table(given, f"{given.what}: answered", given.participation)
    return audit(suppress(table, rule)).passed_release()


def _table(given: DisclosureGiven, what: str, cells: tuple[CellGiven, ...]) -> Table:
    areas = tuple(Area(area.name, area.within) for area in given.areas)
    return Table(what, given.on, areas, tuple(one.cell() for one in cells), given.dimensions)


DOOR = Door("disclosure", DisclosureGiven, DisclosureAnswer, _compute)
