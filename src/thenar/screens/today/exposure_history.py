"""What did this person's hands meet at work? Post by post, as the work was watched while they held it."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from thenar.exposure.sessions import Quantity
from thenar.exposure.shift_load import Load
from thenar.knowledge import Book
from thenar.records.actions.descriptions import described
from thenar.records.models import ObservedSession
from thenar.records.queries.exposure_history import PostHeld
from thenar.records.queries.observations import as_session
from thenar.screens.workplace.exposure_of import PartExposure, PostExposure, exposure_of
from thenar.screens.workplace.figures import SHOWN, in_order
from thenar.screens.workplace.how_sure import how_sure
from thenar.screens.workplace.kept_work import GivenPost
from thenar.screens.workplace.limits_here import Limits
from thenar.screens.workplace.looking import governing_id
from thenar.screens.workplace.matrix import RuleSetRow, rule_rows
from thenar.screens.workplace.wording import about, percent, percents


@dataclass(frozen=True, slots=True)
class Stretch:
    """How long work was watched, in how many sessions, from when to when."""

    minutes: int
    sessions: int
    first: date
    last: date


@dataclass(frozen=True, slots=True)
class LoadCell:
    """One load of a shift: its name, what is expected, and where 95 of 100 shifts lie."""

    label: str
    expected: str
    between: str


@dataclass(frozen=True, slots=True)
class PartRow:
    """One part of the day: minutes watched, and its loads."""

    part: str
    minutes: int
    loads: tuple[LoadCell, ...]


@dataclass(frozen=True, slots=True)
class HeldExposure:
    """A post as the page shows it.

    `used` is the watching behind the figures, None where there is none; `in_time` says whether it was during
    the post, and `since` is what was watched after it. Without watching there are no rows and no verdict;
    `published` then holds what a published rate alone would give.
    """

    held: PostHeld
    exposure: PostExposure
    used: Stretch | None
    in_time: bool
    since: Stretch | None
    rows: tuple[PartRow, ...]
    part: str
    verdicts: tuple[RuleSetRow, ...]
    chance: str
    between: str
    at_least: bool
    published: tuple[str, ...]
    careful: tuple[str, ...]


def held_exposures(
    posts: Sequence[PostHeld], limits: Limits, book: Book, on: date
) -> tuple[HeldExposure, ...]:
    """Each post with its loads, its verdict by the rules of a day, and how sure both are.

    Parameters
    ----------
    posts
        The posts held, with what was watched during each; where nothing was, what was watched before stands
        in and says so. What was watched after a post is never taken for it.
    limits
        The rule set that governs, and the one whose limits are weighed.
    book, on
        The knowledge, and the day whose values are used.
    """
    return tuple(_exposure(held, limits, book, on) for held in posts)


def _exposure(held: PostHeld, limits: Limits, book: Book, on: date) -> HeldExposure:
    watched = held.during or held.before
    exposure = exposure_of(_given(held, watched), limits.drawn, book, on)
    part = (exposure.likeliest or exposure.parts[0]) if watched and exposure.parts else None
    chance = part.chance if part else None
    return HeldExposure(
        held=held,
        exposure=exposure,
        used=_stretch(watched),
        in_time=bool(held.during),
        since=_stretch(held.after),
        rows=tuple(_row(one) for one in in_order(exposure.parts)) if watched else (),
        part=part.name.lower() if part else "",
        verdicts=_verdicts(part, limits, book, on),
        chance=percent(chance.chance) if chance else "",
        between=percents(chance.lower, chance.upper) if chance else "",
        at_least=bool(chance and chance.not_weighed),
        published=() if watched else _published(exposure),
        careful=how_sure(exposure, book, on).brief,
    )


def _given(held: PostHeld, watched: Sequence[ObservedSession]) -> GivenPost:
    area, role = held.post.area.name, held.post.role
    return GivenPost(
        area=area,
        role=role.name,
        role_ref=role.ref,
        people=1,  # the one whose page this is
        sessions=tuple(as_session(kept, area, role.name) for kept in watched),
        described=described(held.description) if held.description else None,
    )


def _stretch(sessions: Sequence[ObservedSession]) -> Stretch | None:
    if not sessions:
        return None
    minutes = sum(one.counts["minutes_observed"] for one in sessions)
    return Stretch(round(minutes), len(sessions), sessions[0].observed_on, sessions[-1].observed_on)


def _row(part: PartExposure) -> PartRow:
    loads = [(label, unit, part.load.load(quantity)) for quantity, label, unit in SHOWN]
    cells = tuple(_cell(f"{label}{',' + unit if unit else ''}", load) for label, unit, load in loads)
    return PartRow(part.name, round(part.watched_hours * 60), cells)


def _cell(label: str, load: Load) -> LoadCell:
    if load.mean is None or load.lower is None or load.upper is None:
        return LoadCell(label, "not known", "")
    return LoadCell(label, about(load.mean), f"{load.lower:.0f} to {load.upper:.0f}")


def _verdicts(part: PartExposure | None, limits: Limits, book: Book, on: date) -> tuple[RuleSetRow, ...]:
    """That of the governing set; and where it has no number, that of the set whose limits are weighed."""
    if part is None:
        return ()
    rows = rule_rows(part.usual, book, on, limits.policy, governing_id(limits))
    return tuple(row for row in rows if row.governing or row.name == limits.drawn.rule_set.name)


def _published(exposure: PostExposure) -> tuple[str, ...]:
    """Washes and rubs of a shift by a published rate, where one fits."""
    loads = [
        (one, part.load.load(one)) for part in exposure.parts for one in (Quantity.WASHES, Quantity.RUBS)
    ]
    return tuple(f"about {about(load.mean)} {one.value}" for one, load in loads if load.mean is not None)
