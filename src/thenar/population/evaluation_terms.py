"""In which words are a change and its effect given and told?"""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from thenar.errors import BadInput
from thenar.population.counts import UnusableCount, check_amount, check_count
from thenar.population.intervals import Interval


class CannotEvaluate(BadInput):
    """Each figure is possible, but together they can't tell whether the change worked."""

    def __init__(self, what: str, todo: str) -> None:
        super().__init__(
            what=what, why="A rate ratio made from this would be believed and mean nothing.", todo=todo
        )


class Shape(StrEnum):
    """How the change is thought to act. Say so before looking at the figures."""

    AT_ONCE = "at once"
    AT_ONCE_AND_GROWING = "at once and growing"


class Arm(StrEnum):
    """Whether a ward got the change."""

    CHANGED = "changed"
    COMPARISON = "comparison"


@dataclass(frozen=True, slots=True)
class WardMonth:
    """New cases of one ward in one month, and its person-years at risk. [count; above 0]

    `month` is the first day of the month.
    """

    ward: str
    month: date
    cases: int
    person_years: float

    def __post_init__(self) -> None:
        check_count(f"cases of {self.ward} in {self.month:%Y-%m}", self.cases)
        check_amount(f"person_years of {self.ward} in {self.month:%Y-%m}", self.person_years)
        if self.month.day != 1:
            raise UnusableCount(f"month of {self.ward}", str(self.month), "the first day of a month")


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """A control or a programme that came to some wards on one day.

    `settling_months` after that day are left out, and so is the month it fell into unless it was the first
    of it. `picked_for_high_rate` says whether the wards were picked because they had many cases; None where
    nobody knows.
    """

    what: str
    wards: frozenset[str]
    on: date
    shape: Shape = Shape.AT_ONCE
    settling_months: int = 0
    picked_for_high_rate: bool | None = None

    def __post_init__(self) -> None:
        check_count("settling_months", self.settling_months)
        if not self.what.strip() or not self.wards:
            raise CannotEvaluate(
                "The change has no name, or came to no ward.", "Say what was changed and on which wards."
            )


@dataclass(frozen=True, slots=True)
class ArmMonth:
    """One month of all wards of an arm, for a plot.

    `without` is how many cases the month would have had without the change, with its ends: None before the
    change and on comparison wards. `fitted` is None in months left out.
    """

    arm: Arm
    month: date
    cases: int
    person_years: float
    fitted: float | None
    without: Interval | None


@dataclass(frozen=True, slots=True)
class Effect:
    """What a change did to the rate of new cases.

    `ratio` compares all months after the change with what they would have been without it. `level` is the
    step at the change. `slope` is by how much the ratio grows each further year; None where the change acts
    at once. `spread` is how much more months differ than chance makes them (1 by chance alone); `carry_over`
    is the correlation of one month's surprise with the next. [-1 to 1]
    """

    ratio: Interval
    level: Interval
    slope: Interval | None
    cases_after: int
    without_change: float
    months_before: int
    months_after: int
    wards_changed: int
    wards_comparison: int
    season_pairs: int
    spread: float
    carry_over: float
    months: tuple[ArmMonth, ...]
    sentence: str
    cautions: tuple[str, ...]
    method: str
