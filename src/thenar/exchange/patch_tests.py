"""Patch tests as a CSV file: one row for each reading. Written, and read back all or not at all."""

import csv
import io
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from thenar.allergy.patch_test import (
    GRADE_WORDS,
    ImpossibleTest,
    Kind,
    OwnProduct,
    PatchGrade,
    PatchTest,
    Position,
    Reading,
    UnknownGrade,
    read_grade,
    refuse_days_to_come,
)
from thenar.allergy.product import Category
from thenar.errors import BadInput
from thenar.exchange.cells import plain_text
from thenar.exchange.delimited import Row, open_delimited, tidy, unseen_character
from thenar.exchange.patch_test_columns import (
    CALLED,
    DATES,
    OF_POSITION,
    OF_TEST,
    count_known_headers,
    find_columns,
)
from thenar.exchange.problems import Problem, Problems
from thenar.exchange.staff_dates import WrittenDate, read_date_column

MAX_ROWS = 200_000
MAX_CELL_CHARACTERS = 200

_FORMULA_SIGNS = ("=", "+", "-", "@")
_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9_.-]{0,39}")
_POSITION = re.compile(r"0*([1-9][0-9]{0,2})")
_KINDS = {"": Kind.ALLERGEN, **{kind.value: kind for kind in Kind}}
_CATEGORIES = {category.value: category for category in Category}


@dataclass(frozen=True, slots=True)
class NamedTest:
    """A patch test under the name it has in a file. The name must tell nobody who the person is."""

    id: str
    test: PatchTest


@dataclass(frozen=True, slots=True)
class PatchTestFile:
    """The tests of a file, and everything wrong with it: with a serious problem there are no tests.

    `columns` is our field → the header found.
    """

    tests: tuple[NamedTest, ...]
    problems: tuple[Problem, ...]
    encoding: str
    delimiter: str
    columns: Mapping[str, str]
    unused_headers: tuple[str, ...] = ()
    undecided_dates: bool = False


