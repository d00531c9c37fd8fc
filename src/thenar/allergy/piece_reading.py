"""What does one piece of a label say: an ingredient with all its names, a heading, or nothing readable?"""

import re
from collections.abc import Iterator
from decimal import Decimal
from enum import Enum, auto
from functools import lru_cache
from typing import NamedTuple

from thenar.allergy.foreign_letters import foreign_words
from thenar.allergy.label_figures import Figures, set_apart
from thenar.allergy.label_words import (
    ABSENCE,
    ABSENCE_AHEAD,
    BROKEN_OFF,
    ILLEGIBLE,
    LEFT_OUT,
    MARKUP,
    MAY_CONTAIN,
    MAY_CONTAIN_AHEAD,
    NOTE,
    NOTE_AHEAD,
    TITLE,
)
from thenar.allergy.name_variants import names_in
from thenar.allergy.normal_form import normal_form

LONGEST_PIECE = 250
LONGEST_ROW = 600
MOST_WORDS = 40
ABSENT = "a claim that something is absent"
_MANY = 5


class Says(Enum):
    """What a part of a piece is. COLLECTIVE: words of a heading without its colon, "other ingredients"."""

    INGREDIENT = auto()
    HEADING = auto()
    COLLECTIVE = auto()
    MAY_CONTAIN = auto()
    MAY_CONTAIN_IN_BRACKETS = auto()
    BRACKET_CLOSES = auto()
    REMARK = auto()
    UNREAD = auto()


class Part(NamedTuple):
    """A part of a piece. `start` and `end` count from the start of the piece.

    `words` are the ingredient as written, or what a remark says, or why a stretch could not be read.
    """

    says: Says
    start: int
    end: int
    words: str
    names: tuple[str, ...] = ()
    share: Decimal | None = None


# Start and end, and the place of the joining word after it.
Segment = tuple[int, int, tuple[int, int] | None]

# Where a second name begins although no separator stands there. What is matched is dropped, so it may hold no
# letter or digit but in `join`; blanks may stand for figures, so they are only looked at.
_INNER = re.compile(
    r"(?<!\d):|:(?!\d)"
    r"|(?<=[^\W\d_]{4})(?<![Dd]enat)(?<!DENAT)(?<![Mm]ill)(?<!ubsp)\.(?=\s|[^\W\d_]{4})"
    r"|(?<=[)\]\d])(?<!^\d)(?<!^\d\d)(?<!^\s\d)(?<!^\s\d\d)\.(?=\s+[^\W\d_])"
    r"|(?P<join>\s\(?(?i:and|et|und)\)?(?=\s)(?!\s+(?i:other\s+ingr))|\(and\)|\s[&+](?=\s)(?!\s?/))"
    rf"|(?<!^)(?=\s(?i:{MAY_CONTAIN_AHEAD}))|(?<=\w)(?i:(?=[\[(]\s?(?:may\s|\+\s?/)))"
    rf"|(?<=\s)[-–—](?=\s(?i:{NOTE_AHEAD}))|(?i:(?=\sand\s+other\s+ingr))"
    rf"|(?i:(?=\s{ABSENCE_AHEAD}))"
    # Not between two locants: the number before ends another name, "Polysorbate 20,2-Bromo-...".
    r"|(?<=[\s-]\d\d),(?=\d)|(?<=\d{3}),(?=\d)"
    + "".join(rf"|(?<=[^\W\d_][\s-]{number}),(?=[1-{number - 1}]\D)" for number in range(2, 10))
)
_HEADING_SIGN = re.compile("[:=–—]")
_BRACKETED = re.compile(r"[(\[][^()\[\]]*[)\]]")
_EDGE = " \t\n\r\v\f\x85\xa0\u2028\u2029.,:;/=~_-–—−·'\"“”„«»‹›`´|¦!&+\ufeff\u200b\u200c\u200d\u00ad\u2060"
_LOST = r"?\ufffd\ue000-\uf8ff\x00-\x08\x0e-\x1f\x7f-\x84\x86-\x9f"
_DAMAGED = re.compile(rf"[{_LOST}]+")
_ONLY_DAMAGE = re.compile(rf"[{_LOST}\s]+")
_TABLE_HEAD = re.compile(r"\bCAS\b")
_LETTER_OR_DIGIT = re.compile(r"[^\W_]")
_LETTER = re.compile(r"[^\W\d_]")


