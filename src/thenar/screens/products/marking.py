"""What is known of each stretch of a declaration? The text as written, in pieces, with numbered notes."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from typing import TypeVar

from django.urls import reverse

from thenar.allergy.declared import Declaration, Ingredient
from thenar.allergy.excluded_links import Links
from thenar.allergy.excluded_signs import allergen_sign, finding_sign, umbrella_sign
from thenar.allergy.misprints import Misprint
from thenar.allergy.product import Product
from thenar.allergy.verdict_signs import Sight, Sightings
from thenar.knowledge import Book, Citation
from thenar.knowledge.allergens import Allergen, Cited, Umbrella
from thenar.records.judging import names_of
from thenar.screens.products.wording import group_in_words

ALLERGEN, UMBRELLA, UNREAD, INGREDIENT, REMARK = "allergen", "umbrella", "unread", "ingredient", "remark"
DOUBTFUL, MAY_NAME = "doubtful", "may-name"
Place = tuple[int, int]
Known = TypeVar("Known", Allergen, Umbrella)
_STRONGEST_FIRST = (UNREAD, ALLERGEN, MAY_NAME, DOUBTFUL, UMBRELLA, INGREDIENT, REMARK)


@dataclass(frozen=True, slots=True)
class Told:
    """One sentence of a note, with the entry and the source behind it (empty: the label itself)."""

    says: str
    source_label: str = ""
    entry: str = ""
    url: str = ""


@dataclass(frozen=True, slots=True)
class Note:
    """What is known of one or more stretches of the text that bear its number."""

    number: int
    kind: str
    title: str
    told: tuple[Told, ...]


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece of the text of which one thing is known. `notes` are the numbers that stand after it."""

    text: str
    kind: str = ""
    notes: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Row:
    """An ingredient in its place, and the numbers of what is known of it."""

    ingredient: Ingredient
    kind: str
    notes: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Marked:
    """A declaration as read: its pieces joined are the text, letter for letter."""

    read: Declaration
    pieces: tuple[Piece, ...]
    notes: tuple[Note, ...]
    rows: tuple[Row, ...]
    findings: tuple[Told, ...]
    material: Told | None

    @property
    def is_empty(self) -> bool:
        """Whether there is no text at all."""
        return not self.read.text.strip()


@dataclass(frozen=True, slots=True)
class _Span:
    start: int
    end: int
    kind: str
    notes: tuple[int, ...] = ()


@dataclass(slots=True)
class _Notes:
    """Numbers notes in the order in which the text first needs them."""

    book: Book
    kept: dict[tuple[str, str], Note] = field(default_factory=dict)

    def number(self, kind: str, key: str, title: str, told: Iterable[Told]) -> int:
        """The number of a note; the same for the same thing wherever it stands."""
        if (kind, key) not in self.kept:
            self.kept[kind, key] = Note(len(self.kept) + 1, kind, title, tuple(told))
        return self.kept[kind, key].number


@dataclass(frozen=True, slots=True)
class _Found:
    """What stands at each place of the text, the strongest kind first."""

    named: Mapping[Place, list[Allergen]]
    perhaps: Mapping[Place, list[Allergen]]
    misprints: Mapping[Place, list[Misprint]]
    umbrellas: Mapping[Place, list[Umbrella]]


def mark(product: Product, book: Book, misprints: Iterable[Misprint] = ()) -> Marked:
    """Mark a declaration with what its names mean, by the same look at it that a verdict takes.

    `misprints` are what nobody has settled yet: they are marked as doubtful.
    """
    read = product.declaration
    seen = Sight(Links(book.allergens), names_of(book)).of(product)
    found = _Found(
        named=_by_place(_allergens(seen, book, two_readings=False)),
        perhaps=_by_place(_allergens(seen, book, two_readings=True)),
        umbrellas=_by_place(
            (sighting.ingredient, umbrella)
            for umbrella in book.allergens.umbrellas
            for sighting in seen.get(umbrella_sign(umbrella.id), ())
        ),
        misprints=_misprints_by_place(misprints),
    )
    notes, spans, rows = _Notes(book), [], []
    places = {(one.start, one.end): one for one in reversed(read.ingredients)}
    stretches = sorted([*places, *((one.start, one.end) for one in read.unread)])
    why = {(one.start, one.end): one.why for one in read.unread}
    for place in dict.fromkeys(stretches):
        if place in why:
            number = notes.number(UNREAD, why[place], "Not read", [Told(why[place])])
            spans.append(_Span(*place, UNREAD, (number,)))
        if place in places:
            row = _row(places[place], found, notes)
            spans.append(_Span(*place, row.kind, row.notes))
            rows.append(row)
    spans += [_Span(one.start, one.end, REMARK) for one in read.remarks]
    findings = tuple(
        _told(one.says, one.id, one.cited, book)
        for one in book.allergens.findings
        if finding_sign(one.id, declared=True) in seen or finding_sign(one.id, declared=False) in seen
    )
    return Marked(
        read,
        tuple(_pieces(read.text, spans)),
        tuple(notes.kept.values()),
        tuple(rows),
        findings,
        _material(product, book),
    )


