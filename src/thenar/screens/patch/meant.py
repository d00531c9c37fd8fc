"""Which allergen does a typed name mean? Exactly one, or the person is asked; a likeness is only told."""

from collections.abc import Iterable

from django.core.exceptions import ValidationError

from thenar.allergy.declarations import read_declaration
from thenar.allergy.normal_form import normal_form
from thenar.allergy.suggestions import suggest
from thenar.knowledge import Book
from thenar.knowledge.allergens import Allergen
from thenar.records.judging import names_of

MOST_TOLD = 4


def allergen_meant(name: str, book: Book) -> Allergen:
    """The one allergen of that name: its own, a name on labels, another name, or a CAS number.

    Raises
    ------
    ValidationError
        None is called so, or several are; what may have been meant is told.
    """
    table = book.allergens.allergens
    own = [one.id for one in table.values() if one.name.casefold() == name.casefold()]
    ids = own or list(names_of(book).allergens_named(normal_form(name)))
    if len(ids) == 1:
        return table[ids[0]]
    if ids:
        raise ValidationError(
            f"This name means several: {_listed(table[one].name for one in ids)}. Write one of them."
        )
    near = _near(name, book)
    told = f" Is it {_listed(near)}?" if near else " Choose one from the list."
    raise ValidationError(f"“{name}” is no allergen that is known here.{told}")


def _near(name: str, book: Book) -> list[str]:
    """Names that hold what was typed, then those it may be a misprint of."""
    table, typed = book.allergens.allergens, name.casefold()
    holding = [one.name for one in table.values() if len(typed) > 2 and typed in one.name.casefold()]
    misprints = [
        table[meant].name
        for ingredient in read_declaration(name).ingredients
        for found in suggest(ingredient, names_of(book))
        for meant in found.allergens
    ]
    return list(dict.fromkeys([*holding, *misprints]))[:MOST_TOLD]


def _listed(names: Iterable[str]) -> str:
    return ", ".join(f"“{one}”" for one in names)
