"""How sure is a share of a clinic's tests or people?"""

from dataclasses import dataclass
from math import sqrt
from statistics import NormalDist

from thenar.errors import BadInput


@dataclass(frozen=True, slots=True)
class Share:
    """A share with its 95 % interval: `part` of `whole`. [counts; shares 0 to 1]"""

    part: int
    whole: int
    estimate: float
    lower: float
    upper: float


def share_of(part: int, whole: int, confidence: float = 0.95) -> Share | None:
    """A share and its Wilson interval; None of nothing.

    Parameters
    ----------
    part, whole
        Whole counts. [part 0 to whole]
    confidence
        Level of the interval. [above 0, below 1]

    Raises
    ------
    BadInput
        The part is below nothing or above the whole.

    Notes
    -----
    Taken as independent draws. Tests of one person, or read by one pair of eyes, are not: then the interval
    is too narrow.

    References
    ----------
    .. [1] Wilson, J Am Stat Assoc 1927;22:209-212.

    Examples
    --------
    Positive to an iodine antiseptic: 27 of 95.

    >>> share = share_of(27, 95)
    >>> round(100 * share.estimate, 1), round(100 * share.lower, 1), round(100 * share.upper, 1)
    (28.4, 20.3, 38.2)
    """
    if not 0 <= part <= whole:
        raise BadInput(
            what=f"{part} of {whole} can't be.",
            why="The share would mean nothing.",
            todo="Check both counts against their source.",
        )
    if whole == 0:
        return None
    z = NormalDist().inv_cdf((1 + confidence) / 2)
    share = part / whole
    middle = (share + z**2 / (2 * whole)) / (1 + z**2 / whole)
    reach = z * sqrt(share * (1 - share) / whole + (z / (2 * whole)) ** 2) / (1 + z**2 / whole)
    return Share(
        part,
        whole,
        share,
        lower=0.0 if part == 0 else middle - reach,
        upper=1.0 if part == whole else middle + reach,
    )
