"""Which rows stand on the first sheet of a spreadsheet workbook (Office Open XML, ECMA-376)?"""

import io
import warnings
import zipfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, time
from typing import Any

from defusedxml.common import DefusedXmlException
from openpyxl import load_workbook
from openpyxl.utils import get_column_letter
from openpyxl.utils.escape import unescape

from thenar.errors import BadInput
from thenar.exchange.delimited import LONGEST_HEADER, MAX_LINES, Row, refuse_too_large, tidy
from thenar.exchange.problems import Problem

MAX_UNPACKED_BYTES = 60_000_000  # three times what may come packed; a list of products is a fraction of it
MAX_PARTS = 2_000
MAX_FORMULA_BYTES = 20_000_000  # openpyxl spells a shared formula out for every cell that shares it
MAX_TAGS = (
    1_500_000  # a small file can hold many, each a thing in memory; a full list of products has 500,000
)
MAX_COLUMNS = 200
BEGINNING = b"PK\x03\x04"

_SAVE_AS = "Open it in the spreadsheet and save it again, as a workbook (.xlsx) or as CSV (UTF-8)."
_FAULTS = {  # by openpyxl's type of a cell
    "f": ("The cell holds a formula.", "Copy the column and paste it as values."),
    "e": ("The cell holds an error of the spreadsheet.", "Type the cell again by hand."),
}


@dataclass(frozen=True, slots=True)
class Workbook:
    """The first sheet of a workbook that isn't hidden: its name, and its rows as `Delimited` gives them."""

    sheet: str
    cells: tuple[Row | Problem, ...]

    def rows(self) -> Iterator[Row | Problem]:
        """Give each row that isn't blank, and a serious problem for each formula or error in a cell."""
        return iter(self.cells)


def open_workbook(raw: bytes, *, name: str) -> Workbook:
    """Read the first sheet that isn't hidden.

    Parameters
    ----------
    raw
        The file [at most 20 MB; unpacked at most 60 MB, by what it says itself and by what comes out].
    name
        What the person calls the file, for messages.

    Raises
    ------
    BadInput
        It is no workbook, damaged, locked by a password, too large, or brings entity declarations.

    Notes
    -----
    What a formula last gave is not read: it may be old, and it may come from another file. A number comes as
    its figures, without the sheet's formatting; a date as 2026-03-03.
    """
    refuse_too_large(len(raw), name=name, kind="workbook")
    try:
        _refuse_too_large_unpacked(raw, name)
        _refuse_too_much_work(raw, name)
        with warnings.catch_warnings():
            warnings.simplefilter(
                "ignore"
            )  # what openpyxl leaves out (styles, drop-down lists) nobody asks for
            return _first_sheet(raw, name)
    except BadInput:
        raise
    except Exception as fault:  # openpyxl meets damage with whatever error comes of it
        if isinstance(fault, DefusedXmlException) or isinstance(fault.__cause__, DefusedXmlException):
            raise _not_read(name, "is a workbook with forbidden contents: entity declarations") from fault
        raise _not_read(name, "is damaged, locked by a password, or no workbook") from fault


def _refuse_too_large_unpacked(raw: bytes, name: str) -> None:
    with zipfile.ZipFile(io.BytesIO(raw)) as packed:
        parts = packed.infolist()
    size = sum(part.file_size for part in parts)  # no part gives more than it says: zipfile sees to it
    if size > MAX_UNPACKED_BYTES or len(parts) > MAX_PARTS:
        raise BadInput(
            what=f"{name} unpacks to {size / 1_000_000:,.0f} MB in {len(parts):,} parts.",
            why=f"At most {MAX_UNPACKED_BYTES // 1_000_000} MB are read: no file may fill the machine.",
            todo="Save only the list itself, without pictures or other sheets.",
        )


def _refuse_too_much_work(raw: bytes, name: str) -> None:
    """What stays under the size unpacked can still be a million cells, or formulas without end."""
    tags = 0
    with zipfile.ZipFile(io.BytesIO(raw)) as packed:
        for part in packed.infolist():
            content = packed.read(part)
            tags += content.count(b"<")
            sharing = content.count(b"shared")
            if sharing and sharing * max(map(len, content.split(b"<"))) > MAX_FORMULA_BYTES:
                raise _not_read(name, "holds long formulas in many cells: paste them as values")
    if tags > MAX_TAGS:
        raise _not_read(name, "has far more cells than any list needs, perhaps empty ones that are formatted")


def _first_sheet(raw: bytes, name: str) -> Workbook:
    book = load_workbook(io.BytesIO(raw), read_only=True, keep_links=False)
    shown = next((sheet for sheet in book.worksheets if sheet.sheet_state == "visible"), None)
    if shown is None:
        raise _not_read(name, "has no sheet that is shown")
    shown.reset_dimensions()  # what a sheet says of its own size is often wrong
    return Workbook(shown.title, tuple(_rows(shown.iter_rows(), name)))


def _rows(rows: Iterator[tuple[Any, ...]], name: str) -> Iterator[Row | Problem]:
    headers: Sequence[str] = ()
    for line, row in enumerate(rows, 1):
        if line > MAX_LINES:
            raise _not_read(name, f"has more than {MAX_LINES:,} rows")
        if len(row) > MAX_COLUMNS:
            raise _not_read(name, f"has more than {MAX_COLUMNS} columns")
        cells = ["" if cell.data_type in _FAULTS else _text(cell.value) for cell in row]
        for place, cell in enumerate(row):
            if fault := _FAULTS.get(cell.data_type):
                yield Problem(line, _column(place, headers), *fault, serious=True)
        if any(cell.strip() for cell in cells):
            headers = headers or cells
            yield Row(line, cells)


def _column(place: int, headers: Sequence[str]) -> str:
    """The header of a column as its sender wrote it; the letter of the spreadsheet where there is none."""
    header = tidy(headers[place])[:LONGEST_HEADER] if place < len(headers) else ""
    return header or get_column_letter(place + 1)


def _text(value: object) -> str:
    """A cell as it looks: workbooks keep 1.1 as 1.1000000000000001, and line breaks as _x000D_."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.15g}"  # as many figures as a spreadsheet holds
    if isinstance(value, datetime):
        return value.date().isoformat() if value.time() == time() else value.isoformat(" ")
    return str(unescape(value)) if isinstance(value, str) else str(value)


def _not_read(name: str, what: str) -> BadInput:
    return BadInput(what=f"{name} {what}.", why="Nothing was read from it.", todo=_SAVE_AS)
