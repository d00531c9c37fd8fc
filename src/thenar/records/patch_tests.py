"""Joins the kept rows of a patch test to the room that reads it."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import asdict

from thenar.allergy.patch_proposals import negative_allergens
from thenar.allergy.patch_reading import Outcome, read_position
from thenar.allergy.patch_rules import ReadingRules, reading_rules
from thenar.allergy.patch_test import Kind, OwnProduct, PatchGrade, Position, Reading
from thenar.allergy.patch_test import PatchTest as ReadTest
from thenar.allergy.product import Category
from thenar.knowledge import Book
from thenar.records.models import PatchReading, PatchTest


def kept_positions(positions: Iterable[Position]) -> list[dict[str, object]]:
    """What was put on, as it is kept; `positions_of` reads it back."""
    return [asdict(position) for position in positions]


def positions_of(test: PatchTest) -> tuple[Position, ...]:
    """What was put on, in the order written down."""
    return tuple(
        Position(
            **{
                **kept,
                "kind": Kind(kept["kind"]),
                "own": _own(kept["own"]) if kept["own"] else None,
            }
        )
        for kept in test.positions
    )


def kept_grades(grades: Mapping[int, PatchGrade]) -> dict[str, str]:
    """The grades of one day, as they are kept; `grades_of` reads them back."""
    return {str(position): grades[position].value for position in sorted(grades)}


def grades_of(reading: PatchReading) -> dict[int, PatchGrade]:
    """The grades of one day, by position."""
    return {int(position): PatchGrade(grade) for position, grade in reading.grades.items()}


def standing_readings(test: PatchTest) -> tuple[PatchReading, ...]:
    """The readings that no later entry corrects, by day."""
    rows = list(test.readings.all())
    corrected = {row.corrects_id for row in rows}
    standing = (row for row in rows if row.pk not in corrected)
    return tuple(sorted(standing, key=lambda row: (row.read_on, row.pk)))


def as_patch_test(test: PatchTest) -> ReadTest:
    """A patch test as the rules read it, corrections taken."""
    readings = standing_readings(test)
    came_off = [row.patches_off_on for row in readings if row.patches_off_on is not None]
    return ReadTest(
        applied_on=test.applied_on,
        occluded_until=came_off[-1] if came_off else None,
        positions=positions_of(test),
        readings=tuple(
            Reading(position, row.read_on, grade)
            for row in readings
            for position, grade in grades_of(row).items()
        ),
    )


def tested_negative(worker_ids: Collection[int], book: Book) -> dict[int, frozenset[str]]:
    """What each worker was tested with, read to the last day, and never reacted to in any test kept here.

    A mix is never among it. A test without its late reading clears nothing: what was not asked reassures
    nobody.
    """
    negative: dict[int, set[str]] = defaultdict(set)
    reacted: dict[int, set[str]] = defaultdict(set)
    rows = PatchTest.objects.filter(worker__in=worker_ids).prefetch_related("readings")
    for row in rows:
        test, rules = as_patch_test(row), reading_rules(book, row.applied_on)
        found = negative_allergens(test, rules, book.allergens.allergens)
        negative[row.worker_id].update(one.allergen for one in found if one.complete)
        reacted[row.worker_id].update(_reacted(test, rules))
    return {worker: frozenset(found - reacted[worker]) for worker, found in negative.items()}


def _reacted(test: ReadTest, rules: ReadingRules) -> Iterable[str]:
    for position in test.of_kind(Kind.ALLERGEN):
        read = read_position(test, position.number, rules)
        if read.is_positive or read.outcome in (Outcome.DOUBTFUL, Outcome.IRRITANT):
            yield position.hapten


def _own(kept: Mapping[str, str]) -> OwnProduct:
    return OwnProduct(Category(kept["category"]), kept["dilution"])
