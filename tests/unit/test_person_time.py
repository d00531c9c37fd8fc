"""Time at risk: whose days count, where, and how much; and what is said of cases that don't."""

import json
import shutil
import subprocess
import sys
from collections.abc import Iterator
from datetime import date, timedelta
from importlib.util import find_spec
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING

import ibis
import pytest
from pyarrow import parquet

from tests.unit.small_extract import ACase, APost, History, SomeLeave, write_small, write_table
from thenar.errors import BadInput
from thenar.population.extract_schema import (
    VERSION,
    VERSION_KEY,
    NotAnExtract,
    OtherSchema,
    open_extract,
)
from thenar.population.person_time import (
    Cell,
    NoTimeAtRisk,
    PersonTime,
    UnusableRows,
    embedded_engine,
    person_time,
)
from thenar.population.person_time_rules import PartTime, TimeRules
from thenar.population.stated import Period

if TYPE_CHECKING:
    from ibis.backends import BaseBackend

JANUARY, FEBRUARY, MARCH = date(2026, 1, 1), date(2026, 2, 1), date(2026, 3, 1)
QUARTER = Period(JANUARY, date(2026, 3, 31))
RULES = TimeRules(QUARTER, washout_days=10)


@pytest.fixture
def engine() -> Iterator["BaseBackend"]:
    with embedded_engine() as opened:
        yield opened


@pytest.fixture
def counted(tmp_path: Path, engine: "BaseBackend"):
    """Count a history, by the usual rules unless others are given."""

    def count(*rows: APost | ACase | SomeLeave, rules: TimeRules = RULES) -> PersonTime:
        by_kind = {
            kind: tuple(row for row in rows if type(row) is kind) for kind in (APost, ACase, SomeLeave)
        }
        history = History(by_kind[APost], by_kind[ACase], by_kind[SomeLeave])
        return person_time(open_extract(write_small(tmp_path / "extract", history)), rules, engine)

    return count


def days(found: PersonTime, **wanted: int) -> list[float]:
    return [
        cell.person_days
        for cell in found.cells
        if all(getattr(cell, name) == value for name, value in wanted.items())
    ]


# ---- Whose days -------------------------------------------------------------------------------------------


def test_a_post_counts_its_days_month_by_month_first_and_last_included(counted) -> None:
    found = counted(APost(1, date(2026, 1, 30), date(2026, 3, 2)))
    assert [(cell.month, cell.person_days) for cell in found.cells] == [
        (JANUARY, 2),  # 30 and 31 January
        (FEBRUARY, 28),
        (MARCH, 2),
    ]
    assert found.person_years == pytest.approx(32 / 365.25)


def test_an_open_post_counts_to_the_end_of_the_period_and_no_further(counted) -> None:
    assert days(counted(APost(1, date(2019, 5, 1)))) == [31, 28, 31]


def test_a_period_inside_a_month_counts_that_part_of_the_month(counted) -> None:
    rules = TimeRules(Period(date(2026, 1, 10), date(2026, 1, 12)), washout_days=0)
    assert days(counted(APost(1, date(2019, 5, 1)), rules=rules)) == [3]


def test_a_leap_day_is_a_day(counted) -> None:
    rules = TimeRules(Period(date(2024, 2, 1), date(2024, 2, 29)), washout_days=0)
    assert days(counted(APost(1, date(2019, 5, 1)), rules=rules)) == [29]


def test_overlapping_posts_share_a_day_and_never_count_it_twice(counted) -> None:
    found = counted(APost(1, JANUARY, area=1), APost(1, FEBRUARY, date(2026, 2, 28), area=2))
    assert days(found, area=1) == [31, 14, 31]
    assert days(found, area=2) == [14]


def test_a_shared_day_goes_by_the_hours_of_each_post(counted) -> None:
    found = counted(
        APost(1, FEBRUARY, date(2026, 2, 28), area=1, percent=60), APost(1, FEBRUARY, area=2, percent=20)
    )
    assert days(found, area=1) == [21]  # 28 days, three quarters
    assert days(found, area=2, month=FEBRUARY) == [7]


def test_part_time_counts_a_person_or_the_hours_as_chosen(counted) -> None:
    post = APost(1, FEBRUARY, date(2026, 2, 28), percent=50)
    assert days(counted(post)) == [28]
    assert days(counted(post, rules=TimeRules(QUARTER, 10, PartTime.HOURS))) == [14]


