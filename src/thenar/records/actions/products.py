"""Records products: what they declare from which day, what they cost, what an ingredient is taken to mean."""

import unicodedata
from dataclasses import asdict, dataclass
from datetime import date, datetime
from decimal import Decimal

from django.db import IntegrityError, transaction

from thenar.allergy.declared import Declaration, ListKind
from thenar.allergy.product import Category, GloveFacts
from thenar.errors import BadInput, Conflict
from thenar.knowledge import Book
from thenar.records.actions.concerns import Scope, meetings, raise_concerns
from thenar.records.audit import note
from thenar.records.days import day_of, in_words
from thenar.records.in_force import in_force_on
from thenar.records.judging import LONGEST_WRITTEN, after_overrulings, possible_misprints, read_as
from thenar.records.models import (
    Overruling,
    Product,
    ProductDeclaration,
    ProductPrice,
    ReadingAccepted,
    User,
)
from thenar.records.models.products import CATEGORIES, LIST_KINDS
from thenar.records.rights import Act, require
from thenar.records.turns import wait_turn_at_products

LONGEST_CODE, LONGEST_NAME, LONGEST_READ_FROM, LONGEST_SIZE = 40, 160, 200, 12
MOST_SIZES = 30
MOST_YEARS = 5  # a first day further off than this, either way, is a slip
MOST_A_YEAR = Decimal("9999999.99")
_OF_GLOVES = frozenset({ListKind.GLOVE_DECLARED, ListKind.GLOVE_CLAIM})


@dataclass(frozen=True, slots=True, kw_only=True)
class Declared:
    """What a product declares, as given. None: not known. `read_from` says where it was read."""

    list_kind: str
    text: str = ""
    glove: GloveFacts | None = None
    virucidal: bool | None = None
    leave_on: bool | None = None
    read_from: str = ""


@transaction.atomic
def add_product(*, code: str, name: str, category: str, by: User, now: datetime) -> Product:
    """Keep a new product. What it declares comes separately; until then nothing can be excluded.

    Raises
    ------
    BadInput
        Code or name can't be used, or the category is none of those known.
    Conflict
        Another product has this code. Capitals make no difference.
    """
    require(by, Act.WRITE_PRODUCTS)
    code, name = usable_code_and_name(code, name)
    if category not in dict(CATEGORIES):
        raise _unusable(
            f"{category!r} is no kind of product.", f"Give one of: {', '.join(dict(CATEGORIES))}."
        )
    if _is_taken(code):
        raise _code_taken(code)
    try:
        with transaction.atomic():
            kept = Product.objects.create(code=code, name=name, category=category, at=now, by=by)
    except IntegrityError:  # somebody was quicker
        raise _code_taken(code) from None
    note("product added", by=by, now=now, target=kept.ref, data_class="C5")
    return kept


@transaction.atomic
def declare_product(
    *, product: Product, from_on: date, declared: Declared, book: Book, by: User, now: datetime
) -> ProductDeclaration:
    """Keep what a product declares from a day on, and raise a concern for whom its answer becomes worse.

    What was accepted or refused of an ingredient before stays so where the same words stand in the new text.

    Raises
    ------
    BadInput
        The declaration can't be used: nothing in it can be read, or its parts do not fit each other.
    """
    require(by, Act.WRITE_PRODUCTS)
    wait_turn_at_products([product.pk])
    since = meetings(Scope(products=frozenset({product.pk})), book=book, on=day_of(now))
    kept = keep_declaration(product=product, from_on=from_on, declared=declared, book=book, by=by, now=now)
    raise_concerns(since=since, because="declaration", book=book, by=by, now=now)
    return kept


def keep_declaration(
    *, product: Product, from_on: date, declared: Declared, book: Book, by: User, now: datetime
) -> ProductDeclaration:
    """Keep a declaration and its audit row. The caller has checked the right to it and raises concerns."""
    refuse_unusable_declaration(Category(product.category), declared, book)
    refuse_far_off(from_on, day_of(now))
    before = in_force_on(product.declarations.all(), from_on)
    kept = ProductDeclaration.objects.create(
        product=product,
        from_on=from_on,
        list_kind=declared.list_kind,
        text=declared.text,
        glove=kept_glove(declared.glove),
        virucidal=declared.virucidal,
        leave_on=declared.leave_on,
        read_from=declared.read_from.strip(),
        edition=book.edition,
        at=now,
        by=by,
    )
    accepted = _accept_again(before, kept, by, now) if before else 0
    why = f"{accepted} settled readings kept" if accepted else ""
    note("product declared", by=by, now=now, target=kept.ref, data_class="C5", why=why)
    return kept


