"""What can someone work out about a hidden figure, or about a colleague, from all that they know?

What is known is a linear programme; the least and the greatest value of anything in it are the attacker's
limits.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, linprog, milp
from scipy.sparse import csr_array, eye_array, hstack, vstack

from thenar.errors import ThenarError
from thenar.population.disclosure_knowledge import Knowledge, Numbers

Marks = NDArray[np.bool_]
ROUNDING = 1e-6
FEW = 3  # targets: fewer are tried one by one sooner than together
BRANCHES = 20_000  # of one search in whole people: far more than any table tried has needed


class Unsettled(ThenarError):
    """The attacker's programme was not solved."""

    def __init__(self, says: str) -> None:
        super().__init__(
            what=f"The attacker's programme was not solved: {says}.",
            why="Whether someone can be recognised is not known, so nothing may be published.",
            todo="Publish a smaller table: fewer dimensions, or fewer snapshots behind one another.",
        )


@dataclass(frozen=True, slots=True)
class Aims:
    """What an attacker must hold possible: each target as low as `low` and as high as `high`.

    `single` says that each target is one group.
    """

    targets: csr_array
    low: Numbers
    high: Numbers
    single: bool = False


@dataclass(frozen=True, slots=True)
class Cut:
    """A reason why an aim is missed: cells must be hidden until their `worth` comes to `least`."""

    worth: Numbers
    least: float


def nobody_known(known: Knowledge) -> Aims:
    """That of nobody it is certain whether they have the finding."""
    some = known.people > 0
    groups = eye_array(len(some), format="csr")[some]
    return Aims(groups, known.people[some] - 1, np.ones(some.sum()), single=True)


class Worlds:
    """Ways in which everything known could be true, found so far; the truth is the first."""

    def __init__(self, known: Knowledge) -> None:
        self.known = known
        self._found = [known.truth]
        self._shifts: dict[tuple[int, bytes], tuple[Marks, Marks]] = {}

    def add(self, world: Numbers) -> None:
        """Keep a world."""
        self._found.append(world)

    def missed(self, aims: Aims, hidden: Marks) -> tuple[Marks, Marks]:
        """Which aims no world has met yet: too high a least, too low a most."""
        least, most = self.reached(aims, hidden)
        return least > aims.low + ROUNDING, most < aims.high - ROUNDING

    def reached(self, aims: Aims, hidden: Marks) -> tuple[Numbers, Numbers]:
        """The least and the greatest value of each target in any world found."""
        fits = self._fitting(hidden)
        lower = higher = np.array([self._found[at] for at in fits])
        if aims.single and self.known.whole:
            shifts = [self._shift(at, hidden) for at in fits]
            lower = lower - np.array([falls for falls, _ in shifts])
            higher = higher + np.array([rises for _, rises in shifts])
        return (aims.targets @ lower.T).min(axis=1), (aims.targets @ higher.T).max(axis=1)

    def _fitting(self, hidden: Marks) -> list[int]:
        cells = self.known.cells @ np.array(self._found).T
        above = cells >= self.known.least[:, None] - ROUNDING
        below = cells <= self.known.most[:, None] + ROUNDING
        return [int(at) for at in np.flatnonzero(np.all((above & below) | hidden[:, None], axis=0))]

    def _shift(self, at: int, hidden: Marks) -> tuple[Marks, Marks]:
        key = (at, hidden.tobytes())
        if key not in self._shifts:
            self._shifts[key] = shifts_from(self.known, self._found[at], hidden)
        return self._shifts[key]


