"""Where, in whom and since when do cases gather more than chance gathers them anywhere, and after what?"""

from collections.abc import Collection
from dataclasses import dataclass
from enum import Enum

import numpy as np

from thenar.population.comparable import check_between
from thenar.population.counts import UnusableCount
from thenar.population.scan_clusters import Cluster, pick_clusters
from thenar.population.scan_delay import ReportingDelay
from thenar.population.scan_expected import By, expected_cases
from thenar.population.scan_ground import Numbers, ScanGround
from thenar.population.scan_windows import ENTRIES, Reach, Windows, lay_windows

METHOD = (
    "Space-time scan with a Poisson likelihood ratio: Kulldorff 1997, Communications in Statistics "
    "26:1481-1496, and 2001, Journal of the Royal Statistical Society A 164:61-72; chances by Monte Carlo: "
    "Dwass 1957, Annals of Mathematical Statistics 28:181-187."
)
ALWAYS = (
    "A cluster says where to look. That a product was there doesn't show that it did it.",
    "Area, people and days were chosen because they stood out: the rise in them is overstated.",
    "Chances are those of independent cases. Where cases come in pairs, or more are reported because someone "
    "asked, they are too small.",
)


class Ending(Enum):
    """Which windows are looked at: those that last until now, to be warned; or any, to look back."""

    NOW = "now"
    ANY = "any"


@dataclass(frozen=True, slots=True)
class ScanSettings:
    """How the scan is made. Every chance depends on these, so they are chosen before looking.

    Parameters
    ----------
    seed
        The same seed gives the same answer.
    replicates
        Draws of all cases at the usual rate. [99 or more] The least chance that can be told is 1 in so many
        and one.
    by
        By what the usual rate may differ.
    delay
        How late cases are reported; None where all of the periods given are.
    ending
        Windows until now, or any.
    longest
        Longest window, None for any. [periods, 1 or more]
    least_cases
        Fewer are no cluster. [2 or more]
    largest_share
        No window expecting more than this share of all cases: what is nearly everywhere is no cluster.
    worth
        Chance up to which a cluster is named. [above 0, below 1]
    most
        Most clusters named. [1 or more]
    """

    seed: int
    replicates: int = 999
    by: Collection[By] = (By.ROLE,)
    delay: ReportingDelay | None = None
    ending: Ending = Ending.NOW
    longest: int | None = None
    least_cases: int = 2
    largest_share: float = 0.5
    worth: float = 0.05
    most: int = 10

    def __post_init__(self) -> None:
        wholes = {"seed": 0, "replicates": 99, "least_cases": 2, "most": 1}
        if self.longest is not None:
            wholes["longest"] = 1
        for field, least in wholes.items():
            figure = getattr(self, field)
            if type(figure) is not int or figure < least:
                raise UnusableCount(field, figure, f"a whole number, {least} or more")
        check_between("largest_share", self.largest_share, 0, 1)
        check_between("worth", self.worth, 0, 1)


@dataclass(frozen=True, slots=True)
class Scan:
    """Clusters, the least likely first and none sharing people and days with one before it.

    `clusters` are those whose chance is at most `worth`; `nearest` is the least likely window, cluster or
    not, None where no window held more than expected. `sets` of area, role and product were looked at over
    `periods`.
    """

    clusters: tuple[Cluster, ...]
    nearest: Cluster | None
    cases: int
    sets: int
    periods: int
    replicates: int
    seed: int
    finding: str
    cautions: tuple[str, ...]
    method: str = METHOD


