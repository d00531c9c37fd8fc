"""How fast duties are found for a fortnight: 30 people, 14 days, three shifts a day, 12 tasks a shift.

    python benchmarks/duty.py

Prints figures, passes or fails nothing. The aim: a gap of 1 % in 30 s on two cores.
"""

import random
from dataclasses import replace
from datetime import date
from decimal import Decimal
from time import perf_counter

from thenar.exposure.duty import find_duties
from thenar.exposure.duty_model import write_model
from thenar.exposure.duty_plan import DutyPlan
from thenar.exposure.duty_rota import Rota
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

PEOPLE = 30
DAYS = 14
TASKS_A_SHIFT = 12
SEEDS = (1, 2, 3)
CEILING = Ceiling(
    "the ceiling",
    washes=Bound(Decimal(20), Within.AT_MOST),
    wet_minutes=Bound(Decimal(120), Within.AT_MOST),
    glove_minutes=Bound(Decimal(120), Within.AT_MOST),
)
ADDED_UP = replace(CEILING, wet_and_glove_minutes=Bound(Decimal(120), Within.BELOW))
LIGHT = Most(washes=6, wet_minutes=30, glove_minutes=40, pairs=8)


def a_fortnight(seed: int) -> Duties:
    """A ward with two people whose duties must be light, allocated now as if they were not."""
    draw = random.Random(seed)
    shifts = [Shift(day, part) for day in range(DAYS) for part in Part]
    tasks = tuple(
        _task(f"{shift.day:02}-{shift.part}-{number:02}", shift, draw)
        for shift in shifts
        for number in range(TASKS_A_SHIFT)
    )
    works = _working_hours(shifts, draw)
    team = tuple(
        Person(f"N{number:02}", frozenset({"carer", "nurse"} if number % 3 else {"carer"}), frozenset(at))
        for number, at in enumerate(works)
    )
    limits = (
        Limits("N01", a_shift=LIGHT, no_latex=True),
        Limits("N05", a_shift=LIGHT, no_soap=True),
    )
    duties = Duties(date(2026, 11, 30), tasks, team, limits, CEILING)
    return replace(duties, current=_allocated_by_turns(duties))


def _task(name: str, shift: Shift, draw: random.Random) -> Task:
    load = Load(
        washes=draw.randint(0, 6),
        wet_minutes=draw.choice((0, 0, 5, 10, 20, 30)),
        glove_minutes=draw.choice((0, 5, 10, 20, 30)),
        pairs=draw.randint(0, 5),
        soap=draw.random() < 0.2,
        latex=draw.random() < 0.1,
        patient_contact=draw.random() < 0.7,
    )
    who = "nurse" if draw.random() < 0.4 else "carer"
    return Task(name, f"Task {name}", shift, load, draw.choice((1, 1, 1, 2)), frozenset({who}))


def _working_hours(shifts: list[Shift], draw: random.Random) -> list[list[Shift]]:
    """Everyone works about ten shifts, on different days; every shift has seven people or eight."""
    works: list[list[Shift]] = [[] for _ in range(PEOPLE)]
    for shift in shifts:
        free = [at for at in works if all(shift.day != other.day for other in at)]
        free.sort(key=lambda at: (len(at), draw.random()))
        for at in free[: 7 if (shift.day + len(shift.part)) % 2 else 8]:
            at.append(shift)
    return works


def _allocated_by_turns(duties: Duties) -> tuple[Assignment, ...]:
    """The current allocation: each task goes to those at work who have washed least so far."""
    duties_now: list[Assignment] = []
    rota = Rota(duties)
    for shift in rota.shifts:
        washed = dict.fromkeys((person.id for person in rota.at_work[shift]), 0)
        for task in rota.tasks_in[shift]:
            can = [person.id for person in rota.at_work[shift] if person.can_do(task)]
            for person in sorted(can, key=lambda person: washed[person])[: task.people_needed]:
                washed[person] += 1 + task.load.of(Measure.WASHES)
                duties_now.append(Assignment(person, task.id))
    return tuple(duties_now)


def over_the_whole_time(duties: Duties) -> Duties:
    """The same with limits over the fortnight, which join the shifts of those two people."""
    fortnight = Most(washes=45, wet_minutes=220)
    return replace(duties, limits=tuple(replace(each, whole_time=fortnight) for each in duties.limits))


def report(name: str, duties: Duties) -> None:
    """One search: seconds, sizes and gaps."""
    rota = Rota(duties)
    models = [write_model(rota, shifts).programme for shifts in rota.blocks()]
    started = perf_counter()
    answer = find_duties(duties, gap=0.01, seconds=30)
    seconds = perf_counter() - started
    size = f"{len(models)} parts, {sum(len(model.mosts) for model in models):,} columns, "
    size += f"{sum(len(model.rows) for model in models):,} rows"
    if isinstance(answer, DutyPlan):
        fewest, even = answer.fewest_changes, answer.even_load
        found = f"{len(answer.changes)} changes, gap {fewest.gap:.2%}; "
        found += f"even load {even.value:.2f}, gap {even.gap:.2%}"
    else:
        found = f"no plan, {len(answer.ways_out)} ways out"
    print(f"{name:<34} {seconds:6.1f} s  {found}  ({size})")


def main() -> None:
    for seed in SEEDS:
        duties = a_fortnight(seed)
        report(f"seed {seed}, limits a shift", duties)
        report(f"seed {seed}, limits over the fortnight", over_the_whole_time(duties))
        report(f"seed {seed}, minutes added up", replace(duties, ceiling=ADDED_UP))
        report(f"seed {seed}, nothing allocated yet", replace(duties, current=None))


if __name__ == "__main__":
    main()
