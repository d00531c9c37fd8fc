"""Products, stock and sensitised workers as tests put them up. The texts are made up from real INCI names."""

from datetime import date
from typing import Any

from tests.conftest import NOW, TODAY, House, make_worker
from thenar.knowledge import Book
from thenar.records.actions.products import Declared, add_product, declare_product
from thenar.records.actions.stock import stock_product
from thenar.records.models import (
    Area,
    Product,
    ProductConcern,
    ProductDeclaration,
    Sensitisation,
    Stock,
    Worker,
)

MILD = "Aqua, Sodium Laureth Sulfate, Glycerin, Citric Acid"
WITH_MIT = "Aqua, Sodium Laureth Sulfate, Glycerin, Methylisothiazolinone"
MIT = "methylisothiazolinone"
FULL = "full ingredient list"


def add(house: House, code: str = "S1", category: str = "soap", **other: Any) -> Product:
    facts = {"name": f"Product {code}", "by": house.alice, "now": NOW} | other
    return add_product(code=code, category=category, **facts)


def declare(
    house: House, book: Book, product: Product, text: str = MILD, from_on: date = TODAY, **other: Any
) -> ProductDeclaration:
    declared = Declared(**{"list_kind": FULL, "text": text} | other)
    return declare_product(
        product=product, from_on=from_on, declared=declared, book=book, by=house.alice, now=NOW
    )


def stock(
    house: House,
    book: Book,
    product: Product,
    area: Area,
    *days: date,
) -> Stock:
    """Stock it from a day on, until another if that is given; from today on without either."""
    from_on, until_on = {0: (TODAY, None), 1: (*days, None), 2: days}[len(days)]
    return stock_product(
        product=product, area=area, from_on=from_on, until_on=until_on, book=book, by=house.alice, now=NOW
    )


def sensitised(house: House, name: str, number: str, area: Area, allergen: str = MIT) -> Worker:
    worker = make_worker(name, number, area, house.nurse)
    sensitise(house, worker, allergen)
    return worker


def sensitise(house: House, worker: Worker, allergen: str = MIT, **other: Any) -> Sensitisation:
    facts = {"strength": "++", "basis": "letter", "found_on": TODAY, "edition": "a test", "at": NOW}
    return Sensitisation.objects.create(worker=worker, allergen=allergen, by=house.alice, **facts | other)


def raised() -> set[tuple[str, str, str, str, str]]:
    """Every concern: who, which product, where, why, and the answer."""
    return {
        (one.worker.given_name, one.product.code, one.area.name, one.because, one.answer)
        for one in ProductConcern.objects.select_related("worker", "product", "area")
    }
