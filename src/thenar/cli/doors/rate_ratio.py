"""The door to comparing two rates of new cases."""

from dataclasses import dataclass
from datetime import date

from pydantic.dataclasses import dataclass as checked

from thenar.cli.doors import Door, not_after
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
from thenar.knowledge import Book
from thenar.population.rates import Followed, rate_ratio


@checked(frozen=True, slots=True, config=STRICT)
class FollowedGiven:
    """New cases in people followed over time."""

    cases: Count
    person_years: PersonYears

    def followed(self) -> Followed:
        """The group as the computation takes it."""
        return Followed(self.cases, self.person_years)


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class RateRatioGiven:
    """Two groups counted on the same grounds; `other` is the comparison."""

    group: FollowedGiven
    other: FollowedGiven
    grounds: GroundsGiven
    confidence: Confidence = 0.95
    on: date | None = None


@dataclass(frozen=True, slots=True)
class RateRatioAnswer:
    """The ratio. `chance` doubles the smaller tail; the other adds up all that is no likelier."""

    ratio: StatedAnswer
    chance: float
    chance_by_likelihood: float
    edition: str


def _compute(given: RateRatioGiven, book: Book, today: date) -> RateRatioAnswer:
    found = rate_ratio(
        given.group.followed(),
        given.other.followed(),
        counted_by(today, given.grounds.grounds()),
        book,
        not_after(given.on, today),
        confidence=given.confidence,
    )
    return RateRatioAnswer(
        stated_answer(found.stated), found.chance, found.chance_by_likelihood, book.edition
    )


DOOR = Door("rate-ratio", RateRatioGiven, RateRatioAnswer, _compute)
