"""Whatever the staff list: it reads back as written, never crashes, and its changes lead exactly to it."""

import codecs
import csv
import io
from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from decimal import Decimal

from hypothesis import given, settings
from hypothesis import strategies as st

from thenar.errors import BadInput
from thenar.exchange.staff_changes import CurrentWorker, compare_staff, staff_after, worker_after
from thenar.exchange.staff_list import StaffList, read_staff_list
from thenar.exchange.staff_row import StaffRow

TODAY = date(2025, 6, 2)
HEADERS = {
    "staff_number": ("Staff number", "Personalnummer", "Matricule", "EMPLOYEE ID", "staff_no"),
    "family_name": ("Family name", "Surname", "Nachname", "Nom", "last name"),
    "given_name": ("Given name", "Forename", "Vorname", "Prénom", "FIRST NAME"),
    "area": ("Area", "Ward", "Station", "Unité", "department"),
    "role": ("Role", "Job title", "Berufsgruppe", "Métier"),
    "born_on": ("Born", "Date of birth", "Geburtsdatum", "Date de naissance"),
    "email": ("Email", "E-Mail", "Courriel"),
    "hours_share": ("FTE", "Beschäftigungsgrad", "ETP"),
    "starts_on": ("Start date", "Eintritt", "Date d'entrée"),
    "ends_on": ("End date", "Austritt", "Date de sortie"),
}

# Letters of Windows-1252, so that one strategy serves every encoding; never begun like a formula.
names = st.text("abzÄÖéñßŒ ,;|\"'’.\n", min_size=1, max_size=12).map(
    lambda text: "N" + " ".join(text.split())
)
numbers = st.text("0123456789", min_size=1, max_size=6)
shares = st.none() | st.sampled_from([Decimal(text) for text in ("0.01", "0.5", "0.75", "1")])
births = st.none() | st.dates(date(1940, 1, 1), date(2009, 12, 31))
emails = st.sampled_from(["", "a@saltmere.example", "b.c@ward.saltmere.example"])
areas = st.sampled_from(["Ward 7", "WARD 7", "Laundry", "Theatre", "Theatre 2"])
roles = st.sampled_from(["nurse", "Nurse", "porter", "surgeon"])


@st.composite
def staff_rows(draw: st.DrawFn, area: st.SearchStrategy[str] = areas) -> StaffRow:
    starts_on = draw(st.none() | st.dates(date(2011, 1, 1), date(2026, 12, 31)))
    return StaffRow(
        line=draw(st.integers(2, 99)),
        staff_number=draw(numbers),
        given_name=draw(names),
        family_name=draw(names),
        born_on=draw(births),
        email=draw(emails),
        area=draw(area),
        role=draw(roles),
        hours_share=draw(shares),
        starts_on=starts_on,
        ends_on=draw(st.none() | st.dates(max(starts_on or TODAY, TODAY), date(2030, 1, 1))),
    )


rows_of_people = st.lists(staff_rows(), min_size=1, max_size=12, unique_by=lambda row: row.staff_number)
staffs = st.lists(staff_rows(), max_size=12, unique_by=lambda row: row.staff_number).map(
    lambda rows: {row.staff_number: worker_after(row, None) for row in rows}
)


def as_list(rows: list[StaffRow], unread: frozenset[str] = frozenset()) -> StaffList:
    return StaffList(tuple(rows), (), "UTF-8", ",", columns={}, unread_numbers=unread)


@settings(deadline=None)
@given(
    rows=rows_of_people,
    order=st.permutations(list(HEADERS)),
    choices=st.data(),
    delimiter=st.sampled_from(",;\t|"),
    line_end=st.sampled_from(["\n", "\r\n", "\r"]),
    quoting=st.sampled_from([csv.QUOTE_MINIMAL, csv.QUOTE_ALL]),
    encoding=st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "cp1252"]),
    date_format=st.sampled_from(["%Y-%m-%d", "%d %b %Y", "%d.%m.%Y", "%d/%m/%Y"]),
)
def test_a_list_reads_back_as_it_was_written(
    *, rows, order, choices, delimiter, line_end, quoting, encoding, date_format
):
    text = io.StringIO(newline="")
    writer = csv.writer(text, delimiter=delimiter, lineterminator=line_end, quoting=quoting)
    writer.writerow([choices.draw(st.sampled_from(HEADERS[field])) for field in order])
    for row in rows:
        writer.writerow([_write(getattr(row, field), date_format) for field in order])
    listed = read_staff_list(text.getvalue().encode(encoding), name="staff.csv", today=TODAY, day_first=True)
    assert listed.problems == ()
    assert [replace(row, line=0) for row in listed.rows] == [replace(row, line=0) for row in rows]
    assert [row.line for row in listed.rows] == list(range(2, len(rows) + 2))
    assert set(listed.columns) == set(HEADERS)


