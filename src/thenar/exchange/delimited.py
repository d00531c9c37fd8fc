"""Which rows stand in a delimited text file, and on which lines? Its encoding and delimiter are found out."""

import csv
import io
import re
import unicodedata
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from thenar.errors import BadInput
from thenar.exchange.problems import Problem

MAX_BYTES = 20_000_000
MAX_LINES = 1_000_000
LONGEST_HEADER = 40  # characters of a header by which a problem names its column
MAX_ROW_CHARACTERS = 250_000  # 200 cells of 1,000 characters, with room for delimiters and quotes

DELIMITERS = (",", ";", "\t", "|")

_MARKS = (
    (b"\xef\xbb\xbf", "utf-8", "UTF-8 with a byte order mark"),
    (b"\xff\xfe", "utf-16-le", "UTF-16"),
    (b"\xfe\xff", "utf-16-be", "UTF-16"),
)
_NOT_TEXT = (
    (b"PK\x03\x04", "a spreadsheet workbook or another packed file"),
    (b"\xd0\xcf\x11\xe0", "an old spreadsheet workbook"),
    (b"%PDF", "a PDF"),
    (b"{\\rtf", "a word-processor document"),
    (b"<", "a web page or XML"),
)
_PICTURES = (b"\x89PNG", b"\xff\xd8\xff", b"GIF8", b"II*\x00", b"MM\x00*")
_SAVE_AS = "Open it in the spreadsheet or the system it comes from and save it as CSV (UTF-8)."
_DECLARED_DELIMITER = re.compile(r"sep=([,;\t|])\r?\n?", re.IGNORECASE)

# Format characters that scripts need inside a word; every other unseen character is refused.
_JOINERS = "\u200c\u200d"


@dataclass(frozen=True, slots=True)
class Row:
    """One row that holds anything, and the line of the file on which it begins."""

    line: int
    cells: list[str]


@dataclass(frozen=True, slots=True)
class Delimited:
    """A text file with its encoding and delimiter settled."""

    text: str
    encoding: str
    delimiter: str
    declared: bool = False

    def rows(self) -> Iterator[Row | Problem]:
        """Give each row that isn't blank; where reading can't go on, a serious problem is the last item."""
        lines = _Lines(self.text)
        if self.declared:
            next(lines)
        reader = csv.reader(lines, delimiter=self.delimiter, strict=True, skipinitialspace=True)
        while True:
            first_line = lines.begin_row()
            try:
                cells = next(reader)
            except StopIteration:
                return
            except csv.Error:
                yield _stopped_at(first_line)
                return
            if any(cell and not cell.isspace() for cell in cells):
                yield Row(first_line, cells)


def open_delimited(
    raw: bytes, *, name: str, kind: str, recognise: Callable[[Sequence[str]], int]
) -> Delimited:
    """Find out how a file is encoded and what stands between its cells.

    Parameters
    ----------
    raw
        The file [at most 20 MB].
    name
        What the person calls the file, for messages.
    kind
        What it is to be, as "staff list".
    recognise
        Counts the headers it knows in a first row; the delimiter that makes most of them known is taken.

    Raises
    ------
    BadInput
        When the file is empty, over 20 MB or a million lines, not text, or in no encoding that can be told.

    Notes
    -----
    UTF-8 and UTF-16 are certain; what is neither is read as Windows-1252, which fits almost any bytes, so
    a page should say so and show some names to look at. A first line ``sep=;`` is obeyed.

    Examples
    --------
    >>> table = open_delimited(b"area;role\\nWard 7;nurse\\n", name="staff.csv", kind="staff list",
    ...     recognise=len)
    >>> table.delimiter, [row.cells for row in table.rows()]
    (';', [['area', 'role'], ['Ward 7', 'nurse']])
    """
    text, encoding = _decode(raw, _shown_name(name), kind)
    declared = _DECLARED_DELIMITER.match(text)
    if declared:
        return Delimited(text, encoding, declared[1], declared=True)
    head = text[: 2 * MAX_ROW_CHARACTERS]
    best = max(DELIMITERS, key=lambda delimiter: _fit(head, delimiter, recognise))
    return Delimited(text, encoding, best)


def refuse_too_large(size: int, *, name: str, kind: str = "list") -> None:
    """Refuse a file by its size alone, before it is read.

    Parameters
    ----------
    size
        Its length [bytes].
    name
        What a message calls it.
    kind
        What it is to be.

    Raises
    ------
    BadInput
        When it is over 20 MB.

    Examples
    --------
    >>> refuse_too_large(5_000_000, name="The file")
    """
    if size > MAX_BYTES:
        raise BadInput(
            what=f"{name} has {size / 1_000_000:.1f} MB; at most {MAX_BYTES // 1_000_000} MB are read.",
            why=f"A {kind} is a fraction of that, so something else is in it.",
            todo=f"Export only the {kind}, without pictures or other sheets.",
        )


def tidy(cell: str) -> str:
    """Bring a cell to one form: composed letters, single spaces, none at the ends.

    Examples
    --------
    >>> tidy("  Ward\\n 7 ")
    'Ward 7'
    """
    return " ".join((cell if cell.isascii() else unicodedata.normalize("NFC", cell)).split())


