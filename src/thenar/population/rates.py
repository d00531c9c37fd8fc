"""How many new cases for the time at risk, and how many times as many as elsewhere?"""

from dataclasses import dataclass
from datetime import date
from math import inf

from scipy import stats

from thenar.errors import BadInput
from thenar.knowledge import Book
from thenar.population.cautions import Caution, caution
from thenar.population.counts import check_amount, check_confidence, check_count
from thenar.population.intervals import CountMethod, Interval, count_interval
from thenar.population.stated import AnswerFrom, Denominator, Grounds, Stated, Unit

PERSON_YEARS = "person-years at risk"
FIRST_EPISODES = "population.caution.first-episodes"
_SAID_OF = {
    AnswerFrom.SELF_REPORT: "population.caution.self-report",
    AnswerFrom.CLINIC: "population.caution.seen-only",
    AnswerFrom.SICKNESS: "population.caution.seen-only",
}


class NothingToCompare(BadInput):
    """Neither of two groups had a case."""

    def __init__(self) -> None:
        super().__init__(
            what="Neither group had a case.",
            why="Any ratio, from none to endless, would fit.",
            todo="Show both rates with their intervals instead.",
        )


@dataclass(frozen=True, slots=True)
class Followed:
    """New cases in people followed over time. [0 or more; person-years above 0]"""

    cases: int
    person_years: float

    def __post_init__(self) -> None:
        check_count("cases", self.cases)
        check_amount("person_years", self.person_years)

    @property
    def denominator(self) -> Denominator:
        """The time at risk, as it stands beside the rate."""
        return Denominator(self.person_years, PERSON_YEARS)


@dataclass(frozen=True, slots=True)
class RateRatio:
    """A rate relative to another, and how often chance alone gives one as far from 1.

    `chance` doubles the smaller tail and agrees with the interval; `chance_by_likelihood` adds up all
    outcomes no likelier than the one seen. [0 to 1]
    """

    stated: Stated
    chance: float
    chance_by_likelihood: float


def incidence(
    followed: Followed,
    grounds: Grounds,
    book: Book,
    on: date,
    *,
    method: CountMethod = CountMethod.EXACT,
    confidence: float = 0.95,
) -> Stated:
    """New cases for each 1,000 person-years at risk.

    Parameters
    ----------
    followed
        New cases and the time at risk.
    grounds
        Case definition, source of the answer, period.
    book, on
        The knowledge that holds the cautions, and the day whose words are used.
    method, confidence
        How the interval is made, and its level. [above 0, below 1]

    Returns
    -------
    Stated
        [per 1,000 person-years]

    Raises
    ------
    UnusableCount
        No time at risk, or a negative or broken count.

    Notes
    -----
    Time while a case is open is not time at risk. Published rates in nurses differ fivefold by case
    definition, so a rate is compared only with one on the same grounds.

    References
    ----------
    .. [1] Breslow and Day, Statistical Methods in Cancer Research II, IARC 1987, chapter 2.

    Examples
    --------
    Ten cases in 400 person-years: 25 a year for each 1,000.

    >>> from thenar.knowledge import load
    >>> from thenar.population.stated import Period
    >>> year = Period(date(2025, 1, 1), date(2025, 12, 31))
    >>> grounds = Grounds("first visit with hand eczema", AnswerFrom.CLINIC, year)
    >>> rate = incidence(Followed(10, 400.0), grounds, load(), date(2026, 11, 26)).interval
    >>> round(rate.estimate, 1), round(rate.lower, 1), round(rate.upper, 1)
    (25.0, 12.0, 46.0)
    """
    return Stated(
        measure="incidence",
        unit=Unit.PER_1000_PERSON_YEARS,
        interval=count_interval(followed.cases, method, confidence).times(1000 / followed.person_years),
        grounds=grounds,
        denominators=(followed.denominator,),
        cautions=cautions_of_rate(grounds, book, on),
    )


