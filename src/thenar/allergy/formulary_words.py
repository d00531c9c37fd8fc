"""A formulary, or what to look for where there is none, in words for whoever chooses the products."""

from collections.abc import Callable, Iterable

from thenar.allergy.formulary_answer import AgainstPresent, Formulary, Lacking, Nearly, NoFormulary, Sought

Naming = Callable[[str], str]
CAUTION = (
    "No match found means that no declared ingredient matches; it does not call a product harmless. "
    "Judge every new product before anyone uses it."
)


def as_it_is(name: str) -> str:
    """The id itself, where nobody has a better name for it."""
    return name


def say_formulary(found: Formulary, named: Naming = as_it_is) -> tuple[str, ...]:
    """What the formulary is and what changes, one line each.

    Parameters
    ----------
    found
        The formulary.
    named
        Gives a name to the id of a product, an allergen or a pattern.

    Returns
    -------
    tuple of str
        Lines for whoever chooses the products; the last is a caution.
    """
    against = found.against_present
    changes = () if against is None else _changes(against, named)
    return (_what(found, named), *changes, CAUTION)


def say_no_formulary(answer: NoFormulary, named: Naming = as_it_is) -> tuple[str, ...]:
    """Who has no product, what to look for, whom to ask, and what can be had meanwhile.

    Parameters
    ----------
    answer
        What is lacking, and the partial formulary.
    named
        Gives a name to the id of a product, an allergen or a pattern.

    Returns
    -------
    tuple of str
        Lines for whoever chooses the products; the last is a caution.
    """
    lines = [line for sought in answer.sought for line in _sought(sought, named)]
    if answer.fewest is not None:
        lines.append(f"It takes at least {_products(answer.fewest)}, more than there may be.")
    meanwhile = "For all the others: " if answer.sought else "With that many: "
    partial = say_formulary(answer.partial, named)
    return (*lines, meanwhile + partial[0], *partial[1:])


def _what(found: Formulary, named: Naming) -> str:
    cost = "cost not known" if found.cost is None else f"{found.cost.total:,.2f} a year"
    return f"{_products(len(found.chosen))}, {cost}: {_listed(found.products, named) or 'none'}."


def _changes(against: AgainstPresent, named: Naming) -> Iterable[str]:
    for what, products in (("Add", against.add), ("Drop", against.drop)):
        if products:
            yield f"{what}: {_listed(products, named)}."
    if against.cost_now is not None:
        yield f"The present stock costs {against.cost_now.total:,.2f} a year."
    for lacking in against.lacking_now:
        yield f"The present stock has nothing for {_who(lacking, named)}."


def _sought(sought: Sought, named: Naming) -> Iterable[str]:
    yield f"No product for {_who(sought.lacking, named)}."
    if sought.without:
        yield f"For {sought.lacking.need}, look for a product without: {_listed(sought.without, named)}."
    for nearly in sought.nearest:
        yield f"{named(nearly.product)} would serve if it were free of {_allergens(nearly, named)}."
    for nearly in sought.ask_maker:
        yield f"Ask the maker of {named(nearly.product)} whether it is free of {_allergens(nearly, named)}."
    if sought.banned:
        yield f"Banned, but would serve: {_listed(sought.banned, named)}."


def _who(lacking: Lacking, named: Naming) -> str:
    if lacking.pattern is None:
        return f"{lacking.need}, which must be stocked"
    workers = "1 worker" if lacking.workers == 1 else f"{lacking.workers:,} workers"
    return f"{lacking.need}: group {named(lacking.pattern)}, {workers}"


def _allergens(nearly: Nearly, named: Naming) -> str:
    return _listed(sorted(nearly.allergens), named) or "what can't be excluded"


def _listed(names: Iterable[str], named: Naming) -> str:
    return ", ".join(map(named, names))


def _products(number: int) -> str:
    return "1 product" if number == 1 else f"{number} products"
