"""What stands on Saltmere's shelves: products, what they declare and cost, where they are. Invented."""

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from decimal import Decimal
from functools import partial
from pathlib import Path
from typing import Any

from thenar.allergy.product import GloveFacts
from thenar.demo.pen import Pen, moment, working
from thenar.demo.staff import Staff
from thenar.knowledge import Book
from thenar.records.actions.products import Declared, add_product, declare_product, price_product
from thenar.records.actions.stock import stock_product
from thenar.records.models import Area, Product, User

KNOWN_SINCE = 1000  # days: the shelves were first written down then
_SETTLED = 10  # days: what is older happened on a working day
_FILE = Path(__file__).parent / "products.toml"


@dataclass(slots=True)
class Shelves:
    """Products by their code, as far as they are known by then."""

    pen: Pen
    by: User
    today: date
    book: Book
    products: dict[str, Product] = field(default_factory=dict)

    def fill(self) -> None:
        """Everything that ever stood on a shelf, each at its day."""
        areas = {row.name: row for row in self.pen.rows[Area] if isinstance(row, Area)}
        for turn, drawn in enumerate(drawn_products()):
            days = drawn.get("days", KNOWN_SINCE)
            self.pen.act(self._at(days, 8, turn), partial(self._add, drawn))
            for later in drawn.get("later", ()):
                self.pen.act(self._at(later["days"], later["at"]), partial(self._declare, drawn | later))
            for stood in drawn.get("stock", ()):
                self.pen.act(
                    self._at(stood["days"], 10, turn),
                    partial(self._stock, drawn, stood, areas[stood["area"]]),
                )

    def _add(self, drawn: dict[str, Any], now: datetime) -> None:
        code, name, category = drawn["code"], drawn["name"], drawn["category"]
        self.products[code] = add_product(code=code, name=name, category=category, by=self.by, now=now)
        self._declare(drawn, now)
        per_worker, per_year = map(Decimal, drawn["cost"])
        price_product(
            product=self.products[code],
            from_on=now.date(),
            per_worker_year=per_worker,
            per_year=per_year,
            by=self.by,
            now=now,
        )

    def _declare(self, drawn: dict[str, Any], now: datetime) -> None:
        declare_product(
            product=self.products[drawn["code"]],
            from_on=now.date(),
            declared=_declared(drawn),
            book=self.book,
            by=self.by,
            now=now,
        )

    def _stock(self, drawn: dict[str, Any], stood: dict[str, Any], area: Area, now: datetime) -> None:
        until = stood.get("until")
        stock_product(
            product=self.products[drawn["code"]],
            area=area,
            from_on=now.date(),
            until_on=self.today - timedelta(days=until) if until else None,
            book=self.book,
            by=self.by,
            now=now,
        )

    def _at(self, days: int, hour: int, minute: int = 0) -> datetime:
        day = self.today - timedelta(days=days)
        return moment(working(day) if days > _SETTLED else day, hour, minute)


def seed_products(pen: Pen, staff: Staff, today: date, book: Book) -> Shelves:
    """Fill the shelves, through the actions."""
    shelves = Shelves(pen, staff.accounts["demo-practitioner"], today, book)
    shelves.fill()
    return shelves


def drawn_products() -> Iterator[dict[str, Any]]:
    """The products as their file describes them."""
    yield from tomllib.loads(_FILE.read_text(encoding="utf-8"))["product"]


def _declared(drawn: dict[str, Any]) -> Declared:
    glove = drawn.get("glove")
    return Declared(
        list_kind=drawn["list"],
        text=drawn["text"],
        glove=GloveFacts(**glove | {"sizes": tuple(glove["sizes"])}) if glove else None,
        virucidal=drawn.get("virucidal"),
        leave_on=drawn.get("leave_on"),
        read_from=drawn["read_from"],
    )
