"""Puts the allergen files together, and refuses whatever does not fit together."""

from collections import defaultdict
from collections.abc import Iterable, Iterator

from thenar.knowledge.allergens import Allergen, AllergenTable, CrossReaction, PatchSeries, Umbrella
from thenar.knowledge.files import (
    AllergensFile,
    AllergyFile,
    CrossReactionBlock,
    Named,
    SharedName,
    wrong,
)

Fault = tuple[str, str, str]
"""Key, what is wrong with it, and why that matters."""

NOTHING = "Products would be judged by something that is not there."


def build_table(files: tuple[Named, ...], allergens: dict[str, Allergen], rows: str) -> AllergenTable:
    """The table that all allergen files make up. `rows` is the name of the file the allergens come from.

    Raises
    ------
    KnowledgeError
        With file and key, for a reference to nothing, bounds the wrong way round, or a name or number of two
        allergens that is not listed as shared.
    """
    named = [(file.name, file.content) for file in files if isinstance(file.content, AllergyFile)]
    top, head = _head(files)
    contents = [content for _, content in named]
    table = AllergenTable(
        allergens=allergens,
        cross_reactions=tuple(
            pair
            for content in contents
            for block in content.cross_reaction
            for pair in pairs(block, allergens)
        ),
        umbrellas=tuple(item for content in contents for item in content.umbrella),
        impurities=tuple(item for content in contents for item in content.impurity),
        findings=tuple(item for content in contents for item in content.finding),
        same_names=tuple(item for content in contents for item in content.same_name),
        materials={item.id: item for content in contents for item in content.material},
        breakthroughs=tuple(item for content in contents for item in content.breakthrough),
        series={item.id: item for content in contents for item in content.series},
    )
    for fault in _allergen_faults(head, table):
        raise wrong(rows, *fault)
    for fault in _stale(head, table):
        raise wrong(top, *fault)
    for name, content in named:
        for fault in _faults(content, head.group, table):
            raise wrong(name, *fault)
    return table


def _head(files: Iterable[Named]) -> tuple[str, AllergensFile]:
    heads = [(file.name, file.content) for file in files if isinstance(file.content, AllergensFile)]
    if len(heads) != 1:
        names = ", ".join(name for name, _ in heads) or "no file"
        raise wrong(names, 'kind "allergens"', "must stand once", "Groups and shared names are stated there.")
    return heads[0]


def pairs(block: CrossReactionBlock, allergens: dict[str, Allergen]) -> tuple[CrossReaction, ...]:
    """Every pair a block speaks of, one direction each, nothing with itself."""
    members = [one.id for one in allergens.values() if one.group in block.found_groups]
    found = dict.fromkeys((*block.found, *members))
    return tuple(
        CrossReaction(
            id=f"cross-reaction.{tested}.{other}",
            tested=tested,
            found=other,
            grade=block.grade,
            numbers=block.numbers,
            cited=block.cited,
            eased_by_negative_test=block.eased_by_negative_test,
            avoid_if_extreme=block.avoid_if_extreme,
            note=block.note,
        )
        for tested in block.tested
        for other in found
        if other != tested
    )


def _allergen_faults(head: AllergensFile, table: AllergenTable) -> Iterator[Fault]:
    for one in table.allergens.values():
        yield from _unknown(one.id, "group", (one.group,), head.group)
        yield from _unknown(one.id, "allergen", (*one.components, *one.releases), table.allergens)
        if one.excludes_material:
            yield from _unknown(one.id, "glove material", (one.excludes_material,), table.materials)
    yield from _unlisted(_names(table), head.shared_name)
    yield from _unlisted(_numbers(table), head.shared_cas)


def _unlisted(owners: dict[str, list[str]], allowed: tuple[SharedName, ...]) -> Iterator[Fault]:
    """One name for two allergens is a slip unless it is listed."""
    listed = {_plain(one.name): sorted(one.allergens) for one in allowed}
    for name, called in owners.items():
        if len(called) > 1 and listed.get(name) != sorted(called):
            why = "A label would be read as an allergen it may not hold."
            yield name, f"is a name of {', '.join(called)}, which is not listed as shared", why


