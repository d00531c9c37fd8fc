"""The door to finding a formulary."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Annotated

from pydantic import ConfigDict, Field
from pydantic.dataclasses import dataclass as checked

from thenar.allergy.formulary import find_formulary
from thenar.allergy.formulary_answer import Formulary, NoFormulary, Sought
from thenar.allergy.formulary_terms import Goal, Group, Judged, Need, Offer, Question
from thenar.allergy.formulary_words import say_formulary, say_no_formulary
from thenar.allergy.product import Category
from thenar.allergy.verdict_terms import Answer
from thenar.cli.doors import Door
from thenar.knowledge import Book

STRICT = ConfigDict(extra="forbid", strict=True)

Money = Annotated[Decimal, Field(ge=0, description="of a year, in the site's currency")]
Count = Annotated[int, Field(ge=1)]


@checked(frozen=True, slots=True, config=STRICT)
class OfferGiven:
    """A product that could be stocked. `cost_a_worker` is null if it is not known."""

    product: str
    category: Category
    cost_a_worker: Money | None
    cost_of_stock: Money = Decimal(0)
    features: frozenset[str] = frozenset()

    def offer(self) -> Offer:
        """The offer as the computation takes it."""
        return Offer(self.product, self.category, self.cost_a_worker, self.cost_of_stock, self.features)


@checked(frozen=True, slots=True, config=STRICT)
class JudgedGiven:
    """The answer for a product, with the allergens behind it."""

    product: str
    answer: Answer
    allergens: frozenset[str] = frozenset()

    def judged(self) -> Judged:
        """The answer as the computation takes it."""
        return Judged(self.product, self.answer, self.allergens)


@checked(frozen=True, slots=True, config=STRICT)
class GroupGiven:
    """Workers with the same allergies and needs. `judged` is null for workers without allergies."""

    pattern: str
    workers: Count
    judged: tuple[JudgedGiven, ...] | None

    def group(self) -> Group:
        """The group as the computation takes it."""
        judged = None if self.judged is None else tuple(each.judged() for each in self.judged)
        return Group(self.pattern, self.workers, judged)


@checked(frozen=True, slots=True, config=STRICT)
class NeedGiven:
    """A use for which workers must have a product. `groups` is null for every group."""

    name: str
    category: Category
    features: frozenset[str] = frozenset()
    groups: frozenset[str] | None = None
    obligation: Annotated[bool, Field(description="to be stocked even if no group needs it")] = False

    def need(self) -> Need:
        """The need as the computation takes it."""
        return Need(self.name, self.category, self.features, self.groups, self.obligation)


@checked(frozen=True, slots=True, config=STRICT)
class FormularyGiven:
    """A formulary search. Without `present`, nothing is compared with the present stock.

    The search stops at `gap` from the best [share] or after about `seconds`.
    """

    offers: tuple[OfferGiven, ...]
    groups: tuple[GroupGiven, ...]
    needs: tuple[NeedGiven, ...]
    goal: Goal
    stay: Annotated[frozenset[str], Field(description="products chosen in any case")] = frozenset()
    banned: Annotated[frozenset[str], Field(description="products never chosen")] = frozenset()
    present: Annotated[frozenset[str] | None, Field(description="products in stock now")] = None
    at_most: Annotated[Count | None, Field(description="the most products; null sets no bound")] = None
    gap: Annotated[float, Field(ge=0, lt=1)] = 0.0001
    seconds: Annotated[float, Field(gt=0, le=3600)] = 30.0

    def question(self) -> Question:
        """The search as the computation takes it."""
        return Question(
            offers=tuple(each.offer() for each in self.offers),
            groups=tuple(each.group() for each in self.groups),
            needs=tuple(each.need() for each in self.needs),
            stay=self.stay,
            banned=self.banned,
            present=self.present,
            at_most=self.at_most,
        )


@dataclass(frozen=True, slots=True)
class FormularyAnswer:
    """A formulary for everyone; or one for those who can be served, who lacks what, and what to look for.

    `fewest` is how many products it takes, if that is more than there may be. `says` is for whoever chooses.
    """

    found: bool
    says: tuple[str, ...]
    formulary: Formulary
    sought: tuple[Sought, ...]
    fewest: int | None
    edition: str


def _compute(given: FormularyGiven, book: Book, today: date) -> FormularyAnswer:  # noqa: ARG001
    answer = find_formulary(given.question(), given.goal, gap=given.gap, seconds=given.seconds)
    if isinstance(answer, NoFormulary):
        says = say_no_formulary(answer)
        return FormularyAnswer(False, says, answer.partial, answer.sought, answer.fewest, book.edition)
    return FormularyAnswer(True, say_formulary(answer), answer, (), None, book.edition)


DOOR = Door("formulary", FormularyGiven, FormularyAnswer, _compute)
