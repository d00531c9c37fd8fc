"""What may a person have meant by a name that matches nothing? Shown for them to settle, never decided."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from thenar.allergy.declared import Ingredient
from thenar.allergy.misprints import Misprint, misprints_in
from thenar.knowledge import Book
from thenar.records.judging import LONGEST_WRITTEN, names_of, open_misprints
from thenar.records.models import ProductDeclaration

MOST = 40  # at a time; when these are settled the next are asked


@dataclass(frozen=True, slots=True)
class Meant:
    """An ingredient as written, and an allergen whose name, as the rules write it, is much like it."""

    position: int
    written: str
    near_to: str
    allergen: str
    name: str

    @property
    def key(self) -> tuple[str, str]:
        """What accepting it keeps."""
        return self.written[:LONGEST_WRITTEN], self.allergen


def not_settled(declaration: ProductDeclaration, book: Book) -> tuple[Meant, ...]:
    """What may be meant in a declaration, and nobody has accepted or refused yet."""
    return _shown(open_misprints(declaration, book), book)


def may_be_meant(ingredients: Iterable[Ingredient], book: Book) -> tuple[Meant, ...]:
    """What may be meant, in the order of the label."""
    return _shown(misprints_in(ingredients, names_of(book)), book)


def _shown(found: Sequence[Misprint], book: Book) -> tuple[Meant, ...]:
    table = book.allergens.allergens
    return tuple(
        Meant(
            one.ingredient.position,
            one.ingredient.written,
            one.near_to,
            one.allergen,
            table[one.allergen].name,
        )
        for one in found[:MOST]
    )
