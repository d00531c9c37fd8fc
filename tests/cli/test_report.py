"""`thenar report area`: the area as it stands, or an assessment as it was kept; JSON or PDF."""

import json
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from unittest import mock

import pytest
from click.testing import CliRunner, Result
from pytest_django import Settings

from tests.conftest import NOW, House
from tests.web.watched import watched
from thenar.cli import main
from thenar.knowledge import Book
from thenar.records.actions.assessments import record_assessment
from thenar.records.models import AreaAssessment


@pytest.fixture(autouse=True)
def _house_of_the_tests(settings: Settings) -> Iterator[None]:
    """The check of the database closes its connection, which a test's open transaction would not survive."""
    settings.JURISDICTION = "DE"
    settings.OH_TELEPHONE, settings.OH_EMAIL = "extension 4000", "oh@saltmere.example"
    with mock.patch("thenar.cli.report.refuse_old_database"):
        yield


@pytest.fixture
def report(house: House, book: Book) -> Callable[..., Result]:
    watched(house, book)
    return lambda *words: CliRunner().invoke(main, ["report", "area", *words])


def test_without_pdf_it_prints_json(report: Callable[..., Result]) -> None:
    done = report("ward 1")
    assert done.exit_code == 0, done.output
    told = json.loads(done.stdout)
    assert (told["area"], told["number"]) == ("Ward 1", None)
    washes = next(one for one in told["roles"][0]["loads"] if one["what"] == "Washes")
    assert washes["expected"] == "24"  # 30.5 acts in 10 h, over 8 h: 24.4


def test_a_pdf_goes_into_the_file_or_down_the_pipe(report: Callable[..., Result], tmp_path: Path) -> None:
    file = tmp_path / "ward.pdf"
    assert report("Ward 1", "--pdf", "-o", str(file)).exit_code == 0
    assert file.read_bytes().startswith(b"%PDF")
    assert report("Ward 1", "--pdf").stdout_bytes == file.read_bytes()


def test_a_kept_assessment_is_told_as_it_was_kept(report: Callable[..., Result], house: House) -> None:
    content = {**json.loads(report("Ward 1").stdout), "number": 1}
    record_assessment(
        area=house.ward_1,
        review_on=date(2026, 9, 1),
        content_for=lambda _: content,
        edition="2026.1",
        by=house.alice,
        now=NOW,
    )
    assert AreaAssessment.objects.count() == 1
    assert json.loads(report("Ward 1", "--number", "1").stdout) == content


def test_an_unknown_area_or_number_leaves_with_2_and_says_what_there_is(
    report: Callable[..., Result],
) -> None:
    nowhere = report("ward")
    assert nowhere.exit_code == 2
    assert "Did you mean: Ward 1; Ward 2?" in nowhere.stderr
    absent = report("Ward 1", "--number", "4")
    assert absent.exit_code == 2
    assert "Kept assessments: none." in absent.stderr


def test_a_file_that_can_not_be_written_leaves_with_2(report: Callable[..., Result], tmp_path: Path) -> None:
    done = report("Ward 1", "-o", str(tmp_path / "no" / "ward.json"))
    assert done.exit_code == 2
    assert "can't be written" in done.stderr
