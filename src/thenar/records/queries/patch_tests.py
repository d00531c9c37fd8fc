"""One patch test, whole; which readings are due; and all tests of a period without a name."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction

from thenar.allergy.patch_days import DueReading, Standing
from thenar.allergy.patch_days import readings_due as readings_of
from thenar.allergy.patch_rules import ReadingRules, reading_rules
from thenar.allergy.patch_test import PatchTest as ReadTest
from thenar.allergy.patch_test import Position
from thenar.knowledge import Book
from thenar.records.audit import note
from thenar.records.days import day_of
from thenar.records.models import (
    PatchReading,
    PatchRelevance,
    PatchTest,
    PatchTestEnd,
    Post,
    Sensitisation,
    User,
    Worker,
)
from thenar.records.patch_tests import as_patch_test, positions_of, standing_readings
from thenar.records.queries.posts import current_post
from thenar.records.queries.workers import visible_worker
from thenar.records.rights import Act, NotVisible, require

SHOWN = 40


@dataclass(frozen=True, slots=True)
class PatchTestStory:
    """A patch test with everything written down of it.

    `readings` are all entries by day, corrected ones too; `standing` those that count. `relevances` holds the
    newest of each position, `said_before` the older ones.
    """

    test: PatchTest
    worker: Worker
    post: Post | None
    positions: tuple[Position, ...]
    readings: tuple[PatchReading, ...]
    standing: tuple[PatchReading, ...]
    relevances: dict[int, PatchRelevance]
    said_before: tuple[PatchRelevance, ...]
    end: PatchTestEnd | None
    sensitisations: tuple[Sensitisation, ...]

    @property
    def as_read(self) -> ReadTest:
        """The test as the rules read it."""
        return as_patch_test(self.test)


@dataclass(frozen=True, slots=True)
class WaitingReading:
    """A patch test that waits for a reading, or, without one, to be ended: every reading is taken.

    `days_late` counts from the last day of the reading; 0 while it is in time. [days]
    """

    test: PatchTest
    worker: Worker
    post: Post | None
    due: DueReading | None
    days_late: int


@dataclass(frozen=True, slots=True)
class CountedTest:
    """A patch test as the figures of a clinic count it: no name, and nothing but what is on record.

    `person` only tells whose tests belong together. `age` is in years on the day of application. `hand` says
    that an examination of its case found signs on the hands; None where none did or none was made.
    """

    ref: str
    test: ReadTest
    person: int
    age: int | None
    hand: bool | None


@transaction.atomic
def patch_test_story(*, ref: str, by: User, now: datetime) -> PatchTestStory:
    """One patch test, for those who may see its worker; the look is noted."""
    require(by, Act.SEE_CLINICAL)
    rows = PatchTest.objects.filter(ref=ref).select_related("worker", "case__closing", "by", "end__by")
    test = rows.prefetch_related("readings__by", "relevances__by").first()
    if test is None:
        raise NotVisible(by=by, target="patch test")
    worker = visible_worker(test.worker.ref, by=by, on=day_of(now))
    note("record looked at", by=by, now=now, worker_ref=worker.ref, why="patch test")
    said = sorted(test.relevances.all(), key=lambda row: row.pk)
    newest = {row.position: row for row in said}
    return PatchTestStory(
        test=test,
        worker=worker,
        post=current_post(worker, day_of(now)),
        positions=positions_of(test),
        readings=tuple(sorted(test.readings.all(), key=lambda row: (row.read_on, row.pk))),
        standing=standing_readings(test),
        relevances=newest,
        said_before=tuple(row for row in said if row is not newest[row.position]),
        end=getattr(test, "end", None),
        sensitisations=tuple(
            test.sensitisations.select_related("by", "withdrawal__by").order_by("found_on", "pk")
        ),
    )


@transaction.atomic
def clinic_tests(
    *, from_on: date, until_on: date, by: User, now: datetime, to_file: bool = False
) -> tuple[CountedTest, ...]:
    """Every test put on in a period, in the order of application; the look, or the file, is noted.

    Whoever asks never sees their own test, not even in a figure.
    """
    require(by, Act.SEE_CLINICAL)
    rows = PatchTest.objects.filter(applied_on__gte=from_on, applied_on__lte=until_on).exclude(
        worker__user=by
    )
    rows = rows.select_related("worker").prefetch_related("readings", "case__examinations")
    found = tuple(_of_clinic(row) for row in rows.order_by("applied_on", "pk"))
    event = "patch tests written out" if to_file else "patch test figures looked at"
    note(event, by=by, now=now, why=f"{len(found)} tests")
    return found


def readings_due(*, by: User, now: datetime, book: Book) -> tuple[tuple[WaitingReading, ...], int]:
    """Readings to be taken now, the latest first, then tests to be ended; cut, with how many there are.

    A reading whose days have passed for good is not waited for: the patch test says what it may have hidden.
    Whoever asks never sees their own test. The look is noted by the page that shows it.
    """
    require(by, Act.SEE_CLINICAL)
    today = day_of(now)
    rows = PatchTest.objects.filter(end__isnull=True, worker__left_on__isnull=True).exclude(worker__user=by)
    tests = rows.select_related("worker").prefetch_related("readings").order_by("applied_on", "pk")
    waiting = [line for line in _waiting(tests, book, today) if line is not None]
    waiting.sort(key=lambda line: (line.due is None, -line.days_late, line.test.applied_on, line.test.pk))
    shown = waiting[:SHOWN]
    posts = _posts([line.test.worker_id for line in shown], today)
    return tuple(
        WaitingReading(line.test, line.worker, posts.get(line.test.worker_id), line.due, line.days_late)
        for line in shown
    ), len(waiting)


def _of_clinic(row: PatchTest) -> CountedTest:
    born_on, on = row.worker.born_on, row.applied_on
    age = on.year - born_on.year - ((on.month, on.day) < (born_on.month, born_on.day)) if born_on else None
    examinations = row.case.examinations.all() if row.case else ()
    hand = any(one.total > 0 for one in examinations) or None
    return CountedTest(row.ref, as_patch_test(row), row.worker_id, age, hand)


def _waiting(tests: Iterable[PatchTest], book: Book, today: date) -> Iterable[WaitingReading | None]:
    rules: dict[date, ReadingRules] = {}
    for test in tests:
        if test.applied_on not in rules:
            rules[test.applied_on] = reading_rules(book, test.applied_on)
        yield _line(test, readings_of(as_patch_test(test), rules[test.applied_on], today), today)


def _line(test: PatchTest, readings: tuple[DueReading, ...], today: date) -> WaitingReading | None:
    """The reading to be taken now; None while none is due and some are still to come."""
    for due in readings:
        if due.standing in (Standing.DUE, Standing.OVERDUE):
            late = max((today - due.to_on).days, 0)
            return WaitingReading(test, test.worker, None, due, late)
    if any(due.standing is Standing.TO_COME for due in readings):
        return None
    return WaitingReading(test, test.worker, None, None, 0)


def _posts(workers: list[int], today: date) -> dict[int, Post]:
    posts = Post.objects.running_on(today).filter(worker__in=workers).select_related("area", "role")
    return {post.worker_id: post for post in posts.order_by("from_on")}
