"""How long do cases take until the hands are clear?"""

from collections.abc import Sequence, Set
from dataclasses import dataclass
from enum import StrEnum
from math import exp, isfinite, isinf, log, sqrt

from scipy import stats

from thenar.errors import BadInput
from thenar.population.comparable import check_number
from thenar.population.counts import UnusableCount, check_confidence
from thenar.population.intervals import Interval

METHOD = (
    "Kaplan-Meier with log-log intervals and Greenwood's variance; shares that ended one way among others by "
    "Aalen and Johansen."
)
FEW_ENDS = 10  # below it the curve is rough: our choice
LOOKS = (30.0, 90.0, 180.0, 365.0)  # days at which the shares are told


class NothingEnded(BadInput):
    """No case ended in the way asked for, so there is no time to tell."""

    def __init__(self, what: str) -> None:
        super().__init__(
            what=what,
            why="A time until something that was never seen would be made up.",
            todo="Wait for longer follow-up, or take in earlier cases.",
        )


class Ending(StrEnum):
    """How a case stands at the last day known of it."""

    CLEAR = "clear"
    OPEN = "still open"
    LEFT = "left the job"
    LOST = "lost from sight"


@dataclass(frozen=True, slots=True)
class CaseSpan:
    """Days from opening to the last day known of a case, and how it stood then. [days 0 or more]"""

    days: float
    ending: Ending

    def __post_init__(self) -> None:
        check_number("days", self.days)
        if self.days < 0:
            raise UnusableCount("days", self.days, "0 or more: a case can't end before it was opened")


@dataclass(frozen=True, slots=True)
class Step:
    """A day on which cases ended so: how many were watched, and the share not yet there after it. [0 to 1]"""

    day: float
    watched: int
    ended: int
    not_yet: Interval


@dataclass(frozen=True, slots=True)
class Look:
    """Up to that day: share clear, and shares that ended otherwise, by Aalen and Johansen. [0 to 1]"""

    day: float
    watched: int
    clear: Interval
    otherwise: tuple[tuple[Ending, float], ...]


@dataclass(frozen=True, slots=True)
class TimeToClear:
    """How long cases take to clear.

    `median` is None where fewer than half were seen to clear; an end of it may be infinite. The curve treats
    those who ended otherwise as if they would have cleared like the others; the looks count them apart.
    """

    cases: int
    cleared: int
    median: Interval | None
    curve: tuple[Step, ...]
    looks: tuple[Look, ...]
    sentence: str
    cautions: tuple[str, ...]
    method: str = METHOD


def time_to_clear(
    cases: Sequence[CaseSpan],
    *,
    competing: Set[Ending] = frozenset({Ending.LEFT}),
    confidence: float = 0.95,
) -> TimeToClear:
    """How long cases take until the hands are clear, and what share is clear by when.

    Parameters
    ----------
    cases
        All cases opened in a period, whatever became of them. [1 or more]
    competing
        Endings after which this service can never see the hands clear. Those left out of it are taken as
        cases that would have gone on like the rest.
    confidence
        Level of the intervals. [above 0, below 1]

    Raises
    ------
    UnusableCount
        Days below 0, or clearing named as competing with itself.
    NothingEnded
        No case cleared.

    Notes
    -----
    Takes leaving and being lost as having nothing to do with how the hands are. Where people leave because
    of their hands, the curve is too hopeful: the looks are the safer figure. Days are known only as exactly
    as cases are looked at; clearing is seen at a review, not when it happens.

    References
    ----------
    .. [1] Kaplan and Meier, J Am Stat Assoc 1958;53:457-481.
    .. [2] Kalbfleisch and Prentice, The Statistical Analysis of Failure Time Data, 2nd edition, 1.4 and 8.2.
    .. [3] Marubini and Valsecchi, Analysing Survival Data, Wiley 1995, 10.2 (variance of the shares).

    Examples
    --------
    >>> seen = [CaseSpan(20, Ending.CLEAR), CaseSpan(40, Ending.CLEAR), CaseSpan(50, Ending.OPEN),
    ...         CaseSpan(60, Ending.CLEAR)]
    >>> found = time_to_clear(seen)
    >>> [(step.day, step.watched, round(step.not_yet.estimate, 2)) for step in found.curve]
    [(20.0, 4, 0.75), (40.0, 3, 0.5), (60.0, 1, 0.0)]
    >>> found.median.estimate
    40.0
    """
    check_confidence(confidence)
    if Ending.CLEAR in competing or Ending.OPEN in competing:
        raise UnusableCount("competing", sorted(competing), "endings other than clear and still open")
    days = [float(case.days) for case in cases]
    cleared = [case.ending is Ending.CLEAR for case in cases]
    if not any(cleared):
        raise NothingEnded(f"None of {len(cases)} cases cleared in the time they were watched.")
    median, curve = product_limit(days, cleared, confidence)
    looks = tuple(_look(cases, day, competing, confidence) for day in LOOKS if day <= max(days))
    return TimeToClear(
        cases=len(cases),
        cleared=sum(cleared),
        median=median,
        curve=curve,
        looks=looks,
        sentence=_sentence(cases, median),
        cautions=_cautions(cases, competing, median),
    )


