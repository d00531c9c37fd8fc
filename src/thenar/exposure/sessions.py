"""One worker watched for a while: what was counted, by whom, in which part of the shift."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum

from thenar.errors import BadInput
from thenar.exposure.tally import Tally, in_words, measure_tally, query_counts
from thenar.knowledge import Book

PER_HOUR = "rates.plausible.per-hour"


class Quantity(StrEnum):
    """What is counted."""

    WASHES = "washes"
    RUBS = "rubs"
    PAIRS = "pairs"
    WET_CONTACTS = "wet_contacts"


class Timed(StrEnum):
    """What is timed."""

    WET_MINUTES = "wet_minutes"
    GLOVE_MINUTES = "glove_minutes"


# The acts whose lengths add up to the minutes.
ACTS_OF = {Timed.WET_MINUTES: Quantity.WET_CONTACTS, Timed.GLOVE_MINUTES: Quantity.PAIRS}
_ONE = {
    Quantity.WASHES: "wash",
    Quantity.RUBS: "rub",
    Quantity.PAIRS: "pair of gloves",
    Quantity.WET_CONTACTS: "wet contact",
    Timed.WET_MINUTES: "wet minute",
    Timed.GLOVE_MINUTES: "glove minute",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class ObservationSession:
    """One observer watching one worker of a role in an area; `counts` hold the minutes and what was counted.

    Two workers watched at once are two sessions. What nobody counted is None in `counts`, never 0.
    """

    observer: str
    area: str
    role: str
    shift_part: str
    counts: Tally

    @property
    def hours(self) -> float:
        """How long it was. [hours, above 0]"""
        return self.counts.minutes_observed / 60

    def count(self, quantity: Quantity) -> int | None:
        """How often an act was seen; None where it was not counted."""
        counted: int | None = getattr(self.counts, quantity)
        return counted

    def minutes(self, timed: Timed) -> float | None:
        """How long acts took together; None where they were not timed."""
        took: float | None = getattr(self.counts, timed)
        return took


@dataclass(frozen=True, slots=True)
class Seen:
    """What several sessions saw together of one quantity: `count` acts in `hours`. [0 or more]"""

    count: int
    hours: float


class UnusableSession(BadInput):
    """A session whose numbers can't be. It is named by its place in the list, never by its observer."""

    def __init__(self, number: int, fault: BadInput) -> None:
        super().__init__(what=f"Session {number}: {fault.what}", why=fault.why, todo=fault.todo)
        self.number = number


class CountsAskedBack(BadInput):
    """Counts so high that they are asked back once."""

    def __init__(self, queries: tuple[str, ...]) -> None:
        super().__init__(
            what=" ".join(queries),
            why="A slip of the finger in one session can change the verdict on a ward.",
            todo="Ask the observer. Correct the count, or confirm that it is right.",
        )
        self.queries = queries


class MixedSessions(BadInput):
    """Sessions of several areas or roles, which have no one rate."""

    def __init__(self, number: int, says: str) -> None:
        super().__init__(
            what=f"Session {number} is {says}.",
            why="One rate over different work would be true of none of it.",
            todo="Give the sessions of one area and one role at a time.",
        )


def check_sessions(
    sessions: Sequence[ObservationSession],
    area: str,
    role: str,
    book: Book,
    on: date,
    *,
    counts_confirmed: bool = False,
) -> None:
    """Refuse sessions that can't be right, and ask back those that can hardly be.

    Parameters
    ----------
    sessions
        As they were entered; the first is number 1.
    area, role
        Where and whose work they must be of.
    book
        The knowledge that holds the limits of what is believed. They are choices of this software.
    on
        Day whose limits are used.
    counts_confirmed
        Somebody has asked, and the high counts are right.

    Raises
    ------
    UnusableSession
        A session has no minutes, a count below 0, or numbers that contradict each other.
    CountsAskedBack
        Counts are too high to be believed at once; all are listed.
    MixedSessions
        A session is of another area or role.

    Examples
    --------
    >>> from thenar.knowledge import load
    >>> session = ObservationSession(
    ...     observer="a", area="ward", role="nurse", shift_part="early",
    ...     counts=Tally(minutes_observed=40, whole_shift=False, washes=200))
    >>> check_sessions([session], "ward", "nurse", load(), date(2026, 11, 25))  # doctest: +ELLIPSIS
    Traceback (most recent call last):
    ...
    thenar.exposure.sessions.CountsAskedBack: Session 1: 200 washes in one shift: more than 150 are asked ...
    """
    for number, session in enumerate(sessions, start=1):
        if session.area != area:
            raise MixedSessions(number, f"of the area {session.area!r}, not {area!r}")
        if session.role != role:
            raise MixedSessions(number, f"of the role {session.role!r}, not {role!r}")
        _refuse_unusable(number, session)
    queries = tuple(
        f"Session {number}: {query}"
        for number, session in enumerate(sessions, start=1)
        for query in _queries(session, book, on)
    )
    if queries and not counts_confirmed:
        raise CountsAskedBack(queries)


def seen_of(sessions: Iterable[ObservationSession], quantity: Quantity) -> Seen:
    """What sessions saw of a quantity together. Those that did not count it add no hours either.

    Examples
    --------
    >>> def watched(minutes, washes):
    ...     counts = Tally(minutes_observed=minutes, whole_shift=False, washes=washes)
    ...     return ObservationSession(
    ...         observer="a", area="ward", role="nurse", shift_part="early", counts=counts)
    >>> seen_of([watched(60, 3), watched(30, 1), watched(60, None)], Quantity.WASHES)
    Seen(count=4, hours=1.5)
    """
    counted = [(n, session.hours) for session in sessions if (n := session.count(quantity)) is not None]
    return Seen(sum(n for n, _ in counted), sum(hours for _, hours in counted))


def so_many(number: float, quantity: Quantity | Timed) -> str:
    """An amount of something counted or timed, in words that fit the number.

    Examples
    --------
    >>> so_many(1, Quantity.WASHES), so_many(3, Quantity.WASHES), so_many(1.5, Timed.WET_MINUTES)
    ('1 wash', '3 washes', '1.5 wet minutes')
    """
    return f"{number:g} {_ONE[quantity] if number == 1 else in_words(quantity)}"


def _refuse_unusable(number: int, session: ObservationSession) -> None:
    try:
        measure_tally(session.counts)
    except BadInput as fault:
        raise UnusableSession(number, fault) from None
    for timed, acts in ACTS_OF.items():
        minutes = session.minutes(timed)
        if minutes and session.count(acts) == 0:
            says = (
                f"there {'is' if minutes == 1 else 'are'} {so_many(minutes, timed)} but no {in_words(acts)}."
            )
            slip = BadInput(what=says, why="One of the two is a slip.", todo="Correct one of them.")
            raise UnusableSession(number, slip)


def _queries(session: ObservationSession, book: Book, on: date) -> Iterator[str]:
    absolute = query_counts(measure_tally(session.counts), book, on)
    yield from (query.says for query in absolute)
    limit = book.rule(PER_HOUR).on(on)
    for quantity in Quantity:
        counted = session.count(quantity)
        if counted is not None and not limit.met_by(Decimal(counted / session.hours)):
            minutes = session.counts.minutes_observed
            most = f"more than {limit.amount} an hour are asked back"
            watched = f"{minutes:g} minute{'' if minutes == 1 else 's'}"
            yield f"{so_many(counted, quantity)} in {watched}: {most}."
