"""A plan of duties in so few lines that a manager's letter of one page holds them."""

from collections.abc import Iterable, Mapping
from datetime import date, timedelta
from itertools import groupby

from thenar.exposure.duty_plan import Change, DutyPlan
from thenar.exposure.duty_terms import Duties, Measure, Part
from thenar.exposure.duty_words import MONTHS, UNITS

MOST_LINES = 7  # a letter holds eight measures; one is left for the practitioner
LONGEST = 240
_FORBIDS = {"no_soap": "no task with soap", "no_patient_contact": "no direct patient contact"}


def letter_lines(plan: DutyPlan, duties: Duties, worker: str) -> tuple[tuple[str, ...], bool]:
    """The worker's limits and the changes, one line for each task, and whether every change is told by name.

    Parameters
    ----------
    plan
        What was found.
    duties
        What was asked.
    worker
        The person whose duties change.

    Returns
    -------
    tuple
        At most seven lines of at most 240 characters. Where the changes don't fit by name, the lines name
        the worker's tasks and days, then the tasks alone, and leave to the manager who takes over.
    """
    limits = limits_line(duties, worker)
    room = MOST_LINES - len(limits)
    for level, lines in enumerate((_by_name(plan, duties), _by_day(plan, duties, worker))):
        if len(lines) <= room and all(len(line) <= LONGEST for line in lines):
            return (*limits, *lines), level == 0
    return (*limits, *_by_task(plan, duties, worker)[:room]), False


def limits_line(duties: Duties, worker: str) -> tuple[str, ...]:
    """What one shift may hold for the worker, as a rule for days that no plan covers.

    Examples
    --------
    >>> from thenar.exposure.duty_terms import Ceiling, Limits, Most
    >>> asked = Duties(date(2026, 3, 2), (), (), (Limits("Bo", Most(washes=5), no_soap=True),), Ceiling("x"))
    >>> limits_line(asked, "Bo")
    ('In one shift for Bo: at most 5 washes; no task with soap.',)
    """
    limits = duties.limits_of(worker)
    if limits is None:
        return ()
    parts = []
    for measure in Measure:
        most = limits.a_shift.of(measure)
        if most is not None:
            one, many = UNITS[measure]
            parts.append(f"at most {most} {one if most == 1 else many}")
    parts += [words for flag, words in _FORBIDS.items() if getattr(limits, flag)]
    return (f"In one shift for {worker}: {'; '.join(parts)}.",) if parts else ()


def _by_name(plan: DutyPlan, duties: Duties) -> list[str]:
    """Bed baths (early): Bo instead of Ann on 2 and 3 March; Cy instead of Bo on 5 March."""
    lines = []
    for (task, part), changes in _grouped(plan.changes, duties):
        pairs: dict[tuple[str | None, str | None], list[int]] = {}
        for change in changes:
            pairs.setdefault((change.off, change.on), []).append(change.shift.day)
        told = [f"{_handover(*pair)} on {say_days(days, duties.first_day)}" for pair, days in pairs.items()]
        lines.append(f"{task} ({part}): {'; '.join(told)}.")
    return lines


def _by_day(plan: DutyPlan, duties: Duties, worker: str) -> list[str]:
    """Bed baths (early): someone else instead of Ann on 2, 3 and 5 March."""
    lines = []
    for (task, part), changes in _grouped(plan.changes, duties):
        off = [change.shift.day for change in changes if change.off == worker]
        on = [change.shift.day for change in changes if change.on == worker]
        if off:
            lines.append(
                f"{task} ({part}): someone else instead of {worker} on {say_days(off, duties.first_day)}."
            )
        if on:
            lines.append(f"{task} ({part}): {worker} on {say_days(on, duties.first_day)}.")
    return lines


def _by_task(plan: DutyPlan, duties: Duties, worker: str) -> list[str]:
    """From 2 to 15 March, someone else instead of Ann in: bed baths; drug round."""
    last = duties.first_day + timedelta(days=max(task.shift.day for task in duties.tasks))
    when = f"From {_day(duties.first_day)} to {_day(last)}"
    names = {task.id: task.name for task in duties.tasks}
    off = dict.fromkeys(names[change.task] for change in plan.changes if change.off == worker)
    on = dict.fromkeys(names[change.task] for change in plan.changes if change.on == worker)
    return [
        *_filled(f"{when}, someone else instead of {worker} in:", list(off)),
        *_filled(f"{when}, {worker} takes on:", list(on)),
    ]


def _filled(lead: str, entries: list[str]) -> list[str]:
    """Lines that begin alike and hold as many entries as fit."""
    lines: list[str] = []
    held: list[str] = []
    for entry in entries:
        if held and len(f"{lead} {'; '.join([*held, entry])}.") > LONGEST:
            lines.append(f"{lead} {'; '.join(held)}.")
            held = []
        held.append(entry)
    return [*lines, f"{lead} {'; '.join(held)}."] if held else lines


def _grouped(changes: Iterable[Change], duties: Duties) -> list[tuple[tuple[str, Part], list[Change]]]:
    """Changes by task name and part of the day, in the order of the day."""
    names: Mapping[str, str] = {task.id: task.name for task in duties.tasks}

    def place(change: Change) -> tuple[int, str]:
        return list(Part).index(change.shift.part), names[change.task]

    ordered = sorted(changes, key=place)
    return [((name, list(Part)[part]), list(group)) for (part, name), group in groupby(ordered, key=place)]


def _handover(off: str | None, on: str | None) -> str:
    if on is None:
        return f"without {off}"
    return f"{on} instead of {off}" if off is not None else f"{on} as well"


def say_days(days: Iterable[int], first_day: date) -> str:
    """Days of the month, each month named once.

    Examples
    --------
    >>> say_days([0, 1, 3], date(2026, 3, 30))
    '30 and 31 March and 2 April'
    """
    by_month: dict[int, list[str]] = {}
    for offset in sorted(set(days)):
        day = first_day + timedelta(days=offset)
        by_month.setdefault(day.month, []).append(str(day.day))
    return _listed([f"{_listed(numbers)} {MONTHS[month - 1]}" for month, numbers in by_month.items()])


def _listed(parts: list[str]) -> str:
    *most, last = parts
    return f"{', '.join(most)} and {last}" if most else last


def _day(day: date) -> str:
    return f"{day.day} {MONTHS[day.month - 1]}"
