"""Which further cells must be hidden so that those that are hidden stay hidden, at the least loss?"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

from thenar.errors import ThenarError
from thenar.population.disclosure_attack import (
    ROUNDING,
    Aims,
    Cut,
    Marks,
    Worlds,
    missed_aims,
)
from thenar.population.disclosure_knowledge import Knowledge, Numbers
from thenar.population.disclosure_tables import Sum

EXACT_ROUNDS = 60
CUTS_A_ROUND = 400
BRANCHES = 2_000  # of the search in one round


class NothingHelps(ThenarError):
    """Even with everything hidden an attacker reaches the aim."""

    def __init__(self) -> None:
        super().__init__(
            what="Someone can be recognised even if every figure of this table is hidden.",
            why="What was published before gives them away.",
            todo="Audit the earlier releases with the rosters as they are now.",
        )


@dataclass(frozen=True, slots=True)
class Hidden:
    """The cells to hide, what is lost by it, and the least that must be lost. [people in hidden cells]"""

    cells: Marks
    lost: int
    least_lost: float

    @property
    def gap(self) -> float:
        """How far the loss may be above the least possible. [share of the loss, 0 to 1]"""
        return max(0.0, self.lost - self.least_lost) / self.lost if self.lost else 0.0


def hide_least(
    cost: Numbers,
    must: Marks,
    sums: Sequence[Sum],
    attacks: Sequence[tuple[Knowledge, Aims]],
    *,
    rounds: int = EXACT_ROUNDS,
) -> Hidden:
    """The cells whose hiding costs least such that every attacker must hold possible what was asked for.

    Parameters
    ----------
    cost
        What is lost with each cell. [people, 0 or more]
    must
        Marks the cells that are hidden in any case.
    sums
        Which cells add up to which: in none of these is one cell hidden alone.
    attacks
        What attackers know, and what they must hold possible.
    rounds
        After so many rounds cells once hidden stay hidden, which ends the search soon but may cost more.

    Returns
    -------
    Hidden
        With `gap` 0 where the search ended by itself.

    Raises
    ------
    NothingHelps
        What attackers know beside the table is too much already.

    Notes
    -----
    An integer programme chooses cells, attackers try them, each success is a cut, and so on until none
    succeeds [1]_. From one table alone, with everything hidden no attacker succeeds.

    References
    ----------
    .. [1] Fischetti and Salazar, Mathematical Programming 1999;84:283-312.
    """
    worlds = [(Worlds(known), aims) for known, aims in attacks]
    cuts: list[Cut] = []
    hidden, stay, least_lost = must.copy(), must, float(cost[must].sum())
    nth = 0
    while True:
        found = _hidden_alone(hidden, sums) or [
            cut
            for world, aims in worlds
            for _, _, cut in missed_aims(world, aims, hidden, enough=CUTS_A_ROUND)
        ]
        if not found:
            break
        cuts += found
        nth += 1
        if nth > rounds:
            stay = hidden
        hidden, proved = _choose(cost, stay, cuts)
        if nth <= rounds:
            least_lost = max(least_lost, proved)
    return Hidden(hidden, int(cost[hidden].sum()), min(least_lost, float(cost[hidden].sum())))


def _hidden_alone(hidden: Marks, sums: Sequence[Sum]) -> list[Cut]:
    """Sums in which one cell is hidden alone, with what mends it: hide another, or not this one."""
    found = []
    for each in sums:
        cells = [each.total, *each.parts]
        if hidden[cells].sum() == 1:
            worth = np.zeros(len(hidden))
            worth[cells] = np.where(hidden[cells], -1.0, 1.0)
            found.append(Cut(worth, 0.0))
    return found


def _choose(cost: Numbers, stay: Marks, cuts: Sequence[Cut]) -> tuple[Marks, float]:
    """The cheapest cells that satisfy all cuts, and how cheap it can be at all."""
    rows = csr_array(np.array([cut.worth / max(cut.least, 1.0) for cut in cuts]))
    least = np.array([cut.least / max(cut.least, 1.0) for cut in cuts])
    answer = milp(
        cost + 1e-6,  # of cells that cost nothing, the fewest
        integrality=1,
        bounds=Bounds(stay.astype(float), 1),
        constraints=LinearConstraint(rows, least - ROUNDING, np.inf),
        options={"node_limit": BRANCHES, "mip_rel_gap": 0},
    )
    if answer.x is None:
        raise NothingHelps
    bound = answer.mip_dual_bound
    return answer.x > 0.5, 0.0 if bound is None else float(bound)
