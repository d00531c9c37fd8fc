"""One patch test: the back, each position over the days, what is due, and what a missed day may hide."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from thenar.allergy.patch_days import DueReading, missed_readings, occlusion_caution, readings_due
from thenar.allergy.patch_proposals import proposed_sensitisations
from thenar.allergy.patch_reading import Outcome, PositionReading, read_position, skin_cautions
from thenar.allergy.patch_relevance import Relevance
from thenar.allergy.patch_rules import Caution, ReadingRules, reading_rules
from thenar.allergy.patch_test import Position
from thenar.knowledge import Book
from thenar.records.models import PatchRelevance
from thenar.records.queries.patch_tests import PatchTestStory, patch_test_story
from thenar.records.rights import Act
from thenar.screens import clock
from thenar.screens.book import book
from thenar.screens.clinic.reasons import reason_for
from thenar.screens.patch.back import Back, Chamber, back_of
from thenar.screens.patch.page import patch_page
from thenar.screens.patch.wording import (
    GRADES,
    ShownGrade,
    allergen_name,
    allergen_url,
    prepared,
    put_on,
    series_name,
)
from thenar.screens.people import for_those_who, person

_QUIET = (Outcome.NEGATIVE, Outcome.NOT_SETTLED, Outcome.NOT_TESTED)
_POSITIVE_RULES = (
    "patch-test.positive.grade",
    "patch-test.positive.from-day",
    "patch-test.positive.until-day",
)


@dataclass(frozen=True, slots=True)
class ReadDay:
    """A day on which the test was read. [days from application]"""

    day: int
    on: date


@dataclass(frozen=True, slots=True)
class ShownPosition:
    """One position over the days. A day on which it was not read has no grade."""

    position: Position
    name: str
    url: str
    prepared: str
    grades: tuple[tuple[ReadDay, ShownGrade | None], ...]
    read: PositionReading
    relevance: PatchRelevance | None
    letter: str

    @property
    def has_reacted(self) -> bool:
        """Whether anything was seen that counts, or that asks a question."""
        return self.read.outcome not in _QUIET

    @property
    def latest(self) -> ShownGrade | None:
        """The grade of the last day on which it was looked at."""
        return next((grade for _, grade in reversed(self.grades) if grade), None)


@dataclass(frozen=True, slots=True)
class DrawnChamber:
    """A chamber of the drawing with what was seen in it."""

    at: Chamber
    shown: ShownPosition

    @property
    def says(self) -> str:
        """For whoever hears the drawing instead of seeing it."""
        seen = self.shown.latest
        return f"{self.shown.position.number} {self.shown.name}: {seen.word if seen else 'not read'}"


@dataclass(frozen=True, slots=True)
class DrawnStrip:
    """A strip with its chambers, and the series it belongs to."""

    series: str
    chambers: tuple[DrawnChamber, ...]


@dataclass(frozen=True, slots=True)
class DrawnBack:
    """The drawing, and what it says in a sentence."""

    back: Back
    strips: tuple[DrawnStrip, ...]
    says: str


@dataclass(frozen=True, slots=True)
class CitedCaution:
    """A caution with the sources it rests on, one line each."""

    says: str
    sources: tuple[str, ...]
    from_memory: bool


@require_safe
@for_those_who(Act.SEE_CLINICAL)
def patch_test(request: HttpRequest, ref: str) -> HttpResponse:
    """A patch test as far as it was read."""
    story = patch_test_story(ref=ref, by=person(request), now=clock.now())
    known = book()
    rules, read = reading_rules(known, story.test.applied_on), story.as_read
    positions = positions_shown(story, rules, known)
    proposals = proposed_sensitisations(read, rules, known.allergens.allergens)
    context = {
        "positions": positions,
        "reacted": [one for one in positions if one.has_reacted],
        "days": days_of(story),
        "drawn": _drawn(positions, known),
        "series": [(series_name(one, known), f"patch-series.{one}") for one in story.test.series],
        "due": readings_due(read, rules, clock.today()),
        "waits": _waits(readings_due(read, rules, clock.today()), story),
        "missed": [cited(one) for one in missed_readings(read, rules, clock.today())],
        "occlusion": [cited(one) for one in [occlusion_caution(read, rules)] if one],
        "skin": [cited(one) for one in skin_cautions(read, rules)],
        "late_as_list": [cited(rules.late)],
        "rule_reasons": [reason_for(one, known) for one in _POSITIVE_RULES],
        "corrected": [one for one in story.readings if one.corrects],
        "proposals": proposals,
        "sensitisations": [(one, allergen_name(one.allergen, known)) for one in story.sensitisations],
    }
    return patch_page(request, story, "patch/test.html", context)


def days_of(story: PatchTestStory) -> list[ReadDay]:
    """The days on which the test was read, each once."""
    test = story.as_read
    return [ReadDay(test.day(on), on) for on in sorted({one.read_on for one in story.standing})]


def positions_shown(story: PatchTestStory, rules: ReadingRules, known: Book) -> list[ShownPosition]:
    """Every position, in the order of application."""
    test, days = story.as_read, days_of(story)
    grades = {(one.position, one.on): GRADES[one.grade] for one in test.readings}
    shown = []
    for position in story.positions:
        said = story.relevances.get(position.number)
        shown.append(
            ShownPosition(
                position=position,
                name=put_on(position, known),
                url=allergen_url(position.hapten, known) if position.kind == "allergen" else "",
                prepared=prepared(position),
                grades=tuple((day, grades.get((position.number, day.on))) for day in days),
                read=read_position(test, position.number, rules),
                relevance=said,
                letter=Relevance(said.relevance).letter if said else "",
            )
        )
    return shown


def cited(caution: Caution) -> CitedCaution:
    """A caution with its sources in words, for the margin."""
    sources = dict.fromkeys(one.label for one in caution.citations)
    return CitedCaution(caution.says, tuple(sources), caution.is_from_memory)


def _waits(due: Iterable[DueReading], story: PatchTestStory) -> DueReading | None:
    if story.end is not None:
        return None
    return next((one for one in due if one.standing in ("due", "overdue, still worth taking")), None)


def _drawn(positions: list[ShownPosition], known: Book) -> DrawnBack:
    back = back_of([one.position for one in positions])
    by_number = {one.position.number: one for one in positions}
    strips = tuple(
        DrawnStrip(
            series_name(strip.series, known) if strip.series else "Single allergens, products and controls",
            tuple(DrawnChamber(one, by_number[one.position.number]) for one in strip.chambers),
        )
        for strip in back.strips
    )
    return DrawnBack(back, strips, _in_a_sentence(positions))


def _in_a_sentence(positions: list[ShownPosition]) -> str:
    seen = [
        f"{one.position.number} {one.name} {one.latest.word}"
        for one in positions
        if one.latest and one.latest.mark not in ("negative", "untested")
    ]
    negative = sum(one.latest is not None and one.latest.mark == "negative" for one in positions)
    unread = sum(one.latest is None for one in positions)
    return (
        f"Reactions at the latest reading: {'; '.join(seen) or 'none'}. "
        f"Negative: {negative}. Not read: {unread}."
    )
