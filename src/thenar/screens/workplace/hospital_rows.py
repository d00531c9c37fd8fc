"""The areas of the hospital, the likeliest to pass a limit first; what nobody watched stands apart."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from thenar.knowledge import Book
from thenar.records.models.people import folded
from thenar.records.queries.workplace import AreaRecord
from thenar.screens.workplace.drawn_shifts import Passing
from thenar.screens.workplace.exposure_of import PartExposure, PostExposure, exposure_of
from thenar.screens.workplace.kept_work import given_posts
from thenar.screens.workplace.limits_here import Limits
from thenar.screens.workplace.wording import percent, percents

SCALE = 120  # units of the drawing that stand for all shifts


@dataclass(frozen=True, slots=True)
class AreaRow:
    """An area by its likeliest post. `at_least` where a limit could not be weighed."""

    ref: str
    name: str
    people: int
    role: str
    part: str
    chance: str
    between: str
    at_least: bool
    not_weighed: tuple[str, ...]
    watched_hours: float
    share: float
    left: float
    width: float
    dot: float


@dataclass(frozen=True, slots=True)
class UnknownArea:
    """An area of which nothing is known."""

    ref: str
    name: str
    people: int


@dataclass(frozen=True, slots=True)
class HospitalRows:
    """Areas that were watched, those with a published rate only, and those of which nothing is known."""

    watched: tuple[AreaRow, ...]
    published_only: tuple[AreaRow, ...]
    unknown: tuple[UnknownArea, ...]


def hospital_rows(records: Iterable[AreaRecord], limits: Limits, book: Book, on: date) -> HospitalRows:
    """Sort areas by the chance that a shift of their likeliest post passes a limit."""
    watched: list[AreaRow] = []
    published: list[AreaRow] = []
    unknown: list[UnknownArea] = []
    for record in records:
        exposures = [exposure_of(post, limits.drawn, book, on) for post in given_posts(record)]
        people = sum(post.people for post in record.posts)
        seen, assumed = _likeliest(exposures, watched=True), _likeliest(exposures, watched=False)
        if seen is not None:
            watched.append(_row(record, people, *seen))
        elif assumed is not None:
            published.append(_row(record, people, *assumed))
        else:
            unknown.append(UnknownArea(record.area.ref, record.area.name, people))
    return HospitalRows(_ordered(watched), _ordered(published), tuple(unknown))


def named_like(records: Iterable[AreaRecord], words: str) -> tuple[AreaRecord, ...]:
    """Areas whose name holds every word asked for, accents and capitals aside."""
    asked = folded(words).split()
    return tuple(record for record in records if all(word in folded(record.area.name) for word in asked))


def _likeliest(
    exposures: Iterable[PostExposure], *, watched: bool
) -> tuple[PostExposure, PartExposure, Passing] | None:
    found = [
        (exposure, part, part.chance)
        for exposure in exposures
        for part in exposure.parts
        if part.watched is watched and part.chance is not None
    ]
    return max(found, key=lambda one: one[2].chance, default=None)


def _row(
    record: AreaRecord, people: int, exposure: PostExposure, part: PartExposure, chance: Passing
) -> AreaRow:
    left, right = chance.lower * SCALE, chance.upper * SCALE
    return AreaRow(
        ref=record.area.ref,
        name=record.area.name,
        people=people,
        role=exposure.role,
        part=part.name.lower(),
        chance=percent(chance.chance),
        between=percents(chance.lower, chance.upper),
        at_least=bool(chance.not_weighed),
        not_weighed=chance.not_weighed,
        watched_hours=part.watched_hours,
        share=chance.chance,
        left=round(left, 1),
        width=round(max(right - left, 1), 1),
        dot=round(chance.chance * SCALE, 1),
    )


def _ordered(rows: list[AreaRow]) -> tuple[AreaRow, ...]:
    return tuple(sorted(rows, key=lambda row: (-row.share, row.name)))
