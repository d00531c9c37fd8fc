"""A staff list is read or refused with a clear message: every dialect and every kind of damage we know of."""

import subprocess
import sys
from datetime import date
from decimal import Decimal
from time import perf_counter

import pytest

from thenar.errors import BadInput
from thenar.exchange import staff_columns
from thenar.exchange.problems import Problem
from thenar.exchange.staff_list import StaffList, read_staff_list

TODAY = date(2025, 6, 2)
HEADERS = "Staff number,Family name,Given name,Area,Role"
ALICE = "00123,Tern,Alice,Ward 7,nurse"
BOB = "00124,Plover,Bob,Laundry,porter"


def read(text: str | bytes, *, day_first: bool | None = None) -> StaffList:
    raw = text if isinstance(text, bytes) else text.encode()
    return read_staff_list(raw, name="staff.csv", today=TODAY, day_first=day_first)


def only_problem(listed: StaffList) -> Problem:
    assert len(listed.problems) == 1, [str(problem) for problem in listed.problems]
    return listed.problems[0]


def with_column(header: str, *cells: str) -> str:
    rows = [f"{number:05},Tern,Alice,Ward 7,nurse,{cell}" for number, cell in enumerate(cells, 1)]
    return "\n".join([f"{HEADERS},{header}", *rows])


def refusal(raw: str | bytes) -> BadInput:
    with pytest.raises(BadInput) as refused:
        read(raw)
    return refused.value


# Dialects


def test_a_plain_list_is_read_whole():
    listed = read(f"{HEADERS}\n{ALICE}\n{BOB}\n")
    assert listed.problems == ()
    assert listed.can_be_taken_over
    assert [(row.line, row.given_name, row.area) for row in listed.rows] == [
        (2, "Alice", "Ward 7"),
        (3, "Bob", "Laundry"),
    ]


def test_leading_zeros_are_kept():
    assert read(f"{HEADERS}\n{ALICE}").rows[0].staff_number == "00123"


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_each_delimiter_is_found_out(delimiter):
    listed = read(f"{HEADERS}\n{ALICE}\n".replace(",", delimiter))
    assert listed.delimiter == delimiter
    assert listed.rows[0].role == "nurse"
    assert listed.problems == ()


def test_a_delimiter_is_not_mistaken_for_commas_inside_headers():
    listed = read(
        'Staff number;"Family name";Given name;"Area";Role;"Notes, remarks, dates, times, other, more"\n'
        "1;Tern;Alice;Ward 7;nurse;x"
    )
    assert listed.delimiter == ";"
    assert len(listed.rows) == 1


def test_a_declared_delimiter_is_obeyed_and_its_line_counted():
    listed = read(f"sep=;\r\n{HEADERS}\r\n{ALICE}\r\n".replace(",", ";"))
    assert listed.rows[0].line == 3


@pytest.mark.parametrize(
    ("raw", "encoding"),
    [
        (f"{HEADERS}\n1,Müller,Zoë,Ward 7,nurse".encode(), "UTF-8"),
        (f"{HEADERS}\n1,Müller,Zoë,Ward 7,nurse".encode("utf-8-sig"), "UTF-8 with a byte order mark"),
        (f"{HEADERS}\n1,Müller,Zoë,Ward 7,nurse".encode("utf-16"), "UTF-16"),
        (b"\xfe\xff" + f"{HEADERS}\n1,Müller,Zoë,Ward 7,nurse".encode("utf-16-be"), "UTF-16"),
        (f"{HEADERS}\n1,Müller,Zoë,Ward 7,nurse".encode("cp1252"), "Windows-1252"),
    ],
)
def test_each_encoding_is_found_out_and_stated(raw, encoding):
    listed = read(raw)
    assert listed.encoding == encoding
    assert (listed.rows[0].family_name, listed.rows[0].given_name) == ("Müller", "Zoë")
    assert listed.problems == ()


