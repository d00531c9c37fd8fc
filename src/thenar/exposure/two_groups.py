"""Two groups compared by their counts: risk ratio, number needed to treat, and what no case still allows."""

from dataclasses import dataclass
from math import exp, log, sqrt
from statistics import NormalDist

from thenar.errors import BadInput


class ImpossibleCounts(BadInput):
    """Counts of a group that can't be, or that give no figure."""

    def __init__(self, says: str) -> None:
        super().__init__(
            what=f"{says}.",
            why="The comparison would give a number that means nothing.",
            todo="Check both counts of each group against their source.",
        )


@dataclass(frozen=True, slots=True)
class Group:
    """A group of people followed: `cases` of `people`. [whole numbers]"""

    cases: int
    people: int

    def __post_init__(self) -> None:
        if type(self.cases) is not int or type(self.people) is not int or not 0 <= self.cases <= self.people:
            raise ImpossibleCounts(f"{self.cases!r} cases of {self.people!r} people can't be")
        if self.people == 0:
            raise ImpossibleCounts("A group has no people")

    @property
    def risk(self) -> float:
        """Cases for each person. [0 to 1]"""
        return self.cases / self.people


@dataclass(frozen=True, slots=True)
class RatioOfRisks:
    """A risk ratio with its interval."""

    estimate: float
    lower: float
    upper: float


def compare_risks(group: Group, other: Group, confidence: float = 0.95) -> RatioOfRisks:
    """Risk in one group relative to the other, with an interval from the log scale.

    Parameters
    ----------
    group, other
        The two groups; `other` is the comparison.
    confidence
        Level of the interval. [above 0, below 1]

    Raises
    ------
    ImpossibleCounts
        One of the groups has no case, so the log scale has no interval to give.

    References
    ----------
    .. [1] Katz, Baptista, Azen and Pike, Biometrics 1978;34:469-474.

    Examples
    --------
    Unneeded gloves on surgical wards after a campaign, 13 of 56, and before, 152 of 252.

    >>> ratio = compare_risks(Group(13, 56), Group(152, 252))
    >>> round(ratio.estimate, 3), round(ratio.lower, 3), round(ratio.upper, 3)
    (0.385, 0.237, 0.626)
    """
    if not group.cases or not other.cases:
        raise ImpossibleCounts("One of the groups has no case, so there is no interval for a ratio")
    ratio = group.risk / other.risk
    spread = sqrt(1 / group.cases - 1 / group.people + 1 / other.cases - 1 / other.people)
    reach = NormalDist().inv_cdf((1 + confidence) / 2) * spread
    return RatioOfRisks(ratio, exp(log(ratio) - reach), exp(log(ratio) + reach))


def number_needed(treated: Group, untreated: Group) -> float:
    """How many people must be treated for one case fewer.

    Raises
    ------
    ImpossibleCounts
        The treated had no lower risk, so no number of people spares a case.

    Examples
    --------
    Teaching and free products, 0 of 115 new cases; without, 12 of 136.

    >>> round(number_needed(Group(0, 115), Group(12, 136)), 1)
    11.3
    """
    difference = untreated.risk - treated.risk
    if difference <= 0:
        raise ImpossibleCounts("The treated had no lower risk, so no number of people spares a case")
    return 1 / difference


def most_risk_without_cases(people: int, confidence: float = 0.95) -> float:
    """Upper end of the exact two-sided interval for a risk, where no case was seen. [0 to 1]

    References
    ----------
    .. [1] Clopper and Pearson, Biometrika 1934;26:404-413.

    Examples
    --------
    >>> round(most_risk_without_cases(115), 3)
    0.032
    """
    most: float = 1 - ((1 - confidence) / 2) ** (1 / Group(0, people).people)
    return most
