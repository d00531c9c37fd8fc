"""Joins what is kept of products and workers to the room that judges them."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from functools import lru_cache

from django.db.models import Exists, Max, OuterRef, Q, QuerySet

from thenar.allergy.allergies import Allergies, Delayed, Immediate, Strength
from thenar.allergy.declarations import read_declaration
from thenar.allergy.declared import Declaration, ListKind
from thenar.allergy.misprints import Misprint, misprints_in, say_misprints, with_misprints
from thenar.allergy.names import Names
from thenar.allergy.normal_form import normal_form
from thenar.allergy.product import Category, GloveFacts
from thenar.allergy.product import Product as JudgedProduct
from thenar.allergy.verdict import Judge
from thenar.allergy.verdict_terms import RANK, Answer, Verdict
from thenar.knowledge import Book
from thenar.records.models import (
    ImmediateAllergy,
    Overruling,
    Product,
    ProductDeclaration,
    ReadingAccepted,
    Sensitisation,
)
from thenar.records.patch_tests import tested_negative

LONGEST_WRITTEN = 300  # characters of an ingredient by which an accepted reading names it

# Of several records of one sensitisation the strongest counts; an unknown strength asks for no confirming.
_STRENGTHS = (Strength.DOUBTFUL, Strength.WEAK, Strength.NOT_KNOWN, Strength.STRONG, Strength.EXTREME)

_made: dict[str, tuple[Names, Judge]] = {}


@dataclass(frozen=True, slots=True)
class Judged:
    """What the rules say of a declaration for one worker, and the practitioner's answer if there is one."""

    declaration: ProductDeclaration
    verdict: Verdict
    overruling: Overruling | None = None

    @property
    def answer_in_use(self) -> Answer:
        """The practitioner's answer, else that of the rules."""
        return Answer(self.overruling.answer) if self.overruling else self.verdict.answer


class Answers:
    """Answers for many workers and declarations; those with the same allergies share their verdicts.

    Parameters
    ----------
    people
        Worker's id → everything they react to.
    declarations
        What is judged, read with `with_readings`; stand-ins made by `undeclared` may be among them.
    """

    def __init__(
        self, people: Mapping[int, Allergies], declarations: Sequence[ProductDeclaration], book: Book
    ) -> None:
        self._people = people
        judged = by_the_rules(declarations, set(people.values()), book)
        self._verdicts = {
            allergies: {_key(one): verdict for one, verdict in zip(declarations, verdicts, strict=True)}
            for allergies, verdicts in judged.items()
        }
        self._overrulings = _overrulings(people, declarations)

    def of(self, worker_id: int, declaration: ProductDeclaration) -> Judged:
        """The answer for one worker and one declaration."""
        verdict = self._verdicts[self._people[worker_id]][_key(declaration)]
        overruling = self._overrulings.get((worker_id, declaration.pk))
        if overruling and is_worse(verdict.answer, Answer(overruling.rules_say)):
            overruling = None  # the rules have learnt something that whoever overruled them did not know
        return Judged(declaration, verdict, overruling)


def judge_of(book: Book) -> Judge:
    """The judge by a book's allergens; made once for each edition."""
    return _made_of(book)[1]


def names_of(book: Book) -> Names:
    """The names by a book's allergens; made once for each edition."""
    return _made_of(book)[0]


def is_worse(answer: Answer, before: Answer | None) -> bool:
    """Whether an answer asks for more than another did. A product that was not met asked for nothing.

    Examples
    --------
    >>> is_worse(Answer.AVOID, Answer.CANNOT_EXCLUDE), is_worse(Answer.NO_MATCH_FOUND, None)
    (True, False)
    """
    return RANK[answer] < RANK[before or Answer.NO_MATCH_FOUND]


def worst(judged: Iterable[Judged]) -> Judged:
    """The first of those whose answer in use asks for most."""
    return min(judged, key=lambda one: RANK[one.answer_in_use])


