"""Patch tests in a CSV file: written so that a spreadsheet leaves them be, read back all or not at all."""

from datetime import date

import pytest

from tests.patch_by_hand import APPLIED, allergen, control, on_day, own, patch_test
from thenar.allergy.patch_test import Kind, PatchGrade, PatchTest, Position
from thenar.allergy.product import Category
from thenar.errors import BadInput
from thenar.exchange.patch_test_columns import CALLED
from thenar.exchange.patch_tests import NamedTest, PatchTestFile, read_patch_tests, write_patch_tests

TODAY = date(2026, 3, 20)
HEAD = "test,put on,patches off,position,allergen,read on,grade\n"
GOOD = "T-1,2026-03-02,2026-03-04,1,nickel,2026-03-06,++\n"


def read(content: str | bytes, **other: object) -> PatchTestFile:
    raw = content.encode() if isinstance(content, str) else content
    given = {"today": TODAY} | other
    return read_patch_tests(raw, name="tests.csv", **given)


def problems(content: str | bytes, **other: object) -> list[tuple[int, str, str]]:
    return [(one.line, one.column, one.says) for one in read(content, **other).problems]


def test_rows_become_a_test_with_its_positions_and_readings() -> None:
    (named,) = read(
        HEAD
        + "T-1,2026-03-02,2026-03-04,1,nickel,2026-03-06,++\n"
        + "T-1,2026-03-02,2026-03-04,2,cobalt,,\n"
        + "T-1,2026-03-02,2026-03-04,1,nickel,2026-03-09,weak\n"
    ).tests
    assert named.id == "T-1"
    assert (named.test.applied_on, named.test.occluded_until) == (APPLIED, on_day(2))
    assert [position.hapten for position in named.test.positions] == ["nickel", "cobalt"]
    assert named.test.days_of(1) == ((4, PatchGrade.STRONG), (7, PatchGrade.WEAK))
    assert named.test.days_of(2) == ()


def test_everything_of_a_position_comes_back_as_written() -> None:
    test = patch_test(
        (Position(7, "nickel", "5", "pet", "baseline"), "D2 NT D4 ?+ D7 -"),
        (own(12, Category.DISINFECTANT, "1 in 1,000 of water"), "D4 IR"),
        (control(30), ""),
    )
    back = read(write_patch_tests([NamedTest("a.1", test), NamedTest("a_2", test)]))
    assert back.problems == ()
    assert back.tests == (NamedTest("a.1", test), NamedTest("a_2", test))


def test_no_cell_of_a_written_file_begins_as_a_formula_does() -> None:
    test = patch_test((allergen(1), "D2 - D3 ?+ D4 + D5 ++ D7 +++"))
    cells = [
        cell for line in write_patch_tests([NamedTest("T", test)]).splitlines() for cell in line.split(",")
    ]
    assert not [cell for cell in cells if cell.startswith(("=", "+", "-", "@"))]
    assert "extreme" in cells


@pytest.mark.parametrize(
    "content",
    [
        (HEAD + GOOD).replace(",", ";"),
        (HEAD + GOOD).replace(",", "\t"),
        "\ufeff" + HEAD + GOOD,
        (HEAD + GOOD).replace("\n", "\r\n"),
        "Test ID,Applied on,Removed on,Site,Hapten,Reading day,Reaction\n" + GOOD,
        "grade,read on,allergen,position,patches off,put on,test\n"
        "strong,06.03.2026,nickel,01,04/03/2026,2 Mar 2026,T-1\n",
    ],
)
def test_any_dialect_order_and_like_words_give_the_same_test(content: str) -> None:
    listed = read(content, day_first=True)
    assert listed.problems == ()
    assert listed.tests[0].test.days_of(1) == ((4, PatchGrade.STRONG),)
    assert listed.tests[0].test.occluded_until == on_day(2)


