"""docs/reference/files.md names the columns that are read in, all of them, and no other."""

import re
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import pytest

from thenar.allergy.declared import ListKind
from thenar.allergy.patch_test import GRADE_WORDS, Kind
from thenar.allergy.product import Category
from thenar.exchange import (
    observations,
    patch_test_columns,
    patch_tests,
    product_columns,
    product_list,
    task_columns,
    task_list,
    workbook,
)
from thenar.records.actions import products

PAGE = Path(__file__).parents[2] / "docs" / "reference" / "files.md"


@dataclass(frozen=True)
class Column:
    """A column as the page tells of it."""

    name: str
    also: tuple[str, ...]
    needed: bool
    holds: str


def columns_under(heading: str) -> list[Column]:
    section = PAGE.read_text(encoding="utf-8").split(f"\n## {heading}\n", 1)[1].split("\n## ", 1)[0]
    rows = [line.strip("|").split("|") for line in section.splitlines() if line.startswith("| `")]
    return [
        Column(
            name=cells[0].strip(" `"),
            also=tuple(re.findall(r"`([^`]+)`", cells[1])),
            needed={"yes": True, "no": False}[cells[2].strip()],
            holds=cells[3].strip(),
        )
        for cells in rows
    ]


def observations_field(header: str) -> str:
    """The field the reader takes a header for."""
    read = observations.read_observations(
        f"{header},moon\n1,2\n".encode(), name="f.csv", today=date(2026, 3, 2), areas=[], roles=[]
    )
    (field,) = read.columns
    return field


def tasks_field(header: str) -> str:
    """The field the reader takes a header for."""
    (field,) = task_columns.map_columns([header, "moon"], 1).places
    return field


def products_field(header: str) -> str:
    """The field the reader takes a header for."""
    (field,) = product_columns.map_columns([header, "moon"], 1).places
    return field


def patch_tests_field(header: str) -> str:
    """The field the reader takes a header for."""
    (field,) = patch_test_columns.find_columns([header, "moon"], 1)[0]
    return field


READERS = {
    "Observed sessions": (observations_field, observations.CALLED, observations.HEADERS.means),
    "Task lists": (tasks_field, task_columns.CALLED, task_columns._MEANS),
    "Patch tests": (patch_tests_field, patch_test_columns.CALLED, patch_test_columns.HEADERS.means),
    "Products": (products_field, product_columns.CALLED, product_columns.HEADERS.means),
}


@pytest.mark.parametrize("heading", READERS)
def test_the_page_names_every_column_by_the_header_messages_use(heading: str) -> None:
    assert [column.name for column in columns_under(heading)] == list(READERS[heading][1].values())


@pytest.mark.parametrize("heading", READERS)
def test_every_name_on_the_page_is_read_as_its_column(heading: str) -> None:
    field_of, called, _ = READERS[heading]
    for field, column in zip(called, columns_under(heading), strict=True):
        for header in (column.name, *column.also, column.name.upper()):
            assert field_of(header) == field, header


@pytest.mark.parametrize("heading", READERS)
def test_no_name_that_is_read_is_left_out_of_the_page(heading: str) -> None:
    told = {
        re.sub(r"\W", "", name).casefold()
        for column in columns_under(heading)
        for name in (column.name, *column.also)
    }
    assert set(READERS[heading][2]) == told


def test_the_page_says_which_columns_must_be_there() -> None:
    needed = [column.needed for column in columns_under("Observed sessions")]
    assert needed == [field in observations.NEEDED for field in observations.CALLED]
    needed = [column.needed for column in columns_under("Task lists")]
    assert needed == [field not in task_columns.OPTIONAL for field in task_columns.CALLED]
    needed = [column.needed for column in columns_under("Products")]
    assert needed == [field in product_columns.NEEDED for field in product_columns.CALLED]
    needed = [column.needed for column in columns_under("Patch tests")]
    assert needed == [field in patch_test_columns.NEEDED for field in patch_test_columns.CALLED]


def test_the_page_gives_the_limits_the_readers_hold_to() -> None:
    text = PAGE.read_text(encoding="utf-8")
    assert f"at\nmost {observations.MAX_ROWS:,}." in text
    assert f"at most {task_list.MAX_ROWS:,}." in text
    holds = dict(zip(task_columns.CALLED, (one.holds for one in columns_under("Task lists")), strict=True))
    for field, most in task_list.MOST.items():
        assert f"0 to {most}" in holds[field]
    assert f"1 to {task_list.MOST_PEOPLE};" in holds["people"]
    assert f"at most {task_list.LONGEST_TASK} characters" in holds["task"]
    assert f"1 to {task_list.DAYS}" in holds["day"]


def test_the_page_gives_the_limits_and_words_of_products() -> None:
    text = PAGE.read_text(encoding="utf-8")
    assert f"One row for each product; at most {product_list.MAX_ROWS:,}." in text
    assert f"at most {workbook.MAX_UNPACKED_BYTES // 1_000_000} MB unpacked" in text
    holds = dict(zip(product_columns.CALLED, (one.holds for one in columns_under("Products")), strict=True))
    assert f"at most {product_list.MAX_TEXT_CHARACTERS:,} characters" in holds["text"]
    for field, most in (
        ("code", products.LONGEST_CODE),
        ("name", products.LONGEST_NAME),
        ("read_from", products.LONGEST_READ_FROM),
    ):
        assert f"at most {most} characters" in holds[field]
    for field, words in (("category", Category), ("list_kind", ListKind)):
        assert all(word in holds[field] for word in words)


def test_the_page_gives_the_limits_and_words_of_patch_tests() -> None:
    text = PAGE.read_text(encoding="utf-8")
    assert f"one row for each reading, at most {patch_tests.MAX_ROWS:,}." in text
    columns = columns_under("Patch tests")
    holds = dict(zip(patch_test_columns.CALLED, (one.holds for one in columns), strict=True))
    assert f"at most {patch_tests.MAX_CELL_CHARACTERS} characters" in holds["concentration"]
    for field, words in (("kind", Kind), ("category", Category), ("grade", GRADE_WORDS.values())):
        assert all(word in holds[field] for word in words)
