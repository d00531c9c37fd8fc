"""What does one allergy rule out, and which answer does each sign of it on a product ask for?"""

from collections.abc import Mapping
from dataclasses import dataclass

from thenar.allergy.allergies import Allergies, Delayed, Immediate, Strength
from thenar.allergy.excluded_links import Links
from thenar.allergy.excluded_signs import Sign
from thenar.allergy.excluded_targets import (
    Target,
    delayed_targets,
    immediate_targets,
    negatives_that_count,
)
from thenar.allergy.excluded_undeclared import shown_by
from thenar.allergy.verdict_terms import RANK, Answer, Step

_CONFIRM_WEAK = (
    "The reaction was weak and the test preparation is known to irritate. Confirm it by a repeated open "
    "application test or a serial dilution; avoid until then."
)
_CONFIRM_DOUBTFUL = (
    "The reaction was doubtful. Confirm it by testing again, by a repeated open application test or a serial "
    "dilution; the clinician decides whether to avoid until then."
)


@dataclass(frozen=True, slots=True, eq=False)
class Exclusion:
    """The answer one sign gets because of one allergy; `steps` lead from the sign to the allergy."""

    answer: Answer
    allergen: str
    steps: tuple[Step, ...]
    immediate: bool = False
    confirm: str = ""


Exclusions = Mapping[Sign, Exclusion]


class RuledOut:
    """What each allergy rules out, worked out once for as often as it comes up."""

    def __init__(self, links: Links) -> None:
        self._links = links
        self._known: dict[tuple[Delayed | Immediate, frozenset[str]], Exclusions] = {}

    def by(self, allergies: Allergies) -> tuple[Exclusions, ...]:
        """For each allergy of a person, the signs it rules out; in a fixed order."""
        immediate = sorted(allergies.immediate, key=lambda each: (each.allergen, each.severe))
        delayed = sorted(allergies.delayed, key=lambda each: (each.allergen, each.strength, each.confirmed))
        everything: tuple[Delayed | Immediate, ...] = (*immediate, *delayed)
        return tuple(self._one(each, allergies.tested_negative) for each in everything)

    def _one(self, allergy: Delayed | Immediate, tested_negative: frozenset[str]) -> Exclusions:
        delayed = isinstance(allergy, Delayed)
        counting = negatives_that_count(allergy.allergen, self._links) if delayed else frozenset()
        key = (allergy, tested_negative & counting)
        if key not in self._known:
            self._known[key] = exclusions(*key, self._links)
        return self._known[key]


def exclusions(allergy: Delayed | Immediate, negatives: frozenset[str], links: Links) -> Exclusions:
    """Every sign one allergy rules out, with the strongest answer and the most direct chain for each.

    Parameters
    ----------
    allergy
        A delayed or an immediate allergy. The two have different targets; signs follow alike.
    negatives
        Single tests without a reaction.
    links
        The table, turned round.

    Raises
    ------
    UnknownAllergen
        If the table does not hold the allergen.
    """
    immediate = isinstance(allergy, Immediate)
    targets = _targets(allergy, negatives, links)
    strongest: dict[Sign, tuple[Answer, tuple[Step, ...]]] = {}
    for sign, answer, steps in shown_by(allergy.allergen, targets, links):
        if sign not in strongest or RANK[answer] < RANK[strongest[sign][0]]:
            strongest[sign] = (answer, steps)
    doubtful, confirm = _to_confirm(allergy, links)
    return {
        sign: Exclusion(
            Answer.CANNOT_EXCLUDE if doubtful and answer is Answer.AVOID else answer,
            allergy.allergen,
            steps,
            immediate,
            confirm,
        )
        for sign, (answer, steps) in strongest.items()
    }


def _targets(allergy: Delayed | Immediate, negatives: frozenset[str], links: Links) -> tuple[Target, ...]:
    if isinstance(allergy, Immediate):
        return immediate_targets(allergy.allergen, links)
    extreme = allergy.strength is Strength.EXTREME
    return delayed_targets(allergy.allergen, negatives, links, extreme=extreme)


def _to_confirm(allergy: Delayed | Immediate, links: Links) -> tuple[bool, str]:
    """Whether the reaction is too doubtful to avoid by, and the confirming test to ask for."""
    if isinstance(allergy, Immediate) or allergy.confirmed:
        return False, ""
    if allergy.strength is Strength.DOUBTFUL:
        return True, _CONFIRM_DOUBTFUL
    irritant = links.allergen(allergy.allergen).irritant_preparation is not None
    return False, _CONFIRM_WEAK if irritant and allergy.strength is Strength.WEAK else ""
