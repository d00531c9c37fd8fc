"""A mixed-integer programme as it is written down, and its answer, goal after goal."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

from thenar.errors import ThenarError

Terms = Sequence[tuple[int, float]]
INFEASIBLE = 2
UNEXPLAINED = 4


class OutOfTime(ThenarError):
    """The search stopped before it found an answer or proved that there is none."""

    def __init__(self, seconds: float) -> None:
        super().__init__(
            what=f"One step of the search found no answer in its {seconds:.2g} seconds.",
            why="It is not known what is possible; nothing was decided.",
            todo="Give it more time, fewer days, or fewer limits over the whole time.",
        )


@dataclass(frozen=True, slots=True)
class Effort:
    """How hard to search: stop at this gap [share, 0 to 1], or after this time for one goal. [seconds]"""

    gap: float
    seconds: float


@dataclass(frozen=True, slots=True)
class Reached:
    """How far a goal was met: the value found and the least that is possible."""

    value: float
    bound: float

    @property
    def gap(self) -> float:
        """How far the value may be above the best. [share of the value, 0 to 1]"""
        return max(0.0, self.value - self.bound) / self.value if self.value > 0 else 0.0

    def __add__(self, other: "Reached") -> "Reached":
        return Reached(self.value + other.value, self.bound + other.bound)


@dataclass(frozen=True, slots=True)
class Solution:
    """A value for every column, and how far each goal was met."""

    values: tuple[float, ...]
    reached: tuple[Reached, ...]

    def whole(self, column: int) -> int:
        """The value of a whole-number column."""
        return round(self.values[column])


@dataclass(slots=True)
class Programme:
    """Columns from 0 to a most, and rows of terms between a least and a most."""

    mosts: list[float] = field(default_factory=list)
    whole: list[bool] = field(default_factory=list)
    rows: list[tuple[Terms, float, float]] = field(default_factory=list)

    def column(self, most: float, whole: bool = True) -> int:
        """Add a column; its place."""
        self.mosts.append(most)
        self.whole.append(whole)
        return len(self.mosts) - 1

    def row(self, terms: Terms, least: float = -np.inf, most: float = np.inf) -> None:
        """Ask that the terms add up to something between `least` and `most`."""
        self.rows.append((terms, least, most))


def minimise_in_order(programme: Programme, goals: Sequence[Terms], effort: Effort) -> Solution | None:
    """The columns that make the first goal least, then the second without losing on the first, and so on.

    Parameters
    ----------
    programme
        What must hold.
    goals
        Sums to make small, most important first. All but the last have whole-number values.
    effort
        When to stop, for each goal.

    Returns
    -------
    Solution or None
        None if it is proven that nothing meets the rows.

    Raises
    ------
    OutOfTime
        Neither an answer nor a proof was found in time.

    Notes
    -----
    The same programme gives the same answer unless time ran out.

    References
    ----------
    .. [1] Huangfu and Hall, Math Program Comput 2018;10:119-142, doi 10.1007/s12532-017-0130-5: the solver.

    Examples
    --------
    Two of three columns must be taken; the first costs most.

    >>> programme = Programme()
    >>> a, b, c = (programme.column(most=1) for _ in range(3))
    >>> programme.row([(a, 1), (b, 1), (c, 1)], least=2)
    >>> minimise_in_order(programme, [[(a, 2), (b, 1), (c, 1)]], Effort(gap=0, seconds=5)).values
    (0.0, 1.0, 1.0)
    """
    rows = list(programme.rows)
    values: tuple[float, ...] | None = None
    reached: list[Reached] = []
    for goal in goals:
        if not goal and (any(goals) or values is not None):
            reached.append(Reached(0.0, 0.0))
            continue
        found = _minimise(programme, rows, goal, effort, fallback=values)
        if found is None:
            return None
        values, at = found
        reached.append(at)
        rows.append((goal, -np.inf, round(at.value)))
    assert values is not None
    return Solution(values, tuple(reached))


def _minimise(
    programme: Programme,
    rows: Sequence[tuple[Terms, float, float]],
    goal: Terms,
    effort: Effort,
    fallback: tuple[float, ...] | None,
) -> tuple[tuple[float, ...], Reached] | None:
    """One goal. A `fallback` already meets the rows, and stands if time runs out."""
    costs = np.zeros(len(programme.mosts))
    for column, cost in goal:
        costs[column] += cost
    answer = milp(
        costs,
        integrality=np.array(programme.whole, dtype=int),
        bounds=Bounds(0, np.array(programme.mosts)),
        constraints=_constraint(rows, len(programme.mosts)),
        options={"mip_rel_gap": effort.gap, "time_limit": effort.seconds},
    )
    if answer.status == INFEASIBLE and fallback is None:
        return None
    if answer.status == UNEXPLAINED:
        raise RuntimeError(answer.message)
    if answer.x is None and fallback is None:
        raise OutOfTime(effort.seconds)
    values = fallback if answer.x is None else _snapped(answer.x, programme.whole)
    assert values is not None
    value = sum(cost * values[column] for column, cost in goal)
    least = answer.mip_dual_bound if answer.x is not None and answer.mip_dual_bound is not None else 0.0
    return values, Reached(value, min(value, max(0.0, float(least))))


def _constraint(rows: Sequence[tuple[Terms, float, float]], columns: int) -> LinearConstraint:
    places = [(row, column) for row, (terms, _, _) in enumerate(rows) for column, _ in terms]
    factors = [factor for terms, _, _ in rows for _, factor in terms]
    at = np.array(places, dtype=np.int32).reshape(-1, 2).T
    matrix = csr_array((factors, (at[0], at[1])), shape=(len(rows), columns))
    return LinearConstraint(matrix, [least for _, least, _ in rows], [most for _, _, most in rows])


def _snapped(values: Sequence[float], whole: Sequence[bool]) -> tuple[float, ...]:
    return tuple(
        float(round(value)) if is_whole else float(value)
        for value, is_whole in zip(values, whole, strict=True)
    )
