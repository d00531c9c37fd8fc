"""How many have hand trouble that neither of two sources knows of?"""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from math import exp, sqrt

from scipy import stats

from thenar.errors import BadInput
from thenar.knowledge import Book
from thenar.population.cautions import caution
from thenar.population.counts import UnusableCount, check_confidence, check_count
from thenar.population.intervals import Interval
from thenar.population.stated import Denominator, Grounds, Stated, Unit

TWO_SOURCES = "population.caution.two-sources"
FEW_IN_BOTH = "population.caution.few-in-both"
FEW = "population.overlap.few"


class NobodyInBoth(BadInput):
    """Two sources without a person in common."""

    def __init__(self) -> None:
        super().__init__(
            what="in_both: is 0.",
            why="Then how many are in neither can't be told: there is no upper end.",
            todo="Show what each source knows; look for missed matches, or take a longer period.",
        )


@dataclass(frozen=True, slots=True)
class TwoSources:
    """People known to each of two sources, and to both. [whole numbers; in_both at most either]"""

    in_first: int
    in_second: int
    in_both: int

    def __post_init__(self) -> None:
        for field in ("in_first", "in_second", "in_both"):
            check_count(field, getattr(self, field))
        if self.in_both > min(self.in_first, self.in_second):
            raise UnusableCount("in_both", self.in_both, "at most as many as either source knows")
        if self.in_both == 0:
            raise NobodyInBoth

    @property
    def known(self) -> int:
        """People known to at least one source."""
        return self.in_first + self.in_second - self.in_both


@dataclass(frozen=True, slots=True)
class Unreported:
    """How many there are in all, and how many of them neither source knows. [people]"""

    in_all: Stated
    known: int
    known_to_neither: float


def people_interval(sources: TwoSources, confidence: float) -> Interval:
    """How many people there are in all, by Chapman, with transformed logit limits; see `unreported`."""
    check_confidence(confidence)
    first, second = sources.in_first - sources.in_both, sources.in_second - sources.in_both
    chapman = (sources.in_first + 1) * (sources.in_second + 1) / (sources.in_both + 1) - 1
    # Half a person is added to each cell, so that an empty one still has a spread.
    both, first_only, second_only = sources.in_both + 0.5, first + 0.5, second + 0.5
    neither = first_only * second_only / both
    spread = sqrt(1 / both + 1 / first_only + 1 / second_only + both / (first_only * second_only))
    reach = exp(float(stats.norm.isf((1 - confidence) / 2)) * spread)
    # At low levels the half persons could lift the lower end above the estimate.
    lower = min(chapman, sources.known - 0.5 + neither / reach)
    return Interval(
        estimate=chapman,
        lower=max(float(sources.known), lower),
        upper=sources.known - 0.5 + neither * reach,
        confidence=confidence,
        method="Chapman, transformed logit",
    )


def unreported(
    sources: TwoSources,
    grounds: Grounds,
    book: Book,
    on: date,
    *,
    first: str,
    second: str,
    confidence: float = 0.95,
) -> Unreported:
    """How many people have hand trouble in all, from two sources that each know some of them.

    Parameters
    ----------
    sources
        People known to each source and to both, each person once.
    grounds
        Case definition and period, the same for both sources.
    book, on
        The knowledge that holds the cautions, and the day whose words are used.
    first, second
        What the sources are: `self-reports`, `clinic cases`.
    confidence
        Level of the interval. [above 0, below 1]

    Returns
    -------
    Unreported

    Raises
    ------
    UnusableCount, NobodyInBoth
        More people in both than in either, or nobody in both.

    Notes
    -----
    Two sources can't show whether they are independent. Self-reports lead to the clinic, so with these two
    take the estimate as the least there are.

    References
    ----------
    .. [1] Chapman, University of California Publications in Statistics 1951;1:131-160.
    .. [2] Sadinle, Communications in Statistics: Simulation and Computation 2009;38:1909-1924.

    Examples
    --------
    Ten in one source, fifteen in the other, five in both: 11 x 16 / 6 - 1.

    >>> from thenar.knowledge import load
    >>> from thenar.population.stated import AnswerFrom, Period
    >>> year = Period(date(2025, 1, 1), date(2025, 12, 31))
    >>> grounds = Grounds("hand eczema in the year", AnswerFrom.LINKED, year)
    >>> found = unreported(
    ...     TwoSources(10, 15, 5), grounds, load(), date(2026, 11, 26), first="clinic", second="sickness")
    >>> round(found.in_all.interval.estimate, 2), found.known, round(found.known_to_neither, 2)
    (28.33, 20, 8.33)
    """
    interval = people_interval(sources, confidence)
    few = book.rule(FEW).on(on).met_by(Decimal(sources.in_both))
    stated = Stated(
        measure="people with hand trouble, known or not",
        unit=Unit.PEOPLE,
        interval=interval,
        grounds=grounds,
        denominators=(
            Denominator(sources.in_first, f"in {first}"),
            Denominator(sources.in_second, f"in {second}"),
            Denominator(sources.in_both, "in both"),
        ),
        cautions=tuple(caution(rule, book, on) for rule in (TWO_SOURCES, *((FEW_IN_BOTH,) if few else ()))),
    )
    return Unreported(stated, sources.known, interval.estimate - sources.known)
