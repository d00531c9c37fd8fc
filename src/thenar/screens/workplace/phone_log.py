"""Reads a session counted on a phone: presses with their times, sent once the phone has a connection."""

import math
from datetime import UTC, datetime
from typing import Annotated

from django.utils import timezone
from pydantic import ConfigDict, Field, TypeAdapter, ValidationError
from pydantic.dataclasses import dataclass as checked

from thenar.errors import BadInput
from thenar.exposure.sessions import CountsAskedBack
from thenar.exposure.shift import EACH_WAY, Event, EventKind, ShiftQuantities, Watched, measure_shift
from thenar.exposure.tally import Tally
from thenar.records.actions.observations import SessionSeen
from thenar.records.models import Area, Role

STRICT = ConfigDict(extra="forbid", strict=True)
_LAST = 4_102_444_800_000  # the year 2100
MOST_PRESSES = 5_000

Moment = Annotated[int, Field(ge=0, le=_LAST, description="milliseconds since 1970, UTC")]


@checked(frozen=True, slots=True, config=STRICT)
class Press:
    """One press of a button. `skin_wet` belongs to gloves put on."""

    kind: EventKind
    at: Moment
    skin_wet: bool | None = None

    def event(self, line: int) -> Event:
        """The press as a line of the log."""
        return Event(_moment(self.at), self.kind, line, skin_wet=self.skin_wet)


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class PhoneLog:
    """A session as the phone kept it. `key` was made there, so that sending it again makes no second record.

    `watched` is what the observer watched for: a button never pressed counts 0 there, and is not known else.
    """

    key: Annotated[str, Field(pattern="^[0-9a-f]{32}$")]
    role: Annotated[str, Field(max_length=12)]
    part: Annotated[str, Field(max_length=8)]
    started: Moment
    ended: Moment
    watched: Annotated[tuple[Watched, ...], Field(min_length=1)]
    presses: Annotated[tuple[Press, ...], Field(max_length=MOST_PRESSES)]
    confirmed: bool = False

    def seen(self, area: Area, roles: dict[str, Role], observer: str) -> SessionSeen:
        """The session; refuse one that can't be right."""
        if self.role not in roles:
            raise BadInput(
                what="The role that was watched is no longer in the list.",
                why="Counts belong to the work of one role.",
                todo="Type the counts into the form, under the role it has now.",
            )
        return SessionSeen(
            area=area,
            role=roles[self.role],
            observer=observer,
            observed_on=timezone.localdate(_moment(self.started)),
            shift_part=self.part,
            counts=self._tally(),
        )

    def _tally(self) -> Tally:
        self._refuse_other_times()
        if not self.presses and not self.confirmed:
            says = f"Nothing was counted in {_minutes(self.started, self.ended):g} minutes."
            raise CountsAskedBack((says,))
        counted = self._measured()
        return Tally(
            minutes_observed=_minutes(self.started, self.ended),
            whole_shift=False,
            washes=counted.washes,
            rubs=counted.rubs,
            wet_contacts=counted.wet_contacts,
            wet_minutes=_rounded(counted.wet_minutes),
            pairs=counted.pairs,
            glove_minutes=_rounded(counted.glove_minutes),
            longest_glove_wear_minutes=_rounded(counted.longest_glove_wear_minutes),
            gloves_on_wet_skin=counted.gloves_on_wet_skin,
            wet_glove_alternations=counted.wet_glove_alternations,
            wash_glove_alternations=counted.wash_glove_alternations,
            cream_uses=counted.cream_uses,
            convention=EACH_WAY.says,
        )

    def _measured(self) -> ShiftQuantities:
        watched = frozenset(self.watched)
        events = [press.event(line) for line, press in enumerate(self.presses, start=1)]
        return measure_shift(events, whole_shift=False, watched=watched) if events else _nothing_in(watched)

    def _refuse_other_times(self) -> None:
        times = [press.at for press in self.presses]
        if self.ended <= self.started or (
            times and not self.started <= min(times) <= max(times) <= self.ended
        ):
            raise BadInput(
                what="The times on the phone do not fit together.",
                why="Its clock was set while counting, so no one can tell how long the session was.",
                todo="Type the counts into the form, with the minutes by another clock.",
            )


def read_phone_log(raw: bytes) -> PhoneLog:
    """The session that was sent; refuse what this page can't have sent."""
    try:
        return _READ.validate_json(raw)
    except ValidationError as fault:
        where = ".".join(map(str, fault.errors()[0]["loc"])) or "it"
        raise BadInput(
            what=f"The session sent from the phone can't be read: {where} is not as expected.",
            why="Nothing was recorded from it. The phone still has the counts.",
            todo="Open the page again with a connection, and send once more.",
        ) from None


_READ = TypeAdapter(PhoneLog)


def _nothing_in(watched: frozenset[Watched]) -> ShiftQuantities:
    """A stretch in which none of what was watched for happened."""
    washes, rubs, wet, gloves, cream = (0 if each in watched else None for each in Watched)
    return ShiftQuantities(
        whole_shift=False,
        washes=washes,
        rubs=rubs,
        wet_contacts=wet,
        wet_minutes=wet,
        pairs=gloves,
        glove_minutes=gloves,
        gloves_on_wet_skin=gloves,
        cream_uses=cream,
    )


def _moment(milliseconds: int) -> datetime:
    return datetime.fromtimestamp(milliseconds / 1000, UTC)


def _minutes(start: int, end: int) -> float:
    """Rounded up, and what lies within rounded down, so that rounding never makes a part exceed the whole."""
    return math.ceil((end - start) / 600) / 100


def _rounded(minutes: float | None) -> float | None:
    return None if minutes is None else math.floor(minutes * 100) / 100
