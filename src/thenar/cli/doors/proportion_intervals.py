"""The door to prevalence: cases among people asked, as counted."""

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
    StatedAnswer,
    counted_by,
    elsewhere_answer,
    stated_answer,
)
from thenar.knowledge import Book
from thenar.population.intervals import ShareMethod
from thenar.population.prevalence import Asked, Recall, prevalence


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class ProportionGiven:
    """Cases among those who answered. `invited` is how many were asked: leave it out where nobody knows."""

    cases: Count
    answered: Count
    invited: Count | None = None
    recall: Recall
    grounds: GroundsGiven
    method: ShareMethod = ShareMethod.WILSON
    confidence: Confidence = 0.95
    on: date | None = None


@dataclass(frozen=True, slots=True)
class ProportionAnswer:
    """The prevalence as counted, uncorrected; and what others found."""

    prevalence: StatedAnswer
    elsewhere: CautionAnswer | None
    edition: str


def _compute(given: ProportionGiven, book: Book, today: date) -> ProportionAnswer:
    on = not_after(given.on, today)
    stated = prevalence(
        Asked(given.cases, given.answered, given.invited),
        counted_by(today, given.grounds.grounds()),
        given.recall,
        book,
        on,
        method=given.method,
        confidence=given.confidence,
    )
    return ProportionAnswer(stated_answer(stated), elsewhere_answer(stated, book, on), book.edition)


DOOR = Door("proportion-intervals", ProportionGiven, ProportionAnswer, _compute)