def test_the_euro_sign_range_of_windows_1252_is_read():
    # 0x9A is s with caron and 0x92 a typographic apostrophe in Windows-1252; neither exists in Latin-1.
    listed = read(HEADERS.encode() + b"\n1,O\x92Tern,Mi\x9aa,Ward 7,nurse")
    assert (listed.rows[0].family_name, listed.rows[0].given_name) == ("O’Tern", "Miša")


@pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"])
def test_each_line_end_is_read(line_end):
    listed = read(line_end.join([HEADERS, ALICE, BOB]))
    assert [row.line for row in listed.rows] == [2, 3]


def test_mixed_line_ends_keep_their_line_numbers():
    listed = read(f"{HEADERS}\r\n{ALICE}\r{BOB}\n\n00125,Knot,Charlie,,nurse\r\n")
    assert only_problem(listed).line == 5


def test_quoted_newlines_keep_the_line_numbers_of_an_editor():
    listed = read(f'{HEADERS}\n1,Tern,Alice,"Ward 7\nnorth\nwing",nurse\n2,Plover,Bob,,porter')
    assert listed.rows[0].area == "Ward 7 north wing"
    assert only_problem(listed).line == 5
    assert only_problem(listed).column == "Area"


def test_headers_may_hold_quoted_newlines():
    listed = read('"Staff\nnumber",Family name,Given name,Area,Role\n1,Tern,Alice,,nurse')
    assert listed.columns["staff_number"] == "Staff number"
    assert only_problem(listed).line == 3


def test_doubled_quotes_and_quoted_delimiters_are_read():
    listed = read(f'{HEADERS}\n1,"Tern, née ""Gull""",Alice,Ward 7,nurse')
    assert listed.rows[0].family_name == 'Tern, née "Gull"'


def test_quotation_marks_inside_an_unquoted_cell_are_kept():
    assert read(f'{HEADERS}\n1,Tern,Alice "Al",Ward 7,nurse').rows[0].given_name == 'Alice "Al"'


def test_spaces_between_delimiter_and_quotes_do_no_harm():
    listed = read(f'{HEADERS}\n1, "Tern, A", "Alice" , Ward 7 ,nurse'.replace('" ,', '",'))
    assert (listed.rows[0].family_name, listed.rows[0].area) == ("Tern, A", "Ward 7")


def test_blank_lines_and_rows_of_delimiters_are_passed_over():
    listed = read(f"\n\n{HEADERS}\n\n,,,,\n  , ,\t,,\n{ALICE}\n\n\n")
    assert [row.line for row in listed.rows] == [7]
    assert listed.problems == ()


def test_trailing_delimiters_are_passed_over():
    listed = read(f"{HEADERS},,,\n{ALICE},,,,,,\n{BOB},\n")
    assert len(listed.rows) == 2
    assert listed.unused_headers == ()
    assert all(not problem.serious for problem in listed.problems)


def test_letters_composed_in_two_ways_are_one_name():
    assert read(f"{HEADERS}\n1,Mu\u0308ller,A,B,c").rows[0].family_name == "M\u00fcller"


# Columns


def test_columns_come_in_any_order_and_under_many_names():
    listed = read(
        "Job title;WARD;E-mail;Forename(s);SURNAME;Payroll no.;FTE (%)\nnurse;7;;Alice;Tern;00123;80 %"
    )
    row = listed.rows[0]
    assert (row.staff_number, row.given_name, row.family_name) == ("00123", "Alice", "Tern")
    assert (row.area, row.role, row.hours_share) == ("7", "nurse", Decimal("0.8"))


