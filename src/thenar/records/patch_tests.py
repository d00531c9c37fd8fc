"""Joins the kept rows of a patch test to the room that reads it."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import asdict
from datetime import date

from thenar.allergy.excluded_links import Links
from thenar.allergy.excluded_targets import negatives_that_count
from thenar.allergy.patch_proposals import negative_allergens
from thenar.allergy.patch_reading import Outcome, read_position
from thenar.allergy.patch_rules import ReadingRules, reading_rules
from thenar.allergy.patch_test import Kind, OwnProduct, PatchGrade, Position, Reading
from thenar.allergy.patch_test import PatchTest as ReadTest
from thenar.allergy.product import Category
from thenar.knowledge import Book
from thenar.records.models import PatchReading, PatchTest, Sensitisation


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
    nobody. Nor does a test from before an allergy that its negative result would ease, for instance of a part
    tested years before its mix was positive: the worker may have become allergic to that part meanwhile.
    """
    tested: dict[int, dict[str, date]] = defaultdict(dict)
    reacted: dict[int, set[str]] = defaultdict(set)
    rows = PatchTest.objects.filter(worker__in=worker_ids).prefetch_related("readings")
    for row in rows.order_by("applied_on", "pk"):
        test, rules = as_patch_test(row), reading_rules(book, row.applied_on)
        found = negative_allergens(test, rules, book.allergens.allergens)
        tested[row.worker_id].update((one.allergen, row.applied_on) for one in found if one.complete)
        reacted[row.worker_id].update(_reacted(test, rules))
    counts_from = _counts_from(tested, book)
    return {
        worker: frozenset(
            allergen
            for allergen, on in newest.items()
            if allergen not in reacted[worker] and on >= counts_from.get((worker, allergen), on)
        )
        for worker, newest in tested.items()
    }


def _counts_from(worker_ids: Collection[int], book: Book) -> dict[tuple[int, str], date]:
    """By worker and allergen, the day from which a negative test of it can ease a standing sensitisation.

    It is the day on which the test that found the sensitisation was put on, else the day it was found.
    """
    links = Links(book.allergens)
    first: dict[tuple[int, str], date] = {}
    rows = Sensitisation.objects.filter(worker__in=worker_ids, withdrawal__isnull=True)
    for row in rows.select_related("test"):
        known = row.allergen in book.allergens.allergens  # an edition may have dropped it
        since = row.test.applied_on if row.test else row.found_on
        for eased in negatives_that_count(row.allergen, links) if known else ():
            key = row.worker_id, eased
            first[key] = max(since, first.get(key, since))
    return first


def _reacted(test: ReadTest, rules: ReadingRules) -> Iterable[str]:
    for position in test.of_kind(Kind.ALLERGEN):
        read = read_position(test, position.number, rules)
        if read.is_positive or read.outcome in (Outcome.DOUBTFUL, Outcome.IRRITANT):
            yield position.hapten


def _own(kept: Mapping[str, str]) -> OwnProduct:
    return OwnProduct(Category(kept["category"]), kept["dilution"])