def write_patch_tests(tests: Iterable[NamedTest]) -> str:
    """Write tests as CSV: one row for each reading, and one for each position that was never read.

    Raises
    ------
    BadInput
        A name holds anything but letters, digits, dots, dashes and underlines, or stands twice; or a cell
        would not come back as it is.

    Notes
    -----
    Grades are written as words, since a spreadsheet takes `+` and `-` for the start of a formula.

    Examples
    --------
    >>> test = PatchTest(date(2026, 3, 2), date(2026, 3, 4), (Position(1, "nickel-sulfate", "5", "pet"),),
    ...     (Reading(1, date(2026, 3, 6), PatchGrade.STRONG),))
    >>> print(write_patch_tests([NamedTest("T-1", test)]).splitlines()[1])
    T-1,2026-03-02,2026-03-04,1,allergen,nickel-sulfate,5,pet,,,,2026-03-06,strong
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(CALLED.values())
    names: set[str] = set()
    for named in tests:
        _refuse_name(named.id, names)
        names.add(named.id)
        for row in _rows_of(named):
            writer.writerow(map(_fit_to_write, row))
    return out.getvalue()


def read_patch_tests(raw: bytes, *, name: str, today: date, day_first: bool | None = None) -> PatchTestFile:
    """Read tests from a CSV file, and say what is wrong on which line and in which column.

    Parameters
    ----------
    raw
        The file: comma, semicolon, tab or bar; UTF-8, UTF-16 with its mark, or Windows-1252.
    name
        What the person calls the file, for messages.
    today
        The day on which it is read; nothing was put on or read later.
    day_first
        Whether 03/04/2026 is 3 April. Without it the column's other dates decide, or a problem asks.

    Returns
    -------
    PatchTestFile
        Tests, positions and readings in the order in which they first stand in the file.

    Raises
    ------
    BadInput
        The file is no table of a reasonable size.

    Notes
    -----
    A row without "read on" and "grade" only says what was put on. Everything said of a test or a position
    must be the same in each of its rows.

    Examples
    --------
    >>> read = read_patch_tests(
    ...     b"test;put on;position;allergen;read on;grade\\nT-1;2026-03-02;1;nickel-sulfate;2026-03-06;++\\n",
    ...     name="tests.csv", today=date(2026, 3, 9))
    >>> read.tests[0].test.days_of(1)
    ((4, <PatchGrade.STRONG: '++'>),)
    """
    table = open_delimited(raw, name=name, kind="list of patch tests", recognise=count_known_headers)
    rows = table.rows()
    first = next(rows, None)
    if not isinstance(first, Row):
        return PatchTestFile((), (first,) if first else (), table.encoding, table.delimiter, {})
    headers = [tidy(cell) for cell in first.cells]
    places, faults = find_columns(headers, first.line)
    columns = {field: headers[place] for field, place in places.items()}
    problems = Problems(columns)
    for fault in faults:
        problems.add(fault)
    tests, undecided = (
        ((), False)
        if problems.any_serious
        else _FileReading(places, problems, today).tests(_taken(rows, len(headers), problems), day_first)
    )
    return PatchTestFile(
        () if problems.any_serious else tests,
        tuple(problems.listed()),
        table.encoding,
        table.delimiter,
        columns,
        tuple(header for place, header in enumerate(headers) if header and place not in places.values()),
        undecided,
    )


@dataclass(frozen=True, slots=True)
class _Line:
    """One row as text and, where it could be read, as values."""

    line: int
    text: Mapping[str, str]
    position: Position | None
    applied_on: date | None
    occluded_until: date | None
    read_on: date | None
    grade: PatchGrade | None


class _FileReading:
    """Turns rows of text into tests; whatever can't be read is asked about."""

    def __init__(self, places: Mapping[str, int], problems: Problems, today: date) -> None:
        self.places, self.problems, self.today = places, problems, today

    def tests(self, rows: Sequence[Row], day_first: bool | None) -> tuple[tuple[NamedTest, ...], bool]:
        """The tests, and whether someone has to say how the dates are written."""
        if not rows:
            self.problems.ask(1, "", "No reading is listed below the headers.", "Check the export.")
        texts = [(row.line, {field: self._text(row, field) for field in CALLED}) for row in rows]
        days, undecided = self._days(texts, day_first)
        by_test: dict[str, list[_Line]] = {}
        for line, text in texts:
            by_test.setdefault(text["test"], []).append(self._line(line, text, days))
        read = (self._test(name, lines) for name, lines in by_test.items() if name)
        return tuple(test for test in read if test is not None), undecided

    def _days(
        self, texts: Sequence[tuple[int, Mapping[str, str]]], day_first: bool | None
    ) -> tuple[dict[str, Mapping[str, date]], bool]:
        columns = {}
        for field in DATES:
            written = [WrittenDate(line, text[field]) for line, text in texts if text[field]]
            columns[field] = read_date_column(field, written, day_first=day_first, problems=self.problems)
        days = {field: column.days for field, column in columns.items()}
        return days, any(column.is_undecided for column in columns.values())

    def _line(self, line: int, text: Mapping[str, str], days: Mapping[str, Mapping[str, date]]) -> _Line:
        for field in ("test", "applied_on", "position", "hapten"):
            if not text[field]:
                self.problems.ask(line, field, f"The cell for {CALLED[field]} is empty.", "Fill it in.")
        if text["test"] and not _ID.fullmatch(text["test"]):
            says = "The name of this test holds more than letters, digits, dots, dashes and underlines."
            todo = "Name tests by a number or code that tells nobody who the person is."
            self.problems.ask(line, "test", says, todo)
        if bool(text["read_on"]) != bool(text["grade"]):
            field = "grade" if text["read_on"] else "read_on"
            says = f"The cell for {CALLED[field]} is empty."
            self.problems.ask(line, field, says, "Give both day and grade, or neither.")
        applied_on, occluded_until, read_on = (days[field].get(text[field]) for field in DATES)
        position, grade = self._position(line, text), self._grade(line, text["grade"])
        return _Line(line, text, position, applied_on, occluded_until, read_on, grade)

    def _position(self, line: int, text: Mapping[str, str]) -> Position | None:
        number = _POSITION.fullmatch(text["position"])
        if text["position"] and not number:
            says = "This is no number from 1 to 999."
            self.problems.ask(line, "position", says, "Number what was put on from 1.")
        kind = _KINDS.get(text["kind"].casefold())
        if kind is None:
            self.problems.ask(line, "kind", "This is no kind of position.", _write_one_of(Kind))
        category = _CATEGORIES.get(text["category"].casefold())
        if category is None and (text["category"] or text["dilution"]):
            says = "No kind of product that is known stands here."
            self.problems.ask(line, "category", says, _write_one_of(Category))
        elif number and kind and text["hapten"]:
            own = OwnProduct(category, text["dilution"]) if category else None
            return self._built(line, text, int(number[1]), kind, own)
        return None

    def _built(
        self, line: int, text: Mapping[str, str], number: int, kind: Kind, own: OwnProduct | None
    ) -> Position | None:
        try:
            return Position(
                number, text["hapten"], text["concentration"], text["vehicle"], text["series"], kind, own
            )
        except ImpossibleTest as fault:
            self.problems.ask(line, "kind", fault.what, fault.todo)
            return None

    def _grade(self, line: int, text: str) -> PatchGrade | None:
        try:
            return read_grade(text) if text else None
        except UnknownGrade as fault:
            self.problems.ask(line, "grade", "This is none of the grades in use.", fault.todo)
            return None

    def _test(self, name: str, lines: Sequence[_Line]) -> NamedTest | None:
        """One test from its rows; None where something of it is asked about."""
        by_position: dict[str, list[_Line]] = {}
        for one in lines:
            by_position.setdefault(one.text["position"].lstrip("0"), []).append(one)
        differences = self._differences(lines, OF_TEST, "test") + sum(
            self._differences(same, OF_POSITION, "position") for same in by_position.values()
        )
        positions = tuple(same[0].position for same in by_position.values() if same[0].position)
        if differences or len(positions) < len(by_position) or lines[0].applied_on is None:
            return None
        if not self._tried(lines[0], "applied_on", positions, ()):
            return None
        test = PatchTest(lines[0].applied_on, lines[0].occluded_until, positions, self._readings(lines))
        return NamedTest(name, test)

    def _differences(self, lines: Sequence[_Line], fields: Sequence[str], of: str) -> int:
        """How many cells say something else of one thing than its first row does; each is asked about."""
        first, *rest = lines
        found = 0
        for one in rest:
            for field in fields:
                if one.text[field] != first.text[field]:
                    says = f"The {CALLED[field]} differs from line {first.line}, which is of the same {of}."
                    self.problems.ask(one.line, field, says, "Make both the same, or name them apart.")
                    found += 1
        return found

    def _readings(self, lines: Sequence[_Line]) -> tuple[Reading, ...]:
        """The readings that can be; each is tried with what was read there that day: a fault has its line."""
        readings: dict[tuple[int, date], Reading] = {}
        for one in lines:
            if one.position is None or one.read_on is None or one.grade is None:
                continue
            reading = Reading(one.position.number, one.read_on, one.grade)
            earlier = readings.get((reading.position, reading.on))
            tried = (earlier, reading) if earlier else (reading,)
            if self._tried(one, "read_on", (one.position,), tried):
                readings[reading.position, reading.on] = reading
        return tuple(readings.values())

    def _tried(
        self, one: _Line, field: str, positions: tuple[Position, ...], readings: tuple[Reading, ...]
    ) -> bool:
        """Whether there can be such a test; if not, why is asked about."""
        if one.applied_on is None:
            return False
        try:
            test = PatchTest(one.applied_on, one.occluded_until, positions, readings)
            refuse_days_to_come(test, self.today)
        except ImpossibleTest as fault:
            self.problems.ask(one.line, field, fault.what, fault.todo)
            return False
        return True

    def _text(self, row: Row, field: str) -> str:
        text = plain_text(row, field, self.places, self.problems, longest=MAX_CELL_CHARACTERS)
        if field != "grade" and text.startswith(_FORMULA_SIGNS):
            says = f"The cell begins with '{text[0]}' as a formula does."
            self.problems.ask(row.line, field, says, "Write the text without that sign.")
            return ""
        return text


