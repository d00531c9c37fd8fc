"""Shows what is known of allergens as entries: each part with its source and how it is known."""

from collections.abc import Iterator
from datetime import date
from typing import NamedTuple

from thenar.knowledge.allergen_table import pairs
from thenar.knowledge.allergens import (
    Allergen,
    Breakthrough,
    Cited,
    CrossReaction,
    PatchSeries,
    Preparation,
)
from thenar.knowledge.entries import Dated, Entry, Source
from thenar.knowledge.files import AllergyFile, Named, citation

Part = tuple[str, Cited]
"""What one part says, and where it comes from."""


class Shown(NamedTuple):
    """One item as its page shows it. The last part is what it is cited by, and carries the note."""

    key: str
    kind: str
    says: str
    parts: tuple[Part, ...]
    note: str = ""
    since: date | None = None


def allergen_entries(named: Named, allergens: dict[str, Allergen], sources: dict[str, Source]) -> list[Entry]:
    """One entry per allergen, its identity last: that is what an entry is cited by."""
    return [
        _entry(named, Shown(one.entry, "allergen", one.name, _parts(one, allergens), one.note), sources)
        for one in allergens.values()
    ]


def allergy_entries(
    named: Named, content: AllergyFile, allergens: dict[str, Allergen], sources: dict[str, Source]
) -> list[Entry]:
    """One entry per item of a file of kind "allergy"."""
    return [_entry(named, one, sources) for one in _items(content, allergens)]


def _items(content: AllergyFile, allergens: dict[str, Allergen]) -> Iterator[Shown]:
    for block in content.cross_reaction:
        for pair in pairs(block, allergens):
            yield _cross_reaction(pair, allergens)
    for umbrella in content.umbrella:
        says = f"May stand on a label as {', '.join(umbrella.names)}."
        yield Shown(umbrella.id, "umbrella name", umbrella.says, ((says, umbrella.cited),))
    for impurity in content.impurity:
        says = f"Comes with {_name(impurity.comes_with, allergens)}."
        yield Shown(impurity.id, "impurity", impurity.says, ((says, impurity.cited),))
    for finding in content.finding:
        says = f"Not declared, in a {finding.category}: {_names(finding.allergens, allergens)}."
        yield Shown(finding.id, "finding", finding.says, ((says, finding.cited),))
    for same in content.same_name:
        says = f"{', '.join(same.names)} mean one ingredient."
        yield Shown(same.id, "same name", says, ((says, same.cited),))
    for material in content.material:
        yield Shown(material.entry, "glove material", material.name, ((material.says, material.cited),))
    for passed in content.breakthrough:
        yield Shown(passed.id, "breakthrough", passed.says, ((_minutes(passed), passed.cited),))
    for series in content.series:
        parts = _series_parts(series, allergens)
        yield Shown(series.entry, "patch series", series.name, parts, series.standing, series.in_force_from)


def _cross_reaction(pair: CrossReaction, allergens: dict[str, Allergen]) -> Shown:
    says = f"{_name(pair.tested, allergens)} to {_name(pair.found, allergens)}"
    return Shown(pair.id, "cross-reaction", says, ((_grade(pair), pair.cited),), pair.note)


def _name(allergen: str, allergens: dict[str, Allergen]) -> str:
    return allergens[allergen].name if allergen in allergens else allergen


def _identity(one: Allergen) -> str:
    other = [name for name in (*one.inci, *one.synonyms) if name.casefold() != one.name.casefold()]
    numbers = f"CAS {', '.join(one.cas)}" if one.cas else "no CAS number"
    return f"Also called {', '.join(other)}; {numbers}" if other else numbers


def _parts(one: Allergen, allergens: dict[str, Allergen]) -> tuple[Part, ...]:
    parts: list[Part] = []
    if one.preparation:
        parts.append((f"Tested at {prepared(one.preparation)}", one.preparation.cited))
    if one.irritant_preparation:
        parts.append(("Its test preparation is an irritant", one.irritant_preparation))
    if one.releases_cited:
        parts.append((f"Gives off {_names(one.releases, allergens)}", one.releases_cited))
    if one.components_cited:
        parts.append((f"Made up of {_names(one.components, allergens)}", one.components_cited))
    parts.append((_identity(one), one.identity))
    return tuple(parts)


def _names(ids: tuple[str, ...], allergens: dict[str, Allergen]) -> str:
    return ", ".join(_name(one, allergens) for one in ids)


def prepared(preparation: Preparation) -> str:
    """Concentration and vehicle: `5 % pet`."""
    return f"{preparation.concentration} {preparation.vehicle}".strip()


def _grade(pair: CrossReaction) -> str:
    extreme = "; avoid after a +++ reaction" if pair.avoid_if_extreme else ""
    eased = "; may be used once it tests negative" if pair.eased_by_negative_test else ""
    return f"{pair.grade}{extreme}{eased}" + (f": {pair.numbers}" if pair.numbers else "")


def _minutes(passed: Breakthrough) -> str:
    least, most = passed.least_minutes, passed.most_minutes
    if least is None:
        return "minutes not known" if most is None else f"up to {most} minutes"
    if most is None:
        return f"{least} minutes or more"
    return f"{least} minutes" if least == most else f"{least} to {most} minutes"


def _series_parts(series: PatchSeries, allergens: dict[str, Allergen]) -> tuple[Part, ...]:
    items = tuple(
        (f"{_name(item.allergen, allergens)} {prepared(item.preparation)}", item.preparation.cited)
        for item in series.items
    )
    return (*items, (f"{len(items)} preparations", series.cited))


def _entry(named: Named, shown: Shown, sources: dict[str, Source]) -> Entry:
    head = named.content
    last = len(shown.parts) - 1
    return Entry(
        id=shown.key,
        kind=shown.kind,
        says=shown.says,
        unit="text",
        history=tuple(
            Dated(
                shown.since or head.reviewed.on,
                text,
                citation(named, shown.key, cited, sources),
                shown.note if place == last else "",
            )
            for place, (text, cited) in enumerate(shown.parts)
        ),
        other_views=(),
        why_in_use="",
        file=named.name,
        file_title=head.title,
        why_it_matters=head.why_it_matters,
        reviewed_by=head.reviewed.by,
        reviewed_on=head.reviewed.on,
        review_due=head.reviewed.due,
    )