@transaction.atomic
def price_product(
    *,
    product: Product,
    from_on: date,
    per_worker_year: Decimal,
    per_year: Decimal,
    by: User,
    now: datetime,
) -> ProductPrice:
    """Keep what a product costs from a day on."""
    require(by, Act.WRITE_PRODUCTS)
    refuse_far_off(from_on, day_of(now))
    for amount in (per_worker_year, per_year):
        refuse_unusable_amount(amount)
    kept = ProductPrice.objects.create(
        product=product, from_on=from_on, per_worker_year=per_worker_year, per_year=per_year, at=now, by=by
    )
    note("product priced", by=by, now=now, target=product.ref, data_class="C5")
    return kept


@transaction.atomic
def accept_reading(
    *, declaration: ProductDeclaration, written: str, allergen: str, book: Book, by: User, now: datetime
) -> ReadingAccepted:
    """Keep that an ingredient, as written, means an allergen; raise a concern for whom the answer is worse.

    Accepting the same again changes nothing.

    Raises
    ------
    BadInput
        The declaration has no such ingredient, or the allergen is not known.
    """
    require(by, Act.WRITE_PRODUCTS)
    wait_turn_at_products([declaration.product_id])  # a new declaration takes over what was accepted before
    written = written[:LONGEST_WRITTEN]
    if written not in _written(_read(declaration)):
        raise _unusable("The declaration has no ingredient written like that.", "Choose one from its list.")
    if allergen not in book.allergens.allergens:
        raise _unusable(f"No allergen {allergen!r} is known.", "Choose one that was suggested.")
    since = meetings(Scope(products=frozenset({declaration.product_id})), book=book, on=day_of(now))
    at = after_overrulings(Overruling.objects.filter(declaration=declaration), now)
    kept, is_new = ReadingAccepted.objects.get_or_create(
        declaration=declaration, written=written, allergen=allergen, defaults={"at": at, "by": by}
    )
    if is_new:
        note("reading accepted", by=by, now=now, target=declaration.ref, data_class="C5", why=allergen)
        raise_concerns(since=since, because="declaration", book=book, by=by, now=now)
    return kept


@transaction.atomic
def refuse_reading(
    *, declaration: ProductDeclaration, written: str, book: Book, by: User, now: datetime
) -> ReadingAccepted:
    """Keep that an ingredient, as written, means no allergen, however alike a name may be.

    What was accepted of the same words stays accepted, and accepting later takes the refusal back. Refusing
    the same again changes nothing.

    Raises
    ------
    BadInput
        Of no ingredient written like that it is asked whether it means an allergen.
    """
    require(by, Act.WRITE_PRODUCTS)
    wait_turn_at_products([declaration.product_id])
    written = written[:LONGEST_WRITTEN]
    asked = possible_misprints(declaration, book)
    if all(one.ingredient.written[:LONGEST_WRITTEN] != written for one in asked):
        raise _unusable(
            "Of no ingredient written like that it is asked whether it is a misprint.",
            "Choose one of those asked about.",
        )
    kept, is_new = ReadingAccepted.objects.get_or_create(
        declaration=declaration, written=written, allergen="", defaults={"at": now, "by": by}
    )
    if is_new:
        note("reading refused", by=by, now=now, target=declaration.ref, data_class="C5")
    return kept


def usable_code_and_name(code: str, name: str) -> tuple[str, str]:
    """Code and name as they are kept; refuse what can't be told apart or read."""
    return _line(code, "code", LONGEST_CODE), _line(name, "name", LONGEST_NAME)


def refuse_far_off(from_on: date, today: date) -> None:
    """Refuse a first day whose year is a slip."""
    if abs(from_on.year - today.year) > MOST_YEARS:
        raise _unusable(f"From {in_words(from_on)}: too far from today.", "Correct the year.")


def refuse_unusable_declaration(category: Category, declared: Declared, book: Book) -> Declaration:
    """Refuse a declaration that could only mislead; gives it as read.

    Raises
    ------
    BadInput
        Its kind of list is unknown or not one of this kind of product; text and kind contradict each other;
        nothing can be read; a character can't be kept; the glove's facts are not usable.
    """
    if declared.list_kind not in dict(LIST_KINDS):
        raise _unusable(
            f"{declared.list_kind!r} is no kind of list.", f"Give one of: {', '.join(dict(LIST_KINDS))}."
        )
    kind = ListKind(declared.list_kind)
    if kind in _OF_GLOVES and category is not Category.GLOVE:
        raise _unusable(
            f"“{kind}” is said of gloves, and this is a {category}.", "Choose another kind of list."
        )
    if unkept := control_character(declared.text):
        raise _unusable(
            f"The ingredient text holds a control character ({unkept}).", "Copy the text again, or type it."
        )
    if len(declared.read_from.strip()) > LONGEST_READ_FROM:
        raise _unusable(
            "Where it was read takes too many words.", f"Use {LONGEST_READ_FROM} characters at most."
        )
    _refuse_glove(category, declared.glove, book)
    return _read_usable(declared.text, kind)


