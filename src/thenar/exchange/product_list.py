"""Which products stand in a list, and what in it must be put right before it is taken over?"""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TypeVar

from thenar.allergy.declared import ListKind
from thenar.allergy.product import Category
from thenar.errors import BadInput
from thenar.exchange.delimited import Delimited, Row, open_delimited, tidy, unseen_character
from thenar.exchange.problems import Problem, Problems
from thenar.exchange.product_columns import CALLED, FIELDS, NEEDED, Heading, count_known_headers, map_columns
from thenar.exchange.workbook import BEGINNING, Workbook, open_workbook
from thenar.exchange.written_dates import read_date, say_why_no_date

MAX_ROWS = 5_000
MAX_CELL_CHARACTERS = 400
MAX_TEXT_CHARACTERS = 100_000  # an ingredient text; the longest labels have some thousands

_YES, _NO = frozenset({"yes", "y", "true", "1"}), frozenset({"no", "n", "false", "0"})
_FORMULA = ("=", "@", "+", "-")
_SPREADSHEET_ERROR = re.compile(r"#(REF!|NAME\?|VALUE!|N/A|DIV/0!|NULL!|NUM!)", re.IGNORECASE)
_AMOUNT = re.compile(r"[0-9]{1,7}(?:[.,][0-9]{1,2})?")
_CATEGORIES = {category.value: category for category in Category} | {"hand rub": Category.RUB}
_LIST_KINDS = {kind.value: kind for kind in ListKind}


_FLAGS = ("virucidal", "leave_on", "sterile", "coloured", "powdered")
_AMOUNTS = ("per_worker_year", "per_year")

_Kind = TypeVar("_Kind", Category, ListKind)


@dataclass(frozen=True, slots=True, kw_only=True)
class ProductRow:
    """One product of the list, and its line. None, or an empty text, sizes, areas: the list does not say."""

    line: int
    code: str
    name: str
    category: Category
    list_kind: ListKind | None = None
    text: str = ""
    from_on: date | None = None
    read_from: str = ""
    virucidal: bool | None = None
    leave_on: bool | None = None
    material: str = ""
    sterile: bool | None = None
    sizes: tuple[str, ...] = ()
    coloured: bool | None = None
    powdered: bool | None = None
    per_worker_year: Decimal | None = None
    per_year: Decimal | None = None
    areas: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ProductList:
    """What could be read, and everything wrong with it. With a serious problem rows are only for looking at.

    `read_as` says in words how the file was read; `columns` is our field → the header found.
    """

    rows: tuple[ProductRow, ...]
    problems: tuple[Problem, ...]
    read_as: str
    columns: Mapping[str, str]
    unused_headers: tuple[str, ...] = ()


def read_product_list(
    raw: bytes, *, name: str, areas: Iterable[str], materials: Mapping[str, str]
) -> ProductList:
    """Read products from a CSV file or a workbook, and say what is wrong on which line, in which column.

    Parameters
    ----------
    raw
        The file: a workbook (.xlsx), of which the first sheet shown is read; or text with comma, semicolon,
        tab or bar, in UTF-8, UTF-16 with its mark, or Windows-1252.
    name
        What the person calls the file, for messages.
    areas
        The names known here. An unknown one is a serious problem: nothing is added from such a list.
    materials
        Name or id of each glove material → its id.

    Raises
    ------
    BadInput
        The file is no table of a reasonable size.

    Notes
    -----
    The ingredient text stays as written, its lines included. An empty cell is "the list does not say".
    Whether a declaration can be used is for `thenar.records` to say.

    Examples
    --------
    >>> listed = read_product_list(
    ...     b"Code;Name;Kind of product;INCI\\nS1;A soap;soap;Aqua, Glycerin\\nS1;Another;soup;Aqua\\n",
    ...     name="products.csv", areas=[], materials={})
    >>> listed.rows[0].text, [problem.says for problem in listed.problems]
    ('Aqua, Glycerin', ['This is no kind of product known here.', 'The same code stands on line 2.'])
    """
    table = _open(raw, name)
    rows = table.rows()
    first = next(rows, None)
    if not isinstance(first, Row):
        return ProductList((), (first,) if first else (_no_product(1),), _read_as(table), {})
    heading = map_columns(first.cells, first.line)
    problems = Problems(heading.columns)
    for problem in heading.problems:
        problems.add(problem)
    reading = _Reading(heading, problems, _by_word({area: area for area in areas}), _by_word(materials))
    read = () if problems.any_serious else tuple(reading.products(_taken(rows, table, problems)))
    if not read and not problems.any_serious:
        problems.add(_no_product(first.line))
    return ProductList(read, tuple(problems.listed()), _read_as(table), heading.columns, heading.unused)


