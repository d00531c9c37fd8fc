"""Who is at work when, what is to be done then, what does each carry now, and which shifts hang together?"""

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from thenar.exposure.duty_terms import Assignment, Duties, Limits, Measure, Most, Person, Shift, Task


@dataclass(frozen=True, slots=True)
class Carried:
    """What one person does in one shift. [whole counts and minutes]"""

    tasks: int = 0
    washes: int = 0
    wet_minutes: int = 0
    glove_minutes: int = 0
    pairs: int = 0
    wet_and_glove_minutes: int = 0

    def of(self, measure: Measure | None) -> int:
        """How much of one measure; None for the number of tasks."""
        amount: int = getattr(self, measure or "tasks")
        return amount

    def and_also(self, task: Task) -> "Carried":
        """The same with one task more."""
        amounts = {measure.value: self.of(measure) + task.load.of(measure) for measure in Measure}
        return Carried(self.tasks + 1, **amounts)


Loads = dict[tuple[str, Shift], Carried]


class Rota:
    """A duty search laid out by shift, in an order that does not depend on how it was given."""

    def __init__(self, duties: Duties) -> None:
        self.duties = duties
        self.tasks = {task.id: task for task in sorted(duties.tasks, key=lambda task: task.id)}
        self.limits: dict[str, Limits] = {limits.person: limits for limits in duties.limits}
        self.ceiling_amounts = tuple(
            (measure, float(bound.amount))
            for measure in Measure
            if (bound := duties.ceiling.of(measure)) is not None and bound.most > 0
        )
        self.now = frozenset(duties.current or ())
        self.loads_now = self.loads(self.now)
        self.people_now = Counter(duty.task for duty in self.now)
        self.tasks_in: dict[Shift, list[Task]] = defaultdict(list)
        for task in self.tasks.values():
            self.tasks_in[task.shift].append(task)
        self.shifts = tuple(sorted(self.tasks_in))
        self.at_work: dict[Shift, list[Person]] = defaultdict(list)
        for person in sorted(duties.team, key=lambda person: person.id):
            for shift in person.works:
                self.at_work[shift].append(person)

    def loads(self, assignments: Iterable[Assignment]) -> Loads:
        """What everyone carries in each shift under an allocation; people without a task are left out."""
        loads: Loads = {}
        for duty in sorted(assignments):
            task = self.tasks[duty.task]
            key = (duty.person, task.shift)
            loads[key] = loads.get(key, Carried()).and_also(task)
        return loads

    def may_do(self, person: Person, task: Task) -> bool:
        """Whether someone at work may be given a task at all."""
        limits = self.limits.get(person.id)
        return person.can_do(task) and not (limits is not None and limits.forbid(task.load))

    def people_at_most(self, task: Task) -> int:
        """A task keeps more people than it needs only if it has them now."""
        return max(task.people_needed, self.people_now[task.id])

    def blocks(self) -> tuple[tuple[Shift, ...], ...]:
        """Shifts that must be looked at together, in time.

        Limits a shift never join two shifts, so each is a search of its own. Limits over the whole time join
        the shifts of the people who have them.
        """
        joined = {
            shift
            for person in self.duties.team
            for shift in person.works & self.tasks_in.keys()
            if (limits := self.limits.get(person.id)) is not None and limits.whole_time != Most()
        }
        alone = tuple((shift,) for shift in self.shifts if shift not in joined)
        return (tuple(sorted(joined)), *alone) if joined else alone
