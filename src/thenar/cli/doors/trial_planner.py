"""The door to planning a trial that gives a change to wards by lot."""

from dataclasses import dataclass
from datetime import date
from typing import Annotated

from pydantic import Field
from pydantic.dataclasses import dataclass as checked

from thenar.cli.doors import Door
from thenar.cli.doors.stated import STRICT
from thenar.errors import BadInput
from thenar.knowledge import Book
from thenar.population.trial_planner import (
    USUAL_SPREAD,
    Outcome,
    Trial,
    TrialPlan,
    judge_trial,
    plan_trial,
    spread_of_correlation,
)

A_POWER = 0.8


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class TrialGiven:
    """What is counted and how wards differ; then either a power to reach, or the wards there are."""

    outcome: Outcome
    usual: Annotated[float, Field(description="rate per person-year, or share, without the change")]
    with_change: Annotated[float, Field(description="the same with the change")]
    per_ward: Annotated[float, Field(description="person-years of a ward, or people asked, above 0")]
    spread: Annotated[
        float | None, Field(description="standard deviation of the wards' true figures over their mean")
    ] = None
    correlation: Annotated[
        float | None, Field(description="intra-ward correlation of a share, instead of spread")
    ] = None
    significance: float = 0.05
    power: Annotated[float | None, Field(description="chance to see a change of that size")] = None
    wards_per_arm: Annotated[int | None, Field(description="wards in each arm, instead of power")] = None

    def trial(self) -> Trial:
        """The trial as the computation takes it."""
        return Trial(
            outcome=self.outcome,
            usual=self.usual,
            with_change=self.with_change,
            per_ward=self.per_ward,
            spread=self._spread(),
            significance=self.significance,
        )

    def _spread(self) -> float:
        if self.correlation is None:
            return USUAL_SPREAD if self.spread is None else self.spread
        if self.spread is not None or self.outcome is not Outcome.SHARE:
            raise BadInput(
                what="correlation: is for shares, and instead of spread.",
                why="Two statements of how wards differ would contradict each other.",
                todo="Leave one of them out.",
            )
        return spread_of_correlation(self.correlation, self.usual)


@dataclass(frozen=True, slots=True)
class TrialAnswer:
    """Wards in each arm, power and design effect, with the sentence and its cautions."""

    plan: TrialPlan
    spread: float
    edition: str


def _compute(given: TrialGiven, book: Book, today: date) -> TrialAnswer:  # noqa: ARG001
    if given.power is not None and given.wards_per_arm is not None:
        raise BadInput(
            what="power: give it, or wards_per_arm, and not both.",
            why="One follows from the other.",
            todo="Leave one of them out.",
        )
    trial = given.trial()
    if given.wards_per_arm is not None:
        plan = judge_trial(trial, given.wards_per_arm)
    else:
        plan = plan_trial(trial, A_POWER if given.power is None else given.power)
    return TrialAnswer(plan, trial.spread, book.edition)


DOOR = Door("trial-planner", TrialGiven, TrialAnswer, _compute)
