"""What may a person have meant by a name that matches nothing? Shown for them to settle, never decided."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from thenar.allergy.declared import Ingredient
from thenar.allergy.misprints import Misprint, misprints_in
from thenar.knowledge import Book
from thenar.records.judging import LONGEST_WRITTEN, names_of, open_misprints, possible_misprints
from thenar.records.models import ProductDeclaration, ReadingAccepted

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


@dataclass(frozen=True, slots=True)
class Asked:
    """An ingredient as written, and everything it may mean."""

    written: str
    all_meant: tuple[Meant, ...]


@dataclass(frozen=True, slots=True)
class Refused:
    """An ingredient of which somebody said that it means no allergen, and what may still be accepted."""

    reading: ReadingAccepted
    all_meant: tuple[Meant, ...]


def asked_of(declaration: ProductDeclaration, book: Book) -> tuple[Asked, ...]:
    """What is to be settled, ingredient by ingredient."""
    by_written: dict[str, list[Meant]] = defaultdict(list)
    for one in not_settled(declaration, book):
        by_written[one.written].append(one)
    return tuple(Asked(written, tuple(found)) for written, found in by_written.items())


def refused_of(declaration: ProductDeclaration, book: Book) -> tuple[Refused, ...]:
    """What was refused, in the order of refusing."""
    settled = declaration.accepted_readings.all()
    accepted = {(one.written, one.allergen) for one in settled}
    possible = _shown(possible_misprints(declaration, book), book)
    return tuple(
        Refused(
            one,
            tuple(each for each in possible if each.key[0] == one.written and each.key not in accepted),
        )
        for one in settled
        if not one.allergen
    )


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
