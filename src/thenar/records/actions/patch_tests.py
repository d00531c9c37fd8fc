"""Writes down patch tests: what was put on, what was seen day by day, what it has to do with the trouble."""

from collections.abc import Mapping, Sequence
from datetime import date, datetime

from django.db import transaction

from thenar.allergy.patch_rules import reading_rules
from thenar.allergy.patch_test import Kind, PatchGrade, Position, Reading, refuse_days_to_come
from thenar.allergy.patch_test import PatchTest as ReadTest
from thenar.errors import BadInput, Conflict
from thenar.knowledge import Book
from thenar.records.actions.cases import require_open
from thenar.records.actions.concerns import BECAUSE_OF_PATCH_TEST, Scope, meetings, raise_concerns
from thenar.records.audit import note
from thenar.records.days import day_of, not_after_today
from thenar.records.models import (
    Case,
    PatchReading,
    PatchRelevance,
    PatchTest,
    PatchTestEnd,
    User,
    Worker,
)
from thenar.records.models.allergies import RELEVANCES, TEST_ENDS
from thenar.records.own_words import reason_given
from thenar.records.patch_tests import (
    as_patch_test,
    kept_grades,
    kept_positions,
    positions_of,
    standing_readings,
)
from thenar.records.rights import Act, require, require_not_own
from thenar.records.turns import wait_turn

_QUIET = (PatchGrade.NEGATIVE, PatchGrade.NOT_TESTED)


@transaction.atomic
def apply_patch_test(
    *,
    worker: Worker,
    case: Case | None,
    applied_on: date,
    series: Sequence[str],
    positions: Sequence[Position],
    note_text: str,
    book: Book,
    by: User,
    now: datetime,
) -> PatchTest:
    """Keep what was put on a worker's skin, position by position.

    Raises
    ------
    BadInput
        The day is to come or older than the rules of reading; nothing was put on, or two things at one
        position; an allergen or a series is none that is known; the case is another worker's.
    Conflict
        The case is closed.
    """
    require(by, Act.WRITE_CLINICAL)
    require_not_own(worker, by)
    wait_turn(worker.pk)
    if case is not None:
        _refuse_case_of_another(case, worker)
        require_open(case)
    refuse_days_to_come(ReadTest(applied_on, None, tuple(positions)), day_of(now))
    reading_rules(book, applied_on)  # refuses a day so far back that nobody could say how to read it
    _refuse_unknown(series, positions, book)
    test = PatchTest.objects.create(
        worker=worker,
        case=case,
        applied_on=applied_on,
        series=list(series),
        positions=kept_positions(positions),
        note=note_text,
        edition=book.edition,
        at=now,
        by=by,
    )
    note("patch test applied", by=by, now=now, target=test.ref, worker_ref=worker.ref)
    return test


@transaction.atomic
def read_patch_test(
    *,
    test: PatchTest,
    read_on: date,
    grades: Mapping[int, PatchGrade],
    note_text: str,
    book: Book,
    by: User,
    now: datetime,
    patches_off_on: date | None = None,
    corrects: PatchReading | None = None,
    correction_reason: str = "",
) -> PatchReading:
    """Keep the grades of one day. A correction names the entry it stands in for, and why; both stay.

    A test that has ended takes readings too: a late reaction must not go unwritten. Where a negative result
    no longer eases an allergy, concerns are raised for products whose answer became worse.

    Raises
    ------
    BadInput
        No grade, a grade where nothing was put on, or a day that can't be; a correction without its reason.
    Conflict
        The day was read before and this corrects nothing, or what it corrects was already corrected.
    """
    require(by, Act.WRITE_CLINICAL)
    require_not_own(test.worker, by)
    wait_turn(test.worker_id)
    test = _as_it_stands(test)
    reason = _reason_to_correct(corrects, test, correction_reason)
    _refuse_no_grade(grades)
    _refuse_read_day(test, read_on, corrects)
    _refuse_read_under_patches(test, patches_off_on, corrects)
    before = as_patch_test(test)
    seen = ReadTest(
        before.applied_on,
        patches_off_on or before.occluded_until,
        before.positions,
        tuple(Reading(position, read_on, grade) for position, grade in grades.items()),
    )
    refuse_days_to_come(seen, day_of(now))
    met = meetings(Scope(workers=frozenset({test.worker_id})), book=book, on=day_of(now))
    reading = PatchReading.objects.create(
        test=test,
        read_on=read_on,
        grades=kept_grades(grades),
        patches_off_on=patches_off_on,
        note=note_text,
        corrects=corrects,
        correction_reason=reason,
        at=now,
        by=by,
    )
    if corrects is None:
        note("patch test read", by=by, now=now, target=reading.ref, worker_ref=test.worker.ref)
    else:
        note("patch test reading corrected", by=by, now=now, target=reading.ref, worker_ref=test.worker.ref)
    raise_concerns(since=met, because=BECAUSE_OF_PATCH_TEST, book=book, by=by, now=now)
    return reading


