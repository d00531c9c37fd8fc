"""Takes a list of products over: new ones, changed declarations and prices, stock; all or nothing."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from decimal import Decimal

from django.db import transaction

from thenar.knowledge import Book
from thenar.records.actions.concerns import Scope, meetings, raise_concerns
from thenar.records.actions.products import Declared, add_product, keep_declaration, price_product
from thenar.records.actions.stock import keep_stock
from thenar.records.audit import note
from thenar.records.days import day_of
from thenar.records.models import Area, Product, User
from thenar.records.rights import Act, require
from thenar.records.turns import wait_turn_at_products


@dataclass(frozen=True, slots=True, kw_only=True)
class Priced:
    """What a product costs a year, for each worker who uses it and to keep it."""

    per_worker_year: Decimal
    per_year: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class ProductEntry:
    """What a list changes of one product. `product` is None for a new one; None elsewhere: stays as it is.

    `areas` are those in which it is newly stocked.
    """

    product: Product | None
    code: str
    name: str
    category: str
    from_on: date
    declared: Declared | None = None
    price: Priced | None = None
    areas: tuple[Area, ...] = ()


@transaction.atomic
def take_products_over(
    *, rows: Sequence[ProductEntry], book: Book, by: User, now: datetime
) -> tuple[Product, ...]:
    """Do everything a list changes, or nothing; then raise a concern for whom an answer has become worse.

    What reaches a worker for the first time is raised as newly stocked, anything else as newly declared.

    Raises
    ------
    BadInput, Conflict
        As for a single product; nothing is kept then.
    """
    require(by, Act.WRITE_PRODUCTS)
    today = day_of(now)
    known = frozenset(row.product.pk for row in rows if row.product is not None)
    wait_turn_at_products(known)
    since = meetings(Scope(products=known), book=book, on=today)
    kept = [_keep(row, book, by, now) for row in rows]
    note("products read in", by=by, now=now, data_class="C5", why=f"{len(kept)} products")
    for row, product in zip(rows, kept, strict=True):
        for area in row.areas:
            keep_stock(product=product, area=area, from_on=row.from_on, until_on=None, by=by, now=now)
    since = replace(since, scope=Scope(products=frozenset(one.pk for one in kept)))  # new ones reached nobody
    raise_concerns(since=since, because="declaration", if_newly_met="stock", book=book, by=by, now=now)
    return tuple(kept)


def _keep(row: ProductEntry, book: Book, by: User, now: datetime) -> Product:
    product = row.product or add_product(code=row.code, name=row.name, category=row.category, by=by, now=now)
    if row.declared:
        keep_declaration(
            product=product, from_on=row.from_on, declared=row.declared, book=book, by=by, now=now
        )
    if row.price:
        price_product(
            product=product,
            from_on=row.from_on,
            per_worker_year=row.price.per_worker_year,
            per_year=row.price.per_year,
            by=by,
            now=now,
        )
    return product
