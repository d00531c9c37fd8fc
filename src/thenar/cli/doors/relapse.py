"""The door to how often hand trouble comes back."""

from dataclasses import dataclass
from datetime import date
from typing import Annotated

from pydantic import Field
from pydantic.dataclasses import dataclass as checked

from thenar.cli.doors import Door
from thenar.cli.doors.limits import LimitsAnswer, StepAnswer, limits, limits_if_any, steps
from thenar.cli.doors.stated import STRICT, Confidence, GroundsGiven, counted_by
from thenar.errors import BadInput
from thenar.knowledge import Book
from thenar.population.relapse import Followed, LastSeen, count_relapses
from thenar.population.stated import Grounds
from thenar.population.time_to_clear import LOOKS

Days = Annotated[float, Field(ge=0, description="days since the hands were clear, 0 or more")]


@checked(frozen=True, slots=True, config=STRICT)
class FollowedGiven:
    """Someone watched from the day their hands were clear: days until the last known, days of relapses."""

    days: Days
    relapses: tuple[Days, ...] = ()
    last_seen: LastSeen = LastSeen.WATCHED


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class RelapseGiven:
    """Everyone who cleared in a period, with or without relapse."""

    grounds: GroundsGiven
    people: Annotated[tuple[FollowedGiven, ...], Field(min_length=1)]
    leaving_ends_it: Annotated[bool, Field(description="whether who left has no more relapses here")] = True
    at: Annotated[tuple[Days, ...], Field(description="days at which the mean count is told")] = LOOKS
    confidence: Confidence = 0.95


@dataclass(frozen=True, slots=True)
class MeanCountAnswer:
    """Relapses a person has had by that day, on average."""

    day: float
    watched: int
    relapses: LimitsAnswer


@dataclass(frozen=True, slots=True)
class RelapseAnswer:
    """First relapse, mean count by day, the sentence, and what must stand beside it."""

    sentence: str
    people: int
    relapses: int
    relapsed: int
    median_first: LimitsAnswer | None
    first: tuple[StepAnswer, ...]
    counts: tuple[MeanCountAnswer, ...]
    cautions: tuple[str, ...]
    grounds: Grounds
    method: str
    edition: str


def _compute(given: RelapseGiven, book: Book, today: date) -> RelapseAnswer:
    grounds = counted_by(today, given.grounds.grounds())
    found = count_relapses(
        [_followed(place, one) for place, one in enumerate(given.people)],
        leaving_ends_it=given.leaving_ends_it,
        at=given.at,
        confidence=given.confidence,
    )
    return RelapseAnswer(
        sentence=found.sentence,
        people=found.people,
        relapses=found.relapses,
        relapsed=found.relapsed,
        median_first=limits_if_any(found.median_first),
        first=steps(found.first),
        counts=tuple(MeanCountAnswer(one.day, one.watched, limits(one.relapses)) for one in found.counts),
        cautions=found.cautions,
        grounds=grounds,
        method=found.method,
        edition=book.edition,
    )


def _followed(place: int, given: FollowedGiven) -> Followed:
    try:
        return Followed(given.days, given.relapses, given.last_seen)
    except BadInput as error:
        raise BadInput(what=f"people.{place}: {error.what}", why=error.why, todo=error.todo) from None


DOOR = Door("relapse", RelapseGiven, RelapseAnswer, _compute)
