"""The door to cases seen against cases expected."""

from dataclasses import dataclass
from datetime import date
from typing import Annotated

from pydantic import Field
from pydantic.dataclasses import dataclass as checked

from thenar.cli.doors import Door, not_after
from thenar.cli.doors.rate_ratio import FollowedGiven
from thenar.cli.doors.stated import (
    STRICT,
    Confidence,
    Count,
    GroundsGiven,
    PersonYears,
    StatedAnswer,
    counted_by,
    stated_answer,
)
from thenar.errors import BadInput
from thenar.knowledge import Book
from thenar.population.intervals import CountMethod
from thenar.population.standardisation import Reference, expected_cases, standardised_ratio


@checked(frozen=True, slots=True, config=STRICT)
class ExpectedGiven:
    """One group: its time at risk here, and the same group in the reference."""

    person_years: PersonYears
    reference: FollowedGiven


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class RatioGiven:
    """Cases seen, and either the cases `expected` or the `strata` to work them out from."""

    observed: Count
    expected: Annotated[float | None, Field(description="cases expected, above 0")] = None
    strata: tuple[ExpectedGiven, ...] = ()
    reference: Reference
    grounds: GroundsGiven
    method: CountMethod = CountMethod.EXACT
    confidence: Confidence = 0.95
    on: date | None = None

    def cases_expected(self) -> float:
        """As given, or worked out from the groups."""
        if (self.expected is None) == (not self.strata):
            raise BadInput(
                what="expected: give it, or strata, and not both.",
                why="The two could differ.",
                todo="Leave one of them out.",
            )
        if self.expected is not None:
            return self.expected
        here = [one.person_years for one in self.strata]
        return expected_cases(here, [one.reference.followed() for one in self.strata])


@dataclass(frozen=True, slots=True)
class RatioAnswer:
    """The ratio, and how often chance alone gives one as far from 1."""

    ratio: StatedAnswer
    chance: float
    edition: str


def _compute(given: RatioGiven, book: Book, today: date) -> RatioAnswer:
    found = standardised_ratio(
        given.observed,
        given.cases_expected(),
        counted_by(today, given.grounds.grounds()),
        book,
        not_after(given.on, today),
        reference=given.reference,
        method=given.method,
        confidence=given.confidence,
    )
    return RatioAnswer(stated_answer(found.stated), found.chance, book.edition)


DOOR = Door("smr-sir", RatioGiven, RatioAnswer, _compute)
