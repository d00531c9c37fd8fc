"""What does one person react to? Delayed and immediate allergy are different records with different logic."""

from dataclasses import dataclass
from enum import StrEnum


class Strength(StrEnum):
    """How strong the reaction was that a sensitisation rests on."""

    DOUBTFUL = "?+"
    WEAK = "+"
    STRONG = "++"
    EXTREME = "+++"
    NOT_KNOWN = "not known"


@dataclass(frozen=True, slots=True)
class Delayed:
    """A sensitisation: a delayed contact allergy to `allergen`.

    `confirmed` says that a repeated or open use test, or the clinician's judgement, has settled a weak
    reaction to an irritant preparation.
    """

    allergen: str
    strength: Strength = Strength.NOT_KNOWN
    confirmed: bool = False


@dataclass(frozen=True, slots=True)
class Immediate:
    """An immediate allergy to `allergen`. `severe`: a reaction of the whole body is on record."""

    allergen: str
    severe: bool = False


@dataclass(frozen=True, slots=True)
class Allergies:
    """Everything one person reacts to, and what was tested without a reaction.

    A negative test clears only what was tested by itself, and only where the knowledge says it may.
    """

    delayed: frozenset[Delayed] = frozenset()
    immediate: frozenset[Immediate] = frozenset()
    tested_negative: frozenset[str] = frozenset()
