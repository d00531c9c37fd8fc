"""Which known name may a person have meant? Near misses are only suggested, never decided."""

from functools import lru_cache
from typing import NamedTuple

from rapidfuzz import process
from rapidfuzz.distance import OSA

from thenar.allergy.declared import Ingredient
from thenar.allergy.names import Names

# Shorter names are near to too many others: MI and MCI differ by one letter.
_SHORTEST = 6
# Our choice: about one letter in eight may differ.
_LEAST_ALIKE = 0.87


class Suggestion(NamedTuple):
    """A known name that an unmatched ingredient is near to, and the allergens it would mean.

    `alike` is one less the share of letters to be changed, added, dropped or swapped [0..1].
    """

    name: str
    allergens: tuple[str, ...]
    alike: float


def suggest(ingredient: Ingredient, names: Names, limit: int = 3) -> tuple[Suggestion, ...]:
    """Names that an ingredient may be a misprint of, the nearest first, for a person to accept or not.

    Nothing is suggested for an ingredient that bears a known name: ethylparaben is no misprint of
    methylparaben. Only names that mean an allergen are suggested.

    Parameters
    ----------
    ingredient
        An ingredient as read.
    names
        The known names.
    limit
        How many at most.

    Notes
    -----
    Likeness is that of restricted edit distance over the longer name; the cut is our choice. There is no list
    of harmless names, so an unknown harmless name may bring a suggestion too.

    Examples
    --------
    >>> from thenar.allergy.declarations import read_declaration
    >>> from thenar.knowledge import load
    >>> names = Names(load().allergens)
    >>> misprint, known = read_declaration("Methylisothiazo1inone, Ethylparaben").ingredients
    >>> [found.name for found in suggest(misprint, names)], suggest(known, names)
    (['Methylisothiazolinone'], ())
    """
    if names.known_names(ingredient) or names.ingredient_matches(ingredient):
        return ()
    return _near(ingredient.names, names)[:limit]


@lru_cache(maxsize=20_000)  # the same names stand on label after label
def _near(of: tuple[str, ...], names: Names) -> tuple[Suggestion, ...]:
    found: dict[str, Suggestion] = {}
    for name in of:
        if len(name) >= _SHORTEST:
            near = process.extract(
                name,
                names.spellings,
                scorer=OSA.normalized_similarity,
                score_cutoff=_LEAST_ALIKE,
                limit=None,
            )
            for spelling, alike, _ in near:
                written = names.written(spelling)
                if written not in found or found[written].alike < alike:
                    found[written] = Suggestion(written, names.allergens_named(spelling), alike)
    return tuple(sorted(found.values(), key=lambda one: (-one.alike, one.name)))
