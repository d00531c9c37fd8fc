"""How often does a post cleanse, wet and glove its hands in an hour, and how sure is that?"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from scipy import special

from thenar.exposure.sessions import (
    ACTS_OF,
    ObservationSession,
    Quantity,
    Seen,
    Timed,
    check_sessions,
    seen_of,
)
from thenar.exposure.spread import Spread, spread_of
from thenar.exposure.starting_rates import StartingRate
from thenar.exposure.tally import in_words
from thenar.knowledge import Book

HALF_AN_ACT = 0.5  # in no time, this is Jeffreys' prior of a Poisson rate
MIDDLE = (0.025, 0.975)
CAUTIONS = ("rates.caution.watched", "rates.caution.not-a-target")


@dataclass(frozen=True, slots=True)
class Rate:
    """Acts an hour of one worker, as a gamma distribution of `shape` acts in `hours`.

    Both count what was seen and what the start is worth. All intervals hold the middle 95 %.
    """

    quantity: Quantity
    shift_part: str
    seen: Seen
    shape: float
    hours: float

    @property
    def mean(self) -> float:
        """The expected rate. [acts an hour]"""
        return self.shape / self.hours

    @property
    def lower(self) -> float:
        """[acts an hour]"""
        return self.quantile(MIDDLE[0])

    @property
    def upper(self) -> float:
        """[acts an hour]"""
        return self.quantile(MIDDLE[1])

    @property
    def share_of_start(self) -> float:
        """How much of the hours behind the rate is the published start, and not watching. [0 to 1]"""
        return 1 - self.seen.hours / self.hours

    def quantile(self, share: float) -> float:
        """The rate that `share` of the distribution lies under. [acts an hour]"""
        return float(special.gammaincinv(self.shape, share)) / self.hours


@dataclass(frozen=True, slots=True)
class ObserverRate:
    """What one observer saw, by the counts alone."""

    observer: str
    rate: Rate


@dataclass(frozen=True, slots=True)
class PartRate:
    """One quantity in one part of the shift: `rate` of all observers together, `observers` kept apart.

    A spread is None where there is nothing to compare.
    """

    quantity: Quantity
    shift_part: str
    rate: Rate
    observers: tuple[ObserverRate, ...]
    between_observers: Spread | None
    between_sessions: Spread | None


@dataclass(frozen=True, slots=True)
class ActLength:
    """How long one act takes, from `acts` of them that took `minutes` together. [2 or more; above 0]"""

    timed: Timed
    acts: int
    minutes: float

    @property
    def mean(self) -> float:
        """The expected length of one act. [minutes]"""
        return self.minutes / (self.acts - 1)


@dataclass(frozen=True, slots=True)
class PostRates:
    """What is known of one area and role. `watched_hours` are those of each part of the shift seen at all."""

    area: str
    role: str
    start: StartingRate | None
    watched_hours: tuple[tuple[str, float], ...]
    rates: tuple[PartRate, ...]
    lengths: tuple[ActLength, ...]
    cautions: tuple[str, ...]
    edition: str

    def rate(self, quantity: Quantity, shift_part: str) -> Rate | None:
        """The rate in a part of the shift; the bare start if nobody counted there; None without one."""
        for part in self.rates:
            if (part.quantity, part.shift_part) == (quantity, shift_part):
                return part.rate
        return update_rate(quantity, shift_part, Seen(0, 0), self.start)

    def length(self, timed: Timed) -> ActLength | None:
        """How long one act takes; None where fewer than two were timed."""
        return next((length for length in self.lengths if length.timed is timed), None)


def update_rate(quantity: Quantity, shift_part: str, seen: Seen, start: StartingRate | None) -> Rate | None:
    """A starting rate updated by what was seen: gamma before, Poisson counts, gamma after.

    Parameters
    ----------
    quantity, shift_part
        What was counted, and in which part of the shift.
    seen
        Acts and the hours they were counted in.
    start
        The published start, or None for the counts alone.

    Returns
    -------
    Rate or None
        Acts an hour. None where there is neither a start for this quantity nor an hour of counting.

    Notes
    -----
    Conjugate: acts add to the shape, hours to the hours. Without a start, the shape begins at one half. With
    one it never begins lower, which raises starts under half an act an hour: a gamma of a smaller shape would
    be all but sure of no act at all, and a low published rate is no such knowledge.

    References
    ----------
    .. [1] Gelman and others, Bayesian Data Analysis, 3rd edition, section 2.6: the gamma-Poisson model.

    Examples
    --------
    Nine washes in 3 hours, from the counts alone.

    >>> rate = update_rate(Quantity.WASHES, "early", Seen(9, 3.0), None)
    >>> rate.shape, rate.hours, round(rate.mean, 2)
    (9.5, 3.0, 3.17)
    """
    begin = start.per_hour(quantity) if start else None
    if start is not None and begin:
        shape, hours = max(begin * start.weight_hours, HALF_AN_ACT), start.weight_hours
    elif seen.hours:
        shape, hours = HALF_AN_ACT, 0.0
    else:
        return None
    return Rate(quantity, shift_part, seen, shape + seen.count, hours + seen.hours)


def estimate_rates(
    sessions: Sequence[ObservationSession],
    start: StartingRate | None,
    book: Book,
    on: date,
    *,
    area: str,
    role: str,
    seed: int,
    counts_confirmed: bool = False,
) -> PostRates:
    """The rates of one area and role, for each part of the shift, from sessions and a published start.

    Parameters
    ----------
    sessions
        Those of this area and role; none at all is possible, and said.
    start
        Where the washes and rubs start from; None for the counts alone.
    book
        The knowledge that holds cautions and limits.
    on
        Day whose values are used.
    area, role
        Whose work it is.
    seed
        Makes the comparison of observers and sessions repeatable.
    counts_confirmed
        Somebody has asked about high counts, and they are right.

    Returns
    -------
    PostRates
        A rate for each quantity counted in each part of the shift that was seen; parts are never mixed.

    Raises
    ------
    UnusableSession, CountsAskedBack, MixedSessions
        The sessions can't be used as they stand.

    Notes
    -----
    A rate is taken as steady within a part of the shift. Where sessions differ more than chance the real
    shifts do too, and every interval is then too narrow: the result says so. Each part of the shift begins
    from the whole start. Lengths of acts are taken over all parts and observers, as exponential.

    References
    ----------
    .. [1] Gelman and others, Bayesian Data Analysis, 3rd edition, section 2.6.

    Examples
    --------
    >>> from thenar.knowledge import load
    >>> from thenar.exposure.tally import Tally
    >>> counts = Tally(minutes_observed=120, whole_shift=False, washes=5)
    >>> seen = ObservationSession(
    ...     observer="a", area="ward", role="nurse", shift_part="early", counts=counts)
    >>> rates = estimate_rates([seen], None, load(), date(2026, 11, 25), area="ward", role="nurse", seed=1)
    >>> rate = rates.rate(Quantity.WASHES, "early")
    >>> round(rate.mean, 2), round(rate.lower, 2), round(rate.upper, 2)
    (2.75, 0.95, 5.48)
    """
    check_sessions(sessions, area, role, book, on, counts_confirmed=counts_confirmed)
    parts = tuple(dict.fromkeys(session.shift_part for session in sessions))
    rates = tuple(
        _part_rate(quantity, part, counted, start, seed)
        for part in parts
        for quantity in Quantity
        if (counted := _counting(sessions, quantity, part))
    )
    return PostRates(
        area=area,
        role=role,
        start=start,
        watched_hours=tuple((part, _hours(sessions, part)) for part in parts),
        rates=rates,
        lengths=tuple(length for timed in Timed if (length := _length(sessions, timed)) is not None),
        cautions=(*_cautions(rates, start, book, on), *_said_always(book, on)),
        edition=book.edition,
    )


def _part_rate(
    quantity: Quantity,
    part: str,
    sessions: Sequence[ObservationSession],
    start: StartingRate | None,
    seed: int,
) -> PartRate:
    rate = update_rate(quantity, part, seen_of(sessions, quantity), start)
    assert rate is not None  # sessions that counted have hours
    by_observer = {
        observer: seen_of([one for one in sessions if one.observer == observer], quantity)
        for observer in dict.fromkeys(session.observer for session in sessions)
    }
    apart = [(observer, update_rate(quantity, part, seen, None)) for observer, seen in by_observer.items()]
    return PartRate(
        quantity=quantity,
        shift_part=part,
        rate=rate,
        observers=tuple(ObserverRate(observer, own) for observer, own in apart if own is not None),
        between_observers=spread_of(list(by_observer.values()), seed),
        between_sessions=spread_of([seen_of([one], quantity) for one in sessions], seed),
    )


def _counting(
    sessions: Sequence[ObservationSession], quantity: Quantity, part: str
) -> list[ObservationSession]:
    return [one for one in sessions if one.shift_part == part and one.count(quantity) is not None]


def _hours(sessions: Sequence[ObservationSession], part: str) -> float:
    return sum(session.hours for session in sessions if session.shift_part == part)


def _length(sessions: Sequence[ObservationSession], timed: Timed) -> ActLength | None:
    """From sessions that both counted the acts and timed them. One act says nothing of how lengths vary."""
    both = [
        (acts, minutes)
        for session in sessions
        if (acts := session.count(ACTS_OF[timed])) is not None
        and (minutes := session.minutes(timed)) is not None
    ]
    acts, minutes = sum(acts for acts, _ in both), sum(minutes for _, minutes in both)
    return ActLength(timed, acts, minutes) if acts >= 2 and minutes > 0 else None


def _cautions(rates: Sequence[PartRate], start: StartingRate | None, book: Book, on: date) -> tuple[str, ...]:
    seldom = book.rule("rates.spread-by-chance").on(on)
    said = [] if start else ["No published rate was used to start from: the counts stand alone."]
    for part in rates:
        what = f"{part.shift_part}, {in_words(part.quantity)}"
        if len(part.observers) > 1:
            said.append(f"{what}: {len(part.observers)} observers taken together; each is also shown apart.")
        if part.between_observers and seldom.met_by(Decimal(part.between_observers.by_chance)):
            said.append(f"{what}: observers differ more than chance makes them. Find out why first.")
        if part.between_sessions and seldom.met_by(Decimal(part.between_sessions.by_chance)):
            said.append(
                f"{what}: sessions differ more than chance makes them, so shifts vary more than shown."
            )
    return tuple(said)


def _said_always(book: Book, on: date) -> tuple[str, ...]:
    values = [book.rule(rule_id).on(on) for rule_id in CAUTIONS]
    return tuple(f"{value.text} ({book.cite(value).known_as})" for value in values)
