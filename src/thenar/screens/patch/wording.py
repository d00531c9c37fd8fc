"""What was put on, and what was seen, in the words and signs of the pages."""

from dataclasses import dataclass

from django.urls import reverse

from thenar.allergy.patch_test import GRADE_WORDS, Kind, PatchGrade, Position
from thenar.knowledge import Book

MINUS = "\u2212"
CONTROL = "sodium lauryl sulfate"
_CLASSES = {
    PatchGrade.NEGATIVE: "negative",
    PatchGrade.DOUBTFUL: "doubtful",
    PatchGrade.WEAK: "weak",
    PatchGrade.STRONG: "strong",
    PatchGrade.EXTREME: "extreme",
    PatchGrade.IRRITANT: "irritant",
    PatchGrade.NOT_TESTED: "untested",
}


@dataclass(frozen=True, slots=True)
class ShownGrade:
    """A grade as a sign, as a word, and as the class that draws it."""

    sign: str
    word: str
    mark: str


GRADES = {
    grade: ShownGrade(MINUS if grade is PatchGrade.NEGATIVE else grade.value, word, _CLASSES[grade])
    for grade, word in GRADE_WORDS.items()
}


def allergen_name(allergen: str, book: Book) -> str:
    """The allergen's name; its id where the edition no longer has it."""
    known = book.allergens.allergens.get(allergen)
    return known.name if known else allergen


def allergen_url(allergen: str, book: Book) -> str:
    """Where what is known of an allergen stands; empty for one the edition no longer has."""
    known = book.allergens.allergens.get(allergen)
    return reverse("rule", kwargs={"key": known.entry}) if known else ""


def put_on(position: Position, book: Book) -> str:
    """What a position holds, by name."""
    if position.kind is Kind.ALLERGEN:
        return allergen_name(position.hapten, book)
    return position.hapten


def prepared(position: Position) -> str:
    """How it was prepared.

    Examples
    --------
    >>> prepared(Position(1, "nickel_sulfate", "5 %", "pet"))
    '5 % pet'
    """
    if position.own is not None:
        return f"own {position.own.category.value}, {position.own.dilution}"
    kind = "irritant control, " if position.kind is Kind.IRRITANT_CONTROL else ""
    return f"{kind}{position.concentration} {position.vehicle}".strip()


def series_name(series: str, book: Book) -> str:
    """A series by name; its id where the edition no longer has it."""
    known = book.allergens.series.get(series)
    return known.name if known else series
