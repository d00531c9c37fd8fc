"""Where does one ingredient end and the next begin? Cuts a label's text into pieces, each with its place."""

import re
import sys
from collections.abc import Iterator

from thenar.allergy.label_words import MAY_CONTAIN, TITLE

Piece = tuple[int, str]

_LINE_END = "\n\r\v\f\x85\u2028\u2029"
_BULLETS = "•·∙‧・●○◦▪■□◆►▸‣⁃✓✔"
_NOTE_MARKS = "*＊†‡§¶¹²³⁰⁴⁵⁶⁷⁸⁹"
_BETWEEN = ",，、،;；؛" + _BULLETS + _NOTE_MARKS
_LOCANTS = "NnOoSspα"
# After a separator: what shows that it stands inside a name. Widths are fixed and repeats bounded, so that
# no text takes longer than its length; what most names fail is asked first.
_INSIDE_A_NAME = (
    rf"(?!(?=[\d{_LOCANTS}])(?:"
    r"(?<=\d[,，·])\d|(?<=\d['′’],)\d|(?<=\d['′’]['′’],)\d"  # 1,2- and 2,2',2''-
    r"|(?<=\d,)[Nn]['′’-]"  # 2,N-
    + "".join(rf"|(?<=\b{x},){x}(?![^\W_])|(?<=\b{x}['′’],){x}(?![^\W_])" for x in _LOCANTS)  # N,N'-
    + r"|(?<=[^\W_][·∙‧])\d)"  # a hydrate
    r"|(?=\s[\d(])(?:"
    r"(?<=[,;:]\s\d,)\s\d{1,2}-[A-Za-z]|(?<=^\d,)\s\d{1,2}-[A-Za-z]"  # "1, 2-Hexanediol"
    r"|(?<=-\d,)\s\d-(?:di|tri)?(?:ol|one|al|oxane)\b"  # "propane-1, 3-diol"
    r"|(?<=,)\s\([A-Za-z0-9-]{3,30}\)[A-Za-z])"  # "..., (chloromethyl)oxirane polymer"
    r"|(?<=[Aa][Cc][Ii][Dd],)\s[\w ]{1,40}?\b(?:salts?|esters?)\b)"  # "phosphorous acid, triphenyl ester"
)
_LABEL = re.compile(rf"[{re.escape(_BETWEEN + '|¦')}]{_INSIDE_A_NAME}")
_LABEL_LINES = re.compile(rf"(?:[{re.escape(_BETWEEN + '|¦')}]|(?<![-\u00ad])[{_LINE_END}]){_INSIDE_A_NAME}")
_ROWS = re.compile(rf"[{re.escape(_BETWEEN + _LINE_END)}]{_INSIDE_A_NAME}")
_LOOSE = re.compile(r"\t|(?<=\s)[-–—](?=\s\D)|(?<=\s)\s(?=\s)")
_LOOSE_SLASHES = re.compile(r"(?<=\s)/(?=\s)")
_MOST_LANGUAGES = 2

_ANY_LINE_END = re.compile(f"[{_LINE_END}]")
_BARE_LINE_END = re.compile(rf"(?<![-,;\s\u00ad])[ \t\xa0]*[{_LINE_END}]")
_BLOCK_END = re.compile(
    rf"[{_LINE_END}](?:\s*[{_LINE_END}]|(?={TITLE.pattern}|{MAY_CONTAIN.pattern.replace('?P<bracket>', '?:')}))",  # noqa: E501
    re.IGNORECASE,
)
_BRACKET = re.compile(r"[()\[\]]")
_NO_BRACKET = (sys.maxsize, sys.maxsize)
# What is longer in brackets is a list of its own, or a closing bracket was lost.
_LONGEST_BRACKET = 120


def cut(text: str, *, rows: bool) -> Iterator[Piece]:
    """The pieces of a text between separators, each with where it starts. Not yet trimmed.

    Commas, semicolons, bullets and footnote marks separate, but not inside a name (``1,2-``, ``N,N'-``) nor
    inside brackets. A line end separates where most lines end bare, or where there is nothing else;
    otherwise the text was wrapped. With `rows`, every line end separates and a bar parts cells of one row.

    Examples
    --------
    >>> [piece for _, piece in cut("Aqua,1,2-Hexanediol, Parfum (Linalool, Citral)", rows=False)]
    ['Aqua', '1,2-Hexanediol', ' Parfum (Linalool, Citral)']
    """
    if rows:
        return _between(_ROWS, text, 0)
    if _ANY_LINE_END.search(text) is None:
        return _between(_LABEL if _LABEL.search(text) else _loose(text), text, 0)
    return _by_block(text)


def _by_block(text: str) -> Iterator[Piece]:
    start = 0
    for end in _BLOCK_END.finditer(text):
        block = text[start : end.start()]
        yield from _between(_separator(block), block, start)
        start = end.start()
    block = text[start:]
    yield from _between(_separator(block), block, start)


def _separator(block: str) -> re.Pattern[str]:
    found = len(_LABEL.findall(block))
    if len(_BARE_LINE_END.findall(block.strip())) > found:
        return _LABEL_LINES
    return _LABEL if found else _loose(block)


def _loose(text: str) -> re.Pattern[str]:
    """Where nothing better separates: gaps, spaced dashes, spaced slashes if too many to part languages."""
    return _LOOSE_SLASHES if text.count(" / ") > _MOST_LANGUAGES else _LOOSE


def _between(separator: re.Pattern[str], text: str, offset: int) -> Iterator[Piece]:
    """The stretches between separators that stand outside brackets."""
    brackets = _brackets(text) if "(" in text or "[" in text else []
    if any(separator.search(text, *pair) for pair in brackets):
        return _around(brackets, separator, text, offset)
    return _split(separator, text, offset)


def _split(separator: re.Pattern[str], text: str, start: int) -> Iterator[Piece]:
    """The quick way. Every separator is one character."""
    for piece in separator.split(text):
        yield start, piece
        start += len(piece) + 1


def _around(
    brackets: list[tuple[int, int]], separator: re.Pattern[str], text: str, offset: int
) -> Iterator[Piece]:
    """The way past brackets that hold separators."""
    pairs = iter(brackets)
    inside, outside = next(pairs)
    start = 0
    for match in separator.finditer(text):
        end = match.start()
        while end > outside:
            inside, outside = next(pairs, _NO_BRACKET)
        if end < inside:
            yield offset + start, text[start:end]
            start = match.end()
    yield offset + start, text[start:]


def _brackets(text: str) -> list[tuple[int, int]]:
    """Pairs of brackets in order, without those inside others. A bracket that lists shades holds nothing."""
    opened: list[int] = []
    pairs: list[tuple[int, int]] = []
    for bracket in _BRACKET.finditer(text):
        if bracket[0] in "([":
            opened.append(bracket.start())
        elif opened:
            start, end = opened.pop(), bracket.start()
            if end - start <= _LONGEST_BRACKET and not MAY_CONTAIN.match(text, start, end):
                pairs.append((start, end))
    outer: list[tuple[int, int]] = []
    for start, end in sorted(pairs):
        if not outer or end > outer[-1][1]:
            outer.append((start, end))
    return outer
