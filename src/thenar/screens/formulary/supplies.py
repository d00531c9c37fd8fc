"""What do supplies need to know of a proposal? Products and areas, nothing of anyone's health."""

from collections.abc import Iterable, Mapping, Sequence

from thenar.records.models.products import CATEGORIES
from thenar.screens.formulary.kept import KeptAnswer, KeptProduct


def for_supplies(areas: Sequence[Mapping[str, str]], answer: KeptAnswer) -> tuple[str, ...]:
    """The text, line by line: no number of workers, no pattern, no reason."""
    by_code = {one.code: one for one in answer.products}
    against = answer.formulary.against_present
    new = frozenset(against.add) if against else frozenset()
    chosen = [by_code[code] for code in answer.formulary.products]
    return (
        f"Products to hold for: {', '.join(area['name'] for area in areas)}.",
        *_by_category(chosen, new),
        "Whatever else stands there stays as it is until somebody says otherwise.",
    )


def _by_category(products: Iterable[KeptProduct], new: frozenset[str]) -> Iterable[str]:
    kept = sorted(products, key=lambda one: one.name)
    for key, label in CATEGORIES:
        names = [_named(one, one.code in new) for one in kept if one.category == key]
        if names:
            yield f"{label}: {'; '.join(names)}."


def _named(product: KeptProduct, is_new: bool) -> str:
    return f"{product.name}, {product.code}{' (new there)' if is_new else ''}"
