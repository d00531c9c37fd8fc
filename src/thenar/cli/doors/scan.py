"""The door to the scan for clusters: by area, role, product in stock and time."""

from dataclasses import dataclass
from datetime import date
from typing import Annotated

from pydantic import Field
from pydantic.dataclasses import dataclass as checked

from thenar.cli.doors import Door
from thenar.cli.doors.stated import STRICT, Count, GroundsGiven, Text, counted_by
from thenar.knowledge import Book
from thenar.population.scan import Ending, Scan, ScanSettings, scan_for_clusters
from thenar.population.scan_delay import ReportingDelay, observed_delay
from thenar.population.scan_expected import By
from thenar.population.scan_ground import Counted, ScanArea, ScanGround, Span, Stocked, lay_ground
from thenar.population.stated import Grounds


@checked(frozen=True, slots=True, config=STRICT)
class AreaGiven:
    """A place of work and the one it is part of; null at the top."""

    area: Text
    within: Text | None = None


@checked(frozen=True, slots=True, config=STRICT)
class CountGiven:
    """New cases of a role in an area in one period, and their time at risk. What had none is left out."""

    area: Text
    role: Text
    starts: Annotated[date, Field(description="first day of the period")]
    cases: Count
    person_time: Annotated[
        float, Field(description="in any one unit; 0 or more, above 0 where there are cases")
    ]


@checked(frozen=True, slots=True, config=STRICT)
class StockGiven:
    """A product present in an area from a day until another; null where it still is."""

    product: Text
    area: Text
    first: date
    last: date | None = None


@checked(frozen=True, slots=True, config=STRICT)
class SeenLateGiven:
    """Cases reported so far by when they began: numbers of periods, of which `now` is the last."""

    began: tuple[int, ...]
    reported: tuple[int, ...]
    now: int
    longest: Annotated[int, Field(ge=0, description="no case is reported more periods late than this")]


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class ScanGiven:
    """What was counted, and how to look.

    `periods` are the first days of each; the last ends with the grounds. For reporting delay give either
    `reported`, the share of cases reported by the end of the period itself, the next and so on, or `delays`,
    to learn it from.
    """

    grounds: GroundsGiven
    areas: tuple[AreaGiven, ...]
    periods: tuple[date, ...]
    counts: tuple[CountGiven, ...]
    stock: tuple[StockGiven, ...]
    ending: Annotated[Ending, Field(description="windows until now, or any")] = Ending.NOW
    by: Annotated[tuple[By, ...], Field(description="by what the usual rate may differ")] = (By.ROLE,)
    reported: tuple[float, ...] | None = None
    delays: SeenLateGiven | None = None
    longest: Annotated[int | None, Field(description="longest window, in periods")] = None
    least_cases: int = 2
    largest_share: Annotated[float, Field(description="of all cases, expected in a window")] = 0.5
    worth: Annotated[float, Field(description="chance up to which a cluster is named")] = 0.05
    most: int = 10
    replicates: int = 999
    seed: int = 1

    def ground(self, last: date) -> ScanGround:
        """The counts, laid out."""
        return lay_ground(
            [ScanArea(one.area, one.within) for one in self.areas],
            Span(self.periods, last),
            [Counted(one.area, one.role, one.starts, one.cases, one.person_time) for one in self.counts],
            [Stocked(one.product, one.area, one.first, one.last) for one in self.stock],
        )

    def settings(self) -> ScanSettings:
        """How the scan is made."""
        return ScanSettings(
            seed=self.seed,
            replicates=self.replicates,
            by=self.by,
            delay=self._delay(),
            ending=self.ending,
            longest=self.longest,
            least_cases=self.least_cases,
            largest_share=self.largest_share,
            worth=self.worth,
            most=self.most,
        )

    def _delay(self) -> ReportingDelay | None:
        if self.delays is not None:
            seen = self.delays
            return observed_delay(seen.began, seen.reported, seen.now, seen.longest)
        return None if self.reported is None else ReportingDelay(self.reported)


@dataclass(frozen=True, slots=True)
class ScanAnswer:
    """Clusters, the least likely first, and what they rest on."""

    scan: Scan
    grounds: Grounds
    edition: str


def _compute(given: ScanGiven, book: Book, today: date) -> ScanAnswer:
    grounds = counted_by(today, given.grounds.grounds())
    scan = scan_for_clusters(given.ground(grounds.period.last), given.settings())
    return ScanAnswer(scan, grounds, book.edition)


DOOR = Door("scan", ScanGiven, ScanAnswer, _compute)
