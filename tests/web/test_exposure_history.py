"""The worker page tells, post by post, what a shift there did to hands; what nobody watched is never fine."""

import re
from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.test import Client
from pytest_django import Settings

from tests.conftest import NOW, TODAY, House, make_user
from tests.web.clinic_house import text_of, words_of
from tests.web.watched import watch, watched
from thenar.errors import NotAllowed
from thenar.knowledge import Book
from thenar.records.actions.assessments import record_assessment
from thenar.records.actions.controls import record_control
from thenar.records.actions.descriptions import DescribedWork, describe
from thenar.records.models import AccessRole, Area, AuditRow, Post, Role, User
from thenar.records.queries.exposure_history import exposure_history
from thenar.records.queries.workers import worker_story
from thenar.screens import clock

SignIn = Callable[[User], Client]
HEADING = "What their hands met at work Post by post"  # not the link to it


@pytest.fixture(autouse=True)
def _one_day(monkeypatch: pytest.MonkeyPatch, settings: Settings) -> None:
    monkeypatch.setattr(clock, "now", lambda: NOW)
    monkeypatch.setattr(clock, "today", lambda: TODAY)
    settings.JURISDICTION = "DE"


@pytest.fixture
def alice(house: House, signed_in: SignIn) -> Client:
    return signed_in(house.alice)


def posts_on(client: Client, house: House) -> list[str]:
    """What the page says of each post, the newest first."""
    words = words_of(client.get(f"/workers/{house.wanda.ref}/"))
    return re.split(r"Nurse, (?=Ward \d \d)", words.split(HEADING, 1)[1])[1:]


def moved(house: House, on: date) -> None:
    """Wanda leaves Ward 1 and begins on Ward 2 on that day."""
    Post.objects.filter(worker=house.wanda).update(until_on=on - timedelta(days=1))
    Post.objects.create(worker=house.wanda, area=house.ward_2, role=house.nurse, from_on=on)


def control(house: House, area: Area, words: str, on: date, role: Role | None = None) -> None:
    record_control(
        area=area,
        role=role,
        control={"kind": "other"},
        words=words,
        hierarchy="elimination",
        start_on=on,
        review_on=on + timedelta(days=90),
        owner="Ward manager",
        expected={},
        edition="2026.1",
        by=house.alice,
        now=NOW,
    )


def assessed(house: House, area: Area) -> None:
    record_assessment(
        area=area,
        review_on=TODAY + timedelta(days=90),
        content_for=lambda number: {"number": number},
        edition="2026.1",
        by=house.alice,
        now=NOW,
    )


def test_a_watched_post_shows_loads_minutes_verdict_and_how_sure(
    house: House, alice: Client, book: Book
) -> None:
    watched(house, book)
    (post,) = posts_on(alice, house)
    # Five sessions of 120 minutes, three days ago.
    assert "Watched for 600 min in 5 sessions, 27 Feb 2026. Shifts of 8 h." in post
    # 30 washes in 10 h and half an act more (Jeffreys): 30.5 x 8 / 10 = 24.4; no published start.
    assert "Early 600 min 24" in post
    # TRGS 401 (2022): 15 or more washes in a shift.
    assert "Wet work by TRGS 401 (2022), which governs here, for a usual early shift." in post
    assert "of early shifts pass a limit (could be " in post
    assert "People who are watched cleanse their hands more often" in post
    assert "Not observed" not in post


def test_an_unwatched_post_is_called_not_observed_and_has_no_verdict(house: House, alice: Client) -> None:
    (post,) = posts_on(alice, house)
    assert "Not observed while this post was held. Not known never means that all is well." in post
    assert "No verdict" in post
    for reassuring in ("no limit passed", "not wet work", "Watched for", "0 min"):
        assert reassuring not in post


def test_a_published_rate_is_no_observation_and_gives_no_verdict(
    house: House, alice: Client, book: Book
) -> None:
    unit = DescribedWork(
        shift_hours=Decimal(8), unit_type="emergency", staff_group="nurse", patients_per_worker=4
    )
    describe(area=house.ward_1, role=house.nurse, work=unit, by=house.alice, now=NOW, book=book)
    (post,) = posts_on(alice, house)
    assert "Not observed" in post
    assert "By a published rate alone" in post
    assert "No verdict" in post


def test_two_posts_stand_apart_newest_first_each_with_its_own_time(
    house: House, alice: Client, book: Book
) -> None:
    moved(house, TODAY - timedelta(days=10))
    watch(house, book, washes=20)  # Ward 1, three days ago: after Wanda had left it
    watch(house, book, area=house.ward_2)
    control(house, house.ward_1, "Bowls by machine", date(2024, 5, 1))
    control(house, house.ward_1, "Gloves off for moving", TODAY)
    control(house, house.ward_2, "Milder soap", TODAY)
    control(house, house.ward_2, "For the cleaners", TODAY, role=Role.objects.create(name="Cleaner"))
    assessed(house, house.ward_1)
    assessed(house, house.ward_2)
    now, before = posts_on(alice, house)
    assert now.startswith("Ward 2 20 Feb 2026 to now")
    assert "Watched for 120 min in 1 session" in now
    assert "Milder soap from 2 Mar 2026" in now
    assert "For the cleaners" not in now
    assert "Assessment 1 (PDF) 2 Mar 2026" in now
    assert before.startswith("Ward 1 1 Jan 2020 to 19 Feb 2026")
    assert "Not observed" in before
    assert "It was watched afterwards, for 120 min." in before
    assert "No verdict" in before
    assert "Bowls by machine from 1 May 2024" in before
    assert "Gloves off for moving" not in before
    assert "Assessed Not in that time" in before


def test_watching_from_before_a_post_began_says_so_beside_its_figures(
    house: House, alice: Client, book: Book
) -> None:
    watch(house, book, area=house.ward_2)
    moved(house, TODAY - timedelta(days=1))
    now, _ = posts_on(alice, house)
    assert "Not observed while this post was held." in now
    assert "The figures are of the time before: watched for 120 min" in now


def test_a_clerk_sees_none_of_it_and_others_have_no_page(house: House, book: Book, signed_in: SignIn) -> None:
    watched(house, book)
    page = f"/workers/{house.wanda.ref}/"
    assert "What their hands met" not in text_of(signed_in(house.clara).get(page))
    assert signed_in(house.mona).get(page).status_code == 403
    assert HEADING in words_of(signed_in(make_user("Lea", AccessRole.LEAD)).get(page))


def test_the_history_refuses_whoever_may_not_see_clinical_records(house: House) -> None:
    story = worker_story(ref=house.wanda.ref, by=house.alice, now=NOW)
    for nosy in (house.clara, house.mona, make_user("Ivy", AccessRole.INFECTION_PREVENTION)):
        with pytest.raises(NotAllowed):
            exposure_history(story, by=nosy)


def test_one_look_at_the_page_is_one_row_the_worker_can_read(house: House, alice: Client, book: Book) -> None:
    watched(house, book)
    posts_on(alice, house)
    (row,) = AuditRow.objects.filter(worker_ref=house.wanda.ref)
    assert (row.who, row.event, row.why) == ("alice", "record looked at", "worker page")
