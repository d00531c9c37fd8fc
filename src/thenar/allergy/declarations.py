"""What does the ingredient text of a label or data sheet say, in order, and what could not be read?"""

import re
from bisect import bisect_right
from dataclasses import replace

from thenar.allergy.declared import Declaration, Ingredient, ListKind, Remark, Unread
from thenar.allergy.label_pieces import cut
from thenar.allergy.label_words import ABSENT_LIST
from thenar.allergy.normal_form import INVISIBLE
from thenar.allergy.piece_reading import (
    ABSENT,
    LONGEST_PIECE,
    LONGEST_ROW,
    MOST_WORDS,
    Part,
    Says,
    read_piece,
)
from thenar.errors import BadInput

_LINE_START = re.compile(r"(?:^|[\n\r\v\f\x85\u2028\u2029])\s*$")
_INVISIBLE = re.compile(f"[{INVISIBLE}]")
_TURNED_ROUND = re.compile("[\u202d\u202e][^\u202c]*")
_SOFT_HYPHEN_AT_LINE_END = re.compile("\u00ad(?=[ \t]*[\n\r\v\f\x85\u2028\u2029])")
_TEXT = re.compile(r"[^\W_]")

_NEVER_EMPTY = frozenset({ListKind.FULL, ListKind.PARTIAL, ListKind.DATA_SHEET, ListKind.GLOVE_DECLARED})

# Said once for each ingredient: a name of this module is found sooner than an enumeration's member, and a
# tuple is made in half the time of the named tuple's own way.
_INGREDIENT = Says.INGREDIENT
_AS_TUPLE = tuple.__new__

_PERHAPS_ABSENT = "It is not clear whether this says what is in the product or what is not."

_NOT_AS_SHOWN = "A sign that can't be seen turns the writing round here: it is not what it looks like."

LONGEST_TEXT = 200_000
MOST_INGREDIENTS = 500


def read_declaration(text: str, kind: ListKind = ListKind.FULL) -> Declaration:
    """Read an ingredient text into ordered ingredients, keeping the place of everything in the text.

    No letter or digit is dropped: each lies in an ingredient, a remark (a heading, a joining word, a mere
    number) or an unread stretch with the reason. Reading decides nothing about allergens and needs no table;
    `Names` looks the ingredients up.

    Parameters
    ----------
    text
        The text as copied from a label, leaflet, safety data sheet or glove data sheet, in Latin script or
        any other, at most `LONGEST_TEXT` characters.
    kind
        How complete the list is. In a safety data sheet every line is a row with its name, CAS number,
        amount and hazard class.

    Returns
    -------
    Declaration
        Its `kind` is NOTHING where a list was expected and no ingredient could be read.

    Raises
    ------
    BadInput
        The text is longer than any label.

    Notes
    -----
    A name is read as written: the letters l and I are not guessed to be the digit 1. A list whose separators
    are all lost cannot be read and is returned as unread. A word with letters that are not Latin is unread
    even where they look Latin, and so is what a hidden sign turns round. Words of languages other than those
    in `label_words` are read as ingredients.

    References
    ----------
    How labels are written: Regulation (EC) No 1223/2009, Art. 19(1)(g) (from memory), and 21 CFR 701.3.

    Examples
    --------
    >>> read = read_declaration("Ingredients: Aqua/Eau, 1,2-Hexanediol, Parfum (Fragrance) [+/- CI 77891]")
    >>> for ingredient in read.ingredients:
    ...     print(ingredient.position, ingredient.written, ingredient.names, ingredient.may_contain)
    1 Aqua/Eau ('aqua/eau', 'aqua', 'eau') False
    2 1,2-Hexanediol ('1-2hexanediol',) False
    3 Parfum (Fragrance) ('parfumfragrance', 'parfum', 'fragrance') False
    4 CI 77891 ('ci77891',) True
    >>> empty = read_declaration(" ")
    >>> print(empty.kind, "-", empty.unread[0].why)
    nothing declared - Nothing could be read: the text is empty, or the label is a picture.
    """
    _refuse_too_long(text)
    if not text.isascii() and _INVISIBLE.search(text):
        return _read_visible(text, kind)
    return _read(text, kind)


def _read(text: str, kind: ListKind) -> Declaration:
    read = _read_pieces(text, kind)
    if not any(remark.says == ABSENT for remark in read.remarks):
        return read
    claims = [claim.span() for claim in ABSENT_LIST.finditer(text)]
    return _read_without(claims, text, kind) if claims else read


def _read_without(claims: list[tuple[int, int]], text: str, kind: ListKind) -> Declaration:
    """Read what is left beside sentences that list what is absent.

    Where they fill most of what should be a list, they may be its ingredients after all: they stay unread.
    """
    left = ABSENT_LIST.sub(lambda claim: f"{' ' * (len(claim[0]) - 1)}:", text)  # a colon parts names
    read = _read_pieces(left, kind)
    claimed = sum(text.count(",", *claim) + 2 for claim in claims)
    if kind in _NEVER_EMPTY and len(read.ingredients) < claimed:
        unread = (*read.unread, *(Unread(*claim, _PERHAPS_ABSENT) for claim in claims))
        return replace(read, text=text, unread=tuple(sorted(unread, key=lambda one: one.start)))
    remarks = (*read.remarks, *(Remark(*claim, ABSENT) for claim in claims))
    return replace(read, text=text, remarks=tuple(sorted(remarks, key=lambda one: one.start)))


