"""How do the wet-work verdicts on an area's shifts change under a plan?"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from thenar.exposure.controls import PlannedShift
from thenar.exposure.rule_matrix import Outcome, RuleMatrix, rule_matrix
from thenar.exposure.rule_sets import RubPolicy
from thenar.exposure.shift import ShiftQuantities
from thenar.exposure.wet_work import judge_by_matrix
from thenar.knowledge import Book


@dataclass(frozen=True, slots=True)
class VerdictChange:
    """One rule set's verdicts on the shifts: how many are wet work, and how many can't be told. [shifts]"""

    rule_set_id: str
    name: str
    wet_work_before: int
    wet_work_after: int
    not_told_before: int
    not_told_after: int


def verdict_changes(
    shifts: Sequence[PlannedShift], book: Book, on: date, rub_policy: RubPolicy = RubPolicy.EXCLUDED
) -> tuple[VerdictChange, ...]:
    """Wet-work verdicts on shifts as worked and as planned, by every rule set in force.

    Parameters
    ----------
    shifts
        Shifts under a plan.
    book, on, rub_policy
        As for `judge_shift`.

    Notes
    -----
    Changes between water and gloves stay "at most" as before, so no plan is called better than known.

    Examples
    --------
    >>> from thenar.exposure.floor import WorkedShift
    >>> from thenar.knowledge import load
    >>> shift = lambda washes: WorkedShift(ShiftQuantities(whole_shift=True, washes=washes))
    >>> found = verdict_changes([PlannedShift(shift(22), (), (), shift(9))], load(), date(2026, 11, 25))
    >>> german = next(each for each in found if each.rule_set_id == "wet-work.de-trgs-401-2022")
    >>> german.wet_work_before, german.wet_work_after, german.not_told_after
    (1, 0, 1)
    """
    matrix = rule_matrix(book, on, rub_policy)
    before = _outcomes([one.before.load for one in shifts], matrix)
    after = _outcomes([one.after.load for one in shifts], matrix)
    return tuple(
        VerdictChange(
            rule_set_id=rule_set_id,
            name=book.rule_sets[rule_set_id].name,
            wet_work_before=before[rule_set_id][Outcome.WET_WORK],
            wet_work_after=after[rule_set_id][Outcome.WET_WORK],
            not_told_before=_not_told(before[rule_set_id]),
            not_told_after=_not_told(after[rule_set_id]),
        )
        for rule_set_id in before
    )


def _outcomes(loads: Sequence[ShiftQuantities], matrix: RuleMatrix) -> dict[str, Counter[Outcome]]:
    counts: dict[str, Counter[Outcome]] = {}
    for load in loads:
        for verdict in judge_by_matrix(load, matrix):
            counts.setdefault(verdict.rule_set_id, Counter())[verdict.outcome] += 1
    return counts


def _not_told(outcomes: Counter[Outcome]) -> int:
    return outcomes.total() - outcomes[Outcome.WET_WORK] - outcomes[Outcome.NOT_WET_WORK]