def undeclared(product: Product) -> ProductDeclaration:
    """A stand-in, never stored, for a product of which no declaration is in force: nothing is declared."""
    return ProductDeclaration(
        product=product, from_on=date.min, list_kind=ListKind.NOTHING.value, glove={}, edition=""
    )


def by_the_rules(
    declarations: Sequence[ProductDeclaration], people: Iterable[Allergies], book: Book
) -> Mapping[Allergies, tuple[Verdict, ...]]:
    """What the rules say of declarations, by pattern of allergies. Whatever judges what is kept asks here.

    What may be a misprint and nobody has settled matches nothing. But no product is cleared by it either: the
    answer is at least `cannot exclude` for whoever reacts to what may be meant, and its reason says why.
    """
    unsettled = [open_misprints(one, book) for one in declarations]
    read = [as_product(one, book) for one in declarations]
    seen = [with_misprints(*one) for one in zip(read, unsettled, strict=True)]
    judged = judge_of(book).judge_all(seen, people)
    return {
        pattern: tuple(say_misprints(*one) for one in zip(verdicts, unsettled, strict=True))
        for pattern, verdicts in judged.items()
    }


def as_judged(declaration: ProductDeclaration, book: Book) -> JudgedProduct:
    """A product with one declaration as the rules judge it, with what may be meant and nobody has settled."""
    return with_misprints(as_product(declaration, book), open_misprints(declaration, book))


def open_misprints(declaration: ProductDeclaration, book: Book) -> tuple[Misprint, ...]:
    """What may be a misprint in a declaration, neither accepted nor refused by anybody."""
    if declaration.pk is None:
        return ()
    settled = {(one.written, one.allergen) for one in declaration.accepted_readings.all()}
    return tuple(
        one
        for one in possible_misprints(declaration, book)
        if settled.isdisjoint(
            (one.ingredient.written[:LONGEST_WRITTEN], which) for which in (one.allergen, "")
        )
    )


def possible_misprints(declaration: ProductDeclaration, book: Book) -> tuple[Misprint, ...]:
    """What may be a misprint in a declaration, settled or not."""
    read = read_as(declaration.text, ListKind(declaration.list_kind))
    return misprints_in(read.ingredients, names_of(book))


def as_product(declaration: ProductDeclaration, book: Book) -> JudgedProduct:
    """A product with one declaration as it reads, accepted readings included."""
    product = declaration.product
    category = Category(product.category)
    read = read_as(declaration.text, ListKind(declaration.list_kind))
    return JudgedProduct(
        id=product.code,
        name=product.name,
        category=category,
        declaration=_with_accepted(read, declaration, book),
        glove=glove_of(declaration) if category is Category.GLOVE else None,
        virucidal=declaration.virucidal,
        leave_on=declaration.leave_on,
    )


def glove_of(declaration: ProductDeclaration) -> GloveFacts:
    """What a declaration says of a glove itself."""
    kept = declaration.glove
    return GloveFacts(
        material=kept.get("material", ""),
        sterile=kept.get("sterile"),
        sizes=tuple(kept.get("sizes", ())),
        coloured=kept.get("coloured"),
        powdered=kept.get("powdered"),
    )


@lru_cache(maxsize=5_000)  # declarations never change; a site has some hundreds
def read_as(text: str, kind: ListKind) -> Declaration:
    """The text of a declaration as read, without accepted readings."""
    return read_declaration(text, kind)


