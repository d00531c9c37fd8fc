"""The door to many tests judged together."""

from dataclasses import dataclass
from datetime import date
from typing import Annotated

from pydantic import Field
from pydantic.dataclasses import dataclass as checked

from thenar.cli.doors import Door
from thenar.cli.doors.stated import STRICT, Text
from thenar.knowledge import Book
from thenar.population.multiple import JudgedTogether, NamedTest, judge_together


@checked(frozen=True, slots=True, config=STRICT)
class OneTestGiven:
    """One test, and how likely its result or a stronger one is by chance."""

    name: Text
    chance: Annotated[float, Field(description="from 0 to 1")]


@checked(frozen=True, slots=True, config=STRICT)
class ManyTestsGiven:
    """All tests that were made, also those that showed nothing."""

    tests: tuple[OneTestGiven, ...]
    share: Annotated[float, Field(description="share of findings that may be false, above 0, below 1")] = 0.05


@dataclass(frozen=True, slots=True)
class ManyTestsAnswer:
    """The tests by name, and how many still stand."""

    judged: JudgedTogether
    edition: str


def _compute(given: ManyTestsGiven, book: Book, today: date) -> ManyTestsAnswer:  # noqa: ARG001
    tests = [NamedTest(one.name, one.chance) for one in given.tests]
    return ManyTestsAnswer(judge_together(tests, given.share), book.edition)


DOOR = Door("multiple-testing", ManyTestsGiven, ManyTestsAnswer, _compute)