def shifts_from(known: Knowledge, world: Numbers, hidden: Marks) -> tuple[Marks, Marks]:
    """Groups that could have one case fewer, or one more, if nothing else or one other group is different.

    One case is given to a group, or passed from one group to another. A cell in which both are counted does
    not feel that; any other in which one of them is counted must have room.
    """
    rows = vstack([known.cells[~hidden], known.ties], format="csr")
    least = np.concatenate([known.least[~hidden], known.tie_least])
    most = np.concatenate([known.most[~hidden], known.tie_most])
    full = (rows @ world + 1 > most + ROUNDING).astype(float)
    bare = (rows @ world - 1 < least - ROUNDING).astype(float)
    can_take, can_give = world < known.people - ROUNDING, world > ROUNDING
    no_room_up, no_room_down = rows.T @ full, rows.T @ bare
    both_up = (rows.T @ (rows * full[:, None])).toarray()
    both_down = (rows.T @ (rows * bare[:, None])).toarray()
    passes = (both_up == no_room_up[:, None]) & (both_down == no_room_down[None, :])  # to row from column
    rises = can_take & ((no_room_up == 0) | (passes & can_give[None, :]).any(axis=1))
    falls = can_give & ((no_room_down == 0) | (passes & can_take[:, None]).any(axis=0))
    return falls, rises


