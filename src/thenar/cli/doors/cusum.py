"""The door to cumulative sums: of measurements, of cases against what was expected, of checks one by one."""

from dataclasses import dataclass
from datetime import date
from typing import Annotated, Literal

from pydantic import Field
from pydantic.dataclasses import dataclass as checked

from thenar.cli.doors import Door
from thenar.cli.doors.stated import STRICT, Count, GroundsGiven, Text
from thenar.errors import BadInput
from thenar.knowledge import Book
from thenar.population.comparable import PeriodCount
from thenar.population.cusum import MeasureSums, SumSettings, sum_measures, threshold_for
from thenar.population.cusum_cases import WatchedCases, design_watch, watch_cases
from thenar.population.cusum_checks import WatchedChecks, design_check_watch, watch_checks
from thenar.population.stated import Grounds

Every = Annotated[float, Field(description="how many of them between false alarms, on average")]


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class MeasuresGiven:
    """Measurements in order of time. Give `threshold`, or `false_alarm_every` with `deviation`."""

    of: Literal["measurements"]
    values: tuple[float, ...]
    usual: float
    slack: Annotated[float, Field(description="half the shift worth seeing, in the unit of the values")]
    threshold: float | None = None
    false_alarm_every: Every | None = None
    deviation: Annotated[float | None, Field(description="standard deviation of one value")] = None

    def watched(self) -> MeasureSums:
        """The sums, under the threshold given or designed."""
        settings = SumSettings(self.usual, self.slack, self._threshold())
        return sum_measures(self.values, settings, self.deviation)

    def _threshold(self) -> float:
        if self.threshold is not None and self.false_alarm_every is None:
            return self.threshold
        if self.threshold is not None or self.false_alarm_every is None or not self.deviation:
            raise BadInput(
                what="threshold: give it, or false_alarm_every with deviation, and not both.",
                why="A threshold out of the air has false alarms that nobody knows of.",
                todo="Leave one of them out.",
            )
        return threshold_for(self.slack / self.deviation, self.false_alarm_every) * self.deviation


@checked(frozen=True, slots=True, config=STRICT)
class ExpectedGiven:
    """One period: its cases, and how many its person-time would bring at the usual rate."""

    period: Text
    cases: Count
    expected: Annotated[float, Field(description="cases expected, above 0")]


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class CasesGiven:
    """Cases of one area in order of time.

    The threshold is designed on `plan_on`, the cases expected in each period of a round that repeats (a year
    of months, say); on the periods' own if left out. `areas` so watched together share the false alarms.
    """

    of: Literal["cases"]
    grounds: GroundsGiven
    periods: tuple[ExpectedGiven, ...]
    rise: Annotated[float, Field(description="how many times the usual rate is worth an alarm, above 1")]
    false_alarm_every: Every
    areas: int = 1
    plan_on: tuple[float, ...] = ()
    head_start: bool = False

    def watched(self) -> WatchedCases:
        """The sum, under a threshold designed for the stated false alarms."""
        periods = [PeriodCount(one.period, one.cases, one.expected) for one in self.periods]
        watch = design_watch(
            self.plan_on or [one.expected for one in self.periods],
            self.rise,
            self.false_alarm_every,
            areas=self.areas,
            head_start=self.head_start,
        )
        return watch_cases(periods, watch)


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class ChecksGiven:
    """Checks one by one in order of time: whether each had a finding."""

    of: Literal["checks"]
    grounds: GroundsGiven
    findings: tuple[bool, ...]
    usual: Annotated[float, Field(description="usual share with a finding, above 0 and below 1")]
    raised: Annotated[float, Field(description="share worth an alarm, above usual and below 1")]
    false_alarm_every: Every

    def watched(self) -> WatchedChecks:
        """The sum, under a threshold designed for the stated false alarms."""
        return watch_checks(
            self.findings, design_check_watch(self.usual, self.raised, self.false_alarm_every)
        )


Watch = Annotated[MeasuresGiven | CasesGiven | ChecksGiven, Field(discriminator="of")]


@checked(frozen=True, slots=True, config=STRICT)
class SumGiven:
    """What to watch."""

    watch: Watch


@dataclass(frozen=True, slots=True)
class SumAnswer:
    """The sum over time and its first alarm. `grounds` is null for measurements."""

    watched: MeasureSums | WatchedCases | WatchedChecks
    grounds: Grounds | None
    edition: str


def _compute(given: SumGiven, book: Book, today: date) -> SumAnswer:  # noqa: ARG001
    watch = given.watch
    grounds = None if isinstance(watch, MeasuresGiven) else watch.grounds.grounds()
    return SumAnswer(watch.watched(), grounds, book.edition)


DOOR = Door("cusum", SumGiven, SumAnswer, _compute)
