"""How many of the cases of recent periods have been reported by now?"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from thenar.population.comparable import NothingToCompare
from thenar.population.counts import UnusableCount

METHOD = (
    "Delays seen so far, by reverse-time hazards: Kalbfleisch and Lawless 1991, Statistica Sinica 1:19-32."
)


@dataclass(frozen=True, slots=True)
class ReportingDelay:
    """Share of a period's cases reported by its own end, by the end of the next, and so on; last is 1."""

    reported: tuple[float, ...]

    def __post_init__(self) -> None:
        rising = list(self.reported) == sorted(self.reported)
        if not self.reported or not rising or not self.reported[0] > 0 or self.reported[-1] != 1:
            raise UnusableCount("reported", self.reported, "shares above 0 that rise to 1")

    def shares(self, periods: int) -> NDArray[np.float64]:
        """Share reported by the end of the last of so many periods, for each of them in order of time.

        >>> ReportingDelay((0.5, 0.8, 1.0)).shares(4).tolist()
        [1.0, 1.0, 0.8, 0.5]
        """
        ages = np.arange(periods)[::-1]
        return np.array(self.reported)[np.minimum(ages, len(self.reported) - 1)]

    @property
    def in_words(self) -> str:
        """What is done to the expected cases, as it stands beside a cluster."""
        if len(self.reported) == 1:
            return "Cases were taken to be reported in the period they begin."
        said = ", ".join(f"{100 * share:.0f} %" for share in self.reported[:-1])
        return (
            f"Cases are reported late: expected cases of the last {len(self.reported) - 1} periods, newest "
            f"first, are lowered to the share reported by now ({said}). The shares themselves are uncertain."
        )


def observed_delay(began: Sequence[int], reported: Sequence[int], now: int, longest: int) -> ReportingDelay:
    """Learn the delay from cases reported so far.

    Parameters
    ----------
    began, reported
        Number of the period in which each case began and was reported. [reported: from began to now]
    now
        Number of the last period.
    longest
        No case is reported later than so many periods after it began. [0 or more]

    Returns
    -------
    ReportingDelay
        Cases that began of late and are not reported yet are allowed for: taking the delays seen at face
        value would make reporting look quicker than it is.

    Raises
    ------
    UnusableCount, NothingToCompare
        A case reported before it began or after now; a delay that nobody had time to show.

    References
    ----------
    .. [1] Kalbfleisch and Lawless, Statistica Sinica 1991;1:19-32.

    Examples
    --------
    Of four old cases two were reported at once; the newest period can only show those reported at once.

    >>> observed_delay([0, 0, 0, 0, 1, 1], [0, 0, 1, 1, 1, 1], now=1, longest=1).reported
    (0.5, 1.0)
    """
    first, delays = np.array(began), np.array(reported) - np.array(began)
    if len(first) == 0:
        raise NothingToCompare("No case was given.", "Give cases with when they began and were reported.")
    if delays.min() < 0 or (first + delays).max() > now:
        raise UnusableCount("reported", int(delays.min()), "in the period the case began or later, up to now")
    shares = [1.0]
    for delay in range(longest, 0, -1):
        seen = (first <= now - delay) & (delays <= delay)  # periods old enough to have shown this delay
        if not seen.any():
            raise NothingToCompare(
                f"No period is old enough to show a delay of {delay} periods.", "Lower `longest`, or wait."
            )
        shares.append(shares[-1] * (1 - float(np.mean(delays[seen] == delay))))
    if shares[-1] == 0:
        raise NothingToCompare(
            "No case was ever reported in the period it began.", "Leave the newest period out of the scan."
        )
    return ReportingDelay(tuple(shares[::-1]))
