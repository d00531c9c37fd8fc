"""The door to finding duties."""

from dataclasses import asdict, dataclass
from datetime import date
from decimal import Decimal
from typing import Annotated

from pydantic import ConfigDict, Field
from pydantic.dataclasses import dataclass as checked

from thenar.cli.doors import Door
from thenar.exposure.duty import find_duties
from thenar.exposure.duty_bounds import AlreadyOver
from thenar.exposure.duty_plan import Change, DutyPlan, MorePeople, NoPlan, Overrun, PersonLoad
from thenar.exposure.duty_terms import (
    Assignment,
    Bound,
    Ceiling,
    Duties,
    Limits,
    Load,
    Measure,
    Most,
    Part,
    Person,
    Shift,
    Task,
    Within,
)
from thenar.exposure.duty_words import say_no_plan, say_plan, say_way_out
from thenar.knowledge import Book

STRICT = ConfigDict(extra="forbid", strict=True)

Count = Annotated[int, Field(ge=0, description="whole count, for each person who does the task")]
Minutes = Annotated[int, Field(ge=0, description="whole minutes, for each person who does the task")]
MostGiven = Annotated[int | None, Field(ge=0, description="at most so many; null sets no bound")]


@checked(frozen=True, slots=True, config=STRICT)
class ShiftGiven:
    """A part of a day. Days count from the first day, which is 0."""

    day: Annotated[int, Field(ge=0)]
    part: Part

    def shift(self) -> Shift:
        """The shift as the computation takes it."""
        return Shift(self.day, self.part)


@checked(frozen=True, slots=True, config=STRICT)
class LoadGiven:
    """What a task does to the hands of each person who does it."""

    washes: Count = 0
    wet_minutes: Minutes = 0
    glove_minutes: Minutes = 0
    pairs: Count = 0
    soap: bool = False
    latex: bool = False
    patient_contact: bool = False


@checked(frozen=True, slots=True, config=STRICT)
class TaskGiven:
    """A task in one shift. `who_can` names roles or people."""

    id: str
    name: str
    shift: ShiftGiven
    load: LoadGiven
    who_can: frozenset[str]
    people_needed: Annotated[int, Field(ge=1)] = 1

    def task(self) -> Task:
        """The task as the computation takes it."""
        load = Load(**asdict(self.load))
        return Task(self.id, self.name, self.shift.shift(), load, self.people_needed, self.who_can)


@checked(frozen=True, slots=True, config=STRICT)
class PersonGiven:
    """Someone in the team: roles, and shifts at work."""

    id: str
    can: frozenset[str]
    works: tuple[ShiftGiven, ...]

    def person(self) -> Person:
        """The person as the computation takes them."""
        return Person(self.id, self.can, frozenset(each.shift() for each in self.works))


@checked(frozen=True, slots=True, config=STRICT)
class MostOfEach:
    """The most of each measure."""

    washes: MostGiven = None
    wet_minutes: MostGiven = None
    glove_minutes: MostGiven = None
    pairs: MostGiven = None
    wet_and_glove_minutes: Annotated[
        int | None, Field(ge=0, description="at most so many added up; null sets no bound")
    ] = None

    def most(self) -> Most:
        """The bounds as the computation takes them."""
        return Most(**{measure.value: getattr(self, measure) for measure in Measure})


@checked(frozen=True, slots=True, config=STRICT)
class LimitsGiven:
    """What the duties of one person must keep to."""

    person: str
    a_shift: MostOfEach = MostOfEach()
    whole_time: MostOfEach = MostOfEach()
    no_soap: bool = False
    no_latex: bool = False
    no_patient_contact: bool = False

    def limits(self) -> Limits:
        """The limits as the computation takes them."""
        return Limits(
            person=self.person,
            a_shift=self.a_shift.most(),
            whole_time=self.whole_time.most(),
            no_soap=self.no_soap,
            no_latex=self.no_latex,
            no_patient_contact=self.no_patient_contact,
        )


@checked(frozen=True, slots=True, config=STRICT)
class BoundGiven:
    """An amount in a shift that must stay below, or be at most, so much."""

    amount: Annotated[Decimal, Field(ge=0)]
    within: Within

    def bound(self) -> Bound:
        """The bound as the computation takes it."""
        return Bound(self.amount, self.within)


