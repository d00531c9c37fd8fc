"""The door to shares and rates, period by period."""

from dataclasses import dataclass
from datetime import date
from typing import Annotated, Literal

from pydantic import Field
from pydantic.dataclasses import dataclass as checked

from thenar.cli.doors import Door
from thenar.cli.doors.stated import STRICT, Count, GroundsGiven, Text
from thenar.knowledge import Book
from thenar.population.charts import Chart, chart_rates, chart_shares
from thenar.population.comparable import PeriodCount
from thenar.population.stated import Grounds


@checked(frozen=True, slots=True, config=STRICT)
class PeriodGiven:
    """Cases of a period, and the people or the person-time they came from."""

    period: Text
    cases: Count
    at_risk: Annotated[float, Field(description="people, or person-time in any one unit; above 0")]


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class ChartGiven:
    """Periods in order of time; `usual` of the first tell what is usual, all of them if left out."""

    grounds: GroundsGiven
    of: Literal["shares", "rates"]
    periods: tuple[PeriodGiven, ...]
    usual: int | None = None
    widen: Annotated[bool, Field(description="allow for periods differing more than chance")] = False


@dataclass(frozen=True, slots=True)
class ChartAnswer:
    """Every period with its limits."""

    chart: Chart
    grounds: Grounds
    edition: str


def _compute(given: ChartGiven, book: Book, today: date) -> ChartAnswer:  # noqa: ARG001
    periods = [PeriodCount(one.period, one.cases, one.at_risk) for one in given.periods]
    draw = chart_shares if given.of == "shares" else chart_rates
    chart = draw(periods, usual=given.usual, widen=given.widen)
    return ChartAnswer(chart, given.grounds.grounds(), book.edition)


DOOR = Door("p-u-charts", ChartGiven, ChartAnswer, _compute)