def _stale(head: AllergensFile, table: AllergenTable) -> Iterator[Fault]:
    """What is listed as shared and is not."""
    for owners, listed in ((_names(table), head.shared_name), (_numbers(table), head.shared_cas)):
        for one in listed:
            if len(owners.get(_plain(one.name), ())) < 2:
                yield one.name, "is listed as shared and is not", "The list would hide a slip."


def _names(table: AllergenTable) -> dict[str, list[str]]:
    return _owners({one.id: (one.name, *one.inci, *one.synonyms) for one in table.allergens.values()})


def _numbers(table: AllergenTable) -> dict[str, list[str]]:
    return _owners({one.id: one.cas for one in table.allergens.values()})


def _owners(names: dict[str, tuple[str, ...]]) -> dict[str, list[str]]:
    owners: dict[str, list[str]] = defaultdict(list)
    for owner, called in names.items():
        for name in dict.fromkeys(map(_plain, called)):
            owners[name].append(owner)
    return owners


def _faults(content: AllergyFile, groups: dict[str, str], table: AllergenTable) -> Iterator[Fault]:
    known: dict[str, Iterable[str]] = {
        "allergen": table.allergens,
        "group": groups,
        "glove material": table.materials,
    }
    for key, what, used in _references(content):
        yield from _unknown(key, what, used, known[what])
    yield from _doubled(content.umbrella, table)
    for passed in content.breakthrough:
        least, most = passed.least_minutes, passed.most_minutes
        if least is not None and most is not None and least > most:
            yield passed.id, "ends before it starts", "One of the two is a slip."
    for series in content.series:
        yield from _series_faults(series)


def _references(content: AllergyFile) -> Iterator[tuple[str, str, Iterable[str]]]:
    """Everything a file points at: which key, what kind of thing, and the ids."""
    for block in content.cross_reaction:
        key = f"cross-reaction.{block.tested[0]}.{block.found[0]}"
        yield key, "allergen", (*block.tested, *block.found)
        yield key, "group", block.found_groups
    for umbrella in content.umbrella:
        yield umbrella.id, "group", umbrella.hides_groups
        yield umbrella.id, "allergen", umbrella.hides
    for impurity in content.impurity:
        yield impurity.id, "allergen", (impurity.allergen, impurity.comes_with)
    for finding in content.finding:
        yield finding.id, "allergen", finding.allergens
        yield finding.id, "glove material", finding.materials
    for material in content.material:
        yield material.id, "group", material.may_hold_groups
        yield material.id, "allergen", material.may_hold
    for passed in content.breakthrough:
        yield passed.id, "glove material", (passed.material,)
    for series in content.series:
        yield series.id, "allergen", (item.allergen for item in series.items)


def _doubled(umbrellas: tuple[Umbrella, ...], table: AllergenTable) -> Iterator[Fault]:
    """What is both a name and a cover, or two covers, would be judged in two ways."""
    if not umbrellas:
        return
    taken = _names(table)
    for umbrella in umbrellas:
        for name in map(_plain, umbrella.names):
            for other in taken.get(name, ()):
                yield umbrella.id, f"shares the name {name!r} with {other}", "It would be judged twice."
            taken[name] = [umbrella.id]


def _series_faults(series: PatchSeries) -> Iterator[Fault]:
    tested = [item.allergen for item in series.items]
    if not tested:
        yield series.id, "has no items", "Nothing could be applied."
    if len(set(tested)) < len(tested):
        yield series.id, "has an allergen twice", "Its two readings could not be told apart."
    if series.until is not None and series.until < series.in_force_from:
        yield series.id, "ends before it starts", "It would never be in force."


def _unknown(key: str, what: str, used: Iterable[str], known: Iterable[str]) -> Iterator[Fault]:
    for one in used:
        if one not in known:
            yield key, f"names the {what} {one!r}, which there is not", NOTHING


def _plain(name: str) -> str:
    return " ".join(name.casefold().split())