def test_hours_beyond_full_time_count_one_day_together(counted) -> None:
    posts = [APost(1, FEBRUARY, date(2026, 2, 28), area=area, percent=80) for area in (1, 2)]
    assert days(counted(*posts, rules=TimeRules(QUARTER, 10, PartTime.HOURS))) == [14, 14]


def test_leave_takes_its_days_out(counted) -> None:
    assert days(counted(APost(1, JANUARY), SomeLeave(1, date(2026, 1, 11), date(2026, 2, 10)))) == [
        10,
        18,
        31,
    ]


def test_an_extract_without_leave_says_what_that_does(counted) -> None:
    post, away = APost(1, JANUARY), SomeLeave(1, date(2026, 1, 11), date(2026, 2, 10))
    assert "holds no leave: its days count as time at risk" in counted(post).in_words
    assert "holds no leave" not in counted(post, away).in_words


def test_leave_during_a_case_is_not_taken_out_twice(counted) -> None:
    found = counted(
        APost(1, JANUARY), ACase(1, date(2026, 1, 5), date(2026, 1, 15)), SomeLeave(1, date(2026, 1, 10))
    )
    assert days(found) == [5]


def test_time_stops_the_day_after_a_case_opens_and_starts_after_the_wash_out(counted) -> None:
    found = counted(APost(1, JANUARY), ACase(1, date(2026, 1, 5), date(2026, 1, 10)))
    assert days(found) == [5 + 11, 28, 31]  # 1 to 5 January, and from the 21st: 10 days after the closing
    assert found.tally.counted == 1


def test_a_case_still_open_keeps_its_worker_out(counted) -> None:
    assert (
        days(counted(APost(1, JANUARY), ACase(1, date(2025, 6, 1)), APost(2, JANUARY, area=2)), area=1) == []
    )


def test_a_case_that_was_no_skin_trouble_changes_nothing(counted) -> None:
    found = counted(APost(1, JANUARY), ACase(1, date(2026, 1, 5), date(2026, 1, 10), "not_skin"))
    assert (days(found), found.tally.not_skin, found.tally.counted) == ([31, 28, 31], 1, 0)


# ---- Whose case -------------------------------------------------------------------------------------------


def test_a_case_belongs_to_the_post_of_the_day_with_most_hours(counted) -> None:
    posts = [APost(1, JANUARY, area=1, percent=40), APost(1, JANUARY, area=2, percent=60)]
    found = counted(*posts, ACase(1, date(2026, 2, 3)))
    assert [(cell.area, cell.month) for cell in found.cells if cell.cases] == [(2, FEBRUARY)]


def test_a_case_on_the_first_day_of_a_post_has_its_day_at_risk(counted) -> None:
    (cell,) = counted(APost(1, JANUARY), ACase(1, JANUARY)).cells
    assert cell == Cell(area=1, role=1, month=JANUARY, person_days=1, cases=1)


def test_no_case_is_dropped_without_a_number(counted) -> None:
    found = counted(
        APost(1, JANUARY, date(2026, 2, 28)),
        APost(2, JANUARY),
        ACase(1, date(2026, 1, 5), date(2026, 1, 10)),  # counted
        ACase(1, date(2026, 1, 20), date(2026, 1, 20)),  # in the wash-out, which ends on the 20th
        ACase(1, date(2026, 3, 1)),  # the day after the post
        ACase(3, date(2026, 1, 5)),  # nobody we know
        ACase(2, date(2025, 12, 1), date(2025, 12, 2)),  # before the period
        ACase(2, date(2026, 2, 2), date(2026, 2, 2)),  # on leave
        ACase(2, date(2026, 3, 1), date(2026, 3, 5), "not_skin"),
        ACase(2, date(2026, 3, 20)),  # two on one day: one is counted
        ACase(2, date(2026, 3, 20)),
        SomeLeave(2, date(2026, 2, 1), date(2026, 2, 5)),
    )
    tally = found.tally
    assert (tally.counted, tally.not_at_risk, tally.outside_posts) == (2, 2, 2)
    assert (tally.outside_period, tally.on_leave, tally.not_skin, tally.total) == (1, 1, 1, 9)
    assert sum(cell.cases for cell in found.cells) == 2
    assert "2 opened on a day without a post" in tally.in_words