def allergies_of(worker_ids: Collection[int], book: Book) -> dict[int, Allergies]:
    """What each of these workers reacts to, withdrawn records left out; all of them are in the answer."""
    delayed: dict[int, dict[str, Delayed]] = defaultdict(dict)
    for row in Sensitisation.objects.filter(worker__in=worker_ids, withdrawal__isnull=True):
        known = delayed[row.worker_id].get(row.allergen)
        delayed[row.worker_id][row.allergen] = _stronger(row, known)
    immediate: dict[int, dict[str, bool]] = defaultdict(dict)
    for one in ImmediateAllergy.objects.filter(worker__in=worker_ids, withdrawal__isnull=True):
        severe = immediate[one.worker_id].get(one.allergen, False)
        immediate[one.worker_id][one.allergen] = severe or one.severe
    negative = tested_negative(delayed.keys(), book)
    return {
        pk: Allergies(
            delayed=frozenset(delayed.get(pk, {}).values()),
            immediate=frozenset(Immediate(*one) for one in immediate.get(pk, {}).items()),
            tested_negative=negative.get(pk, frozenset()).difference(delayed.get(pk, ())),
        )
        for pk in worker_ids
    }


def after_overrulings(rows: QuerySet[Overruling], now: datetime) -> datetime:
    """The moment to be kept for something none of these overrulings can have known: now, or just after them.

    Whoever waited for their turn may have begun before the overruling was written down.
    """
    last = rows.aggregate(last=Max("at"))["last"]
    return now if last is None or last < now else last + timedelta(microseconds=1)


def _stronger(row: Sensitisation, known: Delayed | None) -> Delayed:
    strength = Strength(row.strength)
    if known is None:
        return Delayed(row.allergen, strength, row.confirmed)
    return Delayed(
        row.allergen,
        max(strength, known.strength, key=_STRENGTHS.index),
        row.confirmed or known.confirmed,
    )


def _made_of(book: Book) -> tuple[Names, Judge]:
    made = _made.get(book.edition)
    if made is None or made[1].table is not book.allergens:
        names = Names(book.allergens)
        made = _made[book.edition] = names, Judge(book.allergens, names)
    return made


def _with_accepted(read: Declaration, declaration: ProductDeclaration, book: Book) -> Declaration:
    """A person's "this is meant" stands beside the ingredient as one more: it can only add matches."""
    if declaration.pk is None:
        return read
    meant: dict[str, list[str]] = defaultdict(list)
    for accepted in (one for one in declaration.accepted_readings.all() if one.allergen):
        meant[accepted.written].append(_name_that_means(accepted.allergen, book))
    more = (
        one._replace(names=(name,))
        for one in read.ingredients
        for name in meant.get(one.written[:LONGEST_WRITTEN], ())
    )
    return replace(read, ingredients=(*read.ingredients, *more))


def _name_that_means(allergen_id: str, book: Book) -> str:
    """A name, in normal form, that is looked up as this allergen; its id where the edition has dropped it."""
    known = book.allergens.allergens.get(allergen_id)
    if known is None:
        return normal_form(allergen_id)
    names = [normal_form(name) for name in (known.name, *known.inci, *known.synonyms, *known.cas)]
    return next((one for one in names if allergen_id in names_of(book).allergens_named(one)), names[0])


def _overrulings(
    people: Collection[int], declarations: Sequence[ProductDeclaration]
) -> dict[tuple[int, int], Overruling]:
    """The newest of each worker and declaration, without those that did not know all that is known now.

    Whoever overruled knew nothing of an allergy set down, or of a reading accepted, after that. A reading
    refused only eases the answer.
    """
    kept = [one.pk for one in declarations if one.pk is not None]
    of_worker = Q(worker=OuterRef("worker"), at__gt=OuterRef("at"), withdrawal__isnull=True)
    of_declaration = ReadingAccepted.objects.filter(declaration=OuterRef("declaration"))
    accepted_later = of_declaration.filter(at__gt=OuterRef("at")).exclude(allergen="")
    rows = Overruling.objects.filter(
        ~Exists(Sensitisation.objects.filter(of_worker)),
        ~Exists(ImmediateAllergy.objects.filter(of_worker)),
        ~Exists(accepted_later),
        declaration__in=kept,
        worker__in=people,
    ).select_related("by")
    return {(row.worker_id, row.declaration_id): row for row in rows.order_by("at", "pk")}


def _key(declaration: ProductDeclaration) -> tuple[int, int | None]:
    return declaration.product_id, declaration.pk
