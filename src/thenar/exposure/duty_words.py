"""A duty plan, or the ways out where there is none, in words a ward manager can act on."""

from collections.abc import Iterable, Sequence
from datetime import date, timedelta

from thenar.exposure.duty_bounds import AlreadyOver, Because
from thenar.exposure.duty_plan import Change, DutyPlan, MorePeople, NoPlan, Overrun, Relaxation
from thenar.exposure.duty_terms import Duties, Measure, Shift

NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
UNITS = {
    Measure.WASHES: ("wash", "washes"),
    Measure.WET_MINUTES: ("minute of wet work", "minutes of wet work"),
    Measure.GLOVE_MINUTES: ("minute in gloves", "minutes in gloves"),
    Measure.PAIRS: ("pair of gloves", "pairs of gloves"),
    Measure.WET_AND_GLOVE_MINUTES: (
        "minute of wet work and gloves together",
        "minutes of wet work and gloves together",
    ),
}
WEEK = 7


def say_plan(plan: DutyPlan, duties: Duties) -> tuple[str, ...]:
    """A plan's changes, one line each, and who is over the ceiling already.

    Parameters
    ----------
    plan
        What was found.
    duties
        What was asked; its task names and people's ids stand in the lines.

    Returns
    -------
    tuple of str
        Lines for whoever runs the area. They say what changes and never why.
    """
    return (*_changes(plan, duties), *_already_over(plan.already_over, duties))


def say_no_plan(answer: NoPlan, duties: Duties) -> tuple[str, ...]:
    """That there is no plan, what would make one possible, and who is over the ceiling already.

    Parameters
    ----------
    answer
        The ways out.
    duties
        What was asked.

    Returns
    -------
    tuple of str
        Lines for whoever runs the area; the second names all ways out, with "or" between them.
    """
    where = _listed(say_shift(shift, duties) for shift in answer.shifts_without_plan)
    first = f"The tasks can't be shared out within everyone's limits: {where}."
    ways = [say_way_out(way, duties) for way in answer.ways_out]
    return (first, _sentence(", or ".join(ways)), *_already_over(answer.already_over, duties))


def say_way_out(way: Relaxation, duties: Duties) -> str:
    """What must give way, such as "one more person on Tuesday early and two washes over ...".

    What gives way alike in several shifts is told once, with the shifts.
    """
    return _listed([*_more_people(way.more_people, duties), *_overruns(way.overruns, duties)])


def say_shift(shift: Shift, duties: Duties) -> str:
    """A shift by weekday; with the date where the tasks span more than a week.

    Examples
    --------
    >>> from thenar.exposure.duty_terms import Ceiling, Part
    >>> say_shift(Shift(1, Part.EARLY), Duties(date(2026, 11, 30), (), (), (), Ceiling("none")))
    'Tuesday early'
    """
    day = duties.first_day + timedelta(days=shift.day)
    weekday = WEEKDAYS[day.weekday()]
    days = [task.shift.day for task in duties.tasks]
    if days and max(days) - min(days) >= WEEK:
        return f"{weekday} {_day_and_month(day)} {shift.part}"
    return f"{weekday} {shift.part}"


def _changes(plan: DutyPlan, duties: Duties) -> tuple[str, ...]:
    if duties.current is None:
        return ("Every task is covered. Nothing was allocated before, so nothing changes.",)
    if not plan.changes:
        return ("Every task is covered. Nothing has to change.",)
    names = {task.id: task.name for task in duties.tasks}
    return tuple(_change(change, names[change.task], duties) for change in plan.changes)


def _change(change: Change, task: str, duties: Duties) -> str:
    where = f"{say_shift(change.shift, duties)}, {task}"
    if change.on is None:
        return f"{where}: without {change.off}."
    instead = f" instead of {change.off}" if change.off is not None else " as well"
    return f"{where}: {change.on}{instead}."


def _already_over(found: tuple[AlreadyOver, ...], duties: Duties) -> tuple[str, ...]:
    return tuple(
        f"{say_shift(over.shift, duties)}: {over.person} is over {duties.ceiling.name} already, "
        f"with {_amount(over.now, over.measure)} where {over.most} would be the most; "
        "it may not become more."
        for over in found
    )


def _more_people(added: Iterable[MorePeople], duties: Duties) -> list[str]:
    """How many people more, those of alike shifts as one."""
    alike: dict[int, list[Shift]] = {}
    for more in added:
        alike.setdefault(more.number, []).append(more.shift)
    return [
        f"{_number(number)} more {'person' if number == 1 else 'people'} {_when(shifts, duties)}"
        for number, shifts in alike.items()
    ]


def _overruns(overruns: Iterable[Overrun], duties: Duties) -> list[str]:
    """Overruns of several people in a shift told together; those of one person by amount and shifts."""
    in_a_shift: dict[tuple[Shift | None, Measure, Because], list[Overrun]] = {}
    for over in overruns:
        in_a_shift.setdefault((over.shift, over.measure, over.because), []).append(over)
    told: list[str] = []
    of_one: dict[tuple[str, Because, Measure, int, bool], list[Overrun]] = {}
    for (shift, measure, because), together in in_a_shift.items():
        if len(together) == 1:
            over = together[0]
            kind = (_who(over), because, measure, over.amount, shift is None)
            of_one.setdefault(kind, []).append(over)
        else:
            amount = _amount(sum(over.amount for over in together), measure)
            parts = _listed(f"{_number(over.amount)} for {_who(over)}" for over in together)
            told.append(f"{amount} {_beyond(because, duties)} {_when([shift], duties)} ({parts})")
    return [*_of_one(of_one.values(), duties), *told]


def _of_one(alike: Iterable[list[Overrun]], duties: Duties) -> list[str]:
    """Overruns of one person each; what goes over in the same shifts stands side by side."""
    amounts: dict[tuple[str, Because, tuple[Shift | None, ...]], list[str]] = {}
    for overs in alike:
        first, shifts = overs[0], tuple(over.shift for over in overs)
        amount = _amount(first.amount, first.measure)
        amounts.setdefault((_who(first), first.because, shifts), []).append(amount)
    return [
        f"{_listed(told)} {_beyond(because, duties)} {_when(shifts, duties)} for {who}"
        for (who, because, shifts), told in amounts.items()
    ]


def _when(shifts: Sequence[Shift | None], duties: Duties) -> str:
    """In which shift, or in each of several; without one, over the whole time."""
    named = [say_shift(shift, duties) for shift in shifts if shift]
    if not named:
        return "on all shifts together"
    return (
        f"on {named[0]}" if len(named) == 1 else f"in each of {_number(len(named))} shifts ({_listed(named)})"
    )


def _beyond(because: Because, duties: Duties) -> str:
    return {
        Because.LIMIT: "over the limit",
        Because.CEILING: f"over {duties.ceiling.name}",
        Because.NOW: "more than now",
    }[because]


def _who(over: Overrun) -> str:
    return "the person added" if over.added else over.person


def _amount(number: int, measure: Measure) -> str:
    one, many = UNITS[measure]
    return f"{_number(number)} {one if number == 1 else many}"


def _number(number: int) -> str:
    return NUMBERS[number] if number < len(NUMBERS) else str(number)


def _day_and_month(day: date) -> str:
    return f"{day.day} {MONTHS[day.month - 1]}"


def _listed(parts: Iterable[str]) -> str:
    *most, last = parts
    return f"{', '.join(most)} and {last}" if most else last


def _sentence(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}."
