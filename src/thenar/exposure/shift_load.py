"""What load does a shift of a post bring, and how likely does it pass a limit?"""

from collections.abc import Sequence
from dataclasses import dataclass

from thenar.errors import BadInput
from thenar.exposure.load_chances import Acts, Chance, Limit, Minutes, acts_in, refuse_impossible
from thenar.exposure.opportunities import HOURS_IN_A_DAY, Covers
from thenar.exposure.rates import MIDDLE, PostRates, Rate, update_rate
from thenar.exposure.sessions import ACTS_OF, Quantity, Seen, Timed
from thenar.exposure.tally import in_words

LONGEST_DAY = 12  # hours; a longer part reaches into the night, whatever it is called


@dataclass(frozen=True, slots=True)
class ShiftPart:
    """A stretch of the shift: its name as in the sessions, its length, and whether it is at night."""

    name: str
    hours: float
    night: bool


@dataclass(frozen=True, slots=True)
class Load:
    """One quantity of a shift to come. [acts, or minutes]

    The middle 95 % of shifts lie from `lower` to `upper`. `share_of_start` is how much of the hours behind it
    are the published start. [0 to 1] Where `not_known` says why, there is no number, which is never "none".
    """

    quantity: Quantity | Timed
    mean: float | None = None
    lower: float | None = None
    upper: float | None = None
    share_of_start: float | None = None
    chances: tuple[Chance, ...] = ()
    not_known: str = ""


@dataclass(frozen=True, slots=True)
class ShiftLoad:
    """A shift to come, with what belongs beside its numbers. `unseen_parts` were never watched."""

    loads: tuple[Load, ...]
    unseen_parts: tuple[str, ...]
    cautions: tuple[str, ...]

    def load(self, quantity: Quantity | Timed) -> Load:
        """One quantity of the shift."""
        return next(load for load in self.loads if load.quantity is quantity)


class ImpossibleShift(BadInput):
    """A shift no one can work."""

    def __init__(self, says: str) -> None:
        super().__init__(
            what=says,
            why="The load of a shift depends on how long each of its parts is.",
            todo="Give each part of the shift once, with its hours; together at most 24.",
        )


def predict_shift(
    rates: PostRates, parts: Sequence[ShiftPart], limits: Sequence[Limit] = (), *, seed: int
) -> ShiftLoad:
    """The load of a shift to come: expected, the range of single shifts, and the chance to pass each limit.

    Parameters
    ----------
    rates
        What is known of the post.
    parts
        What the shift is made of.
    limits
        Each is compared with the quantity it names, by its own operator.
    seed
        Makes the intervals of the chances repeatable. The chances themselves are exact.

    Returns
    -------
    ShiftLoad
        Counts [acts] and times [minutes]. A quantity without a rate in some part is not known.

    Raises
    ------
    ImpossibleShift
        The shift has no part, one twice, or hours that can't be.
    ImpossibleLimit
        A limit is negative or not a number.

    Notes
    -----
    Counts: in each part a gamma mixture of Poissons, which is a negative binomial; parts are independent and
    their sum is exact. Times: so many acts, each of an exponential length whose mean is itself uncertain. The
    model knows no ceiling: a long act does not shorten the rest of the shift. Not for counts that come in
    clusters, nor for a shift unlike those that were watched.

    References
    ----------
    .. [1] Gelman and others, Bayesian Data Analysis, 3rd edition, section 2.6: predictive distribution.

    Examples
    --------
    Nine washes in 3 hours of watching; a shift of 8 hours: 9.5 x 8 / 3 washes expected.

    >>> from thenar.exposure.rates import PartRate
    >>> rate = update_rate(Quantity.WASHES, "early", Seen(9, 3.0), None)
    >>> seen = PartRate(Quantity.WASHES, "early", rate, (), None, None)
    >>> rates = PostRates("ward", "nurse", None, (("early", 3.0),), (seen,), (), (), "")
    >>> often = Limit("fifteen", Quantity.WASHES, ">=", 15)
    >>> load = predict_shift(rates, [ShiftPart("early", 8, night=False)], [often], seed=1)
    >>> washes = load.load(Quantity.WASHES)
    >>> round(washes.mean, 1), washes.lower, washes.upper, round(washes.chances[0].chance, 2)
    (25.3, 10.0, 47.0, 0.88)
    """
    _refuse_impossible_shift(parts)
    refuse_impossible(limits)
    counts = tuple(_count_load(quantity, rates, parts, limits, seed) for quantity in Quantity)
    times = tuple(_time_load(timed, rates, parts, limits, seed) for timed in Timed)
    unseen = tuple(part.name for part in parts if part.name not in dict(rates.watched_hours))
    cautions = (*_cautions(rates, parts, unseen), *_too_long(times, parts))
    return ShiftLoad((*counts, *times), unseen, cautions)


