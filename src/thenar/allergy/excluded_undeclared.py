"""Where may something to avoid show on a product: by name, or without one?"""

from collections.abc import Iterator

from thenar.allergy.declared import ListKind
from thenar.allergy.excluded_links import GLOVE, Links
from thenar.allergy.excluded_signs import (
    COLOURED,
    NO_MATERIAL,
    UNREAD,
    Sign,
    allergen_sign,
    finding_sign,
    glove_sign,
    list_sign,
    material_sign,
    umbrella_sign,
)
from thenar.allergy.excluded_targets import Target
from thenar.allergy.verdict_terms import Answer, Link, Step
from thenar.knowledge.allergens import Allergen

COLOURANTS = "glove_colourant"
# What a declaration of glove chemicals speaks of. Plasticisers, preservatives and by-products it leaves out.
ON_GLOVE_LISTS = frozenset(
    {
        "rubber_thiuram",
        "rubber_dithiocarbamate",
        "rubber_guanidine",
        "rubber_thiazole",
        "rubber_thiourea",
        "rubber_amine",
        "rubber_other",
    }
)
_GAPS = {
    ListKind.PARTIAL: "A medicine or biocide need not name everything in it.",
    ListKind.DATA_SHEET: "A safety data sheet names only what is classed as dangerous, above a threshold.",
    ListKind.GLOVE_DECLARED: "Glove chemicals were declared, but no list of ingredients.",
    ListKind.GLOVE_CLAIM: "A claim is not a list of ingredients.",
    ListKind.NOTHING: "Nothing is declared.",
}
_DECLARED = "What is declared is not always the same as what is left in the glove."

Shown = tuple[Sign, Answer, tuple[Step, ...]]


def shown_by(allergen: str, targets: tuple[Target, ...], links: Links) -> Iterator[Shown]:
    """Where the targets show: by name, and, for those to avoid, where they may be without a name.

    Other mixes are looked for by name only: unnamed, it is their parts that are in a product.
    """
    for target in targets:
        yield allergen_sign(target.found), target.answer, target.steps
    avoided = tuple(
        target
        for target in targets
        if target.answer is Answer.AVOID
        and (target.found == allergen or not links.allergen(target.found).components)
    )
    for target in avoided:
        yield from _undeclared(target, links)
    yield from _materials(allergen, links)
    yield from _gaps_in_lists(allergen, links)
    yield from _gaps_in_gloves(avoided, links)


def _named(allergen: Allergen) -> str:
    """What a product holds of it: of a mix made for testing, its parts."""
    return f"parts of {allergen.name}" if allergen.components else allergen.name


def _undeclared(target: Target, links: Links) -> Iterator[Shown]:
    """Impurities, umbrella names and published findings."""
    name = _named(links.allergen(target.found))
    for impurity in links.impurities.get(target.found, ()):
        step = Step(Link.COMES_WITH, impurity.says, impurity.id, impurity.cited.known_as)
        yield allergen_sign(impurity.comes_with), Answer.CANNOT_EXCLUDE, (step, *target.steps)
    for umbrella in links.umbrellas.get(target.found, ()):
        says = f"That name may stand for {name} without saying so."
        step = Step(Link.MAY_HIDE, says, umbrella.id, umbrella.cited.known_as)
        yield umbrella_sign(umbrella.id), Answer.CANNOT_EXCLUDE, (step, *target.steps)
    yield from _found(target, links)


def _found(target: Target, links: Links) -> Iterator[Shown]:
    """Published findings. Only one that singles out materials contradicts a list of glove chemicals."""
    on_list = links.allergen(target.found).group in ON_GLOVE_LISTS
    for finding in links.findings.get(target.found, ()):
        steps = (
            Step(Link.FOUND_UNDECLARED, finding.says, finding.id, finding.cited.known_as),
            *target.steps,
        )
        yield finding_sign(finding.id, declared=False), Answer.CANNOT_EXCLUDE, steps
        contradicts = not on_list or links.says_more_than_the_material(finding, target.found)
        answer = Answer.CANNOT_EXCLUDE if contradicts else Answer.NO_MATCH_FOUND
        yield finding_sign(finding.id, declared=True), answer, steps