@pytest.mark.parametrize(
    "headers",
    [
        "Personal-Nr.;Nachname;Vorname;Station;Berufsgruppe;Geburtsdatum;Beschäftigungsgrad;Eintritt;Austritt",
        "Pers.-Nr.;Name;Vorname;Abteilung;Tätigkeit;geb. am;VZÄ;Gültig ab;Gültig bis",
        "Matricule;Nom;Prénom;Service;Métier;Date de naissance;Quotité;Date d'entrée;Date de sortie",
        "N° agent;NOM D'USAGE;PRENOM;Unité;Fonction;Né(e) le;ETP;Début;Fin",
    ],
)
def test_german_and_french_headers_are_known(headers):
    listed = read(f"{headers}\n00123;Tern;Alice;7;nurse;1980-02-01;0,5;2020-01-01;2030-01-01")
    row = listed.rows[0]
    assert (row.family_name, row.given_name, row.born_on) == ("Tern", "Alice", date(1980, 2, 1))
    assert (row.hours_share, row.starts_on) == (Decimal("0.5"), date(2020, 1, 1))
    assert row.ends_on == date(2030, 1, 1)
    assert listed.problems == ()


def test_a_clearer_header_goes_before_one_that_only_may_mean_the_field():
    listed = read(
        f"{HEADERS},Staff group,Known as,Hire date,Start date\n{ALICE},clerks,Al,2001-01-01,2020-01-01"
    )
    row = listed.rows[0]
    assert (row.role, row.given_name, row.starts_on) == ("nurse", "Alice", date(2020, 1, 1))
    assert listed.unused_headers == ("Staff group", "Known as", "Hire date")
    assert listed.problems == ()


def test_no_header_is_known_for_two_fields():
    tables = [*staff_columns._NAMES.items(), *staff_columns._MAY_MEAN_NAMES.items()]
    words = [word for _, names in tables for word in names.split()]
    assert sorted(words) == sorted(set(words))
    assert all(staff_columns._fold(word) == word for word in words)


def test_columns_that_are_not_read_are_named():
    assert read(f"{HEADERS},Shoe size,Locker\n{ALICE},38,4").unused_headers == ("Shoe size", "Locker")


@pytest.mark.parametrize(
    "header",
    [
        "Hours",
        "Stunden",
        "Wochenstunden",
        "Hours per week",
        "Weekly hours (contract)",
        "Heures",
        "Arbeitszeit",
    ],
)
def test_hours_that_are_not_read_are_said_to_leave_the_share_unknown(header):
    listed = read(f"{HEADERS},{header}\n{ALICE},30")
    problem = only_problem(listed)
    assert problem.says == f"'{header}' is not read, so the share of full hours stays unknown."
    assert (problem.line, problem.column, problem.serious) == (1, header, False)
    assert listed.rows[0].hours_share is None


def test_hours_beside_a_share_of_hours_need_no_word():
    assert read(f"{HEADERS},Hours,FTE\n{ALICE},30,0.8").problems == ()
    assert read(f"{HEADERS},Opening hours\n{ALICE},9 to 5").problems == ()


def test_two_headers_for_one_field_are_both_named():
    problem = only_problem(read(f"{HEADERS},Ward\n{ALICE},Ward 8"))
    assert problem.serious
    assert "olumn 4 'Area'" in problem.says
    assert "column 6 'Ward'" in problem.says


def test_the_same_header_twice_is_named_twice():
    problem = only_problem(read("Staff number,Role,Family name,Given name,Area,Role\n1,a,b,c,d,e"))
    assert problem.serious
    assert "olumn 2 'Role'" in problem.says
    assert "column 6 'Role'" in problem.says


def test_equal_headers_that_are_not_read_are_no_hindrance():
    listed = read(f"{HEADERS},Notes,notes\n{ALICE},,")
    assert not only_problem(listed).serious
    assert listed.can_be_taken_over


def test_a_missing_required_header_names_those_found():
    problem = only_problem(read("Staff number,Family name,Given name,Place,Role\n1,Tern,Alice,7,nurse"))
    assert problem.serious
    assert "'area'" in problem.says
    assert "'Place'" in problem.says


def test_a_list_without_headers_does_not_read_out_a_person_as_headers():
    listed = read("00123,Ternella,Alicia,Ward 7,nurse\n00124,Plover,Bob,Laundry,porter")
    assert only_problem(listed).serious
    assert "Ternella" not in str(listed)
    assert listed.rows == ()


