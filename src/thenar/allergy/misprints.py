"""May a name on a label be a misprint of an allergen's? It matches nothing; it only withholds a clearance."""

from collections.abc import Collection, Iterable
from dataclasses import replace
from typing import NamedTuple

from thenar.allergy.declared import Ingredient
from thenar.allergy.names import Names
from thenar.allergy.normal_form import normal_form
from thenar.allergy.product import Product
from thenar.allergy.suggestions import suggest
from thenar.allergy.verdict_terms import Link, Reason, Step, Verdict


class Misprint(NamedTuple):
    """An ingredient that may be a misprint of a known name, and the allergen it would mean."""

    ingredient: Ingredient
    near_to: str
    allergen: str

    @property
    def as_meant(self) -> Ingredient:
        """The ingredient with the name it may be a misprint of. It may be in the product, no more."""
        return self.ingredient._replace(names=(normal_form(self.near_to),), may_contain=True)


def misprints_in(ingredients: Iterable[Ingredient], names: Names) -> tuple[Misprint, ...]:
    """Everything that may be misprinted, in the order of the label; each as written stands once.

    Examples
    --------
    >>> from thenar.allergy.declarations import read_declaration
    >>> from thenar.knowledge import load
    >>> read = read_declaration("Aqua, Methylisothiazo1inone")
    >>> [(one.near_to, one.allergen) for one in misprints_in(read.ingredients, Names(load().allergens))]
    [('Methylisothiazolinone', 'methylisothiazolinone')]
    """
    found: dict[tuple[str, str], Misprint] = {}
    for one in ingredients:
        for near in suggest(one, names):
            for allergen in near.allergens:
                found.setdefault((one.written, allergen), Misprint(one, near.name, allergen))
    return tuple(found.values())


def with_misprints(product: Product, misprints: Collection[Misprint]) -> Product:
    """The product as the judge must see it until somebody settles these: it may contain what may be meant.

    So the judge answers `cannot exclude` to whoever would have to avoid it, and never `avoid`.
    """
    if not misprints:
        return product
    read = product.declaration
    more = (*read.ingredients, *(one.as_meant for one in misprints))
    return replace(product, declaration=replace(read, ingredients=more))


def say_misprints(verdict: Verdict, misprints: Collection[Misprint]) -> Verdict:
    """A verdict on a product `with_misprints`, whose reasons say what rests on no more than a likeness."""
    if not misprints:
        return verdict
    meant = {one.as_meant: one for one in misprints}
    reasons = (
        _said(one, meant[one.ingredient]) if one.ingredient in meant else one for one in verdict.reasons
    )
    return replace(verdict, reasons=tuple(reasons))


def _said(reason: Reason, misprint: Misprint) -> Reason:
    written = misprint.ingredient.written
    first = Step(Link.DECLARED, f"The label names “{written}”.")
    says = (
        f"“{written}” may be a misprint of {misprint.near_to}. Nobody has settled it yet: until a person "
        "does, on the product’s page, this product can’t be cleared."
    )
    further = [one for one in reason.steps[1:] if one.link is not Link.NAMED]
    named = next((one for one in reason.steps if one.link is Link.NAMED), None)
    unsettled = Step(Link.MISPRINT, says, named.entry if named else "", named.known_as if named else None)
    return replace(reason, steps=(first, unsettled, *further))
