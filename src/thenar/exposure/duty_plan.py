"""What does an allocation come to: who does what, what changes, and what does each carry?"""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import zip_longest

from thenar.exposure.duty_bounds import AlreadyOver, Because, already_over
from thenar.exposure.duty_programme import Reached
from thenar.exposure.duty_rota import Carried, Rota
from thenar.exposure.duty_terms import Assignment, Measure, Shift


@dataclass(frozen=True, slots=True)
class Change:
    """One hand-over: in this task `on` takes the place of `off`. None: nobody did it, or nobody follows."""

    shift: Shift
    task: str
    off: str | None
    on: str | None


@dataclass(frozen=True, slots=True)
class PersonLoad:
    """What someone carries in a shift under the plan. `before` is None if nothing was allocated before."""

    person: str
    shift: Shift
    carries: Carried
    before: Carried | None


@dataclass(frozen=True, slots=True)
class DutyPlan:
    """An allocation that covers every task and keeps every bound.

    `fewest_changes` is how many changes there are and how few there could be; `even_load` the heaviest load
    of any colleague as a share of the ceiling, added over all shifts, and how low it could be.
    """

    assignments: tuple[Assignment, ...]
    changes: tuple[Change, ...]
    loads: tuple[PersonLoad, ...]
    already_over: tuple[AlreadyOver, ...]
    fewest_changes: Reached
    even_load: Reached


@dataclass(frozen=True, slots=True)
class MorePeople:
    """People to be added to a shift, and the tasks the plan gives them."""

    shift: Shift
    number: int
    tasks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Overrun:
    """How far someone goes over a bound. Without a shift: over the whole time. [whole counts and minutes]

    `added` when it is one of the people to be added.
    """

    person: str
    shift: Shift | None
    measure: Measure
    amount: int
    because: Because
    added: bool


@dataclass(frozen=True, slots=True)
class Relaxation:
    """The least that must give way so that every task can be covered, and who would then do what.

    `cost` weighs what gives way against other ways; it is no money. `cost_at_least` is below it if time ran
    out before a cheaper way of this kind was ruled out.
    """

    more_people: tuple[MorePeople, ...]
    overruns: tuple[Overrun, ...]
    cost: int
    cost_at_least: float
    assignments: tuple[Assignment, ...]


@dataclass(frozen=True, slots=True)
class NoPlan:
    """Proof that no allocation keeps every bound, and up to three ways out, the cheapest first."""

    shifts_without_plan: tuple[Shift, ...]
    ways_out: tuple[Relaxation, ...]
    already_over: tuple[AlreadyOver, ...]


def describe_plan(
    rota: Rota, assignments: tuple[Assignment, ...], changes_to_spare: float, even_load: Reached
) -> DutyPlan:
    """An allocation with its changes and loads.

    `changes_to_spare` is how many of its changes are not proven to be needed.
    """
    changes = changes_to(rota, assignments)
    return DutyPlan(
        assignments=assignments,
        changes=changes,
        loads=_person_loads(rota, assignments),
        already_over=already_over(rota),
        fewest_changes=Reached(len(changes), len(changes) - changes_to_spare),
        even_load=even_load,
    )


def changes_to(rota: Rota, assignments: Iterable[Assignment]) -> tuple[Change, ...]:
    """Every hand-over from the current allocation to a new one, in time; none if nothing was allocated."""
    if rota.duties.current is None:
        return ()
    then = frozenset(assignments)
    off, on = sorted(rota.now - then), sorted(then - rota.now)
    changes = []
    for shift in rota.shifts:
        for task in rota.tasks_in[shift]:
            leaving = [duty.person for duty in off if duty.task == task.id]
            joining = [duty.person for duty in on if duty.task == task.id]
            changes += [Change(shift, task.id, *pair) for pair in zip_longest(leaving, joining)]
    return tuple(changes)


def _person_loads(rota: Rota, assignments: Iterable[Assignment]) -> tuple[PersonLoad, ...]:
    then = rota.loads(assignments)
    nothing_before = rota.duties.current is None
    return tuple(
        PersonLoad(
            person=person.id,
            shift=shift,
            carries=then.get((person.id, shift), Carried()),
            before=None if nothing_before else rota.loads_now.get((person.id, shift), Carried()),
        )
        for shift in rota.shifts
        for person in rota.at_work[shift]
    )
