"""Which names in a claim of absence may be ingredients after all, because the comma before them was lost?"""

import re
from collections.abc import Callable, Iterator

from thenar.allergy.label_words import ABSENCE
from thenar.allergy.normal_form import normal_form

Meaning = Callable[[str], frozenset[str]]

_BETWEEN = re.compile(r"[,;/]|\s(?:and|or|nor|et|ou|ni|und|oder|&|\+)\s", re.IGNORECASE)
# Words that belong to the name after them.
_BEFORE = frozenset(
    {
        "added",
        "all",
        "any",
        "artificial",
        "chemical",
        "conventional",
        "natural",
        "of",
        "rubber",
        "sensitising",
    }
    | {"synthetic", "the", "use", "vulcanisation", "vulcanising"}
    | {"de", "des", "du", "la", "le", "les", "von", "zugesetzte", "zugesetzten", "zusatz"}
)
_MOST_WORDS = 4


def names_after_a_lost_comma(claim: str, means: Meaning) -> Iterator[str]:
    """Names in a claim that follow what is first said to be absent, with nothing to join them.

    "Without perfume Methylisothiazolinone" may be one claim, or a claim and an ingredient. "Free from perfume
    and methylisothiazolinone" is one claim.

    Parameters
    ----------
    claim
        The claim as the label writes it, with the words that make it one.
    means
        What a name in normal form stands for; nothing where it is not known.

    Examples
    --------
    >>> known = {"perfume": frozenset({"perfume"}), "bronopol": frozenset({"bronopol"})}
    >>> def means(name: str) -> frozenset[str]:
    ...     return known.get(name, frozenset())
    >>> list(names_after_a_lost_comma("without added perfume Bronopol", means))
    ['Bronopol']
    >>> list(names_after_a_lost_comma("free from perfume and bronopol", means))
    []
    """
    says_so = ABSENCE.search(claim)
    for stretch in _BETWEEN.split(claim[says_so.end() :] if says_so else ""):
        words = stretch.split()
        at, absent = _first_absent(words, means)
        while at < len(words):
            found = _longest(words, at, means)
            if not means(normal_form(found)) <= absent:  # another name of what is absent says nothing new
                yield found
            at += max(1, len(found.split()))


def _first_absent(words: list[str], means: Meaning) -> tuple[int, frozenset[str]]:
    """Where the name of what is first said to be absent ends, and what it stands for."""
    first = next((at for at, word in enumerate(words) if word.casefold() not in _BEFORE), len(words))
    for at in range(first + 1):
        if found := _longest(words, at, means):
            return at + len(found.split()), means(normal_form(found))
    return first + 1, frozenset()


def _longest(words: list[str], at: int, means: Meaning) -> str:
    """The longest known name that begins at a word; empty if none does."""
    candidates = (" ".join(words[at : at + count]) for count in range(_MOST_WORDS, 0, -1))
    return next((each for each in candidates if means(normal_form(each))), "")
