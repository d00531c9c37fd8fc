"""`thenar extract`: a new folder each time, with fresh keys; names only beside it, and only if asked for."""

from collections.abc import Callable, Iterator
from pathlib import Path
from unittest import mock

import pytest
from click.testing import CliRunner, Result
from pyarrow import parquet

from tests.conftest import House
from thenar.cli import main
from thenar.population.extract_schema import TABLES, open_extract


@pytest.fixture(autouse=True)
def _database_of_the_tests() -> Iterator[None]:
    """The check of the database closes its connection, which a test's open transaction would not survive."""
    with mock.patch("thenar.cli.extract.refuse_old_database"):
        yield


@pytest.fixture
def extract(house: House, tmp_path: Path) -> Callable[..., Result]:
    def run(*options: str, folder: str = "out", by: str = "alice") -> Result:
        return CliRunner().invoke(main, ["extract", str(tmp_path / folder), "--by", by, *options])

    return run


def workers(folder: Path) -> set[int]:
    return set(parquet.read_table(folder / "posts.parquet")["worker"].to_pylist())


def test_it_writes_every_table_and_says_how_many_rows(extract: Callable[..., Result], tmp_path: Path) -> None:
    done = extract()
    assert done.exit_code == 0, done.output
    assert "        2 posts\n" in done.stdout
    assert open_extract(tmp_path / "out").folders == (tmp_path / "out",)
    assert {file.stem for file in (tmp_path / "out").iterdir()} == set(TABLES)


def test_keys_are_fresh_each_time(extract: Callable[..., Result], tmp_path: Path) -> None:
    extract(folder="one")
    extract(folder="two")
    assert len(workers(tmp_path / "one")) == 2
    assert not workers(tmp_path / "one") & workers(tmp_path / "two")


def test_names_are_written_only_if_asked_for_and_never_inside(
    extract: Callable[..., Result], tmp_path: Path
) -> None:
    inside = extract("--names", str(tmp_path / "out" / "names.csv"))
    assert (inside.exit_code, (tmp_path / "out").exists()) == (2, False)
    assert "The names would stand inside the extract." in inside.stderr
    names = tmp_path / "names.csv"
    assert extract("--names", str(names)).exit_code == 0
    told = dict(line.split(",")[:0:-1] for line in names.read_text().splitlines())
    area = parquet.read_table(tmp_path / "out" / "posts.parquet")["area"].to_pylist()[0]
    assert told["Ward 1"] == str(area)
    assert "Wanda" not in names.read_text()
    assert names.stat().st_mode & 0o077 == 0


def test_names_of_another_extract_are_not_written_over(
    extract: Callable[..., Result], tmp_path: Path
) -> None:
    names = tmp_path / "names.csv"
    names.write_text("of another one")
    done = extract("--names", str(names))
    assert (done.exit_code, names.read_text(), (tmp_path / "out").exists()) == (4, "of another one", False)


@pytest.mark.parametrize(
    ("by", "code", "says"),
    [("clara", 3, "can't see clinical records"), ("nobody", 2, "There is no account 'nobody'")],
)
def test_it_asks_who_answers_for_it(
    by: str, code: int, says: str, extract: Callable[..., Result], tmp_path: Path
) -> None:
    done = extract(by=by)
    assert done.exit_code == code
    assert says in done.stderr
    assert not (tmp_path / "out").exists()


def test_leave_is_read_from_a_file(extract: Callable[..., Result], tmp_path: Path) -> None:
    file = tmp_path / "leave.csv"
    missing = extract("--leave", str(file))
    assert (missing.exit_code, (tmp_path / "out").exists()) == (2, False)
    file.write_text("staff number,from,until\n1001,2026-01-01,2026-01-31\n")
    assert "        1 leave\n" in extract("--leave", str(file)).stdout


def test_a_folder_in_use_leaves_with_4(extract: Callable[..., Result]) -> None:
    extract()
    again = extract()
    assert again.exit_code == 4
    assert "Name a new folder." in again.stderr