def _materials(allergen: str, links: Links) -> Iterator[Shown]:
    """The glove material that is the allergen itself, for delayed and immediate allergy alike."""
    excluded = links.allergen(allergen).excludes_material
    if not excluded:
        return
    materials = links.table.materials
    latex = excluded in materials and materials[excluded].natural_latex
    for material in materials.values():
        if material.id == excluded or (latex and material.natural_latex):
            says = f"The glove is made of {material.name}."
            step = Step(Link.MATERIAL, says, material.entry, material.cited.known_as)
            yield material_sign(material.id), Answer.AVOID, (step,)
    says = "What the glove is made of is not known: it may be the very material the allergy is to."
    yield material_sign(NO_MATERIAL), Answer.CANNOT_EXCLUDE, (Step(Link.MATERIAL, says),)


def _gaps_in_lists(allergen: str, links: Links) -> Iterator[Shown]:
    """What a list left unsaid, or could not be read.

    An allergy to a glove material is looked for by name outside gloves: there a gap only brings a caution.
    """
    answer = Answer.NO_MATCH_FOUND if links.allergen(allergen).excludes_material else Answer.CANNOT_EXCLUDE
    for kind, says in _GAPS.items():
        yield list_sign(kind), answer, (Step(Link.LIST_INCOMPLETE, says),)
    unread = Step(Link.UNREAD, "Part of the text could not be read, and may name anything.")
    yield UNREAD, Answer.CANNOT_EXCLUDE, (unread,)


def _gaps_in_gloves(avoided: tuple[Target, ...], links: Links) -> Iterator[Shown]:
    """What a glove may hold beyond its declaration. The very material of a glove is no gap in its list."""
    chemicals = links.glove_chemicals[NO_MATERIAL]
    for target in avoided:
        found = links.allergen(target.found)
        if found.excludes_material:
            continue
        if target.found in chemicals:
            yield from _held_by_materials(target, links)
        elif GLOVE in found.found_in:
            yield from _found_in_gloves(target, links)
        if found.group == COLOURANTS:
            says = f"Gloves not known to be uncoloured may be coloured with {found.name}."
            step = Step(Link.LIST_INCOMPLETE, says, found.entry, found.identity.known_as)
            yield COLOURED, Answer.CANNOT_EXCLUDE, (step, *target.steps)
    says = "No full list of what the glove holds was seen: it was looked for among what was named."
    for id_ in links.glove_chemicals:
        for declared in (True, False):
            step = Step(Link.LIST_INCOMPLETE, says)
            yield glove_sign(id_, declared=declared), Answer.NO_MATCH_FOUND, (step,)


def _held_by_materials(target: Target, links: Links) -> Iterator[Shown]:
    """By material. A list of glove chemicals leaves some out, and tells nothing of what is left of them."""
    found = links.allergen(target.found)
    on_list = found.group in ON_GLOVE_LISTS
    for id_, held in links.glove_chemicals.items():
        if target.found in held:
            material = links.table.materials.get(id_)
            entry, known_as = (
                (material.entry, material.known_to_hold(found.group)) if material else ("", None)
            )
            made_of = f"{material.name} gloves" if material else "Gloves of a material not known"
            may_hold = f"{made_of} may hold {_named(found)}"
            says = f"{may_hold}, and no list of what was used rules it out."
            open_list = Step(Link.LIST_INCOMPLETE, says, entry, known_as)
            yield glove_sign(id_, declared=False), Answer.CANNOT_EXCLUDE, (open_list, *target.steps)
            says = f"{may_hold}. {_DECLARED}" if on_list else f"{may_hold}, which such lists leave out."
            answer = Answer.NO_MATCH_FOUND if on_list else Answer.CANNOT_EXCLUDE
            declared = Step(Link.LIST_INCOMPLETE, says, entry, known_as)
            yield glove_sign(id_, declared=True), answer, (declared, *target.steps)


def _found_in_gloves(target: Target, links: Links) -> Iterator[Shown]:
    """Whatever the material: the table knows it from gloves, and no material accounts for it."""
    found = links.allergen(target.found)
    says = f"{found.name} has been found in gloves, and declarations of glove chemicals seldom speak of it."
    step = Step(Link.LIST_INCOMPLETE, says, found.entry)
    for id_ in links.glove_chemicals:
        for declared in (True, False):
            yield glove_sign(id_, declared=declared), Answer.CANNOT_EXCLUDE, (step, *target.steps)