def test_headers_alone_are_not_an_empty_hospital():
    assert only_problem(read(HEADERS)).serious


def test_a_single_column_is_refused_without_a_crash():
    assert not read("hello\nworld\n").can_be_taken_over


# Cells


def test_too_many_cells_are_asked_about():
    problem = only_problem(read(f"{HEADERS}\n{ALICE}\n00125,Knot, Charlie,Ward 7,nurse,extra"))
    assert (problem.line, problem.serious) == (3, True)
    assert "6 cells under 5 headers" in problem.says


def test_too_few_cells_are_asked_about():
    listed = read(f"{HEADERS}\n{ALICE}\n00125,Knot,Charlie,Ward 7\n")
    assert {problem.line for problem in listed.problems} == {3}
    assert [problem.column for problem in listed.problems if problem.serious] == ["Role"]
    assert listed.unread_numbers == {"00125"}


def test_left_out_optional_cells_at_the_end_are_taken_as_empty():
    listed = read(f"{HEADERS},Email\n{ALICE}")
    assert not only_problem(listed).serious
    assert listed.rows[0].email == ""


@pytest.mark.parametrize("place", range(5))
def test_each_required_cell_that_is_empty_is_asked_about(place):
    cells = ALICE.split(",")
    cells[place] = "  "
    problem = only_problem(read(f"{HEADERS}\n{','.join(cells)}"))
    assert (problem.line, problem.column, problem.serious) == (2, HEADERS.split(",")[place], True)


def test_a_second_row_with_the_same_staff_number_is_asked_about_on_both_lines():
    listed = read(f"{HEADERS}\n{ALICE}\n{BOB}\n00123,Tern,Alice,Theatre,nurse")
    assert [(problem.line, problem.says) for problem in listed.problems] == [
        (2, "The same staff number stands on line 4."),
        (4, "The same staff number stands on line 2."),
    ]
    assert all(problem.serious for problem in listed.problems)
    assert [row.line for row in listed.rows] == [2, 3]


def test_numbers_that_differ_in_leading_zeros_are_two_people():
    assert len(read(f"{HEADERS}\n0123,A,B,C,d\n123,E,F,G,h").rows) == 2


def test_a_quotation_mark_that_is_never_closed_stops_the_reading_where_it_opens():
    listed = read(f'{HEADERS}\n{ALICE}\n00125,"Knot,Charlie,Ward 7,nurse\n{BOB}\n')
    problem = only_problem(listed)
    assert (problem.line, problem.serious) == (3, True)
    assert "quotation mark" in problem.says


def test_an_unclosed_quotation_mark_above_many_rows_still_names_its_line():
    rows = "\n".join(f"{number},Tern,Alice,Ward 7,nurse" for number in range(20_000))
    assert only_problem(read(f'{HEADERS}\n{ALICE}\n"x,Knot,Charlie,Ward 7,nurse\n{rows}')).line == 3


def test_text_after_a_closing_quotation_mark_is_refused():
    assert only_problem(read(f'{HEADERS}\n1,"Tern"y,Alice,Ward 7,nurse')).line == 2


def test_an_unclosed_quotation_mark_in_the_headers_is_refused():
    assert only_problem(read(f'"{HEADERS}\n{ALICE}')).line == 1


@pytest.mark.parametrize("formula", ["=HYPERLINK(1)", "+441", "-2+3", "@SUM(A1)"])
def test_a_cell_like_a_formula_is_kept_as_text_and_pointed_out(formula):
    listed = read(f"{HEADERS}\n1,Tern,{formula},Ward 7,nurse")
    assert listed.rows[0].given_name == formula
    assert not only_problem(listed).serious


def test_a_formula_around_a_staff_number_is_pointed_out():
    listed = read(f'{HEADERS}\n"=""00123""",Tern,Alice,Ward 7,nurse')
    assert only_problem(listed).column == "Staff number"


