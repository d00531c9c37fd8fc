"""How fast time at risk is counted by area, role and month, and in how much memory.

    python benchmarks/person_time.py            # 100,000 workers over ten years
    python benchmarks/person_time.py 1500000    # a country: 1.5 million workers, 500,000 cases

Prints figures, passes or fails nothing. The aim for a country on two cores: at most 30 s and 4 GB, at least
20 times faster than straightforward pandas, at most twice the bare engine over the same files.

In the same run, over the same files:

- the bare engine scans every column that the count reads;
- the bare engine counts what one would write first: each post beside each of its months, the days they share.
  Overlaps, leave, cases and the wash-out are left out, so it does less;
- pandas counts the whole, the straightforward way: a row for each post on each day. It does so for a few
  workers, and its time is scaled up by their number. Its figures must be ours.
"""

import os
import resource
import subprocess
import sys
import tempfile
from collections.abc import Callable
from datetime import date
from pathlib import Path
from time import perf_counter, process_time

import duckdb
import numpy as np
import pyarrow as pa
from pyarrow import parquet

from thenar.population.extract_schema import TABLES, arrow_schema, open_extract
from thenar.population.person_time import embedded_engine, person_time
from thenar.population.person_time_rules import TimeRules
from thenar.population.stated import Period

PERIOD = Period(date(2016, 1, 1), date(2025, 12, 31))
RULES = TimeRules(PERIOD, washout_days=90)
SAMPLE = 3_000
CORES = 2
WORKERS_AN_AREA = 150
ROLES = 12
EPOCH = date(1970, 1, 1)


