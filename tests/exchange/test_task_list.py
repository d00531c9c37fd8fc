"""A task list is read by row and column, and what nobody wrote down is never taken for nothing."""

from datetime import date

import pytest

from thenar.errors import BadInput
from thenar.exchange.task_list import TaskList, TaskRow, Team, as_content, from_content, read_task_list

FIRST = date(2026, 3, 2)
HEAD = (
    "Day,Part,Task,Washes,Wet minutes,Glove minutes,Pairs,Soap,Latex,Patient contact,People,Who can,Done by\n"
)
TEAM = Team.of(
    [
        ("1001", "Wanda Example", "Nurse"),
        ("1003", "Bo Berg", "Nurse"),
        ("1004", "Ann Rae", "Healthcare assistant"),
        ("1005", "Ann Rae", "Nurse"),
    ]
)


def read(rows: str, head: str = HEAD, **more: object) -> TaskList:
    return read_task_list((head + rows).encode(), name="tasks.csv", first_day=FIRST, team=TEAM, **more)  # type: ignore[arg-type]


def problems(rows: str, head: str = HEAD) -> list[str]:
    return [str(problem) for problem in read(rows, head).problems]


def test_a_row_is_read_with_its_loads_its_flags_and_its_people() -> None:
    listed = read("1,early,Bed baths,6,25,30,5,yes,no,Yes,2,nurse; healthcare assistant,1001;Bo  Berg\n")
    assert listed.problems == ()
    assert listed.can_be_kept
    assert listed.rows == (
        TaskRow(
            day=0,
            part="early",
            task="Bed baths",
            washes=6,
            wet_minutes=25,
            glove_minutes=30,
            pairs=5,
            soap=True,
            latex=False,
            patient_contact=True,
            people=2,
            roles=("Nurse", "Healthcare assistant"),
            only=(),
            now=("1001", "1003"),
        ),
    )


@pytest.mark.parametrize("written", ["2026-03-04", "4 March 2026", "3", "04.03.2026"])
def test_a_day_is_a_date_or_a_number_from_the_first_day(written: str) -> None:
    # 2 March is day 0; 4 March is two days on. "04.03.2026" could be 3 April, so it is asked about.
    listed = read(f"{written},late,Bed baths,1,1,1,1,no,no,no,1,Nurse,\n")
    if written == "04.03.2026":
        assert "could be two days" in str(listed.problems[0])
    else:
        assert [row.day for row in listed.rows] == [2]


def test_a_semicolon_list_from_a_spreadsheet_is_read_too() -> None:
    head = HEAD.replace(",", ";")
    listed = read('1;early;Bed baths;6;25;30;5;yes;no;yes;2;"Nurse|Healthcare assistant";\n', head)
    assert listed.rows[0].roles == ("Nurse", "Healthcare assistant")


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("1,early,Bed baths,-6,25,30,5,yes,no,yes,2,Nurse,", "Line 2, column 'Washes': -6 is below 0."),
        ("1,early,Bed baths,6,2.5,30,5,yes,no,yes,2,Nurse,", "column 'Wet minutes': 2.5 is not whole."),
        ("1,early,Bed baths,6,many,30,5,yes,no,yes,2,Nurse,", "column 'Wet minutes': This is not a number."),
        (
            "1,early,Bed baths,300,25,30,5,yes,no,yes,2,Nurse,",
            "column 'Washes': 300 is too much for one task",
        ),
        (
            "1,early,Bed baths,,25,30,5,yes,no,yes,2,Nurse,",
            "column 'Washes': This cell is empty. Fill it in, or 0",
        ),
        ("1,early,Bed baths,6,25,30,5,,no,yes,2,Nurse,", "column 'Soap': This cell is empty."),
        ("1,early,Bed baths,6,25,30,5,perhaps,no,yes,2,Nurse,", "column 'Soap': This is neither yes nor no."),
        ("1,noon,Bed baths,6,25,30,5,yes,no,yes,2,Nurse,", "column 'Part': This is no part of a day."),
        ("15,early,Bed baths,6,25,30,5,yes,no,yes,2,Nurse,", "column 'Day': 15 is not in the fortnight."),
        ("2026-02-29,early,Bed baths,6,25,30,5,yes,no,yes,2,Nurse,", "column 'Day': This is not a day."),
        ("1,early,Bed baths,6,25,30,5,yes,no,yes,0,Nurse,", "column 'People': 0 is too few."),
        (
            "1,early,Bed baths,6,25,30,5,yes,no,yes,2,Wizard,",
            "column 'Who can': This names a role, or a person",
        ),
        (
            "1,early,Bed baths,6,25,30,5,yes,no,yes,2,Nurse,9999",
            "column 'Done by': Someone named here has no post",
        ),
        ("1,early,Bed baths,6,25,30,5,yes,no,yes,2,Nurse,1004", "'Done by': Someone named here is not among"),
        ("1,early,Bed baths,6,25,30,5,yes,no,yes,2,Nurse,Ann Rae", "'Done by': Two people have this name."),
    ],
)
def test_what_can_not_be_meant_is_asked_about_by_row_and_column(row: str, says: str) -> None:
    listed = read(f"{row}\n")
    assert any(says in str(problem) for problem in listed.problems), [str(one) for one in listed.problems]
    assert not listed.can_be_kept


def test_an_unknown_role_is_answered_with_the_roles_there_are_and_no_problem_names_a_person() -> None:
    found = problems("1,early,Bed baths,6,25,30,5,yes,no,yes,2,Wizard Wally,Wally Nobody\n")
    assert "Use one of the roles: Healthcare assistant, Nurse." in " ".join(found)
    assert "Wally" not in " ".join(found)


def test_a_missing_column_of_loads_is_a_problem_and_no_row_of_zeros() -> None:
    listed = read("1,early,Bed baths,Nurse\n", "Day,Part,Task,Who can\n")
    assert listed.rows == ()
    assert listed.problems[0].says == "No column is headed “washes”."
    assert len(listed.problems) == 7  # four loads and three yes-or-no columns


def test_the_same_task_twice_in_a_shift_is_asked_about() -> None:
    row = "1,early,Bed baths,6,25,30,5,yes,no,yes,2,Nurse,\n"
    assert "stands in the same shift on line 2" in problems(row + row)[0]
    assert problems(row + row.replace("early", "late")) == []


def test_words_that_could_tell_a_manager_why_are_kept_out_of_the_list() -> None:
    listed = read(
        "1,early,Skin care,6,25,30,5,yes,no,yes,2,Nurse,\n",
        telling=lambda text: ("Skin",) if "Skin" in text else (),
    )
    assert "“Skin” could tell a manager why." in str(listed.problems[0])
    assert not listed.can_be_kept


@pytest.mark.parametrize("raw", [b"", b"  \n \n", b"%PDF-1.7 nothing", b"x" * 1_000_001])
def test_what_is_no_table_is_refused(raw: bytes) -> None:
    with pytest.raises(BadInput):
        read_task_list(raw, name="tasks.csv", first_day=FIRST, team=TEAM)


def test_a_list_with_headers_alone_has_no_task() -> None:
    assert "No task is listed" in problems("")[0]


def test_kept_tasks_are_read_back_and_another_form_is_refused() -> None:
    rows = read("1,early,Bed baths,6,25,30,5,yes,no,Yes,2,Nurse,1001\n").rows
    assert from_content(as_content(rows)) == rows
    with pytest.raises(BadInput, match="form 9"):
        from_content({"form": 9, "tasks": []})
