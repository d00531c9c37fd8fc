"""Sessions in a CSV file: read in any dialect, problems named by line and column, empty is not known."""

from datetime import date

import pytest

from thenar.errors import BadInput
from thenar.exchange.observations import CALLED, NEEDED, ObservationFile, read_observations
from thenar.exposure.tally import Tally

TODAY = date(2026, 3, 2)
HEAD = "area,role,observer,day,shift part,minutes,washes,rubs\n"
GOOD = "Ward 1,Nurse,AB,2026-03-01,early,40,3,\n"


def read(content: str | bytes, **other: object) -> ObservationFile:
    raw = content.encode() if isinstance(content, str) else content
    given = {"today": TODAY, "areas": ["Ward 1", "Café"], "roles": ["Nurse", "Cleaner"]} | other
    return read_observations(raw, name="sessions.csv", **given)


def problems(content: str | bytes, **other: object) -> list[tuple[int, str, str]]:
    return [(one.line, one.column, one.says) for one in read(content, **other).problems]


def test_a_row_becomes_a_session_and_an_empty_cell_is_not_known() -> None:
    (row,) = read(HEAD + GOOD).rows
    assert (row.area, row.role, row.observer) == ("Ward 1", "Nurse", "AB")
    assert (row.observed_on, row.shift_part) == (date(2026, 3, 1), "early")
    assert row.counts == Tally(minutes_observed=40, whole_shift=False, washes=3, rubs=None)


def test_every_column_is_read_into_its_own_field() -> None:
    head = ",".join(CALLED.values())
    cells = "Ward 1,Nurse,AB,2026-03-01,night,480,10,11,5,12,13.5,14,3,15.25,4.5,6,7,8,yes"
    (row,) = read(f"{head}\n{cells}\n").rows
    assert row.counts == Tally(
        minutes_observed=480,
        whole_shift=True,
        washes=10,
        rubs=11,
        gel_rubs=5,
        wet_contacts=12,
        wet_minutes=13.5,
        pairs=14,
        gloves_on_wet_skin=3,
        glove_minutes=15.25,
        longest_glove_wear_minutes=4.5,
        wet_glove_alternations=6,
        wash_glove_alternations=7,
        cream_uses=8,
        convention="each way: each way is one change, however long between",
    )


@pytest.mark.parametrize(
    "content",
    [
        (HEAD + GOOD).replace(",", ";"),
        (HEAD + GOOD).replace(",", "\t"),
        ("sep=|\n" + HEAD + GOOD).replace(",", "|"),
        ("\ufeff" + HEAD + GOOD),
        (HEAD + GOOD).replace("\n", "\r\n"),
        ("Ward,Job,By,Date,Part,Minutes watched,Hand washes,Hand rubs\n" + GOOD),
        ("day,washes,minutes,area,observer,role,shift part\n2026-03-01,3,40,ward 1,AB,NURSE,Early\n"),
    ],
)
def test_any_dialect_order_and_like_words_give_the_same_session(content: str) -> None:
    listed = read(content)
    assert listed.problems == ()
    assert listed.rows[0].counts.washes == 3
    assert listed.rows[0].role == "Nurse"


def test_minutes_may_have_a_decimal_comma() -> None:
    content = (
        "area;role;observer;day;shift part;minutes;wet minutes\nWard 1;Nurse;AB;2026-03-01;late;90;12,5\n"
    )
    assert read(content).rows[0].counts.wet_minutes == 12.5


def test_names_are_known_without_accents_and_capitals() -> None:
    assert read(HEAD + GOOD.replace("Ward 1", "CAFE")).rows[0].area == "Café"