@pytest.mark.parametrize(
    "character", ["\x07", "\x1b", "\x7f", "\x85", "\u200b", "\u202e", "\u2028", "\ufeff"]
)
def test_a_character_that_cannot_be_seen_is_refused(character):
    problem = only_problem(read(f"{HEADERS},Email\n{ALICE},a{character}b@saltmere.example"))
    assert problem.serious
    assert f"U+{ord(character):04X}" in problem.says


def test_joiners_inside_words_are_letters_of_their_script():
    assert read(f"{HEADERS}\n1,Tern,می\u200cخواهم,Ward 7,nurse").problems == ()


def test_a_letter_lost_in_an_earlier_save_is_asked_about():
    assert only_problem(read(f"{HEADERS}\n1,M\ufffdller,Alice,Ward 7,nurse")).column == "Family name"


def test_a_staff_number_shortened_by_a_spreadsheet_is_refused():
    problem = only_problem(read(f"{HEADERS}\n1.23457E+11,Tern,Alice,Ward 7,nurse"))
    assert problem.serious
    assert "1.23457E+11" in problem.says


def test_a_spreadsheet_error_is_not_a_ward():
    assert only_problem(read(f"{HEADERS}\n1,Tern,Alice,#REF!,nurse")).column == "Area"


def test_somebody_may_be_called_null():
    listed = read(f"{HEADERS},Email\n1,Null,None,Ward 7,nurse,null")
    assert (listed.rows[0].family_name, listed.rows[0].given_name, listed.rows[0].email) == (
        "Null",
        "None",
        "",
    )
    assert listed.problems == ()


def test_a_cell_of_over_a_thousand_characters_is_refused():
    problem = only_problem(read(with_column("Email", "x" * 1_001)))
    assert problem.serious
    assert "1,001 characters" in problem.says


def test_a_name_longer_than_is_kept_is_asked_about_not_cut():
    assert "121 characters" in only_problem(read(f"{HEADERS}\n1,{'x' * 121},Alice,Ward 7,nurse")).says


@pytest.mark.parametrize(
    "email", ["alice", "a b@saltmere.example", "a@b@c.example", "<a@b.example>", "a@example"]
)
def test_what_is_not_an_email_address_is_asked_about(email):
    listed = read(with_column("Email", email))
    assert only_problem(listed).column == "Email"
    assert email not in only_problem(listed).says
    assert listed.rows[0].email == ""


@pytest.mark.parametrize(
    ("written", "share"),
    [
        ("1", "1"),
        ("0.8", "0.8"),
        ('"0,8"', "0.8"),
        ("80%", "0.8"),
        ("37.5 %", "0.38"),
        (".5", "0.5"),
    ],
)
def test_shares_of_full_hours_are_read(written, share):
    assert read(with_column("FTE", written)).rows[0].hours_share == Decimal(share)


@pytest.mark.parametrize("written", ["0", "0.00", "0 %", "0.004"])
def test_no_hours_at_all_is_pointed_out_and_not_kept(written):
    listed = read(with_column("FTE", written))
    assert not only_problem(listed).serious
    assert listed.rows[0].hours_share is None


@pytest.mark.parametrize("written", ["37.5", "80", "NaN", "Infinity", "-1", "1e-9", "120 %", "full", "٠٫٥"])
def test_what_is_not_a_share_of_full_hours_is_asked_about(written):
    listed = read(with_column("FTE", written))
    assert only_problem(listed).serious
    assert listed.rows[0].hours_share is None


# Dates


@pytest.mark.parametrize(
    "written",
    [
        "2019-12-31",
        "2019-12-31T00:00:00",
        "2019/12/31",
        "20191231",
        "31/12/2019",
        "31.12.2019",
        "31-12-2019",
        "31/12/2019 00:00",
        "12/31/2019",
        "31 Dec 2019",
        "31-Dec-2019",
        "31 December 2019",
        '"December 31, 2019"',
        "31. Dezember 2019",
        "31 décembre 2019",
        "31 DÉC. 2019",
    ],
)
def test_each_way_to_write_a_date_is_read(written):
    listed = read(with_column("Start date", written))
    assert listed.rows[0].starts_on == date(2019, 12, 31)
    assert listed.problems == ()


