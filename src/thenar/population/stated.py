"""What must every figure carry before it may be shown?"""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from math import isinf

from thenar.errors import BadInput
from thenar.population.cautions import Caution
from thenar.population.counts import check_amount
from thenar.population.intervals import Interval


class IncompleteFigure(BadInput):
    """A figure without what makes it readable."""

    def __init__(self, says: str) -> None:
        super().__init__(
            what=f"{says}.",
            why="Another case definition, source or period can change a figure fivefold.",
            todo="Say what counts as a case, who said so, when, and among how many.",
        )


class AnswerFrom(StrEnum):
    """Who said that there was hand trouble."""

    SELF_REPORT = "self-report"
    CHECKER = "trained skin checker"
    EXAMINATION = "examination"
    CLINIC = "cases seen by the service"
    SICKNESS = "sickness records"
    LINKED = "linked sources"


class Unit(StrEnum):
    """What a figure counts in."""

    SHARE = "share"
    PER_1000_PERSON_YEARS = "per 1,000 person-years"
    RATIO = "ratio"
    PEOPLE = "people"


@dataclass(frozen=True, slots=True)
class Period:
    """The days a figure speaks of, first and last included."""

    first: date
    last: date

    def __post_init__(self) -> None:
        if self.last < self.first:
            raise BadInput(
                what=f"period: ends on {self.last}, before it starts on {self.first}.",
                why="Nothing can happen in it.",
                todo="Check both dates; they may be swapped.",
            )

    def __str__(self) -> str:
        return f"{self.first}" if self.first == self.last else f"{self.first} to {self.last}"


@dataclass(frozen=True, slots=True)
class Grounds:
    """What counts as a case, who said so, and in which days."""

    case_definition: str
    answer_from: AnswerFrom
    period: Period

    def __post_init__(self) -> None:
        if not self.case_definition.strip():
            raise IncompleteFigure("case_definition: is empty")


@dataclass(frozen=True, slots=True)
class Denominator:
    """Among how many: `263` of `people who answered`. [above 0]"""

    amount: float
    of: str

    def __post_init__(self) -> None:
        check_amount(self.of or "denominator", self.amount)

    def __str__(self) -> str:
        return f"{self.amount:,.10g} {self.of}"


@dataclass(frozen=True, slots=True)
class Stated:
    """A figure with all that it needs to be read: nothing leaves this room as a bare number."""

    measure: str
    unit: Unit
    interval: Interval
    grounds: Grounds
    denominators: tuple[Denominator, ...]
    cautions: tuple[Caution, ...] = ()

    def __post_init__(self) -> None:
        if not self.denominators:
            raise IncompleteFigure(f"{self.measure}: has no denominator")

    @property
    def in_words(self) -> str:
        """The whole figure as one line for a page or a report.

        Examples
        --------
        >>> day = Period(date(2026, 3, 2), date(2026, 3, 2))
        >>> grounds = Grounds("hand eczema now", AnswerFrom.EXAMINATION, day)
        >>> seen, of = Interval(0.25, 0.2, 0.305, 0.95, "Wilson"), (Denominator(263, "people"),)
        >>> print(Stated("point prevalence", Unit.SHARE, seen, grounds, of).in_words)
        Point prevalence: 25.0 % (95 % interval 20.0 % to 30.5 %, Wilson). Case: hand eczema now. Source:
        examination. Period: 2026-03-02. Of: 263 people.
        """
        lower, upper = self._written(self.interval.lower), self._written(self.interval.upper)
        level = f"{100 * self.interval.confidence:.10g} %"
        unit = f" {self.unit}" if self.unit in (Unit.PER_1000_PERSON_YEARS, Unit.PEOPLE) else ""
        return (
            f"{self.measure[:1].upper()}{self.measure[1:]}: {self._written(self.interval.estimate)}{unit}"
            f" ({level} interval {lower} to {upper}, {self.interval.method})."
            f" Case: {self.grounds.case_definition}. Source: {self.grounds.answer_from}."
            f" Period: {self.grounds.period}. Of: {'; '.join(map(str, self.denominators))}."
        )

    def _written(self, figure: float) -> str:
        if isinf(figure):
            return "without limit"
        if self.unit is Unit.SHARE:
            return f"{100 * figure:.1f} %"
        return f"{figure:.2f}" if self.unit is Unit.RATIO else f"{figure:,.1f}"
