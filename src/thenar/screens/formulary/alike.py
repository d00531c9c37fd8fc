"""How do groups of workers differ that react to the same?"""

from collections.abc import Mapping, Sequence

from thenar.knowledge import Book
from thenar.screens.formulary.kept import KeptGroup
from thenar.screens.usable.shown import name_of


def how_they_differ(groups: Sequence[KeptGroup], book: Book) -> Mapping[str, str]:
    """What tells a group from others with the same allergies, in words; by pattern, empty for the only one.

    Examples
    --------
    >>> from thenar.knowledge import load
    >>> mit = ("methylisothiazolinone",)
    >>> two = [KeptGroup(f"pattern {one}", 1, "", mit, (), strengths=(one,)) for one in ("+", "++")]
    >>> found = how_they_differ([*two, KeptGroup("pattern 3", 1, "", ("nickel_sulfate",), ())], load())
    >>> found["pattern +"], found["pattern 3"]
    ('Methylisothiazolinone: strength +', '')
    """
    traits = {group.pattern: _traits(group, book) for group in groups}
    return {
        group.pattern: "; ".join(
            says
            for about, says in traits[group.pattern].items()
            if says
            and any(traits[other.pattern].get(about) != says for other in groups if _alike(other, group))
        )
        for group in groups
    }


def _alike(one: KeptGroup, other: KeptGroup) -> bool:
    return (one.delayed, one.immediate) == (other.delayed, other.immediate)


def _traits(group: KeptGroup, book: Book) -> dict[str, str]:
    """What can differ, by what it is about."""
    said = {}
    for allergen, strength in zip(group.delayed, group.strengths, strict=False):
        said[f"strength {allergen}"] = f"{name_of(allergen, book)}: strength {strength}"
    for allergen, confirmed in zip(group.delayed, group.confirmed, strict=False):
        words = "confirmed" if confirmed else "not confirmed"
        said[f"confirmed {allergen}"] = f"{name_of(allergen, book)}: {words}"
    for allergen, severe in zip(group.immediate, group.severe, strict=False):
        words = "a reaction" if severe else "no reaction"
        said[f"severe {allergen}"] = f"{name_of(allergen, book)}: {words} of the whole body on record"
    negative = ", ".join(name_of(one, book) for one in group.tested_negative)
    said["negative"] = f"tested negative: {negative or 'nothing on record'}"
    said["size"] = "" if group.size else "glove size not known"  # a known one stands in the pattern's name
    return said
