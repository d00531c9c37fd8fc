"""A wet-work rule set: who calls what wet work, from when, by which limits, and what is left to words."""

from datetime import date
from decimal import Decimal
from typing import Literal

from pydantic import Field
from pydantic.dataclasses import dataclass as checked

from thenar.knowledge.entries import STRICT, KnownAs, OtherView

# Every limit is passed upwards: a count known in part can then pass it, and nothing passes for want of data.
Upwards = Literal[">", ">="]
Unit = Literal["h/day", "h/shift", "count/day", "count/shift"]
Quantity = Literal[
    "washes",
    "wet_minutes",
    "glove_minutes",
    "wet_contacts",
    "wet_glove_alternations",
    "wash_glove_alternations",
]


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class TierLimit:
    """From where on a criterion asks for a tier, such as an offer of a health examination."""

    id: str
    tier: str
    says: str
    operator: Upwards
    amount: Decimal
    source: str
    locator: str
    known_as: KnownAs
    note: str = ""
    other_view: tuple[OtherView, ...] = ()
    why_in_use: str = ""


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class Criterion:
    """One limit of a rule set. The quantities it names are added up before they are compared."""

    id: str
    says: str
    adds: tuple[Quantity, ...] = Field(min_length=1)
    operator: Upwards
    amount: Decimal
    unit: Unit
    source: str
    locator: str
    known_as: KnownAs
    note: str = ""
    tier: tuple[TierLimit, ...] = ()
    other_view: tuple[OtherView, ...] = ()
    why_in_use: str = ""


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class InWords:
    """A part of a rule set that only a person can judge.

    With `decides`, it alone may make a shift wet work; without, it is a caution shown beside the verdict.
    `number` says whether the source gives none, or gives one that was not seen.
    """

    id: str
    says: str
    decides: bool
    source: str
    locator: str
    known_as: KnownAs
    number: Literal["none given", "not seen"] = "none given"
    note: str = ""
    other_view: tuple[OtherView, ...] = ()
    why_in_use: str = ""


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class RuleSet:
    """One body's or study's definition of wet work, in force from a day until, perhaps, another.

    Both days are included. `calls_it` is what the set calls a shift that meets one of its criteria. `tiers`
    runs from least to most. With `rubs` = "never", alcohol rubs are not wet contact whatever the policy says.
    """

    id: str
    name: str
    jurisdiction: str
    in_force_from: date = Field(alias="from")
    until: date | None = None
    dates: str = ""
    calls_it: str = "wet work"
    tiers: tuple[str, ...] = ()
    rubs: Literal["by policy", "never"] = "by policy"
    note: str = ""
    criterion: tuple[Criterion, ...] = ()
    in_words: tuple[InWords, ...] = ()

    def in_force_on(self, day: date) -> bool:
        """Whether `day` lies between the first and the last day of the rule set."""
        return self.in_force_from <= day and (self.until is None or day <= self.until)


WetWorkItem = Criterion | TierLimit | InWords


def items_with_words(rule_set: RuleSet) -> tuple[tuple[WetWorkItem, str], ...]:
    """Every part of a rule set that has a page of its own, with its limit as a person reads it."""
    items: list[tuple[WetWorkItem, str]] = []
    for criterion in rule_set.criterion:
        items.append((criterion, limit_in_words(criterion, criterion.unit)))
        items += [(tier, f"{limit_in_words(tier, criterion.unit)}: {tier.tier}") for tier in criterion.tier]
    items += [(words, f"in words only, number {words.number}") for words in rule_set.in_words]
    return tuple(items)


def limit_in_words(limit: Criterion | TierLimit, unit: str) -> str:
    """Operator, amount and unit: `> 2 h/day`."""
    return f"{limit.operator} {limit.amount} {unit}"


def misfits(rule_set: RuleSet) -> list[tuple[str, str, str]]:
    """What in a rule set does not fit together: key, fault, and why it matters."""
    found: list[tuple[str, str, str]] = []
    if rule_set.until is not None and rule_set.until < rule_set.in_force_from:
        found.append((rule_set.id, "ends before it starts", "It would never be in force."))
    if not rule_set.criterion and not any(words.decides for words in rule_set.in_words):
        found.append((rule_set.id, "has nothing to judge by", "It would call every shift fine."))
    for item, _ in items_with_words(rule_set):
        if not item.id.startswith(f"{rule_set.id}."):
            found.append((item.id, f"is not named after {rule_set.id!r}", "Its page could not be found."))
        if isinstance(item, TierLimit) and item.tier not in rule_set.tiers:
            found.append((item.id, f"has tier {item.tier!r}, not one of the set's", "It has no rank."))
    return found
