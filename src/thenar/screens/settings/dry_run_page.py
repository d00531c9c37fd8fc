"""What the page of a dry run shows: the first of each kind in words, or all of them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Generic, TypeVar

from thenar.exchange.problems import Problem
from thenar.exchange.staff_changes import Correction, CurrentWorker, Move, worker_after
from thenar.exchange.staff_columns import CALLED, FIELDS
from thenar.exchange.staff_import import DryRun
from thenar.exchange.staff_row import StaffRow
from thenar.screens.dates import in_words

SHOWN_AT_FIRST = 50
_ACCENTED_NAMES = 6

_DELIMITERS = {",": "Commas", ";": "Semicolons", "\t": "Tabs", "|": "Bars"}
_OF_THE_POST = ("area", "role", "hours_share")
_OF_THE_PERSON = ("given_name", "family_name", "born_on", "email")

Shown = TypeVar("Shown")


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing about one person that becomes another."""

    line: int
    staff_number: str
    name: str
    what: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class Part(Generic[Shown]):
    """Those of one kind that the page shows, of how many people."""

    people: int
    shown: tuple[Shown, ...]
    hidden: int


@dataclass(frozen=True, slots=True)
class ReadAs:
    """One of our fields and the column that was taken for it; empty when there is none."""

    field: str
    header: str


@dataclass(frozen=True, slots=True)
class ShownDryRun:
    """A dry run, ready to be looked at."""

    joiners: Part[StaffRow]
    movers: Part[Difference]
    corrected: Part[Difference]
    leavers: Part[CurrentWorker]
    to_put_right: tuple[Problem, ...]
    to_look_at: tuple[Problem, ...]
    delimiter: str
    read_as: tuple[ReadAs, ...]
    accented_names: tuple[str, ...]
    is_cut: bool


def show_dry_run(run: DryRun, *, whole: bool) -> ShownDryRun:
    """The first fifty of each kind, or all."""
    changes, listed = run.changes, run.listed
    most = None if whole else SHOWN_AT_FIRST
    parts = (changes.joiners, changes.movers, changes.corrected, changes.leavers)
    return ShownDryRun(
        joiners=_part(changes.joiners, changes.joiners[:most]),
        movers=_differences(changes.movers, most, _OF_THE_POST),
        corrected=_differences(changes.corrected, most, _OF_THE_PERSON),
        leavers=_part(changes.leavers, changes.leavers[:most]),
        to_put_right=tuple(problem for problem in changes.problems if problem.serious),
        to_look_at=tuple(problem for problem in changes.problems if not problem.serious),
        delimiter=_DELIMITERS[listed.delimiter],
        read_as=tuple(ReadAs(CALLED[field], listed.columns.get(field, "")) for field in FIELDS),
        accented_names=_accented(listed.rows) if listed.encoding == "Windows-1252" else (),
        is_cut=most is not None and any(len(part) > most for part in parts),
    )


def _part(people: Sequence[Shown], shown: Sequence[Shown]) -> Part[Shown]:
    return Part(len(people), tuple(shown), len(people) - len(shown))


def _differences(
    changes: Sequence[Move | Correction], most: int | None, fields: Sequence[str]
) -> Part[Difference]:
    shown = changes[:most]
    told = tuple(one for change in shown for one in _told(change, fields))
    return Part(len(changes), told, len(changes) - len(shown))


def _told(change: Move | Correction, fields: Sequence[str]) -> list[Difference]:
    row, before = change.row, change.before
    after = worker_after(row, before)
    name = f"{before.given_name} {before.family_name}"
    pairs = [(field, getattr(before, field), getattr(after, field)) for field in fields]
    return [
        Difference(row.line, row.staff_number, name, CALLED[field], _in_words(was), _in_words(will_be))
        for field, was, will_be in pairs
        if was != will_be
    ]


def _in_words(value: str | date | Decimal | None) -> str:
    if isinstance(value, date):
        return in_words(value)
    return f"{value.normalize():f}" if isinstance(value, Decimal) else value or "not known"


def _accented(rows: Sequence[StaffRow]) -> tuple[str, ...]:
    """Some names by whose letters a person sees whether the encoding was guessed right."""
    names = (name for row in rows for name in (row.given_name, row.family_name) if not name.isascii())
    return tuple(dict.fromkeys(name for name, _ in zip(names, range(50), strict=False)))[:_ACCENTED_NAMES]
