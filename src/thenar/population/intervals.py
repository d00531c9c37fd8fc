"""How sure is a share, or a count of events?"""

from dataclasses import dataclass, replace
from enum import StrEnum
from math import sqrt

from scipy import optimize, stats

from thenar.population.counts import UnusableCount, check_confidence, check_count, check_part


class ShareMethod(StrEnum):
    """How the interval of a share is made."""

    WILSON = "Wilson"
    EXACT = "exact"
    JEFFREYS = "Jeffreys"


class CountMethod(StrEnum):
    """How the interval of a count of events is made."""

    EXACT = "exact"
    MID_P = "mid-P"
    BYAR = "Byar"


@dataclass(frozen=True, slots=True)
class Interval:
    """An estimate, and the ends between which the truth plausibly lies. An end may be infinite."""

    estimate: float
    lower: float
    upper: float
    confidence: float
    method: str

    def times(self, factor: float) -> "Interval":
        """The same in another unit."""
        return replace(
            self, estimate=self.estimate * factor, lower=self.lower * factor, upper=self.upper * factor
        )


def share_interval(
    part: int, whole: int, method: ShareMethod = ShareMethod.WILSON, confidence: float = 0.95
) -> Interval:
    """A share of people, and how sure it is.

    Parameters
    ----------
    part, whole
        Whole counts. [part 0 to whole; whole 1 or more]
    method
        Wilson's interval holds its level on average; the exact one of Clopper and Pearson never falls below
        it and is wider; Jeffreys' has equal tails and, where nobody or everybody is counted, ends at 0 or 1.
    confidence
        Level of the two-sided interval. [above 0, below 1]

    Returns
    -------
    Interval
        [shares, 0 to 1]

    Raises
    ------
    UnusableCount
        Negative or broken counts, a part above its whole, a whole of nobody.

    Notes
    -----
    People are taken as independent draws from many. Where the same ward shares one soap they are not, and
    the interval is too narrow.

    References
    ----------
    .. [1] Newcombe, Statistics in Medicine 1998;17:857-872.
    .. [2] Brown, Cai and DasGupta, Statistical Science 2001;16:101-133.

    Examples
    --------
    >>> share = share_interval(81, 263)
    >>> round(share.estimate, 3), round(share.lower, 4), round(share.upper, 4)
    (0.308, 0.2553, 0.3662)
    """
    check_count("whole", whole)
    if whole == 0:
        raise UnusableCount("whole", whole, "1 or more: a share of nobody is not 0")
    check_part("part", part, whole)
    check_confidence(confidence)
    lower, upper = _share_ends(int(part), int(whole), method, confidence)
    return Interval(int(part) / int(whole), lower, upper, confidence, method)


def _share_ends(part: int, whole: int, method: ShareMethod, confidence: float) -> tuple[float, float]:
    if method is ShareMethod.JEFFREYS:
        tail, posterior = (1 - confidence) / 2, stats.beta(part + 0.5, whole - part + 0.5)
        lower = 0.0 if part == 0 else float(posterior.ppf(tail))
        return lower, 1.0 if part == whole else float(posterior.isf(tail))
    by = "wilson" if method is ShareMethod.WILSON else "exact"
    ends = stats.binomtest(part, whole).proportion_ci(confidence, method=by)
    return float(ends.low), float(ends.high)


def count_interval(
    events: int, method: CountMethod = CountMethod.EXACT, confidence: float = 0.95
) -> Interval:
    """How many events were to be expected where so many were seen.

    Parameters
    ----------
    events
        Events seen. [0 or more]
    method
        The exact interval of Garwood never falls below its level; mid-P is narrower and holds it on average;
        Byar's is close to the exact one and can be worked by hand.
    confidence
        Level of the two-sided interval. [above 0, below 1]

    Returns
    -------
    Interval
        [events]

    Raises
    ------
    UnusableCount
        A negative or broken count, or a level outside 0 to 1.

    Notes
    -----
    Events are taken as independent, each person at one small steady risk. Repeated episodes of one person
    are not.

    References
    ----------
    .. [1] Garwood, Biometrika 1936;28:437-442.
    .. [2] Breslow and Day, Statistical Methods in Cancer Research II, IARC 1987, chapter 2.
    .. [3] Cohen and Yang, Statistics in Medicine 1994;13:2189-2193.

    Examples
    --------
    >>> count = count_interval(5)
    >>> round(count.lower, 3), round(count.upper, 3)
    (1.623, 11.668)
    """
    check_count("events", events)
    check_confidence(confidence)
    lower, upper = _COUNT_ENDS[method](int(events), (1 - confidence) / 2)
    return Interval(float(events), lower, upper, confidence, method)


def _exact_ends(events: int, tail: float) -> tuple[float, float]:
    lower = float(stats.gamma.ppf(tail, events)) if events else 0.0
    return lower, float(stats.gamma.isf(tail, events + 1))


def _mid_p_ends(events: int, tail: float) -> tuple[float, float]:
    def at_most(mean: float) -> float:
        return float(stats.poisson.cdf(events, mean) - stats.poisson.pmf(events, mean) / 2)

    # The exact interval always holds the mid-P one.
    least, most = _exact_ends(events, tail)
    upper = optimize.brentq(lambda mean: at_most(mean) - tail, events, most, xtol=1e-13)
    if events == 0:
        return 0.0, float(upper)
    lower = optimize.brentq(lambda mean: at_most(mean) - (1 - tail), least, events, xtol=1e-13)
    return float(lower), float(upper)


def _byar_ends(events: int, tail: float) -> tuple[float, float]:
    z, above = float(stats.norm.isf(tail)), events + 1
    upper = above * (1 - 1 / (9 * above) + z / (3 * sqrt(above))) ** 3
    if events == 0:
        return 0.0, upper
    # With few events and much confidence the cube goes below 0, where no count can be.
    return events * max(0.0, 1 - 1 / (9 * events) - z / (3 * sqrt(events))) ** 3, upper


_COUNT_ENDS = {
    CountMethod.EXACT: _exact_ends,
    CountMethod.MID_P: _mid_p_ends,
    CountMethod.BYAR: _byar_ends,
}
