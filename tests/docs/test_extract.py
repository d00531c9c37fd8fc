"""docs/reference/extract.md names every column of the extract, what it holds, and no other; its code runs."""

import os
import re
import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest

from tests.unit.small_extract import ACase, APost, History, write_small
from thenar.exchange.extract_rows import age_band
from thenar.population.extract_schema import TABLES, VERSION
from thenar.records.models.cases import CLOSING_OUTCOMES
from thenar.records.models.checks import SORTING_DECISIONS

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "reference" / "extract.md").read_text(encoding="utf-8")


def columns_told(table: str) -> list[tuple[str, str]]:
    section = PAGE.split(f"\n## {table}\n", 1)[1].split("\n## ", 1)[0]
    return re.findall(r"^\| `(\w+)` \| ([^|]+) \|", section, re.MULTILINE)


@pytest.mark.parametrize("table", TABLES)
def test_the_page_tells_every_column_and_no_other(table: str) -> None:
    held = [(one.name, one.holds + (" or empty" if one.may_be_empty else "")) for one in TABLES[table]]
    assert columns_told(table) == held


def test_the_page_tells_the_version_the_codes_and_the_bands() -> None:
    assert f"**Schema {VERSION}.**" in PAGE
    for code, _ in [*CLOSING_OUTCOMES, *SORTING_DECISIONS]:
        assert code in PAGE
    born = date(1990, 1, 1)
    bands = {age_band(born, date(1990 + age, 6, 1)) for age in range(16, 80)}
    squeezed = " ".join(PAGE.split())
    assert len(bands) == 5
    assert all(band in squeezed for band in bands)


def test_the_code_on_the_page_runs(tmp_path: Path) -> None:
    history = History((APost(1, date(2024, 1, 1)),), (ACase(1, date(2025, 6, 30)),))
    write_small(tmp_path / "extract", history)
    code = PAGE.split("```python\n")[1].split("```")[0]
    told = subprocess.run(
        [sys.executable, "-W", "ignore", "-c", code],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(ROOT / "src")},
        check=True,
        capture_output=True,
        text=True,
    ).stdout
    assert "90 days after it closes" in told
    assert "Cases: 1; 1 counted as new" in told
    assert len(told.splitlines()) == 1 + 6  # one line in words, then January to June
