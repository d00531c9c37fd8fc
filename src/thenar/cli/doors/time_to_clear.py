"""The door to how long cases take to clear."""

from dataclasses import dataclass
from datetime import date
from typing import Annotated

from pydantic import Field
from pydantic.dataclasses import dataclass as checked

from thenar.cli.doors import Door
from thenar.cli.doors.limits import LimitsAnswer, StepAnswer, limits, limits_if_any, steps
from thenar.cli.doors.stated import STRICT, Confidence, GroundsGiven, counted_by
from thenar.knowledge import Book
from thenar.population.stated import Grounds
from thenar.population.time_to_clear import CaseSpan, Ending, Look, time_to_clear

Days = Annotated[float, Field(ge=0, description="days, 0 or more")]


@checked(frozen=True, slots=True, config=STRICT)
class CaseGiven:
    """Days from opening to the last day known of a case, and how it stood then."""

    days: Days
    ending: Ending


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class ClearGiven:
    """All cases opened in a period, whatever became of them."""

    grounds: GroundsGiven
    cases: Annotated[tuple[CaseGiven, ...], Field(min_length=1)]
    competing: Annotated[
        tuple[Ending, ...], Field(description="endings after which clearing can't be seen here any more")
    ] = (Ending.LEFT,)
    confidence: Confidence = 0.95


@dataclass(frozen=True, slots=True)
class ShareAnswer:
    """Share that ended so."""

    ending: Ending
    share: float


@dataclass(frozen=True, slots=True)
class LookAnswer:
    """Up to that day: share clear, and shares that ended otherwise."""

    day: float
    watched: int
    clear: LimitsAnswer
    otherwise: tuple[ShareAnswer, ...]


@dataclass(frozen=True, slots=True)
class ClearAnswer:
    """Median and curve, shares by day, the sentence, and what must stand beside it."""

    sentence: str
    cases: int
    cleared: int
    median: LimitsAnswer | None
    curve: tuple[StepAnswer, ...]
    looks: tuple[LookAnswer, ...]
    cautions: tuple[str, ...]
    grounds: Grounds
    method: str
    edition: str


def _compute(given: ClearGiven, book: Book, today: date) -> ClearAnswer:
    grounds = counted_by(today, given.grounds.grounds())
    found = time_to_clear(
        [CaseSpan(case.days, case.ending) for case in given.cases],
        competing=frozenset(given.competing),
        confidence=given.confidence,
    )
    return ClearAnswer(
        sentence=found.sentence,
        cases=found.cases,
        cleared=found.cleared,
        median=limits_if_any(found.median),
        curve=steps(found.curve),
        looks=tuple(map(_look, found.looks)),
        cautions=found.cautions,
        grounds=grounds,
        method=found.method,
        edition=book.edition,
    )


def _look(look: Look) -> LookAnswer:
    otherwise = tuple(ShareAnswer(ending, share) for ending, share in look.otherwise)
    return LookAnswer(look.day, look.watched, limits(look.clear), otherwise)


DOOR = Door("time-to-clear", ClearGiven, ClearAnswer, _compute)