def missed_aims(
    worlds: Worlds, aims: Aims, hidden: Marks, *, enough: int | None = None
) -> list[tuple[int, int, Cut]]:
    """Aims that can't be met while these cells are hidden.

    Parameters
    ----------
    worlds
        What is known, with the worlds found so far; more are added.
    aims
        What an attacker must hold possible.
    hidden
        Marks the hidden cells.
    enough
        Stop after so many.

    Returns
    -------
    list of (int, int, Cut)
        The target, -1 for its least and 1 for its most, and why it is missed.

    Notes
    -----
    Many aims are first tried together: one programme seeks a world that meets as many as it can. Only those
    left are tried one by one. The dual values of such a programme say which cells stand in the way [1]_.

    References
    ----------
    .. [1] Fischetti and Salazar, Mathematical Programming 1999;84:283-312: cell suppression by cuts.
    """
    missed: list[tuple[int, int, Cut]] = []
    for way in (-1, 1):
        _try_together(worlds, aims, hidden, way)
        for target in np.flatnonzero(worlds.missed(aims, hidden)[(way + 1) // 2]):
            if worlds.missed(_only(aims, target), hidden)[(way + 1) // 2][0]:
                cut = _try_alone(worlds, aims, hidden, int(target), way)
                if cut is not None:
                    missed.append((int(target), way, cut))
                    if enough is not None and len(missed) >= enough:
                        return missed
    return missed


def _only(aims: Aims, target: np.signedinteger) -> Aims:
    return Aims(aims.targets[[target]], aims.low[[target]], aims.high[[target]], aims.single)


def _try_together(worlds: Worlds, aims: Aims, hidden: Marks, way: int) -> None:
    """Seek worlds that meet many aims at once, until one meets no more."""
    missed = worlds.missed(aims, hidden)[(way + 1) // 2]
    while missed.sum() > FEW:
        asked = aims.targets[missed] * way
        needed = way * (aims.high if way > 0 else aims.low)[missed]
        world = _towards(worlds.known, hidden, asked, needed)
        if world is None:
            return
        worlds.add(world)
        now = worlds.missed(aims, hidden)[(way + 1) // 2]
        if now.sum() >= missed.sum():
            return
        missed = now


def _towards(known: Knowledge, hidden: Marks, asked: csr_array, needed: Numbers) -> Numbers | None:
    """The world in which the rows of `asked` come nearest to what is needed, summed over rows."""
    true = asked @ known.truth
    height, width = asked.shape
    shows = ~hidden
    limits = [
        _wider(known.cells[shows], known.least[shows], known.most[shows], height),
        _wider(known.ties, known.tie_least, known.tie_most, height),
        LinearConstraint(hstack([asked, -eye_array(height)], format="csr"), true, np.inf),
    ]
    limits = [limit for limit in limits if limit.A.shape[0]]
    most = np.concatenate([known.people, needed - true])
    goal = np.concatenate([np.zeros(width), -np.ones(height)])
    answer = milp(goal, bounds=Bounds(0, most), constraints=limits)
    if answer.x is not None and known.whole and not _is_whole(answer.x[:width]):
        whole = np.concatenate([np.ones(width), np.zeros(height)])
        answer = milp(
            goal,
            integrality=whole,
            bounds=Bounds(0, most),
            constraints=limits,
            options={"node_limit": BRANCHES, "mip_rel_gap": 0.2},
        )
    if answer.x is None:
        return None
    world: Numbers = answer.x[:width]
    return np.round(world) if known.whole else world


def _is_whole(world: Numbers) -> bool:
    return bool(np.abs(world - np.round(world)).max() <= ROUNDING)


def _wider(rows: csr_array, least: Numbers, most: Numbers, by: int) -> LinearConstraint:
    return LinearConstraint(hstack([rows, csr_array((rows.shape[0], by))], format="csr"), least, most)


def _try_alone(worlds: Worlds, aims: Aims, hidden: Marks, target: int, way: int) -> Cut | None:
    """Push one target as far as it goes; None if its aim is met."""
    known, row = worlds.known, aims.targets[[target]].toarray()[0]
    needed = way * (aims.high if way > 0 else aims.low)[target]
    reached, world, worth = push(known, hidden, way * row)
    if reached >= needed - ROUNDING:
        if not known.whole or _is_whole(world):
            worlds.add(world)
            return None
        reached, world = push_whole(known, hidden, way * row)
        worlds.add(world)
        if reached >= needed - ROUNDING:
            return None
        worth, reached = np.where(hidden, 0.0, 1.0), needed - 1.0  # hide one more, whichever
    least = needed - reached
    return Cut(np.minimum(worth, least), least)


def push(known: Knowledge, hidden: Marks, goal: Numbers) -> tuple[float, Numbers, Numbers]:
    """How far a goal can go if fractions of people counted, a world that goes there, and what holds it back.

    What holds it back is given for each cell that shows: by how much hiding it would let the goal go
    further, at most.
    """
    shows = ~hidden
    cells, least, most = known.cells[shows], known.least[shows], known.most[shows]
    answer = linprog(
        -goal,
        A_ub=vstack([cells, -cells, known.ties, -known.ties], format="csr"),
        b_ub=np.concatenate([most, -least, known.tie_most, -known.tie_least]),
        bounds=np.column_stack([np.zeros(len(known.people)), known.people]),
        method="highs",
    )
    if answer.status != 0:
        raise Unsettled(answer.message)
    marginals = -answer.ineqlin.marginals
    above, below = marginals[: len(most)], marginals[len(most) : 2 * len(most)]
    worth = np.zeros(len(hidden))
    worth[shows] = above * (cells @ known.people - most) + below * least
    return float(-answer.fun), answer.x, worth


def push_whole(known: Knowledge, hidden: Marks, goal: Numbers) -> tuple[float, Numbers]:
    """How far a goal can go in whole people, and a world that goes there."""
    shows = ~hidden
    limits = [
        LinearConstraint(known.cells[shows], known.least[shows], known.most[shows]),
        LinearConstraint(known.ties, known.tie_least, known.tie_most),
    ]
    answer = milp(
        -goal,
        integrality=1,
        bounds=Bounds(0, known.people),
        constraints=[limit for limit in limits if limit.A.shape[0]],
        options={"node_limit": BRANCHES},
    )
    if answer.status != 0:
        raise Unsettled(answer.message)
    return float(-answer.fun), np.round(answer.x)


def limits_of(known: Knowledge, hidden: Marks, targets: csr_array) -> NDArray[np.int64]:
    """The least and the greatest value of each target that fits everything known. [whole people]"""
    natural = Aims(targets, np.zeros(targets.shape[0]), targets @ known.people)
    worlds = Worlds(known)
    for way in (-1, 1):
        _try_together(worlds, natural, hidden, way)
    limits = np.column_stack(worlds.reached(natural, hidden))
    for column, way in ((0, -1), (1, 1)):
        for target in np.flatnonzero(worlds.missed(natural, hidden)[column]):
            goal = way * targets[[target]].toarray()[0]
            limits[target, column] = way * _furthest(known, hidden, goal)
    least = np.ceil(limits[:, 0] - ROUNDING)
    return np.column_stack([least, np.floor(limits[:, 1] + ROUNDING)]).astype(np.int64)


def _furthest(known: Knowledge, hidden: Marks, goal: Numbers) -> float:
    """How far a goal can go, in whole people where fractions may go further."""
    far, world, _ = push(known, hidden, goal)
    if known.whole and not _is_whole(world):
        far, _ = push_whole(known, hidden, goal)
    return far