def refuse_unusable_amount(amount: Decimal) -> None:
    """Refuse what can't be a cost of a year."""
    if not (amount.is_finite() and 0 <= amount <= MOST_A_YEAR) or round(amount, 2) != amount:
        raise _unusable(
            f"{amount} can't be a cost of a year.",
            f"Give an amount from 0 to {MOST_A_YEAR:,} with at most two decimals.",
        )


def control_character(text: str) -> str | None:
    """Name the first character of a text that no label holds and no database keeps.

    Examples
    --------
    >>> control_character("Aqua\\x00"), control_character("Aqua,\\nGlycerin")
    ('U+0000', None)
    """
    for character in text:
        if unicodedata.category(character) in {"Cc", "Cs"} and character not in "\t\r\n":
            return f"U+{ord(character):04X}"
    return None


def _read_usable(text: str, kind: ListKind) -> Declaration:
    if kind is ListKind.NOTHING and text.strip():
        raise _unusable(
            "There is an ingredient text, and the kind of list is “nothing declared”.",
            "Choose the kind of list the text is, or remove the text.",
        )
    read = read_as(text, kind)
    if kind is not ListKind.NOTHING and read.kind is ListKind.NOTHING:
        raise BadInput(
            what="No ingredient can be read from the text.",
            why="An empty text, or one from a picture, would look like a product that holds nothing.",
            todo="Type in what the label says. If it says nothing, choose “nothing declared”.",
        )
    return read


def _refuse_glove(category: Category, glove: GloveFacts | None, book: Book) -> None:
    if glove is None or glove == GloveFacts():
        return
    if category is not Category.GLOVE:
        raise _unusable(f"Facts of a glove are given, and this is a {category}.", "Leave them out.")
    if glove.material and glove.material not in book.allergens.materials:
        known = ", ".join(book.allergens.materials)
        raise _unusable(f"{glove.material!r} is no glove material known here.", f"Give one of: {known}.")
    if len(glove.sizes) > MOST_SIZES or any(not 0 < len(size) <= LONGEST_SIZE for size in glove.sizes):
        raise _unusable("The glove's sizes can't be read.", "Give sizes like 6.5 or M.")


def kept_glove(glove: GloveFacts | None) -> dict[str, object]:
    """The facts as they are kept: what nobody knows is left out."""
    facts = asdict(glove or GloveFacts())
    return {
        name: list(fact) if name == "sizes" else fact
        for name, fact in facts.items()
        if fact not in ("", (), None)
    }


def _accept_again(before: ProductDeclaration, kept: ProductDeclaration, by: User, now: datetime) -> int:
    words = _written(_read(kept))
    again = [row for row in before.accepted_readings.all() if row.written in words]
    ReadingAccepted.objects.bulk_create(
        ReadingAccepted(declaration=kept, written=row.written, allergen=row.allergen, at=now, by=by)
        for row in again
    )
    return len(again)


def _read(declaration: ProductDeclaration) -> Declaration:
    return read_as(declaration.text, ListKind(declaration.list_kind))


def _written(read: Declaration) -> frozenset[str]:
    return frozenset(one.written[:LONGEST_WRITTEN] for one in read.ingredients)


def _is_taken(code: str) -> bool:
    """Whether a product has the code, in small or capital letters. SQLite knows only those of ASCII."""
    if code.isascii():
        return Product.objects.filter(code__iexact=code).exists()
    codes = Product.objects.values_list("code", flat=True)
    return any(other.casefold() == code.casefold() for other in codes)


def _line(text: str, called: str, longest: int) -> str:
    text = unicodedata.normalize("NFC", " ".join(text.split()))
    if not text or len(text) > longest or not text.isprintable():
        raise _unusable(
            f"The {called} is empty, has over {longest} characters, or holds one that can't be seen.",
            f"Give a {called} of 1 to {longest} characters.",
        )
    return text


def _code_taken(code: str) -> Conflict:
    return Conflict(
        what=f"Another product has the code {code!r}.",
        why="Two products with one code would be taken for one another.",
        todo="Give this product another code, or look at the one that is kept.",
    )


def _unusable(what: str, todo: str) -> BadInput:
    return BadInput(
        what=what, why="From a wrong entry someone could be told to use what harms them.", todo=todo
    )
