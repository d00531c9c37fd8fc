"""The door to reading a declaration: ingredients in order, what they name, and what could not be read."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Literal

from pydantic.dataclasses import dataclass as checked

from thenar.allergy.declarations import read_declaration
from thenar.allergy.declared import Declaration, Ingredient, ListKind
from thenar.allergy.excluded_links import Links
from thenar.allergy.excluded_signs import allergen_sign, umbrella_sign
from thenar.allergy.names import Names
from thenar.allergy.product import Category, Product
from thenar.allergy.suggestions import suggest
from thenar.allergy.verdict_signs import Sight, Sighting
from thenar.cli.doors import Cited, Door
from thenar.cli.doors.products_given import STRICT, sources_of
from thenar.errors import BadInput
from thenar.knowledge import Book, KnownAs
from thenar.knowledge.allergens import Allergen

CAUTION = (
    "A label can leave out what a product holds: what comes along with an ingredient, and what a collective "
    "name stands for. A suggestion decides nothing; a person accepts it or not."
)


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class DeclarationGiven:
    """The text of a label or sheet, as it stands there; `list_kind` says how complete it is."""

    text: str
    list_kind: ListKind = ListKind.FULL


@dataclass(frozen=True, slots=True)
class Matched:
    """An allergen an ingredient names; or may name, where it may be two names whose comma was lost."""

    allergen: str
    name: str
    certainty: Literal["names", "may name"]
    entry: str
    known_as: KnownAs


@dataclass(frozen=True, slots=True)
class MayHide:
    """What an umbrella name such as `Parfum` may stand for."""

    says: str
    groups: tuple[str, ...]
    entry: str
    known_as: KnownAs


@dataclass(frozen=True, slots=True)
class Suggested:
    """A known name that is written much like an ingredient, and the allergens it would mean."""

    name: str
    allergens: tuple[str, ...]
    alike: float


@dataclass(frozen=True, slots=True)
class IngredientAnswer:
    """One ingredient. `names` are its names in normal form; `start` and `end` are its place in the text.

    `may_be_run_together` are allergens whose name begins or ends it: perhaps two names, a comma lost.
    """

    position: int
    written: str
    names: tuple[str, ...]
    start: int
    end: int
    may_contain: bool
    share: Decimal | None
    allergens: tuple[Matched, ...]
    may_hide: tuple[MayHide, ...]
    suggestions: tuple[Suggested, ...]
    may_be_run_together: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch of the text that is no ingredient, and what it is or why it could not be read."""

    start: int
    end: int
    text: str
    says: str


@dataclass(frozen=True, slots=True)
class DeclarationAnswer:
    """A declaration as read; every letter of the text lies in an ingredient, a remark or an unread stretch.

    `allergens` are those named for certain.
    `list_kind` is `nothing declared` where a list was expected and no ingredient could be read.
    """

    list_kind: ListKind
    ingredients: tuple[IngredientAnswer, ...]
    unread: tuple[Stretch, ...]
    remarks: tuple[Stretch, ...]
    allergens: tuple[str, ...]
    caution: str
    sources: tuple[Cited, ...]
    edition: str


def _compute(given: DeclarationGiven, book: Book, today: date) -> DeclarationAnswer:  # noqa: ARG001
    try:
        read = read_declaration(given.text, given.list_kind)
    except BadInput as fault:
        raise BadInput(what=f"text: {fault.what}", why=fault.why, todo=fault.todo) from None
    names, seen = Names(book.allergens), _Seen(read, book)
    ingredients = tuple(_ingredient(one, names, seen) for one in read.ingredients)
    matched = [match for one in ingredients for match in one.allergens]
    hiding = [each for one in ingredients for each in one.may_hide]
    return DeclarationAnswer(
        list_kind=read.kind,
        ingredients=ingredients,
        unread=tuple(_stretch(one.start, one.end, one.why, given.text) for one in read.unread),
        remarks=tuple(_stretch(one.start, one.end, one.says, given.text) for one in read.remarks),
        allergens=tuple(dict.fromkeys(match.allergen for match in matched if match.certainty == "names")),
        caution=CAUTION,
        sources=sources_of([*(match.entry for match in matched), *(each.entry for each in hiding)], book),
        edition=book.edition,
    )


class _Seen:
    """What each ingredient names, by the same look at it that a verdict takes."""

    def __init__(self, read: Declaration, book: Book) -> None:
        table = book.allergens
        product = Product("", "", Category.SOAP, read)  # names mean the same on any kind of product
        sightings = Sight(Links(table), Names(table)).of(product)
        self._allergens: dict[int, list[Matched]] = defaultdict(list)
        self._umbrellas: dict[int, list[MayHide]] = defaultdict(list)
        for allergen in table.allergens.values():
            seen = sightings.get(allergen_sign(allergen.id), ())
            certain = _positions(one for one in seen if not one.is_two_readings)
            for position in _positions(seen):
                self._allergens[position].append(_matched(allergen, certain=position in certain))
        for umbrella in table.umbrellas:
            for position in _positions(sightings.get(umbrella_sign(umbrella.id), ())):
                self._umbrellas[position].append(
                    MayHide(umbrella.says, umbrella.hides_groups, umbrella.id, umbrella.cited.known_as)
                )

    def named_by(self, ingredient: Ingredient) -> tuple[Matched, ...]:
        """The allergens an ingredient names."""
        return tuple(self._allergens[ingredient.position])

    def hidden_by(self, ingredient: Ingredient) -> tuple[MayHide, ...]:
        """What an ingredient may stand for besides."""
        return tuple(self._umbrellas[ingredient.position])


def _matched(allergen: Allergen, *, certain: bool) -> Matched:
    certainty: Literal["names", "may name"] = "names" if certain else "may name"
    return Matched(allergen.id, allergen.name, certainty, allergen.entry, allergen.identity.known_as)


def _positions(sightings: Iterable[Sighting]) -> list[int]:
    places = (one.ingredient.position for one in sightings if one.ingredient is not None)
    return list(dict.fromkeys(places))


def _ingredient(one: Ingredient, names: Names, seen: _Seen) -> IngredientAnswer:
    return IngredientAnswer(
        position=one.position,
        written=one.written,
        names=one.names,
        start=one.start,
        end=one.end,
        may_contain=one.may_contain,
        share=one.share,
        allergens=seen.named_by(one),
        may_hide=seen.hidden_by(one),
        suggestions=tuple(Suggested(*found) for found in suggest(one, names)),
        may_be_run_together=names.run_together(one),
    )


def _stretch(start: int, end: int, says: str, text: str) -> Stretch:
    return Stretch(start, end, text[start:end], says)


DOOR = Door("declaration", DeclarationGiven, DeclarationAnswer, _compute)