def rate_ratio(
    group: Followed,
    other: Followed,
    grounds: Grounds,
    book: Book,
    on: date,
    *,
    confidence: float = 0.95,
) -> RateRatio:
    """The rate in one group relative to the rate in another, both counted on the same grounds.

    Parameters
    ----------
    group, other
        The two groups; `other` is the comparison.
    grounds
        Case definition, source and period, the same for both: a ratio of two definitions says nothing.
    book, on
        The knowledge that holds the cautions, and the day whose words are used.
    confidence
        Level of the interval. [above 0, below 1]

    Returns
    -------
    RateRatio
        The ratio is infinite where only the comparison had no case.

    Raises
    ------
    NothingToCompare
        Neither group had a case.

    Notes
    -----
    Exact, given the number of cases in both: of those, each falls in the first group with a chance that the
    ratio and the times at risk decide. A crude ratio; what else differs between the groups is in it.

    References
    ----------
    .. [1] Rothman and Greenland, Modern Epidemiology, 2nd edition, chapter 14.
    .. [2] Fay, The R Journal 2010;2:53-58: which of the two chances agrees with the interval.

    Examples
    --------
    >>> from thenar.knowledge import load
    >>> from thenar.population.stated import Period
    >>> year = Period(date(2025, 1, 1), date(2025, 12, 31))
    >>> grounds = Grounds("hand eczema found", AnswerFrom.EXAMINATION, year)
    >>> ratio = rate_ratio(Followed(41, 28010), Followed(15, 19017), grounds, load(), date(2026, 11, 26))
    >>> found = ratio.stated.interval
    >>> round(found.estimate, 2), round(found.lower, 2), round(found.upper, 2), round(ratio.chance, 3)
    (1.86, 1.01, 3.61, 0.048)
    """
    interval = ratio_interval(group, other, confidence)
    chance, by_likelihood = _chances(group, other)
    stated = Stated(
        measure="rate ratio",
        unit=Unit.RATIO,
        interval=interval,
        grounds=grounds,
        denominators=(
            group.denominator,
            Denominator(other.person_years, f"{PERSON_YEARS} in the comparison"),
        ),
        cautions=cautions_of_rate(grounds, book, on),
    )
    return RateRatio(stated, chance, by_likelihood)


def ratio_interval(group: Followed, other: Followed, confidence: float) -> Interval:
    """The ratio of two rates with its exact conditional interval; see `rate_ratio`."""
    check_confidence(confidence)
    if group.cases + other.cases == 0:
        raise NothingToCompare
    tail, times = (1 - confidence) / 2, other.person_years / group.person_years
    lower = stats.beta.ppf(tail, group.cases, other.cases + 1) if group.cases else 0.0
    upper = stats.beta.isf(tail, group.cases + 1, other.cases) if other.cases else 1.0
    return Interval(
        estimate=group.cases / other.cases * times if other.cases else inf,
        lower=times * _odds(float(lower)),
        upper=times * _odds(float(upper)),
        confidence=confidence,
        method="exact",
    )


def _odds(share: float) -> float:
    return share / (1 - share) if share < 1 else inf


def _chances(group: Followed, other: Followed) -> tuple[float, float]:
    cases = int(group.cases + other.cases)
    if_equal = group.person_years / (group.person_years + other.person_years)
    at_most = float(stats.binom.cdf(group.cases, cases, if_equal))
    at_least = float(stats.binom.sf(group.cases - 1, cases, if_equal))
    by_likelihood = float(stats.binomtest(int(group.cases), cases, if_equal).pvalue)
    return min(1.0, 2 * min(at_most, at_least)), by_likelihood


def cautions_of_rate(grounds: Grounds, book: Book, on: date) -> tuple[Caution, ...]:
    """What stands beside any rate of new cases, by who said that there was one."""
    rules = [_SAID_OF[grounds.answer_from]] if grounds.answer_from in _SAID_OF else []
    return tuple(caution(rule, book, on) for rule in (*rules, FIRST_EPISODES))