def _material(product: Product, book: Book) -> Told | None:
    """What gloves of this material may hold; None for anything else, or where nobody knows the material."""
    known = book.allergens.materials.get(product.glove.material) if product.glove else None
    return _told(f"{known.name} gloves: {known.says}", known.entry, known.cited, book) if known else None


def _allergens(
    seen: Sightings, book: Book, *, two_readings: bool
) -> Iterator[tuple[Ingredient | None, Allergen]]:
    """What is named for certain; or else what a lost comma may hide."""
    for allergen in book.allergens.allergens.values():
        for sighting in seen.get(allergen_sign(allergen.id), ()):
            if sighting.is_two_readings is two_readings:
                yield sighting.ingredient, allergen


def _misprints_by_place(misprints: Iterable[Misprint]) -> Mapping[Place, list[Misprint]]:
    places: dict[Place, list[Misprint]] = defaultdict(list)
    for one in misprints:
        places[one.ingredient.start, one.ingredient.end].append(one)
    return places


def _by_place(found: Iterable[tuple[Ingredient | None, Known]]) -> Mapping[Place, list[Known]]:
    places: dict[Place, dict[str, Known]] = {}
    for ingredient, one in found:
        if ingredient is not None:
            places.setdefault((ingredient.start, ingredient.end), {})[one.id] = one
    return {place: list(each.values()) for place, each in places.items()}


def _row(ingredient: Ingredient, found: _Found, notes: _Notes) -> Row:
    place, book = (ingredient.start, ingredient.end), notes.book
    noted: list[tuple[str, int]] = []
    for named in found.named.get(place, ()):
        noted.append((ALLERGEN, notes.number(ALLERGEN, named.id, named.name, _of_allergen(named, book))))
    for perhaps in found.perhaps.get(place, ()):
        title = f"May name {perhaps.name}: perhaps two names whose comma was lost"
        noted.append((MAY_NAME, notes.number(MAY_NAME, perhaps.id, title, _of_allergen(perhaps, book))))
    if misprints := found.misprints.get(place, ()):
        noted.append((DOUBTFUL, _of_misprints(ingredient, misprints, notes)))
    for umbrella in found.umbrellas.get(place, ()):
        title = f"“{ingredient.written}” may hide others"
        noted.append((UMBRELLA, notes.number(UMBRELLA, umbrella.id, title, _of_umbrella(umbrella, book))))
    kind = noted[0][0] if noted else INGREDIENT
    return Row(ingredient, kind, tuple(number for _, number in noted))


def _of_misprints(ingredient: Ingredient, misprints: Iterable[Misprint], notes: _Notes) -> int:
    near = " or ".join(dict.fromkeys(one.near_to for one in misprints))
    says = f"It may be a misprint of {near}. Nobody has settled it yet."
    return notes.number(
        DOUBTFUL, ingredient.written, f"“{ingredient.written}” may be misprinted", [Told(says)]
    )


def _of_allergen(one: Allergen, book: Book) -> Iterator[Told]:
    known_from = f" Known from: {', '.join(one.found_in)}." if one.found_in else ""
    says = f"Group: {group_in_words(one.group)}.{known_from}"
    yield _told(says, one.entry, one.identity, book)
    table = book.allergens.allergens
    if one.releases and one.releases_cited:
        given_off = ", ".join(table[id_].name for id_ in one.releases if id_ in table)
        yield _told(f"Gives off {given_off}.", one.entry, one.releases_cited, book)
    for impurity in book.allergens.impurities:
        if impurity.comes_with == one.id:
            along = table[impurity.allergen].name if impurity.allergen in table else impurity.allergen
            yield _told(f"{along} may come with it. {impurity.says}", impurity.id, impurity.cited, book)


def _of_umbrella(one: Umbrella, book: Book) -> Iterator[Told]:
    groups = ", ".join(group_in_words(group) for group in one.hides_groups)
    yield _told(f"{one.says}{f' Groups: {groups}.' if groups else ''}", one.id, one.cited, book)


def _told(says: str, entry: str, cited: Cited, book: Book) -> Told:
    url = reverse("rule", kwargs={"key": entry}) if entry in book.entries else ""
    return Told(
        says,
        Citation(cited.source, book.sources[cited.source], cited.locator, cited.known_as).label,
        entry,
        url,
    )


def _pieces(text: str, spans: Iterable[_Span]) -> Iterator[Piece]:
    """The text cut wherever a span begins or ends; of spans that overlap the strongest kind is shown."""
    coming = sorted(spans, key=lambda span: span.start)
    cuts = sorted({0, len(text), *(one.start for one in coming), *(one.end for one in coming)})
    running: list[_Span] = []
    at = 0
    for start, end in pairwise(cuts):
        while at < len(coming) and coming[at].start <= start:
            running.append(coming[at])
            at += 1
        running = [one for one in running if one.end > start]
        kind = next((each for each in _STRONGEST_FIRST if any(one.kind == each for one in running)), "")
        notes = dict.fromkeys(number for one in running if one.end == end for number in one.notes)
        yield Piece(text[start:end], kind, tuple(notes))
