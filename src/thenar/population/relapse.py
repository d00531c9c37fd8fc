"""How often does hand trouble come back after clearing?"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from thenar.errors import BadInput
from thenar.population.comparable import check_number
from thenar.population.counts import UnusableCount, check_confidence
from thenar.population.intervals import Interval
from thenar.population.time_to_clear import FEW_ENDS, LOOKS, NothingEnded, Step, product_limit

METHOD = (
    "First relapse by Kaplan-Meier; mean cumulative count by Dong and others 2015, Am J Epidemiol "
    "181:532-540, with the variance of Ghosh and Lin 2000, Biometrics 56:554-562."
)
Numbers = NDArray[np.float64]


class ImpossibleCourse(BadInput):
    """Relapses that can't have come as written."""

    def __init__(self) -> None:
        super().__init__(
            what="relapses: are out of order, on day 0, or after the last day known.",
            why="Who was still watched when would be counted wrongly.",
            todo="Check the days against the records of that case.",
        )


class LastSeen(StrEnum):
    """Why someone is no longer watched."""

    WATCHED = "still watched"
    LEFT = "left the job"
    LOST = "lost from sight"


@dataclass(frozen=True, slots=True)
class Followed:
    """Someone watched from the day their hands were clear.

    `days` is until the last day known, and `relapses` are the days on which hand trouble came back. [days 0
    or more; relapses above 0, in order, none after `days`]
    """

    days: float
    relapses: tuple[float, ...] = ()
    last_seen: LastSeen = LastSeen.WATCHED

    def __post_init__(self) -> None:
        for field, day in (("days", self.days), *(("relapses", day) for day in self.relapses)):
            check_number(field, day)
        if self.days < 0:
            raise UnusableCount("days", self.days, "0 or more")
        in_order = list(self.relapses) == sorted(self.relapses)
        if not in_order or any(not 0 < day <= self.days for day in self.relapses):
            raise ImpossibleCourse


@dataclass(frozen=True, slots=True)
class MeanCount:
    """Relapses a person has had by that day, on average, and how many are still watched."""

    day: float
    watched: int
    relapses: Interval


@dataclass(frozen=True, slots=True)
class Relapses:
    """How soon and how often hand trouble comes back.

    `median_first` is None where fewer than half relapsed; `first` is the share without relapse after each
    day with one; `counts` are relapses for each person, first and later ones.
    """

    people: int
    relapses: int
    relapsed: int
    median_first: Interval | None
    first: tuple[Step, ...]
    counts: tuple[MeanCount, ...]
    sentence: str
    cautions: tuple[str, ...]
    method: str = METHOD


def count_relapses(
    people: Sequence[Followed],
    *,
    leaving_ends_it: bool = True,
    at: Sequence[float] = LOOKS,
    confidence: float = 0.95,
) -> Relapses:
    """How soon hand trouble comes back, and how many relapses a person has by when.

    Parameters
    ----------
    people
        Everyone who cleared in a period, with or without relapse. [1 or more]
    leaving_ends_it
        Whether someone who left has no more relapses that count here; otherwise they are taken to go on like
        the others, as those lost from sight always are.
    at
        Days at which the mean count is told; those after the last day watched are left out. [above 0]
    confidence
        Level of the intervals. [above 0, below 1]

    Raises
    ------
    UnusableCount
        Days that can't be.
    NothingEnded
        Nobody relapsed.

    Notes
    -----
    A mean of 0.5 may be half the people once, or a tenth five times: read it with the share that relapsed.
    Being lost is taken to have nothing to do with the hands. Relapses on one day count before leaving.

    References
    ----------
    .. [1] Dong, Robison, Leisenring, Martin, Armstrong and Yasui, Am J Epidemiol 2015;181:532-540.
    .. [2] Ghosh and Lin, Biometrics 2000;56:554-562 (variance); without leaving it is that of Lawless and
       Nadeau, Technometrics 1995;37:158-168.

    Examples
    --------
    The five people of the first reference.

    >>> five = [Followed(8), Followed(1), Followed(5, (), LastSeen.LEFT), Followed(8, (2, 6, 7)),
    ...         Followed(3, (3,), LastSeen.LEFT)]
    >>> found = count_relapses(five, at=(2, 3, 5, 6, 7))
    >>> [count.relapses.estimate for count in found.counts]
    [0.25, 0.5, 0.5, 0.75, 1.0]
    """
    check_confidence(confidence)
    many = sum(len(one.relapses) for one in people)
    if many == 0:
        raise NothingEnded(f"None of {len(people)} people relapsed in the time they were watched.")
    first_days = [float(one.relapses[0] if one.relapses else one.days) for one in people]
    median, first = product_limit(first_days, [bool(one.relapses) for one in people], confidence)
    last = max(one.days for one in people)
    counts = tuple(
        _count(people, float(day), confidence, leaving_ends_it=leaving_ends_it) for day in at if day <= last
    )
    relapsed = sum(bool(one.relapses) for one in people)
    return Relapses(
        people=len(people),
        relapses=many,
        relapsed=relapsed,
        median_first=median,
        first=first,
        counts=counts,
        sentence=_sentence(len(people), relapsed, many, counts),
        cautions=_cautions(people, relapsed),
    )


