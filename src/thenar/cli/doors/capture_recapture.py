"""The door to how many have hand trouble that neither of two sources knows of."""

from dataclasses import dataclass
from datetime import date
from typing import Annotated

from pydantic import Field
from pydantic.dataclasses import dataclass as checked

from thenar.cli.doors import Door, not_after
from thenar.cli.doors.stated import (
    STRICT,
    Confidence,
    Count,
    StatedAnswer,
    Text,
    counted_by,
    stated_answer,
)
from thenar.knowledge import Book
from thenar.population.capture_recapture import TwoSources, unreported
from thenar.population.stated import AnswerFrom, Grounds, Period


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class SourcesGiven:
    """People known to each of two sources and to both, each person once, on one case definition."""

    first_source: Text
    second_source: Text
    in_first: Count
    in_second: Count
    in_both: Count
    case_definition: Text
    first: Annotated[date, Field(description="first day of the period")]
    last: Annotated[date, Field(description="last day of the period")]
    confidence: Confidence = 0.95
    on: date | None = None


@dataclass(frozen=True, slots=True)
class SourcesAnswer:
    """How many there are in all; `known_to_neither` is the estimate less those known."""

    in_all: StatedAnswer
    known: int
    known_to_neither: float
    edition: str


def _compute(given: SourcesGiven, book: Book, today: date) -> SourcesAnswer:
    period = Period(given.first, given.last)
    grounds = Grounds(given.case_definition, AnswerFrom.LINKED, period)
    found = unreported(
        TwoSources(given.in_first, given.in_second, given.in_both),
        counted_by(today, grounds),
        book,
        not_after(given.on, today),
        first=given.first_source,
        second=given.second_source,
        confidence=given.confidence,
    )
    return SourcesAnswer(stated_answer(found.in_all), found.known, found.known_to_neither, book.edition)


DOOR = Door("capture-recapture", SourcesGiven, SourcesAnswer, _compute)
