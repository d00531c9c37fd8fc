"""Products with what they declare, and allergies, as doors are given them; and verdicts as doors answer."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Annotated

from pydantic import ConfigDict, Field
from pydantic.dataclasses import dataclass as checked

from thenar.allergy.allergies import Allergies, Delayed, Immediate, Strength
from thenar.allergy.declarations import read_declaration
from thenar.allergy.declared import ListKind
from thenar.allergy.product import Category, GloveFacts, Product
from thenar.allergy.verdict_terms import Answer, Link, Reason, Verdict
from thenar.cli.doors import Cited, Schema, cited
from thenar.errors import BadInput
from thenar.knowledge import Book, KnownAs

STRICT = ConfigDict(extra="forbid", strict=True)
CAUTION = (
    "No match found means that no declared name matches; it does not call a product harmless. Only names "
    "exactly known decide. Local policy, the treating clinician and your own judgement decide."
)

Name = Annotated[str, Field(min_length=1, max_length=200)]


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class GloveGiven:
    """What is known of a glove itself. Leave out, or give null for, what nobody knows."""

    material: str = ""
    sterile: bool | None = None
    sizes: tuple[str, ...] = ()
    coloured: bool | None = None
    powdered: bool | None = None

    def facts(self) -> GloveFacts:
        """The facts as the computation takes them."""
        return GloveFacts(self.material, self.sterile, self.sizes, self.coloured, self.powdered)


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class ProductGiven:
    """A product with the text of its label or sheet. `list_kind` says how complete that is."""

    product: Name
    category: Category
    text: str
    list_kind: ListKind
    name: str = ""
    glove: GloveGiven | None = None
    virucidal: bool | None = None
    leave_on: bool | None = None

    def as_product(self, field: str, book: Book) -> Product:
        """The product as the computation takes it; a fault names the field."""
        self._refuse_glove(field, book)
        try:
            read = read_declaration(self.text, self.list_kind)
        except BadInput as fault:
            raise BadInput(what=f"{field}.text: {fault.what}", why=fault.why, todo=fault.todo) from None
        return Product(
            id=self.product,
            name=self.name or self.product,
            category=self.category,
            declaration=read,
            glove=self.glove.facts() if self.glove else None,
            virucidal=self.virucidal,
            leave_on=self.leave_on,
        )

    def _refuse_glove(self, field: str, book: Book) -> None:
        if self.glove is None:
            return
        if self.category is not Category.GLOVE:
            raise BadInput(
                what=f"{field}.glove: is given for a {self.category}.",
                why="Either the facts or the category belong to another product.",
                todo="Correct the category, or leave `glove` out.",
            )
        if self.glove.material and self.glove.material not in book.allergens.materials:
            raise BadInput(
                what=f"{field}.glove.material: {self.glove.material[:40]!r} is not known.",
                why="What a material may hold decides what can't be excluded.",
                todo=f"Use one of: {', '.join(book.allergens.materials)}; or leave it out if nobody knows.",
            )


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class DelayedGiven:
    """A delayed contact allergy, by the allergen's id."""

    allergen: str
    strength: Strength = Strength.NOT_KNOWN
    confirmed: bool = False


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class ImmediateGiven:
    """An immediate allergy, by the allergen's id. `severe`: a reaction of the whole body is on record."""

    allergen: str
    severe: bool = False


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class AllergiesGiven:
    """Everything one person reacts to, and what was tested without a reaction."""

    delayed: tuple[DelayedGiven, ...] = ()
    immediate: tuple[ImmediateGiven, ...] = ()
    tested_negative: tuple[str, ...] = ()

    def allergies(self, book: Book) -> Allergies:
        """The allergies as the computation takes them; a fault names the field."""
        if not self.delayed and not self.immediate:
            raise BadInput(
                what="allergies: neither a delayed nor an immediate one is given.",
                why="Every product would read as one without a match.",
                todo="Give at least one allergy.",
            )
        _refuse_unknown("allergies.delayed", [one.allergen for one in self.delayed], ".allergen", book)
        _refuse_unknown("allergies.immediate", [one.allergen for one in self.immediate], ".allergen", book)
        _refuse_unknown("allergies.tested_negative", self.tested_negative, "", book)
        return Allergies(
            delayed=frozenset(Delayed(one.allergen, one.strength, one.confirmed) for one in self.delayed),
            immediate=frozenset(Immediate(one.allergen, one.severe) for one in self.immediate),
            tested_negative=frozenset(self.tested_negative),
        )


