"""Which sensitisations do the results of a patch test suggest? Only the clinician makes one."""

from collections.abc import Mapping
from dataclasses import dataclass

from thenar.allergy.allergies import Strength
from thenar.allergy.patch_reading import (
    Outcome,
    Pattern,
    PositionReading,
    has_many_positives,
    irritant_control_reacted,
    read_position,
)
from thenar.allergy.patch_rules import ReadingRules
from thenar.allergy.patch_test import Kind, PatchGrade, PatchTest
from thenar.knowledge.allergens import Allergen

# The strongest first: of two positions with one allergen, the strongest speaks for it.
_ORDER = (PatchGrade.EXTREME, PatchGrade.STRONG, PatchGrade.WEAK, PatchGrade.DOUBTFUL)
_UNSURE = (PatchGrade.WEAK, PatchGrade.DOUBTFUL)


@dataclass(frozen=True, slots=True)
class Components:
    """How the parts of a mix came out by themselves, by allergen."""

    positive: tuple[str, ...]
    negative: tuple[str, ...]
    open: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Proposal:
    """A sensitisation that the test suggests, for the clinician to take or leave.

    `confirm` says why a confirming test is asked for first; empty asks for none. `components` is given for
    a mix. A doubtful outcome is proposed only for confirming.
    """

    allergen: str
    strength: Strength
    readings: tuple[PositionReading, ...]
    confirm: tuple[str, ...]
    components: Components | None = None

    @property
    def is_doubtful(self) -> bool:
        """Whether nothing stronger than doubtful stands behind it."""
        return self.strength is Strength.DOUBTFUL


@dataclass(frozen=True, slots=True)
class Negative:
    """An allergen tested by itself without a reaction. `complete` says that a late reading was taken too."""

    allergen: str
    complete: bool


def proposed_sensitisations(
    test: PatchTest, rules: ReadingRules, allergens: Mapping[str, Allergen]
) -> tuple[Proposal, ...]:
    """What the test suggests, in the order in which it was put on.

    Parameters
    ----------
    test
        The test as read so far.
    rules
        Say what counts as positive.
    allergens
        What is known: the parts of mixes, and which preparations irritate.

    Returns
    -------
    tuple of Proposal
        One for each allergen with a positive or doubtful outcome; own products and controls give none.

    Notes
    -----
    A confirming test (a repeated test, serial dilutions, or an open test in use) is asked for where the
    reaction is doubtful; weak, and the preparation is known to irritate, or the irritant control reacted, or
    many positions did; fading; or so late that the test itself may have sensitised. A proposal for a mix says
    how its parts came out; whether the mix or the part counts is settled by the verdict's rules.

    Examples
    --------
    >>> from datetime import date
    >>> from thenar.allergy.patch_test import Position, Reading
    >>> test = PatchTest(date(2026, 3, 2), None, (Position(1, "nickel-sulfate", "5", "pet"),),
    ...     (Reading(1, date(2026, 3, 6), PatchGrade.STRONG),))
    >>> from thenar.allergy.patch_rules import reading_rules
    >>> from thenar.knowledge import load
    >>> rules = reading_rules(load(), date(2026, 11, 25))
    >>> proposal, = proposed_sensitisations(test, rules, {})
    >>> proposal.allergen, proposal.strength.value, proposal.confirm
    ('nickel-sulfate', '++', ())
    """
    results = _results(test, rules)
    skin = _skin_is_unsure(test, rules)
    return tuple(
        proposal
        for allergen, readings in results.items()
        if (proposal := _proposal(allergen, readings, results, allergens.get(allergen), skin))
    )