def test_hospitals_are_pooled(tmp_path: Path, engine: "BaseBackend") -> None:
    one = write_small(tmp_path / "a", History((APost(1, FEBRUARY),), (ACase(1, date(2026, 3, 31)),)))
    two = write_small(tmp_path / "b", History((APost(2, MARCH),)), first_key=100)
    found = person_time(open_extract(one, two), RULES, engine)
    assert (days(found), found.tally.counted) == ([28, 62], 1)


# ---- What can't be counted --------------------------------------------------------------------------------


def test_zero_person_time_is_refused_and_the_cases_are_still_told(counted) -> None:
    with pytest.raises(NoTimeAtRisk, match="1 opened on a day without a post") as refused:
        counted(APost(1, date(2020, 1, 1), date(2020, 12, 31)), ACase(1, date(2026, 1, 5)))
    assert refused.value.tally.outside_posts == 1


@pytest.mark.parametrize(
    ("row", "says"),
    [
        (APost(1, FEBRUARY, date(2026, 1, 31)), "posts that end before they begin: 1"),
        (ACase(1, FEBRUARY, date(2026, 1, 31)), "cases that close before they open: 1"),
        (SomeLeave(1, FEBRUARY, date(2026, 1, 31)), "leave that ends before it begins: 1"),
        (APost(1, FEBRUARY, percent=0), "posts with hours that are not 1 to 100 % of full time: 1"),
        (APost(1, FEBRUARY, percent=101), "posts with hours that are not 1 to 100 % of full time: 1"),
    ],
)
def test_rows_that_can_not_be_are_refused_by_number(row, says: str, counted) -> None:
    with pytest.raises(UnusableRows, match=says):
        counted(APost(1, JANUARY), row)


def test_an_extract_pooled_with_itself_is_refused(tmp_path: Path, engine: "BaseBackend") -> None:
    one = write_small(tmp_path / "a", History((APost(1, JANUARY),)))
    again = Path(shutil.copytree(one, tmp_path / "b"))
    with pytest.raises(UnusableRows, match="posts that stand twice"):
        person_time(open_extract(one, again), RULES, engine)


def test_a_period_that_goes_on_after_the_extract_is_refused(tmp_path: Path, engine: "BaseBackend") -> None:
    folder = write_small(tmp_path, History((APost(1, JANUARY),)), on=date(2026, 3, 30))
    with pytest.raises(BadInput, match="the extract tells up to 2026-03-30"):
        person_time(open_extract(folder), RULES, engine)


@pytest.mark.parametrize("washout", [-1, 3651, 1.5, True])
def test_a_wash_out_that_can_not_be_is_refused(washout) -> None:
    with pytest.raises(BadInput, match="washout_days"):
        TimeRules(QUARTER, washout)


def relabel(file: Path, version: bytes) -> None:
    table = parquet.read_table(file)
    says = {**table.schema.metadata, VERSION_KEY: version}
    parquet.write_table(table.replace_schema_metadata(says), file)


@pytest.mark.parametrize(
    ("version", "todo"), [(b"0", "Write the extract again"), (str(VERSION + 1).encode(), "newer version")]
)
def test_another_schema_is_refused_with_what_to_do(version: bytes, todo: str, tmp_path: Path) -> None:
    folder = write_small(tmp_path, History())
    relabel(folder / "checks.parquet", version)
    with pytest.raises(OtherSchema, match=r"checks.parquet: has schema \d") as refused:
        open_extract(folder)
    assert todo in refused.value.todo


def test_half_an_extract_is_none(tmp_path: Path) -> None:
    folder = write_small(tmp_path, History())
    (folder / "stock.parquet").unlink()
    with pytest.raises(NotAnExtract, match=r"stock\.parquet: is not there"):
        open_extract(folder)
    with pytest.raises(NotAnExtract, match="No folder"):
        open_extract()


def test_a_file_of_another_make_is_refused(tmp_path: Path) -> None:
    folder = write_small(tmp_path, History())
    file = folder / "stock.parquet"
    parquet.write_table(parquet.read_table(file).select(["product"]), file)
    with pytest.raises(NotAnExtract, match="other columns than schema"):
        open_extract(folder)
    parquet.write_table(parquet.read_table(file).replace_schema_metadata(None), file)
    with pytest.raises(NotAnExtract, match="does not say which schema"):
        open_extract(folder)
    file.write_bytes(b"PAR1 or so")
    with pytest.raises(NotAnExtract, match="can't be read as Parquet"):
        open_extract(folder)


