"""Which names on a label stand for what one person reacts to? Every name, and what must be avoided along."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from thenar.allergy.allergies import Allergies, Delayed, Immediate
from thenar.allergy.excluded import Exclusion, Exclusions, RuledOut
from thenar.allergy.excluded_links import Links
from thenar.allergy.excluded_signs import allergen_sign, material_sign, umbrella_sign
from thenar.allergy.normal_form import normal_form
from thenar.allergy.verdict_terms import RANK, Answer, Link
from thenar.knowledge.allergens import Allergen, AllergenTable


@dataclass(frozen=True, slots=True)
class NamesOfOne:
    """One allergen as labels name it. `others` are all names but the first, `numbers` its CAS numbers.

    `answer` is what a label with one of them asks for; `link` says what joins it to the allergy, and is None
    for the allergen itself.
    """

    allergen: str
    name: str
    others: tuple[str, ...]
    numbers: tuple[str, ...]
    answer: Answer
    link: Link | None = None


@dataclass(frozen=True, slots=True)
class NamesToAvoid:
    """All that one allergy asks to look for on labels.

    `along` are other allergens that get an answer because of it, those to avoid first. `may_hide` are label
    names that may stand for it without saying so; `materials` glove materials to avoid, with all names.
    """

    itself: NamesOfOne
    immediate: bool
    along: tuple[NamesOfOne, ...]
    may_hide: tuple[str, ...]
    materials: tuple[str, ...]
    confirm: str = ""


def names_to_avoid(allergies: Allergies, table: AllergenTable) -> tuple[NamesToAvoid, ...]:
    """What a person looks for on labels: the same that verdicts go by, said as names.

    Parameters
    ----------
    allergies
        Everything the person reacts to.
    table
        What is known of allergens.

    Returns
    -------
    tuple of NamesToAvoid
        One for each allergy, immediate ones first. What several allergies ask for stands once, with the
        allergy that asks for most; an allergen with an allergy of its own stands there.

    Raises
    ------
    UnknownAllergen
        If an allergy names an allergen the table does not hold.

    Notes
    -----
    A label can leave out what a product holds, and makers use names that no table has. Not finding a name
    proves nothing.

    Examples
    --------
    >>> from thenar.knowledge import load
    >>> (one,) = names_to_avoid(Allergies(frozenset({Delayed("methylisothiazolinone")})), load().allergens)
    >>> one.itself.name, one.itself.others[:2], one.itself.numbers
    ('Methylisothiazolinone', ('MI', 'MIT'), ('2682-20-4',))
    """
    links = Links(table)
    ruled_out = RuledOut(links)
    everything: tuple[Delayed | Immediate, ...] = (
        *sorted(allergies.immediate, key=lambda each: each.allergen),
        *sorted(allergies.delayed, key=lambda each: each.allergen),
    )
    return _each_once(tuple(_of(each, allergies, ruled_out, links) for each in everything))


def _each_once(names: tuple[NamesToAvoid, ...]) -> tuple[NamesToAvoid, ...]:
    """Leave out what stands elsewhere with as strong an answer or a stronger: two answers would confuse."""
    strongest: dict[str, tuple[int, bool, int]] = {}
    for place, one in enumerate(names):
        for each in (one.itself, *one.along):
            here = RANK[each.answer], each is not one.itself, place
            strongest[each.allergen] = min(strongest.get(each.allergen, here), here)
    hidden: set[str] = set()
    said = []
    for place, one in enumerate(names):
        along = (each for each in one.along if strongest[each.allergen] == (RANK[each.answer], True, place))
        may_hide = tuple(name for name in one.may_hide if name not in hidden)
        said.append(replace(one, along=tuple(along), may_hide=may_hide))
        hidden.update(may_hide)
    return tuple(said)


def _of(
    allergy: Delayed | Immediate, allergies: Allergies, ruled_out: RuledOut, links: Links
) -> NamesToAvoid:
    immediate = isinstance(allergy, Immediate)
    alone = Allergies(
        immediate=frozenset({allergy}) if isinstance(allergy, Immediate) else frozenset(),
        delayed=frozenset({allergy}) if isinstance(allergy, Delayed) else frozenset(),
        tested_negative=allergies.tested_negative,
    )
    (signs,) = ruled_out.by(alone)
    itself = signs[allergen_sign(allergy.allergen)]
    along = (
        _names(each, signs[allergen_sign(each.id)], links)
        for each in links.table.allergens.values()
        if each.id != allergy.allergen and _counts(signs.get(allergen_sign(each.id)))
    )
    return NamesToAvoid(
        itself=_names(links.allergen(allergy.allergen), itself, links),
        immediate=immediate,
        along=tuple(sorted(along, key=lambda each: (RANK[each.answer], each.name.casefold()))),
        may_hide=tuple(_hiding(signs, links)),
        materials=tuple(_materials(signs, links)),
        confirm=itself.confirm,
    )


def _counts(exclusion: Exclusion | None) -> bool:
    """Whether a sign changes an answer; a mere caution does not."""
    return exclusion is not None and exclusion.answer is not Answer.NO_MATCH_FOUND


def _names(allergen: Allergen, exclusion: Exclusion, links: Links) -> NamesOfOne:
    listed = (*allergen.inci, *allergen.synonyms)
    others: dict[str, str] = {}
    for name in (*listed, *_same(listed, links)):
        others.setdefault(name.casefold(), name)
    others.pop(allergen.name.casefold(), None)
    return NamesOfOne(
        allergen=allergen.id,
        name=allergen.name,
        others=tuple(others.values()),
        numbers=allergen.cas,
        answer=exclusion.answer,
        link=exclusion.steps[0].link if exclusion.steps else None,
    )


def _same(listed: tuple[str, ...], links: Links) -> Iterator[str]:
    """Names the table holds to mean one ingredient with a listed one."""
    known = {normal_form(name) for name in listed}
    for entry in links.table.same_names:
        if not known.isdisjoint(normal_form(name) for name in entry.names):
            yield from entry.names


def _hiding(signs: Exclusions, links: Links) -> Iterator[str]:
    for umbrella in links.table.umbrellas:
        if _counts(signs.get(umbrella_sign(umbrella.id))):
            yield from umbrella.names


def _materials(signs: Exclusions, links: Links) -> Iterator[str]:
    for material in links.table.materials.values():
        exclusion = signs.get(material_sign(material.id))
        if exclusion is not None and exclusion.answer is Answer.AVOID:
            yield from {name.casefold(): name for name in (*material.other_names, material.name)}.values()
