"""The door to verdicts: products against the allergies of one person, with every reason as a chain."""

from dataclasses import dataclass
from datetime import date

from pydantic.dataclasses import dataclass as checked

from thenar.allergy.misprints import Misprint, misprints_in
from thenar.allergy.names import Names
from thenar.allergy.product import Product
from thenar.allergy.verdict import Judge
from thenar.allergy.verdict_terms import Answer, Verdict
from thenar.cli.doors import Cited, Door
from thenar.cli.doors.products_given import (
    CAUTION,
    STRICT,
    AllergiesGiven,
    ProductGiven,
    ReasonAnswer,
    entries_of,
    explain_allergens,
    products_of,
    reasons_of,
    sources_of,
)
from thenar.knowledge import Book


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class VerdictGiven:
    """Products, and everything one person reacts to. No name, no number of a person."""

    products: tuple[ProductGiven, ...]
    allergies: AllergiesGiven


@dataclass(frozen=True, slots=True)
class NearMiss:
    """An ingredient that may be a misprint of a known name. It decides nothing; `says` what to do."""

    ingredient: str
    position: int
    near_to: str
    allergen: str
    says: str


@dataclass(frozen=True, slots=True)
class ProductAnswer:
    """The answer for one product, the strongest reasons first.

    `not_settled` are near misses on its label, whomever they concern. The answer does not count them.
    """

    product: str
    name: str
    answer: Answer
    reasons: tuple[ReasonAnswer, ...]
    not_settled: tuple[NearMiss, ...]


@dataclass(frozen=True, slots=True)
class VerdictAnswer:
    """The answer for each product, in the order given. `emergency` is a note for immediate allergy."""

    answers: tuple[ProductAnswer, ...]
    emergency: str
    caution: str
    sources: tuple[Cited, ...]
    edition: str


def _compute(given: VerdictGiven, book: Book, today: date) -> VerdictAnswer:  # noqa: ARG001
    allergies = given.allergies.allergies(book)
    products = products_of(given.products, "products", book)
    names = Names(book.allergens)
    judge = Judge(book.allergens, names)
    verdicts = judge.judge_all(products, [allergies])[allergies]
    return VerdictAnswer(
        answers=tuple(_answer(*one, names) for one in zip(products, verdicts, strict=True)),
        emergency=verdicts[0].emergency,
        caution=CAUTION,
        sources=sources_of(entries_of(verdicts), book),
        edition=book.edition,
    )


def _answer(product: Product, verdict: Verdict, names: Names) -> ProductAnswer:
    near = misprints_in(product.declaration.ingredients, names)
    return ProductAnswer(
        product.id, product.name, verdict.answer, reasons_of(verdict), tuple(_near_miss(one) for one in near)
    )


def _near_miss(misprint: Misprint) -> NearMiss:
    written = misprint.ingredient.written
    says = (
        f"“{written}” may be a misprint of {misprint.near_to}. That is not settled, and the answer does not "
        "count it: a person must look at the label before anyone relies on the answer."
    )
    return NearMiss(written, misprint.ingredient.position, misprint.near_to, misprint.allergen, says)


DOOR = Door("verdict", VerdictGiven, VerdictAnswer, _compute, explain_allergens)