def test_an_ambiguous_date_is_asked_not_guessed():
    listed = read(with_column("Start date", "03/04/2025", "2020-01-01", "05/06/2024"))
    problem = only_problem(listed)
    assert (problem.line, problem.column, problem.serious) == (2, "Start date", True)
    assert "3 April or 4 March" in problem.says
    assert "2 dates wait" in problem.says
    assert listed.undecided_dates == ("Start date",)
    assert [row.starts_on for row in listed.rows] == [None, date(2020, 1, 1), None]


@pytest.mark.parametrize(("day_first", "day"), [(True, date(2025, 4, 3)), (False, date(2025, 3, 4))])
def test_the_answer_settles_an_ambiguous_date(day_first, day):
    listed = read(with_column("Start date", "03/04/2025"), day_first=day_first)
    assert listed.rows[0].starts_on == day
    assert listed.problems == ()


@pytest.mark.parametrize(
    ("witness", "day"), [("31/12/2019", date(2025, 4, 3)), ("12/31/2019", date(2025, 3, 4))]
)
def test_one_unambiguous_date_settles_its_column(witness, day):
    listed = read(with_column("Start date", "03/04/2025", witness))
    assert listed.rows[0].starts_on == day
    assert listed.undecided_dates == ()


def test_another_column_does_not_settle_a_date():
    listed = read(f"{HEADERS},Start date,Born\n{ALICE},03/04/2025,31/12/1980")
    assert listed.undecided_dates == ("Start date",)


def test_a_column_that_shows_both_orders_is_asked_about():
    listed = read(with_column("Start date", "31/12/2019", "03/04/2020", "12/31/2019"))
    problem = only_problem(listed)
    assert problem.serious
    assert "line 2" in problem.says
    assert "line 4" in problem.says
    assert listed.rows[1].starts_on is None


def test_a_date_against_the_answer_is_asked_about():
    listed = read(with_column("Start date", "03/04/2025", "12/31/2019"), day_first=True)
    assert only_problem(listed).line == 3


def test_a_date_that_is_the_same_day_both_ways_asks_nothing():
    assert read(with_column("Start date", "05/05/2020")).rows[0].starts_on == date(2020, 5, 5)


@pytest.mark.parametrize(
    "written",
    ["31/02/2020", "2019-02-29", "00/01/2020", "32.01.2020", "2020-13-01", "31 Jun 2020", "2020-00-00"],
)
def test_a_day_that_is_not_in_the_calendar_is_shown_and_asked_about(written):
    problem = only_problem(read(with_column("Start date", written)))
    assert problem.serious
    assert written in problem.says


def test_a_leap_day_is_a_day():
    assert read(with_column("Start date", "29.02.2024")).rows[0].starts_on == date(2024, 2, 29)


def test_a_year_of_two_digits_is_asked_about():
    assert "two digits" in only_problem(read(with_column("Born", "31/12/25"))).says


def test_a_spreadsheets_day_number_is_not_taken_for_a_date():
    assert "45000" in only_problem(read(with_column("Start date", "45000"))).says


def test_something_else_in_a_date_cell_is_not_read_out():
    problem = only_problem(read(with_column("Born", "Ternella")))
    assert problem.serious
    assert "Ternella" not in str(problem)


@pytest.mark.parametrize("written", ["31/12/1800", "0001-01-01", "1899-12-31"])
def test_a_year_before_1900_is_asked_about(written):
    listed = read(with_column("Born", written))
    assert "before 1900" in only_problem(listed).says
    assert listed.rows[0].born_on is None


def test_nobody_is_born_after_today():
    assert "future" in only_problem(read(with_column("Born", "2025-06-03"))).says


def test_a_child_is_pointed_out():
    assert not only_problem(read(with_column("Born", "2020-01-01"))).serious


