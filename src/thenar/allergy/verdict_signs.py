"""What does a product show: allergens on its label, umbrella names, gaps in its list, glove material?"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from thenar.allergy.declared import Declaration, Ingredient, ListKind
from thenar.allergy.excluded_links import Links
from thenar.allergy.excluded_signs import (
    COLOURED,
    NO_MATERIAL,
    UNREAD,
    Sign,
    allergen_sign,
    finding_sign,
    glove_sign,
    list_sign,
    material_sign,
    umbrella_sign,
)
from thenar.allergy.lost_commas import names_after_a_lost_comma
from thenar.allergy.names import Names
from thenar.allergy.normal_form import normal_form
from thenar.allergy.piece_reading import ABSENT
from thenar.allergy.product import Category, Product
from thenar.allergy.verdict_terms import Link, Step
from thenar.knowledge.allergens import Finding, Umbrella


@dataclass(frozen=True, slots=True)
class Sighting:
    """One place where a product shows a sign; `steps` are what the label says there.

    `maybe`: the label says no more than that the product may contain it, or can be read in two ways.
    """

    steps: tuple[Step, ...] = ()
    ingredient: Ingredient | None = None
    maybe: bool = False

    @property
    def is_two_readings(self) -> bool:
        """Whether it is in the product and its name can be read in two ways: a comma may be lost."""
        return self.maybe and self.ingredient is not None and not self.ingredient.may_contain


Sightings = Mapping[Sign, tuple[Sighting, ...]]
_MOST_WORDS = 3
# A sign of the product as such: no one place shows it.
ON_THE_WHOLE = (Sighting(),)


class Sight:
    """Looks at products with one table and its names."""

    def __init__(self, links: Links, names: Names) -> None:
        self._links = links
        self._names = names
        self._umbrellas: dict[str, list[Umbrella]] = {}
        for umbrella in links.table.umbrellas:
            for name in {normal_form(each) for each in umbrella.names}:
                self._umbrellas.setdefault(name, []).append(umbrella)

    def of(self, product: Product) -> Sightings:
        """Every sign a product shows, with where it shows it."""
        seen: dict[Sign, tuple[Sighting, ...]] = {}
        for ingredient in product.declaration.ingredients:
            for sign, sighting in self._named(ingredient):
                seen[sign] = (*seen.get(sign, ()), sighting)
        for sign, sighting in self._after_lost_commas(product.declaration):
            seen[sign] = (*seen.get(sign, ()), sighting)
        seen.update(dict.fromkeys(self._of_the_whole(product), ON_THE_WHOLE))
        return seen

    def _named(self, ingredient: Ingredient) -> Iterator[tuple[Sign, Sighting]]:
        umbrellas = self._covers(ingredient)
        declared, maybe = _declared(ingredient), ingredient.may_contain
        for id_ in self._allergens(ingredient, umbrellas):
            allergen = self._links.allergen(id_)
            says = f"“{ingredient.written}” is a name of {allergen.name}."
            named = Step(Link.NAMED, says, allergen.entry, allergen.identity.known_as)
            yield allergen_sign(id_), Sighting((declared, named), ingredient, maybe)
        for id_ in self._names.run_together(ingredient):
            allergen = self._links.allergen(id_)
            says = f"This may be two names whose comma was lost, one of them {allergen.name}."
            named = Step(Link.NAMED, says, allergen.entry, allergen.identity.known_as)
            yield allergen_sign(id_), Sighting((declared, named), ingredient, maybe=True)
        for id_ in umbrellas:
            yield umbrella_sign(id_), Sighting((declared,), ingredient, maybe)

    def _after_lost_commas(self, declaration: Declaration) -> Iterator[tuple[Sign, Sighting]]:
        """What a claim of absence may have swallowed: "without perfume Bronopol"."""
        for remark in declaration.remarks:
            if remark.says == ABSENT:
                claim = declaration.text[remark.start : remark.end]
                says = f"The label says “{claim}”. If a comma was lost there, not all of it is absent."
                seen = Sighting((Step(Link.DECLARED, says),), maybe=True)
                for name in names_after_a_lost_comma(claim, self._signs_of):
                    yield from ((sign, seen) for sign in sorted(self._signs_of(normal_form(name))))

    def _signs_of(self, name: str) -> frozenset[Sign]:
        """The signs of a name in normal form: of the allergens it means and the umbrella it is."""
        allergens = (allergen_sign(id_) for id_ in self._names.allergens_named(name))
        return frozenset((*allergens, *(umbrella_sign(id_) for id_ in self._covered((name,)))))

    def _covers(self, ingredient: Ingredient) -> Mapping[str, Umbrella]:
        """The umbrella names an ingredient bears, or else those of its same names.

        An unknown ingredient may end in one: "Natural Fragrance".
        """
        known = self._names.known_names(ingredient)
        return self._covered(ingredient.names) or self._covered(known or _endings(ingredient))

    def _covered(self, names: Iterable[str]) -> Mapping[str, Umbrella]:
        return {each.id: each for name in names for each in self._umbrellas.get(name, ())}

    def _allergens(self, ingredient: Ingredient, umbrellas: Mapping[str, Umbrella]) -> list[str]:
        """What an ingredient names. The name of a part or an umbrella is no name of the mix."""
        matches = dict.fromkeys(self._names.ingredient_matches(ingredient))
        hidden_mixes = {
            id_
            for id_ in matches
            for umbrella in self._links.umbrellas.get(id_, ())
            if umbrella.id in umbrellas and self._links.allergen(id_).components
        }
        return [
            id_
            for id_ in matches
            if id_ not in hidden_mixes and matches.keys().isdisjoint(self._links.allergen(id_).components)
        ]

    def _of_the_whole(self, product: Product) -> Iterator[Sign]:
        """Signs that belong to the product, not to one place on its label."""
        material, glove = self._material(product), product.category is Category.GLOVE
        kind = product.declaration.kind if product.declaration.ingredients else ListKind.NOTHING
        declared = glove and kind in (ListKind.GLOVE_DECLARED, ListKind.FULL)
        for finding in self._links.table.findings:
            if _is_about(finding, product.category, material):
                yield finding_sign(finding.id, declared=declared)
        if product.declaration.unread:
            yield UNREAD
        if glove:
            yield material_sign(material)
            yield glove_sign(material, declared=declared)
            if not (product.glove and product.glove.coloured is False):
                yield COLOURED
        if not declared and kind is not ListKind.FULL:
            yield list_sign(kind)

    def _material(self, product: Product) -> str:
        """The glove material where the table knows it."""
        material = product.glove.material if product.glove else NO_MATERIAL
        return material if material in self._links.table.materials else NO_MATERIAL


def _endings(ingredient: Ingredient) -> Iterator[str]:
    """The last words of a name, which say what it is."""
    words = ingredient.written.split()
    return (normal_form(" ".join(words[-count:])) for count in range(1, min(len(words), _MOST_WORDS) + 1))


def _declared(ingredient: Ingredient) -> Step:
    certainty = "may contain" if ingredient.may_contain else "names"
    return Step(Link.DECLARED, f"The label {certainty} “{ingredient.written}”.")


def _is_about(finding: Finding, category: Category, material: str) -> bool:
    """Whether a finding is about such a product. A material not known may be any."""
    if finding.category != category.value:
        return False
    if category is not Category.GLOVE or not finding.materials:
        return True
    return material == NO_MATERIAL or material in finding.materials
