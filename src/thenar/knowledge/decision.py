"""A decision table: questions in groups, each group brought to a level, rules over the levels."""

from datetime import date
from typing import Literal

from pydantic import Field
from pydantic.dataclasses import dataclass as checked

from thenar.knowledge.entries import STRICT, KnownAs

UrgencyCode = Literal["self_care", "routine", "prompt", "same_day", "emergency"]
PatientContactCode = Literal["continue", "adjust", "stop"]


@checked(frozen=True, slots=True, config=STRICT)
class Question:
    """One thing asked of the worker.

    `answers` is empty for yes / no / not sure; otherwise the closed choices, least to most serious.
    `role` says what an answer may do: `red_flag` (unknown never reassures), `sign`, or `record`
    (kept for the practitioner, never used by a rule, such as colour).
    """

    id: str
    page: str
    asks: str
    role: Literal["red_flag", "sign", "record"]
    hint: str = ""
    answers: tuple[str, ...] = ()
    labels: tuple[str, ...] = ()


@checked(frozen=True, slots=True, config=STRICT)
class Level:
    """A way for a group to reach a level. All conditions given must hold; entries may share a name."""

    name: str
    any_yes: tuple[str, ...] = ()
    all_yes: tuple[str, ...] = ()
    any_unknown: tuple[str, ...] = ()
    any_possible: tuple[str, ...] = ()
    choice_in: dict[str, tuple[str, ...]] = Field(default_factory=dict)


@checked(frozen=True, slots=True, config=STRICT)
class Group:
    """Questions read together. `levels` runs from least to most serious; `level` is tried worst first."""

    id: str
    questions: tuple[str, ...]
    levels: tuple[str, ...]
    level: tuple[Level, ...]


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class DecisionRule:
    """When every named group is at least at its level, urgency and patient contact are at least these."""

    id: str
    says: str
    when: dict[str, str]
    in_force_from: date = Field(alias="from")
    source: str
    locator: str
    known_as: KnownAs
    urgency: UrgencyCode = "self_care"
    patient_contact: PatientContactCode = "continue"
    why_in_use: str = ""


@checked(frozen=True, slots=True, config=STRICT)
class DecisionTable:
    """Questions, groups and rules, checked against each other."""

    question: tuple[Question, ...]
    group: tuple[Group, ...]
    rule: tuple[DecisionRule, ...]
