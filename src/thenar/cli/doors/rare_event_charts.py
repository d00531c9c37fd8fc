"""The door to gaps between rare cases."""

from dataclasses import dataclass
from datetime import date
from typing import Annotated

from pydantic import Field
from pydantic.dataclasses import dataclass as checked

from thenar.cli.doors import Door
from thenar.cli.doors.stated import STRICT, GroundsGiven
from thenar.errors import BadInput
from thenar.knowledge import Book
from thenar.population.rare_events import GapChart, chart_number_between, chart_time_between
from thenar.population.stated import Grounds


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class GapsGiven:
    """Either the time between cases, or how many went without (shifts, checks), in order of time."""

    grounds: GroundsGiven
    days_between: Annotated[tuple[float, ...], Field(description="days, 0 or more")] = ()
    number_between: Annotated[tuple[int, ...], Field(description="counts, 0 or more")] = ()


@dataclass(frozen=True, slots=True)
class GapsAnswer:
    """Every gap with its limits."""

    chart: GapChart
    grounds: Grounds
    edition: str


def _compute(given: GapsGiven, book: Book, today: date) -> GapsAnswer:  # noqa: ARG001
    if bool(given.days_between) == bool(given.number_between):
        raise BadInput(
            what="days_between: give it, or number_between, and not both.",
            why="Each has limits of its own.",
            todo="Leave one of them out.",
        )
    if given.days_between:
        chart = chart_time_between(given.days_between)
    else:
        chart = chart_number_between(given.number_between)
    return GapsAnswer(chart, given.grounds.grounds(), book.edition)


DOOR = Door("rare-event-charts", GapsGiven, GapsAnswer, _compute)
