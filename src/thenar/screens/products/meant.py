"""Which allergen may be meant by an ingredient that names none? Only suggested; a person accepts."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from thenar.allergy.declared import Ingredient, ListKind
from thenar.allergy.suggestions import suggest
from thenar.knowledge import Book
from thenar.records.judging import LONGEST_WRITTEN, names_of, read_as
from thenar.records.models import ProductDeclaration

MOST = 40  # beyond that the text is no label, or was read in wrongly


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
    """What may be meant in a declaration, and nobody has accepted yet."""
    if not declaration.text.strip():
        return ()
    accepted = {(one.written, one.allergen) for one in declaration.accepted_readings.all()}
    read = read_as(declaration.text, ListKind(declaration.list_kind))
    return tuple(one for one in may_be_meant(read.ingredients, book) if one.key not in accepted)


def may_be_meant(ingredients: Sequence[Ingredient], book: Book) -> tuple[Meant, ...]:
    """What may be meant, in the order of the label."""
    found: dict[tuple[str, str], Meant] = {}
    for ingredient in ingredients:
        for one in _meant(ingredient, book):
            found.setdefault(one.key, one)
        if len(found) >= MOST:
            break
    return tuple(found.values())[:MOST]


def _meant(ingredient: Ingredient, book: Book) -> Iterator[Meant]:
    for near in suggest(ingredient, names_of(book)):
        for id_ in near.allergens:
            name = book.allergens.allergens[id_].name
            yield Meant(ingredient.position, ingredient.written, near.name, id_, name)
