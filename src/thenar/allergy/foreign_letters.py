"""Which words of a label are not in Latin letters, even if they look it?"""

import re
from collections.abc import Iterator

from thenar.allergy.normal_form import normal_form

_WORD = re.compile(r"[^\W\d_]+")
_GREEK = re.compile(r"[\u0370-\u03ff]")


def foreign_words(text: str) -> Iterator[tuple[int, int]]:
    """Where words stand that hold any letter but Latin ones. Accents and ligatures are Latin.

    All names known here are in Latin letters. A Cyrillic "а" in one of them looks the same and is another
    letter, so a word that holds one is not the name it looks like, and may be it all the same. A Greek letter
    by itself is Latin enough: it counts atoms, as in α-isomethyl ionone.

    Examples
    --------
    >>> list(foreign_words("α-Tocophérol, Citr\\u0430l"))
    [(14, 20)]
    """
    if text.isascii():
        return
    for word in _WORD.finditer(text):
        counts_atoms = len(word[0]) == 1 and _GREEK.match(word[0])
        if not counts_atoms and not all(map(_is_latin, word[0])):
            yield word.span()


def _is_latin(letter: str) -> bool:
    return letter.isascii() or (normal_form(letter).isascii() and not _GREEK.match(letter))
