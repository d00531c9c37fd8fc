"""The door to what a control or a programme did."""

from dataclasses import dataclass
from datetime import date
from typing import Annotated

from pydantic import Field
from pydantic.dataclasses import dataclass as checked

from thenar.cli.doors import Door
from thenar.cli.doors.limits import LimitsAnswer, limits, limits_if_any
from thenar.cli.doors.stated import STRICT, Confidence, Count, GroundsGiven, PersonYears, Text, counted_by
from thenar.errors import BadInput
from thenar.knowledge import Book
from thenar.population.evaluation import evaluate
from thenar.population.evaluation_terms import Arm, ArmMonth, Change, Effect, Shape, WardMonth
from thenar.population.stated import Grounds


@checked(frozen=True, slots=True, config=STRICT)
class WardMonthGiven:
    """New cases of one ward in one month, and its person-years at risk."""

    ward: Text
    month: Annotated[date, Field(description="the first day of the month")]
    cases: Count
    person_years: PersonYears


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class ChangeGiven:
    """What came, to which wards, on which day; every other ward is a comparison ward."""

    what: Text
    wards: Annotated[tuple[Text, ...], Field(min_length=1)]
    on: date
    shape: Shape = Shape.AT_ONCE
    settling_months: Annotated[int, Field(ge=0, description="months after the day that are left out")] = 0
    picked_for_high_rate: Annotated[
        bool | None, Field(description="whether the wards were picked because they had many cases")
    ] = None

    def change(self) -> Change:
        """The change as the computation takes it."""
        return Change(
            what=self.what,
            wards=frozenset(self.wards),
            on=self.on,
            shape=self.shape,
            settling_months=self.settling_months,
            picked_for_high_rate=self.picked_for_high_rate,
        )


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class EvaluationGiven:
    """The months of all wards, and the change."""

    change: ChangeGiven
    grounds: GroundsGiven
    months: Annotated[tuple[WardMonthGiven, ...], Field(min_length=1)]
    season_pairs: Annotated[int | None, Field(description="sines and cosines that follow the year")] = None
    confidence: Confidence = 0.95


@dataclass(frozen=True, slots=True)
class ArmMonthAnswer:
    """One month of all wards of an arm: cases seen, as fitted, and without the change."""

    arm: Arm
    month: date
    cases: int
    person_years: float
    fitted: float | None
    without: LimitsAnswer | None


@dataclass(frozen=True, slots=True)
class EvaluationAnswer:
    """Rate ratios, the months for a plot, the sentence to read out, and what must stand beside it."""

    sentence: str
    ratio: LimitsAnswer
    level: LimitsAnswer
    slope: LimitsAnswer | None
    cases_after: int
    without_change: float
    months_before: int
    months_after: int
    wards_changed: int
    wards_comparison: int
    season_pairs: int
    spread: float
    carry_over: float
    cautions: tuple[str, ...]
    months: tuple[ArmMonthAnswer, ...]
    grounds: Grounds
    method: str
    edition: str


def _compute(given: EvaluationGiven, book: Book, today: date) -> EvaluationAnswer:
    grounds = counted_by(today, given.grounds.grounds())
    effect = evaluate(
        [_ward_month(place, month) for place, month in enumerate(given.months)],
        given.change.change(),
        grounds,
        season_pairs=given.season_pairs,
        confidence=given.confidence,
    )
    return _answer(effect, grounds, book.edition)


def _ward_month(place: int, given: WardMonthGiven) -> WardMonth:
    try:
        return WardMonth(given.ward, given.month, given.cases, given.person_years)
    except BadInput as error:
        raise BadInput(what=f"months.{place}: {error.what}", why=error.why, todo=error.todo) from None


def _answer(effect: Effect, grounds: Grounds, edition: str) -> EvaluationAnswer:
    return EvaluationAnswer(
        sentence=effect.sentence,
        ratio=limits(effect.ratio),
        level=limits(effect.level),
        slope=limits_if_any(effect.slope),
        cases_after=effect.cases_after,
        without_change=effect.without_change,
        months_before=effect.months_before,
        months_after=effect.months_after,
        wards_changed=effect.wards_changed,
        wards_comparison=effect.wards_comparison,
        season_pairs=effect.season_pairs,
        spread=effect.spread,
        carry_over=effect.carry_over,
        cautions=effect.cautions,
        months=tuple(_month(month) for month in effect.months),
        grounds=grounds,
        method=effect.method,
        edition=edition,
    )


def _month(month: ArmMonth) -> ArmMonthAnswer:
    return ArmMonthAnswer(
        month.arm,
        month.month,
        month.cases,
        month.person_years,
        month.fitted,
        limits_if_any(month.without),
    )


DOOR = Door("evaluation", EvaluationGiven, EvaluationAnswer, _compute)