def scan_for_clusters(ground: ScanGround, settings: ScanSettings) -> Scan:
    """Look at every area, role, product in stock and stretch of time for more cases than chance gathers.

    Parameters
    ----------
    ground
        Cases and person-time by area, role and period; where each product was in stock.
    settings
        How the scan is made.

    Returns
    -------
    Scan
        `chance` of each cluster is that of one at least so unlikely anywhere, so it needs no further
        allowance for the number of windows.

    Raises
    ------
    UnusableCount, NothingToCompare
        Settings that can't be; season asked of less than two years.

    Notes
    -----
    All cases are drawn again and again over all cells by what is expected there, their number kept. A second
    cluster is held against the largest window of each draw, which makes its chance rather too large.

    References
    ----------
    .. [1] Kulldorff, Communications in Statistics: Theory and Methods 1997;26:1481-1496.
    .. [2] Kulldorff, Journal of the Royal Statistical Society A 2001;164:61-72: windows until now.
    .. [3] Dwass, Annals of Mathematical Statistics 1957;28:181-187: chances from draws.
    .. [4] Kleinman, Lazarus and Platt, American Journal of Epidemiology 2004;159:217-224: recurrence.

    Examples
    --------
    Ten wards, four months; two wards had a new soap from March on, and eight cases.

    >>> from datetime import date
    >>> from thenar.population.scan_ground import Counted, ScanArea, Span, Stocked, lay_ground
    >>> span = Span(tuple(date(2026, month, 1) for month in (1, 2, 3, 4)), date(2026, 4, 30))
    >>> wards = [f"Ward {number}" for number in range(10)]
    >>> def cases(ward, month):
    ...     return 2 if ward in ("Ward 3", "Ward 7") and month >= 3 else int(ward == f"Ward {2 * month}")
    >>> ground = lay_ground(
    ...     [ScanArea("Hospital"), *(ScanArea(ward, "Hospital") for ward in wards)],
    ...     span,
    ...     [Counted(w, "nurse", day, cases(w, day.month), 2.0) for w in wards for day in span.starts],
    ...     [Stocked("product 31", ward, date(2026, 3, 1)) for ward in ("Ward 3", "Ward 7")],
    ... )
    >>> print(scan_for_clusters(ground, ScanSettings(seed=1)).clusters[0].in_words)
    Since 1 March 2026, wards stocking product 31: 8 cases against 1.2 expected, chance of such a
    cluster anywhere 0.1 %.
    """
    expected = expected_cases(ground, settings.by, settings.delay)
    windows = lay_windows(ground, expected, _reach(ground, settings))
    largest = draw_largest(windows, expected, settings.replicates, settings.seed)
    nearest, clusters = pick_clusters(ground, windows, largest, settings.worth, settings.most)
    return Scan(
        clusters=clusters,
        nearest=nearest,
        cases=ground.total,
        sets=len(windows.since) // windows.periods,
        periods=windows.periods,
        replicates=settings.replicates,
        seed=settings.seed,
        finding=_finding(clusters, nearest),
        cautions=_cautions(settings),
    )


def draw_largest(windows: Windows, expected: Numbers, replicates: int, seed: int) -> Numbers:
    """The largest log likelihood ratio anywhere, in draws of all cases by what is expected.

    Returns
    -------
    array
        One for each draw, 0 where no window held more than expected.
    """
    stream = np.random.default_rng(seed)
    reached = np.cumsum(expected.ravel())
    _, roles, periods = expected.shape
    entries = windows.total * 2 * len(windows.keys) / (len(windows.first) - 1)
    at_once = max(1, int(ENTRIES / entries))
    largest = np.zeros(replicates)
    for begin in range(0, replicates, at_once):
        draws = min(at_once, replicates - begin)
        drawn = stream.random(draws * windows.total) * reached[-1]
        cells = np.minimum(np.searchsorted(reached, drawn, side="right"), len(reached) - 1)
        draw = np.repeat(np.arange(draws), windows.total)
        for found in windows.found(
            draw, cells // (roles * periods), cells // periods % roles, cells % periods
        ):
            np.maximum.at(largest, begin + found.draw, found.ratio)
    return largest


def _reach(ground: ScanGround, settings: ScanSettings) -> Reach:
    return Reach(
        ending_now=settings.ending is Ending.NOW,
        longest=min(settings.longest or len(ground.span.starts), len(ground.span.starts)),
        most_expected=settings.largest_share * ground.total,
        least_cases=settings.least_cases,
    )


def _cautions(settings: ScanSettings) -> tuple[str, ...]:
    usual = " and ".join(one.value for one in sorted(settings.by, key=lambda one: one.value))
    said = f"The usual rate is that of all cases given{f', differing by {usual}' if usual else ''}."
    late = (
        "No allowance was made for cases that are not reported yet."
        if settings.delay is None
        else settings.delay.in_words
    )
    return (*ALWAYS, said, late)


def _finding(clusters: tuple[Cluster, ...], nearest: Cluster | None) -> str:
    if clusters:
        return " ".join(one.in_words for one in clusters)
    if nearest is None:
        return "No window looked at held more cases than expected, and enough of them."
    return f"No cluster stands out from chance. The nearest to one: {nearest.in_words}"
