"""`thenar import staff`: told first, then all or nothing, with an exit code that scripts can rely on."""

import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from unittest import mock

import pytest
from click.testing import CliRunner, Result

from tests.conftest import House
from thenar.cli import main
from thenar.records.models import AuditRow, Post, StaffListImport, Worker

HEAD = "Staff no;Surname;First name;Ward;Role\n"
WANDA = "1001;Example;Wanda;Ward 1;Nurse\n"
YUSUF = "1002;Example;Yusuf;Ward 2;Nurse\n"
BO_JOINS = HEAD + WANDA + YUSUF + "0042;Lind;Bo;Ward 1;Cook\n"
BORN = "Staff no;Surname;First name;Ward;Role;Born\n"


@pytest.fixture(autouse=True)
def _database_of_the_tests() -> Iterator[None]:
    """The check of the database closes its connection, which a test's open transaction would not survive."""
    with mock.patch("thenar.cli.imports.refuse_old_database"):
        yield


@pytest.fixture
def thenar(house: House, tmp_path: Path) -> Callable[..., Result]:
    """Import a list with these options."""

    def run(content: str | bytes, *options: str, by: str = "clara") -> Result:
        file = tmp_path / "staff.csv"
        file.write_bytes(content.encode() if isinstance(content, str) else content)
        return CliRunner().invoke(main, ["import", "staff", str(file), "--by", by, *options])

    return run


def nothing_changed() -> bool:
    return (Worker.objects.filter(left_on=None).count(), StaffListImport.objects.count()) == (2, 0)


def test_a_list_is_told_and_taken_over(thenar) -> None:
    done = thenar(BO_JOINS)
    assert done.exit_code == 0, done.output
    assert "staff.csv: UTF-8, cells divided by semicolons." in done.stdout
    assert "        1 join\n" in done.stdout
    assert "        2 stay as they are\n" in done.stdout
    assert "New role: Cook" in done.stdout
    kept = StaffListImport.objects.get()
    assert f"Taken over. Reference {kept.ref}." in done.stdout
    assert (kept.joiners, bytes(kept.raw), kept.by.username) == (1, b"", "clara")
    assert Worker.objects.filter(staff_number="0042").exists()


def test_a_dry_run_tells_the_same_and_changes_nothing(thenar) -> None:
    done = thenar(BO_JOINS, "--dry-run")
    assert done.exit_code == 0
    assert "        1 join\n" in done.stdout
    assert "Dry run: nothing was changed." in done.stdout
    assert nothing_changed()


@pytest.mark.parametrize("options", [(), ("--dry-run",)])
def test_problems_are_told_by_line_and_column_and_leave_with_2(thenar, options) -> None:
    done = thenar(HEAD + WANDA + YUSUF + "9;Lind;Bo;;Nurse\n", *options)
    assert done.exit_code == 2
    assert "Line 4, column 'Ward': The area is missing. Fill it in." in done.stdout
    assert done.stderr.splitlines()[0] == "The list has a problem to put right."
    assert len(done.stderr.splitlines()) == 3
    assert nothing_changed()


@pytest.mark.parametrize("options", [(), ("--dry-run",)])
def test_something_unusual_leaves_with_2_until_it_is_confirmed(thenar, options) -> None:
    done = thenar(HEAD + YUSUF, *options)
    assert done.exit_code == 2
    assert "Unusual: 1 of 2 current workers is not on the list" in done.stdout
    assert "was not confirmed" in done.stderr
    assert nothing_changed()
    assert thenar(HEAD + YUSUF, "--confirm-unusual", *options).exit_code == 0
    assert nothing_changed() == bool(options)


@pytest.mark.parametrize(("option", "born"), [("--day-first", "1991-04-03"), ("--month-first", "1991-03-04")])
def test_dates_that_can_be_read_both_ways_wait_for_an_answer(thenar, option, born) -> None:
    content = BORN + "1001;Example;Wanda;Ward 1;Nurse;03/04/1991\n1002;Example;Yusuf;Ward 2;Nurse;\n"
    asked = thenar(content)
    assert asked.exit_code == 2
    assert "--day-first or --month-first" in asked.stderr
    assert nothing_changed()
    assert thenar(content, option).exit_code == 0
    assert Worker.objects.get(staff_number="1001").born_on.isoformat() == born