def write_extract(folder: Path, workers: int) -> None:
    """Movers, overlaps, part-time, leave and a case for every third worker, by chance from a fixed seed."""
    draw = np.random.default_rng(20261125)
    keys = draw.permutation(workers) * 1_000_003 + 2**40
    rows = {
        "posts": posts(draw, keys),
        "cases": cases(draw, keys, workers // 3),
        "leave": leave(draw, keys, workers // 10),
    }
    folder.mkdir()
    for table in TABLES:
        schema = arrow_schema(table, PERIOD.last)
        held = pa.table(rows[table], schema=schema) if table in rows else schema.empty_table()
        parquet.write_table(held, folder / f"{table}.parquet", compression="zstd")


def posts(draw: np.random.Generator, keys: np.ndarray) -> dict[str, pa.Array]:
    """One to three posts each; a third of the workers stay in one role, half of the posts in one area."""
    areas = max(4, len(keys) // WORKERS_AN_AREA)
    held = draw.choice([1, 2, 3], len(keys), p=[0.5, 0.3, 0.2])
    worker = np.repeat(np.arange(len(keys)), held)
    home, role = draw.integers(0, areas, len(keys))[worker], draw.integers(0, ROLES, len(keys))[worker]
    starts = days_of(PERIOD.first) - 400 + draw.integers(0, 3650, len(worker))
    return {
        "post": pa.array(np.arange(len(worker))),
        "worker": pa.array(keys[worker]),
        "area": pa.array(
            np.where(draw.random(len(worker)) < 0.5, home, draw.integers(0, areas, len(worker)))
        ),
        "role": pa.array(role),
        "from_on": days(starts),
        "until_on": days(starts + draw.integers(30, 3000, len(worker)), draw.random(len(worker)) < 0.3),
        "hours_percent": pa.array(draw.choice([100, 100, 100, 80, 60, 50], len(worker)).astype(np.int32)),
        "age_band": pa.array(["not known"] * len(worker)),
    }


def cases(draw: np.random.Generator, keys: np.ndarray, number: int) -> dict[str, pa.Array]:
    opened = draw.integers(days_of(PERIOD.first), days_of(PERIOD.last), number)
    return {
        "case": pa.array(np.arange(number)),
        "worker": pa.array(draw.choice(keys, number)),
        "opened_on": days(opened),
        "closed_on": days(opened + draw.integers(5, 300, number), draw.random(number) < 0.05),
        "outcome": pa.array(draw.choice(["clear", "clear", "controlled", "not_skin"], number)),
        "earlier": pa.nulls(number, pa.int64()),
        "age_band": pa.array(["not known"] * number),
    }


def leave(draw: np.random.Generator, keys: np.ndarray, number: int) -> dict[str, pa.Array]:
    starts = draw.integers(days_of(PERIOD.first), days_of(PERIOD.last), number)
    return {
        "worker": pa.array(draw.choice(keys, number)),
        "from_on": days(starts),
        "until_on": days(starts + draw.integers(20, 400, number)),
    }


def days_of(day: date) -> int:
    return (day - EPOCH).days


def days(numbers: np.ndarray, empty: np.ndarray | None = None) -> pa.Array:
    return pa.array(numbers.astype(np.int32), pa.int32(), mask=empty).cast(pa.date32())


def ours(folder: Path) -> str:
    """The whole count, from the files to the cells."""
    with embedded_engine(threads=CORES) as engine:
        found = person_time(open_extract(folder), RULES, engine)
    return f"{found.table.num_rows:,} cells, {found.person_years:,.0f} person-years. {found.tally.in_words}"


def bare(folder: Path, query: str) -> str:
    engine = duckdb.connect(config={"threads": CORES, "memory_limit": "3GB"})
    for table in ("posts", "cases", "leave"):
        engine.execute(f"create view {table} as select * from read_parquet('{folder}/{table}.parquet')")
    return f"{engine.execute(query).to_arrow_table().num_rows:,} rows"


def scan(folder: Path) -> str:
    return bare(
        folder,
        """select (select (sum(post), sum(worker), sum(area), sum(role), max(from_on), max(until_on),
                           sum(hours_percent)) from posts),
                  (select (sum("case"), sum(worker), max(opened_on), max(closed_on), max(outcome))
                   from cases),
                  (select (sum(worker), max(from_on), max(until_on)) from leave)""",
    )


def first_thought(folder: Path) -> str:
    return bare(
        folder,
        """with months as (
             select first::date as first, (first + interval 1 month)::date as next
             from range(timestamp '2016-01-01', timestamp '2026-01-01', interval 1 month) as held(first))
           select area, role, first,
                  sum(least(coalesce(until_on + 1, next), next) - greatest(from_on, first)) as days
           from posts join months on from_on < next and coalesce(until_on + 1, date '2026-01-01') > first
           group by all order by all""",
    )


def straightforward(folder: Path) -> str:
    """pandas, a row for each post on each day."""
    import pandas as pd

    beyond, wait = pd.Timestamp(PERIOD.last), pd.Timedelta(days=RULES.washout_days)
    tables = {
        name: parquet.read_table(folder / f"{name}.parquet").to_pandas(date_as_object=False)
        for name in ("posts", "cases", "leave")
    }

    def each_day(held: "pd.DataFrame", first: str, last: str) -> "pd.DataFrame":
        until = held[last].fillna(beyond).clip(upper=beyond)
        spans = [
            pd.date_range(a, b)
            for a, b in zip(held[first].clip(lower=pd.Timestamp(PERIOD.first)), until, strict=True)
        ]
        return held.assign(day=spans).explode("day").dropna(subset="day")

    skin = tables["cases"][tables["cases"].outcome != "not_skin"]
    spells = skin.assign(first=skin.opened_on + pd.Timedelta(days=1), last=skin.closed_on + wait)
    away = pd.concat([each_day(spells, "first", "last"), each_day(tables["leave"], "from_on", "until_on")])
    held = each_day(tables["posts"], "from_on", "until_on")
    held = held.merge(
        away[["worker", "day"]].drop_duplicates().assign(away=1), how="left", on=["worker", "day"]
    )
    held = held[held.away.isna()]
    held["share"] = held.hours_percent / held.groupby(["worker", "day"]).hours_percent.transform("sum")
    held["month"] = pd.to_datetime(held.day).dt.to_period("M")
    cells = held.groupby(["area", "role", "month"]).share.sum()
    return f"{len(cells):,} cells, {cells.sum() / 365.25:,.0f} person-years"


RUNS: dict[str, Callable[[Path], str]] = {
    "thenar": ours,
    "bare engine, scan": scan,
    "bare engine, first thought": first_thought,
    "pandas": straightforward,
}


def run_alone(name: str, folder: Path) -> float:
    """Run one in a process of its own, so that its memory is its own; print what it says. [seconds]"""
    told = subprocess.run(
        [sys.executable, __file__, name, str(folder)], check=True, capture_output=True, text=True
    )
    print(told.stdout, end="")
    return float(told.stdout.split(" s wall", 1)[0].split()[-1])


def measured(name: str, folder: Path) -> None:
    wall, busy = perf_counter(), process_time()
    says = RUNS[name](folder)
    wall, busy = perf_counter() - wall, process_time() - busy
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
    print(f"{name:28}{wall:8.2f} s wall {busy:8.2f} s processor {memory:6.2f} GB   {says}")


def main() -> None:
    if len(sys.argv) > 2:
        measured(sys.argv[1], Path(sys.argv[2]))
        return
    workers = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    with tempfile.TemporaryDirectory() as place:
        whole, few = Path(place) / "whole", Path(place) / "few"
        write_extract(whole, workers)
        write_extract(few, SAMPLE)
        print(f"{workers:,} workers, load before: {os.getloadavg()[0]:.1f}")
        mine, scanned, thought = (run_alone(name, whole) for name in list(RUNS)[:3])
        print(f"{SAMPLE:,} workers:")
        sample, slow = run_alone("thenar", few), run_alone("pandas", few)
        print(f"load after: {os.getloadavg()[0]:.1f}")
        print(f"over the bare scan           {mine / scanned:8.1f} times")
        print(f"over the bare first thought  {mine / thought:8.1f} times")
        scaled = slow * workers / SAMPLE
        print(f"pandas, scaled to {workers:,}: {scaled:,.0f} s, {scaled / mine:,.0f} times ours")
        print(f"pandas on the {SAMPLE:,} themselves: {slow / sample:,.0f} times ours")


if __name__ == "__main__":
    main()
