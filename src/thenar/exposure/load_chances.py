"""How likely is a count, or a time, made of acts whose rate is known only so well?"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import reduce
from math import ceil, floor
from typing import Literal

import numpy as np
import numpy.typing as npt
from scipy import optimize, special, stats

from thenar.errors import BadInput
from thenar.exposure.rates import MIDDLE, ActLength, Rate
from thenar.exposure.sessions import Quantity, Timed

Floats = npt.NDArray[np.float64]
Worked = Sequence[tuple[Rate, float]]  # rates with the hours they are worked for
NEGLIGIBLE = 1e-12
CHANCE_DRAWS = 4000


@dataclass(frozen=True, slots=True)
class Limit:
    """A limit of some rule set on one quantity of a shift. [acts, or minutes]"""

    name: str
    quantity: Quantity | Timed
    operator: Literal[">", ">="]
    amount: float


@dataclass(frozen=True, slots=True)
class Chance:
    """How likely a shift passes a limit. [0 to 1]

    `lower` to `upper` is how far that share could be another, the rate being known only so well.
    """

    limit: Limit
    chance: float
    lower: float
    upper: float


class ImpossibleLimit(BadInput):
    """A limit below zero or without end."""

    def __init__(self, limit: Limit) -> None:
        super().__init__(
            what=f"The limit {limit.name!r} is {limit.amount!r}; it must be a number from 0 up.",
            why="Every shift would pass it, or none, whatever the work.",
            todo="Correct the amount of the limit.",
        )


@dataclass(frozen=True, slots=True)
class Acts:
    """How many acts some hours of work bring: `chances` of 0, 1, 2 and so on. Make one with `acts_in`."""

    worked: Worked
    chances: Floats

    @property
    def mean(self) -> float:
        """The expected number."""
        return sum(rate.mean * hours for rate, hours in self.worked)

    def quantile(self, share: float) -> float:
        """The smallest number that at least `share` of shifts do not exceed."""
        return float(np.searchsorted(np.cumsum(self.chances), share))

    def chance(self, limit: Limit, seed: int) -> Chance:
        """How likely a shift passes a limit: exact, with an interval from draws of the rate."""
        least = least_count(limit)
        if least == 0:
            return Chance(limit, 1.0, 1.0, 1.0)
        if_rate_known = special.gammainc(least, self.usual(seed))  # a Poisson count is at least so high
        lower, upper = np.quantile(if_rate_known, MIDDLE)
        return Chance(limit, float(self.chances[least:].sum()), float(lower), float(upper))

    def usual(self, seed: int) -> Floats:
        """Draws of what such shifts bring on average, the rates being known only so well."""
        stream = np.random.default_rng(seed)
        drawn = [
            stream.standard_gamma(rate.shape, CHANCE_DRAWS) * (hours / rate.hours)
            for rate, hours in self.worked
        ]
        return np.asarray(np.sum(drawn, axis=0))


@dataclass(frozen=True, slots=True)
class Minutes:
    """How long those acts take together, each an exponential length of an uncertain mean."""

    acts: Acts
    length: ActLength

    @property
    def mean(self) -> float:
        """The expected time. [minutes]"""
        return self.acts.mean * self.length.mean

    def over(self, minutes: float) -> float:
        """The chance of more than so many minutes: n such lengths, over them and those timed, are a beta."""
        counts = np.arange(1, len(self.acts.chances))
        share = minutes / (minutes + self.length.minutes)
        return float(self.acts.chances[1:] @ special.betaincc(counts, self.length.acts, share))

    def quantile(self, share: float) -> float:
        """The time that `share` of shifts do not exceed. [minutes]"""
        if self.over(0.0) <= 1 - share:
            return 0.0
        most = 1.0
        while self.over(most) > 1 - share:
            most *= 2
        return float(optimize.brentq(lambda minutes: self.over(minutes) - (1 - share), 0.0, most, xtol=1e-6))

    def chance(self, limit: Limit, seed: int) -> Chance:
        """How likely a shift passes a limit: exact, with an interval from draws of rate and length.

        For known rate and length, the lengths pass an amount where more acts are begun than a Poisson stream
        of ends closes in it. That a Poisson count exceeds another is a noncentral chi-square probability.
        """
        if limit.amount == 0:
            return self.acts.chance(limit, seed)  # over no minutes at all: any act will do
        stream = np.random.default_rng([seed, 1])
        ends = stream.standard_gamma(self.length.acts, CHANCE_DRAWS) * (limit.amount / self.length.minutes)
        lower, upper = np.quantile(special.chndtr(2 * self.acts.usual(seed), 2, 2 * ends), MIDDLE)
        return Chance(limit, self.over(limit.amount), float(lower), float(upper))


def acts_in(worked: Worked) -> Acts:
    """How many acts some stretches of work bring together.

    Parameters
    ----------
    worked
        Rates, each with the hours it is worked for. [above 0]

    Notes
    -----
    One stretch is a negative binomial of the rate's shape and success share H / (H + h), with H the hours
    behind the rate and h those worked. Stretches are independent and added by Fourier transform. Numbers
    with a chance under 1 in 10^12 at the end are left out.

    References
    ----------
    .. [1] Gelman and others, Bayesian Data Analysis, 3rd edition, section 2.6.

    Examples
    --------
    A shape of 1.5 in two hours: the chance of no act in one hour is (2/3)^1.5.

    >>> from thenar.exposure.sessions import Seen
    >>> rate = Rate(Quantity.WASHES, "early", Seen(1, 2.0), 1.5, 2.0)
    >>> round(float(acts_in([(rate, 1.0)]).chances[0]), 4), round((2 / 3) ** 1.5, 4)
    (0.5443, 0.5443)
    """
    return Acts(worked, reduce(_added, (_negative_binomial(rate, hours) for rate, hours in worked)))


def least_count(limit: Limit) -> int:
    """The smallest whole number that passes a limit."""
    return floor(limit.amount) + 1 if limit.operator == ">" else ceil(limit.amount)


def refuse_impossible(limits: Sequence[Limit]) -> None:
    """Raise ImpossibleLimit on a limit that is no amount."""
    for limit in limits:
        if not 0 <= limit.amount < float("inf"):
            raise ImpossibleLimit(limit)


def _negative_binomial(rate: Rate, hours: float) -> Floats:
    share = rate.hours / (rate.hours + hours)
    most = int(stats.nbinom.isf(NEGLIGIBLE, rate.shape, share))
    return np.asarray(stats.nbinom.pmf(np.arange(most + 1), rate.shape, share))


def _added(one: Floats, other: Floats) -> Floats:
    size = len(one) + len(other) - 1
    product = np.fft.rfft(one, size) * np.fft.rfft(other, size)
    return np.clip(np.fft.irfft(product, size), 0, None)
