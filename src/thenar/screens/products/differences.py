"""What changed from one declaration to the next?"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from thenar.allergy.declared import Declaration, Ingredient, ListKind
from thenar.allergy.product import GloveFacts
from thenar.records.actions.products import Declared
from thenar.records.judging import glove_of, read_as
from thenar.records.models import ProductDeclaration
from thenar.screens.products.wording import yes_or_no

_GLOVE = (("sterile", "sterile"), ("coloured", "coloured"), ("powdered", "powdered"))


@dataclass(frozen=True, slots=True)
class Difference:
    """Ingredients that came and went, as written, and whatever else changed, in words."""

    added: tuple[str, ...]
    removed: tuple[str, ...]
    other: tuple[str, ...]

    @property
    def is_empty(self) -> bool:
        """Whether nothing changed that a verdict rests on."""
        return not (self.added or self.removed or self.other)


@dataclass(frozen=True, slots=True)
class Chapter:
    """One declaration among a product's, and what it changed of the one before; None for the first."""

    declaration: ProductDeclaration
    ingredients: int
    difference: Difference | None
    standing: str


def chapters(
    declarations: Sequence[ProductDeclaration], in_force: ProductDeclaration | None
) -> tuple[Chapter, ...]:
    """A product's declarations, newest first, each held against the one before."""
    before = (*declarations, None)[1:]
    return tuple(
        Chapter(
            one,
            len(read_as(one.text, ListKind(one.list_kind)).ingredients),
            difference(as_declared(earlier), as_declared(one)) if earlier else None,
            _standing(one, in_force),
        )
        for one, earlier in zip(declarations, before, strict=True)
    )


def difference(before: Declared, after: Declared) -> Difference:
    """What changed. An ingredient is the same as long as one of its names is."""
    was, now = _read(before), _read(after)
    return Difference(
        added=_not_in(was, now.ingredients),
        removed=_not_in(now, was.ingredients),
        other=tuple(_other(before, after)),
    )


def as_declared(kept: ProductDeclaration) -> Declared:
    """A kept declaration as it would be given anew."""
    return Declared(
        list_kind=kept.list_kind,
        text=kept.text,
        glove=glove_of(kept),
        virucidal=kept.virucidal,
        leave_on=kept.leave_on,
        read_from=kept.read_from,
    )


def _read(declared: Declared) -> Declaration:
    return read_as(declared.text, ListKind(declared.list_kind))


def _not_in(read: Declaration, ingredients: Iterable[Ingredient]) -> tuple[str, ...]:
    names = {name for one in read.ingredients for name in one.names}
    return tuple(one.written for one in ingredients if names.isdisjoint(one.names))


def _other(before: Declared, after: Declared) -> Iterable[str]:
    pairs = [("kind of list", before.list_kind, after.list_kind)]
    pairs += [
        ("kills viruses too", yes_or_no(before.virucidal), yes_or_no(after.virucidal)),
        ("stays on the skin", yes_or_no(before.leave_on), yes_or_no(after.leave_on)),
        *_of_gloves(before.glove or GloveFacts(), after.glove or GloveFacts()),
    ]
    return (f"{what}: {was}, now {now}" for what, was, now in pairs if was != now)


def _of_gloves(before: GloveFacts, after: GloveFacts) -> Iterable[tuple[str, str, str]]:
    yield "material", before.material or "not known", after.material or "not known"
    yield "sizes", ", ".join(before.sizes) or "not known", ", ".join(after.sizes) or "not known"
    for name, called in _GLOVE:
        yield called, yes_or_no(getattr(before, name)), yes_or_no(getattr(after, name))


def _standing(one: ProductDeclaration, in_force: ProductDeclaration | None) -> str:
    if in_force is None or one.from_on > in_force.from_on:
        return "to come"
    return "in force" if one == in_force else "earlier"