@lru_cache(maxsize=20_000)
def read_piece(piece: str, rows: bool) -> tuple[Part, ...]:
    """The parts of one piece of a label. The same pieces come back on label after label, so they are kept.

    Parameters
    ----------
    piece
        A stretch between separators, at most `LONGEST_PIECE` (a row: `LONGEST_ROW`) characters and
        `MOST_WORDS` words.
    rows
        Whether the piece is a row of a data sheet, whose cells are parted by tabs, bars or wide gaps.

    Examples
    --------
    >>> heading, ingredient = read_piece("Ingredients: Aqua (Water)", False)
    >>> heading.words, ingredient.words, ingredient.names
    ('a heading', 'Aqua (Water)', ('aquawater', 'aqua', 'water'))
    """
    figures = set_apart(piece, rows=rows)
    segments = [(0, len(piece), None)] if rows else _segments(figures)
    alone = len(segments) == 1
    parts: list[Part] = []
    for start, end, join in segments:
        parts += _read_segment(piece, figures, start, end, rows=rows, alone=alone)
        if join:
            parts.append(Part(Says.REMARK, *join, "joins two names"))
    return tuple(parts)


def _segments(figures: Figures) -> list[Segment]:
    """The stretches between inner breaks, each with the place of the joining word after it."""
    bare = figures.bare
    brackets = [match.span() for match in _BRACKETED.finditer(bare)] if "(" in bare or "[" in bare else []
    breaks = [
        (*match.span(), match.span("join") if match["join"] else None) for match in _INNER.finditer(bare)
    ]
    breaks += [(end, end, None) for end in _amounts_between_names(figures)]
    segments: list[Segment] = []
    reached = 0
    for start, end, join in sorted(breaks, key=lambda found: found[:2]):
        if start >= reached and not any(opens < start < closes for opens, closes in brackets):
            segments.append((reached, start, join))
            reached = end
    return [*segments, (reached, len(bare), None)]


def _amounts_between_names(figures: Figures) -> list[int]:
    """Where amounts end that stand between two names: each ends the first of them."""
    letters = [match.start() for match in _LETTER.finditer(figures.bare)] if figures.shares else []
    return [end for start, end, _ in figures.shares if letters and letters[0] < start and end <= letters[-1]]


def _read_segment(
    piece: str, figures: Figures, start: int, end: int, *, rows: bool, alone: bool
) -> Iterator[Part]:
    whole = start
    for heading in _headings(piece, start, end):
        yield heading
        start = heading.end
    first, last = _trimmed(piece, start, end)
    if ABSENCE.match(piece, first, last):
        yield Part(Says.REMARK, first, last, ABSENT)
    elif first < last and not _unreadable(piece, first, last):
        name = _read_name(piece, figures, first, last, rows=rows, alone=alone)
        yield _with_heading(name, piece[whole:start], figures.bare[whole:last])
    yield from _flaws(piece, figures, start, end)
    if _unopened(piece[start:end]):
        yield Part(Says.BRACKET_CLOSES, end, end, "")


def _headings(piece: str, start: int, end: int) -> Iterator[Part]:
    """Headings at the start of a segment, one after the other: "Ingredients:", "may contain"."""
    while True:
        if shades := MAY_CONTAIN.match(piece, start, end):
            says = Says.MAY_CONTAIN_IN_BRACKETS if shades["bracket"] else Says.MAY_CONTAIN
            yield Part(says, start, shades.end(), "may contain what follows")
            start = shades.end()
        elif title := TITLE.match(piece, start, end):
            if start == 0 and title.end() == end == len(piece) and title[0].rstrip()[-1] not in ":=–—":
                yield _collective(piece)
            else:
                yield Part(Says.HEADING, start, title.end(), "a heading")
            start = title.end()
        else:
            return