@dataclass(frozen=True, slots=True)
class StepAnswer:
    """One step of a chain. Without `entry` it is what the label itself says."""

    link: Link
    says: str
    entry: str
    known_as: KnownAs | None


@dataclass(frozen=True, slots=True)
class ReasonAnswer:
    """One chain from what is declared to the allergy. One that answers `no match found` is a caution.

    `ingredient` is as written on the label, at `position`; null where the reason is the product as a whole.
    """

    answer: Answer
    allergen: str
    immediate: bool
    ingredient: str | None
    position: int | None
    chain: tuple[StepAnswer, ...]
    confirm: str


def products_of(given: Sequence[ProductGiven], field: str, book: Book) -> tuple[Product, ...]:
    """The products as the computation takes them.

    Raises
    ------
    BadInput
        There is none, one stands twice, or one can't be used; the field is named.
    """
    if not given:
        raise BadInput(
            what=f"{field}: is empty.", why="There is nothing to judge.", todo="Give at least one product."
        )
    seen: set[str] = set()
    for place, one in enumerate(given):
        if one.product in seen:
            raise BadInput(
                what=f"{field}.{place}.product: stands earlier in the list already.",
                why="Two answers under one name could be mistaken for each other.",
                todo="Give each product a name of its own.",
            )
        seen.add(one.product)
    return tuple(one.as_product(f"{field}.{place}", book) for place, one in enumerate(given))


def reasons_of(verdict: Verdict) -> tuple[ReasonAnswer, ...]:
    """The reasons of a verdict, the strongest first."""
    return tuple(_reason(one) for one in verdict.reasons)


def sources_of(entries: Iterable[str], book: Book) -> tuple[Cited, ...]:
    """The source of each entry, each once, in order."""
    known = (book.entries[one] for one in dict.fromkeys(entries) if one in book.entries)
    return tuple(cited(one.id, one.citation) for one in known)


def entries_of(verdicts: Iterable[Verdict]) -> Iterable[str]:
    """The entries behind every step of these verdicts."""
    return (step.entry for one in verdicts for reason in one.reasons for step in reason.steps if step.entry)


def explain_allergens(schema: Schema, book: Book) -> Schema:
    """The schema, with the id of every allergen and glove material that can be given."""
    ids = {"enum": list(book.allergens.allergens)}
    parts = schema["$defs"]
    for name in ("DelayedGiven", "ImmediateGiven"):
        parts[name]["properties"]["allergen"] |= ids
    parts["AllergiesGiven"]["properties"]["tested_negative"]["items"] |= ids
    parts["GloveGiven"]["properties"]["material"] |= {"enum": ["", *book.allergens.materials]}
    return schema


def _reason(reason: Reason) -> ReasonAnswer:
    on_label = reason.ingredient
    return ReasonAnswer(
        answer=reason.answer,
        allergen=reason.allergen,
        immediate=reason.immediate,
        ingredient=on_label.written if on_label else None,
        position=on_label.position if on_label else None,
        chain=tuple(StepAnswer(one.link, one.says, one.entry, one.known_as) for one in reason.steps),
        confirm=reason.confirm,
    )


def _refuse_unknown(field: str, given: Sequence[str], last: str, book: Book) -> None:
    for place, allergen in enumerate(given):
        if allergen not in book.allergens.allergens:
            raise BadInput(
                what=f"{field}.{place}{last}: {allergen[:60]!r} is no allergen of this edition.",
                why="An allergy that no rule knows would leave products unmarked.",
                todo="Use an id that `--schema` names, or add the allergen with its source to the knowledge.",
            )
