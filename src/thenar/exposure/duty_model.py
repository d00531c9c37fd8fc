"""How is a duty search written as a mixed-integer programme?"""

import itertools
import math
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from thenar.exposure.duty_bounds import Allowance, Because, allowances, whole_time_allowances
from thenar.exposure.duty_programme import Programme, Terms
from thenar.exposure.duty_rota import Rota
from thenar.exposure.duty_terms import Assignment, Measure, Person, Shift, Task


@dataclass(frozen=True, slots=True)
class Give:
    """What may give way where nothing fits: more people in each shift, up to a number, and overruns."""

    more_people: int = 0
    overruns: bool = False


@dataclass(frozen=True, slots=True)
class Added:
    """Someone who could join a shift, and the column that says whether they do."""

    person: Person
    shift: Shift
    column: int


@dataclass(frozen=True, slots=True)
class Model:
    """A programme, and what its columns stand for."""

    programme: Programme
    does: dict[Assignment, int]
    added: tuple[Added, ...]
    over: tuple[tuple[Allowance, int], ...]
    changes: Terms
    unevenness: Terms


STAYS = Give()


def write_model(rota: Rota, shifts: tuple[Shift, ...], give: Give = STAYS) -> Model:
    """The programme for some shifts of a rota.

    One column for each person and task they may do (1: they do it), one for the heaviest load in each shift;
    where bounds may give way, one for each overrun and each person added.

    Parameters
    ----------
    rota
        The search, laid out.
    shifts
        Shifts to allocate; bounds over the whole time must lie within them.
    give
        What may give way.

    Notes
    -----
    Everyone's bounds a shift concern that shift alone, so a shift is a programme of a few hundred columns at
    most, and no columns for like tasks or like people need to be merged.
    """
    programme = Programme()
    added = _add_people(programme, rota, shifts, give.more_people)
    at_work = {
        shift: (*rota.at_work[shift], *(each.person for each in added if each.shift == shift))
        for shift in shifts
    }
    does = {
        Assignment(person.id, task.id): programme.column(most=1)
        for shift in shifts
        for task in rota.tasks_in[shift]
        for person in at_work[shift]
        if rota.may_do(person, task)
    }
    doing = _Doing(rota, does)
    for shift in shifts:
        for task in rota.tasks_in[shift]:
            programme.row(doing.people_on(task), task.people_needed, rota.people_at_most(task))
    over = tuple(_bound(programme, doing, _all_allowances(rota, at_work), give.overruns))
    for each in added:
        for column, _ in doing.amount(each.person.id, each.shift, None):
            programme.row([(column, 1), (each.column, -1)], most=0)
    tasks = [task for shift in shifts for task in rota.tasks_in[shift]]
    changes = _changes(programme, rota, does, tasks)
    unevenness = []
    for shift in shifts:
        colleagues = tuple(person for person in at_work[shift] if person.id not in rota.limits)
        unevenness.append((_heaviest(programme, doing, colleagues, shift), 1.0))
    return Model(programme, does, added, over, changes, unevenness)


class _Doing:
    """The columns of people doing tasks, looked up by task and by person and shift."""

    def __init__(self, rota: Rota, does: dict[Assignment, int]) -> None:
        self.rota = rota
        self._by_task: dict[str, list[int]] = defaultdict(list)
        self._by_person: dict[str, list[tuple[Task, int]]] = defaultdict(list)
        for duty, column in does.items():
            self._by_task[duty.task].append(column)
            self._by_person[duty.person].append((rota.tasks[duty.task], column))

    def people_on(self, task: Task) -> Terms:
        """How many people do a task."""
        return [(column, 1) for column in self._by_task[task.id]]

    def amount(self, person: str, shift: Shift | None, measure: Measure | None) -> list[tuple[int, int]]:
        """How much of a measure, or how many tasks, someone carries in a shift or over the whole time."""
        return [
            (column, task.load.of(measure) if measure else 1)
            for task, column in self._by_person[person]
            if shift in (None, task.shift) and (measure is None or task.load.of(measure))
        ]