class _Reading:
    """Turns rows of text into products; whatever can't be read is asked about."""

    def __init__(
        self, heading: Heading, problems: Problems, areas: Mapping[str, str], materials: Mapping[str, str]
    ) -> None:
        self.places, self.problems = heading.places, problems
        self.areas, self.materials = areas, materials
        self.line = 0
        self.seen: dict[str, int] = {}

    def products(self, rows: Iterable[Row]) -> Iterator[ProductRow]:
        """Every row that has code, name and kind."""
        for row in rows:
            self.line = row.line
            cells = {field: self._cell(row, field) for field in FIELDS}
            read = self._product(cells)
            if self._is_first(cells["code"]) and read is not None:
                yield read

    def _product(self, cells: Mapping[str, str]) -> ProductRow | None:
        for field in NEEDED:
            if not cells[field] and not self.problems.is_asked_about(self.line, field):
                self._ask(field, f"The cell for the {CALLED[field]} is empty.", "Fill it in.")
        category = self._one_of("category", cells["category"], _CATEGORIES)
        read = {
            "list_kind": self._one_of("list_kind", cells["list_kind"], _LIST_KINDS),
            "from_on": self._day(cells["from_on"]),
            "material": self._material(cells["material"]),
            "sizes": _entries(cells["sizes"]),
            "areas": self._areas(cells["areas"]),
            **{field: self._flag(field, cells[field]) for field in _FLAGS},
            **{field: self._amount(field, cells[field]) for field in _AMOUNTS},
        }
        if not (cells["code"] and cells["name"] and category):
            return None
        as_written = {field: cells[field] for field in ("code", "name", "text", "read_from")}
        return ProductRow(line=self.line, category=category, **as_written, **read)  # type: ignore[arg-type]

    def _cell(self, row: Row, field: str) -> str:
        place = self.places.get(field)
        if place is None or place >= len(row.cells):
            return ""
        cell = row.cells[place]
        if fault := _fault(cell, field):
            self._ask(field, *fault)
            return ""
        return cell.replace("\r\n", "\n").strip() if field == "text" else tidy(cell)

    def _is_first(self, code: str) -> bool:
        first = self.seen.setdefault(code.casefold(), self.line) if code else self.line
        if first != self.line:
            self._ask("code", f"The same code stands on line {first}.", "Keep one row for each product.")
        return first == self.line

    def _one_of(self, field: str, text: str, known: Mapping[str, _Kind]) -> _Kind | None:
        found = known.get(text.casefold())
        if text and found is None:
            self._ask(field, f"This is no {CALLED[field]} known here.", f"Write one of: {', '.join(known)}.")
        return found

    def _day(self, text: str) -> date | None:
        meant = read_date(text)
        if text and meant.is_ambiguous:
            self._ask("from_on", f"{text} could be two days.", "Write the month as a word, or 2026-03-02.")
            return None
        day = meant.day_first or meant.month_first
        if text and day is None:
            self._ask("from_on", *say_why_no_date(text))
        return day

    def _flag(self, field: str, text: str) -> bool | None:
        word = text.casefold()
        if word and word not in _YES | _NO:
            self._ask(field, "This is neither yes nor no.", "Write yes or no; empty if nobody knows.")
        return True if word in _YES else False if word in _NO else None

    def _amount(self, field: str, text: str) -> Decimal | None:
        if text and not _AMOUNT.fullmatch(text):
            todo = "Write figures with at most two decimals and no currency, like 3.50."
            self._ask(field, "This is not an amount from 0 up.", todo)
            return None
        return Decimal(text.replace(",", ".")) if text else None

    def _material(self, text: str) -> str:
        found = self.materials.get(_word(text), "")
        if text and not found:
            known = ", ".join(sorted(set(self.materials.values())))
            self._ask("material", "This is no glove material known here.", f"Write one of: {known}.")
        return found

    def _areas(self, text: str) -> tuple[str, ...]:
        found = []
        for entry in _entries(text):
            if area := self.areas.get(_word(entry)):
                found.append(area)
            else:
                says = "No area of one of these names is known here."
                todo = "Write areas as in the staff list, with a semicolon or bar between."
                self._ask("areas", says, todo)
        return tuple(dict.fromkeys(found))

    def _ask(self, field: str, says: str, todo: str) -> None:
        self.problems.ask(self.line, field, says, todo)