def _count_load(
    quantity: Quantity, rates: PostRates, parts: Sequence[ShiftPart], limits: Sequence[Limit], seed: int
) -> Load:
    worked = _worked(quantity, rates, parts)
    if isinstance(worked, str):
        return Load(quantity, not_known=worked)
    return _load(quantity, acts_in(worked), worked, limits, seed)


def _time_load(
    timed: Timed, rates: PostRates, parts: Sequence[ShiftPart], limits: Sequence[Limit], seed: int
) -> Load:
    worked, length = _worked(ACTS_OF[timed], rates, parts), rates.length(timed)
    if isinstance(worked, str):
        return Load(timed, not_known=worked)
    if length is None:
        acts = in_words(ACTS_OF[timed])
        return Load(timed, not_known=f"Not known: fewer than two {acts} were timed.")
    return _load(timed, Minutes(acts_in(worked), length), worked, limits, seed)


def _load(
    quantity: Quantity | Timed,
    expected: Acts | Minutes,
    worked: list[tuple[Rate, float]],
    limits: Sequence[Limit],
    seed: int,
) -> Load:
    hours = sum(hours for _, hours in worked)
    return Load(
        quantity,
        mean=expected.mean,
        lower=expected.quantile(MIDDLE[0]),
        upper=expected.quantile(MIDDLE[1]),
        share_of_start=sum(rate.share_of_start * part for rate, part in worked) / hours,
        chances=tuple(expected.chance(limit, seed) for limit in limits if limit.quantity is quantity),
    )


def _worked(
    quantity: Quantity, rates: PostRates, parts: Sequence[ShiftPart]
) -> list[tuple[Rate, float]] | str:
    """Each part's rate with its hours, or why there is none.

    Parts in which nobody counted are one stretch: they share one start, and with it one error.
    """
    found = [(part, rates.rate(quantity, part.name)) for part in parts]
    without = [part.name for part, rate in found if rate is None]
    if without:
        counted = in_words(quantity)
        return f"Not known: nobody counted {counted} in {', '.join(without)}, and no rate is published."
    worked = [(rate, part.hours) for part, rate in found if rate is not None and rate.seen.hours]
    unseen = [part for part, rate in found if rate is not None and not rate.seen.hours]
    if unseen:
        start = update_rate(quantity, ", ".join(part.name for part in unseen), Seen(0, 0), rates.start)
        assert start is not None  # a rate without hours is the start
        worked.append((start, sum(part.hours for part in unseen)))
    return worked


def _cautions(rates: PostRates, parts: Sequence[ShiftPart], unseen: Sequence[str]) -> tuple[str, ...]:
    said = [
        f"{name}: no session was held in this part of the shift. What is shown of it is the published start."
        for name in unseen
        if rates.start
    ]
    said += [f"{name}: no session was held in this part of the shift." for name in unseen if not rates.start]
    if rates.start and rates.start.covers is not Covers.ROUND_THE_CLOCK:
        said += [
            f"{part.name}: the published start may not fit its hours at night; hours it was counted in: "
            f"{rates.start.covers}. {rates.start.about_nights}"
            for part in parts
            if part.night or part.hours > LONGEST_DAY
        ]
    return tuple(said)


def _too_long(times: Sequence[Load], parts: Sequence[ShiftPart]) -> tuple[str, ...]:
    shift = sum(part.hours for part in parts) * 60
    return tuple(
        f"{in_words(load.quantity)}: the upper end is longer than the shift. Too little was timed."
        for load in times
        if load.upper is not None and load.upper > shift
    )


def _refuse_impossible_shift(parts: Sequence[ShiftPart]) -> None:
    names = [part.name for part in parts]
    if not names or len(set(names)) < len(names):
        raise ImpossibleShift("The shift has no part." if not names else "A part of the shift stands twice.")
    for part in parts:
        if not 0 < part.hours <= HOURS_IN_A_DAY:
            raise ImpossibleShift(f"{part.name} has {part.hours:g} hours.")
    total = sum(part.hours for part in parts)
    if total > HOURS_IN_A_DAY:
        raise ImpossibleShift(f"The parts add up to {total:g} hours.")
