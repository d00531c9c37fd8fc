"""What does the ingredient text of a label or data sheet say, in order, and what could not be read?"""

import re

from thenar.allergy.declared import Declaration, Ingredient, ListKind, Remark, Unread
from thenar.allergy.label_pieces import cut
from thenar.allergy.normal_form import INVISIBLE
from thenar.allergy.piece_reading import LONGEST_PIECE, Says, read_piece
from thenar.errors import BadInput

_LINE_START = re.compile(r"(?:^|[\n\r\v\f\x85\u2028\u2029])\s*$")
_INVISIBLE = re.compile(f"[{INVISIBLE}]")
_SOFT_HYPHEN_AT_LINE_END = re.compile("\u00ad(?=[ \t]*[\n\r\v\f\x85\u2028\u2029])")
_TEXT = re.compile(r"[^\W_]")

LONGEST_TEXT = 200_000
MOST_INGREDIENTS = 1_000

_NEVER_EMPTY = frozenset({ListKind.FULL, ListKind.PARTIAL, ListKind.DATA_SHEET, ListKind.GLOVE_DECLARED})


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
    are all lost cannot be read and is returned as unread. Words of languages other than those in
    `label_words` are read as ingredients.

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
    rows = kind is ListKind.DATA_SHEET and any(sign in text for sign in "\n\r\t|")
    as_tuple = tuple.__new__  # half the time of the named tuple's own way
    ingredients: list[Ingredient] = []
    unread: list[Unread] = []
    remarks: list[Remark] = []
    shades = in_brackets = False
    for start, piece in cut(text, rows=rows):
        if len(ingredients) >= MOST_INGREDIENTS:
            unread.append(
                Unread(start, len(text), "From here on there are more ingredients than any label holds.")
            )
            break
        if len(piece) > LONGEST_PIECE and piece.strip():
            unread.append(
                Unread(start, start + len(piece), "This is too long for a name. Separators may be lost.")
            )
            continue
        for says, first, last, words, names, share in read_piece(piece, rows):
            if says is Says.INGREDIENT or (says is Says.COLLECTIVE and not _heads(text, start, start + last)):
                place = len(ingredients) + 1
                fields = (place, words, names, start + first, start + last, shades, share)
                ingredients.append(as_tuple(Ingredient, fields))
            elif says is Says.UNREAD:
                unread.append(Unread(start + first, start + last, words))
            elif says is Says.BRACKET_CLOSES:
                shades, in_brackets = shades and not in_brackets, False
            else:
                remarks.append(Remark(start + first, start + last, words))
                if says is not Says.REMARK:
                    in_brackets = says is Says.SHADES_IN_BRACKETS
                    shades = in_brackets or says is Says.SHADES
    if not ingredients and kind in _NEVER_EMPTY:
        kind = ListKind.NOTHING
        if not unread:
            unread.append(
                Unread(0, len(text), "Nothing could be read: the text is empty, or the label is a picture.")
            )
    return Declaration(kind, text, tuple(ingredients), tuple(unread), tuple(remarks))


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
    places = [place for place, sign in enumerate(hyphenated) if not _INVISIBLE.match(sign)]
    read = _read("".join(hyphenated[place] for place in places), kind)
    places.append(len(text))

    def given(start: int, end: int) -> tuple[int, int]:
        return places[start], max(places[start], places[end - 1] + 1) if end else 0

    def placed(ingredient: Ingredient) -> Ingredient:
        start, end = given(ingredient.start, ingredient.end)
        return ingredient._replace(written=text[start:end], start=start, end=end)

    return Declaration(
        read.kind,
        text,
        tuple(placed(each) for each in read.ingredients),
        tuple(Unread(*given(each.start, each.end), each.why) for each in read.unread),
        tuple(Remark(*given(each.start, each.end), each.says) for each in read.remarks),
    )


def _heads(text: str, start: int, end: int) -> bool:
    """Whether a heading's words without a colon begin a line and have something after them."""
    return _LINE_START.search(text, max(0, start - 20), start) is not None and bool(_TEXT.search(text, end))