def test_an_end_before_the_start_is_asked_about():
    listed = read(f"{HEADERS},Start,End\n{ALICE},2025-02-01,2025-01-31")
    assert only_problem(listed).column == "End"
    assert only_problem(listed).serious


def test_a_start_before_birth_is_asked_about():
    listed = read(f"{HEADERS},Born,Start\n{ALICE},1980-02-01,1979-02-01")
    assert only_problem(listed).column == "Start"


def test_an_end_at_the_end_of_time_is_no_end():
    listed = read(with_column("End date", "31/12/9999"))
    assert listed.rows[0].ends_on is None
    assert listed.problems == ()


# What is no table


@pytest.mark.parametrize(
    "raw", [b"", b"\n\n\n", b"\xef\xbb\xbf", b"\xff\xfe", b" \t\r\n", b",,,\n,,,", b"sep=;\n"]
)
def test_an_empty_file_is_refused(raw):
    refusal(raw)


@pytest.mark.parametrize(
    "raw",
    [
        b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR",
        b"\xff\xd8\xff\xe0\x00\x10JFIF",
        b"GIF89a\x01\x00",
        b"II*\x00\x08\x00",
        b"BM\x36\x00\x00\x00\x00\x00\x00\x00",
        b"RIFF\x24\x00\x00\x00WEBPVP8 ",
        b"\x00\x00\x00\x18ftypheic",
    ],
)
def test_a_picture_is_called_a_picture_whatever_its_file_is_called(raw):
    refused = refusal(raw)
    assert refused.what == "'staff.csv' is a picture, not a table."
    assert "Choose the file that" in refused.todo


def test_a_list_that_begins_with_the_letters_of_a_picture_is_read():
    assert read("BMI," + HEADERS + "\n1," + ALICE).rows[0].staff_number == "00123"


@pytest.mark.parametrize(
    ("raw", "word"),
    [
        (b"PK\x03\x04\x14\x00", "workbook"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "workbook"),
        (b"%PDF-1.7\n", "PDF"),
        (b"\n <html><table>", "web page"),
        (b"{\\rtf1", "word-processor"),
        (HEADERS.encode() + b"\n1,Te\x00rn,Alice,Ward 7,nurse", "NUL byte on line 2"),
        (HEADERS.encode("utf-16-le"), "NUL"),
        (HEADERS.encode("utf-32"), "NUL"),
        (HEADERS.encode("utf-16")[:-1], "breaks off"),
        (b"\x01\x02\x03\x04" * 50, "can't be seen"),
        (HEADERS.encode() + b"\n1,M\x81ller,A,B,c", "line 2"),
        (b"\xef\xbb\xbf" + HEADERS.encode() + b"\n1,M\xfcller,A,B,c", "line 2"),
        (HEADERS.encode() + "\n1,Zoë,É,Ü,ö".encode()[:-1], "line 2"),
    ],
)
def test_what_is_not_text_is_refused_with_a_reason(raw, word):
    assert word in refusal(raw).what


def test_a_file_of_over_20_megabytes_is_refused_unread():
    assert "20 MB" in refusal(b"x" * 20_000_001).what


def test_more_than_200_columns_are_refused():
    assert "201 columns" in refusal(",".join(f"h{number}" for number in range(201))).what
    assert read(",".join([HEADERS, *(f"h{number}" for number in range(195))]) + f"\n{ALICE}{',' * 195}").rows


def test_a_million_columns_are_refused():
    listed = read(HEADERS + ",x" * 1_000_000)
    assert only_problem(listed).serious


def test_a_row_of_a_million_cells_stops_the_reading():
    assert read(f"{HEADERS}\n{ALICE}\n{'1,' * 1_000_000}").problems[-1].line == 3


def test_more_rows_than_any_hospital_has_are_refused():
    assert "200,000 rows" in refusal(HEADERS + "\n1,a,b,c,d" * 200_001).what