def _with_heading(name: Part, heading: str, whole: str) -> Part:
    """A heading without its colon may begin the name: "Accelerator CZ". Then the whole is known."""
    if not heading.strip() or name.says is not Says.INGREDIENT or _HEADING_SIGN.search(heading):
        return name
    return name._replace(names=tuple(dict.fromkeys((*name.names, normal_form(whole)))))


def _collective(piece: str) -> Part:
    first, last = _trimmed(piece, 0, len(piece))
    return Part(Says.COLLECTIVE, first, last, piece[first:last], names_in(piece))


def _read_name(piece: str, figures: Figures, first: int, last: int, *, rows: bool, alone: bool) -> Part:
    bare, written = figures.bare[first:last], piece[first:last]
    cas = tuple(number for place, number in figures.cas if first <= place < last)
    if LEFT_OUT.fullmatch(written):
        return Part(Says.UNREAD, first, last, "Here ingredients are left unnamed.")
    if not _LETTER.search(bare):
        return _without_letters(bare, written, cas, first, last)
    if NOTE.fullmatch(bare) and not alone:
        return Part(Says.REMARK, first, last, "what an ingredient is for")
    if rows and not cas and _TABLE_HEAD.search(bare):
        return Part(Says.REMARK, first, last, "the head of a table")
    names = names_in(bare, rows=rows)
    if not names:
        return Part(Says.UNREAD, first, last, "These signs are no name.")
    shares = [share for place, _, share in figures.shares if first <= place < last]
    share = shares[0] if len(shares) == 1 else None
    return Part(Says.INGREDIENT, first, last, written, tuple(dict.fromkeys(names + cas)), share)


def _without_letters(bare: str, written: str, cas: tuple[str, ...], first: int, last: int) -> Part:
    if cas:
        return Part(Says.INGREDIENT, first, last, written, cas)
    if _LETTER_OR_DIGIT.search(bare):
        return Part(Says.UNREAD, first, last, "This is a number without a name.")
    if _LETTER_OR_DIGIT.search(written):
        return Part(Says.REMARK, first, last, "a number or an amount")
    return Part(Says.UNREAD, first, last, "These signs are no name.")


def _unreadable(piece: str, first: int, last: int) -> bool:
    """Whether nothing of a name is left: `_flaws` tells why."""
    found = _ONLY_DAMAGE.fullmatch(piece, first, last) or ILLEGIBLE.fullmatch(piece, first, last)
    return found is not None


def _flaws(piece: str, figures: Figures, start: int, end: int) -> Iterator[Part]:
    damaged = [damage.span() for damage in _DAMAGED.finditer(piece, start, end)]
    if len(damaged) > _MANY:
        damaged = [(damaged[0][0], damaged[-1][1])]
    for first, last in damaged:
        yield Part(Says.UNREAD, first, last, "A character here was lost when the text was copied.")
    for words in ILLEGIBLE.finditer(piece, start, end):
        yield Part(Says.UNREAD, *words.span(), "Whoever copied the text could not read what stood here.")
    for first, last in foreign_words(figures.bare[start:end]):
        yield Part(
            Says.UNREAD, start + first, start + last, "These letters are not Latin, though they may look it."
        )
    for markup in MARKUP.finditer(piece, start, end):
        yield Part(Says.UNREAD, *markup.span(), "This belongs to a page of the web, not to a label.")
    if broken_off := BROKEN_OFF.search(piece, start, end):
        yield Part(Says.UNREAD, *broken_off.span(), "The list breaks off here.")
    for first, last in figures.misprinted:
        if start <= first < end:
            yield Part(
                Says.UNREAD, first, last, "This looks like a CAS number, but its check digit does not fit."
            )


def _trimmed(piece: str, start: int, end: int) -> tuple[int, int]:
    """Without spaces and signs at the edges; a bracket stays if its partner is there."""
    written = piece[start:end]
    start += len(written) - len(written.lstrip(_EDGE + ")]"))
    written = piece[start:end].rstrip(_EDGE + "([")
    while written[-1:] in (")", "]") and _unopened(written):
        written = written[:-1].rstrip(_EDGE + "([")
    return start, start + len(written)


def _unopened(text: str) -> bool:
    return text.count(")") + text.count("]") > text.count("(") + text.count("[")