def product_limit(
    days: Sequence[float], ended: Sequence[bool], confidence: float
) -> tuple[Interval | None, tuple[Step, ...]]:
    """Median time with its ends, and the curve, a step for each day on which something ended."""
    from lifelines import KaplanMeierFitter
    from lifelines.utils import qth_survival_times

    fitted = KaplanMeierFitter(alpha=1 - confidence).fit(list(days), list(ended))
    table, ends = fitted.event_table, fitted.confidence_interval_
    still = fitted.survival_function_.iloc[:, 0]
    steps = tuple(
        Step(
            float(day),
            int(table.at_risk[day]),
            int(table.observed[day]),
            _within(still[day], tuple(ends.loc[day]), confidence),
        )
        for day in table.index[table.observed > 0]
    )
    half = float(fitted.median_survival_time_)
    if not isfinite(half):
        return None, steps
    lower, upper = sorted(float(end) for end in qth_survival_times(0.5, ends).iloc[0])
    return Interval(half, lower, upper, confidence, "log-log"), steps


def _within(still: float, ends: tuple[float, float], confidence: float) -> Interval:
    """Where nobody is left the log-log interval has no width to give."""
    lower, upper = ends if 0 < still < 1 else (still, still)
    return Interval(float(still), float(lower), float(upper), confidence, "log-log")


@dataclass(frozen=True, slots=True)
class _Jump:
    """A day on which something ended: watched, ended in any way that counts, and share untouched before."""

    day: float
    watched: int
    ended: dict[Ending, int]
    before: float

    @property
    def all_ended(self) -> int:
        return sum(self.ended.values())


def _jumps(cases: Sequence[CaseSpan], until: float, counted: Set[Ending]) -> list[_Jump]:
    jumps, left = [], 1.0
    for day in sorted({case.days for case in cases if case.ending in counted and case.days <= until}):
        watched = sum(case.days >= day for case in cases)
        now = [case.ending for case in cases if case.days == day]
        jump = _Jump(day, watched, {one: now.count(one) for one in counted}, left)
        jumps.append(jump)
        left *= 1 - jump.all_ended / watched
    return jumps


def _look(cases: Sequence[CaseSpan], day: float, competing: Set[Ending], confidence: float) -> Look:
    jumps = _jumps(cases, day, competing | {Ending.CLEAR})
    share = _share(jumps, Ending.CLEAR)
    interval = _log_log(share, _variance(jumps, Ending.CLEAR), confidence)
    otherwise = tuple((ending, _share(jumps, ending)) for ending in sorted(competing))
    return Look(day, sum(case.days >= day for case in cases), interval, otherwise)


def _share(jumps: Sequence[_Jump], ending: Ending) -> float:
    return sum(jump.before * jump.ended[ending] / jump.watched for jump in jumps)


def _variance(jumps: Sequence[_Jump], ending: Ending) -> float:
    """Of the share that ended so; Greenwood's where nothing competes."""
    whole, so_far, variance = _share(jumps, ending), 0.0, 0.0
    for jump in jumps:
        watched, ended, mine = jump.watched, jump.all_ended, jump.ended[ending]
        so_far += jump.before * mine / watched
        to_come = whole - so_far
        if watched > ended:
            variance += to_come**2 * ended / (watched * (watched - ended))
        variance += jump.before**2 * mine * (watched - mine) / watched**3
        variance -= 2 * to_come * jump.before * mine / watched**2
    return max(0.0, variance)


def _log_log(share: float, variance: float, confidence: float) -> Interval:
    if not 0 < share < 1:
        return Interval(share, share, share, confidence, "log-log")
    reach = float(stats.norm.ppf((1 + confidence) / 2)) * sqrt(variance) / ((1 - share) * -log(1 - share))
    ends = [1 - (1 - share) ** exp(turn * reach) for turn in (-1, 1)]
    return Interval(share, ends[0], ends[1], confidence, "log-log")


def _sentence(cases: Sequence[CaseSpan], median: Interval | None) -> str:
    counts = {ending: sum(case.ending is ending for case in cases) for ending in Ending}
    others = ", ".join(f"{many} {ending}" for ending, many in counts.items() if ending is not Ending.CLEAR)
    told = f"{counts[Ending.CLEAR]} of {len(cases)} cases were seen clear ({others})."
    if median is None:
        return f"{told} Fewer than half cleared in the time watched, so there is no median."
    upper = "without limit" if isinf(median.upper) else f"{median.upper:.0f}"
    level = f"{100 * median.confidence:.10g} %"
    ends = f"{level} interval {median.lower:.0f} to {upper}"
    return f"{told} Half were clear after {median.estimate:.0f} days ({ends})."


def _cautions(cases: Sequence[CaseSpan], competing: Set[Ending], median: Interval | None) -> tuple[str, ...]:
    said = ["Clearing is known from the day it was seen, which is at a review: true times are shorter."]
    if sum(case.ending is Ending.CLEAR for case in cases) < FEW_ENDS:
        said.append(f"Fewer than {FEW_ENDS} cases cleared: the curve is rough.")
    gone = sum(case.ending in (Ending.LEFT, Ending.LOST) for case in cases)
    if gone and median is not None:
        said.append(
            f"{gone} cases left or were lost. The median takes them as like the others; if they went because "
            "of their hands, it is too hopeful."
        )
    if any(case.ending is Ending.LOST and Ending.LOST not in competing for case in cases):
        said.append("Cases lost from sight are taken as going on like the rest.")
    return tuple(said)
