"""Which areas, and which periods, can be held against each other?"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite

from thenar.errors import BadInput
from thenar.population.counts import UnusableCount, check_amount, check_count


class NothingToCompare(BadInput):
    """Each figure is possible, but together they carry no comparison."""

    def __init__(self, what: str, todo: str) -> None:
        super().__init__(what=what, why="A limit drawn from this would mean nothing.", todo=todo)


@dataclass(frozen=True, slots=True)
class AreaCount:
    """Cases of one area, and how many its person-time would bring at the usual rate. [count; above 0]"""

    area: str
    cases: int
    expected: float

    def __post_init__(self) -> None:
        check_count(f"cases of {self.area}", self.cases)
        check_amount(f"expected of {self.area}", self.expected)


@dataclass(frozen=True, slots=True)
class AreaShare:
    """People with a finding among the people asked in one area. [counts; people 1 or more]"""

    area: str
    cases: int
    people: int

    def __post_init__(self) -> None:
        check_people(self.area, self.cases, self.people)


@dataclass(frozen=True, slots=True)
class PeriodCount:
    """Cases of one period, and the person-time or the people they came from. [count; above 0]"""

    period: str
    cases: int
    at_risk: float

    def __post_init__(self) -> None:
        check_count(f"cases of {self.period}", self.cases)
        check_amount(f"at_risk of {self.period}", self.at_risk)


def check_people(of: str, cases: int, people: float) -> None:
    """Refuse cases among people who can't be, or among nobody."""
    check_count(f"cases of {of}", cases)
    if people != int(people) or people < 1:
        raise UnusableCount(f"people of {of}", people, "a whole number, 1 or more")
    if cases > people:
        raise UnusableCount(f"cases of {of}", cases, f"at most its people, {people:g}")


def check_number(field: str, figure: float) -> None:
    """Refuse what is not a finite number."""
    if isinstance(figure, bool) or not isinstance(figure, int | float) or not isfinite(figure):
        raise UnusableCount(field, figure, "a number")


def check_between(field: str, figure: float, above: float, below: float) -> None:
    """Refuse what does not lie between both, which are themselves not allowed."""
    check_number(field, figure)
    if not above < figure < below:
        raise UnusableCount(field, figure, f"above {above:g} and below {below:g}")


def check_named_once(field: str, names: Sequence[str]) -> None:
    """Refuse a name that stands twice: which line counts would be a guess."""
    seen: set[str] = set()
    for name in names:
        if name in seen:
            raise UnusableCount(field, name, "named once")
        seen.add(name)