def test_a_column_that_may_not_be_empty_can_not_be_written_empty(tmp_path: Path) -> None:
    folder = write_small(tmp_path, History())
    with pytest.raises(Exception, match="null"):
        write_table(folder, "leave", [{"worker": None, "from_on": JANUARY, "until_on": None}])


# ---- One expression, several engines ----------------------------------------------------------------------


def busy_history(workers: int) -> History:
    """Movers, overlaps, part-time, leave and repeated cases, by chance from a fixed seed."""
    draw = Random(20261125)
    start = date(2025, 6, 1)

    def span(longest: int) -> tuple[date, date | None]:
        first = start + timedelta(days=draw.randrange(400))
        return first, None if draw.random() < 0.2 else first + timedelta(days=draw.randrange(longest))

    def someone() -> int:
        return draw.randrange(workers)

    return History(
        tuple(
            APost(someone(), *span(300), draw.randrange(4), draw.randrange(3), draw.choice([100, 80, 60, 33]))
            for _ in range(2 * workers)
        ),
        tuple(ACase(someone(), *span(90), draw.choice([None, "clear", "not_skin"])) for _ in range(workers)),
        tuple(SomeLeave(someone(), *span(60)) for _ in range(workers // 3)),
    )


@pytest.fixture(scope="module")
def busy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_small(tmp_path_factory.mktemp("busy"), busy_history(300))


def by_the_embedded_engine(folder: Path, rules: TimeRules) -> PersonTime:
    with embedded_engine() as engine:
        return person_time(open_extract(folder), rules, engine)


@pytest.mark.parametrize("part_time", PartTime)
def test_a_second_engine_agrees_row_for_row(part_time: PartTime, busy: Path) -> None:
    rules = TimeRules(Period(date(2025, 7, 10), date(2026, 6, 20)), 45, part_time)
    one = by_the_embedded_engine(busy, rules)
    two = person_time(open_extract(busy), rules, ibis.datafusion.connect())
    assert one.table.num_rows > 100
    assert two.table.to_pylist() == one.table.to_pylist()
    assert two.tally == one.tally


SPARK = """
import json, sys
from pathlib import Path
import ibis
from pyspark.sql import SparkSession
from thenar.population.extract_schema import open_extract
from thenar.population.person_time import person_time
from thenar.population.person_time_rules import TimeRules
from thenar.population.stated import Period
from datetime import date

settings = {
    "spark.ui.enabled": "false",
    "spark.sql.shuffle.partitions": "2",
    "spark.driver.host": "127.0.0.1",
}
builder = SparkSession.builder.master("local[2]")
for name, value in settings.items():
    builder = builder.config(name, value)
rules = TimeRules(Period(date(2025, 7, 10), date(2026, 6, 20)), 45)
found = person_time(open_extract(Path(sys.argv[1])), rules, ibis.pyspark.connect(builder.getOrCreate()))
rows = [[c.area, c.role, str(c.month), c.person_days, c.cases] for c in found.cells]
Path(sys.argv[2]).write_text(json.dumps([rows, found.tally.in_words]))
"""


@pytest.mark.slow
@pytest.mark.skipif(not (find_spec("pyspark") and shutil.which("java")), reason="needs pyspark and Java")
def test_a_distributed_engine_agrees_row_for_row(busy: Path, tmp_path: Path) -> None:
    """Spark runs here on one machine, as it would on many: same query, unchanged."""
    told = tmp_path / "told.json"
    subprocess.run(
        [sys.executable, "-W", "ignore", "-c", SPARK, str(busy), str(told)], check=True, capture_output=True
    )
    one = by_the_embedded_engine(busy, TimeRules(Period(date(2025, 7, 10), date(2026, 6, 20)), 45))
    rows = [[c.area, c.role, str(c.month), c.person_days, c.cases] for c in one.cells]
    assert json.loads(told.read_text()) == [rows, one.tally.in_words]


# ---- Quick to start ---------------------------------------------------------------------------------------


def test_help_does_not_wait_for_the_engine() -> None:
    asked = "import sys; from thenar.cli import main; main(['--help'], standalone_mode=False)"
    seen = f"{asked}; print([m for m in ('duckdb', 'ibis', 'pyarrow') if m in sys.modules])"
    told = subprocess.run([sys.executable, "-c", seen], check=True, capture_output=True, text=True).stdout
    assert told.splitlines()[-1] == "[]"
    assert "extract" in told
