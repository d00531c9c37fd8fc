"""What is a duty search asked? Tasks, the team, whose duties must be light, and the ceiling for everyone."""

from dataclasses import dataclass
from datetime import date
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from enum import StrEnum


class Part(StrEnum):
    """Part of a day that people work as one shift."""

    EARLY = "early"
    LATE = "late"
    NIGHT = "night"


class Measure(StrEnum):
    """What a shift does to hands, as far as the search counts it."""

    WASHES = "washes"
    WET_MINUTES = "wet_minutes"
    GLOVE_MINUTES = "glove_minutes"
    PAIRS = "pairs"
    WET_AND_GLOVE_MINUTES = "wet_and_glove_minutes"

    @property
    def adds(self) -> tuple["Measure", ...]:
        """The measures that tasks give a number for and that add up to this one.

        Examples
        --------
        >>> [part.value for part in Measure.WET_AND_GLOVE_MINUTES.adds]
        ['wet_minutes', 'glove_minutes']
        """
        if self is Measure.WET_AND_GLOVE_MINUTES:
            return Measure.WET_MINUTES, Measure.GLOVE_MINUTES
        return (self,)


GIVEN = tuple(measure for measure in Measure if measure.adds == (measure,))
"""The measures that tasks give a number for; the others are sums of them."""


class Within(StrEnum):
    """How an amount stays within a bound."""

    BELOW = "below"
    AT_MOST = "at most"


@dataclass(frozen=True, slots=True)
class Shift:
    """A part of a day. `day` counts from the first day, which is 0."""

    day: int
    part: Part

    def __lt__(self, other: "Shift") -> bool:
        return self.place < other.place

    @property
    def place(self) -> tuple[int, int]:
        """Where the shift stands in time."""
        return self.day, list(Part).index(self.part)


@dataclass(frozen=True, slots=True)
class Load:
    """What a task does to the hands of each person who does it, once. [whole counts and minutes]"""

    washes: int = 0
    wet_minutes: int = 0
    glove_minutes: int = 0
    pairs: int = 0
    soap: bool = False
    latex: bool = False
    patient_contact: bool = False

    def of(self, measure: Measure) -> int:
        """How much of one measure.

        Examples
        --------
        >>> Load(wet_minutes=20, glove_minutes=15).of(Measure.WET_AND_GLOVE_MINUTES)
        35
        """
        amount: int = sum(getattr(self, part) for part in measure.adds)
        return amount


@dataclass(frozen=True, slots=True)
class Task:
    """Work in one shift that `people_needed` different people do. `who_can` names roles or people."""

    id: str
    name: str
    shift: Shift
    load: Load
    people_needed: int
    who_can: frozenset[str]


@dataclass(frozen=True, slots=True)
class Person:
    """Someone in the team: what they can do, and when they are at work."""

    id: str
    can: frozenset[str]
    works: frozenset[Shift]

    def can_do(self, task: Task) -> bool:
        """Whether the person has a role the task asks for, or is named by it."""
        return self.id in task.who_can or not self.can.isdisjoint(task.who_can)


@dataclass(frozen=True, slots=True)
class Most:
    """The most of each measure; None sets no bound. [whole counts and minutes, 0 or more]"""

    washes: int | None = None
    wet_minutes: int | None = None
    glove_minutes: int | None = None
    pairs: int | None = None
    wet_and_glove_minutes: int | None = None

    def of(self, measure: Measure) -> int | None:
        """The bound on one measure."""
        amount: int | None = getattr(self, measure)
        return amount


@dataclass(frozen=True, slots=True)
class Limits:
    """What one person's duties must keep to: at most so much a shift and over the whole time."""

    person: str
    a_shift: Most = Most()
    whole_time: Most = Most()
    no_soap: bool = False
    no_latex: bool = False
    no_patient_contact: bool = False

    def forbid(self, load: Load) -> bool:
        """Whether a task with this load is out of the question."""
        return (
            (self.no_soap and load.soap)
            or (self.no_latex and load.latex)
            or (self.no_patient_contact and load.patient_contact)
        )


@dataclass(frozen=True, slots=True)
class Bound:
    """An amount and whether it may be reached."""

    amount: Decimal
    within: Within

    @property
    def most(self) -> int:
        """The largest whole amount within the bound.

        Examples
        --------
        >>> Bound(Decimal(15), Within.BELOW).most, Bound(Decimal("7.5"), Within.AT_MOST).most
        (14, 7)
        """
        if self.within is Within.BELOW:
            return int(self.amount.to_integral_value(ROUND_CEILING)) - 1
        return int(self.amount.to_integral_value(ROUND_FLOOR))


@dataclass(frozen=True, slots=True)
class Ceiling:
    """The limits of a named rule set, in one shift. None where the rule set gives no number."""

    name: str
    washes: Bound | None = None
    wet_minutes: Bound | None = None
    glove_minutes: Bound | None = None
    pairs: Bound | None = None
    wet_and_glove_minutes: Bound | None = None

    def of(self, measure: Measure) -> Bound | None:
        """The bound on one measure."""
        bound: Bound | None = getattr(self, measure)
        return bound


@dataclass(frozen=True, slots=True, order=True)
class Assignment:
    """Someone does a task."""

    person: str
    task: str


@dataclass(frozen=True, slots=True)
class Duties:
    """A duty search: share these tasks among this team, from `first_day` on.

    `current` is who does what now; None when nothing is allocated yet. `most_tasks` is how many tasks one
    person can take on in a shift; None leaves it open.
    """

    first_day: date
    tasks: tuple[Task, ...]
    team: tuple[Person, ...]
    limits: tuple[Limits, ...]
    ceiling: Ceiling
    current: tuple[Assignment, ...] | None = None
    most_tasks: int | None = None

    def limits_of(self, person: str) -> Limits | None:
        """The limits set for someone, if any."""
        return next((limits for limits in self.limits if limits.person == person), None)
