"""Joins a list of products as read, the products as kept, and the action that takes the list over."""

from collections import defaultdict
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from decimal import Decimal

from thenar.allergy.product import GloveFacts
from thenar.errors import BadInput
from thenar.exchange.problems import Problem
from thenar.exchange.product_list import ProductList, ProductRow, read_product_list
from thenar.knowledge import Book
from thenar.records.actions.product_import import Priced, ProductEntry, take_products_over
from thenar.records.actions.products import (
    Declared,
    refuse_far_off,
    refuse_unusable_declaration,
    usable_code_and_name,
)
from thenar.records.days import day_of
from thenar.records.judging import glove_of
from thenar.records.models import Area, Product, ProductDeclaration, ProductPrice, Stock, User
from thenar.records.queries.products import ProductRecord, products
from thenar.records.rights import Act, require


@dataclass(frozen=True, slots=True)
class ProductChange:
    """What a list changes of one product, and its line. `stays`: areas it is in that the list leaves out."""

    line: int
    entry: ProductEntry
    stays: tuple[str, ...]

    @property
    def is_empty(self) -> bool:
        """Whether the product is kept already just as the list has it."""
        entry = self.entry
        return bool(entry.product) and not (entry.declared or entry.price or entry.areas)


@dataclass(frozen=True, slots=True)
class DryRun:
    """What a list would change. A serious problem must be put right first."""

    listed: ProductList
    changes: tuple[ProductChange, ...]
    problems: tuple[Problem, ...]

    @property
    def added(self) -> tuple[ProductChange, ...]:
        """New products."""
        return tuple(one for one in self.changes if one.entry.product is None)

    @property
    def declared(self) -> tuple[ProductChange, ...]:
        """Products kept already whose declaration changes."""
        return tuple(one for one in self.changes if one.entry.product and one.entry.declared)

    @property
    def priced(self) -> tuple[ProductChange, ...]:
        """Products kept already whose price changes."""
        return tuple(one for one in self.changes if one.entry.product and one.entry.price)

    @property
    def stocked(self) -> int:
        """How many times a product comes to an area."""
        return sum(len(one.entry.areas) for one in self.changes)

    @property
    def unchanged(self) -> int:
        """How many products stay as they are."""
        return sum(one.is_empty for one in self.changes)


def dry_run(*, raw: bytes, name: str, by: User, now: datetime, book: Book) -> DryRun:
    """Read a list and hold it against what is kept and known; change nothing."""
    require(by, Act.WRITE_PRODUCTS)
    today, areas = day_of(now), {area.name: area for area in Area.objects.all()}
    listed = read_product_list(raw, name=name, areas=areas, materials=_materials(book))
    kept = {record.product.code.casefold(): record for record in products(by=by, on=today)}
    coming = _coming([record.product.pk for record in kept.values()], today)
    comparing = _Comparing(today, listed, areas, book)
    changes = []
    for row in listed.rows:
        record = kept.get(row.code.casefold())
        changes.append(comparing.change(row, record, coming[record.product.pk] if record else ()))
    problems = sorted([*listed.problems, *comparing.problems], key=lambda problem: problem.line)
    return DryRun(listed, tuple(changes), tuple(problems))


def refuse_unready(run: DryRun) -> None:
    """Refuse a list with a serious problem."""
    serious = sum(problem.serious for problem in run.problems)
    if serious:
        raise BadInput(
            what=f"The list has {'a problem' if serious == 1 else f'{serious} problems'} to put right.",
            why="A list is taken over whole or not at all; nothing was changed.",
            todo="Put right what is named, in the file, and read it in again.",
        )


def take_over(*, run: DryRun, by: User, now: datetime, book: Book) -> int:
    """Do what the list changes, all or nothing; how many products change.

    Raises
    ------
    BadInput
        A serious problem stands against it.
    Conflict
        What is kept has changed since the dry run, and no longer fits.
    """
    refuse_unready(run)
    changing = [one.entry for one in run.changes if not one.is_empty]
    if changing:
        take_products_over(rows=changing, book=book, by=by, now=now)
    return len(changing)


