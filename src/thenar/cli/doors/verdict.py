"""The door to verdicts: products against the allergies of one person, with every reason as a chain."""

from dataclasses import dataclass
from datetime import date

from pydantic.dataclasses import dataclass as checked

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
class ProductAnswer:
    """The answer for one product, the strongest reasons first."""

    product: str
    name: str
    answer: Answer
    reasons: tuple[ReasonAnswer, ...]


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
    judge = Judge(book.allergens, Names(book.allergens))
    verdicts = judge.judge_all(products, [allergies])[allergies]
    return VerdictAnswer(
        answers=tuple(_answer(*one) for one in zip(products, verdicts, strict=True)),
        emergency=verdicts[0].emergency,
        caution=CAUTION,
        sources=sources_of(entries_of(verdicts), book),
        edition=book.edition,
    )


def _answer(product: Product, verdict: Verdict) -> ProductAnswer:
    return ProductAnswer(product.id, product.name, verdict.answer, reasons_of(verdict))


DOOR = Door("verdict", VerdictGiven, VerdictAnswer, _compute, explain_allergens)
