"""What must a person not meet because of one allergy: its allergen, parts, releasers, cross-reactions?"""

from collections.abc import Iterator
from dataclasses import dataclass

from thenar.allergy.excluded_links import Links
from thenar.allergy.verdict_terms import Answer, Link, Step
from thenar.knowledge.allergens import Allergen, CrossReaction, Grade
from thenar.knowledge.entries import KnownAs

_ANSWERS = {
    Grade.AVOID: Answer.AVOID,
    Grade.CANNOT_EXCLUDE: Answer.CANNOT_EXCLUDE,
    Grade.INFORMATION: Answer.NO_MATCH_FOUND,
}


@dataclass(frozen=True, slots=True)
class Target:
    """An allergen that gets `answer` where it is declared; `steps` lead from it to the allergy.

    With `NO_MATCH_FOUND` it is a caution: worth knowing, and changes nothing.
    """

    found: str
    answer: Answer
    steps: tuple[Step, ...] = ()


def delayed_targets(
    allergen: str, negatives: frozenset[str], links: Links, *, extreme: bool = False
) -> tuple[Target, ...]:
    """What one delayed allergy asks to be kept away from, the most direct first.

    Parameters
    ----------
    allergen
        What the person reacts to: a substance or a mix.
    negatives
        What was tested by itself without a reaction. A mix among them clears nothing: leave it out.
    links
        The table, turned round.
    extreme
        Whether the reaction was extreme (+++): some cross-reactions are graded higher then.

    Notes
    -----
    A reaction to a mix is a reaction to at least one of its parts. So every part not tested negative is
    avoided, what all those parts cross-react with is avoided too, and what only some cross-react with
    cannot be excluded. Cross-reactions and releasers go one step and are never joined to each other.
    """
    tested = links.allergen(allergen)
    parts = tuple(_parts(tested, negatives, links))
    itself = (Target(allergen, Answer.AVOID), *parts)
    return (
        *itself,
        *_holders(itself, links),
        *(target for each in itself for target in _releasers(each, links)),
        *_cross_reactions(tested, negatives, links, extreme=extreme),
        *_cross_reactions_of_parts(tested, negatives, links),
    )


def immediate_targets(allergen: str, links: Links) -> tuple[Target, ...]:
    """What one immediate allergy asks to be kept away from, the most direct first.

    Patch tests say nothing of immediate allergy, so no negative test eases it. A cross-reaction counts only
    where it is graded avoid and the table marks both ends as causing immediate allergy, as it does for the
    salts of one substance.
    """
    tested = links.allergen(allergen)
    itself = (Target(allergen, Answer.AVOID), *_parts(tested, frozenset(), links))
    salts = (
        _graded(each, Answer.AVOID, links)
        for each in links.cross_reactions.get(allergen, ())
        if each.grade is Grade.AVOID and tested.immediate and links.allergen(each.found).immediate
    )
    return (
        *itself,
        *_holders(itself, links),
        *(target for each in itself for target in _releasers(each, links)),
        *salts,
    )


def negatives_that_count(allergen: str, links: Links) -> frozenset[str]:
    """The single tests whose negative result can change what this delayed allergy rules out."""
    tested = links.allergen(allergen)
    eased = {
        each.found
        for source in (allergen, *tested.components)
        for each in links.cross_reactions.get(source, ())
    }
    return frozenset(each for each in {*tested.components, *eased} if not links.allergen(each).components)


def _parts(mix: Allergen, negatives: frozenset[str], links: Links) -> Iterator[Target]:
    """The parts of a mix that reacted. All parts negative: none explains the mix, none is cleared."""
    unexplained = negatives.issuperset(mix.components)
    known_as = mix.components_cited.known_as if mix.components_cited else None
    for part in mix.components:
        name = links.allergen(part).name
        if unexplained:
            says = f"{name} is part of {mix.name}, which reacted though no part of it did when tested alone."
            yield Target(part, Answer.CANNOT_EXCLUDE, (_step(Link.PART_OF, says, mix, known_as),))
        elif part not in negatives:
            says = f"{name} is part of {mix.name}."
            yield Target(part, Answer.AVOID, (_step(Link.PART_OF, says, mix, known_as),))


