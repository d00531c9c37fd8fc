"""What is kept of a search for a formulary, so that it reads the same later?"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from pydantic import TypeAdapter

from thenar.allergy.formulary_answer import Formulary, NoFormulary, Sought
from thenar.records.queries.judged import WorkerGroup
from thenar.records.queries.products import ProductRecord
from thenar.screens.formulary.question import Asked, Put


@dataclass(frozen=True, slots=True)
class KeptProduct:
    """A product as it was then."""

    code: str
    ref: str
    name: str
    category: str


@dataclass(frozen=True, slots=True)
class KeptGroup:
    """A group of workers; `members` are references of workers, of those groups only that lack something.

    `strengths`, `confirmed` and `severe` stand in the order of the allergies. Older proposals lack them.
    """

    pattern: str
    workers: int
    size: str
    delayed: tuple[str, ...]
    immediate: tuple[str, ...]
    members: tuple[str, ...] = ()
    strengths: tuple[str, ...] = ()
    confirmed: tuple[bool, ...] = ()
    severe: tuple[bool, ...] = ()
    tested_negative: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class KeptAnswer:
    """The whole answer. Products by code; `unpriced` to `let_be` as in the search."""

    formulary: Formulary
    sought: tuple[Sought, ...]
    fewest: int | None
    products: tuple[KeptProduct, ...]
    groups: tuple[KeptGroup, ...]
    unpriced: tuple[str, ...]
    no_size: tuple[str, ...]
    uncounted: tuple[str, ...]
    let_be: tuple[str, ...]

    @property
    def found(self) -> bool:
        """Whether everyone has a product for each need, within the number allowed."""
        return not self.sought and self.fewest is None


_ASKED: TypeAdapter[Asked] = TypeAdapter(Asked)
_ANSWER: TypeAdapter[KeptAnswer] = TypeAdapter(KeptAnswer)


def keep(answer: Formulary | NoFormulary, searched: Put, records: Iterable[ProductRecord]) -> KeptAnswer:
    """The answer with the names it needs to be read."""
    if isinstance(answer, NoFormulary):
        found, sought, fewest = answer.partial, answer.sought, answer.fewest
    else:
        found, sought, fewest = answer, (), None
    lacking = {one.lacking.pattern for one in sought}
    return KeptAnswer(
        formulary=_comparable(found, searched),
        sought=sought,
        fewest=fewest,
        products=tuple(_product(one) for one in records),
        groups=tuple(_group(one, one.pattern in lacking) for one in searched.groups),
        unpriced=_codes(searched.unpriced),
        no_size=_codes(searched.no_size),
        uncounted=_codes(searched.uncounted),
        let_be=_codes(searched.let_be),
    )


def asked_as_json(asked: Asked) -> dict[str, Any]:
    """What was asked as plain JSON."""
    plain: dict[str, Any] = _ASKED.dump_python(asked, mode="json")
    return plain


def asked_of(kept: Mapping[str, Any]) -> Asked:
    """What `asked_as_json` gave."""
    return _ASKED.validate_python(dict(kept))


def as_json(answer: KeptAnswer) -> dict[str, Any]:
    """The answer as plain JSON."""
    plain: dict[str, Any] = _ANSWER.dump_python(answer, mode="json")
    return plain


def answer_of(kept: Mapping[str, Any]) -> KeptAnswer:
    """What `as_json` gave."""
    return _ANSWER.validate_python(dict(kept))


def _comparable(found: Formulary, searched: Put) -> Formulary:
    """Where something stands there that was not counted, nothing is said of the cost of the present stock."""
    against = found.against_present
    if not searched.uncounted or against is None:
        return found
    return replace(found, against_present=replace(against, cost_now=None, lacking_now=()))


def _product(record: ProductRecord) -> KeptProduct:
    product = record.product
    return KeptProduct(product.code, product.ref, product.name, product.category)


def _group(group: WorkerGroup, by_name: bool) -> KeptGroup:
    delayed = sorted(group.allergies.delayed, key=lambda one: one.allergen)
    immediate = sorted(group.allergies.immediate, key=lambda one: one.allergen)
    return KeptGroup(
        pattern=group.pattern,
        workers=group.workers,
        size=group.glove_size,
        delayed=tuple(one.allergen for one in delayed),
        immediate=tuple(one.allergen for one in immediate),
        members=tuple(one.ref for one in group.members) if by_name else (),
        strengths=tuple(one.strength.value for one in delayed),
        confirmed=tuple(one.confirmed for one in delayed),
        severe=tuple(one.severe for one in immediate),
        tested_negative=tuple(sorted(group.allergies.tested_negative)),
    )


def _codes(records: Iterable[ProductRecord]) -> tuple[str, ...]:
    return tuple(one.product.code for one in records)
