"""How does a search for a formulary stand, given what the site holds and who works in the areas?"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from thenar.allergy.formulary_terms import Goal, Group, Judged, Need, Offer, Question
from thenar.allergy.product import Category
from thenar.errors import BadInput
from thenar.knowledge import Book
from thenar.records.judging import by_the_rules, glove_of, undeclared
from thenar.records.models import Area
from thenar.records.queries.judged import WorkerGroup
from thenar.records.queries.products import ProductRecord
from thenar.screens.formulary.needs import (
    BY_ID,
    SPECIAL,
    STERILE,
    features_of,
    needs_of,
    regardless_of_size,
)


@dataclass(frozen=True, slots=True)
class Asked:
    """What somebody asked for. Kinds of need by id, products by code."""

    everyone: tuple[str, ...]
    held: tuple[str, ...]
    goal: Goal
    sizes: tuple[str, ...] = ()
    stay: tuple[str, ...] = ()
    banned: tuple[str, ...] = ()
    at_most: int | None = None


@dataclass(frozen=True, slots=True)
class Put:
    """The search, and what it does not count.

    `unpriced` are left out, for the cheapest is asked for; `no_size` are sterile gloves whose sizes nobody
    wrote down. `uncounted` stand in the areas now but can't be chosen: beside the present stock as it is, the
    formulary can't be priced. `let_be` stand there for what was not asked for: they are sterile or virucidal.
    """

    question: Question
    groups: tuple[WorkerGroup, ...]
    unpriced: tuple[ProductRecord, ...]
    no_size: tuple[ProductRecord, ...]
    uncounted: tuple[ProductRecord, ...]
    let_be: tuple[ProductRecord, ...]


def put(
    asked: Asked,
    areas: Sequence[Area],
    records: Sequence[ProductRecord],
    by_size: Sequence[WorkerGroup],
    book: Book,
) -> Put:
    """The search as the computation takes it.

    Raises
    ------
    BadInput
        Nobody works there and nothing must be held, or no product can be chosen, or one that must stay has no
        price although the cheapest is asked for.
    """
    sized = any(BY_ID[kind].by_size for kind in (*asked.everyone, *asked.held))
    groups = tuple(by_size) if sized else regardless_of_size(by_size)
    needs = needs_of(asked.everyone, asked.held, asked.sizes, groups)
    _refuse_nobody(needs, groups)
    offers = {one.product.code: _offer(one) for one in records}
    special = tuple(one for one in records if _is_for_more(offers[one.product.code], needs, asked))
    plain = tuple(one for one in records if one not in special)
    of_use = tuple(one for one in plain if _is_of_use(offers[one.product.code], needs, asked))
    unpriced = tuple(one for one in of_use if asked.goal is Goal.CHEAPEST and one.price is None)
    _refuse_staying_unpriced(unpriced, asked)
    offered = tuple(one for one in plain if one not in unpriced)  # others tell what to look out for
    _refuse_nothing(offered)
    codes = frozenset(one.product.code for one in offered)
    present = [one for one in of_use if _stands_in(one, areas)]
    question = Question(
        offers=tuple(offers[one.product.code] for one in offered),
        groups=_judged(groups, offered, book),
        needs=needs,
        stay=frozenset(asked.stay),
        banned=codes & frozenset(asked.banned),
        present=codes & frozenset(one.product.code for one in present),
        at_most=asked.at_most,
    )
    return Put(
        question=question,
        groups=groups,
        unpriced=unpriced,
        no_size=_without_sizes(offered, needs),
        uncounted=tuple(one for one in present if one in unpriced or one.product.code in asked.banned),
        let_be=tuple(
            one
            for one in special
            if _stands_in(one, areas) and _same_category(offers[one.product.code], needs)
        ),
    )


def _offer(record: ProductRecord) -> Offer:
    declaration, price = record.declaration, record.price
    is_glove = record.product.category == Category.GLOVE
    return Offer(
        product=record.product.code,
        category=Category(record.product.category),
        cost_a_worker=price.per_worker_year if price else None,
        cost_of_stock=price.per_year if price else Decimal(0),
        features=features_of(glove_of(declaration) if is_glove else None, declaration.virucidal)
        if declaration
        else frozenset(),
    )


def _is_of_use(offer: Offer, needs: Iterable[Need], asked: Asked) -> bool:
    return offer.product in asked.stay or any(need.met_by(offer) for need in needs)


def _is_for_more(offer: Offer, needs: Iterable[Need], asked: Asked) -> bool:
    """Whether it is sterile or virucidal, and nobody asked for that: it may be held for another use."""
    special = offer.features & SPECIAL
    asked_for = frozenset[str]().union(*(need.features for need in needs))
    return bool(special - asked_for) and offer.product not in asked.stay


def _same_category(offer: Offer, needs: Iterable[Need]) -> bool:
    return any(need.category is offer.category for need in needs)


def _stands_in(record: ProductRecord, areas: Sequence[Area]) -> bool:
    """Whether it stands in one of the areas, above it or beneath it."""
    return any(
        area.path.startswith(stocked.path) or stocked.path.startswith(area.path)
        for stocked in record.areas
        for area in areas
    )


def _judged(groups: Iterable[WorkerGroup], offered: Sequence[ProductRecord], book: Book) -> tuple[Group, ...]:
    declared = [one.declaration or undeclared(one.product) for one in offered]
    patterns = [one.allergies for one in groups if knows_an_allergy(one)]
    verdicts = by_the_rules(declared, patterns, book)
    return tuple(
        Group(
            one.pattern,
            one.workers,
            tuple(Judged.by(verdict) for verdict in verdicts[one.allergies])
            if knows_an_allergy(one)
            else None,
        )
        for one in groups
    )


def knows_an_allergy(group: WorkerGroup) -> bool:
    """Whether the workers of a group have an allergy on record."""
    return bool(group.allergies.delayed or group.allergies.immediate)


def _without_sizes(offered: Iterable[ProductRecord], needs: Iterable[Need]) -> tuple[ProductRecord, ...]:
    """Sterile gloves that meet no size, if a size is asked for."""
    if not any(STERILE in need.features and len(need.features) > 1 for need in needs):
        return ()
    return tuple(one for one in offered if one.declaration and _offer(one).features == frozenset({STERILE}))


def _refuse_nobody(needs: Sequence[Need], groups: Sequence[WorkerGroup]) -> None:
    if not groups and not any(need.obligation for need in needs):
        raise BadInput(
            what="Nobody has a running post in these areas, and nothing has to be in stock anyway.",
            why="There is no one to choose products for.",
            todo="Choose other areas, or tick what must be in stock.",
        )


def _refuse_nothing(offered: Sequence[ProductRecord]) -> None:
    if not offered:
        raise BadInput(
            what="No product can be chosen: none is kept, or none of this kind has a price.",
            why="A set is chosen among the products of this site.",
            todo="Add products and their prices, or ask for the fewest products instead.",
        )


def _refuse_staying_unpriced(unpriced: Iterable[ProductRecord], asked: Asked) -> None:
    names = ", ".join(one.product.name for one in unpriced if one.product.code in asked.stay)
    if names:
        raise BadInput(
            what=f"No price is kept for what must stay: {names}.",
            why="Without it nobody can say which products are the cheapest.",
            todo="Set a price, or ask for the fewest products instead.",
        )
