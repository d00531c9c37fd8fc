"""Which rates does a segmented regression see, with the change and without it?"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, sqrt

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from thenar.population.evaluation_terms import CannotEvaluate, Change, Shape, WardMonth
from thenar.population.intervals import Interval

FEWEST_WARDS = 3  # in each arm, for errors by ward: our choice
Numbers = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Columns:
    """The rows of a regression. `effect` says which columns stand for what the change did."""

    cases: Numbers
    person_years: Numbers
    wards: NDArray[np.int64]
    design: Numbers
    effect: tuple[int, ...]

    @property
    def without(self) -> Numbers:
        """The same rows as if the change had not come."""
        left = self.design.copy()
        left[:, self.effect] = 0
        return left


@dataclass(frozen=True, slots=True)
class Error:
    """One way to tell how sure the estimates are: variances and how many free values stand behind them."""

    named: str
    variances: Numbers
    freedom: int

    def reach(self, direction: Numbers, confidence: float) -> float:
        """Half the width of the interval along that direction, on the log scale."""
        error = sqrt(max(0.0, float(direction @ self.variances @ direction)))
        return float(stats.t.ppf((1 + confidence) / 2, self.freedom)) * error


@dataclass(frozen=True, slots=True)
class Fitted:
    """The estimates, how sure they are, and how much more rows differ than chance makes them."""

    columns: Columns
    estimates: Numbers
    errors: tuple[Error, ...]
    spread: float
    confidence: float

    @property
    def expected(self) -> Numbers:
        """Cases of each row, as fitted."""
        return self._cases(self.columns.design)

    @property
    def expected_without(self) -> Numbers:
        """Cases of each row, had the change not come."""
        return self._cases(self.columns.without)

    def effect(self, place: int, times: float = 1.0) -> Interval:
        """The rate ratio of one effect column, to the power of `times`."""
        direction = np.zeros(len(self.estimates))
        direction[self.columns.effect[place]] = times
        return self._interval(float(direction @ self.estimates), direction)

    def ratio_over(self, rows: NDArray[np.bool_]) -> Interval:
        """Cases of those rows together, over what they would have been without the change."""
        seen, without = self.expected[rows], self.expected_without[rows]
        direction = _pull(seen, self.columns.design[rows]) - _pull(without, self.columns.without[rows])
        return self._interval(float(np.log(seen.sum() / without.sum())), direction)

    def without_over(self, rows: NDArray[np.bool_]) -> Interval:
        """How many cases those rows together would have had without the change."""
        without = self.expected_without[rows]
        return self._interval(float(np.log(without.sum())), _pull(without, self.columns.without[rows]))

    def _cases(self, design: Numbers) -> Numbers:
        return np.asarray(self.columns.person_years * np.exp(design @ self.estimates))

    def _interval(self, middle: float, direction: Numbers) -> Interval:
        """The wider of the intervals, so that few wards never make it look surer than chance alone would."""
        widest = max(self.errors, key=lambda error: error.reach(direction, self.confidence))
        reach = widest.reach(direction, self.confidence)
        return Interval(exp(middle), exp(middle - reach), exp(middle + reach), self.confidence, widest.named)


def _pull(cases: Numbers, design: Numbers) -> Numbers:
    """How the logarithm of a sum of cases moves with each estimate."""
    return np.asarray(cases @ design / cases.sum())


def month_number(row: WardMonth) -> int:
    """Months since year 0."""
    return row.month.year * 12 + row.month.month - 1


def columns_of(rows: Sequence[WardMonth], change: Change, first_after: int, season_pairs: int) -> Columns:
    """Ward, trend, season, what came to everybody after the change, and what came only where it did.

    With comparison wards the changed ones have a trend of their own, and the effect is the difference of the
    steps (and of the slopes). Without, it is the step itself.
    """
    names = sorted({row.ward for row in rows})
    wards = np.array([names.index(row.ward) for row in rows])
    month = np.array([float(month_number(row)) for row in rows])
    changed = np.array([float(row.ward in change.wards) for row in rows])
    years = (month - first_after) / 12
    after = (month >= first_after).astype(float)
    steps = [after] if change.shape is Shape.AT_ONCE else [after, after * years]
    common = [years, *_season(month, season_pairs)]
    if changed.all():
        effects = steps
    else:
        common += [years * changed, *steps]
        effects = [step * changed for step in steps]
    design = np.column_stack([np.eye(len(names))[wards], *common, *effects])
    width = design.shape[1]
    return Columns(
        np.array([float(row.cases) for row in rows]),
        np.array([float(row.person_years) for row in rows]),
        wards,
        design,
        tuple(range(width - len(effects), width)),
    )


def _season(month: Numbers, pairs: int) -> list[Numbers]:
    turns = 2 * np.pi * (month + 1) / 12
    return [wave(k * turns) for k in range(1, pairs + 1) for wave in (np.sin, np.cos)]


def fit(columns: Columns, *, by_ward: bool, arms: int, confidence: float) -> Fitted:
    """Fit the quasi-Poisson regression, its errors by chance and, where wards allow it, by ward.

    Parameters
    ----------
    columns
        From `columns_of`.
    by_ward
        Also take errors clustered by ward: with the correction (G/(G-1))·((n-1)/(n-k)) for G wards, n rows
        and k estimates, and Student's t with G less `arms` degrees of freedom.
    arms
        1 without comparison wards, 2 with them.
    confidence
        Level of the intervals.

    Raises
    ------
    CannotEvaluate
        The rows can't keep the estimates apart.
    """
    from statsmodels.genmod.families import Poisson
    from statsmodels.genmod.generalized_linear_model import GLM
    from statsmodels.stats.sandwich_covariance import cov_cluster

    rows, width = columns.design.shape
    if rows <= width or np.linalg.matrix_rank(columns.design) < width:
        raise CannotEvaluate(
            f"{rows} ward-months can't keep {width} quantities apart (wards, trend, season, change).",
            "Give a longer series, or leave season out.",
        )
    model = GLM(columns.cases, columns.design, family=Poisson(), offset=np.log(columns.person_years))
    found = model.fit(scale="X2")
    spread = float(found.scale)
    variances = np.asarray(found.cov_params()) / spread * max(1.0, spread)
    errors = [Error("quasi-Poisson", variances, rows - width)]
    if by_ward:
        grouped = np.asarray(cov_cluster(found, columns.wards, use_correction=True))
        errors.append(Error("clustered by ward", grouped, int(columns.wards.max()) + 1 - arms))
    return Fitted(columns, np.asarray(found.params), tuple(errors), spread, confidence)
