"""How is a worker's own product put on for a patch test, and what does its reaction say?"""

from dataclasses import dataclass

from thenar.allergy.patch_reading import PositionReading, read_position
from thenar.allergy.patch_rules import ReadingRules
from thenar.allergy.patch_test import Kind, PatchTest, Position
from thenar.allergy.product import Category
from thenar.knowledge.entries import KnownAs

HOW_KNOWN = KnownAs.COMMON_PRACTICE  # no published table of dilutions was read for this

_HOW = {
    Category.SOAP: "Made to be rinsed off: dilute it in water, never under a patch as it is.",
    Category.RUB: "Alcohol under a patch irritates: dilute it, or use an open test and let it dry.",
    Category.CREAM: "Made to stay on the skin: mostly put on as it is.",
    Category.GLOVE: "A piece of it, moistened, inner side to the skin; a second piece with the outer side.",
    Category.WIPE: "Its liquid diluted in water, and a dried piece of the cloth.",
    Category.DISINFECTANT: "Never as it is. Know every ingredient and its strength first, then dilute far.",
}
_IRRITATES = (Category.SOAP, Category.RUB, Category.WIPE, Category.DISINFECTANT)
_UNDILUTED = frozenset({"as is", "as-is", "neat", "pure", "undiluted", "100", "100 %", "100%"})


def how_to_put_on(category: Category) -> str:
    """How a kind of product is prepared, in words: common practice, not a dose.

    Examples
    --------
    >>> how_to_put_on(Category.SOAP)
    'Made to be rinsed off: dilute it in water, never under a patch as it is.'
    """
    return _HOW[category]


def preparation_cautions(position: Position) -> tuple[str, ...]:
    """What to think of before, and after, an own product is put on as written down.

    Returns
    -------
    tuple of str
        Empty for what is no own product. All of it is common practice.

    Examples
    --------
    >>> from thenar.allergy.patch_test import OwnProduct
    >>> neat = OwnProduct(Category.SOAP, "as is")
    >>> soap = Position(9, "soap-1", "as is", "", kind=Kind.OWN_PRODUCT, own=neat)
    >>> preparation_cautions(soap)[0]
    'A soap as it is burns under a patch: a reaction to it is no proof of allergy. Dilute it.'
    """
    if position.own is None:
        return ()
    general = (
        "A reaction counts only if the same preparation leaves other people's skin quiet.",
        "No reaction does not clear the product: diluting it dilutes the allergen too.",
    )
    if position.own.category in _IRRITATES and _is_undiluted(position):
        name = position.own.category.value
        first = f"A {name} as it is burns under a patch: a reaction to it is no proof of allergy. Dilute it."
        return (first, *general)
    return general


@dataclass(frozen=True, slots=True)
class ProductReaction:
    """A worker's own product that reacted. It names no allergen: its ingredients are tested for that."""

    product: str
    reading: PositionReading
    cautions: tuple[str, ...]


def reactions_to_own_products(test: PatchTest, rules: ReadingRules) -> tuple[ProductReaction, ...]:
    """The own products that came out positive. Which ingredient it was, the reaction does not say.

    References
    ----------
    Ten reactors to an iodine antiseptic: 4 reacted to the complex, 3 to its surfactant, 1 to iodine, 2 were
    irritant (Contact Dermatitis 2000, 10.1034/j.1600-0536.2000.042002090.x).

    Examples
    --------
    >>> from datetime import date
    >>> from thenar.allergy.patch_test import OwnProduct, PatchGrade, Reading
    >>> neat = OwnProduct(Category.CREAM, "as is")
    >>> cream = Position(9, "cream-1", "as is", "", kind=Kind.OWN_PRODUCT, own=neat)
    >>> test = PatchTest(date(2026, 3, 2), None, (cream,), (Reading(9, date(2026, 3, 6), PatchGrade.WEAK),))
    >>> from thenar.allergy.patch_rules import reading_rules
    >>> from thenar.knowledge import load
    >>> rules = reading_rules(load(), date(2026, 11, 25))
    >>> reactions_to_own_products(test, rules)[0].cautions[0]
    'Test its ingredients one by one: the product alone does not say which of them it was.'
    """
    first = "Test its ingredients one by one: the product alone does not say which of them it was."
    return tuple(
        ProductReaction(position.hapten, read, (first, *preparation_cautions(position)))
        for position in test.of_kind(Kind.OWN_PRODUCT)
        if (read := read_position(test, position.number, rules)).is_positive
    )


def _is_undiluted(position: Position) -> bool:
    written = {position.concentration.casefold().strip()}
    if position.own is not None:
        written.add(position.own.dilution.casefold().strip())
    return bool(written & _UNDILUTED)