def _add_people(
    programme: Programme, rota: Rota, shifts: tuple[Shift, ...], number: int
) -> tuple[Added, ...]:
    """People with every skill, who join one shift. The second joins only if the first does."""
    added = []
    for shift in shifts:
        skills = frozenset().union(*(task.who_can for task in rota.tasks_in[shift]))
        columns = [programme.column(most=1) for _ in range(number)]
        for earlier, later in itertools.pairwise(columns):
            programme.row([(later, 1), (earlier, -1)], most=0)
        for place, column in enumerate(columns, start=1):
            person = Person(name_added(rota, shift, place), skills, frozenset({shift}))
            added.append(Added(person, shift, column))
    return tuple(added)


def name_added(rota: Rota, shift: Shift, place: int) -> str:
    """A name for someone added to a shift, that nobody in the team has."""
    name = f"added {place} (day {shift.day + 1}, {shift.part})"
    while any(person.id == name for person in rota.duties.team):
        name += "'"
    return name


def _all_allowances(rota: Rota, at_work: dict[Shift, tuple[Person, ...]]) -> Iterator[Allowance]:
    for shift, people in at_work.items():
        for person in people:
            yield from allowances(person.id, shift, rota)
    here = {person.id for people in at_work.values() for person in people}
    yield from (allowance for allowance in whole_time_allowances(rota) if allowance.person in here)


def _bound(
    programme: Programme, doing: _Doing, bounds: Iterator[Allowance], overruns: bool
) -> Iterator[tuple[Allowance, int]]:
    """Write each bound that can be passed at all; where it may give way, with a column for how far."""
    for allowance in bounds:
        terms = doing.amount(allowance.person, allowance.shift, allowance.measure)
        most_possible = sum(amount for _, amount in terms)
        if most_possible <= allowance.most:
            continue
        if overruns and allowance.because is not Because.TASKS:
            column = programme.column(most=most_possible - allowance.most)
            yield allowance, column
            terms = [*terms, (column, -1)]
        programme.row(terms, most=allowance.most)


def _heaviest(programme: Programme, doing: _Doing, colleagues: tuple[Person, ...], shift: Shift) -> int:
    """The column of the heaviest load of any colleague in a shift, as a share of the ceiling.

    Loads come in steps, such as five minutes: each measure has a column for how many steps the heaviest
    load has. That it is a whole number lets the search rule out what lies between two steps.
    """
    heaviest = programme.column(most=np.inf, whole=False)
    for measure, amount in doing.rota.ceiling_amounts:
        carried = [doing.amount(person.id, shift, measure) for person in colleagues]
        step = math.gcd(*(load for terms in carried for _, load in terms))
        if not step:
            continue
        steps = programme.column(most=np.inf)
        programme.row([(steps, step / amount), (heaviest, -1)], most=0)
        for terms in carried:
            programme.row([*((column, load // step) for column, load in terms), (steps, -1)], most=0)
    return heaviest


def _changes(programme: Programme, rota: Rota, does: dict[Assignment, int], tasks: Iterable[Task]) -> Terms:
    """How many changes there are, but for those that no allocation can avoid.

    A task that has no more people than it needs changes by who joins; one that has more, by who leaves.
    """
    if rota.duties.current is None:
        return []
    spare = {task.id for task in tasks if rota.people_now[task.id] > task.people_needed}
    joins = [column for duty, column in does.items() if duty.task not in spare and duty not in rota.now]
    leaves = []
    for duty in sorted(rota.now & does.keys()):
        if duty.task in spare:
            column = programme.column(most=1)
            programme.row([(does[duty], 1), (column, 1)], least=1)
            leaves.append(column)
    return [(column, 1) for column in (*joins, *leaves)]
