"""How much time were people at risk, by area, role and month, and how many new cases came in it?"""

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

import ibis
from ibis import _

from thenar.errors import BadInput
from thenar.population.extract_schema import Extract
from thenar.population.person_time_cases import CaseTally, fates, new_cases, tally_of
from thenar.population.person_time_rules import TimeRules
from thenar.population.person_time_spans import DAY, time_at_risk

if TYPE_CHECKING:
    import pyarrow as pa
    from ibis.backends import BaseBackend

DAYS_A_YEAR = 365.25
MEMORY = "3GB"

_FAULTS = {
    "reversed_posts": "posts that end before they begin",
    "impossible_hours": "posts with hours that are not 1 to 100 % of full time",
    "repeated_posts": "posts that stand twice, as when one extract is pooled with itself",
    "reversed_cases": "cases that close before they open",
    "repeated_cases": "cases that stand twice, as when one extract is pooled with itself",
    "reversed_leave": "leave that ends before it begins",
}


class NoTimeAtRisk(BadInput):
    """Nobody was at risk in the period."""

    def __init__(self, rules: TimeRules, tally: CaseTally) -> None:
        super().__init__(
            what=f"Nobody was at risk from {rules.period}. {tally.in_words}",
            why="Without person-time there is no rate, not even a rate of 0.",
            todo="Check the period against the days for which the extract has posts.",
        )
        self.tally = tally


class UnusableRows(BadInput):
    """Rows of an extract that can't be counted."""

    def __init__(self, faults: dict[str, int]) -> None:
        super().__init__(
            what=f"The extract has {', '.join(f'{says}: {rows:,}' for says, rows in faults.items())}.",
            why="Counted as they stand they would add or take away time that nobody worked.",
            todo="Put the records right and write the extract again; nothing was counted.",
        )
        self.faults = faults


@dataclass(frozen=True, slots=True)
class Cell:
    """One role of one area in one month, named by its first day. Keys are those of the extract.

    `person_days` are days at risk, at least 0; a share of a day is kept to the millionth.
    """

    area: int
    role: int
    month: date
    person_days: float
    cases: int

    @property
    def person_years(self) -> float:
        """Days at risk over 365.25. [person-years]"""
        return self.person_days / DAYS_A_YEAR


@dataclass(frozen=True, slots=True)
class PersonTime:
    """Time at risk and new cases by area, role and month, with the rules and what was not counted.

    `table` has the columns of `Cell`; only cells in which someone was at risk. It may hold millions of rows.
    `knows_leave` tells whether the extract holds any leave at all.
    """

    rules: TimeRules
    table: "pa.Table"
    tally: CaseTally
    knows_leave: bool

    @property
    def cells(self) -> Iterator[Cell]:
        """The rows one by one, by area, role and month."""
        for batch in self.table.to_batches(max_chunksize=10_000):
            for row in batch.to_pylist():
                yield Cell(**row)

    @property
    def in_words(self) -> str:
        """What must stand beside a rate made from these cells: the rules, the cases, and what nobody knew."""
        unknown = "" if self.knows_leave else " The extract holds no leave: its days count as time at risk."
        return f"{self.rules.in_words} {self.tally.in_words}{unknown}"

    @property
    def person_years(self) -> float:
        """All time at risk. [person-years, above 0]"""
        from pyarrow.compute import sum as added

        return float(added(self.table["person_days"]).as_py()) / DAYS_A_YEAR


@contextmanager
def embedded_engine(threads: int | None = None, memory: str = MEMORY) -> Iterator["BaseBackend"]:
    """Open the engine that runs inside this process. What does not fit into `memory` waits on disk."""
    with tempfile.TemporaryDirectory(prefix="thenar-") as waiting:
        how = {"memory_limit": memory, "temp_directory": waiting} | ({"threads": threads} if threads else {})
        engine = ibis.duckdb.connect(**how)
        try:
            yield engine
        finally:
            engine.disconnect()


def person_time(extract: Extract, rules: TimeRules, engine: "BaseBackend") -> PersonTime:
    """Count time at risk and new cases of an extract.

    Parameters
    ----------
    extract
        One extract or several pooled.
    rules
        Period, wash-out and what a part-time day counts.
    engine
        Where to count: `embedded_engine()`, or any other engine that ibis speaks to. All give the same rows.

    Raises
    ------
    UnusableRows
        Something ends before it begins, hours are not 1 to 100 % of full time, or a key stands twice.
    BadInput
        The period goes on after the day of the extract.
    NoTimeAtRisk
        Nobody was at risk in the period.

    Notes
    -----
    A case belongs to the post held on the day it opened; of several to the one with most hours, then the
    newest. That day still counts as at risk, so no cell has a case and no time. Episodes are counted, not
    people: one worker can be a new case again after the wash-out. Shares of a day are
    rounded to the nearest millionth. Leave is what the extract's table of it says; the records
    hold none.

    A whole count, from the files to the cells, is in docs/reference/extract.md.
    """
    refuse_days_to_come(extract, rules)
    posts, cases, leave = (extract.table(name, engine) for name in ("posts", "cases", "leave"))
    refuse_unusable(posts, cases, leave)
    fated = fates(posts, cases, leave, rules)
    tally = tally_of(fated)
    table = cells_of(time_at_risk(posts, cases, leave, rules), new_cases(fated)).to_pyarrow()
    if not table.num_rows:
        raise NoTimeAtRisk(rules, tally)
    return PersonTime(rules, table, tally, knows_leave=bool(leave.count().to_pyarrow().as_py()))


def cells_of(at_risk: ibis.Table, found: ibis.Table) -> ibis.Table:
    """Time and cases side by side, in order, without cells in which nobody was at risk."""
    beside = at_risk.filter(_.at_risk > 0).left_join(found, ["area", "role", "month"])
    year, month = (_.month // 12).cast("int32"), (_.month % 12 + 1).cast("int32")
    cells = beside.select(
        "area",
        "role",
        month=ibis.date(year, month, 1),
        person_days=_.at_risk.cast("float64") / DAY,
        cases=_.cases.fill_null(0).cast("int64"),
    )
    return cells.order_by("area", "role", "month")


def refuse_days_to_come(extract: Extract, rules: TimeRules) -> None:
    """Refuse a period that goes on after the records were read: posts would run on without cases."""
    if rules.period.last > extract.written_on:
        raise BadInput(
            what=f"The period ends on {rules.period.last}; the extract tells up to {extract.written_on}.",
            why="Days on which nobody can have become a case would water down every rate.",
            todo="End the period on that day or before it, or write a new extract.",
        )


def refuse_unusable(posts: ibis.Table, cases: ibis.Table, leave: ibis.Table) -> None:
    """Refuse rows that can't be counted, each kind with its number."""
    counted = (
        posts.agg(
            reversed_posts=(_.until_on < _.from_on).sum(),
            impossible_hours=(~_.hours_percent.between(1, 100)).sum(),
            repeated_posts=_.count() - _.post.nunique(),
        ),
        cases.agg(
            reversed_cases=(_.closed_on < _.opened_on).sum(), repeated_cases=_.count() - _.case.nunique()
        ),
        leave.agg(reversed_leave=(_.until_on < _.from_on).sum()),
    )
    (numbers,) = counted[0].cross_join(counted[1]).cross_join(counted[2]).to_pyarrow().to_pylist()
    if faults := {_FAULTS[fault]: rows for fault, rows in numbers.items() if rows}:
        raise UnusableRows(faults)
