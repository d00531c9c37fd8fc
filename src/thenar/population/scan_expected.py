"""How many cases would each area, role and period bring if nothing gathered anywhere?"""

from collections.abc import Collection
from enum import Enum

import numpy as np

from thenar.population.comparable import NothingToCompare
from thenar.population.scan_delay import ReportingDelay
from thenar.population.scan_ground import Numbers, ScanGround, Whole

TWO_YEARS = 729  # days between first and last; a season seen once can't be told from a rise
ROUNDS = 1_000
SETTLED = 1e-10  # largest share by which a margin may still be off


class By(Enum):
    """By what the usual rate may differ."""

    ROLE = "role"
    SEASON = "season"
    AREA = "area"


def expected_cases(
    ground: ScanGround, by: Collection[By] = (By.ROLE,), delay: ReportingDelay | None = None
) -> Numbers:
    """Share all cases out by person-time at the usual rate.

    Parameters
    ----------
    ground
        Cases and person-time.
    by
        Rates may differ by role, by month of the year and by area, one times the other. Differing by area,
        an area that was always high is no cluster; its rise is.
    delay
        How many cases of recent periods are reported by now.

    Returns
    -------
    array
        [areas, roles, periods], adding up to all cases, and within each role, month of the year or area named
        to the cases seen there. [cases]

    Raises
    ------
    NothingToCompare
        Season asked of less than two years.

    Notes
    -----
    The usual rate is that of the cases themselves, a cluster included; this makes a scan a little slower to
    see one, and more so where a cluster holds much of a role or an area.

    References
    ----------
    .. [1] Kulldorff, Communications in Statistics: Theory and Methods 1997;26:1481-1496.
    .. [2] Deming and Stephan, Annals of Mathematical Statistics 1940;11:427-444: fitting to margins.

    Examples
    --------
    >>> from datetime import date
    >>> from thenar.population.scan_ground import Counted, ScanArea, Span, Stocked, lay_ground
    >>> day = date(2026, 1, 1)
    >>> counts = [Counted("A", "nurse", day, 6, 3.0), Counted("B", "nurse", day, 0, 1.0)]
    >>> stock = [Stocked("soap", "A", day)]
    >>> expected_cases(lay_ground([ScanArea("A"), ScanArea("B")], Span((day,), day), counts, stock)).tolist()
    [[[4.5]], [[1.5]]]
    """
    if By.SEASON in by and (ground.span.last - ground.span.starts[0]).days < TWO_YEARS:
        raise NothingToCompare(
            "Season was asked of less than two years.", "Leave season out, or give two years or more."
        )
    expected = ground.person_time * (1.0 if delay is None else delay.shares(len(ground.span.starts)))
    margins = [_axis_groups(ground, one) for one in sorted(by, key=lambda one: one.value)]
    expected = expected * (ground.total / expected.sum())
    for _ in range(ROUNDS if margins else 0):
        before = expected
        for axis, groups in margins:
            expected = _fit(expected, ground.cases, axis, groups)
        if np.abs(expected - before).max() <= SETTLED * expected.max():
            return expected
    if margins:
        raise NothingToCompare("The usual rates did not settle.", "Let them differ by less.")
    return expected


def _axis_groups(ground: ScanGround, by: By) -> tuple[int, Whole]:
    """The axis that a margin runs along, and the group of each of its places."""
    if by is By.SEASON:
        return 2, np.array([starts.month - 1 for starts in ground.span.starts])
    axis = 0 if by is By.AREA else 1
    return axis, np.arange(ground.cases.shape[axis])


def _fit(expected: Numbers, cases: Whole, axis: int, groups: Whole) -> Numbers:
    others = tuple(one for one in range(3) if one != axis)
    seen = np.bincount(groups, cases.sum(axis=others))
    usual = np.bincount(groups, expected.sum(axis=others))
    times = np.divide(seen, usual, out=np.zeros_like(usual), where=usual > 0)
    shape = [1, 1, 1]
    shape[axis] = len(groups)
    fitted: Numbers = expected * times[groups].reshape(shape)
    return fitted