class _Comparing:
    """Holds rows against what is kept; collects what stands against taking them over."""

    def __init__(self, today: date, listed: ProductList, areas: Mapping[str, Area], book: Book) -> None:
        self.today, self.areas, self.book = today, areas, book
        self.columns = listed.columns
        self.problems: list[Problem] = []
        self.line = 0

    def change(self, row: ProductRow, kept: ProductRecord | None, coming: Collection[int]) -> ProductChange:
        """What a row changes. `coming` are ids of areas to which the product comes later as it is."""
        self.line = row.line
        from_on = row.from_on or self.today
        self._try("from_on", lambda: refuse_far_off(from_on, self.today))
        self._try("code", lambda: usable_code_and_name(row.code, row.name))
        if kept:
            self._hold_names(row, kept.product)
        listed = [self.areas[name] for name in row.areas]
        there = kept.areas if kept else ()
        new = tuple(area for area in listed if area not in there)
        if any(area.pk in coming for area in new):
            says = "The product is to come to one of these areas as it is."
            self._ask("areas", says, "Leave that area out of the cell.")
        entry = ProductEntry(
            product=kept.product if kept else None,
            code=row.code,
            name=row.name,
            category=row.category.value,
            from_on=from_on,
            declared=self._declared(row, kept),
            price=self._priced(row, kept.price if kept else None),
            areas=new,
        )
        left_out = tuple(area.name for area in there if row.areas and area not in listed)
        return ProductChange(row.line, entry, left_out)

    def _hold_names(self, row: ProductRow, product: Product) -> None:
        if row.category != product.category:
            says = f"The product with this code is a {product.category} here."
            self._ask("category", says, "Correct the code or the kind.")
        if row.name != product.name:
            says = "The product with this code has another name here, which it keeps."
            self._ask("name", says, "Look whether it is the same product.", serious=False)

    def _declared(self, row: ProductRow, record: ProductRecord | None) -> Declared | None:
        """What the list makes the product declare, if that is not what it declares as it is."""
        if row.text and row.list_kind is None:
            says = "There are ingredients, and the kind of list is not said."
            self._ask("list_kind", says, "Say how complete the list is: only a full one leaves nothing out.")
            return None
        kept = record.declaration if record else None
        if record is None and row.list_kind is None:
            says = "Nothing says what the product declares."
            todo = "Fill in ingredients and kind of list; write “nothing declared” where a label is silent."
            self._ask("text", says, todo)
            return None
        declared = _said(row, kept)
        before = _said_before(kept) if kept else Declared(list_kind="")
        if declared == replace(before, read_from=declared.read_from):
            return None
        self._try("text", lambda: refuse_unusable_declaration(row.category, declared, self.book))
        return declared

    def _priced(self, row: ProductRow, kept: ProductPrice | None) -> Priced | None:
        if row.per_worker_year is None and row.per_year is None:
            return None
        each = kept.per_worker_year if kept and row.per_worker_year is None else row.per_worker_year
        if each is None:
            says = "The cost of keeping is given, and that for each worker is not."
            self._ask("per_worker_year", says, "Give it too; 0 if there is none.")
            return None
        keeping = row.per_year if row.per_year is not None else kept.per_year if kept else Decimal(0)
        if kept and (kept.per_worker_year, kept.per_year) == (each, keeping):
            return None
        return Priced(per_worker_year=each, per_year=keeping)

    def _try(self, field: str, check: Callable[[], object]) -> None:
        try:
            check()
        except BadInput as fault:
            self._ask(field, fault.what, fault.todo)

    def _ask(self, field: str, says: str, todo: str, *, serious: bool = True) -> None:
        self.problems.append(Problem(self.line, self.columns.get(field, ""), says, todo, serious))


def _said(row: ProductRow, kept: ProductDeclaration | None) -> Declared:
    """What the row says; where it says nothing, what is kept."""
    before = _said_before(kept) if kept else Declared(list_kind="")
    glove = before.glove or GloveFacts()
    facts = GloveFacts(
        material=row.material or glove.material,
        sterile=_or(row.sterile, glove.sterile),
        sizes=row.sizes or glove.sizes,
        coloured=_or(row.coloured, glove.coloured),
        powdered=_or(row.powdered, glove.powdered),
    )
    is_new_list = bool(row.text) or row.list_kind is not None
    return Declared(
        list_kind=row.list_kind.value if row.list_kind else before.list_kind,
        text=row.text if is_new_list else before.text,
        glove=facts if facts != GloveFacts() else None,
        virucidal=_or(row.virucidal, before.virucidal),
        leave_on=_or(row.leave_on, before.leave_on),
        read_from=row.read_from,
    )


def _said_before(kept: ProductDeclaration) -> Declared:
    glove = glove_of(kept)
    return Declared(
        list_kind=kept.list_kind,
        text=kept.text.replace("\r\n", "\n").strip(),
        glove=glove if glove != GloveFacts() else None,
        virucidal=kept.virucidal,
        leave_on=kept.leave_on,
        read_from=kept.read_from,
    )


def _or(said: bool | None, kept: bool | None) -> bool | None:
    return kept if said is None else said


def _materials(book: Book) -> dict[str, str]:
    """Each name of a glove material → its id."""
    named: dict[str, str] = {}
    for material in book.allergens.materials.values():
        for name in (material.id, material.name, *material.other_names):
            named.setdefault(name, material.id)
    return named


def _coming(products: Collection[int], today: date) -> dict[int, set[int]]:
    """Product's id → ids of the areas to which it is to come."""
    found: dict[int, set[int]] = defaultdict(set)
    for row in Stock.objects.filter(product__in=products, from_on__gt=today):
        found[row.product_id].add(row.area_id)
    return found
