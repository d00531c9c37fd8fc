"""Answers laid out for a page: word, reasons as chains with their entries, and notes for the margin."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.urls import reverse

from thenar.allergy.verdict_terms import RANK, Answer, Link, Reason, Step
from thenar.documents.product_list import Word
from thenar.knowledge import Book, KnownAs
from thenar.records.judging import Judged
from thenar.records.models import Area, Overruling, Product
from thenar.records.models.products import CATEGORIES
from thenar.screens.clinic.reasons import Reason as Note
from thenar.screens.clinic.reasons import reason_for
from thenar.screens.products.meant import Meant, not_settled
from thenar.screens.usable.list_contents import word_for
from thenar.screens.usable.looking import Held, Usable

MOST_NOTES = 2  # beside one product; every step of every chain has its own entry as well
MOST_NEAREST = 3


@dataclass(frozen=True, slots=True)
class ShownAnswer:
    """An answer as a word, with the weight of its bar."""

    word: str
    weight: str


SHOWN = {
    Answer.AVOID: ShownAnswer("Avoid", "avoid"),
    Answer.CANNOT_EXCLUDE: ShownAnswer("Cannot exclude", "ask"),
    Answer.NO_MATCH_FOUND: ShownAnswer("No match found", "none"),
}


@dataclass(frozen=True, slots=True)
class ShownStep:
    """One step of a chain. Without `url` it is what the label itself says."""

    says: str
    entry: str
    url: str
    standing: str


@dataclass(frozen=True, slots=True)
class ShownReason:
    """One chain, and the allergy it leads to. One that does not count is a caution."""

    answer: ShownAnswer
    counts: bool
    allergen: str
    at_once: bool
    steps: tuple[ShownStep, ...]
    confirm: str


@dataclass(frozen=True, slots=True)
class ShownProduct:
    """A product with its answer in use, what the rules say, why, and where it stands.

    `is_usable`: no match was found, and not merely because nothing is declared. `misprints` are those that
    bear on the worker's allergies.
    """

    product: Product
    answer: ShownAnswer
    rules_say: ShownAnswer
    overruling: Overruling | None
    declared: bool
    reasons: tuple[ShownReason, ...]
    notes: tuple[Note, ...]
    areas: tuple[Area, ...]
    is_usable: bool
    misprints: tuple[Meant, ...]


@dataclass(frozen=True, slots=True)
class ShownCategory:
    """The products of one kind, those of the worker's area first."""

    code: str
    label: str
    here: tuple[ShownProduct, ...]
    elsewhere: tuple[ShownProduct, ...]

    @property
    def has_usable(self) -> bool:
        """Whether something of this kind in the worker's area has no match."""
        return any(one.is_usable for one in self.here)

    @property
    def nearest(self) -> tuple[ShownProduct, ...]:
        """The nearest of this kind without a match that stand elsewhere."""
        return tuple(one for one in self.elsewhere if one.is_usable and one.areas)[:MOST_NEAREST]


@dataclass(frozen=True, slots=True)
class ShownAllergy:
    """One allergy by name."""

    allergen: str
    name: str
    at_once: bool


@dataclass(frozen=True, slots=True)
class MatrixRow:
    """A product, and its answer for each allergy by itself."""

    product: ShownProduct
    cells: tuple[ShownAnswer, ...]


def categories_of(usable: Usable) -> tuple[ShownCategory, ...]:
    """Every kind of product the site holds."""
    made = []
    for code, label in CATEGORIES:
        held = [one for one in usable.held if one.record.product.category == code]
        here = sorted((one for one in held if one.here), key=_usable_first)
        elsewhere = [one for one in held if not one.here]
        if held:
            made.append(
                ShownCategory(
                    code,
                    label,
                    tuple(shown_product(one, usable.book) for one in here),
                    tuple(shown_product(one, usable.book) for one in elsewhere),
                )
            )
    return tuple(made)


