"""Products with what they declare, what they cost and where they stand."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction
from django.db.models import QuerySet

from thenar.allergy.verdict_terms import Answer
from thenar.knowledge import Book
from thenar.records.actions.concerns import Scope, meetings
from thenar.records.audit import note
from thenar.records.days import day_of
from thenar.records.in_force import in_force_on
from thenar.records.judging import undeclared
from thenar.records.models import (
    Area,
    Product,
    ProductConcern,
    ProductDeclaration,
    ProductPrice,
    ReadingAccepted,
    Stock,
    User,
    Worker,
)
from thenar.records.rights import Act, NotVisible, may, require


@dataclass(frozen=True, slots=True)
class ProductRecord:
    """A product with the declaration and price in force on a day, and the areas where it stands."""

    product: Product
    declaration: ProductDeclaration | None
    price: ProductPrice | None
    areas: tuple[Area, ...]


@dataclass(frozen=True, slots=True)
class ProductStory:
    """A product through time: declarations, prices and stock newest first.

    `accepted` are the accepted readings of the declaration in force. `concerns` counts what waits about it,
    without the asker's own; None for those who may not see clinical records.
    """

    product: Product
    declarations: tuple[ProductDeclaration, ...]
    in_force: ProductDeclaration | None
    prices: tuple[ProductPrice, ...]
    price: ProductPrice | None
    stock: tuple[Stock, ...]
    accepted: tuple[ReadingAccepted, ...]
    concerns: int | None


@dataclass(frozen=True, slots=True)
class AreaAvoiders:
    """Who in one area must avoid a product, and of whom it can't be excluded that they must."""

    area: Area
    avoid: tuple[Worker, ...]
    cannot_exclude: tuple[Worker, ...]


def products(*, by: User, on: date) -> tuple[ProductRecord, ...]:
    """Every product by category and name, as it is on a day, in a fixed number of questions."""
    require(by, Act.SEE_PRODUCTS)
    return records_of(Product.objects.all(), on)


def records_of(rows: Iterable[Product], on: date) -> tuple[ProductRecord, ...]:
    """These products as they are on a day."""
    kept = list(rows)
    ids = [one.pk for one in kept]
    declared: dict[int, list[ProductDeclaration]] = defaultdict(list)
    for declaration in _declarations().filter(product__in=ids):
        declared[declaration.product_id].append(declaration)
    priced: dict[int, list[ProductPrice]] = defaultdict(list)
    for price in ProductPrice.objects.filter(product__in=ids):
        priced[price.product_id].append(price)
    areas: dict[int, list[Area]] = defaultdict(list)
    for stock in Stock.objects.running_on(on).filter(product__in=ids).select_related("area"):
        areas[stock.product_id].append(stock.area)
    return tuple(
        ProductRecord(
            product=one,
            declaration=in_force_on(declared[one.pk], on),
            price=in_force_on(priced[one.pk], on),
            areas=tuple(sorted(areas[one.pk], key=lambda area: area.path)),
        )
        for one in kept
    )


def product_named(*, ref: str, by: User) -> Product:
    """The product of that reference."""
    require(by, Act.SEE_PRODUCTS)
    product = Product.objects.filter(ref=ref).first()
    if product is None:
        raise NotVisible(by=by, target="product")
    return product


def product_story(*, ref: str, by: User, on: date) -> ProductStory:
    """One product, for those who may see products."""
    product = product_named(ref=ref, by=by)
    declarations = _declarations().filter(product=product).select_related("by").order_by("-from_on", "-pk")
    prices = product.prices.select_related("by").order_by("-from_on", "-pk")
    stock = product.stock.select_related("area").order_by("-from_on", "-pk")
    now_declared = in_force_on(declarations, on)
    return ProductStory(
        product=product,
        declarations=tuple(declarations),
        in_force=now_declared,
        prices=tuple(prices),
        price=in_force_on(prices, on),
        stock=tuple(stock),
        accepted=tuple(now_declared.accepted_readings.all()) if now_declared else (),
        concerns=_concerns(product, by),
    )


def declaration_named(*, ref: str, by: User) -> ProductDeclaration:
    """The declaration of that reference."""
    require(by, Act.SEE_PRODUCTS)
    declaration = _declarations().filter(ref=ref).first()
    if declaration is None:
        raise NotVisible(by=by, target="declaration")
    return declaration


def stock_in(areas: Iterable[Area], on: date) -> tuple[ProductDeclaration, ...]:
    """What the products declare that stand in these areas or above them on a day, by category and name.

    A product without a declaration is there with a stand-in that was never stored (its `pk` is None) and
    declares nothing, so that no list leaves it out.
    """
    refs = {ref for area in areas for ref in area.path.strip("/").split("/")}
    stocked = Stock.objects.running_on(on).filter(area__ref__in=refs)
    found = records_of(Product.objects.filter(pk__in=stocked.values("product")), on)
    return tuple(one.declaration or undeclared(one.product) for one in found)


@transaction.atomic
def who_must_avoid(*, product: Product, by: User, now: datetime, book: Book) -> tuple[AreaAvoiders, ...]:
    """Who meets a product they must avoid, or may have to, by area; never the asker. The look is noted."""
    require(by, Act.SEE_CLINICAL)
    today = day_of(now)
    met = meetings(Scope(products=frozenset({product.pk})), book=book, on=today).met
    visible = Worker.objects.visible_to(by, today).in_bulk([worker for worker, _ in met])
    areas: dict[Area, dict[Answer, list[Worker]]] = defaultdict(lambda: defaultdict(list))
    for (worker_id, _), one in met.items():
        if worker_id in visible and one.answer is not Answer.NO_MATCH_FOUND:
            areas[one.area][one.answer].append(visible[worker_id])
    note("avoiders looked at", by=by, now=now, target=product.ref, why=f"{len(met)} workers")
    return tuple(
        AreaAvoiders(area, _by_name(found[Answer.AVOID]), _by_name(found[Answer.CANNOT_EXCLUDE]))
        for area, found in sorted(areas.items(), key=lambda one: one[0].path)
    )


def _declarations() -> QuerySet[ProductDeclaration]:
    return ProductDeclaration.objects.select_related("product").prefetch_related("accepted_readings")


def _concerns(product: Product, by: User) -> int | None:
    if not may(by, Act.SEE_CLINICAL):
        return None
    return (
        ProductConcern.objects.filter(product=product, outcome__isnull=True, worker__left_on__isnull=True)
        .exclude(worker__user=by)
        .count()
    )


def _by_name(workers: Iterable[Worker]) -> tuple[Worker, ...]:
    return tuple(sorted(workers, key=lambda worker: (worker.family_name, worker.given_name, worker.pk)))
