"""The door to a running average of measurements."""

from dataclasses import dataclass
from datetime import date
from typing import Annotated

from pydantic import Field
from pydantic.dataclasses import dataclass as checked

from thenar.cli.doors import Door
from thenar.cli.doors.stated import STRICT
from thenar.errors import BadInput
from thenar.knowledge import Book
from thenar.population.ewma import AverageSettings, RunningAverage, average_over_time, width_for


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class AverageGiven:
    """Measurements in order of time. Give `width`, or `false_alarm_every` to design it."""

    values: tuple[float, ...]
    usual: float
    deviation: Annotated[float, Field(description="standard deviation of one value, above 0")]
    weight: Annotated[float, Field(description="share of the newest value, above 0 and at most 1")]
    width: Annotated[float | None, Field(description="in standard deviations of the average")] = None
    false_alarm_every: Annotated[float | None, Field(description="values between false alarms")] = None

    def settings(self) -> AverageSettings:
        """With the width given or designed."""
        if (self.width is None) == (self.false_alarm_every is None):
            raise BadInput(
                what="width: give it, or false_alarm_every, and not both.",
                why="Each sets the limits.",
                todo="Leave one of them out.",
            )
        width = (
            self.width if self.false_alarm_every is None else width_for(self.weight, self.false_alarm_every)
        )
        assert width is not None
        return AverageSettings(self.usual, self.deviation, self.weight, width)


@dataclass(frozen=True, slots=True)
class AverageAnswer:
    """The running average with its limits."""

    average: RunningAverage
    edition: str


def _compute(given: AverageGiven, book: Book, today: date) -> AverageAnswer:  # noqa: ARG001
    return AverageAnswer(average_over_time(given.values, given.settings()), book.edition)


DOOR = Door("ewma", AverageGiven, AverageAnswer, _compute)
