"""Extracts written by hand: a few posts, cases and days of leave, and time at risk counted day by day."""

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from pathlib import Path
from typing import Any, NamedTuple

import pyarrow as pa
from pyarrow import parquet

from thenar.population.extract_schema import TABLES, arrow_schema
from thenar.population.person_time_rules import PartTime, TimeRules

WRITTEN_ON = date(2026, 12, 31)


class APost(NamedTuple):
    worker: int
    from_on: date
    until_on: date | None = None
    area: int = 1
    role: int = 1
    percent: int = 100


class ACase(NamedTuple):
    worker: int
    opened_on: date
    closed_on: date | None = None
    outcome: str | None = None


class SomeLeave(NamedTuple):
    worker: int
    from_on: date
    until_on: date | None = None


@dataclass(frozen=True)
class History:
    posts: tuple[APost, ...] = ()
    cases: tuple[ACase, ...] = ()
    leave: tuple[SomeLeave, ...] = ()


def write_small(folder: Path, history: History, *, first_key: int = 0, on: date = WRITTEN_ON) -> Path:
    """A whole extract with these rows; keys run on from `first_key`, in the order given."""
    posts = [
        {
            "post": first_key + at,
            "worker": one.worker,
            "area": one.area,
            "role": one.role,
            "from_on": one.from_on,
            "until_on": one.until_on,
            "hours_percent": one.percent,
            "age_band": "not known",
        }
        for at, one in enumerate(history.posts)
    ]
    cases = [
        {"case": first_key + at, **one._asdict(), "earlier": None, "age_band": "not known"}
        for at, one in enumerate(history.cases)
    ]
    rows = {"posts": posts, "cases": cases, "leave": [one._asdict() for one in history.leave]}
    folder.mkdir(parents=True, exist_ok=True)
    for table in TABLES:
        write_table(folder, table, rows.get(table, []), on)
    return folder


def write_table(folder: Path, table: str, rows: Iterable[dict[str, Any]], on: date = WRITTEN_ON) -> None:
    schema = arrow_schema(table, on)
    parquet.write_table(pa.Table.from_pylist(list(rows), schema=schema), folder / f"{table}.parquet")


CellKey = tuple[int, int, date]


@dataclass(frozen=True)
class ByDay:
    """What the slow count found: exact days, new cases by cell, and how many cases met each fate."""

    days: dict[CellKey, Fraction]
    cases: Counter[CellKey]
    fates: Counter[str]


def count_by_day(history: History, rules: TimeRules) -> ByDay:
    """Every worker on every day of the period, one by one. Knows nothing of the counting it checks."""
    days: dict[CellKey, Fraction] = defaultdict(Fraction)
    day, workers = rules.period.first, {post.worker for post in history.posts}
    while day <= rules.period.last:
        for worker in workers:
            if _on_leave(history, worker, day) or _away(history, worker, day, rules):
                continue
            held = _held(history, worker, day)
            hours = sum(post.percent for post in held)
            for post in held:
                whole = hours if rules.part_time is PartTime.PEOPLE else max(hours, 100)
                days[(post.area, post.role, day.replace(day=1))] += Fraction(post.percent, whole)
        day += timedelta(days=1)
    return ByDay(dict(days), *_count_cases(history, rules))


def _count_cases(history: History, rules: TimeRules) -> tuple[Counter[CellKey], Counter[str]]:
    cases: Counter[CellKey] = Counter()
    fates: Counter[str] = Counter()
    for at, case in enumerate(history.cases):
        fate = _fate(history, at, rules)
        fates[fate] += 1
        if fate == "counted":
            held = _held(history, case.worker, case.opened_on)
            main = max(held, key=lambda post: (post.percent, post.from_on, -history.posts.index(post)))
            cases[(main.area, main.role, case.opened_on.replace(day=1))] += 1
    return cases, fates


def _fate(history: History, at: int, rules: TimeRules) -> str:
    case = history.cases[at]
    before = [one for one in history.cases[:at] if one.outcome != "not_skin"]
    same_day = any((one.worker, one.opened_on) == (case.worker, case.opened_on) for one in before)
    holds: list[tuple[str, Callable[[], bool]]] = [
        ("not_skin", lambda: case.outcome == "not_skin"),
        ("outside_period", lambda: not rules.period.first <= case.opened_on <= rules.period.last),
        ("outside_posts", lambda: not _held(history, case.worker, case.opened_on)),
        ("on_leave", lambda: _on_leave(history, case.worker, case.opened_on)),
        ("not_at_risk", lambda: same_day or _away(history, case.worker, case.opened_on, rules)),
    ]
    return next((name for name, test in holds if test()), "counted")


def _held(history: History, worker: int, day: date) -> list[APost]:
    return [one for one in history.posts if one.worker == worker and _covers(one.from_on, one.until_on, day)]


def _on_leave(history: History, worker: int, day: date) -> bool:
    return any(one.worker == worker and _covers(one.from_on, one.until_on, day) for one in history.leave)


def _away(history: History, worker: int, day: date, rules: TimeRules) -> bool:
    """Whether a case or its wash-out runs, not counting the day the case opened."""
    return any(
        case.worker == worker
        and case.outcome != "not_skin"
        and case.opened_on < day
        and (case.closed_on is None or day <= case.closed_on + timedelta(days=rules.washout_days))
        for case in history.cases
    )


def _covers(first: date, last: date | None, day: date) -> bool:
    return first <= day and (last is None or day <= last)
