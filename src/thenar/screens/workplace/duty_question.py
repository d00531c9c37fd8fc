"""Puts an area's tasks, its team and a worker's limits into the question that a duty search answers."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from thenar.documents.clinical_words import clinical_words_in
from thenar.errors import BadInput
from thenar.exchange.task_list import TaskRow
from thenar.exposure.duty_terms import (
    GIVEN,
    Assignment,
    Ceiling,
    Duties,
    Limits,
    Load,
    Most,
    Part,
    Person,
    Shift,
    Task,
)
from thenar.records.queries.duties import Colleague

FORBIDS = ("no_soap", "no_latex", "no_patient_contact")


@dataclass(frozen=True, slots=True)
class Question:
    """A duty search with what its answer has to be read by.

    `names_now` is whether the list names who does what now: then those named in a shift are at work in it.
    Otherwise everyone counts as at work in every shift. `gone` is how many people named are no longer in the
    team.
    """

    duties: Duties
    worker: str
    names_now: bool
    gone: int


def ask(
    rows: Iterable[TaskRow],
    *,
    list_begins: date,
    first_day: date,
    days: int,
    team: tuple[Colleague, ...],
    staff_number: str,
    limits: Mapping[str, object],
    ceiling: Ceiling,
) -> Question:
    """The question for some days of a task list.

    Raises
    ------
    BadInput
        No tasks on those days, no team, a task nobody can do, or a worker who is not on the list.
    """
    skipped = (first_day - list_begins).days
    chosen = [row for row in rows if skipped <= row.day < skipped + days]
    called = names_of(team)
    _refuse_unusable(chosen, called, staff_number, team)
    names_now = any(row.now for row in chosen)
    tasks = tuple(_task(place, row, skipped, called) for place, row in enumerate(chosen))
    roles = {called[one.staff_number]: one.role for one in team}
    current = tuple(
        Assignment(name, task.id)
        for task, row in zip(tasks, chosen, strict=True)
        for number in row.now
        if (name := called.get(number)) and not task.who_can.isdisjoint((name, roles[name]))
    )
    everywhere = frozenset(task.shift for task in tasks)
    shifts = {task.id: task.shift for task in tasks}
    at_work = {
        name: frozenset(shifts[duty.task] for duty in current if duty.person == name)
        if names_now
        else everywhere
        for name in called.values()
    }
    worker = called[staff_number]
    if not at_work[worker]:
        raise BadInput(
            what="The list names this worker on none of those days.",
            why="Duties can only be found for someone who is at work.",
            todo="Choose other days, or read in a list that names them under “done by”.",
        )
    people = tuple(
        Person(called[one.staff_number], frozenset({one.role}), at_work[called[one.staff_number]])
        for one in team
        if at_work[called[one.staff_number]]
    )
    _refuse_undoable(tasks, people, first_day)
    return Question(
        duties=Duties(
            first_day=first_day,
            tasks=tasks,
            team=people,
            limits=(Limits(worker, **_limits(limits)),),  # type: ignore[arg-type]
            ceiling=ceiling,
            current=current if names_now else None,
        ),
        worker=worker,
        names_now=names_now,
        gone=len({number for row in chosen for number in row.now if number not in called}),
    )


def names_of(team: Iterable[Colleague]) -> dict[str, str]:
    """What each staff number's person is called in words for the manager, no two alike.

    Someone whose name is also a word that could tell why goes by their staff number.

    Examples
    --------
    >>> names_of([Colleague("1", "Bo Lind", "Nurse"), Colleague("2", "Ann Palm", "Nurse")])
    {'1': 'Bo Lind', '2': 'staff number 2'}
    """
    people = list(team)
    often = Counter(person.called for person in people)
    named = {}
    for person in people:
        if clinical_words_in(person.called) or not person.called:
            named[person.staff_number] = f"staff number {person.staff_number}"
        elif often[person.called] > 1:
            named[person.staff_number] = f"{person.called} ({person.staff_number})"
        else:
            named[person.staff_number] = person.called
    return named


def _task(place: int, row: TaskRow, skipped: int, called: Mapping[str, str]) -> Task:
    load = Load(
        washes=row.washes,
        wet_minutes=row.wet_minutes,
        glove_minutes=row.glove_minutes,
        pairs=row.pairs,
        soap=row.soap,
        latex=row.latex,
        patient_contact=row.patient_contact,
    )
    return Task(
        id=f"{place:04}",
        name=row.task,
        shift=Shift(row.day - skipped, Part(row.part)),
        load=load,
        people_needed=row.people,
        who_can=frozenset((*row.roles, *(called[number] for number in row.only if number in called))),
    )


def _limits(given: Mapping[str, object]) -> dict[str, object]:
    """Limits a shift and what must not be done at all, as the form gives them."""
    most = Most(**{measure.value: given.get(measure.value) for measure in GIVEN})  # type: ignore[arg-type]
    return {"a_shift": most, **{flag: bool(given.get(flag)) for flag in FORBIDS}}


def _refuse_unusable(
    chosen: list[TaskRow], called: Mapping[str, str], staff_number: str, team: tuple[Colleague, ...]
) -> None:
    if not team:
        raise BadInput(
            what="Nobody has a running post in this area.",
            why="Tasks can only be shared among people.",
            todo="Have the staff list brought up to date.",
        )
    if not chosen:
        raise BadInput(
            what="The task list has no task on those days.",
            why="There is nothing to share out.",
            todo="Choose other days, or read in a newer list.",
        )
    if staff_number not in called:
        raise BadInput(
            what="The worker has no running post in this area on the first day.",
            why="Duties are found among those who work there.",
            todo="Choose another day, or have the staff list brought up to date.",
        )


def _refuse_undoable(tasks: Iterable[Task], people: tuple[Person, ...], first_day: date) -> None:
    for task in tasks:
        if not any(person.can_do(task) for person in people):
            day = first_day + timedelta(days=task.shift.day)
            raise BadInput(
                what=f"Nobody in the team can do “{task.name}” ({day}, {task.shift.part}).",
                why="Every task must be covered, so no answer could exist.",
                todo="Correct who can do it in the task list, or have the staff list brought up to date.",
            )
