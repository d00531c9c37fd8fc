"""A stated figure as doors take and give it: never without case definition, source, period, denominator."""

from dataclasses import dataclass
from datetime import date
from math import isinf
from typing import Annotated, Literal

from pydantic import ConfigDict, Field
from pydantic.dataclasses import dataclass as checked

from thenar.cli.doors import Cited, cited
from thenar.errors import BadInput
from thenar.knowledge import Book
from thenar.population.elsewhere import found_elsewhere
from thenar.population.stated import AnswerFrom, Grounds, Period, Stated, Unit

STRICT = ConfigDict(extra="forbid", strict=True)

Text = Annotated[str, Field(min_length=1)]
Count = Annotated[int, Field(ge=0, description="a count of people or cases")]
PersonYears = Annotated[float, Field(description="person-years at risk, above 0")]
Confidence = Annotated[float, Field(description="level of the interval, above 0 and below 1")]
Figure = float | Literal["inf"]
"""A number, or "inf" for one without limit."""


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class GroundsGiven:
    """What counts as a case, who said so, and the first and last day of the period."""

    case_definition: Text
    answer_from: AnswerFrom
    first: date
    last: date

    def grounds(self) -> Grounds:
        """The grounds as the computation takes them."""
        return Grounds(self.case_definition, self.answer_from, Period(self.first, self.last))


def counted_by(today: date, grounds: Grounds) -> Grounds:
    """The same grounds, their period over or in its last day.

    Raises
    ------
    BadInput
        The period ends after today.
    """
    last = grounds.period.last
    if last > today:
        raise BadInput(
            what=f"last: {last} is later than today, {today}.",
            why="Cases of days to come are not counted yet, so the figure would be too low.",
            todo="End the period today or before.",
        )
    return grounds


@dataclass(frozen=True, slots=True)
class PeriodAnswer:
    """First and last day, both included."""

    first: date
    last: date


@dataclass(frozen=True, slots=True)
class DenominatorAnswer:
    """Among how many of what."""

    amount: float
    of: str


@dataclass(frozen=True, slots=True)
class CautionAnswer:
    """What stands beside a figure, and where others see it otherwise."""

    says: str
    seen_otherwise: tuple[str, ...]
    source: Cited


@dataclass(frozen=True, slots=True)
class StatedAnswer:
    """A figure with its interval and all that it needs to be read."""

    measure: str
    value: Figure
    lower: Figure
    upper: Figure
    unit: Unit
    confidence: float
    method: str
    case_definition: str
    answer_from: AnswerFrom
    period: PeriodAnswer
    denominators: tuple[DenominatorAnswer, ...]
    cautions: tuple[CautionAnswer, ...]
    in_words: str


def elsewhere_answer(stated: Stated, book: Book, on: date) -> CautionAnswer | None:
    """What others have published of the same measure, to read one's own beside; None where nobody has."""
    found = found_elsewhere(stated.measure, book, on)
    if found is None:
        return None
    return CautionAnswer(found.says, found.seen_otherwise, cited(found.rule, found.citation))


def stated_answer(stated: Stated) -> StatedAnswer:
    """A stated figure as the doors print it."""
    interval, grounds = stated.interval, stated.grounds
    return StatedAnswer(
        measure=stated.measure,
        value=figure(interval.estimate),
        lower=figure(interval.lower),
        upper=figure(interval.upper),
        unit=stated.unit,
        confidence=interval.confidence,
        method=interval.method,
        case_definition=grounds.case_definition,
        answer_from=grounds.answer_from,
        period=PeriodAnswer(grounds.period.first, grounds.period.last),
        denominators=tuple(DenominatorAnswer(one.amount, one.of) for one in stated.denominators),
        cautions=tuple(
            CautionAnswer(one.says, one.seen_otherwise, cited(one.rule, one.citation))
            for one in stated.cautions
        ),
        in_words=stated.in_words,
    )


def figure(number: float) -> Figure:
    """A number as JSON can say it."""
    return "inf" if isinf(number) else float(number)
