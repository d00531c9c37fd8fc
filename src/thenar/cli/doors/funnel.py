"""The door to areas held against what chance allows."""

from dataclasses import dataclass
from datetime import date
from typing import Annotated

from pydantic import Field
from pydantic.dataclasses import dataclass as checked

from thenar.cli.doors import Door
from thenar.cli.doors.stated import STRICT, Count, GroundsGiven, Text
from thenar.errors import BadInput
from thenar.knowledge import Book
from thenar.population.comparable import AreaCount, AreaShare
from thenar.population.funnel import Funnel, compare_ratios, compare_shares
from thenar.population.stated import Grounds


@checked(frozen=True, slots=True, config=STRICT)
class AreaGiven:
    """Cases of an area, and how many its person-time would bring at the usual rate."""

    area: Text
    cases: Count
    expected: Annotated[float, Field(description="cases expected, above 0")]

    def area_count(self) -> AreaCount:
        """The area as the computation takes it."""
        return AreaCount(self.area, self.cases, self.expected)


@checked(frozen=True, slots=True, config=STRICT)
class ShareGiven:
    """People with a finding among the people asked in an area."""

    area: Text
    cases: Count
    people: Count


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class FunnelGiven:
    """Either `areas` or `shares`. `target` is a ratio of cases to expected (1 if left out), or a share."""

    grounds: GroundsGiven
    areas: tuple[AreaGiven, ...] = ()
    shares: tuple[ShareGiven, ...] = ()
    target: float | None = None
    widen: Annotated[bool, Field(description="allow for differences usual between areas")] = True


@dataclass(frozen=True, slots=True)
class FunnelAnswer:
    """Every area by name, with its limits."""

    funnel: Funnel
    grounds: Grounds
    edition: str


def _compute(given: FunnelGiven, book: Book, today: date) -> FunnelAnswer:  # noqa: ARG001
    return FunnelAnswer(_funnel(given), given.grounds.grounds(), book.edition)


def _funnel(given: FunnelGiven) -> Funnel:
    if bool(given.areas) == bool(given.shares):
        raise BadInput(
            what="areas: give it, or shares, and not both.",
            why="Each has limits of its own.",
            todo="Leave one of them out.",
        )
    if given.areas:
        areas = [one.area_count() for one in given.areas]
        return compare_ratios(areas, 1.0 if given.target is None else given.target, widen=given.widen)
    if given.target is None:
        raise BadInput(
            what="target: is missing.",
            why="Shares can only be held against a share.",
            todo="Give the share of the whole hospital, or one agreed beforehand.",
        )
    shares = [AreaShare(one.area, one.cases, one.people) for one in given.shares]
    return compare_shares(shares, given.target, widen=given.widen)


DOOR = Door("funnel", FunnelGiven, FunnelAnswer, _compute)
