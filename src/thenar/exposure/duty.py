"""Who can do what, so that every task is covered and nobody's hands carry too much?"""

from dataclasses import dataclass
from functools import reduce
from operator import add

from thenar.exposure.duty_bounds import already_over
from thenar.exposure.duty_model import write_model
from thenar.exposure.duty_plan import DutyPlan, NoPlan, Relaxation, describe_plan
from thenar.exposure.duty_programme import Effort, OutOfTime, Reached, minimise_in_order
from thenar.exposure.duty_refusals import EffortOutOfRange, refuse_unusable
from thenar.exposure.duty_relaxation import PRICES, Prices, add_up, relax
from thenar.exposure.duty_rota import Rota
from thenar.exposure.duty_terms import Assignment, Duties, Shift

Shifts = tuple[Shift, ...]
ROUNDS = 2
GOALS = 2
STEPS_TO_A_WAY_OUT = 6  # three ways, two goals each; offering more people may repeat some
ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class _Part:
    """The allocation of shifts that hang together."""

    assignments: tuple[Assignment, ...]
    changes: Reached
    unevenness: Reached


def find_duties(
    duties: Duties, gap: float = 0.01, seconds: float = 30.0, prices: Prices = PRICES
) -> DutyPlan | NoPlan:
    """Find duties that keep within everyone's bounds with the fewest changes, or say what must give way.

    Parameters
    ----------
    duties
        Tasks, team, whose duties must be light, the ceiling for everyone, and the current allocation.
    gap
        How far from the best the search may stop. [share, 0 to below 1]
    seconds
        Time for the search, shared out among its parts; finding what must give way may take some times as
        long again. [seconds, above 0]
    prices
        What giving way weighs.

    Returns
    -------
    DutyPlan or NoPlan
        A plan covers every task, keeps who has limits within them and everyone within the ceiling, changes as
        little as possible, and among such plans has the lightest heaviest load. Someone over the ceiling now
        gets no more of what they are over. `NoPlan` is a proof that there is none, with the ways out.

    Raises
    ------
    BadInput
        The search can't be made as given; the error names the field.
    OutOfTime
        Neither a plan nor a proof was found in time.

    Notes
    -----
    Knows nothing of how long tasks take or when in a shift they fall; `most_tasks` is a rough guard. The
    loads are expected loads: a day may bring more. The ceiling is kept on what tasks give a number for, and
    on wet and glove minutes added up; tasks don't tell how often washing and gloves alternate. The plan is a
    proposal to whoever runs the area.

    Examples
    --------
    Two tasks, two people; A, who has both now, may wash five times a shift.

    >>> from datetime import date
    >>> from decimal import Decimal
    >>> from thenar.exposure.duty_terms import *
    >>> monday = Shift(0, Part.EARLY)
    >>> carer = frozenset({"carer"})
    >>> plan = find_duties(Duties(
    ...     first_day=date(2026, 11, 30),
    ...     tasks=(
    ...         Task("baths", "Bed baths", monday, Load(washes=6), 1, carer),
    ...         Task("meals", "Meals", monday, Load(washes=3), 1, carer),
    ...     ),
    ...     team=(Person("A", carer, frozenset({monday})), Person("B", carer, frozenset({monday}))),
    ...     limits=(Limits("A", a_shift=Most(washes=5)),),
    ...     ceiling=Ceiling("fifteen washes", washes=Bound(Decimal(15), Within.BELOW)),
    ...     current=(Assignment("A", "baths"), Assignment("A", "meals")),
    ... ))
    >>> [(change.task, change.off, change.on) for change in plan.changes]
    [('baths', 'A', 'B')]
    """
    refuse_unusable(duties)
    if not 0 <= gap < 1 or not 0 < seconds < float("inf"):
        raise EffortOutOfRange(gap, seconds)
    rota = Rota(duties)
    parts = _allocate_in_rounds(rota, Effort(gap, seconds))
    found = [part for part in parts.values() if part is not None]
    assignments = tuple(sorted(duty for part in found for duty in part.assignments))
    stuck = [shifts for shifts, part in parts.items() if part is None]
    if stuck:
        return _ways_out(rota, stuck, assignments, Effort(gap, seconds), prices)
    changes = reduce(add, (part.changes for part in found))
    unevenness = reduce(add, (part.unevenness for part in found))
    return describe_plan(rota, assignments, changes.value - changes.bound, unevenness)


def _allocate_in_rounds(rota: Rota, effort: Effort) -> dict[Shifts, _Part | None]:
    """Allocate all shifts in half the time, then give the other half to those that needed more of it.

    Once some shifts are proven to have no allocation, the others need not be the best.
    """
    parts: dict[Shifts, _Part | None] = {}
    waiting = list(rota.blocks())
    goals = 1 if rota.duties.current is None else GOALS
    for rounds_left in reversed(range(ROUNDS)):
        for shifts in waiting:
            share = _share(rota, shifts, waiting, effort, ROUNDS * goals)
            try:
                parts[shifts] = _allocate(rota, shifts, share)
            except OutOfTime:
                if not rounds_left:
                    raise
        stuck = None in parts.values()
        waiting = [
            each
            for each in waiting
            if each not in parts or (not stuck and _needs_more_time(parts[each], effort))
        ]
    return parts


def _share(rota: Rota, shifts: Shifts, of: list[Shifts], effort: Effort, steps: int) -> Effort:
    """The time for one step of some shifts, by their share of the tasks of all that are to be looked at."""
    tasks = {each: sum(len(rota.tasks_in[shift]) for shift in each) for each in of}
    return Effort(effort.gap, effort.seconds * tasks[shifts] / sum(tasks.values()) / steps)


def _allocate(rota: Rota, shifts: Shifts, effort: Effort) -> _Part | None:
    model = write_model(rota, shifts)
    solution = minimise_in_order(model.programme, (model.changes, model.unevenness), effort)
    if solution is None:
        return None
    changes, unevenness = solution.reached
    done = tuple(duty for duty, column in model.does.items() if solution.whole(column))
    return _Part(done, changes, unevenness)


def _needs_more_time(part: _Part | None, effort: Effort) -> bool:
    """Whether a part stopped short of the gap. A proof that there is no allocation needs no more time."""
    return part is not None and max(part.changes.gap, part.unevenness.gap) > effort.gap + ROUNDING


def _ways_out(
    rota: Rota, stuck: list[Shifts], kept: tuple[Assignment, ...], effort: Effort, prices: Prices
) -> NoPlan:
    ways = [
        relax(rota, shifts, _share(rota, shifts, stuck, effort, STEPS_TO_A_WAY_OUT), prices)
        for shifts in stuck
    ]
    people, overruns, mix = (add_up(parts, kept) for parts in zip(*ways, strict=True))
    return NoPlan(
        shifts_without_plan=tuple(sorted(shift for shifts in stuck for shift in shifts)),
        ways_out=_worth_offering(people, overruns, mix),
        already_over=already_over(rota),
    )


def _worth_offering(
    people: Relaxation | None, overruns: Relaxation | None, mix: Relaxation | None
) -> tuple[Relaxation, ...]:
    """The ways there are, cheapest first; the mix only if it is cheaper than one thing alone."""
    alone = [way for way in (people, overruns) if way is not None]
    ways = list(alone)
    if mix is not None and all(mix.cost < way.cost for way in alone):
        ways.append(mix)
    return tuple(sorted(ways, key=lambda way: way.cost))