def _taken(rows: Iterator[Row | Problem], width: int, problems: Problems) -> list[Row]:
    taken: list[Row] = []
    for row in rows:
        if isinstance(row, Problem):
            problems.add(row)
            break
        if len(taken) == MAX_ROWS:
            raise BadInput(
                what=f"The file has more than {MAX_ROWS:,} readings.",
                why="No clinic tests so much in a year, so something else is in it.",
                todo="Export one row for each reading, a year at a time.",
            )
        if any(cell.strip() for cell in row.cells[width:]):
            says = f"The row has {len(row.cells)} cells under {width} headers."
            problems.ask(row.line, "", says, "Put a cell that holds the delimiter in quotation marks.")
        taken.append(row)
    return taken


def _write_one_of(kinds: type[StrEnum]) -> str:
    return f"Write one of: {', '.join(kinds)}."


def _refuse_name(name: str, taken: set[str]) -> None:
    if not _ID.fullmatch(name):
        raise BadInput(
            what="A test has a name of more than letters, digits, dots, dashes and underlines.",
            why="A file leaves the clinic, and its names must tell nobody who a person is.",
            todo="Name tests by a number or code.",
        )
    if name in taken:
        raise BadInput(
            what=f"Two tests are named {name}.",
            why="Read back, they would be one test.",
            todo="Give each its own name.",
        )


def _rows_of(named: NamedTest) -> Iterator[tuple[str, ...]]:
    test = named.test
    for position in test.positions:
        begins = (
            named.id,
            test.applied_on.isoformat(),
            test.occluded_until.isoformat() if test.occluded_until else "",
            str(position.number),
            position.kind.value,
            position.hapten,
            position.concentration,
            position.vehicle,
            position.series,
            position.own.category.value if position.own else "",
            position.own.dilution if position.own else "",
        )
        readings = [one for one in test.readings if one.position == position.number]
        for reading in sorted(readings, key=lambda one: one.on):
            yield (*begins, reading.on.isoformat(), GRADE_WORDS[reading.grade])
        if not readings:
            yield (*begins, "", "")


def _fit_to_write(cell: str) -> str:
    too_long = len(cell) > MAX_CELL_CHARACTERS
    if too_long or unseen_character(cell) or cell.startswith(_FORMULA_SIGNS) or tidy(cell) != cell:
        raise BadInput(
            what="What was put on at a position is described in words that a file can't hold.",
            why="A spreadsheet could take it for a formula, or it would not come back as it is.",
            todo="Write it in plain text of up to 200 characters, not beginning with =, +, - or @.",
        )
    return cell
