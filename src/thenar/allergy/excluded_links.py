"""How is the table of allergens looked up the other way round: from an allergen to what may bring it?"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TypeVar

from thenar.errors import BadInput
from thenar.knowledge.allergens import Allergen, AllergenTable, CrossReaction, Finding, Impurity, Umbrella

GLOVE = "glove"
Key = TypeVar("Key")
Member = TypeVar("Member")


class UnknownAllergen(BadInput):
    """An allergy names an allergen the table does not hold."""

    def __init__(self, allergen: str) -> None:
        super().__init__(
            what=f"There is no allergen {allergen[:60]!r} in this edition of the knowledge.",
            why="An allergy that no rule knows would leave products unmarked.",
            todo="Choose an allergen of this edition, or add it with its source to the knowledge.",
        )


@dataclass(frozen=True)
class Links:
    """The table with its links turned round, each made once when first asked for."""

    table: AllergenTable

    def allergen(self, id_: str) -> Allergen:
        """The entry of one allergen; raise UnknownAllergen where there is none."""
        try:
            return self.table.allergens[id_]
        except KeyError:
            raise UnknownAllergen(id_) from None

    @cached_property
    def cross_reactions(self) -> Mapping[str, tuple[CrossReaction, ...]]:
        """What a reaction to an allergen means for others."""
        return _grouped((each.tested, each) for each in self.table.cross_reactions)

    @cached_property
    def releasers(self) -> Mapping[str, tuple[Allergen, ...]]:
        """What gives an allergen off."""
        return _grouped((off, each) for each in self.table.allergens.values() for off in each.releases)

    @cached_property
    def mixes(self) -> Mapping[str, tuple[Allergen, ...]]:
        """The mixes an allergen is part of."""
        return _grouped((part, each) for each in self.table.allergens.values() for part in each.components)

    @cached_property
    def impurities(self) -> Mapping[str, tuple[Impurity, ...]]:
        """The ingredients an allergen comes along with."""
        return _grouped((each.allergen, each) for each in self.table.impurities)

    @cached_property
    def findings(self) -> Mapping[str, tuple[Finding, ...]]:
        """Where an allergen was found though no label named it."""
        return _grouped((each, finding) for finding in self.table.findings for each in finding.allergens)

    def says_more_than_the_material(self, finding: Finding, allergen: str) -> bool:
        """Whether a finding in gloves singles out some of the materials that may hold the allergen."""
        holders = {id_ for id_, held in self.glove_chemicals.items() if id_ and allergen in held}
        return bool(finding.materials) and not holders.issubset(finding.materials)

    @cached_property
    def umbrellas(self) -> Mapping[str, tuple[Umbrella, ...]]:
        """The label names that may stand for an allergen."""
        return _grouped(
            (each.id, umbrella)
            for umbrella in self.table.umbrellas
            for each in self.table.allergens.values()
            if each.id in umbrella.hides or each.group in umbrella.hides_groups
        )

    @cached_property
    def glove_chemicals(self) -> Mapping[str, frozenset[str]]:
        """For each glove material, the allergens it may hold. Under "": what any of them may hold."""
        held = {
            material.id: frozenset(
                each.id
                for each in self.table.allergens.values()
                if each.id in material.may_hold or each.group in material.may_hold_groups
            )
            for material in self.table.materials.values()
        }
        return {**held, "": frozenset().union(*held.values())}


def _grouped(pairs: Iterable[tuple[Key, Member]]) -> Mapping[Key, tuple[Member, ...]]:
    grouped: dict[Key, list[Member]] = defaultdict(list)
    for key, member in pairs:
        grouped[key].append(member)
    return {key: tuple(members) for key, members in grouped.items()}
