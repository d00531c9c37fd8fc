"""One worker, every product of the site, and the answers: what all these pages start from."""

from collections.abc import Iterable
from dataclasses import dataclass
from textwrap import shorten

from django.http import HttpRequest

from thenar.allergy.allergies import Allergies
from thenar.knowledge import Book
from thenar.records.judging import Judged, allergies_of, undeclared
from thenar.records.models import Area, Worker
from thenar.records.queries.allergies import AllergyStory, allergies_story
from thenar.records.queries.judged import judged_for
from thenar.records.queries.products import ProductRecord, products
from thenar.screens import clock
from thenar.screens.book import book
from thenar.screens.people import person

LONGEST_PLACE = 120  # characters


@dataclass(frozen=True, slots=True)
class Place:
    """Where a worker works now: one area, or several if they hold several posts."""

    areas: tuple[Area, ...]

    @property
    def name(self) -> str:
        """The areas by name, as far as a line on a list takes them."""
        return shorten(" and ".join(area.name for area in self.areas), LONGEST_PLACE, placeholder=" …")


@dataclass(frozen=True, slots=True)
class Held:
    """A product of the site and its answer for the worker. `here`: it serves an area of the worker's own."""

    record: ProductRecord
    judged: Judged
    here: bool
    away: int

    @property
    def sorts_by(self) -> tuple[int, str, str]:
        """The nearest first, then by name."""
        return self.away, self.record.product.name.casefold(), self.record.product.code


@dataclass(frozen=True, slots=True)
class Usable:
    """One worker's allergies, and every product with its answer."""

    story: AllergyStory
    allergies: Allergies
    held: tuple[Held, ...]
    book: Book

    @property
    def worker(self) -> Worker:
        """Whose products these are."""
        return self.story.worker

    @property
    def area(self) -> Place | None:
        """Where the worker works now; None without a post."""
        return Place(self.story.areas) if self.story.areas else None

    @property
    def here(self) -> tuple[Judged, ...]:
        """The answers for what stands in the worker's own area."""
        return tuple(one.judged for one in self.held if one.here)

    @property
    def knows_an_allergy(self) -> bool:
        """Whether there is anything to judge products by. Without it no answer may be shown."""
        return bool(self.allergies.delayed or self.allergies.immediate)


def usable_for(request: HttpRequest, ref: str) -> Usable:
    """Everything about one worker and the site's products; the look is noted."""
    by, known = person(request), book()
    story = allergies_story(worker_ref=ref, by=by, now=clock.now())
    records = products(by=by, on=clock.today())
    declarations = [one.declaration or undeclared(one.product) for one in records]
    judged = judged_for(story.worker, declarations, known)
    held = [
        Held(record, answer, _is_here(record, story.areas), _away(record, story.areas))
        for record, answer in zip(records, judged, strict=True)
    ]
    return Usable(
        story=story,
        allergies=allergies_of([story.worker.pk], known)[story.worker.pk],
        held=tuple(sorted(held, key=lambda one: one.sorts_by)),
        book=known,
    )


def _is_here(record: ProductRecord, own: Iterable[Area]) -> bool:
    """Stock of an area also serves every area beneath it."""
    return any(area.path.startswith(one.path) for one in record.areas for area in own)


def _away(record: ProductRecord, own: Iterable[Area]) -> int:
    """How far up the tree of areas one has to go to find it; what stands nowhere is furthest."""
    if not record.areas:
        return 10_000
    return min((_steps_up(area, one) for one in record.areas for area in own), default=0)


def _steps_up(area: Area, other: Area) -> int:
    own = area.path.strip("/").split("/")
    return len(own) - _shared(own, other.path.strip("/").split("/"))


def _shared(own: list[str], other: list[str]) -> int:
    pairs = list(zip(own, other, strict=False))
    return next((level for level, (one, two) in enumerate(pairs) if one != two), len(pairs))
