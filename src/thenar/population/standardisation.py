"""What would the rate be with another mix of staff, and how many times the expected cases were seen?"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Any

from scipy import stats

from thenar.errors import BadInput
from thenar.knowledge import Book
from thenar.population.cautions import caution
from thenar.population.counts import check_amount, check_confidence, check_count
from thenar.population.intervals import CountMethod, Interval, count_interval
from thenar.population.rates import PERSON_YEARS, Followed, cautions_of_rate
from thenar.population.stated import Denominator, Grounds, Stated, Unit

GENERAL_POPULATION = "population.caution.general-population"
EXPECTED_UNCERTAIN = "population.caution.expected-uncertain"


class GammaEnd(StrEnum):
    """How the upper end of a standardised rate is made."""

    FAY_FEUER = "gamma, Fay-Feuer"
    TIWARI = "gamma, Tiwari-Clegg-Zou"


class Reference(StrEnum):
    """Whose rates gave the expected cases."""

    STAFF = "other staff"
    GENERAL_POPULATION = "general population"


class NoStrata(BadInput):
    """There is nothing to standardise."""

    def __init__(self) -> None:
        super().__init__(
            what="strata: there is none.",
            why="A rate is standardised over groups of age, role or the like.",
            todo="Give cases, person-years and the standard for at least one group.",
        )


@dataclass(frozen=True, slots=True)
class Stratum:
    """One group of the staff, and how many the standard has of it. [standard above 0]"""

    name: str
    followed: Followed
    standard: float

    def __post_init__(self) -> None:
        check_amount(f"standard of {self.name}", self.standard)


@dataclass(frozen=True, slots=True)
class Standardised:
    """A standardised rate beside the crude one. [per 1,000 person-years]"""

    stated: Stated
    crude: float


@dataclass(frozen=True, slots=True)
class StandardisedRatio:
    """Cases seen over cases expected, and how often chance alone gives one as far from 1. [0 to 1]"""

    stated: Stated
    chance: float


def standardised_rate(
    strata: Sequence[Stratum],
    grounds: Grounds,
    book: Book,
    on: date,
    *,
    end: GammaEnd = GammaEnd.FAY_FEUER,
    confidence: float = 0.95,
) -> Standardised:
    """The rate that the standard's mix of staff would have at these groups' rates.

    Parameters
    ----------
    strata
        Groups of staff, each with its cases, time at risk and the standard's size.
    grounds
        Case definition, source of the answer, period.
    book, on
        The knowledge that holds the cautions, and the day whose words are used.
    end
        Fay and Feuer's upper end never falls below its level and can be far too high where one group is
        small; Tiwari's is lower.
    confidence
        Level of the interval. [above 0, below 1]

    Returns
    -------
    Standardised

    Raises
    ------
    NoStrata, UnusableCount
        There is no group, or one without time at risk.

    Notes
    -----
    Rates standardised to different standards can't be compared. Where the groups' rates differ in opposite
    directions one figure hides it: look at the groups.

    References
    ----------
    .. [1] Fay and Feuer, Statistics in Medicine 1997;16:791-801.
    .. [2] Tiwari, Clegg and Zou, Statistical Methods in Medical Research 2006;15:547-569.

    Examples
    --------
    Nurses 10 in 100 person-years and porters 1 in 100, in equal parts: 0.5 x 100 + 0.5 x 10.

    >>> from thenar.knowledge import load
    >>> from thenar.population.stated import AnswerFrom, Period
    >>> year = Period(date(2025, 1, 1), date(2025, 12, 31))
    >>> grounds = Grounds("hand eczema found", AnswerFrom.EXAMINATION, year)
    >>> strata = [Stratum("nurse", Followed(10, 100), 50), Stratum("porter", Followed(1, 100), 50)]
    >>> round(standardised_rate(strata, grounds, load(), date(2026, 11, 26)).stated.interval.estimate, 6)
    55.0
    """
    cases = sum(stratum.followed.cases for stratum in strata)
    interval = standardised_interval(strata, end, confidence).times(1000)
    person_years = sum(stratum.followed.person_years for stratum in strata)
    standard = sum(stratum.standard for stratum in strata)
    stated = Stated(
        measure="directly standardised incidence",
        unit=Unit.PER_1000_PERSON_YEARS,
        interval=interval,
        grounds=grounds,
        denominators=(Denominator(person_years, PERSON_YEARS), Denominator(standard, "in the standard")),
        cautions=cautions_of_rate(grounds, book, on),
    )
    return Standardised(stated, crude=1000 * cases / person_years)


def standardised_interval(strata: Sequence[Stratum], end: GammaEnd, confidence: float) -> Interval:
    """The standardised rate for each person-year, with gamma limits; see `standardised_rate`."""
    if not strata:
        raise NoStrata
    check_confidence(confidence)
    whole = sum(stratum.standard for stratum in strata)
    weights = [stratum.standard / whole / stratum.followed.person_years for stratum in strata]
    counts = [stratum.followed.cases for stratum in strata]
    rate = sum(weight * count for weight, count in zip(weights, counts, strict=True))
    variance = sum(weight**2 * count for weight, count in zip(weights, counts, strict=True))
    if end is GammaEnd.FAY_FEUER:
        one_more, its_square = max(weights), max(weights) ** 2
    else:
        one_more = sum(weights) / len(weights)
        its_square = sum(weight**2 for weight in weights) / len(weights)
    tail = (1 - confidence) / 2
    return Interval(
        estimate=rate,
        lower=float(_gamma(rate, variance).ppf(tail)) if rate else 0.0,
        upper=float(_gamma(rate + one_more, variance + its_square).isf(tail)),
        confidence=confidence,
        method=end,
    )


def _gamma(mean: float, variance: float) -> Any:
    return stats.gamma(mean**2 / variance, scale=variance / mean)


def expected_cases(followed: Sequence[float], reference: Sequence[Followed]) -> float:
    """Cases to be expected in these groups at the reference's rates.

    Parameters
    ----------
    followed
        Time at risk of each group here. [person-years, above 0]
    reference
        The same groups, in the same order, in the reference.

    Raises
    ------
    BadInput
        The two differ in length, or there is no group.

    Examples
    --------
    200 x 10/1000 + 50 x 4/1000

    >>> round(expected_cases([200, 50], [Followed(10, 1000), Followed(4, 1000)]), 6)
    2.2
    """
    if not followed:
        raise NoStrata
    if len(followed) != len(reference):
        raise BadInput(
            what=f"strata: {len(followed)} here, {len(reference)} in the reference.",
            why="Each group needs the reference rate of the same group.",
            todo="Give the same groups, in the same order, on both sides.",
        )
    for person_years in followed:
        check_amount("person_years", person_years)
    pairs = zip(followed, reference, strict=True)
    return sum(person_years * other.cases / other.person_years for person_years, other in pairs)


def standardised_ratio(
    observed: int,
    expected: float,
    grounds: Grounds,
    book: Book,
    on: date,
    *,
    reference: Reference,
    method: CountMethod = CountMethod.EXACT,
    confidence: float = 0.95,
) -> StandardisedRatio:
    """How many times the expected cases were seen.

    Parameters
    ----------
    observed, expected
        Cases seen, and cases to be expected at the reference's rates. [0 or more; above 0]
    grounds
        Case definition, source of the answer, period; those of the reference rates too.
    book, on
        The knowledge that holds the cautions, and the day whose words are used.
    reference
        Whose rates those were: against the general population, being fit to work misleads.
    method, confidence
        How the interval is made, and its level. [above 0, below 1]

    Returns
    -------
    StandardisedRatio

    Raises
    ------
    UnusableCount
        A negative or broken count, or nothing expected.

    Notes
    -----
    Two wards' ratios can't be compared with each other, only each with the reference.

    References
    ----------
    .. [1] Ulm, American Journal of Epidemiology 1990;131:373-375.
    .. [2] Breslow and Day, Statistical Methods in Cancer Research II, IARC 1987, chapter 2.

    Examples
    --------
    >>> from thenar.knowledge import load
    >>> from thenar.population.stated import AnswerFrom, Period
    >>> year = Period(date(2025, 1, 1), date(2025, 12, 31))
    >>> grounds = Grounds("hand eczema found", AnswerFrom.EXAMINATION, year)
    >>> day = date(2026, 11, 26)
    >>> ratio = standardised_ratio(15, 10.2, grounds, load(), day, reference=Reference.STAFF)
    >>> found = ratio.stated.interval
    >>> round(found.estimate, 2), round(found.lower, 2), round(found.upper, 2), round(ratio.chance, 2)
    (1.47, 0.82, 2.43, 0.19)
    """
    check_count("observed", observed)
    check_amount("expected", expected)
    rules = (EXPECTED_UNCERTAIN,) if reference is Reference.STAFF else (GENERAL_POPULATION,)
    stated = Stated(
        measure="standardised incidence ratio",
        unit=Unit.RATIO,
        interval=count_interval(observed, method, confidence).times(1 / expected),
        grounds=grounds,
        denominators=(Denominator(expected, f"cases expected from {reference}"),),
        cautions=(
            *(caution(rule, book, on) for rule in rules),
            *cautions_of_rate(grounds, book, on),
        ),
    )
    at_most, at_least = stats.poisson.cdf(observed, expected), stats.poisson.sf(observed - 1, expected)
    return StandardisedRatio(stated, chance=min(1.0, 2 * float(min(at_most, at_least))))