@transaction.atomic
def say_relevance(
    *, test: PatchTest, position: int, relevance: str, note_text: str, by: User, now: datetime
) -> PatchRelevance:
    """Keep what a reaction has to do with the worker's life. The newest for a position holds.

    Raises
    ------
    BadInput
        Nothing was put on there, nothing was seen there, or it is no relevance in use.
    """
    require(by, Act.WRITE_CLINICAL)
    require_not_own(test.worker, by)
    wait_turn(test.worker_id)
    test = _as_it_stands(test)
    _refuse_unless_listed(relevance, RELEVANCES, "relevance")
    _refuse_without_reaction(test, position)
    said = PatchRelevance.objects.create(
        test=test, position=position, relevance=relevance, note=note_text, at=now, by=by
    )
    note("patch test relevance said", by=by, now=now, target=test.ref, worker_ref=test.worker.ref)
    return said


@transaction.atomic
def end_patch_test(
    *, test: PatchTest, how: str, ended_on: date, note_text: str, by: User, now: datetime
) -> PatchTestEnd:
    """Say that no more readings are waited for. It is complete only if every position was looked at.

    Raises
    ------
    BadInput
        The day is to come, or before the test was put on or last read; it is called complete and is not.
    Conflict
        It has ended before.
    """
    require(by, Act.WRITE_CLINICAL)
    require_not_own(test.worker, by)
    wait_turn(test.worker_id)
    test = _as_it_stands(test)
    _refuse_unless_listed(how, TEST_ENDS, "end of a patch test")
    not_after_today(ended_on, now, field="Ended on")
    if PatchTestEnd.objects.filter(test=test).exists():
        raise Conflict(
            what="This patch test has already ended.",
            why="Two ends of one test would contradict each other.",
            todo="A late reaction can still be written down as a reading.",
        )
    _refuse_early_end(test, ended_on)
    if how == "complete":
        _refuse_unread(test)
    end = PatchTestEnd.objects.create(test=test, ended_on=ended_on, how=how, note=note_text, at=now, by=by)
    note("patch test ended", by=by, now=now, target=test.ref, worker_ref=test.worker.ref)
    return end


def _as_it_stands(test: PatchTest) -> PatchTest:
    """Read anew within the turn, so that a reading of a moment ago is seen."""
    return PatchTest.objects.select_related("worker").get(pk=test.pk)


def _refuse_case_of_another(case: Case, worker: Worker) -> None:
    if case.worker_id != worker.pk:
        raise BadInput(
            what="The case is another worker's.",
            why="The result would be read in the wrong record.",
            todo="Choose a case of this worker, or none.",
        )


