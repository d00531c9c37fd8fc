"""How much may each person carry? Own limits, the ceiling, and no worse than now for who is over it."""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from thenar.exposure.duty_rota import Carried, Rota
from thenar.exposure.duty_terms import Measure, Shift


class Because(StrEnum):
    """What sets a bound."""

    LIMIT = "limit"
    CEILING = "ceiling"
    NOW = "now"
    TASKS = "tasks"


@dataclass(frozen=True, slots=True)
class Allowance:
    """The most someone may carry. Without a shift: over the whole time. Without a measure: of tasks."""

    person: str
    shift: Shift | None
    measure: Measure | None
    most: int
    because: Because


@dataclass(frozen=True, slots=True)
class AlreadyOver:
    """Someone over the ceiling before anything is changed. They may not get more. [whole counts, minutes]"""

    person: str
    shift: Shift
    measure: Measure
    now: int
    most: int


def allowances(person: str, shift: Shift, rota: Rota) -> Iterator[Allowance]:
    """What bounds someone in one shift: the tightest bound on each measure, and the number of tasks.

    The ceiling holds for everyone. Who has limits must keep to both.
    """
    for measure in Measure:
        bounds = [
            *_by_limits(person, shift, measure, rota),
            *_by_ceiling(person, shift, measure, rota),
        ]
        if bounds:
            yield min(bounds, key=lambda bound: bound.most)
    if rota.duties.most_tasks is not None:
        now = rota.loads_now.get((person, shift), Carried()).tasks
        yield Allowance(person, shift, None, max(rota.duties.most_tasks, now), Because.TASKS)


def whole_time_allowances(rota: Rota) -> Iterator[Allowance]:
    """The bounds over the whole time, for everyone who has any."""
    for limits in sorted(rota.duties.limits, key=lambda limits: limits.person):
        for measure in Measure:
            most = limits.whole_time.of(measure)
            if most is not None:
                yield Allowance(limits.person, None, measure, most, Because.LIMIT)


def already_over(rota: Rota) -> tuple[AlreadyOver, ...]:
    """Everyone over the ceiling in the current allocation, in time and by name."""
    found = [
        AlreadyOver(person, shift, measure, carried.of(measure), bound.most)
        for (person, shift), carried in rota.loads_now.items()
        for measure in Measure
        if (bound := rota.duties.ceiling.of(measure)) is not None and carried.of(measure) > bound.most
    ]
    return tuple(sorted(found, key=lambda over: (over.shift.place, over.person, over.measure)))


def _by_ceiling(person: str, shift: Shift, measure: Measure, rota: Rota) -> Iterator[Allowance]:
    bound = rota.duties.ceiling.of(measure)
    if bound is None:
        return
    now = rota.loads_now.get((person, shift), Carried()).of(measure)
    if now > bound.most:
        yield Allowance(person, shift, measure, now, Because.NOW)
    else:
        yield Allowance(person, shift, measure, bound.most, Because.CEILING)


def _by_limits(person: str, shift: Shift, measure: Measure, rota: Rota) -> Iterator[Allowance]:
    limits = rota.limits.get(person)
    most = limits.a_shift.of(measure) if limits is not None else None
    if most is not None:
        yield Allowance(person, shift, measure, most, Because.LIMIT)
