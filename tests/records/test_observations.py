"""Sessions and descriptions as records: who may write, what is refused, what is read back."""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import DatabaseError, transaction

from tests.conftest import NOW, TODAY, House
from thenar.errors import BadInput, NotAllowed
from thenar.exposure.care_acts import CareAct, Cleansed, Occasion, Pathogen, Tier, UnknownAct
from thenar.exposure.sessions import CountsAskedBack, Quantity, seen_of
from thenar.exposure.starting_rates import PatientsNeeded, UnknownUnitType
from thenar.exposure.tally import Tally
from thenar.knowledge import Book
from thenar.records.actions.descriptions import DescribedWork, describe, described
from thenar.records.actions.observations import SessionSeen, record_file, record_session
from thenar.records.models import AccessRole, AuditRow, ObservedSession, WorkDescription
from thenar.records.queries.observations import (
    area_to,
    as_sessions,
    descriptions_in_force,
    roles_in,
    sessions_in,
    tally_of,
)
from thenar.records.rights import Act, NotVisible


def seen(house: House, **other: object) -> SessionSeen:
    counts = Tally(minutes_observed=40, whole_shift=False, washes=3, rubs=0)
    session = SessionSeen(
        area=house.ward_1,
        role=house.nurse,
        observer="A. E.",
        observed_on=TODAY,
        shift_part="early",
        counts=counts,
    )
    return replace(session, **other)


def record(house: House, book: Book, one: SessionSeen, *, confirmed: bool = False) -> ObservedSession:
    return record_session(
        seen=one, came_by="page", by=house.alice, now=NOW, book=book, counts_confirmed=confirmed
    )


def tally(**counts: object) -> Tally:
    return Tally(**({"minutes_observed": 480, "whole_shift": True} | counts))


def test_a_session_is_read_back_as_it_was_counted(house: House, book: Book) -> None:
    kept = record(house, book, seen(house))
    assert tally_of(kept) == seen(house).counts
    assert "pairs" not in kept.counts
    assert as_sessions([kept]) == [seen(house).session]


def test_sessions_are_kept_apart_by_role_and_come_newest_first(house: House, book: Book) -> None:
    other = seen(house, role=type(house.nurse).objects.create(name="Cook"), observed_on=TODAY - timedelta(1))
    for one in (seen(house), other, seen(house, observed_on=TODAY - timedelta(days=9))):
        record(house, book, one)
    rows = sessions_in(house.ward_1, by=house.alice)
    assert [row.observed_on for row in rows] == [TODAY, TODAY - timedelta(1), TODAY - timedelta(9)]
    assert sessions_in(house.ward_1, by=house.alice, role=house.nurse).count() == 2
    assert sessions_in(house.ward_2, by=house.alice).count() == 0
    # 3 washes in each of three sessions of 40 minutes
    together = seen_of(as_sessions(rows), Quantity.WASHES)
    assert (together.count, together.hours) == (9, pytest.approx(2.0))


@pytest.mark.parametrize("who", ["clara", "mona", "ada"])
def test_others_may_neither_record_nor_describe_nor_look(who: str, house: House, book: Book) -> None:
    by = getattr(house, who)
    work = DescribedWork(shift_hours=Decimal(8))
    for forbidden in (
        lambda: record_session(seen=seen(house), came_by="page", by=by, now=NOW, book=book),
        lambda: record_file(seen=[seen(house)], by=by, now=NOW, book=book),
        lambda: describe(area=house.ward_1, role=house.nurse, work=work, by=by, now=NOW, book=book),
        lambda: sessions_in(house.ward_1, by=by),
        lambda: descriptions_in_force(house.ward_1, by=by),
        lambda: area_to(Act.OBSERVE, ref=house.ward_1.ref, by=by),
    ):
        with pytest.raises(NotAllowed):
            forbidden()
    assert not ObservedSession.objects.exists()
    assert not WorkDescription.objects.exists()


def test_infection_prevention_may_count_but_not_describe(house: House, book: Book) -> None:
    house.bob.access = AccessRole.INFECTION_PREVENTION
    record_session(seen=seen(house), came_by="phone", by=house.bob, now=NOW, book=book)
    with pytest.raises(NotAllowed):
        describe(
            area=house.ward_1,
            role=house.nurse,
            work=DescribedWork(shift_hours=Decimal(8)),
            by=house.bob,
            now=NOW,
            book=book,
        )


@pytest.mark.parametrize(
    ("other", "says"),
    [
        ({"observer": " "}, "The observer's name has 0 characters."),
        ({"observer": "x" * 121}, "The observer's name has 121 characters."),
        ({"shift_part": "dawn"}, "'dawn' is no part of a shift."),
        ({"observed_on": TODAY + timedelta(days=1)}, "is in the future"),
        ({"counts": tally(minutes_observed=0, washes=1)}, "The tally was kept over 0 minutes."),
        ({"counts": tally(washes=-1)}, "washes: -1 is not a number from 0 up."),
        ({"counts": tally(pairs=1, gloves_on_wet_skin=2)}, r"Pairs put on wet skin \(2\) do not fit"),
    ],
)
def test_what_cannot_be_is_refused_without_naming_a_number_of_session(
    other: dict[str, object], says: str, house: House, book: Book
) -> None:
    with pytest.raises(BadInput, match=says) as refused:
        record(house, book, seen(house, **other), confirmed=True)
    assert "Session 1" not in str(refused.value)
    assert not ObservedSession.objects.exists()
    assert not AuditRow.objects.exists()


