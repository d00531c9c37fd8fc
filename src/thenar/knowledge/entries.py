"""The shapes knowledge comes in: a source, a dated value, a rule, a line of advice."""

import operator
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum
from typing import Any, Literal

from pydantic import ConfigDict, Field
from pydantic.dataclasses import dataclass as checked

from thenar.errors import BadInput, ThenarError

STRICT = ConfigDict(extra="forbid")

Operator = Literal[">", ">=", "<", "<=", "="]
Unit = Literal[
    "points",
    "days",
    "working days",
    "weeks",
    "months",
    "hours",
    "minutes",
    "seconds",
    "count",
    "count/shift",
    "count/day",
    "count/h",
    "count/patient-h",
    "count/patient-day",
    "min/shift",
    "h/day",
    "share",
    "times",
    "g",
    "mL",
    "text",
]


_COMPARE: dict[str, Callable[[Any, Any], bool]] = {
    ">": operator.gt,
    ">=": operator.ge,
    "<": operator.lt,
    "<=": operator.le,
    "=": operator.eq,
}


class KnowledgeError(ThenarError):
    """A knowledge file says something that can't be used."""


class RuleNotInForce(BadInput):
    """A rule has no value on the day asked for."""


class KnownAs(StrEnum):
    """How a value is known, so that nothing remembered passes for something read."""

    PUBLISHED = "published"
    SECONDARY = "secondary"
    COMMON_PRACTICE = "common practice"
    FROM_MEMORY = "from memory"
    OUR_CHOICE = "our choice"


@checked(frozen=True, slots=True, config=STRICT)
class Source:
    """One line of the bibliography."""

    title: str
    by: str
    where: str = ""
    year: int | None = None
    doi: str = ""
    link: str = ""
    read: str = ""

    @property
    def label(self) -> str:
        """Short form for a margin: who and when."""
        return f"{self.by}, {self.year}" if self.year else self.by


@dataclass(frozen=True, slots=True)
class Citation:
    """Where a value comes from and how it is known."""

    source_id: str
    source: Source
    locator: str
    known_as: KnownAs

    @property
    def label(self) -> str:
        """Source, place and standing in one line."""
        place = f", {self.locator}" if self.locator else ""
        standing = "" if self.known_as is KnownAs.PUBLISHED else f" ({self.known_as})"
        return f"{self.source.label}{place}{standing}"


@checked(frozen=True, slots=True, config=STRICT)
class OtherView:
    """What another source says instead: kept and shown, not in use."""

    says: str
    source: str
    locator: str
    known_as: KnownAs


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class Value:
    """An amount in force from a day, with its source."""

    in_force_from: date = Field(alias="from")
    source: str
    locator: str
    known_as: KnownAs
    amount: Decimal | None = None
    operator: Operator | None = None
    text: str | None = None
    note: str = ""

    def met_by(self, measured: Decimal | int) -> bool:
        """Whether `measured`, in the rule's unit, meets the amount by the value's own operator."""
        if self.amount is None or self.operator is None:
            raise KnowledgeError(
                what=f"A value of {self.in_force_from} has nothing to compare {measured} with.",
                why="Whether a limit counts itself in changes the verdict.",
                todo="Give the value an `amount` and an `operator`.",
            )
        return _COMPARE[self.operator](measured, self.amount)


@checked(frozen=True, slots=True, config=STRICT)
class Rule:
    """A quantity the trade uses, with every value it has had."""

    id: str
    says: str
    unit: Unit
    value: tuple[Value, ...]
    other_view: tuple[OtherView, ...] = ()
    why_in_use: str = ""

    def on(self, day: date) -> Value:
        """The value in force on `day`; raise RuleNotInForce before the first."""
        current = [value for value in self.value if value.in_force_from <= day]
        if not current:
            first = min(value.in_force_from for value in self.value)
            raise RuleNotInForce(
                what=f"Rule {self.id!r} has no value on {day}: its first value starts on {first}.",
                why="A result needs the rule that was in force on its day.",
                todo="Use a later date, or add the earlier value and its source to the rule file.",
            )
        return max(current, key=lambda value: value.in_force_from)


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class Line:
    """One piece of advice, in words a worker can use."""

    id: str
    topic: str
    says: str
    in_force_from: date = Field(alias="from")
    source: str
    locator: str
    known_as: KnownAs
    other_view: tuple[OtherView, ...] = ()
    why_in_use: str = ""


@dataclass(frozen=True, slots=True)
class Dated:
    """One step in an entry's history."""

    in_force_from: date
    says: str
    citation: Citation
    note: str = ""


@dataclass(frozen=True, slots=True)
class Entry:
    """Any rule, line or decision, as a page or a command shows it."""

    id: str
    kind: str
    says: str
    unit: str
    history: tuple[Dated, ...]
    other_views: tuple[tuple[str, Citation], ...]
    why_in_use: str
    file: str
    file_title: str
    why_it_matters: str
    reviewed_by: str
    reviewed_on: date
    review_due: date

    @property
    def citation(self) -> Citation:
        """The citation of the newest step."""
        return self.history[-1].citation
