"""What is a formulary search asked: offers, groups of workers, what they need, what must or must not be?"""

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from typing import Self

from thenar.allergy.product import Category
from thenar.allergy.verdict_terms import Answer, Verdict


class Goal(StrEnum):
    """What makes one formulary better than another. Cheapest: then fewest. Fewest: then cheapest."""

    CHEAPEST = "cheapest"
    FEWEST = "fewest"


@dataclass(frozen=True, slots=True)
class Offer:
    """A product that could be stocked.

    `cost_a_worker` is the cost of a year for each worker who uses it; None: not known. `cost_of_stock` is
    the cost of a year of keeping it at all. [the site's currency, 0 or more] `features` are whatever needs
    may ask for: "sterile", "virucidal", "size 7.5".
    """

    product: str
    category: Category
    cost_a_worker: Decimal | None
    cost_of_stock: Decimal = Decimal(0)
    features: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Judged:
    """The answer for one product and one group, with the allergens behind it."""

    product: str
    answer: Answer
    allergens: frozenset[str] = frozenset()

    @classmethod
    def by(cls, verdict: Verdict) -> Self:
        """What a verdict comes to.

        Examples
        --------
        >>> Judged.by(Verdict("S1", Answer.NO_MATCH_FOUND, ()))
        Judged(product='S1', answer=<Answer.NO_MATCH_FOUND: 'no match found'>, allergens=frozenset())
        """
        blocking = (each for each in verdict.reasons if each.answer is not Answer.NO_MATCH_FOUND)
        return cls(verdict.product, verdict.answer, frozenset(each.allergen for each in blocking))


@dataclass(frozen=True, slots=True)
class Group:
    """Workers with the same allergies and the same needs. `judged` is None for workers without allergies."""

    pattern: str
    workers: int
    judged: tuple[Judged, ...] | None = None


@dataclass(frozen=True, slots=True)
class Need:
    """A use for which each worker of some groups must have a product.

    `groups` names patterns; None means every group. An `obligation` must be stocked even if no group needs
    it.
    """

    name: str
    category: Category
    features: frozenset[str] = frozenset()
    groups: frozenset[str] | None = None
    obligation: bool = False

    def met_by(self, offer: Offer) -> bool:
        """Whether the product is of the right kind, whoever may use it."""
        return offer.category is self.category and self.features <= offer.features

    def of(self, group: Group) -> bool:
        """Whether the group has this need."""
        return self.groups is None or group.pattern in self.groups


@dataclass(frozen=True, slots=True)
class Question:
    """A formulary search.

    `stay` are products that are chosen in any case, `banned` products that are not, `present` the products
    in stock now (None: not known), and `at_most` the most products there may be.
    """

    offers: tuple[Offer, ...]
    groups: tuple[Group, ...]
    needs: tuple[Need, ...]
    stay: frozenset[str] = frozenset()
    banned: frozenset[str] = frozenset()
    present: frozenset[str] | None = None
    at_most: int | None = None
