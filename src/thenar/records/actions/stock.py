"""Records that a product is present in an area over a period; it also serves every area beneath."""

from datetime import date, datetime

from django.db import transaction
from django.db.models import Q, QuerySet

from thenar.errors import BadInput, Conflict
from thenar.knowledge import Book
from thenar.records.actions.concerns import Scope, meetings, raise_concerns
from thenar.records.audit import note
from thenar.records.days import day_of, in_words
from thenar.records.models import Area, Product, Stock, User
from thenar.records.rights import Act, require
from thenar.records.turns import wait_turn_at_products

MOST_YEARS = 5  # a first day further off than this, either way, is a slip


@transaction.atomic
def stock_product(
    *,
    product: Product,
    area: Area,
    from_on: date,
    until_on: date | None,
    book: Book,
    by: User,
    now: datetime,
) -> Stock:
    """Keep that a product is in an area from a day on, and raise a concern for whom it is not suited.

    Raises
    ------
    BadInput
        It would end before it begins, or the year is a slip.
    Conflict
        The product is in this area already on one of these days.
    """
    require(by, Act.WRITE_PRODUCTS)
    wait_turn_at_products([product.pk])  # of two at once, the second sees the first
    since = meetings(Scope(products=frozenset({product.pk})), book=book, on=day_of(now))
    kept = keep_stock(product=product, area=area, from_on=from_on, until_on=until_on, by=by, now=now)
    raise_concerns(since=since, because="stock", book=book, by=by, now=now)
    return kept


def keep_stock(
    *, product: Product, area: Area, from_on: date, until_on: date | None, by: User, now: datetime
) -> Stock:
    """Keep a period of stock and its audit row. The caller has checked the right and raises concerns."""
    refuse_unusable_days(from_on, until_on, day_of(now))
    if _overlapping(product, area, from_on, until_on).exists():
        raise Conflict(
            what=f"The product is already in {area.name} on some of these days.",
            why="Two periods that overlap leave it unclear until when it is there.",
            todo="End the earlier period first, or choose days after it.",
        )
    kept = Stock.objects.create(product=product, area=area, from_on=from_on, until_on=until_on)
    note("product stocked", by=by, now=now, target=kept.ref, data_class="C5", why=area.ref)
    return kept


@transaction.atomic
def end_stock(*, stock: Stock, until_on: date, by: User, now: datetime) -> Stock:
    """Keep the last day on which a product is in an area. An end can come earlier than planned, never later.

    Raises
    ------
    BadInput
        It would end before it began.
    Conflict
        It has ended, or was to end, before that day.
    """
    require(by, Act.WRITE_PRODUCTS)
    kept = Stock.objects.select_for_update().get(pk=stock.pk)
    refuse_unusable_days(kept.from_on, until_on, day_of(now))
    if kept.until_on is not None and kept.until_on <= until_on:
        raise Conflict(
            what=f"This period ends on {in_words(kept.until_on)} as it is.",
            why="Who may have met the product is read from these days.",
            todo="Add a new period if the product is there again.",
        )
    kept.until_on = until_on
    kept.save(update_fields=["until_on"])
    note("stock ended", by=by, now=now, target=kept.ref, data_class="C5")
    return kept


def _overlapping(product: Product, area: Area, from_on: date, until_on: date | None) -> QuerySet[Stock]:
    """Periods of a product in an area that share a day with this one."""
    rows = Stock.objects.filter(product=product, area=area)
    rows = rows.filter(Q(until_on__isnull=True) | Q(until_on__gte=from_on))
    return rows if until_on is None else rows.filter(from_on__lte=until_on)


def refuse_unusable_days(from_on: date, until_on: date | None, today: date) -> None:
    """Refuse days that can't be those of a period of stock."""
    if until_on is not None and until_on < from_on:
        raise _unusable(
            f"It would end on {in_words(until_on)}, before it begins on {in_words(from_on)}.",
            "Correct one of the days.",
        )
    for day in (from_on, until_on):
        if day is not None and abs(day.year - today.year) > MOST_YEARS:
            raise _unusable(f"{in_words(day)} is too far from today.", "Correct the year.")


def _unusable(what: str, todo: str) -> BadInput:
    return BadInput(what=what, why="Who meets the product is read from these days.", todo=todo)