def test_a_hundred_thousand_problems_are_counted_not_listed():
    listed = read(HEADERS + "\n1,a,b,c," * 100_000)
    assert len(listed.problems) == 501
    # Each of the 100,000 rows lacks its role and shares its staff number; 500 of the 200,000 are listed.
    assert "199,500 more serious problems" in listed.problems[-1].says


def test_serious_problems_are_not_crowded_out_by_others():
    rows = "".join(f"\n{number},=a,b,c,d" for number in range(1_000))
    listed = read(f"{HEADERS}{rows}\nx,,b,c,d")
    serious = [(problem.line, problem.column) for problem in listed.problems if problem.serious]
    assert serious == [(1_002, "Family name")]


def test_a_file_name_cannot_smuggle_control_characters_into_a_message():
    with pytest.raises(BadInput) as refused:
        read_staff_list(b"", name="a\x1b[31m\n" + "b" * 500, today=TODAY)
    assert str(refused.value).isprintable()
    assert len(refused.value.what) < 120


@pytest.mark.parametrize("cell", ["1" * 1_000, "1/" * 500, "a" * 1_000, "a.@" * 333, "1 " * 500, "=" * 1_000])
@pytest.mark.parametrize("header", ["Born", "Email", "FTE", "Notes"])
def test_long_hostile_cells_are_read_at_once(header, cell):
    began = perf_counter()
    read(with_column(header, *[cell] * 50))
    assert perf_counter() - began < 2  # seconds for 50 kB; an exponential pattern would take years


READ_IN_A_CHILD = """
import resource, sys
from datetime import date
from pathlib import Path
from thenar.errors import BadInput
from thenar.exchange import staff_columns
from thenar.exchange.staff_list import read_staff_list

try:
    read_staff_list(Path(sys.argv[1]).read_bytes(), name="x", today=date(2025, 6, 2))
except BadInput:
    pass
# On Linux the maxrss of a child begins at that of its parent, here the whole test run.
own = Path("/proc/self/status")
if own.exists():
    print(int(own.read_text().split("VmHWM:")[1].split()[0]))
else:
    print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024)
"""


@pytest.mark.slow
@pytest.mark.parametrize(
    "write",
    [
        lambda: '1,"' + "a\n" * 900_000,
        lambda: "1," + '"aaaaaaaaaaaaaaaa\n",' * 900_000,
        lambda: "\n" * 19_900_000,
        lambda: "\n" * 990_000 + "1,a,b,c,d\n" * 1_000,
        lambda: ("1," + "a" * 40 + ",b" * 25 + "\n") * 199_999 + "🧤",
        lambda: "".join(f"{number},Tern,Alice,🧤Ward 7{'x' * 58},nurse\n" for number in range(200_000)),
    ],
    ids=[
        "open quote",
        "row over many lines",
        "20 M lines",
        "blank lines",
        "too many cells",
        "four-byte letters",
    ],
)
def test_no_file_of_20_megabytes_takes_500_megabytes_of_memory(write, tmp_path):
    path = tmp_path / "staff.csv"
    path.write_text(f"{HEADERS}\n{write()}", encoding="utf-8", newline="")
    command = [sys.executable, "-c", READ_IN_A_CHILD, str(path)]
    done = subprocess.run(command, capture_output=True, text=True, check=True, timeout=120)
    assert int(done.stdout) < 500_000  # kilobytes


def test_more_lines_than_any_list_has_are_refused():
    assert "1,000,001 lines" in refusal(HEADERS + "\n" * 1_000_001).what


def test_problems_never_quote_a_name_or_an_address():
    canary = "Quetzalcoatl"
    listed = read(
        f"{HEADERS},Born,Email,FTE,Start\n"
        f"1,{canary},,,,{canary},{canary},{canary},{canary}\n"
        f"1,={canary},{canary}\x07,{canary * 20},{canary},,,,\n"
        f"{canary},{canary},{canary},{canary},{canary},{canary},{canary},{canary},{canary},{canary}\n"
        f'"{canary}"{canary}\n'
    )
    assert len(listed.problems) > 10
    assert canary not in "".join(str(problem) for problem in listed.problems)
