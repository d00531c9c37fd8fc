"""Records sessions in which somebody watched hands at work and counted. The worker is never recorded."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import date, datetime

from django.db import transaction

from thenar.errors import BadInput
from thenar.exposure.sessions import CountsAskedBack, ObservationSession, UnusableSession, check_sessions
from thenar.exposure.tally import Tally
from thenar.knowledge import Book
from thenar.records.audit import note
from thenar.records.days import day_of, not_after_today
from thenar.records.models import Area, ObservedSession, Role, User
from thenar.records.models.workplace import SHIFT_PARTS
from thenar.records.rights import Act, require

LONGEST_NAME = 120
_FIRST = "Session 1: "


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionSeen:
    """One observer watching one worker of a role: where, when, and what was counted."""

    area: Area
    role: Role
    observer: str
    observed_on: date
    shift_part: str
    counts: Tally

    @property
    def session(self) -> ObservationSession:
        """The session as the computations take it."""
        return ObservationSession(
            observer=self.observer,
            area=self.area.name,
            role=self.role.name,
            shift_part=self.shift_part,
            counts=self.counts,
        )


@transaction.atomic
def record_session(
    *, seen: SessionSeen, came_by: str, by: User, now: datetime, book: Book, counts_confirmed: bool = False
) -> ObservedSession:
    """Keep one session.

    Raises
    ------
    CountsAskedBack
        Counts are too high to be believed at once, and nobody has confirmed them.
    BadInput
        The session can't be used as it stands.
    """
    require(by, Act.OBSERVE)
    asked = asked_back(seen, book=book, now=now)
    if asked and not counts_confirmed:
        raise CountsAskedBack(asked)
    (kept,) = _keep([seen], came_by, by, now)
    note("session recorded", by=by, now=now, target=kept.ref, data_class="C5")
    return kept


@transaction.atomic
def record_file(
    *, seen: Sequence[SessionSeen], by: User, now: datetime, book: Book, counts_confirmed: bool = False
) -> list[ObservedSession]:
    """Keep the sessions of a file, all or none, with one audit row."""
    require(by, Act.OBSERVE)
    asked = [query for one in seen for query in asked_back(one, book=book, now=now)]
    if asked and not counts_confirmed:
        raise CountsAskedBack(tuple(asked))
    kept = _keep(seen, "file", by, now)
    note("sessions read in", by=by, now=now, target=kept[0].ref, data_class="C5", why=f"{len(kept)} sessions")
    return kept


def asked_back(seen: SessionSeen, *, book: Book, now: datetime) -> tuple[str, ...]:
    """What is so high that it is asked back; refuse what can't be right at all."""
    if not seen.observer.strip() or len(seen.observer) > LONGEST_NAME:
        raise BadInput(
            what=f"The observer's name has {len(seen.observer.strip())} characters.",
            why="Observers count differently, so they are kept apart.",
            todo=f"Give a name or initials of at most {LONGEST_NAME} characters.",
        )
    if seen.shift_part not in dict(SHIFT_PARTS):
        raise BadInput(
            what=f"{seen.shift_part!r} is no part of a shift.",
            why="A morning does not say how a night is.",
            todo=f"Give one of: {', '.join(dict(SHIFT_PARTS))}.",
        )
    not_after_today(seen.observed_on, now, field="Observed on")
    session = seen.session
    try:
        check_sessions([session], session.area, session.role, book, day_of(now))
    except UnusableSession as fault:
        raise BadInput(what=fault.what.removeprefix(_FIRST), why=fault.why, todo=fault.todo) from None
    except CountsAskedBack as asked:
        return tuple(query.removeprefix(_FIRST) for query in asked.queries)
    return ()


def counts_kept(counts: Tally) -> dict[str, object]:
    """The tally as it is kept: what nobody counted is left out, so that it is never read as 0."""
    return {name: given for name, given in asdict(counts).items() if given is not None}


def _keep(seen: Sequence[SessionSeen], came_by: str, by: User, now: datetime) -> list[ObservedSession]:
    return ObservedSession.objects.bulk_create(
        ObservedSession(
            area=one.area,
            role=one.role,
            observer=one.observer.strip(),
            observed_on=one.observed_on,
            shift_part=one.shift_part,
            counts=counts_kept(one.counts),
            came_by=came_by,
            at=now,
            by=by,
        )
        for one in seen
    )