@pytest.mark.parametrize(
    "content", [b"", b"PK\x03\x04", b"%PDF", b"Staff no;Ward\n\x00", b"a;" * 300 + b"\n"]
)
def test_a_file_that_is_no_table_leaves_with_2_and_nothing_behind(thenar, content) -> None:
    done = thenar(content)
    assert done.exit_code == 2
    assert len(done.stderr.splitlines()) == 3
    assert nothing_changed()


@pytest.mark.parametrize("name", ["absent.csv", "."])
def test_a_path_that_cannot_be_read_leaves_with_2(house, tmp_path, name) -> None:
    done = CliRunner().invoke(main, ["import", "staff", str(tmp_path / name), "--by", "clara"])
    assert done.exit_code == 2
    assert "can't be read" in done.stderr


def test_a_file_over_twenty_megabytes_is_refused_unread(thenar) -> None:
    with (
        mock.patch("thenar.exchange.delimited.MAX_BYTES", 100),
        mock.patch.object(Path, "read_bytes") as read,
    ):
        done = thenar(BO_JOINS)
    assert done.exit_code == 2
    assert "MB are read" in done.stderr
    read.assert_not_called()


@pytest.mark.parametrize("who", ["alice", "mona", "wanda"])
def test_someone_who_may_not_leaves_with_3_and_is_told_nothing_of_the_staff(thenar, who) -> None:
    done = thenar(BO_JOINS, by=who)
    assert (done.exit_code, done.stdout) == (3, "")
    assert nothing_changed()


def test_an_account_that_does_not_exist_leaves_with_2(thenar) -> None:
    done = thenar(BO_JOINS, by="nobody")
    assert done.exit_code == 2
    assert done.stderr.startswith("There is no account 'nobody'.")


def test_without_a_name_to_answer_for_it_nothing_is_read(house, tmp_path) -> None:
    assert CliRunner().invoke(main, ["import", "staff", str(tmp_path / "a.csv")]).exit_code == 2


def test_a_staff_that_changes_meanwhile_leaves_with_4_and_nothing_behind(thenar, house) -> None:
    from thenar.exchange import staff_import

    looked = staff_import.dry_run

    def then_changed(**given):
        run = looked(**given)
        Post.objects.filter(worker=house.wanda).update(area=house.ward_2)
        return run

    with mock.patch("thenar.exchange.staff_import.dry_run", then_changed):
        done = thenar(BO_JOINS)
    assert done.exit_code == 4
    assert done.stderr.startswith("The staff has changed since you looked.")
    assert nothing_changed()


def test_no_name_or_number_is_printed_or_noted(thenar) -> None:
    bad = "9001;Lindqvist;Bartholomew;;Nurse\n" * 2
    done = thenar(BO_JOINS + bad)
    taken = thenar(BO_JOINS)
    told = done.output + taken.output + " ".join(AuditRow.objects.values_list("why", flat=True))
    for secret in ("Lindqvist", "Bartholomew", "9001", "0042", "Wanda", "Yusuf"):
        assert secret not in told


@pytest.mark.slow
def test_from_an_empty_folder_to_a_staff(tmp_path) -> None:
    """The real command, in processes of their own, on a database of its own."""
    place = {name: value for name, value in os.environ.items() if name not in ("THENAR_DATABASE_URL",)}
    place |= {"THENAR_DATA": str(tmp_path / "data"), "DJANGO_SETTINGS_MODULE": "thenar.site.settings"}
    file = tmp_path / "staff.csv"
    file.write_text(BO_JOINS, encoding="utf-8")

    def run(*arguments: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, "-c", *arguments], env=place, capture_output=True, text=True, check=False
        )

    command = ("from thenar.cli import main; main()", "import", "staff", str(file), "--by", "clara")
    assert run(*command).returncode == 4
    assert run("from thenar.cli import main; main()", "migrate").returncode == 0
    made = run(
        "import django; django.setup(); from thenar.records.models import User;"
        "User.objects.create_user(username='clara', password=None, access='clerk')"
    )
    assert made.returncode == 0, made.stderr
    done = run(*command)
    assert done.returncode == 0, done.stderr
    assert "3 join" in done.stdout
    again = run(*command)
    assert "3 stay as they are" in again.stdout
