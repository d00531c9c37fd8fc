"""What does a shift of a post do to hands? From what is kept of it: loads, chances, verdicts, obligations."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import Any

from thenar.errors import BadInput
from thenar.exposure.done import Done, compare_done
from thenar.exposure.load_chances import Limit
from thenar.exposure.obligations import Obligations, obligations
from thenar.exposure.rates import PostRates, estimate_rates
from thenar.exposure.rule_sets import ReadyRuleSet
from thenar.exposure.sessions import Quantity, Timed
from thenar.exposure.shift import ShiftQuantities
from thenar.exposure.shift_load import ShiftLoad, ShiftPart, predict_shift
from thenar.exposure.starting_rates import StartingRate
from thenar.knowledge import Book
from thenar.records.actions.descriptions import DescribedWork
from thenar.screens.workplace.drawn_shifts import (
    AlsoCounted,
    DrawnShifts,
    Passing,
    also_counted,
    draw_shifts,
    passing,
)
from thenar.screens.workplace.kept_work import GivenPost
from thenar.screens.workplace.limits_here import single_limits

SEED = 20  # the same records give the same figures
ASSUMED_HOURS = 8.0  # where nobody has described the shift; always said beside the figures
PARTS = {"early": "Early", "late": "Late", "night": "Night", "day": "Day"}


@dataclass(frozen=True, slots=True)
class PartExposure:
    """A shift of a post in one part of the day. `usual` holds what it brings on average.

    `chance` is that of passing any limit drawn; None is "not known".
    """

    part: str
    watched_hours: float
    load: ShiftLoad
    usual: ShiftQuantities
    chance: Passing | None

    @property
    def name(self) -> str:
        """The part of the day in words."""
        return PARTS.get(self.part, self.part.capitalize())

    @property
    def watched(self) -> bool:
        """Whether anyone watched it at all."""
        return self.watched_hours > 0


@dataclass(frozen=True, slots=True)
class PostExposure:
    """A role in an area. `parts` is empty where nothing is known of it; `not_known` says why."""

    post: GivenPost
    hours: float
    hours_assumed: bool
    start: StartingRate | None
    no_start: str
    rates: PostRates | None
    parts: tuple[PartExposure, ...]
    not_known: str

    @property
    def role(self) -> str:
        """The role's name."""
        return self.post.role

    @property
    def watched_hours(self) -> float:
        """Hours of watching behind it."""
        return sum(session.hours for session in self.post.sessions)

    @property
    def observers(self) -> int:
        """How many observers there were."""
        return len({session.observer for session in self.post.sessions})

    @property
    def likeliest(self) -> PartExposure | None:
        """The part of the day that most likely passes a limit."""
        known = [part for part in self.parts if part.chance is not None]
        return max(known, key=lambda part: part.chance.chance if part.chance else 0, default=None)

    @property
    def why_not(self) -> str:
        """Why nothing is known of it; empty where something is."""
        return "" if self.parts else self.no_start or self.not_known

    def part(self, name: str) -> PartExposure | None:
        """One part of the day."""
        return next((part for part in self.parts if part.part == name), None)

    @property
    def cautions(self) -> tuple[str, ...]:
        """What belongs beside its figures, each once."""
        said = [caution for part in self.parts for caution in part.load.cautions]
        said += self.rates.cautions if self.rates else ()
        if self.hours_assumed and self.parts:
            said.insert(0, f"Nobody has described the shift; {ASSUMED_HOURS:g} hours are assumed.")
        return tuple(dict.fromkeys((*said, *([self.no_start] if self.no_start else []))))


@dataclass(frozen=True, slots=True)
class Asked:
    """What the acts of a shift required, beside what was done in them."""

    required: Obligations
    done: Done


