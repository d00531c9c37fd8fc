"""Draws shifts to come from what is known of a post, and sees how many pass a limit of a whole rule set."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from thenar.exposure.rates import HALF_AN_ACT, MIDDLE, PostRates
from thenar.exposure.rule_sets import ReadyRuleSet
from thenar.exposure.sessions import ACTS_OF, ObservationSession, Quantity, Timed
from thenar.exposure.shift import ShiftQuantities
from thenar.exposure.tally import in_words

Floats = npt.NDArray[np.float64]
RATES, SHIFTS = 100, 200  # rates drawn, and shifts drawn with each of them
# Counted by some observers, with no published rate to start from.
ALSO_COUNTED = (
    "gel_rubs",
    "gloves_on_wet_skin",
    "wet_glove_alternations",
    "wash_glove_alternations",
    "cream_uses",
)
_PART_OF = {"gel_rubs": "rubs", "gloves_on_wet_skin": "pairs"}


@dataclass(frozen=True, slots=True)
class AlsoCounted:
    """What sessions saw of something that has no rate of its own: `count` in `hours`."""

    name: str
    count: int
    hours: float

    def mean(self, shift_hours: float) -> float:
        """Expected in a shift of so many hours."""
        return (self.count + HALF_AN_ACT) / self.hours * shift_hours


@dataclass(frozen=True, slots=True, eq=False)
class DrawnShifts:
    """Shifts to come, `amounts` by quantity: a row for each rate drawn. What is not there is not known."""

    amounts: dict[str, Floats]


@dataclass(frozen=True, slots=True)
class Passing:
    """The share of shifts to come that pass at least one limit of a rule set. [0 to 1]

    `lower` to `upper` is how far it may be another, the rates being known only so well. `not_weighed` names
    quantities the set asks for that nobody counted: the share is then "at least".
    """

    chance: float
    lower: float
    upper: float
    not_weighed: tuple[str, ...]


def also_counted(sessions: Sequence[ObservationSession], part: str) -> tuple[AlsoCounted, ...]:
    """What the sessions of a part of the shift counted besides."""
    found = []
    for name in ALSO_COUNTED:
        counted = [
            (count, one.hours)
            for one in sessions
            if one.shift_part == part and (count := getattr(one.counts, name)) is not None
        ]
        if counted:
            found.append(AlsoCounted(name, sum(c for c, _ in counted), sum(hours for _, hours in counted)))
    return tuple(found)


def draw_shifts(
    rates: PostRates, part: str, hours: float, besides: Sequence[AlsoCounted], *, seed: int
) -> DrawnShifts:
    """Draw shifts to come of one post, in one part of the day.

    Parameters
    ----------
    rates
        What is known of the post.
    part, hours
        Which part of the day the shift is, and its length. [hours, above 0]
    besides
        What was counted besides, without a published start.
    seed
        Makes the draws repeatable.

    Returns
    -------
    DrawnShifts
        Whole acts and minutes. [0 or more]

    Notes
    -----
    Rates come from their gamma distributions, acts are Poisson, and each act has an exponential length of an
    uncertain mean, together no longer than the shift. Quantities are drawn independently. Alternations are
    counted like acts.

    References
    ----------
    .. [1] Gelman and others, Bayesian Data Analysis, 3rd edition, section 2.6.
    """
    stream = np.random.default_rng(seed)
    amounts: dict[str, Floats] = {}
    for quantity in Quantity:
        rate = rates.rate(quantity, part)
        if rate is not None:
            amounts[quantity.value] = _acts(stream, rate.shape, rate.hours, hours)
    for timed in Timed:
        length, acts = rates.length(timed), amounts.get(ACTS_OF[timed].value)
        if length is not None and acts is not None:
            ends = stream.standard_gamma(length.acts, (RATES, 1)) / length.minutes
            amounts[timed.value] = np.minimum(stream.standard_gamma(acts) / ends, hours * 60)
    for one in besides:
        drawn = _acts(stream, one.count + HALF_AN_ACT, one.hours, hours)
        whole = amounts.get(_PART_OF.get(one.name, ""))
        amounts[one.name] = drawn if whole is None else np.minimum(drawn, whole)
    return DrawnShifts(amounts)


def passing(drawn: DrawnShifts, rule_set: ReadyRuleSet) -> Passing | None:
    """How likely a shift passes any limit of a rule set; None where none of its quantities is known."""
    passed = np.zeros((RATES, SHIFTS), dtype=bool)
    missing: list[str] = []
    weighed = False
    for ready in rule_set.criteria:
        total: Floats = np.zeros((RATES, SHIFTS))
        for term in rule_set.measures[ready.measure]:
            known = drawn.amounts.get(term.quantity)
            if known is None:
                missing.append(in_words(term.quantity))
                known = drawn.amounts.get(term.at_least or "")
            if known is not None:
                weighed, total = True, total + known * term.each
        passed |= total > ready.bound if ready.criterion.operator == ">" else total >= ready.bound
    if not weighed:
        return None
    by_rate = passed.mean(axis=1)
    lower, upper = np.quantile(by_rate, MIDDLE)
    return Passing(float(by_rate.mean()), float(lower), float(upper), tuple(dict.fromkeys(missing)))


def some_of(drawn: DrawnShifts, count: int) -> tuple[ShiftQuantities, ...]:
    """So many of the shifts, one from each rate in turn, as quantities to plan with."""
    chosen = [(number % RATES, number // RATES) for number in range(min(count, RATES * SHIFTS))]
    return tuple(_quantities(drawn, row, column) for row, column in chosen)


def _quantities(drawn: DrawnShifts, row: int, column: int) -> ShiftQuantities:
    here = {name: float(amounts[row, column]) for name, amounts in drawn.amounts.items()}
    counted = {name: amount if name.endswith("minutes") else int(amount) for name, amount in here.items()}
    return ShiftQuantities(whole_shift=True, **counted)  # type: ignore[arg-type]


def _acts(stream: np.random.Generator, shape: float, seen_hours: float, hours: float) -> Floats:
    rate = stream.standard_gamma(shape, (RATES, 1)) * (hours / seen_hours)
    return stream.poisson(rate, (RATES, SHIFTS)).astype(np.float64)
