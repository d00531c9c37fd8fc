"""The door to a rate standardised to another mix of staff."""

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
    GroundsGiven,
    PersonYears,
    StatedAnswer,
    Text,
    counted_by,
    stated_answer,
)
from thenar.knowledge import Book
from thenar.population.rates import Followed
from thenar.population.standardisation import GammaEnd, Stratum, standardised_rate


@checked(frozen=True, slots=True, config=STRICT)
class StratumGiven:
    """One group of the staff, and how many the standard has of it."""

    name: Text
    cases: Count
    person_years: PersonYears
    standard: Annotated[float, Field(description="people or person-years in the standard, above 0")]

    def stratum(self) -> Stratum:
        """The group as the computation takes it."""
        return Stratum(self.name, Followed(self.cases, self.person_years), self.standard)


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class DirectGiven:
    """The groups, and how the upper end is made."""

    strata: tuple[StratumGiven, ...]
    grounds: GroundsGiven
    end: GammaEnd = GammaEnd.FAY_FEUER
    confidence: Confidence = 0.95
    on: date | None = None


@dataclass(frozen=True, slots=True)
class DirectAnswer:
    """The standardised rate, and the crude one for each 1,000 person-years."""

    standardised: StatedAnswer
    crude_per_1000_person_years: float
    edition: str


def _compute(given: DirectGiven, book: Book, today: date) -> DirectAnswer:
    found = standardised_rate(
        [one.stratum() for one in given.strata],
        counted_by(today, given.grounds.grounds()),
        book,
        not_after(given.on, today),
        end=given.end,
        confidence=given.confidence,
    )
    return DirectAnswer(stated_answer(found.stated), found.crude, book.edition)


DOOR = Door("direct-standardisation", DirectGiven, DirectAnswer, _compute)
