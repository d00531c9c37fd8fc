"""How an area's tasks are shown: by day and part, as a table a person can check."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from thenar.exchange.task_list import TaskRow
from thenar.exposure.duty_terms import Part


@dataclass(frozen=True, slots=True)
class PartOfDay:
    """The tasks of one shift, and how many different people are named in it."""

    name: str
    rows: tuple[TaskRow, ...]
    people: int


@dataclass(frozen=True, slots=True)
class Day:
    """One day of the list."""

    number: int
    on: date
    tasks: int


@dataclass(frozen=True, slots=True)
class TaskTable:
    """A list as it is looked over: all its days, and one of them whole."""

    days: tuple[Day, ...]
    shown: Day | None
    parts: tuple[PartOfDay, ...]
    tasks: int
    people: int


def task_table(rows: Sequence[TaskRow], first_day: date, number: str = "") -> TaskTable:
    """A list with one day shown whole: that of the number, or the first that has a task.

    Parameters
    ----------
    rows
        The tasks.
    first_day
        Day 1.
    number
        The day to show, from 1; anything else shows the first day.
    """
    by_day: dict[int, list[TaskRow]] = {}
    for row in rows:
        by_day.setdefault(row.day, []).append(row)
    days = tuple(Day(day + 1, first_day + timedelta(days=day), len(by_day[day])) for day in sorted(by_day))
    shown = next((day for day in days if str(day.number) == number), days[0] if days else None)
    of_day = by_day[shown.number - 1] if shown else []
    return TaskTable(
        days=days,
        shown=shown,
        parts=tuple(_part(part, of_day) for part in Part if any(row.part == part for row in of_day)),
        tasks=len(rows),
        people=len(_named(rows)),
    )


def _part(part: Part, rows: Iterable[TaskRow]) -> PartOfDay:
    here = tuple(row for row in rows if row.part == part)
    return PartOfDay(part.value, here, len(_named(here)))


def _named(rows: Iterable[TaskRow]) -> set[str]:
    return {number for row in rows for number in row.now}
