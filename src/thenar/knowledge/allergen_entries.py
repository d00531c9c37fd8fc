"""Shows what is known of allergens as entries: each part with its source and how it is known."""

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

Shown = tuple[str, str, str, tuple[Part, ...], str]
"""Id, kind, what it says, its parts, and a note."""


def allergen_entries(named: Named, allergens: dict[str, Allergen], sources: dict[str, Source]) -> list[Entry]:
    """One entry per allergen, its identity last: that is what an entry is cited by."""
    return [
        _entry(named, (one.entry, "allergen", _allergen_says(one), _parts(one, allergens), one.note), sources)
        for one in allergens.values()
    ]


def allergy_entries(
    named: Named, content: AllergyFile, allergens: dict[str, Allergen], sources: dict[str, Source]
) -> list[Entry]:
    """One entry per item of a file of kind "allergy"."""
    shown: list[Shown] = []
    for block in content.cross_reaction:
        for pair in pairs(block, allergens):
            says = f"{_name(pair.tested, allergens)} to {_name(pair.found, allergens)}"
            shown.append((pair.id, "cross-reaction", says, ((_grade(pair), pair.cited),), pair.note))
    for umbrella in content.umbrella:
        part = (f"May stand on a label as {', '.join(umbrella.names)}.", umbrella.cited)
        shown.append((umbrella.id, "umbrella name", umbrella.says, (part,), ""))
    for impurity in content.impurity:
        part = (f"Comes with {_name(impurity.comes_with, allergens)}.", impurity.cited)
        shown.append((impurity.id, "impurity", impurity.says, (part,), ""))
    for finding in content.finding:
        held = ", ".join(_name(one, allergens) for one in finding.allergens)
        part = (f"Not declared, in a {finding.category}: {held}.", finding.cited)
        shown.append((finding.id, "finding", finding.says, (part,), ""))
    for same in content.same_name:
        says = f"{', '.join(same.names)} mean one ingredient."
        shown.append((same.id, "same name", says, ((says, same.cited),), ""))
    for material in content.material:
        part = (material.says, material.cited)
        shown.append((material.entry, "glove material", material.name, (part,), ""))
    for passed in content.breakthrough:
        shown.append((passed.id, "breakthrough", passed.says, ((_minutes(passed), passed.cited),), ""))
    for series in content.series:
        parts = _series_parts(series, allergens)
        shown.append((series.entry, "patch series", series.name, parts, series.standing))
    return [_entry(named, one, sources) for one in shown]


def _name(allergen: str, allergens: dict[str, Allergen]) -> str:
    return allergens[allergen].name if allergen in allergens else allergen


def _allergen_says(one: Allergen) -> str:
    other = [name for name in (*one.inci, *one.synonyms) if name.casefold() != one.name.casefold()]
    return f"{one.name}, also {', '.join(other)}" if other else one.name


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
    numbers = f"CAS {', '.join(one.cas)}" if one.cas else "no CAS number"
    parts.append((f"{_allergen_says(one)}; {numbers}", one.identity))
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
    """An entry whose last part carries the note."""
    key, kind, says, parts, note = shown
    head = named.content
    last = len(parts) - 1
    return Entry(
        id=key,
        kind=kind,
        says=says,
        unit="text",
        history=tuple(
            Dated(head.reviewed.on, text, citation(named, key, cited, sources), note if place == last else "")
            for place, (text, cited) in enumerate(parts)
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
