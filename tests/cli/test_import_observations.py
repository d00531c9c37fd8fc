"""`thenar import observations`: told first, then all or nothing, and the same file once."""

from collections.abc import Callable, Iterator
from pathlib import Path
from unittest import mock

import pytest
from click.testing import CliRunner, Result

from tests.conftest import House
from thenar.cli import main
from thenar.records.models import AuditRow, ObservedSession

HEAD = "area,role,observer,day,shift part,minutes,washes,rubs\n"
GOOD = "Ward 1,Nurse,AB,2026-03-01,early,40,3,\nWard 2,Nurse,CD,2026-03-01,night,80,0,7\n"


@pytest.fixture(autouse=True)
def _database_of_the_tests() -> Iterator[None]:
    """The check of the database closes its connection, which a test's open transaction would not survive."""
    with mock.patch("thenar.cli.imports.refuse_old_database"):
        yield


@pytest.fixture
def thenar(house: House, tmp_path: Path) -> Callable[..., Result]:
    def run(content: str | bytes, *options: str, by: str = "alice") -> Result:
        file = tmp_path / "sessions.csv"
        file.write_bytes(content.encode() if isinstance(content, str) else content)
        return CliRunner().invoke(main, ["import", "observations", str(file), "--by", by, *options])

    return run


def nothing_recorded() -> bool:
    return not ObservedSession.objects.exists() and not AuditRow.objects.exists()


def test_sessions_are_told_and_recorded(thenar, house: House) -> None:
    done = thenar(HEAD + GOOD)
    assert done.exit_code == 0, done.output
    assert "sessions.csv: UTF-8, cells divided by commas." in done.stdout
    assert "        2 sessions, 2.0 hours watched" in done.stdout
    first, second = ObservedSession.objects.order_by("pk")
    assert f"Recorded. Reference of the first session {first.ref}." in done.stdout
    assert (first.area, first.by, first.came_by) == (house.ward_1, house.alice, "file")
    assert first.counts == {"minutes_observed": 40, "whole_shift": False, "washes": 3}
    assert second.counts == {"minutes_observed": 80, "whole_shift": False, "washes": 0, "rubs": 7}


def test_one_session_is_told_as_one(thenar) -> None:
    assert "        1 session, 0.7 hours watched" in thenar(HEAD + GOOD.splitlines()[0] + "\n").stdout


def test_a_dry_run_tells_the_same_and_records_nothing(thenar) -> None:
    done = thenar(HEAD + GOOD, "--dry-run")
    assert done.exit_code == 0
    assert "        2 sessions, 2.0 hours watched" in done.stdout
    assert "Dry run: nothing was recorded." in done.stdout
    assert nothing_recorded()


@pytest.mark.parametrize("options", [(), ("--dry-run",), ("--confirm",)])
def test_one_bad_row_keeps_the_whole_file_out(thenar, options) -> None:
    done = thenar(HEAD + GOOD + "Ward 9,Nurse,AB,2026-03-01,early,40,3,\n", *options)
    assert done.exit_code == 2
    assert "Line 4, column 'area': No area of that name is known here." in done.stdout
    assert done.stderr.startswith("The file has a problem to put right.")
    assert nothing_recorded()


def test_counts_that_contradict_each_other_are_named_by_line(thenar) -> None:
    head = HEAD.replace("rubs", "gel rubs").replace("washes", "rubs")
    done = thenar(head + "Ward 1,Nurse,AB,2026-03-01,early,40,3,4\n")
    assert done.exit_code == 2
    assert "Line 2: Gel rubs (4) do not fit rubs (3)." in done.stdout
    assert nothing_recorded()


def test_absurd_counts_are_asked_back_and_recorded_once_confirmed(thenar) -> None:
    absurd = HEAD + "Ward 1,Nurse,AB,2026-03-01,early,480,300,\n"
    asked = thenar(absurd)
    assert asked.exit_code == 2
    assert "Line 2: 300 washes in one shift: more than 150 are asked back." in asked.stdout
    assert nothing_recorded()
    assert thenar(absurd, "--confirm").exit_code == 0
    assert ObservedSession.objects.count() == 1


def test_the_same_file_read_in_twice_is_recorded_once(thenar) -> None:
    first = thenar(HEAD + GOOD)
    again = thenar(HEAD + GOOD, "--confirm")
    assert again.exit_code == 0
    assert again.stdout.splitlines()[-1] == first.stdout.splitlines()[-1]
    assert ObservedSession.objects.count() == 2


def test_a_session_that_is_recorded_or_stands_twice_is_asked_back(thenar) -> None:
    assert thenar(HEAD + GOOD).exit_code == 0
    row = "Ward 1,Nurse,XY,2026-03-01,late,40,1,\n"
    done = thenar(HEAD + GOOD + row + row)
    assert done.exit_code == 2
    assert "Line 2: The same session is already recorded." in done.stdout
    assert "Line 5: The same session is on line 4 too." in done.stdout
    assert ObservedSession.objects.count() == 2


@pytest.mark.parametrize(("option", "day"), [("--day-first", "2026-02-01"), ("--month-first", "2026-01-02")])
def test_dates_that_can_be_read_both_ways_wait_for_an_answer(thenar, option, day) -> None:
    content = HEAD + "Ward 1,Nurse,AB,01/02/2026,early,40,3,\n"
    asked = thenar(content)
    assert asked.exit_code == 2
    assert "--day-first or --month-first" in asked.stderr
    assert nothing_recorded()
    assert thenar(content, option).exit_code == 0
    assert ObservedSession.objects.get().observed_on.isoformat() == day


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04", HEAD.encode() + b"\x00"])
def test_a_file_that_is_no_table_leaves_with_2(thenar, content) -> None:
    done = thenar(content)
    assert done.exit_code == 2
    assert len(done.stderr.splitlines()) == 3
    assert nothing_recorded()


@pytest.mark.parametrize("who", ["clara", "mona", "ada", "wanda"])
def test_someone_who_may_not_observe_leaves_with_3(thenar, who) -> None:
    done = thenar(HEAD + GOOD, by=who)
    assert (done.exit_code, done.stdout) == (3, "")
    assert nothing_recorded()


def test_an_account_that_does_not_exist_leaves_with_2(thenar) -> None:
    assert thenar(HEAD + GOOD, by="nobody").stderr.startswith("There is no account 'nobody'.")


def test_a_path_that_cannot_be_read_leaves_with_2(house: House, tmp_path: Path) -> None:
    done = CliRunner().invoke(main, ["import", "observations", str(tmp_path / "absent.csv"), "--by", "alice"])
    assert done.exit_code == 2
    assert "can't be read" in done.stderr


def test_no_observer_is_printed_or_noted(thenar) -> None:
    done = thenar((HEAD + GOOD).replace("AB", "Quirin Observer"))
    assert "Quirin" not in done.output + " ".join(AuditRow.objects.values_list("why", flat=True))