@pytest.mark.parametrize(
    ("row", "column", "says"),
    [
        (GOOD.replace("2026-03-06", "2026-03-01"), "read on", "before the test was put on"),
        (GOOD.replace("2026-03-06", "2026-03-02"), "read on", "the day the test was put on"),
        (GOOD.replace("2026-03-06", "2026-03-03"), "read on", "under a patch"),
        (GOOD.replace("2026-03-06", "2026-03-21"), "read on", "still to come"),
        (GOOD.replace("2026-03-06", "2026-02-30"), "read on", "not in the calendar"),
        (GOOD.replace("2026-03-02", "2026-03-05"), "put on", "came off on 2026-03-04"),
        (GOOD.replace("++", "4+"), "grade", "none of the grades in use"),
        (GOOD.replace("++", ""), "grade", "is empty"),
        (GOOD.replace("2026-03-06", ""), "read on", "is empty"),
        (GOOD.replace("nickel", ""), "allergen", "is empty"),
        (GOOD.replace("nickel", "=1+1"), "allergen", "as a formula does"),
        (GOOD.replace("nickel", "nick\u200bel"), "allergen", "can't be seen"),
        (GOOD.replace(",1,", ",0,"), "position", "no number from 1 to 999"),
        (GOOD.replace(",1,", ",A1,"), "position", "no number from 1 to 999"),
        (GOOD.replace("T-1", ""), "test", "is empty"),
        (GOOD.replace("T-1", "Anna Example"), "test", "more than letters"),
        (GOOD.replace("2026-03-02", ""), "put on", "is empty"),
    ],
)
def test_what_is_wrong_is_told_by_line_and_column_and_nothing_is_taken(
    row: str, column: str, says: str
) -> None:
    content = HEAD + GOOD.replace("T-1", "T-0") + row
    listed = read(content)
    assert listed.tests == ()
    first = listed.problems[0]
    assert (first.line, first.column) == (3, column)
    assert says in first.says
    assert first.todo


def test_no_message_repeats_a_name_or_what_was_put_on() -> None:
    content = HEAD + "Anna Example,2026-03-02,,1,Secret soap,2026-03-01,bad\n"
    assert not [one for one in map(str, read(content).problems) if "Anna" in one or "Secret" in one]


def test_two_grades_for_one_position_and_day_are_told_on_the_second_line() -> None:
    (problem,) = problems(HEAD + GOOD + GOOD.replace("++", "-"))
    assert problem[:2] == (3, "read on")
    assert "two grades on 2026-03-06: ++ and -" in problem[2]


def test_the_same_row_twice_is_told() -> None:
    assert "graded twice" in problems(HEAD + GOOD + GOOD)[0][2]


@pytest.mark.parametrize(
    ("second", "column", "says"),
    [
        (
            GOOD.replace("2026-03-02", "2026-03-01"),
            "put on",
            "differs from line 2, which is of the same test",
        ),
        (GOOD.replace("2026-03-04", ""), "patches off", "differs from line 2, which is of the same test"),
        (GOOD.replace("nickel", "cobalt"), "allergen", "differs from line 2, which is of the same position"),
    ],
)
def test_rows_that_contradict_each_other_are_told(second: str, column: str, says: str) -> None:
    second = second.replace("2026-03-06", "2026-03-09")
    ((line, where, what),) = problems(HEAD + GOOD + second)
    assert (line, where) == (3, column)
    assert says in what


def test_readings_that_fit_only_their_own_rows_day_are_told_and_nothing_breaks() -> None:
    head = "test,put on,position,allergen,read on,grade\n"
    rows = "T-1,2026-03-02,1,nickel,2026-03-06,+\nT-1,2026-03-01,1,nickel,2026-03-02,-\n"
    assert [(line, column) for line, column, _ in problems(head + rows)] == [(3, "put on")]


def test_every_faulty_test_is_told_not_only_the_first() -> None:
    content = HEAD + GOOD.replace("2026-03-06", "2026-03-01") + GOOD.replace("T-1", "T-2").replace("++", "x")
    content += GOOD.replace("T-1", "T-3").replace("2026-03-06", "2026-03-03")
    assert [line for line, _, _ in problems(content)] == [2, 3, 4]