def negative_allergens(
    test: PatchTest, rules: ReadingRules, allergens: Mapping[str, Allergen]
) -> tuple[Negative, ...]:
    """The single allergens without a reaction on the days that count. A mix is never among them.

    Returns
    -------
    tuple of Negative
        Only what is known to be no mix, was read on a day that counts, and reacted at none of its positions.

    Notes
    -----
    A negative mix clears nothing: 24 patients had a negative thiuram mix and a positive thiuram.

    References
    ----------
    .. [1] Aalto-Korte and others, Contact Dermatitis 2016: thiurams and dithiocarbamates in 164 patients.

    Examples
    --------
    >>> from datetime import date
    >>> from thenar.allergy.patch_test import Position, Reading
    >>> test = PatchTest(date(2026, 3, 2), None, (Position(1, "thiuram-mix", "1", "pet"),),
    ...     (Reading(1, date(2026, 3, 6), PatchGrade.NEGATIVE),))
    >>> from thenar.allergy.patch_rules import reading_rules
    >>> from thenar.knowledge import load
    >>> rules = reading_rules(load(), date(2026, 11, 25))
    >>> negative_allergens(test, rules, {})
    ()
    """
    last = rules.stages[-1].first_day
    return tuple(
        Negative(allergen, all(read.marks[-1][0] >= last for read in readings))
        for allergen, readings in _results(test, rules).items()
        if (known := allergens.get(allergen)) and not known.components and _is_negative(readings)
    )


def _results(test: PatchTest, rules: ReadingRules) -> dict[str, tuple[PositionReading, ...]]:
    """Allergen to the readings of every position that holds it."""
    results: dict[str, tuple[PositionReading, ...]] = {}
    for position in test.of_kind(Kind.ALLERGEN):
        read = read_position(test, position.number, rules)
        results[position.hapten] = (*results.get(position.hapten, ()), read)
    return results


def _proposal(
    allergen: str,
    readings: tuple[PositionReading, ...],
    results: Mapping[str, tuple[PositionReading, ...]],
    known: Allergen | None,
    skin: str,
) -> Proposal | None:
    grade = _strongest(readings)
    if grade is None:
        return None
    behind = tuple(read for read in readings if read.strength is not None)
    parts = _components(known, results) if known and known.components else None
    confirm = tuple(_confirm(grade, behind, known, skin, parts))
    return Proposal(allergen, Strength(grade.value), behind, confirm, parts)


def _strongest(readings: tuple[PositionReading, ...]) -> PatchGrade | None:
    grades = {read.strength for read in readings}
    return next((grade for grade in _ORDER if grade in grades), None)


def _confirm(
    grade: PatchGrade,
    behind: tuple[PositionReading, ...],
    known: Allergen | None,
    skin: str,
    parts: Components | None,
) -> list[str]:
    reasons = []
    patterns = {read.pattern for read in behind}
    if grade is PatchGrade.DOUBTFUL:
        reasons.append("The reaction is doubtful.")
    if grade in _UNSURE and known and known.irritant_preparation:
        reasons.append("The reaction is weak and this preparation is known to irritate.")
    if grade in _UNSURE and skin:
        reasons.append(skin)
    if patterns == {Pattern.DECRESCENDO}:
        reasons.append("The reaction fades from reading to reading, as irritation often does.")
    if Pattern.MAY_BE_SENSITISED in patterns:
        reasons.append("The first reaction came so late that the test itself may have sensitised.")
    if parts and not parts.positive and not parts.open:
        reasons.append("The mix reacted and none of its parts did.")
    return reasons


def _components(mix: Allergen, results: Mapping[str, tuple[PositionReading, ...]]) -> Components:
    positive = tuple(part for part in mix.components if _is_positive(results.get(part, ())))
    negative = tuple(part for part in mix.components if _is_negative(results.get(part, ())))
    left = tuple(part for part in mix.components if part not in positive and part not in negative)
    return Components(positive, negative, left)


def _is_positive(readings: tuple[PositionReading, ...]) -> bool:
    return any(read.is_positive for read in readings)


def _is_negative(readings: tuple[PositionReading, ...]) -> bool:
    return bool(readings) and all(read.outcome is Outcome.NEGATIVE for read in readings)


def _skin_is_unsure(test: PatchTest, rules: ReadingRules) -> str:
    if irritant_control_reacted(test):
        return "The reaction is weak and the irritant control reacted too."
    if has_many_positives(test, rules):
        return "The reaction is weak and many positions reacted."
    return ""
