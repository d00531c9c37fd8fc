"""An estimate and its ends, as doors print them."""

from dataclasses import dataclass

from thenar.cli.doors.stated import Figure, figure
from thenar.population.intervals import Interval
from thenar.population.time_to_clear import Step


@dataclass(frozen=True, slots=True)
class LimitsAnswer:
    """An estimate, and the ends between which the truth plausibly lies."""

    estimate: Figure
    lower: Figure
    upper: Figure
    confidence: float
    method: str


@dataclass(frozen=True, slots=True)
class StepAnswer:
    """A day on which something ended: how many were watched, and the share not yet there after it."""

    day: float
    watched: int
    ended: int
    not_yet: LimitsAnswer


def limits(interval: Interval) -> LimitsAnswer:
    """An interval in the form every answer uses."""
    return LimitsAnswer(
        figure(interval.estimate),
        figure(interval.lower),
        figure(interval.upper),
        interval.confidence,
        interval.method,
    )


def limits_if_any(interval: Interval | None) -> LimitsAnswer | None:
    """The same where there is one."""
    return None if interval is None else limits(interval)


def steps(curve: tuple[Step, ...]) -> tuple[StepAnswer, ...]:
    """A curve in the form every answer uses."""
    return tuple(StepAnswer(step.day, step.watched, step.ended, limits(step.not_yet)) for step in curve)