def _read_pieces(text: str, kind: ListKind) -> Declaration:
    rows = kind is ListKind.DATA_SHEET and any(sign in text for sign in "\n\r\t|")
    longest = LONGEST_ROW if rows else LONGEST_PIECE
    reading = _Reading(text)
    for start, piece in cut(text, rows=rows):
        if len(piece) > 2 * MOST_WORDS and (len(piece) > longest or len(piece.split()) > MOST_WORDS):
            reading.leave_unread(start, piece)
        elif len(reading.ingredients) < MOST_INGREDIENTS:
            reading.take(start, read_piece(piece, rows))
        else:
            why = "From here on there are more ingredients than any label holds."
            reading.unread.append(Unread(start, len(text), why))
            break
    if not reading.ingredients and kind in _NEVER_EMPTY:
        kind = ListKind.NOTHING
        if not reading.unread:
            why = "Nothing could be read: the text is empty, or the label is a picture."
            reading.unread.append(Unread(0, len(text), why))
    return Declaration(kind, text, tuple(reading.ingredients), tuple(reading.unread), tuple(reading.remarks))


class _Reading:
    """What was read so far, and whether the list has come to what the product only may contain."""

    __slots__ = ("in_brackets", "ingredients", "may_contain", "remarks", "text", "unread")

    def __init__(self, text: str) -> None:
        self.text = text
        self.ingredients: list[Ingredient] = []
        self.unread: list[Unread] = []
        self.remarks: list[Remark] = []
        self.may_contain = self.in_brackets = False

    def take(self, start: int, parts: tuple[Part, ...]) -> None:
        """Put the parts of a piece in their places."""
        ingredients = self.ingredients
        for says, first, last, words, names, share in parts:
            first, last = start + first, start + last  # noqa: PLW2901
            if says is _INGREDIENT or (says is Says.COLLECTIVE and not self._heads(start, last)):
                fields = (len(ingredients) + 1, words, names, first, last, self.may_contain, share)
                ingredients.append(_AS_TUPLE(Ingredient, fields))
            elif says is Says.UNREAD:
                self.unread.append(Unread(first, last, words))
            elif says is Says.BRACKET_CLOSES:
                self.may_contain, self.in_brackets = self.may_contain and not self.in_brackets, False
            else:
                self._remark(says, first, last, words)

    def leave_unread(self, start: int, piece: str) -> None:
        """Keep the place of what is too long for a name."""
        if not piece.isspace():
            why = "This is too long for a name. Separators may be lost."
            self.unread.append(Unread(start, start + len(piece), why))

    def _remark(self, says: Says, start: int, end: int, words: str) -> None:
        self.remarks.append(Remark(start, end, words))
        if says is not Says.REMARK:
            self.in_brackets = says is Says.MAY_CONTAIN_IN_BRACKETS
            self.may_contain = self.in_brackets or says is Says.MAY_CONTAIN

    def _heads(self, start: int, end: int) -> bool:
        """Whether a heading's words without a colon begin a line and have something after them."""
        begins = _LINE_START.search(self.text, max(0, start - 20), start)
        return begins is not None and _TEXT.search(self.text, end) is not None


def _refuse_too_long(text: str) -> None:
    if len(text) > LONGEST_TEXT:
        raise BadInput(
            what=f"The ingredient text has {len(text):,} characters; at most {LONGEST_TEXT:,} can be read.",
            why="No label is that long, so this is likely another file or several products in one.",
            todo="Give the ingredient text of one product.",
        )


def _read_visible(text: str, kind: ListKind) -> Declaration:
    """Read without the invisible characters, then find every stretch in the text as given."""
    hyphenated = _SOFT_HYPHEN_AT_LINE_END.sub("-", text)
    # Where each invisible character would stand in the text without those before it.
    gaps = [match.start() - before for before, match in enumerate(_INVISIBLE.finditer(hyphenated))]
    if not gaps:  # only soft hyphens at line ends, each now one hyphen
        return replace(_read(hyphenated, kind), text=text)
    read = _read(_INVISIBLE.sub("", hyphenated), kind)

    def given(start: int, end: int) -> tuple[int, int]:
        first = start + bisect_right(gaps, start)
        return first, max(first, end + bisect_right(gaps, end - 1))

    def placed(ingredient: Ingredient) -> Ingredient:
        if ingredient.end <= gaps[0]:
            return ingredient
        position, _, names, start, end, may_contain, share = ingredient
        start, end = given(start, end)
        return _AS_TUPLE(Ingredient, (position, text[start:end], names, start, end, may_contain, share))

    unread = [Unread(*given(each.start, each.end), each.why) for each in read.unread]
    unread += [Unread(*turned.span(), _NOT_AS_SHOWN) for turned in _TURNED_ROUND.finditer(text)]
    return Declaration(
        read.kind,
        text,
        tuple(placed(each) for each in read.ingredients),
        tuple(sorted(unread, key=lambda one: one.start)),
        tuple(Remark(*given(each.start, each.end), each.says) for each in read.remarks),
    )