def _fault(cell: str, field: str) -> tuple[str, str] | None:
    """What stands against a cell, whatever it says."""
    most = MAX_TEXT_CHARACTERS if field == "text" else MAX_CELL_CHARACTERS
    if len(cell) > most:
        says = f"The cell has {len(cell):,} characters; at most {most:,} are read."
        return says, "Give what belongs to one product, or look for a quotation mark that is never closed."
    if cell.strip().startswith(_FORMULA[:2] if field in ("text", *_AMOUNTS) else _FORMULA):
        return "The cell begins like a formula.", "Write the text itself, or paste the column as values."
    if _SPREADSHEET_ERROR.fullmatch(cell.strip()):
        return "The cell holds an error of the spreadsheet.", "Type the cell again by hand."
    unseen = _control_character(cell) if field == "text" else unseen_character(cell)
    if unseen:
        return f"The cell holds a character that can't be seen ({unseen}).", "Type the cell again by hand."
    return None


def _control_character(cell: str) -> str | None:
    """Labels copied from pages hold joiners and soft hyphens, which reading a label passes over."""
    found = next((one for one in cell if (one < " " and one not in "\t\r\n") or "\x7f" <= one < "\xa0"), None)
    return f"U+{ord(found):04X}" if found else None


def _open(raw: bytes, name: str) -> Delimited | Workbook:
    if raw.startswith(BEGINNING):
        return open_workbook(raw, name=name)
    return open_delimited(raw, name=name, kind="list of products", recognise=count_known_headers)


def _read_as(table: Delimited | Workbook) -> str:
    if isinstance(table, Workbook):
        return f"workbook, sheet “{tidy(table.sheet)[:40]}”"
    between = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "bars"}[table.delimiter]
    return f"{table.encoding}, cells divided by {between}"


def _taken(rows: Iterator[Row | Problem], table: Delimited | Workbook, problems: Problems) -> Iterator[Row]:
    count = 0
    for row in rows:
        if isinstance(row, Problem):
            problems.add(_stopped(row, table))
            continue
        count += 1
        if count > MAX_ROWS:
            raise BadInput(
                what=f"The list has more than {MAX_ROWS:,} products.",
                why="No hospital has so many for its hands, so this is probably another file.",
                todo="Export one row for each product that hands meet.",
            )
        yield row


def _stopped(problem: Problem, table: Delimited | Workbook) -> Problem:
    """Where a CSV file can't be read on because of a text without end, say that."""
    if isinstance(table, Workbook):
        return problem
    rest = table.text.splitlines()[problem.line - 1 :]
    if not rest or len(rest[0]) <= MAX_TEXT_CHARACTERS:
        return problem
    says = f"The row has {len(rest[0]):,} characters, more than any label; nothing below was read."
    return Problem(problem.line, "", says, "Give the ingredient text of one product.", serious=True)


def _no_product(line: int) -> Problem:
    return Problem(line, "", "No product is listed below the headers.", "Check the export.", serious=True)


def _entries(text: str) -> tuple[str, ...]:
    """What stands between semicolons or bars."""
    return tuple(dict.fromkeys(entry for part in re.split(r"[;|]", text) if (entry := tidy(part))))


def _by_word(names: Mapping[str, str]) -> dict[str, str]:
    return {_word(name): meant for name, meant in names.items()}


def _word(text: str) -> str:
    return tidy(text).casefold()
