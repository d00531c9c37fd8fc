"""`thenar release audit`: may these figures leave the service?"""

import json
from datetime import date
from pathlib import Path
from typing import Annotated, Any

import click
from pydantic import ConfigDict, Field, TypeAdapter
from pydantic.dataclasses import dataclass as checked

from thenar.cli.book import book
from thenar.cli.doors.disclosure import AreaGiven, AuditAnswer, Name, SiteRuleGiven, audit_answer
from thenar.cli.reading import read_given
from thenar.errors import BadInput
from thenar.knowledge import Book
from thenar.population.disclosure import Audit, audit
from thenar.population.disclosure_release import Among, Failure, PassedRelease, Release, ReleaseRefused
from thenar.population.disclosure_rule import rule_of
from thenar.population.disclosure_tables import Area, Cell, Table
from thenar.population.disclosure_tracks import Track

STRICT = ConfigDict(extra="forbid", strict=True)

Count = Annotated[int, Field(ge=0)]
Place = tuple[Name, ...]


@checked(frozen=True, slots=True, config=STRICT)
class ShownGiven:
    """A cell as it was counted, and as it is to be printed; `shown` is null where it is hidden."""

    area: Name
    count: Count
    people: Count
    shown: Count | None
    of: tuple[Name, ...] = ()


@checked(frozen=True, slots=True, config=STRICT)
class ReleaseGiven:
    """One snapshot."""

    on: date
    cells: tuple[ShownGiven, ...]


@checked(frozen=True, slots=True, config=STRICT)
class TrackGiven:
    """People who were in the same cells at every snapshot; a place is null where they were not there."""

    places: tuple[Place | None, ...]
    people: Count
    cases: tuple[Count, ...]
    changed: tuple[Count, ...]

    def until(self, snapshots: int) -> Track:
        """What is known of them after so many snapshots."""
        steps = max(0, snapshots - 1)
        return Track(self.places[:snapshots], self.people, self.cases[:snapshots], self.changed[:steps])


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class ReleasesGiven:
    """All releases of one finding, oldest first; the last is the one to be published.

    `tracks` say who stood where at each snapshot; one release alone needs none. `participation` holds the
    releases of who answered, if the finding counts among those who did.
    """

    what: Name
    areas: tuple[AreaGiven, ...]
    releases: Annotated[tuple[ReleaseGiven, ...], Field(min_length=1)]
    dimensions: tuple[Name, ...] = ()
    tracks: tuple[TrackGiven, ...] = ()
    site_rule: SiteRuleGiven = SiteRuleGiven()
    participation: "ReleasesGiven | None" = None


@click.group()
def release() -> None:
    """Look at figures before they leave the service."""


@release.command("audit")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False), required=False)
@click.option("--schema", is_flag=True, help="Print what FILE holds and what is printed, as JSON schemas.")
def audit_file(file: Path | None, schema: bool) -> None:
    """Attack the last release in FILE as colleagues could; print what they would know, as JSON.

    Leaves with 0 if it may be published, with 3 if it may not. What is printed is for the service only.
    """
    if schema:
        answer = TypeAdapter(AuditAnswer).json_schema(mode="serialization")
        click.echo(
            json.dumps({"input": TypeAdapter(ReleasesGiven).json_schema(), "output": answer}, indent=2)
        )
        return
    found, _ = _audited(_read(file), book())
    click.echo(TypeAdapter(AuditAnswer).dump_json(audit_answer(found, book()), indent=2).decode())
    found.passed_release()


def _schemas() -> dict[str, Any]:
    answer = TypeAdapter(AuditAnswer).json_schema(mode="serialization")
    return {"input": TypeAdapter(ReleasesGiven).json_schema(), "output": answer}


def _read(file: Path | None) -> ReleasesGiven:
    try:
        return read_given(_content(file), ReleasesGiven, "disclosure")
    except BadInput as problem:
        raise BadInput(
            what=problem.what.replace("Standard input", "The file"),
            why="Nothing was audited, so nothing may be published.",
            todo="Mend the file; `thenar release audit --schema` shows what is expected.",
        ) from None


def _content(file: Path | None) -> bytes:
    if file is None:
        raise BadInput(
            what="No file was named.",
            why="Nothing was audited.",
            todo="Name one: `thenar release audit FILE`.",
        )
    try:
        return file.read_bytes()
    except OSError as problem:
        raise BadInput(
            what=f"{click.format_filename(file)!r} can't be read: {problem.strerror or problem}.",
            why="Nothing was audited.",
            todo="Check the path.",
        ) from None


def _audited(given: ReleasesGiven, knowledge: Book) -> tuple[Audit, list[PassedRelease]]:
    """The audit of the last release, and all that passed; earlier ones are audited again in their turn."""
    answered = _by_day(given.participation, knowledge)
    passed: list[PassedRelease] = []
    for nth, each in enumerate(given.releases, start=1):
        tracks = [track.until(nth) for track in given.tracks]
        there = [track for track in tracks if any(track.places)]
        last = nth == len(given.releases)
        candidate = _release(given, each, answered, knowledge)
        found = audit(candidate, passed, there, with_limits=last)
        if last and not found.passed:
            break
        passed.append(found.passed_release())
    return found, passed


def _by_day(given: ReleasesGiven | None, knowledge: Book) -> dict[date, PassedRelease] | None:
    if given is None:
        return None
    found, passed = _audited(given, knowledge)
    found.passed_release()
    return {each.release.table.on: each for each in passed}


def _release(
    given: ReleasesGiven, each: ReleaseGiven, answered: dict[date, PassedRelease] | None, knowledge: Book
) -> Release:
    rule = given.site_rule.over(rule_of(knowledge, each.on))
    areas = tuple(Area(area.name, area.within) for area in given.areas)
    cells = tuple(Cell(one.area, one.count, one.people, one.of) for one in each.cells)
    table = Table(given.what, each.on, areas, cells, given.dimensions)
    written = [
        Failure(cell.name, f"is written {one.shown}; the rule writes {rule.rounded(cell.count)}")
        for one, cell in zip(each.cells, cells, strict=True)
        if one.shown is not None and one.shown != rule.rounded(cell.count)
    ]
    if written:
        raise ReleaseRefused(written)
    hidden = frozenset(cell.key for one, cell in zip(each.cells, cells, strict=True) if one.shown is None)
    if answered is None:
        return Release(table, hidden, rule)
    return Release(table, hidden, rule, Among.ANSWERED, answered.get(each.on))
