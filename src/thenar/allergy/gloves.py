"""Which gloves fit a task and a person: tier, allergies, material, and chemicals passing through?"""

from collections.abc import Iterator, Sequence
from datetime import date

from thenar.allergy.allergies import Allergies
from thenar.allergy.declared import ListKind
from thenar.allergy.glove_passage import passage
from thenar.allergy.glove_terms import GloveChoice, GloveTask, Note, Passing, Tier, Topic
from thenar.allergy.product import Category, GloveFacts, Product
from thenar.allergy.verdict import Judge
from thenar.allergy.verdict_terms import RANK, Verdict
from thenar.errors import BadInput
from thenar.knowledge import Book
from thenar.knowledge.allergens import AllergenTable
from thenar.knowledge.entries import KnownAs

SHARE, WITHIN, RUB = "glove-facts.release.share", "glove-facts.release.within", "glove-facts.release.rub"
GUANIDINES = "rubber_guanidine"
_NO_FACTS = GloveFacts()
_PASSING_RANK = {Passing.SHORTER: 0, Passing.NOT_KNOWN: 1, Passing.MAY_COME_THROUGH: 2}


class NotAGlove(BadInput):
    """A product that is no glove was offered as one."""

    def __init__(self, product: Product) -> None:
        super().__init__(
            what=f"Product {product.id!r} is a {product.category}, not a glove.",
            why="Tier, material and breakthrough mean nothing for it.",
            todo="Leave it out, or correct its category.",
        )


def choose_gloves(
    task: GloveTask,
    gloves: Sequence[Product],
    allergies: Allergies,
    judge: Judge,
    book: Book,
    *,
    on: date,
) -> tuple[GloveChoice, ...]:
    """Every glove with its verdict and reasons, the best fit first. None is left out: a person chooses.

    Parameters
    ----------
    task
        What the gloves are wanted for.
    gloves
        Products of the category glove.
    allergies
        Everything the person reacts to.
    judge
        The judge whose table and names are used.
    book
        The knowledge that holds what is published of release from gloves.
    on
        Day whose values are used.

    Returns
    -------
    tuple of GloveChoice
        Sorted by: tier not failed, answer of the verdict, sterility known, what may pass, product id.

    Raises
    ------
    NotAGlove
        If another product is among them.
    UnknownAllergen
        If an allergy names an allergen the table does not hold.

    Notes
    -----
    A claim to be free of accelerators proves nothing. Permeation times are published for few gloves and
    chemicals; whatever is not known is said to be not known. Local policy and the glove maker's data decide.
    """
    released = _on_release(task, book, on)
    choices = (_choice(task, each, judge.judge(each, allergies), judge.table, released) for each in gloves)
    return tuple(sorted(choices, key=_fit))


def _choice(
    task: GloveTask, glove: Product, verdict: Verdict, table: AllergenTable, released: tuple[Note, ...]
) -> GloveChoice:
    if glove.category is not Category.GLOVE:
        raise NotAGlove(glove)
    facts = glove.glove or _NO_FACTS
    passages = tuple(passage(each, facts.material, table) for each in task.contacts)
    notes = (
        *_on_tier(task, facts),
        _on_material(facts, table),
        _on_declaration(glove),
        *_on_looks(facts),
        *_on_wearing(task),
        *(released if _may_hold_guanidines(facts, table) else ()),
    )
    return GloveChoice(glove, verdict, _tier_met(task, facts), passages, notes)


def _fit(choice: GloveChoice) -> tuple[bool, int, bool, int, str]:
    worst = max((_PASSING_RANK[each.passing] for each in choice.passages), default=0)
    answer = -RANK[choice.verdict.answer]
    return choice.tier_met is False, answer, choice.tier_met is None, worst, choice.product.id


def _tier_met(task: GloveTask, facts: GloveFacts) -> bool | None:
    return facts.sterile if task.tier is Tier.STERILE else True


def _on_tier(task: GloveTask, facts: GloveFacts) -> Iterator[Note]:
    if task.tier is Tier.NOT_INDICATED:
        says = (
            "Gloves are not indicated for this task: without them the skin is spared, unless precautions ask."
        )
        yield Note(Topic.TIER, says, known_as=KnownAs.COMMON_PRACTICE)
    elif task.tier is Tier.STERILE and facts.sterile is not True:
        known = "This glove is not sterile" if facts.sterile is False else "Not known to be sterile"
        yield Note(Topic.TIER, f"{known}; the task calls for sterile gloves.")


def _on_material(facts: GloveFacts, table: AllergenTable) -> Note:
    material = table.materials.get(facts.material)
    if material is None:
        return Note(Topic.MATERIAL, "What the glove is made of is not known.")
    says = f"Made of {material.name}. {material.says}".strip()
    return Note(Topic.MATERIAL, says, material.entry, material.cited.known_as)


def _on_declaration(glove: Product) -> Note:
    named = ", ".join(each.written for each in glove.declaration.ingredients)
    kind = glove.declaration.kind
    if kind is ListKind.GLOVE_CLAIM:
        says = "Claims to be free of accelerators. A claim is no proof: ask the maker for residues measured."
    elif kind in (ListKind.GLOVE_DECLARED, ListKind.FULL) and named:
        says = f"Declared: {named}. Residues can differ from what was declared."
    else:
        says = "No list of the chemicals used. Ask the maker for it."
    return Note(Topic.DECLARATION, says)


def _on_looks(facts: GloveFacts) -> Iterator[Note]:
    if facts.coloured is not False:
        says = "Coloured" if facts.coloured else "Not known whether coloured"
        yield Note(Topic.COLOUR, f"{says}: pigments are seldom declared.", known_as=KnownAs.COMMON_PRACTICE)
    if facts.powdered is not False:
        says = "Powdered" if facts.powdered else "Not known whether powdered"
        yield Note(Topic.POWDER, f"{says}: prefer powder-free.", known_as=KnownAs.COMMON_PRACTICE)


def _on_wearing(task: GloveTask) -> Iterator[Note]:
    if task.long_or_wet is not False:
        asked = "Worn long or wet" if task.long_or_wet else "If worn long or wet"
        says = f"{asked}: think of an undyed cotton liner, changed when damp, where the task allows one."
        yield Note(Topic.LINER, says, known_as=KnownAs.COMMON_PRACTICE)


def _may_hold_guanidines(facts: GloveFacts, table: AllergenTable) -> bool:
    """What is published of release is about a guanidine. A material not known may hold it."""
    material = table.materials.get(facts.material)
    return material is None or GUANIDINES in material.may_hold_groups


def _on_release(task: GloveTask, book: Book, on: date) -> tuple[Note, ...]:
    """How much comes off early, against the pairs of a shift; and alcohol rub just before."""
    share, within = book.rule(SHARE).on(on), book.rule(WITHIN).on(on)
    pairs = "each pair" if task.pairs_per_shift is None else f"each of {task.pairs_per_shift} pairs a shift"
    percent = f"{share.amount:.0%}".replace("%", " %")
    says = (
        f"Of the diphenylguanidine a glove gives off, {percent} came off within {within.amount} "
        f"minutes: {pairs} gives off most of its own, however short it is worn."
    )
    early = Note(Topic.RELEASE, says, SHARE, share.known_as)
    if task.rub_before is False:
        return (early,)
    rub = book.rule(RUB).on(on)
    return early, Note(Topic.RELEASE, f"Alcohol rub just before gloves: {rub.text}.", RUB, rub.known_as)
