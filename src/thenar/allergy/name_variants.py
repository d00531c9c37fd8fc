"""By which names does one stretch of a label call its ingredient?"""

import re

from thenar.allergy.label_words import FORM, MAY_CONTAIN, MIXTURE_OF, NOTE, NOTE_IN_BRACKETS, TITLE
from thenar.allergy.normal_form import normal_form

_CELL_END = re.compile(r"\t|\||\s{2,}")
_GROUP = re.compile(r"[(\[]([^()\[\]]*)[)\]]")
_BRACKET = re.compile(r"[()\[\]]")
_ALIAS_END = re.compile(r"[;:]|,(?!\d)|(?<!\d),|\s(?:and|et|und|&|\+)\s", re.IGNORECASE)
_WORD = re.compile(r"\s*[^\W\d_]{3}")
_MULTIPLIER = re.compile(r"(?:poly|bis|tris|tetrakis|di)$", re.IGNORECASE)
# Where a separator may have been lost: at a line end, a spaced dash, a wide gap, dots, ", " or "and". No name
# ends in "yl": "Aminomethyl / Propanol" over two lines is one name.
_LOOSE_JOIN = re.compile(
    r"(?<![-\u00ad])(?<!yl)(?<!yl\s)[\n\r\v\f\x85\u2028\u2029]|\t|\s[-–—]\s|\s{3}|\.{3}|,\s|\s(?:and|et|und)\s",
    re.IGNORECASE,
)
_CONTAINS = re.compile(
    rf"^(?:{TITLE.pattern}|{MAY_CONTAIN.pattern.replace('?P<bracket>', '?:')})", re.IGNORECASE
)
# Names of matter made of what the slash parts: none of it is there any more.
_MADE_OF = re.compile(r"(?:polymer|resin|condensate|esters?)$")
_LETTER = re.compile(r"[^\W\d_]")
_SHORTEST_PART = 5
_DEEPEST_BRACKET = 4
_FEW_BRACKETS = 3
_MOST_SLASHED = 8


def names_in(text: str, *, rows: bool = False) -> tuple[str, ...]:
    """Normal forms of every name in a stretch of a label, the whole stretch first.

    A bracket that stands free holds an alias: ``Parfum (Fragrance)``; one grown into a word belongs to it:
    ``3(2H)-one``. A slash may part two languages or lie inside a name, and a separator may have been lost at
    a line end: the parts are names too, and whoever looks them up stops at the whole if that is known.

    Parameters
    ----------
    text
        The stretch without amounts and CAS numbers.
    rows
        Whether tabs, bars and wide gaps part the cells of a row, each cell a name.

    Examples
    --------
    >>> names_in("Mentha Piperita (Peppermint) Oil")
    ('menthapiperitapeppermintoil', 'menthapiperitaoil', 'peppermint', 'peppermintoil')
    >>> names_in("1,2-Benzisothiazol-3(2H)-one")
    ('1-2benzisothiazol3-2hone',)
    """
    cells = [cell for cell in _CELL_END.split(text) if _LETTER.search(cell)] if rows else [text]
    names = [name for cell in cells for name in _names_of(cell)]
    names += [part for name in names if "/" in name for part in _slashed(name)]
    return tuple(dict.fromkeys(name for name in names if name))


def _names_of(cell: str) -> list[str]:
    told = NOTE_IN_BRACKETS.sub(" ", cell)
    told = told[start.end() :] if (start := MIXTURE_OF.match(told)) else told
    bare = told if _LETTER.search(told) else cell
    names = [normal_form(bare)]
    bare = FORM.sub(" ", bare)
    names.append(normal_form(bare))
    if _BRACKET.search(bare):
        names += _with_aliases(bare)
    if _LOOSE_JOIN.search(bare):
        parts = [part for part in _LOOSE_JOIN.split(bare) if len(part) >= _SHORTEST_PART]
        names += [name for part in parts if _could_stand_alone(name := normal_form(part))]
    return names


def _slashed(name: str) -> list[str]:
    """The parts between slashes, and runs of parts: each language of a name may hold slashes of its own."""
    parts = name.split("/")[:_MOST_SLASHED]
    last = len(parts) + 1
    runs = ["/".join(parts[start:end]) for start in range(last) for end in range(start + 1, last)]
    made_of = _MADE_OF.search(name) is not None
    return [run for run in runs if len(run) > 1 and not (made_of and not _MADE_OF.search(run))]


def _could_stand_alone(name: str) -> bool:
    """Whether a part may be a name of its own. Many names end in "alcohol" that have nothing of ethanol."""
    return len(name) >= _SHORTEST_PART and name != "alcohol"


def _with_aliases(text: str) -> list[str]:
    """The name without its brackets, then what the brackets say."""
    aliases: list[str] = []

    def take_out(group: re.Match[str]) -> str:
        if not _stands_free(group):
            return f"-{group[1]}-"
        tail = text_now[group.end() :]
        parts = [part for part in _ALIAS_END.split(group[1]) if not NOTE.fullmatch(part)]
        aliases.extend(normal_form(_CONTAINS.sub("", part)) for part in parts)
        if few and _LETTER.search(group[1]) and _LETTER.search(tail):
            aliases.append(normal_form(group[1] + tail))
        return " "

    text_now, few = text, text.count("(") <= _FEW_BRACKETS
    for _ in range(_DEEPEST_BRACKET):
        without = _GROUP.sub(take_out, text_now)
        if without == text_now:
            break
        text_now = without
    heads = [normal_form(part) for part in dict.fromkeys(_BRACKET.split(text_now))]
    return [*heads, *(alias for alias in aliases if len(alias) > 1)]


def _stands_free(group: re.Match[str]) -> bool:
    """Whether a bracket holds an alias. At a word's end it may: "Parfum(Fragrance)", but not "poly(...)"."""
    before, after = group.string[: group.start()], group.string[group.end() :]
    if after and (after[0].isalnum() or after[0] in "-'’["):
        return False
    if not before or before[-1].isspace():
        return True
    return before[-1].isalpha() and bool(_WORD.match(group[1])) and not _MULTIPLIER.search(before)
