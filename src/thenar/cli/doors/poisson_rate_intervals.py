"""The door to incidence: new cases for the time at risk."""

from dataclasses import dataclass
from datetime import date

from pydantic.dataclasses import dataclass as checked

from thenar.cli.doors import Door, not_after
from thenar.cli.doors.stated import (
    STRICT,
    CautionAnswer,
    Confidence,
    Count,
    GroundsGiven,
    PersonYears,
    StatedAnswer,
    counted_by,
    elsewhere_answer,
    stated_answer,
)
from thenar.knowledge import Book
from thenar.population.intervals import CountMethod
from thenar.population.rates import Followed, incidence


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class RateGiven:
    """New cases, and the person-years in which they could have come."""

    cases: Count
    person_years: PersonYears
    grounds: GroundsGiven
    method: CountMethod = CountMethod.EXACT
    confidence: Confidence = 0.95
    on: date | None = None


@dataclass(frozen=True, slots=True)
class RateAnswer:
    """New cases for each 1,000 person-years at risk; and what others found."""

    incidence: StatedAnswer
    elsewhere: CautionAnswer | None
    edition: str


def _compute(given: RateGiven, book: Book, today: date) -> RateAnswer:
    on = not_after(given.on, today)
    stated = incidence(
        Followed(given.cases, given.person_years),
        counted_by(today, given.grounds.grounds()),
        book,
        on,
        method=given.method,
        confidence=given.confidence,
    )
    return RateAnswer(stated_answer(stated), elsewhere_answer(stated, book, on), book.edition)


DOOR = Door("poisson-rate-intervals", RateGiven, RateAnswer, _compute)
