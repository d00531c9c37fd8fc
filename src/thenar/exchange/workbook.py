"""Which rows stand on the first sheet of a spreadsheet workbook (Office Open XML, ECMA-376)?"""

import io
import re
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from xml.etree import ElementTree

from thenar.errors import BadInput
from thenar.exchange.delimited import Row, refuse_too_large
from thenar.exchange.problems import Problem

MAX_UNPACKED_BYTES = 60_000_000  # three times what may come packed; a list of products is a fraction of it
MAX_PARTS = 2_000
MAX_COLUMNS = 200
BEGINNING = b"PK\x03\x04"

_MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
_LINK = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
_LINKED = "{http://schemas.openxmlformats.org/package/2006/relationships}Relationship"
_PLACE = re.compile(r"([A-Z]{1,3})[0-9]{1,7}")
_ESCAPED = re.compile(r"_x([0-9A-Fa-f]{4})_")  # how a workbook writes a character that XML can't hold
_SAVE_AS = "Open it in the spreadsheet and save it again, as a workbook (.xlsx) or as CSV (UTF-8)."


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
    its figures, without the sheet's formatting; a date comes as a day number, which nobody reads as a date.
    """
    refuse_too_large(len(raw), name=name)
    try:
        with zipfile.ZipFile(io.BytesIO(raw)) as packed:
            _refuse_too_large_unpacked(packed, name)
            sheet, place = _first_sheet(packed, name)
            shared = _shared_strings(packed, name)
            rows = tuple(_rows(_parsed(packed, place, name), shared, name))
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError) as fault:
        # RuntimeError is how a password is told; NotImplementedError a way of packing nobody uses here.
        raise _not_read(name, "is damaged, locked by a password, or no workbook") from fault
    return Workbook(sheet, rows)


def _refuse_too_large_unpacked(packed: zipfile.ZipFile, name: str) -> None:
    parts = packed.infolist()
    size = sum(part.file_size for part in parts)
    if size > MAX_UNPACKED_BYTES or len(parts) > MAX_PARTS:
        raise BadInput(
            what=f"{name} unpacks to {size / 1_000_000:,.0f} MB in {len(parts):,} parts.",
            why=f"At most {MAX_UNPACKED_BYTES // 1_000_000} MB are read: no file may fill the machine.",
            todo="Save only the list itself, without pictures or other sheets.",
        )


class _Builder(ElementTree.TreeBuilder):
    """Builds the tree, and stops at a document type: entities could make a small file endless."""

    def doctype(self, *_: object) -> None:
        raise ElementTree.ParseError("document type")


def _parsed(packed: zipfile.ZipFile, place: str, name: str) -> ElementTree.Element:
    try:
        with packed.open(place) as part:  # gives no more than the size the file states
            return ElementTree.fromstring(part.read(), ElementTree.XMLParser(target=_Builder()))  # noqa: S314
    except KeyError:
        raise _not_read(name, "is a packed file, but no workbook") from None
    except ElementTree.ParseError:
        raise _not_read(name, "is a workbook with damaged or forbidden contents") from None


def _first_sheet(packed: zipfile.ZipFile, name: str) -> tuple[str, str]:
    """The name of the first sheet shown, and the part of the file that holds it."""
    book = _parsed(packed, "xl/workbook.xml", name)
    links = _parsed(packed, "xl/_rels/workbook.xml.rels", name)
    targets = {link.get("Id"): link.get("Target", "") for link in links.iter(_LINKED)}
    for sheet in book.iter(f"{_MAIN}sheet"):
        target = targets.get(sheet.get(_LINK))
        if sheet.get("state", "visible") == "visible" and target:
            return sheet.get("name", ""), target[1:] if target.startswith("/") else f"xl/{target}"
    raise _not_read(name, "has no sheet that is shown")


def _shared_strings(packed: zipfile.ZipFile, name: str) -> list[str]:
    if "xl/sharedStrings.xml" not in packed.namelist():
        return []
    return [_text(item) for item in _parsed(packed, "xl/sharedStrings.xml", name).iter(f"{_MAIN}si")]


def _rows(sheet: ElementTree.Element, shared: list[str], name: str) -> Iterator[Row | Problem]:
    line = 0
    for row in sheet.iter(f"{_MAIN}row"):
        line = int(number) if (number := row.get("r", "")).isdecimal() else line + 1
        cells: list[str] = []
        for cell in row.iter(f"{_MAIN}c"):
            column = _column(cell.get("r", ""), len(cells))
            if column >= MAX_COLUMNS:
                raise _not_read(name, f"has more than {MAX_COLUMNS} columns")
            cells += [""] * (column + 1 - len(cells))
            if fault := _fault(cell):
                yield Problem(line, _letters(column), *fault, serious=True)
            else:
                cells[column] = _cell(cell, shared)
        if any(cell.strip() for cell in cells):
            yield Row(line, cells)


def _fault(cell: ElementTree.Element) -> tuple[str, str] | None:
    if cell.find(f"{_MAIN}f") is not None:
        return "The cell holds a formula.", "Copy the column and paste it as values."
    if cell.get("t") == "e":
        return "The cell holds an error of the spreadsheet.", "Type the cell again by hand."
    return None


def _cell(cell: ElementTree.Element, shared: list[str]) -> str:
    kind, value = cell.get("t", "n"), cell.findtext(f"{_MAIN}v", "")
    if kind == "s":
        return shared[int(value)] if value.isdecimal() and int(value) < len(shared) else ""
    if kind == "inlineStr":
        return "".join(_text(item) for item in cell.iter(f"{_MAIN}is"))
    if kind == "b":
        return "yes" if value == "1" else "no"
    return _figures(value) if kind == "n" else value


def _figures(value: str) -> str:
    """A number as it was typed: workbooks keep 1.1 as 1.1000000000000001."""
    try:
        return f"{float(value):.12g}"
    except ValueError:
        return value


def _text(item: ElementTree.Element) -> str:
    """The text of an item, in one piece or in runs; how it is to be spoken (in Japanese) is left out."""
    runs = [item, *item.iter(f"{_MAIN}r")]
    text = "".join(part.text or "" for run in runs for part in run.findall(f"{_MAIN}t"))
    return _ESCAPED.sub(lambda found: chr(int(found[1], 16)), text)


def _column(place: str, following: int) -> int:
    found = _PLACE.fullmatch(place)
    if not found:
        return following
    column = 0
    for letter in found[1]:
        column = 26 * column + ord(letter) - ord("A") + 1
    return column - 1


def _letters(column: int) -> str:
    letters = ""
    column += 1
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def _not_read(name: str, what: str) -> BadInput:
    return BadInput(what=f"{name} {what}.", why="Nothing was read from it.", todo=_SAVE_AS)
