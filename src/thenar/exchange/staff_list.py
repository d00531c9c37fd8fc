"""Who stands in a hospital's staff list, and what in it must be put right before it is taken over?"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from thenar.errors import BadInput
from thenar.exchange.delimited import Delimited, Row, open_delimited, tidy, unseen_character
from thenar.exchange.problems import Problem, Problems
from thenar.exchange.staff_columns import FIELDS, REQUIRED, Heading, count_known_headers, map_columns
from thenar.exchange.staff_dates import DateColumn, WrittenDate, read_date_column
from thenar.exchange.staff_row import DATES, StaffRow, WrittenRow, read_person

MAX_ROWS = 200_000
MAX_COLUMNS = 200
MAX_CELL_CHARACTERS = 1_000

# Taken as an empty cell, but only where a cell may be empty: there are people whose name is Null.
_NOTHING = frozenset({"-", "--", "n/a", "na", "#n/a", "none", "null", "nil", "k. a.", "k.a.", "nc", "?"})


@dataclass(frozen=True, slots=True)
class StaffList:
    """What could be read of a staff list, and everything wrong with it.

    Parameters
    ----------
    rows
        One per staff number, in the file's order. With a serious problem they are only for looking at:
        an optional cell that can't be read is left out, and so is a row that lacks a required one.
    problems
        In the order of their lines.
    encoding, delimiter
        How the file was read.
    columns
        Our field → the header found.
    unused_headers
        Columns that were not read.
    undecided_dates
        Headers of the date columns of which someone has to say whether the day or the month comes first.
    unread_numbers
        Staff numbers of the rows left out, so that nobody on them is taken for a leaver.
    """

    rows: tuple[StaffRow, ...]
    problems: tuple[Problem, ...]
    encoding: str
    delimiter: str
    columns: Mapping[str, str]
    unused_headers: tuple[str, ...] = ()
    undecided_dates: tuple[str, ...] = ()
    unread_numbers: frozenset[str] = frozenset()

    @property
    def can_be_taken_over(self) -> bool:
        """Whether no serious problem stands against it."""
        return not any(problem.serious for problem in self.problems)


def read_staff_list(raw: bytes, *, name: str, today: date, day_first: bool | None = None) -> StaffList:
    """Read a hospital's staff list from a CSV file, whatever its dialect, and say what is wrong where.

    Parameters
    ----------
    raw
        The file: comma, semicolon, tab or bar; UTF-8, UTF-16 with its mark, or Windows-1252.
    name
        What the person calls the file, for messages.
    today
        The day on which it is read; nobody is born later.
    day_first
        Whether 03/04/2025 is 3 April (True) or March 4 (False). Without it each column's other dates decide;
        where they don't, a serious problem asks.

    Raises
    ------
    BadInput
        When the file is no table of a reasonable size: empty, binary, over 20 MB, 200 columns, 200,000 rows.

    Notes
    -----
    What can't be read is a serious problem; what was read but looks odd is another. No problem quotes a name,
    an email or an intact staff number. One row per person: somebody with two rows is asked about, not merged.

    Examples
    --------
    >>> listed = read_staff_list(
    ...     b"Staff no;Surname;First name;Ward;Role;Born\\n00123;Tern;Alice;Ward 7;nurse;31.2.1980\\n",
    ...     name="staff.csv",
    ...     today=date(2025, 6, 2),
    ... )
    >>> listed.rows[0].staff_number, listed.problems[0].says
    ('00123', '31.2.1980 is not in the calendar.')
    """
    table = open_delimited(raw, name=name, kind="staff list", recognise=count_known_headers)
    rows = table.rows()
    first = next(rows, None)
    if first is None:
        raise BadInput(
            what="The file has no row.", why="No one can be read from it.", todo="Export it again."
        )
    if isinstance(first, Problem):
        return StaffList((), (first,), table.encoding, table.delimiter, columns={})
    heading = map_columns(first.cells, first.line)
    if heading.width > MAX_COLUMNS:
        raise BadInput(
            what=f"The first row has {heading.width:,} columns; at most {MAX_COLUMNS} are read.",
            why="A staff list needs a dozen, so this is probably another file.",
            todo="Export only the columns of the staff list.",
        )
    if any(problem.serious for problem in heading.problems):
        return _not_read(table, heading)
    return _read_rows(table, heading, rows, today, day_first)


def _not_read(table: Delimited, heading: Heading) -> StaffList:
    return StaffList(
        rows=(),
        problems=heading.problems,
        encoding=table.encoding,
        delimiter=table.delimiter,
        columns=heading.columns,
        unused_headers=heading.unused,
    )


def _read_rows(
    table: Delimited, heading: Heading, rows: Iterable[Row | Problem], today: date, day_first: bool | None
) -> StaffList:
    problems = Problems(heading.columns)
    for problem in heading.problems:
        problems.add(problem)
    written = list(_take_text(rows, heading, problems))
    if not written and not problems.any_serious:
        problems.ask(1, "", "Nobody is listed below the headers.", "Check that the export was complete.")
    dates = {
        field: _date_column(field, written, day_first, problems) for field in DATES if field in heading.places
    }
    days = {field: column.days for field, column in dates.items()}
    repeated = _ask_about_repeated_numbers(written, problems)
    people, unread_numbers = [], set()
    for row in written:
        person = read_person(row, days, today=today, problems=problems)
        if person is None:
            unread_numbers.add(row.text["staff_number"])
        elif person.line not in repeated:
            people.append(person)
    return StaffList(
        rows=tuple(people),
        problems=tuple(problems.listed()),
        encoding=table.encoding,
        delimiter=table.delimiter,
        columns=heading.columns,
        unused_headers=heading.unused,
        undecided_dates=tuple(
            heading.columns[field] for field, column in dates.items() if column.is_undecided
        ),
        unread_numbers=frozenset(unread_numbers - {""}),
    )


def _take_text(rows: Iterable[Row | Problem], heading: Heading, problems: Problems) -> Iterator[WrittenRow]:
    for count, row in enumerate(rows, 1):
        if isinstance(row, Problem):
            problems.add(row)
            return
        if count > MAX_ROWS:
            raise BadInput(
                what=f"The list has more than {MAX_ROWS:,} rows.",
                why="No hospital has so many staff, so this is probably another file.",
                todo="Export one row for each person who works here now.",
            )
        _check_width(row, heading.width, problems)
        yield WrittenRow(row.line, {field: _text(row, field, heading, problems) for field in FIELDS})


def _check_width(row: Row, width: int, problems: Problems) -> None:
    count = len(row.cells)
    if count > width and any(cell.strip() for cell in row.cells[width:]):
        says = f"The row has {count} cells under {width} headers."
        todo = "Put a cell that holds the delimiter in quotation marks, or remove the cells too many."
        problems.ask(row.line, "", says, todo)
    elif count < width:
        says = f"The row has {count} cells under {width} headers; the others are taken as empty."
        problems.ask(row.line, "", says, "Look whether the row was broken in two.", serious=False)


def _text(row: Row, field: str, heading: Heading, problems: Problems) -> str:
    place = heading.places.get(field)
    if place is None or place >= len(row.cells):
        return ""
    cell = row.cells[place]
    if len(cell) > MAX_CELL_CHARACTERS:
        says = f"The cell has {len(cell):,} characters; at most {MAX_CELL_CHARACTERS:,} are read."
        problems.ask(row.line, field, says, "Shorten it, or look for a quotation mark that is never closed.")
        return ""
    if unseen := unseen_character(cell):
        says = f"The cell holds a character that can't be seen ({unseen})."
        problems.ask(row.line, field, says, "Type the cell again by hand.")
        return ""
    text = tidy(cell)
    return "" if field not in REQUIRED and text.casefold() in _NOTHING else text


def _date_column(
    field: str, written: Iterable[WrittenRow], day_first: bool | None, problems: Problems
) -> DateColumn:
    cells = [WrittenDate(row.line, row.text[field]) for row in written if row.text[field]]
    return read_date_column(field, cells, day_first=day_first, problems=problems)


def _ask_about_repeated_numbers(written: Iterable[WrittenRow], problems: Problems) -> set[int]:
    """Ask about all rows that share a staff number; gives the lines of all but the first of each."""
    lines_of: dict[str, list[int]] = {}
    for row in written:
        lines_of.setdefault(row.text["staff_number"], []).append(row.line)
    shared = [lines for number, lines in lines_of.items() if number and len(lines) > 1]
    for lines in shared:
        for line in lines:
            _ask_about_duplicate(line, lines, problems)
    return {line for lines in shared for line in lines[1:]}


def _ask_about_duplicate(line: int, lines: list[int], problems: Problems) -> None:
    others = [str(other) for other in lines[:6] if other != line][:5]
    more = " and more" if len(lines) > len(others) + 1 else ""
    says = f"The same staff number stands on line{'s' if len(lines) > 2 else ''} {', '.join(others)}{more}."
    problems.ask(line, "staff_number", says, "Keep one row for each person, with the post they work in now.")