def exposure_of(post: GivenPost, drawn: ReadyRuleSet, book: Book, on: date) -> PostExposure:
    """What a shift of a post does to hands, for each part of the day that was watched.

    Parameters
    ----------
    post
        What was watched and described.
    drawn
        The rule set whose limits are weighed.
    book, on
        The knowledge, and the day whose values are used.

    Returns
    -------
    PostExposure
        Where nobody watched, the published start alone, for a shift by day; without one, not known.

    Notes
    -----
    Each part of the day is taken as a shift of its own. Counts that were asked back when they were entered
    are not asked back again.
    """
    return _computed(post, _Known(drawn, book), on)


def asked_of(described: DescribedWork | None, book: Book, on: date) -> Asked | None:
    """What a described shift required; None where nobody logged its acts."""
    if described is None or not described.acts:
        return None
    return Asked(obligations(described.acts, book, on), compare_done(described.acts, book, on))


def shifts_drawn(exposure: PostExposure, part: PartExposure) -> DrawnShifts:
    """Shifts to come of a part of the day."""
    assert exposure.rates is not None
    besides = also_counted(exposure.post.sessions, part.part)
    return draw_shifts(exposure.rates, part.part, exposure.hours, besides, seed=SEED)


class _Known:
    """A ready rule set and a book as a key: equal only to themselves, for neither has a hash."""

    __slots__ = ("book", "drawn")

    def __init__(self, drawn: ReadyRuleSet, book: Book) -> None:
        self.drawn, self.book = drawn, book

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Known) and other.drawn is self.drawn and other.book is self.book

    def __hash__(self) -> int:
        return hash((id(self.drawn), id(self.book)))


@lru_cache(maxsize=2048)
def _computed(post: GivenPost, known: _Known, on: date) -> PostExposure:
    hours = float(post.described.shift_hours) if post.described else ASSUMED_HOURS
    start, no_start = _start(post, known.book, on)
    whole = PostExposure(post, hours, post.described is None, start, no_start, None, (), "")
    if not post.sessions and start is None:
        return _with(whole, not_known="Nobody has watched this work, and no published rate fits it.")
    try:
        rates = estimate_rates(
            post.sessions,
            start,
            known.book,
            on,
            area=post.area,
            role=post.role,
            seed=SEED,
            counts_confirmed=True,
        )
    except BadInput as problem:
        return _with(whole, not_known=str(problem))
    watched = dict(rates.watched_hours) or {"day": 0.0}
    parts = tuple(_part(whole, rates, part, hours, known.drawn) for part, hours in watched.items())
    return _with(whole, rates=rates, parts=parts)


def _with(whole: PostExposure, **known: Any) -> PostExposure:
    fields = ("post", "hours", "hours_assumed", "start", "no_start", "rates", "parts", "not_known")
    return PostExposure(**{name: known.get(name, getattr(whole, name)) for name in fields})


def _part(
    whole: PostExposure, rates: PostRates, part: str, watched: float, drawn: ReadyRuleSet
) -> PartExposure:
    limits = [
        Limit(ready.criterion.id, quantity, ready.criterion.operator, ready.bound)
        for quantity in (*Quantity, *Timed)
        for ready in single_limits(drawn, quantity.value)
    ]
    load = predict_shift(rates, [ShiftPart(part, whole.hours, part == "night")], limits, seed=SEED)
    besides = also_counted(whole.post.sessions, part)
    shifts = draw_shifts(rates, part, whole.hours, besides, seed=SEED)
    return PartExposure(part, watched, load, _usual(load, besides, whole.hours), passing(shifts, drawn))


def _usual(load: ShiftLoad, besides: Sequence[AlsoCounted], hours: float) -> ShiftQuantities:
    """What a shift brings on average. Averages are seldom whole; rounding them could pass a limit."""
    means: dict[str, Any] = {one.quantity.value: one.mean for one in load.loads}
    means |= {one.name: one.mean(hours) for one in besides}
    return ShiftQuantities(whole_shift=True, minutes_observed=hours * 60, **means)


def _start(post: GivenPost, book: Book, on: date) -> tuple[StartingRate | None, str]:
    """The published rate to start from, or why there is none."""
    if post.described is None:
        return None, ""
    try:
        return post.described.start(book, on), ""
    except BadInput as problem:
        return None, f"No published rate is used: {problem.what}"