def shown_product(held: Held, book: Book) -> ShownProduct:
    """One product ready for the page."""
    judged = held.judged
    return ShownProduct(
        product=held.record.product,
        answer=SHOWN[judged.answer_in_use],
        rules_say=SHOWN[judged.verdict.answer],
        overruling=judged.overruling,
        declared=held.record.declaration is not None,
        reasons=reasons_shown(judged.verdict.reasons, book),
        notes=_notes(judged.verdict.reasons, book),
        areas=held.record.areas,
        is_usable=word_for(judged) is Word.USE,
        misprints=_misprints(judged, book),
    )


def _misprints(judged: Judged, book: Book) -> tuple[Meant, ...]:
    """What nobody has settled, as far as a reason rests on it."""
    doubted = {
        one.ingredient.written
        for one in judged.verdict.reasons
        if one.ingredient and any(step.link is Link.MISPRINT for step in one.steps)
    }
    return tuple(one for one in not_settled(judged.declaration, book) if one.written in doubted)


def reasons_shown(reasons: Iterable[Reason], book: Book) -> tuple[ShownReason, ...]:
    """Every reason as a chain, in the order given."""
    return tuple(_reason(one, book) for one in reasons)


def allergies_shown(usable: Usable) -> tuple[ShownAllergy, ...]:
    """Every allergy on record, immediate ones first."""
    at_once = {(True, one.allergen) for one in usable.allergies.immediate}
    delayed = {(False, one.allergen) for one in usable.allergies.delayed}
    return tuple(
        ShownAllergy(allergen, name_of(allergen, usable.book), immediate)
        for immediate, allergen in sorted(at_once | delayed, key=lambda one: (not one[0], one[1]))
    )


def matrix(usable: Usable) -> tuple[tuple[str, tuple[MatrixRow, ...]], ...]:
    """For each kind of product: the answer of the rules for each allergy by itself, its own area first."""
    allergies = allergies_shown(usable)
    rows: dict[str, list[MatrixRow]] = {}
    for held in usable.held:
        cells = tuple(SHOWN[_strongest(held.judged.verdict.reasons, one)] for one in allergies)
        label = held.record.product.get_category_display()
        rows.setdefault(label, []).append(MatrixRow(shown_product(held, usable.book), cells))
    return tuple((label, tuple(rows[label])) for _, label in CATEGORIES if label in rows)


def name_of(allergen: str, book: Book) -> str:
    """The allergen's name; its id where the edition no longer has it."""
    known = book.allergens.allergens.get(allergen)
    return known.name if known else allergen


def _usable_first(held: Held) -> tuple[int, tuple[int, str, str]]:
    return -RANK[held.judged.answer_in_use], held.sorts_by


def _strongest(reasons: Iterable[Reason], allergy: ShownAllergy) -> Answer:
    own = [
        one.answer for one in reasons if one.allergen == allergy.allergen and one.immediate is allergy.at_once
    ]
    return min(own, key=lambda answer: RANK[answer], default=Answer.NO_MATCH_FOUND)


def _reason(reason: Reason, book: Book) -> ShownReason:
    return ShownReason(
        answer=SHOWN[reason.answer],
        counts=reason.answer is not Answer.NO_MATCH_FOUND,
        allergen=name_of(reason.allergen, book),
        at_once=reason.immediate,
        steps=tuple(_step(one, book) for one in reason.steps),
        confirm=reason.confirm,
    )


def _step(step: Step, book: Book) -> ShownStep:
    url = reverse("rule", kwargs={"key": step.entry}) if step.entry in book.entries else ""
    standing = step.known_as.value if step.known_as and step.known_as is not KnownAs.PUBLISHED else ""
    return ShownStep(step.says, step.entry, url, standing)


def _notes(reasons: tuple[Reason, ...], book: Book) -> tuple[Note, ...]:
    """What the strongest reason rests on, for the margin."""
    steps = [one for one in (reasons[0].steps if reasons else ()) if one.entry]
    return tuple(reason_for(one.entry, book, says=one.says) for one in steps[-MOST_NOTES:])