def _count(
    people: Sequence[Followed], until: float, confidence: float, *, leaving_ends_it: bool
) -> MeanCount:
    mean, variance = _mean_and_variance(people, until, leaving_ends_it=leaving_ends_it)
    watched = sum(one.days >= until for one in people)
    if mean == 0:
        return MeanCount(until, watched, Interval(0.0, 0.0, float("inf"), confidence, "no relapse yet"))
    spread = np.exp(stats.norm.ppf((1 + confidence) / 2) * np.sqrt(variance) / mean)
    ends = Interval(mean, float(mean / spread), float(mean * spread), confidence, "log, by person")
    return MeanCount(until, watched, ends)


def _mean_and_variance(
    people: Sequence[Followed], until: float, *, leaving_ends_it: bool
) -> tuple[float, float]:
    """Each person's own pull on the mean; the sum of their squares is its variance."""
    ended = np.array([one.days for one in people], dtype=float)
    leaves = np.array([leaving_ends_it and one.last_seen is LastSeen.LEFT for one in people])
    days = sorted({day for one in people for day in (*one.relapses, one.days) if day <= until})
    if not days:
        return 0.0, 0.0
    came = np.array([[one.relapses.count(day) for day in days] for one in people], dtype=float)
    here = ended[:, None] >= np.array(days)
    went = leaves[:, None] & (ended[:, None] == np.array(days))
    watched = here.sum(axis=0)
    rate, leaving = came.sum(axis=0) / watched, went.sum(axis=0) / watched
    stayed = np.concatenate([[1.0], np.cumprod(1 - leaving)[:-1]])
    mean = np.cumsum(stayed * rate)
    own = stayed * (came - here * rate) / watched
    # Relapses of a day count before leaving on it, so leaving takes away only those still to come.
    with np.errstate(divide="ignore", invalid="ignore"):
        lost = np.where(leaving < 1, (mean[-1] - mean) / (1 - leaving), 0.0)
    lost_own = lost * (went - here * leaving) / watched
    return float(mean[-1]), float(((own - lost_own).sum(axis=1) ** 2).sum())


def _sentence(people: int, relapsed: int, many: int, counts: Sequence[MeanCount]) -> str:
    told = f"{relapsed} of {people} people relapsed, {many} times in all."
    if not counts:
        return told
    count = counts[-1]
    level = f"{100 * count.relapses.confidence:.10g} %"
    ends = f"{count.relapses.lower:.2f} to {count.relapses.upper:.2f}"
    return (
        f"{told} By day {count.day:g} a person has had {count.relapses.estimate:.2f} relapses on average "
        f"({level} interval {ends})."
    )


def _cautions(people: Sequence[Followed], relapsed: int) -> tuple[str, ...]:
    said = ["The mean hides who relapses often: look at the people with several as well."]
    if relapsed < FEW_ENDS:
        said.append(f"Fewer than {FEW_ENDS} people relapsed: the figures are rough.")
    if lost := sum(one.last_seen is LastSeen.LOST for one in people):
        said.append(
            f"{lost} people were lost from sight and are taken as like the rest; those who relapse come back "
            "sooner than those who stay well, so the mean may be too high."
        )
    return tuple(said)