@checked(frozen=True, slots=True, config=STRICT)
class CeilingGiven:
    """The numbers of a named rule set, at least one."""

    name: str
    washes: BoundGiven | None = None
    wet_minutes: BoundGiven | None = None
    glove_minutes: BoundGiven | None = None
    pairs: BoundGiven | None = None
    wet_and_glove_minutes: Annotated[
        BoundGiven | None, Field(description="wet minutes and glove minutes added up")
    ] = None

    def ceiling(self) -> Ceiling:
        """The ceiling as the computation takes it."""
        given = {measure.value: getattr(self, measure) for measure in Measure}
        return Ceiling(self.name, **{name: each.bound() for name, each in given.items() if each})


@checked(frozen=True, slots=True, config=STRICT)
class AssignmentGiven:
    """Someone does a task now."""

    person: str
    task: str


@checked(frozen=True, slots=True, config=STRICT)
class DutyGiven:
    """A duty search. Without `current`, nothing is allocated yet and no changes are counted.

    The search stops at `gap` from the best [share] or after about `seconds`.
    """

    first_day: date
    tasks: tuple[TaskGiven, ...]
    team: tuple[PersonGiven, ...]
    limits: tuple[LimitsGiven, ...]
    ceiling: CeilingGiven
    current: tuple[AssignmentGiven, ...] | None = None
    most_tasks: Annotated[int | None, Field(ge=1, description="tasks for one person in a shift")] = None
    gap: Annotated[float, Field(ge=0, lt=1)] = 0.01
    seconds: Annotated[float, Field(gt=0, le=3600)] = 30.0

    def duties(self) -> Duties:
        """The search as the computation takes it."""
        current = None
        if self.current is not None:
            current = tuple(Assignment(each.person, each.task) for each in self.current)
        return Duties(
            first_day=self.first_day,
            tasks=tuple(each.task() for each in self.tasks),
            team=tuple(each.person() for each in self.team),
            limits=tuple(each.limits() for each in self.limits),
            ceiling=self.ceiling.ceiling(),
            current=current,
            most_tasks=self.most_tasks,
        )


@dataclass(frozen=True, slots=True)
class PlanAnswer:
    """Who does what, what changes, what each carries, and how near the best it is. [gaps are shares]"""

    assignments: tuple[Assignment, ...]
    changes: tuple[Change, ...]
    loads: tuple[PersonLoad, ...]
    objective: int
    gap: float
    even_load: float
    even_load_gap: float


@dataclass(frozen=True, slots=True)
class WayOutAnswer:
    """What must give way, in words and by name, and who would then do what. `cost` is a weight, no money."""

    says: str
    more_people: tuple[MorePeople, ...]
    overruns: tuple[Overrun, ...]
    cost: int
    cost_at_least: float
    assignments: tuple[Assignment, ...]


@dataclass(frozen=True, slots=True)
class DutyAnswer:
    """A plan; or the shifts that have none, and the ways out. `says` is for whoever runs the area."""

    found: bool
    says: tuple[str, ...]
    plan: PlanAnswer | None
    shifts_without_plan: tuple[Shift, ...]
    ways_out: tuple[WayOutAnswer, ...]
    already_over: tuple[AlreadyOver, ...]
    edition: str


def _compute(given: DutyGiven, book: Book, today: date) -> DutyAnswer:  # noqa: ARG001
    duties = given.duties()
    answer = find_duties(duties, gap=given.gap, seconds=given.seconds)
    if isinstance(answer, DutyPlan):
        return _planned(answer, duties, book.edition)
    return _not_planned(answer, duties, book.edition)


def _planned(plan: DutyPlan, duties: Duties, edition: str) -> DutyAnswer:
    found = PlanAnswer(
        assignments=plan.assignments,
        changes=plan.changes,
        loads=plan.loads,
        objective=len(plan.changes),
        gap=plan.fewest_changes.gap,
        even_load=plan.even_load.value,
        even_load_gap=plan.even_load.gap,
    )
    return DutyAnswer(True, say_plan(plan, duties), found, (), (), plan.already_over, edition)


def _not_planned(answer: NoPlan, duties: Duties, edition: str) -> DutyAnswer:
    ways = tuple(
        WayOutAnswer(
            say_way_out(way, duties),
            way.more_people,
            way.overruns,
            way.cost,
            way.cost_at_least,
            way.assignments,
        )
        for way in answer.ways_out
    )
    says = say_no_plan(answer, duties)
    return DutyAnswer(False, says, None, answer.shifts_without_plan, ways, answer.already_over, edition)


DOOR = Door("duty", DutyGiven, DutyAnswer, _compute)