def unseen_character(cell: str) -> str | None:
    """Name the first character that a reader can't see and that could make two equal cells differ.

    Examples
    --------
    >>> unseen_character("00123\\u200b"), unseen_character("Ward\\n7")
    ('U+200B', None)
    """
    if cell.isprintable():
        return None
    for character in cell:
        category = unicodedata.category(character)
        unseen = category in {"Cc", "Cf", "Zl", "Zp", "Cs", "Cn"} and character not in "\t\r\n" + _JOINERS
        if unseen:
            return f"U+{ord(character):04X}"
    return None


class _Lines:
    """Hands lines to the csv reader; counts them, and stops a row that swallows the rest of the file."""

    def __init__(self, text: str) -> None:
        self._lines = io.StringIO(text, newline="")  # "": \r\n, \n and \r all end a line and stay as they are
        self._count = 0
        self._characters_of_row = 0

    def begin_row(self) -> int:
        self._characters_of_row = 0
        return self._count + 1

    def __iter__(self) -> Iterator[str]:
        return self

    def __next__(self) -> str:
        line = next(self._lines)
        self._count += 1
        self._characters_of_row += len(line)
        if self._characters_of_row > MAX_ROW_CHARACTERS:
            raise csv.Error("row too long")
        return line


def _stopped_at(line: int) -> Problem:
    return Problem(
        line,
        "",
        "A quotation mark in the row that begins here is not closed or not doubled; nothing below was read.",
        "Write a quotation mark inside a cell twice, and close every cell that begins with one.",
        serious=True,
    )


def _fit(head: str, delimiter: str, recognise: Callable[[Sequence[str]], int]) -> tuple[int, int]:
    first = next(Delimited(head, "", delimiter).rows(), None)
    if not isinstance(first, Row):
        return (-1, 0)
    return (recognise(first.cells), len(first.cells))


def _decode(raw: bytes, name: str, kind: str) -> tuple[str, str]:
    refuse_too_large(len(raw), name=name, kind=kind)
    if raw.startswith(_PICTURES) or raw[4:8] == b"ftyp" or raw[8:12] == b"WEBP" or _is_bitmap(raw):
        raise BadInput(
            what=f"{name} is a picture, not a table.",
            why="What a picture shows can't be read, whatever its file is called.",
            todo="Choose the file that the spreadsheet or the system it comes from saves as CSV (UTF-8).",
        )
    for beginning, found in _NOT_TEXT:
        if raw[:200].lstrip().startswith(beginning):
            raise _not_text(name, f"is {found}, not a CSV file")
    text, encoding = _decode_bytes(raw, name)
    if "\0" in text:
        line = text[: text.index("\0")].count("\n") + 1
        raise _not_text(name, f"has a NUL byte on line {line}, so it is not plain text or it is damaged")
    if not text.strip(' \t\r\n,;|"\ufeff'):
        raise BadInput(
            what=f"{name} is empty.", why=f"A {kind} has headers at least.", todo="Export it again."
        )
    lines = max(text.count("\n"), text.count("\r"))
    if lines > MAX_LINES:
        raise BadInput(
            what=f"{name} has {lines:,} lines; at most {MAX_LINES:,} are read.",
            why=f"No {kind} has so many, so something else is in it.",
            todo=f"Export only the {kind}.",
        )
    start = text[:4_000]
    if 20 * sum(unseen_character(character) is not None for character in start) > len(start):
        raise _not_text(name, "is mostly characters that can't be seen, so it is not plain text")
    return text, encoding


def _decode_bytes(raw: bytes, name: str) -> tuple[str, str]:
    for mark, codec, label in _MARKS:
        if raw.startswith(mark):
            try:
                return raw[len(mark) :].decode(codec), label
            except UnicodeDecodeError as fault:
                raise _not_text(name, f"begins as {label} but breaks off {_line_of(fault, raw)}") from None
    try:
        return raw.decode("utf-8"), "UTF-8"
    except UnicodeDecodeError as fault:
        if _is_mostly_utf8(raw):
            raise _not_text(name, f"is UTF-8 with damaged letters {_line_of(fault, raw)}") from None
    try:
        return raw.decode("cp1252"), "Windows-1252"
    except UnicodeDecodeError as fault:
        where = _line_of(fault, raw)
        raise _not_text(name, f"is neither UTF-8 nor Windows-1252: see the letters {where}") from None


def _is_bitmap(raw: bytes) -> bool:
    return raw.startswith(b"BM") and raw[6:10] == b"\0\0\0\0"  # two letters alone could begin a header


def _is_mostly_utf8(raw: bytes) -> bool:
    # In Windows-1252 an accented letter hardly ever happens to form a whole UTF-8 letter with what follows.
    lenient = raw.decode("utf-8", errors="replace")
    damaged = lenient.count("\ufffd")
    return len(lenient) - len(lenient.encode("ascii", errors="ignore")) - damaged > damaged


def _line_of(fault: UnicodeDecodeError, raw: bytes) -> str:
    line = raw[: fault.start].count(b"\n") + 1
    return f"on line {line}"


def _not_text(name: str, what: str) -> BadInput:
    return BadInput(what=f"{name} {what}.", why="Names could be read wrongly.", todo=_SAVE_AS)


def _shown_name(name: str) -> str:
    printable = "".join(character for character in name if character.isprintable())
    return f"'{printable[:80]}'" if printable.strip() else "The file"