@pytest.mark.parametrize(
    ("row", "column", "says"),
    [
        ("Ward 9,Nurse,AB,2026-03-01,early,40,3,\n", "area", "No area of that name is known here."),
        ("Ward 1,Pilot,AB,2026-03-01,early,40,3,\n", "role", "No role of that name is known here."),
        ("Ward 1,Nurse,,2026-03-01,early,40,3,\n", "observer", "The cell for observer is empty."),
        ("Ward 1,Nurse,AB,2026-02-30,early,40,3,\n", "day", "2026-02-30 is not in the calendar."),
        ("Ward 1,Nurse,AB,2026-03-03,early,40,3,\n", "day", "03 March 2026 is still to come."),
        (
            "Ward 1,Nurse,AB,2026-03-01,dawn,40,3,\n",
            "shift part",
            "This is no part of a shift that is known.",
        ),
        ("Ward 1,Nurse,AB,2026-03-01,early,,3,\n", "minutes", "The cell for minutes is empty."),
        ("Ward 1,Nurse,AB,2026-03-01,early,0,3,\n", "minutes", "The session has 0 minutes."),
        ("Ward 1,Nurse,AB,2026-03-01,early,-40,3,\n", "minutes", "-40 is not minutes from 0 up."),
        ("Ward 1,Nurse,AB,2026-03-01,early,40,-3,\n", "washes", "-3 is not a whole number from 0 up."),
        ("Ward 1,Nurse,AB,2026-03-01,early,40,2.5,\n", "washes", "2.5 is not a whole number from 0 up."),
        ("Ward 1,Nurse,AB,2026-03-01,early,40,1e3,\n", "washes", "1e3 is not a whole number from 0 up."),
        ("Ward 1,Nurse,AB,2026-03-01,early,40,nan,\n", "washes", "This is not a whole number from 0 up."),
        ("Ward 1,Nurse,AB,2026-03-01,early,40,,\n", "", "Nothing was counted in this session."),
        ("Ward 1,Nurse,AB,2026-03-01,early,40,3,,9\n", "", "The row has 9 cells under 8 headers."),
        ("Ward 1,Nurse,A\u200bB,2026-03-01,early,40,3,\n", "observer", "The cell is too long, or holds"),
    ],
)
def test_what_is_wrong_is_named_by_line_and_column(row: str, column: str, says: str) -> None:
    listed = read(HEAD + GOOD + row)
    first = listed.problems[0]
    assert (first.line, first.column, first.serious) == (3, column, True)
    assert first.says.startswith(says)


def test_every_problem_of_a_file_is_listed_at_once() -> None:
    assert len(problems(HEAD + "Ward 9,Pilot,,2026-03-01,dawn,0,-1,\n")) == 6


def test_a_row_with_too_many_cells_is_asked_about_once() -> None:
    moved = "Ward 1,with sluice,Nurse,AB,2026-03-01,early,40,3,1\n"
    assert problems(HEAD + moved) == [(2, "", "The row has 9 cells under 8 headers.")]
    assert [one[0] for one in problems(HEAD + moved + "Ward 9,Nurse,AB,2026-03-01,early,40,3,\n")] == [2, 3]


@pytest.mark.parametrize(
    ("raw", "says"),
    [
        (b"", "is empty"),
        (b"x" * 20_000_001, "20.0 MB; at most"),
        (b"\n" * 1_000_001 + b"x", "1,000,001 lines"),
    ],
    ids=["empty", "large", "long"],
)
def test_what_is_wrong_with_a_whole_file_is_told_as_of_a_list_of_sessions(raw: bytes, says: str) -> None:
    with pytest.raises(BadInput, match=says) as told:
        read(raw)
    assert "list of sessions" in str(told.value)
    assert "staff" not in str(told.value)


@pytest.mark.parametrize("field", NEEDED)
def test_a_needed_column_that_is_missing_is_named(field: str) -> None:
    head = HEAD.replace(CALLED[field], "something else")
    assert (1, "", f"No column is headed '{CALLED[field]}'.") in problems(head + GOOD)


def test_two_columns_for_one_thing_are_asked_about() -> None:
    assert (1, "Ward", "Two columns name the area.") in problems(HEAD.replace("rubs", "Ward") + GOOD)


def test_a_file_without_counts_is_asked_about() -> None:
    head = "area,role,observer,day,shift part,minutes\n"
    assert problems(head + "Ward 1,Nurse,AB,2026-03-01,early,40\n") == [(1, "", "No column holds counts.")]


def test_dates_that_can_be_two_days_wait_for_an_answer() -> None:
    content = HEAD + GOOD.replace("2026-03-01", "02/03/2026")
    asked = read(content)
    assert asked.undecided_dates
    assert "can be 2 March or 3 February" in asked.problems[0].says
    assert read(content, day_first=True).rows[0].observed_on == date(2026, 3, 2)
    assert read(content, day_first=False).rows[0].observed_on == date(2026, 2, 3)


@pytest.mark.parametrize("raw", [b"", b"PK\x03\x04", b"%PDF", HEAD.encode() + b"\x00"])
def test_what_is_no_table_is_refused(raw: bytes) -> None:
    with pytest.raises(BadInput):
        read(raw)


def test_headers_alone_hold_no_session() -> None:
    assert problems(HEAD) == [(1, "", "No session is listed below the headers.")]


def test_an_open_quotation_mark_stops_the_reading_and_is_named() -> None:
    listed = read(HEAD + GOOD + '"Ward 1,Nurse,AB,2026-03-01,early,40,3,\n')
    assert listed.problems[0].line == 3
    assert listed.problems[0].serious


def test_no_problem_quotes_the_observer() -> None:
    told = str(read(HEAD + "Ward 9,Pilot,Secret Name,2026-03-09,dawn,-1,x,\n").problems)
    assert "Secret" not in told