def _refuse_unknown(series: Sequence[str], positions: Sequence[Position], book: Book) -> None:
    table = book.allergens
    for name in series:
        if name not in table.series:
            raise _unusable(
                f"{name!r} is no series of this edition.", f"Name one of: {', '.join(table.series)}."
            )
    for one in positions:
        if one.kind is Kind.ALLERGEN and one.hapten not in table.allergens:
            raise _unusable(
                f"Position {one.number}: {one.hapten!r} is no allergen of this edition.",
                "Choose it from the list, or write it down as an own product.",
            )
        if one.series and one.series not in series:
            raise _unusable(
                f"Position {one.number} belongs to the series {one.series!r}, which was not put on.",
                "Add the series, or take it off the position.",
            )


def _reason_to_correct(corrects: PatchReading | None, test: PatchTest, reason: str) -> str:
    if corrects is None:
        return ""
    if corrects.test_id != test.pk:
        raise _unusable(
            "The reading to be corrected belongs to another test.", "Open that test and correct it there."
        )
    if PatchReading.objects.filter(corrects=corrects).exists():
        raise Conflict(
            what="This reading was already corrected.",
            why="Two corrections of one entry would contradict each other.",
            todo="Correct the newer entry instead.",
        )
    why = "The first entry stays as it was; the reason tells which one to believe."
    return reason_given(reason, most=200, of="The correction", why=why)


def _refuse_read_under_patches(test: PatchTest, came_off: date | None, corrects: PatchReading | None) -> None:
    """An earlier reading can't have been taken under patches that came off later."""
    earlier = [row.read_on for row in standing_readings(test) if corrects is None or row.pk != corrects.pk]
    if came_off is not None and any(day < came_off for day in earlier):
        raise BadInput(
            what=f"The patches came off on {came_off:%d %B %Y}, after a reading of {min(earlier):%d %B %Y}.",
            why="Nobody reads what is still covered.",
            todo="Correct the day the patches came off, or that reading.",
        )


def _refuse_no_grade(grades: Mapping[int, PatchGrade]) -> None:
    if not grades:
        raise _unusable("The reading has no grade.", "Grade what was looked at, or write NT for not tested.")


def _refuse_read_day(test: PatchTest, read_on: date, corrects: PatchReading | None) -> None:
    if any(row.read_on == read_on and row != corrects for row in standing_readings(test)):
        raise Conflict(
            what=f"There is already a reading of {read_on.day} {read_on:%B %Y}.",
            why="Two readings of one day would contradict each other.",
            todo="Correct that reading, and say why.",
        )


def _refuse_without_reaction(test: PatchTest, position: int) -> None:
    if position not in {one.number for one in positions_of(test)}:
        raise _unusable(f"Nothing was put on at position {position}.", "Choose a position of this test.")
    seen = as_patch_test(test).days_of(position)
    if all(grade in _QUIET for _, grade in seen):
        raise _unusable(
            f"No reaction is written down at position {position}.",
            "Write the reading down first; what did not react explains nothing.",
        )


def _refuse_early_end(test: PatchTest, ended_on: date) -> None:
    last = max([test.applied_on, *(row.read_on for row in standing_readings(test))])
    if ended_on < last:
        raise _unusable(
            f"Ended on {ended_on}: the test was put on or read on {last}, which is later.",
            "Correct the day.",
        )


def _refuse_unread(test: PatchTest) -> None:
    read = {reading.position for reading in as_patch_test(test).readings}
    unread = [str(one.number) for one in positions_of(test) if one.number not in read]
    if unread:
        raise _unusable(
            f"The test would be complete, and no reading names position {', '.join(unread)}.",
            "Add the reading, or say that the worker did not come back or that it was stopped early.",
        )


def _refuse_unless_listed(code: str, listed: Sequence[tuple[str, str]], what: str) -> None:
    if code not in dict(listed):
        raise _unusable(f"{code!r} is no {what}.", f"Name one of: {', '.join(dict(listed))}.")


def _unusable(what: str, todo: str) -> BadInput:
    return BadInput(what=what, why="A result read from it could be wrong for years.", todo=todo)
