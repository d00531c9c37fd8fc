"""Can this duty search be made at all? Every field is checked before anything is computed."""

from collections.abc import Iterable, Sequence

from thenar.errors import BadInput
from thenar.exposure.duty_terms import GIVEN, Ceiling, Duties, Limits, Measure, Task

ONCE_A_MINUTE_ALL_DAY = 24 * 60
MOST_PEOPLE = 100
LAST_DAY = 366
MOST_WHOLE_TIME = ONCE_A_MINUTE_ALL_DAY * LAST_DAY


class NothingGiven(BadInput):
    """A search without people, without tasks, or without anyone to find duties for."""

    def __init__(self, field: str) -> None:
        super().__init__(
            what=f"{field}: is empty.",
            why="A duty search needs tasks, a team, and at least one person whose duties must be light.",
            todo=f"Give at least one entry in {field}.",
        )


class SameIdTwice(BadInput):
    """Two entries share an id."""

    def __init__(self, field: str, first: int, again: int, id_name: str) -> None:
        super().__init__(
            what=f"{field}[{again}]{id_name} is the same as {field}[{first}]{id_name}.",
            why="Two entries that can't be told apart would be counted wrongly.",
            todo=f"Take one of them out of {field}, or give it another id.",
        )


class UnknownId(BadInput):
    """An id that stands for nobody in the team, or for no task."""

    def __init__(self, field: str, known: str) -> None:
        super().__init__(
            what=f"{field}: is not among {known}.",
            why="Limits or duties of someone unknown would be passed over in silence.",
            todo=f"Use an id from {known}, or add the missing entry there.",
        )


class NobodyCan(BadInput):
    """A task that nobody in the team can do on any day."""

    def __init__(self, field: str, task: str) -> None:
        super().__init__(
            what=f"{field}: nobody in the team can do task {task!r}.",
            why="Every task must be covered, so no allocation can exist.",
            todo="Check the roles the task asks for and the roles of the team.",
        )


class NumberOutOfRange(BadInput):
    """A number that is no whole number in its range."""

    def __init__(self, field: str, number: object, least: int, most: int) -> None:
        super().__init__(
            what=f"{field}: is {number!r}; it must be a whole number from {least} to {most}.",
            why="A wrong number would give duties that only look right.",
            todo=f"Correct {field}.",
        )


class CeilingWithoutNumber(BadInput):
    """A ceiling that bounds nothing, or that nothing can stay within."""

    def __init__(self, field: str, says: str) -> None:
        super().__init__(
            what=f"{field}: {says}.",
            why="Without a usable number nothing keeps colleagues from being overloaded.",
            todo="Choose a rule set that gives a number for washes, wet or glove minutes, or pairs.",
        )


class ImpossibleNow(BadInput):
    """The current allocation has someone on a task they can't be on."""

    def __init__(self, field: str, says: str) -> None:
        super().__init__(
            what=f"{field}: {says}.",
            why="Changes are counted from the current allocation, so it must be one that can happen.",
            todo="Correct the allocation, the working hours or the roles.",
        )


class EffortOutOfRange(BadInput):
    """A gap that is no share, or no time to search in."""

    def __init__(self, gap: float, seconds: float) -> None:
        super().__init__(
            what=f"gap is {gap!r} and seconds {seconds!r}.",
            why="The search must know when to stop.",
            todo="Give a gap from 0 to below 1 and a time above 0.",
        )