@pytest.mark.parametrize(
    ("cells", "column", "says"),
    [
        ("patch,,", "kind", "no kind of position"),
        ("own product,,", "kind", "says how it was prepared"),
        ("own product,paint,1 in 10", "kind of product", "No kind of product that is known"),
        ("own product,,1 in 10", "kind of product", "No kind of product that is known"),
        ("allergen,soap,1 in 10", "kind", "only an own product"),
    ],
)
def test_an_own_product_says_what_it_is_and_how_it_was_prepared(cells: str, column: str, says: str) -> None:
    head = "test,put on,position,allergen,read on,grade,kind,kind of product,how prepared\n"
    (problem,) = problems(f"{head}T-1,2026-03-02,1,soap-1,2026-03-06,+,{cells}\n")
    assert problem[:2] == (2, column)
    assert says in problem[2]


def test_an_own_product_is_read() -> None:
    head = "test,put on,position,allergen,read on,grade,kind,kind of product,how prepared\n"
    (named,) = read(f"{head}T-1,2026-03-02,1,soap-1,2026-03-06,+,Own product,Soap,1 in 10\n").tests
    (position,) = named.test.positions
    assert position.kind is Kind.OWN_PRODUCT
    assert position.own is not None
    assert (position.own.category, position.own.dilution) == (Category.SOAP, "1 in 10")


def test_a_date_that_could_be_two_days_is_asked_about() -> None:
    listed = read(HEAD + GOOD.replace("2026-03-06", "06/03/2026"))
    assert listed.undecided_dates
    assert listed.tests == ()


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (HEAD, "No reading is listed below the headers."),
        (HEAD.replace("grade", "moon") + GOOD, "No column is headed 'grade'."),
        (HEAD.replace("grade", "read on") + GOOD, "Two columns name the read on."),
        (HEAD + GOOD.rstrip() + ",extra\n", "The row has 8 cells under 7 headers."),
        (HEAD + '"T-1,2026', "A quotation mark in the row that begins here is not closed"),
    ],
)
def test_a_table_that_does_not_hold_together_is_told(content: str, says: str) -> None:
    found = problems(content)
    assert any(what.startswith(says) for _, _, what in found)
    assert read(content).tests == ()


@pytest.mark.parametrize("raw", [b"", b"PK\x03\x04 and more", b"\x89PNG and more"])
def test_what_is_no_table_is_refused(raw: bytes) -> None:
    with pytest.raises(BadInput):
        read(raw)


def test_columns_not_in_use_are_named() -> None:
    listed = read(HEAD.replace("\n", ",ward\n") + GOOD.replace("\n", ",7\n"))
    assert listed.unused_headers == ("ward",)
    assert len(listed.tests) == 1


@pytest.mark.parametrize("name", ["Anna Example", "", "-1", "=A1", "a" * 41])
def test_a_name_that_could_tell_a_person_or_a_formula_is_not_written(name: str) -> None:
    with pytest.raises(BadInput, match="letters, digits"):
        write_patch_tests([NamedTest(name, patch_test((allergen(1), "D4 -")))])


def test_two_tests_of_one_name_are_not_written() -> None:
    named = NamedTest("T-1", patch_test((allergen(1), "D4 -")))
    with pytest.raises(BadInput, match="Two tests are named T-1"):
        write_patch_tests([named, named])


@pytest.mark.parametrize("hapten", ["=cmd", "+1", "a  b", "a\nb", "a\u200bb", "x" * 201])
def test_a_cell_that_would_not_come_back_as_it_is_is_not_written(hapten: str) -> None:
    test = PatchTest(APPLIED, None, (Position(1, hapten, "1", "pet"),))
    with pytest.raises(BadInput, match="can't hold"):
        write_patch_tests([NamedTest("T-1", test)])


def test_the_headers_written_are_those_read() -> None:
    written = write_patch_tests([NamedTest("T-1", patch_test((allergen(1), "D4 -")))])
    assert read(written).columns == CALLED
