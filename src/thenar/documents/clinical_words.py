"""Words in a manager's letter that could tell why: found, shown, and left to a second look."""

import re
import tomllib
import unicodedata
from datetime import date
from functools import cache
from pathlib import Path
from typing import Literal

from pydantic import ConfigDict, TypeAdapter
from pydantic.dataclasses import dataclass as checked

STRICT = ConfigDict(extra="forbid")
LIST_FILE = Path(__file__).parent / "clinical_words.toml"


@checked(frozen=True, slots=True, config=STRICT)
class WordGroup:
    """Words of one sort. An asterisk stands for any ending, or in front for any beginning."""

    name: str
    words: tuple[str, ...]


@checked(frozen=True, slots=True, config=STRICT)
class Reviewed:
    """Who last read the list, when, and when someone must look again."""

    by: str
    on: date
    due: date


@checked(frozen=True, slots=True, config=STRICT)
class WordList:
    """The warning list and how it is known."""

    title: str
    why_it_matters: str
    in_product_names: tuple[str, ...]
    known_as: Literal["common practice"]
    reviewed: Reviewed
    group: tuple[WordGroup, ...]


def clinical_words_in(text: str) -> tuple[str, ...]:
    """Words of `text` that name a disease, a sign, a part of the body, a drug or a test.

    Parameters
    ----------
    text
        What is about to go to a manager.

    Returns
    -------
    tuple of str
        Each finding once, as it was written, in order. Empty does not prove that the text is neutral:
        the list is short and the practitioner still reads the letter.

    Examples
    --------
    >>> clinical_words_in("No wet tasks while the eczema heals; Betamethasone at night.")
    ('eczema', 'heals', 'Betamethasone')
    >>> clinical_words_in("Keine nassen Arbeiten wegen Hautekzem.")
    ('Hautekzem',)
    >>> clinical_words_in("Duties without direct patient contact.")
    ()
    """
    plain = _plain(text)
    found = dict.fromkeys(match.group() for match in _pattern().finditer(plain))
    return tuple(found)


def clinical_words_in_name(name: str) -> tuple[str, ...]:
    """Words of a product's name that could tell why it is asked for.

    What a product is for the hand, and what sort of stuff it is, tells nobody's condition: whoever supplies
    hand cream knows that it is one. Everywhere else those words count.

    Examples
    --------
    >>> clinical_words_in_name("Tern hand cream"), clinical_words_in("Tern hand cream")
    ((), ('hand', 'cream'))
    >>> clinical_words_in_name("Tern eczema cream for allergic skin")
    ('eczema', 'allergic')
    """
    told = _as_one(word_list().in_product_names)
    return tuple(word for word in clinical_words_in(name) if not told.fullmatch(word))


@cache
def word_list() -> WordList:
    """The warning list as shipped."""
    raw = tomllib.loads(LIST_FILE.read_text(encoding="utf-8"))
    return TypeAdapter(WordList).validate_python(raw)


@cache
def _pattern() -> re.Pattern[str]:
    return _as_one(tuple(word for group in word_list().group for word in group.words))


@cache
def _as_one(words: tuple[str, ...]) -> re.Pattern[str]:
    longest_first = sorted(words, key=len, reverse=True)
    return re.compile(rf"(?<!\w)(?:{'|'.join(map(_as_pattern, longest_first))})(?!\w)", re.IGNORECASE)


def _as_pattern(word: str) -> str:
    stem = re.escape(_plain(word.strip("*"))).replace(r"\ ", r"[\s-]+")
    return (r"\w*" if word.startswith("*") else "") + stem + (r"\w*" if word.endswith("*") else "")


def _plain(text: str) -> str:
    """Without accents and invisible characters, so that neither hides a word."""
    parts = unicodedata.normalize("NFKD", text)
    return "".join(part for part in parts if unicodedata.category(part) not in {"Mn", "Cf"})