def _holders(itself: tuple[Target, ...], links: Links) -> Iterator[Target]:
    """Mixes that hold what is ruled out."""
    for target in itself:
        for mix in links.mixes.get(target.found, ()):
            known_as = mix.components_cited.known_as if mix.components_cited else None
            says = f"{mix.name} holds {links.allergen(target.found).name}."
            step = _step(Link.PART_OF, says, mix, known_as)
            yield Target(mix.id, target.answer, (step, *target.steps))


def _releasers(target: Target, links: Links) -> Iterator[Target]:
    """What gives the target off. Where a cross-reaction grades the pair, the grade stands instead."""
    graded = {each.found for each in links.cross_reactions.get(target.found, ())}
    for releaser in links.releasers.get(target.found, ()):
        if releaser.id not in graded:
            step = _gives_off(releaser, links.allergen(target.found))
            yield Target(releaser.id, target.answer, (step, *target.steps))


def _cross_reactions(
    tested: Allergen, negatives: frozenset[str], links: Links, *, extreme: bool
) -> Iterator[Target]:
    """What the allergen itself cross-reacts with. A mix and its own parts are no such pair."""
    for each in links.cross_reactions.get(tested.id, ()):
        eased = each.eased_by_negative_test and each.found in negatives
        if not eased and each.found not in tested.components:
            raised = extreme and each.avoid_if_extreme
            yield _graded(each, Answer.AVOID if raised else _ANSWERS[each.grade], links)


def _cross_reactions_of_parts(mix: Allergen, negatives: frozenset[str], links: Links) -> Iterator[Target]:
    """What the parts of a mix cross-react with: avoided if all of them do, not excluded if some do.

    What was tested negative by itself is not avoided on the strength of the mix alone.
    """
    reacting = [part for part in mix.components if part not in negatives]
    pairs: dict[str, list[CrossReaction]] = {}
    for part in reacting:
        for each in links.cross_reactions.get(part, ()):
            eased = each.eased_by_negative_test and each.found in negatives
            if each.grade is not Grade.INFORMATION and not eased:
                pairs.setdefault(each.found, []).append(each)
    for found, crosses in pairs.items():
        avoid = [each for each in crosses if each.grade is Grade.AVOID]
        others = [part for part in reacting if part != found]
        every_part = {each.tested for each in avoid}.issuperset(others) and found not in negatives
        answer = Answer.AVOID if every_part else Answer.CANNOT_EXCLUDE
        first = (avoid or crosses)[0]
        known_as = mix.components_cited.known_as if mix.components_cited else None
        says = f"{links.allergen(first.tested).name} is part of {mix.name}."
        part_of = _step(Link.PART_OF, says, mix, known_as)
        yield Target(found, answer, (*_graded(first, answer, links).steps, part_of))


def _graded(pair: CrossReaction, answer: Answer, links: Links) -> Target:
    """A cross-reaction as a target, with its published numbers, and what is given off where that is why."""
    tested, found = links.allergen(pair.tested), links.allergen(pair.found)
    numbers = f": {pair.numbers.rstrip('.')}" if pair.numbers else ""
    grade = f"“{pair.grade}”" + (", and “avoid” after an extreme reaction," if pair.avoid_if_extreme else "")
    says = f"A reaction to {tested.name} is graded {grade} for {found.name}{numbers}."
    graded = Step(Link.CROSS_REACTS, says, pair.id, pair.cited.known_as)
    given_off = (_gives_off(found, tested),) if tested.id in found.releases else ()
    return Target(pair.found, answer, (*given_off, graded))


def _gives_off(releaser: Allergen, released: Allergen) -> Step:
    known_as = releaser.releases_cited.known_as if releaser.releases_cited else None
    return _step(Link.RELEASES, f"{releaser.name} gives off {released.name}.", releaser, known_as)


def _step(link: Link, says: str, allergen: Allergen, known_as: KnownAs | None) -> Step:
    return Step(link, says, allergen.entry, known_as)