def _write(value: object, date_format: str) -> str:
    if isinstance(value, date):
        return value.strftime(date_format)
    return "" if value is None else str(value)


@settings(deadline=None)
@given(
    st.binary(max_size=300)
    | st.text(',;|\t"\r\n=\0\ufeff0129/.-é abzWard', max_size=300).map(str.encode)
    | st.text(',;|\t"\r\n\ufffd0129/.-@% abz', max_size=300).map(
        lambda text: (
            codecs.BOM_UTF8
            + f"Staff no,Surname,First name,Ward,Role,Born,FTE,Email,Start,End\n{text}".encode()
        )
    )
)
def test_no_content_makes_the_reader_crash(raw):
    try:
        listed = read_staff_list(raw, name="staff.csv", today=TODAY)
    except BadInput:
        return
    lines = raw.replace(b"\r\n", b"\n").replace(b"\r", b"\n").count(b"\n") + 1
    assert all(1 <= problem.line <= lines for problem in listed.problems)
    assert len({row.staff_number for row in listed.rows}) == len(listed.rows)
    assert listed.rows or not listed.can_be_taken_over


def _compare(current: Mapping[str, CurrentWorker], listed: StaffList):
    return compare_staff(
        current, listed, known_areas=["Ward 7", "Laundry"], known_roles=["nurse"], today=TODAY
    )


@given(staffs, rows_of_people)
def test_taking_over_the_changes_leads_exactly_to_the_list(current, rows):
    after = staff_after(current, _compare(current, as_list(rows)))
    assert set(after) == {row.staff_number for row in rows}
    for row in rows:
        worker, before = after[row.staff_number], current.get(row.staff_number)
        assert (worker.given_name, worker.family_name) == (row.given_name, row.family_name)
        assert worker.area.casefold() == row.area.casefold()
        assert worker.role.casefold() == row.role.casefold()
        for field in ("born_on", "email", "hours_share"):
            said = getattr(row, field)
            if before and said in (None, ""):
                said = getattr(before, field)
            assert getattr(worker, field) == said


@given(staffs, rows_of_people)
def test_comparing_again_finds_nothing_to_change(current, rows):
    listed = as_list(rows)
    again = _compare(staff_after(current, _compare(current, listed)), listed)
    assert (again.joiners, again.movers, again.corrected, again.leavers) == ((), (), (), ())
    assert again.unchanged == len(rows)


@given(staffs, rows_of_people, st.data())
def test_nobody_is_lost_or_counted_twice(current, rows, data):
    ended = data.draw(st.sets(st.sampled_from([row.staff_number for row in rows])))
    rows = [
        replace(row, starts_on=None, ends_on=date(2025, 6, 1)) if row.staff_number in ended else row
        for row in rows
    ]
    unread = frozenset(data.draw(st.sets(st.sampled_from(sorted(current) or ["x"])))) - {
        row.staff_number for row in rows
    }
    changes = _compare(current, as_list(rows, unread))
    changed = {each.row.staff_number for each in (*changes.movers, *changes.corrected)}
    assert len(current) == changes.unchanged + len(changed) + len(changes.leavers) + changes.undecided
    assert len(rows) - len(ended) == len(changes.joiners) + len(changed) + changes.unchanged
    assert {worker.staff_number for worker in changes.leavers} == set(current) - unread - (
        {row.staff_number for row in rows} - ended
    )


@given(staffs, rows_of_people)
def test_comparing_changes_nothing_by_itself(current, rows):
    before = dict(current)
    staff_after(current, _compare(current, as_list(rows)))
    assert current == before