# The limits are 150 washes, 300 rubs and 1440 minutes in a session, and 90 acts an hour.
@pytest.mark.parametrize(
    ("counts", "asked"),
    [
        (tally(washes=150), False),
        (tally(washes=151), True),
        (tally(minutes_observed=60, washes=90), False),
        (tally(minutes_observed=60, washes=91), True),
        (tally(minutes_observed=1440, rubs=300), False),
        (tally(minutes_observed=1441, rubs=300), True),
    ],
)
def test_counts_past_a_limit_are_asked_back_once(
    counts: Tally, asked: bool, house: House, book: Book
) -> None:
    one = seen(house, counts=counts)
    if asked:
        with pytest.raises(CountsAskedBack):
            record(house, book, one)
        assert not ObservedSession.objects.exists()
    record(house, book, one, confirmed=asked)
    assert ObservedSession.objects.count() == 1


def test_a_file_is_kept_whole_or_not_at_all_with_one_audit_row(house: House, book: Book) -> None:
    good, bad = seen(house), seen(house, counts=tally(washes=-1))
    with pytest.raises(BadInput):
        record_file(seen=[good, bad], by=house.alice, now=NOW, book=book)
    assert not ObservedSession.objects.exists()
    kept = record_file(seen=[good, good], by=house.alice, now=NOW, book=book)
    assert [row.came_by for row in kept] == ["file", "file"]
    assert len({row.ref for row in kept}) == 2
    noted = AuditRow.objects.get(event="sessions read in")
    assert (noted.target, noted.why, noted.data_class) == (kept[0].ref, "2 sessions", "C5")


def test_a_session_can_never_be_changed_or_deleted(house: House, book: Book) -> None:
    kept = record(house, book, seen(house))
    with pytest.raises(DatabaseError), transaction.atomic():
        ObservedSession.objects.filter(pk=kept.pk).update(observer="someone else")
    with pytest.raises(DatabaseError), transaction.atomic():
        ObservedSession.objects.filter(pk=kept.pk).delete()


def test_an_absent_area_is_not_visible(house: House) -> None:
    with pytest.raises(NotVisible):
        area_to(Act.OBSERVE, ref="zzzzzzzzzzzz", by=house.alice)


def test_roles_are_those_that_work_there_on_the_day(house: House) -> None:
    cook = type(house.nurse).objects.create(name="Cook")
    assert roles_in(house.ward_1, on=TODAY) == [house.nurse]
    house.wanda.posts.update(until_on=TODAY - timedelta(days=1))
    assert roles_in(house.ward_1, on=TODAY) == [cook, house.nurse]  # nobody there: any role


# Descriptions

ACTS = (
    CareAct("observations", Occasion.BEFORE_PATIENT, cleansed=Cleansed.RUB, gloves=Tier.NONE, times=9),
    CareAct("body-fluid", visible_soil=True, pathogen=Pathogen.NOROVIRUS, times=2),
)


def description(house: House, book: Book, **other: object) -> WorkDescription:
    work = DescribedWork(**({"shift_hours": Decimal("8"), "acts": ACTS} | other))
    return describe(area=house.ward_1, role=house.nurse, work=work, by=house.alice, now=NOW, book=book)


def test_a_description_is_read_back_as_it_was_given(house: House, book: Book) -> None:
    start = {"unit_type": "medical-ward", "staff_group": "nurse", "patients_per_worker": 5.0}
    kept = description(house, book, **start)
    kept.refresh_from_db()
    told = described(kept)
    assert told == DescribedWork(shift_hours=Decimal("8"), acts=ACTS, **start)
    rate = told.start(book, TODAY)
    assert rate is not None
    # 4.5 opportunities, 0.77 of them a nurse's, 5 patients: 17.325 an hour
    assert rate.opportunities_per_hour == pytest.approx(17.325)
    assert kept.edition == book.edition


def test_without_a_unit_type_there_is_no_start(house: House, book: Book) -> None:
    assert described(description(house, book)).start(book, TODAY) is None


def test_the_newest_description_is_in_force_and_the_older_one_stays(house: House, book: Book) -> None:
    description(house, book)
    newer = description(house, book, shift_hours=Decimal("12"))
    assert descriptions_in_force(house.ward_1, by=house.alice) == {house.nurse.pk: newer}
    assert WorkDescription.objects.count() == 2


@pytest.mark.parametrize(
    ("other", "error"),
    [
        ({"shift_hours": Decimal("0")}, BadInput),
        ({"shift_hours": Decimal("24.25")}, BadInput),
        ({"acts": (CareAct("juggling"),)}, UnknownAct),
        ({"unit_type": "zoo"}, UnknownUnitType),
        ({"unit_type": "medical-ward", "staff_group": "nurse"}, PatientsNeeded),
    ],
)
def test_a_description_that_cannot_be_used_is_refused(
    other: dict[str, object], error: type[Exception], house: House, book: Book
) -> None:
    with pytest.raises(error):
        description(house, book, **other)
    assert not WorkDescription.objects.exists()
    assert not AuditRow.objects.exists()
