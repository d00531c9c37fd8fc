"""Raises a concern where the answer a worker meets in a product becomes worse, and records what was done."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from functools import cache

from django.db import transaction
from django.db.models import Q, QuerySet

from thenar.allergy.verdict_terms import Answer
from thenar.errors import BadInput, Conflict
from thenar.knowledge import Book
from thenar.records.audit import Noted, add_rows, note
from thenar.records.days import day_of
from thenar.records.in_force import in_force_during
from thenar.records.judging import Answers, allergies_of, is_worse, undeclared, worst
from thenar.records.models import (
    Area,
    ConcernOutcome,
    Post,
    Product,
    ProductConcern,
    ProductDeclaration,
    Stock,
    User,
    Worker,
)
from thenar.records.models.allergies import CONCERN_OUTCOMES
from thenar.records.rights import Act, NotVisible, require

BECAUSE_OF_ALLERGY = "allergy"
BECAUSE_OF_PATCH_TEST = "patch_test"


@dataclass(frozen=True, slots=True)
class Scope:
    """Which products and workers are looked at. None: all of them."""

    products: frozenset[int] | None = None
    workers: frozenset[int] | None = None


@dataclass(frozen=True, slots=True)
class Met:
    """The answer that asks for most among those a worker meets in a product, and where they meet it."""

    answer: Answer
    declaration: ProductDeclaration
    area: Area


@dataclass(frozen=True, slots=True)
class Meetings:
    """What workers with allergies meet in the products that reach them, by worker's and product's id."""

    scope: Scope
    met: Mapping[tuple[int, int], Met]


def meetings(scope: Scope, *, book: Book, on: date) -> Meetings:
    """What is met on a day and, as far as it is known, from then on.

    A product reaches a worker if it is stocked in the area of a post or above it, while both last. What is
    written down but still to come counts too: a post, stock, a declaration. The answer is the worst of them.
    """
    people = _people_with_allergies(scope)
    if not people:
        return Meetings(scope, {})
    stock = _stock_by_area(scope, on)
    products = {one.product_id: one.product for rows in stock.values() for one in rows}
    timelines = _timelines(products)
    answers = Answers(allergies_of(people, book), [one for rows in timelines.values() for one in rows], book)
    met: dict[tuple[int, int], list[tuple[ProductDeclaration, Area]]] = defaultdict(list)
    in_force = cache(lambda product, days: in_force_during(timelines[product], *days))
    for post in _posts(people, on):
        for one in _reaching(post.area, stock):
            days = _days_met(post, one, on)
            for declaration in in_force(one.product_id, days) if days else ():
                met[post.worker_id, one.product_id].append((declaration, post.area))
    return Meetings(scope, {key: _worst(key[0], rows, answers) for key, rows in met.items()})


def raise_concerns(
    *, since: Meetings, because: str, book: Book, by: User, now: datetime, if_newly_met: str = ""
) -> tuple[ProductConcern, ...]:
    """Raise a concern for each worker and product whose answer is worse than it was `since`.

    Call it in the transaction of what changed, after its `note()`: the audit chain lets one writer through at
    a time, so of two changes at once the later one sees the earlier. An allergy newly set down raises only
    `avoid`. What already waits for the same worker, product and answer is not raised twice. `if_newly_met`
    is said instead of `because` where the product did not reach the worker at all before.
    """
    found = meetings(since.scope, book=book, on=day_of(now)).met
    worse = {key: met for key, met in found.items() if _is_to_be_raised(met, since.met.get(key), because)}
    waiting = _waiting(worse)
    raised = ProductConcern.objects.bulk_create(
        ProductConcern(
            worker_id=key[0],
            product_id=key[1],
            declaration=met.declaration if met.declaration.pk else None,
            area=met.area,
            because=because if key in since.met else if_newly_met or because,
            answer=met.answer.value,
            answer_before=since.met[key].answer.value if key in since.met else "",
            edition=book.edition,
            at=now,
            by=by,
        )
        for key, met in sorted(worse.items(), key=lambda one: one[0])
        if (*key, met.answer.value) not in waiting
    )
    add_rows(_noted(raised, by, now))
    return tuple(raised)


@transaction.atomic
def deal_with_concern(
    *, concern: ProductConcern, outcome: str, note_text: str, by: User, now: datetime
) -> ConcernOutcome:
    """Record what was done about a concern; it then waits no longer.

    Raises
    ------
    NotVisible
        It is about the record of whoever asks.
    Conflict
        Somebody has dealt with it meanwhile.
    BadInput
        The outcome is none of those known.
    """
    require(by, Act.WRITE_CLINICAL)
    worker = (
        Worker.objects.visible_to(by, day_of(now)).select_for_update().filter(pk=concern.worker_id).first()
    )
    if worker is None:
        raise NotVisible(by=by, target="concern")
    if outcome not in dict(CONCERN_OUTCOMES):
        raise BadInput(
            what=f"{outcome!r} is no outcome of a concern.",
            why="A concern that is put away must say what was done.",
            todo=f"Give one of: {', '.join(dict(CONCERN_OUTCOMES))}.",
        )
    if ConcernOutcome.objects.filter(concern=concern).exists():
        raise Conflict(
            what="This concern was dealt with meanwhile.",
            why="What was done about it is already on record.",
            todo="Look at Today again.",
        )
    kept = ConcernOutcome.objects.create(
        concern=concern, outcome=outcome, note=note_text.strip(), at=now, by=by
    )
    note("concern dealt with", by=by, now=now, target=concern.ref, worker_ref=worker.ref, why=outcome)
    return kept


def _is_to_be_raised(met: Met, before: Met | None, because: str) -> bool:
    if because == BECAUSE_OF_ALLERGY and met.answer is not Answer.AVOID:
        return False
    return is_worse(met.answer, before.answer if before else None)


def _waiting(keys: Iterable[tuple[int, int]]) -> set[tuple[int, int, str]]:
    pairs = list(keys)
    rows = ProductConcern.objects.filter(
        outcome__isnull=True,
        worker__in={worker for worker, _ in pairs},
        product__in={product for _, product in pairs},
    )
    return set(rows.values_list("worker_id", "product_id", "answer"))


def _noted(raised: Collection[ProductConcern], by: User, now: datetime) -> Iterator[Noted]:
    refs = dict(Worker.objects.filter(pk__in={one.worker_id for one in raised}).values_list("pk", "ref"))
    for one in raised:
        yield Noted(
            at=now,
            who=by.get_username(),
            access=by.access,
            event="concern raised",
            target=one.ref,
            worker_ref=refs[one.worker_id],
            data_class="C1",
            why="",
        )


def _people_with_allergies(scope: Scope) -> list[int]:
    """Ids of the workers here of whom some allergy is known."""
    known = Q(sensitisations__withdrawal__isnull=True, sensitisations__isnull=False) | Q(
        immediate_allergies__withdrawal__isnull=True, immediate_allergies__isnull=False
    )
    workers = Worker.objects.filter(left_on__isnull=True).filter(known).distinct()
    ids = workers.order_by("pk").values_list("pk", flat=True)
    return [pk for pk in ids if scope.workers is None or pk in scope.workers]


def _posts(people: Collection[int], on: date) -> QuerySet[Post]:
    return (
        Post.objects.filter(_not_over(on), worker__in=people).select_related("area").order_by("from_on", "pk")
    )


def _stock_by_area(scope: Scope, on: date) -> dict[str, list[Stock]]:
    """Stock that runs or is to come, by the reference of its area."""
    rows = Stock.objects.filter(_not_over(on)).select_related("area", "product")
    if scope.products is not None:
        rows = rows.filter(product__in=scope.products)
    found: dict[str, list[Stock]] = defaultdict(list)
    for row in rows.order_by("pk"):
        found[row.area.ref].append(row)
    return found


def _not_over(on: date) -> Q:
    return Q(until_on__isnull=True) | Q(until_on__gte=on)


def _timelines(products: Mapping[int, Product]) -> dict[int, list[ProductDeclaration]]:
    """Every declaration of each product, after a stand-in for the time when nothing was declared."""
    found = {pk: [undeclared(product)] for pk, product in products.items()}
    rows = ProductDeclaration.objects.filter(product__in=products).select_related("product")
    for row in rows.prefetch_related("accepted_readings"):
        found[row.product_id].append(row)
    return found


def _reaching(area: Area, stock: Mapping[str, list[Stock]]) -> Iterator[Stock]:
    """What is stocked in an area or above it."""
    for ref in area.path.strip("/").split("/"):
        yield from stock.get(ref, ())


def _days_met(post: Post, stock: Stock, on: date) -> tuple[date, date | None] | None:
    """The first and last day, from a day on, on which a post and a stock both last; None if there is none."""
    first = max(on, post.from_on, stock.from_on)
    last = min((day for day in (post.until_on, stock.until_on) if day is not None), default=None)
    return None if last and last < first else (first, last)


def _worst(worker_id: int, rows: list[tuple[ProductDeclaration, Area]], answers: Answers) -> Met:
    areas = {id(declaration): area for declaration, area in reversed(rows)}
    found = worst(answers.of(worker_id, declaration) for declaration, _ in rows)
    return Met(found.answer_in_use, found.declaration, areas[id(found.declaration)])
