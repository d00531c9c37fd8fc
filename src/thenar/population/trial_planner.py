"""How many wards does a trial by ward need, and what could it see with those there are?"""

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from math import ceil, sqrt

from scipy import stats

from thenar.population.comparable import check_between, check_number
from thenar.population.counts import UnusableCount, check_amount

METHOD = "Unmatched trial by cluster: Hayes and Bennett 1999, Int J Epidemiol 28:319-326."
FEWEST_WARDS = 4  # an arm, below which a trial by cluster has little to stand on: common practice
USUAL_SPREAD = 0.25  # between 0 and 0.5 in most trials: Hayes and Bennett 1999 (from memory)


class Outcome(StrEnum):
    """What is counted on each ward."""

    RATE = "new cases per person-year"
    SHARE = "share of people with a finding"


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """A trial that gives a change to some wards by lot and compares them with the others.

    Parameters
    ----------
    outcome
        What is counted.
    usual, with_change
        Rate per person-year [above 0], or share [above 0, below 1], without the change and with it.
    per_ward
        Person-years of a ward over the trial, or people asked. [above 0] Where wards differ much, their
        harmonic mean.
    spread
        Standard deviation of the wards' true figures over their mean, within an arm. [0 or more]
    significance
        Chance of a finding where the change does nothing, two-sided. [above 0, below 1]
    """

    outcome: Outcome
    usual: float
    with_change: float
    per_ward: float
    spread: float = USUAL_SPREAD
    significance: float = 0.05

    def __post_init__(self) -> None:
        check_amount("usual", self.usual)
        check_amount("with_change", self.with_change)
        check_amount("per_ward", self.per_ward)
        check_between("significance", self.significance, 0, 1)
        check_number("spread", self.spread)
        if self.spread < 0:
            raise UnusableCount("spread", self.spread, "0 or more")
        if self.outcome is Outcome.SHARE:
            check_between("usual", self.usual, 0, 1)
            check_between("with_change", self.with_change, 0, 1)
        if self.usual == self.with_change:
            raise UnusableCount("with_change", self.with_change, "other than usual: nothing is to be seen")

    @property
    def chance(self) -> float:
        """Variance that counting alone gives the two arms' figures, a ward in each."""
        return sum(_COUNTING[self.outcome](figure) for figure in self._figures) / self.per_ward

    @property
    def between(self) -> float:
        """Variance that wards' own differences add, a ward in each arm."""
        return self.spread**2 * sum(figure**2 for figure in self._figures)

    @property
    def design_effect(self) -> float:
        """How many times as many people as a trial by person would need. [1 or more]"""
        return 1 + self.between / self.chance

    @property
    def _figures(self) -> tuple[float, float]:
        return self.usual, self.with_change


_COUNTING: dict[Outcome, Callable[[float], float]] = {
    Outcome.RATE: lambda rate: rate,
    Outcome.SHARE: lambda share: share * (1 - share),
}


@dataclass(frozen=True, slots=True)
class TrialPlan:
    """Wards in each arm and the chance that the trial finds a change of that size. [0 to 1]"""

    wards_per_arm: int
    power: float
    design_effect: float
    sentence: str
    cautions: tuple[str, ...]
    method: str = METHOD


def plan_trial(trial: Trial, power: float = 0.8) -> TrialPlan:
    """The fewest wards in each arm that reach a power.

    Parameters
    ----------
    trial
        What is counted, how much the change is to do, and how wards differ.
    power
        Chance of seeing a change of that size. [above 0, below 1]

    Returns
    -------
    TrialPlan
        With the power that the whole number of wards has.

    Raises
    ------
    UnusableCount
        A figure that can't be.

    Notes
    -----
    The formula adds one ward in each arm for the few degrees of freedom. For wards paired or grouped before
    the lot is drawn fewer may do; for a change that comes to wards in turn it does not hold.

    References
    ----------
    .. [1] Hayes and Bennett, Int J Epidemiol 1999;28:319-326.
    .. [2] Smith, Morrow and Ross (editors), Field Trials of Health Interventions, 3rd edition, Oxford 2015,
       chapter 5, table 5.6.

    Examples
    --------
    First row of table 5.6: 2 % against 1 %, 500 people a ward.

    >>> plan_trial(Trial(outcome=Outcome.SHARE, usual=0.02, with_change=0.01, per_ward=500)).wards_per_arm
    9
    """
    return _plan(trial, max(2, ceil(wards_needed(trial, power))))


def judge_trial(trial: Trial, wards_per_arm: int) -> TrialPlan:
    """What a trial with that many wards in each arm could see. [wards 2 or more]

    Raises
    ------
    UnusableCount
        Fewer than two wards: one ward against one can't be told from what wards differ by anyway.
    """
    if isinstance(wards_per_arm, bool) or not isinstance(wards_per_arm, int) or wards_per_arm < 2:
        raise UnusableCount("wards_per_arm", wards_per_arm, "a whole number, 2 or more")
    return _plan(trial, wards_per_arm)


def wards_needed(trial: Trial, power: float) -> float:
    """Wards in each arm, before rounding up."""
    check_between("power", power, 0, 1)
    reach = float(stats.norm.isf(trial.significance / 2) + stats.norm.ppf(power))
    gap = trial.usual - trial.with_change
    # Below even chance the reach may turn round; a trial still needs a ward in each arm.
    return 1 + max(0.0, reach) ** 2 * (trial.chance + trial.between) / gap**2


def spread_of_correlation(correlation: float, share: float) -> float:
    """The spread between wards that an intra-ward correlation of a share means. [0 to 1; share 0 to 1]

    References
    ----------
    .. [1] Hayes and Bennett, Int J Epidemiol 1999;28:319-326.

    Examples
    --------
    >>> round(spread_of_correlation(0.02, 0.2), 3)
    0.283
    """
    check_between("share", share, 0, 1)
    if not 0 <= correlation <= 1:
        raise UnusableCount("correlation", correlation, "from 0 to 1")
    return sqrt(correlation * (1 - share) / share)


def _plan(trial: Trial, wards: int) -> TrialPlan:
    gap = abs(trial.usual - trial.with_change)
    seen = gap * sqrt((wards - 1) / (trial.chance + trial.between))
    power = float(stats.norm.cdf(seen - stats.norm.isf(trial.significance / 2)))
    return TrialPlan(
        wards, power, trial.design_effect, _sentence(trial, wards, power), _cautions(trial, wards)
    )


def _sentence(trial: Trial, wards: int, power: float) -> str:
    unit = "person-years" if trial.outcome is Outcome.RATE else "people"
    return (
        f"{wards} wards with the change and {wards} without, {trial.per_ward:,.10g} {unit} each: if it takes "
        f"the {trial.outcome} from {trial.usual:.4g} to {trial.with_change:.4g}, the chance to see it is "
        f"{100 * power:.0f} %. By wards the trial needs {trial.design_effect:.1f} times as many people as by "
        "person."
    )


def _cautions(trial: Trial, wards: int) -> tuple[str, ...]:
    said = [
        f"All hangs on how wards differ ({trial.spread:.2g}): take it from your own figures, and try half "
        "and double."
    ]
    if wards < FEWEST_WARDS:
        said.append(f"Fewer than {FEWEST_WARDS} wards an arm: by lot they will hardly be alike.")
    if trial.spread == 0:
        said.append(
            "No difference between wards was assumed: that is never so, and the trial will be too small."
        )
    return tuple(said)