def refuse_unusable(duties: Duties) -> None:
    """Refuse a duty search that can't be made, naming the field.

    Parameters
    ----------
    duties
        The search as given.

    Raises
    ------
    NothingGiven
        No tasks, no team, or nobody with limits.
    SameIdTwice
        Two tasks or people share an id, someone has two sets of limits, or a duty stands twice.
    UnknownId
        Limits or current duties of someone who is not in the team, or of no task.
    NobodyCan
        A task asks for roles nobody in the team has.
    NumberOutOfRange
        A load, a limit or a count is negative, fractional or absurd.
    CeilingWithoutNumber
        The ceiling gives no number, or one that nothing can stay within.
    ImpossibleNow
        Someone is now on a task when not at work, or without a role for it.

    Notes
    -----
    People are named by their place in the list: an error carries no person's data.

    Examples
    --------
    >>> from datetime import date
    >>> refuse_unusable(Duties(date(2026, 11, 30), (), (), (), Ceiling("none")))  # doctest: +ELLIPSIS
    Traceback (most recent call last):
    ...
    thenar.exposure.duty_refusals.NothingGiven: tasks: is empty. ...
    """
    _refuse_empty(duties)
    _refuse_twice("tasks", [task.id for task in duties.tasks], ".id")
    _refuse_twice("team", [person.id for person in duties.team], ".id")
    _refuse_twice("limits", [limits.person for limits in duties.limits], ".person")
    for place, task in enumerate(duties.tasks):
        _refuse_task(f"tasks[{place}]", task, duties)
    for place, person in enumerate(duties.team):
        for shift in person.works:
            _refuse_number(f"team[{place}].works.day", shift.day, 0, LAST_DAY)
    for place, limits in enumerate(duties.limits):
        _refuse_limits(f"limits[{place}]", limits, duties)
    _refuse_ceiling(duties.ceiling)
    _refuse_current(duties)
    if duties.most_tasks is not None:
        _refuse_number("most_tasks", duties.most_tasks, 1, len(duties.tasks) + MOST_PEOPLE)


def _refuse_empty(duties: Duties) -> None:
    for field, entries in (("tasks", duties.tasks), ("team", duties.team), ("limits", duties.limits)):
        if not entries:
            raise NothingGiven(field)


def _refuse_twice(field: str, ids: Sequence[object], id_name: str) -> None:
    seen: dict[object, int] = {}
    for place, each in enumerate(ids):
        if each in seen:
            raise SameIdTwice(field, seen[each], place, id_name)
        seen[each] = place


def _refuse_task(field: str, task: Task, duties: Duties) -> None:
    _refuse_number(f"{field}.shift.day", task.shift.day, 0, LAST_DAY)
    _refuse_number(f"{field}.people_needed", task.people_needed, 1, MOST_PEOPLE)
    for measure in GIVEN:
        _refuse_number(f"{field}.load.{measure}", task.load.of(measure), 0, ONCE_A_MINUTE_ALL_DAY)
    if not any(person.can_do(task) for person in duties.team):
        raise NobodyCan(f"{field}.who_can", task.id)


def _refuse_limits(field: str, limits: Limits, duties: Duties) -> None:
    if limits.person not in {person.id for person in duties.team}:
        raise UnknownId(f"{field}.person", "team")
    for span, most in (("a_shift", limits.a_shift), ("whole_time", limits.whole_time)):
        for measure in Measure:
            if most.of(measure) is not None:
                _refuse_number(f"{field}.{span}.{measure}", most.of(measure), 0, MOST_WHOLE_TIME)


def _refuse_ceiling(ceiling: Ceiling) -> None:
    bounds = [(measure, bound) for measure in Measure if (bound := ceiling.of(measure)) is not None]
    if not bounds:
        raise CeilingWithoutNumber("ceiling", f"{ceiling.name!r} gives no number")
    for measure, bound in bounds:
        usable = bound.amount.is_finite() and 0 <= bound.amount <= MOST_WHOLE_TIME and bound.most >= 0
        if not usable:
            raise CeilingWithoutNumber(
                f"ceiling.{measure}", f"nothing can be told to be {bound.within} {bound.amount}"
            )


def _refuse_current(duties: Duties) -> None:
    current = duties.current or ()
    _refuse_twice("current", current, "")
    team = {person.id: person for person in duties.team}
    tasks = {task.id: task for task in duties.tasks}
    for place, duty in enumerate(current):
        _refuse_missing(f"current[{place}].person", duty.person, team, "team")
        _refuse_missing(f"current[{place}].task", duty.task, tasks, "tasks")
        person, task = team[duty.person], tasks[duty.task]
        if task.shift not in person.works:
            raise ImpossibleNow(f"current[{place}]", f"the person is not at work when {task.id!r} is done")
        if not person.can_do(task):
            raise ImpossibleNow(f"current[{place}]", f"the person has no role for {task.id!r}")


def _refuse_missing(field: str, given: str, known: Iterable[str], where: str) -> None:
    if given not in known:
        raise UnknownId(field, where)


def _refuse_number(field: str, number: object, least: int, most: int) -> None:
    if type(number) is not int or not least <= number <= most:
        raise NumberOutOfRange(field, number, least, most)
