"""Controls compared above the infection-control floor, and one recorded, once."""

import re
from collections.abc import Callable

import pytest
from django.test import Client
from pytest_django import Settings

from tests.conftest import NOW, TODAY, House
from tests.web.clinic_house import problems_of, text_of, words_of
from tests.web.watched import Watched, watch, watched
from thenar.knowledge import Book
from thenar.records.models import AuditRow, RecordedControl, User
from thenar.screens import clock

pytestmark = pytest.mark.slow

SignIn = Callable[[User], Client]
THREE = {
    "compare": "1",
    "plan": ["wash_to_rub", "gloves_off", "cream_at_breaks"],
    "wash_to_rub-share": "100",
    "gloves_off-share": "50",
    "cream_at_breaks-times": "2",
}
RECORD = {
    "control": "wash_to_rub",
    "hierarchy": "substitution",
    "start_on": "2026-03-09",
    "owner": "Ward manager",
    "review_on": "2026-06-01",
}


@pytest.fixture(autouse=True)
def _one_day(monkeypatch: pytest.MonkeyPatch, settings: Settings) -> None:
    monkeypatch.setattr(clock, "now", lambda: NOW)
    monkeypatch.setattr(clock, "today", lambda: TODAY)
    settings.JURISDICTION = "DE"


@pytest.fixture
def ward(house: House, book: Book) -> Watched:
    return watched(house, book)


@pytest.fixture
def alice(ward: Watched, signed_in: SignIn) -> Client:
    return signed_in(ward.house.alice)


def page_of(ward: Watched) -> str:
    return f"/areas/{ward.ward.ref}/controls/"


def key_of(page: str) -> str:
    found = re.search(r'name="form_key" value="([^"]+)"', page)
    assert found
    return found.group(1)


def test_the_ready_controls_stand_there_with_their_cautions(ward: Watched, alice: Client) -> None:
    page = words_of(alice.get(page_of(ward)))
    for words in ("Washes become rubs", "Gloves come off", "A machine instead", "A measure of your own"):
        assert words in page
    assert "62 % elsewhere; never taken as yours." in page


def test_three_are_compared_alone_and_together(ward: Watched, alice: Client) -> None:
    page = words_of(alice.get(page_of(ward), THREE))
    assert "All of these together" in page
    assert "The order is not certain" in page
    assert "Effect not known" in page
    assert "Not known is not none." in page
    # Washes that needed no soap become rubs: 2 washes in each shift are required and stay.
    assert re.search(r"\d\d to 2\.0", page)


def test_with_the_sites_own_cases_there_is_a_number_with_an_interval(ward: Watched, alice: Client) -> None:
    page = words_of(alice.get(page_of(ward), {**THREE, "cases": "6", "person_years": "30", "people": "30"}))
    assert re.search(r"Cases spared a year \d+\.\d \(\d+\.\d to \d+\.\d\)", page)


def test_without_prices_costs_are_not_known(ward: Watched, alice: Client) -> None:
    assert "Consumables not known" in words_of(alice.get(page_of(ward), THREE))


def test_without_logged_acts_nothing_is_taken_away(house: House, book: Book, signed_in: SignIn) -> None:
    watch(house, book)
    page = words_of(signed_in(house.alice).get(f"/areas/{house.ward_1.ref}/controls/", THREE))
    assert "no wash, rub or glove is taken away" in page
    assert "What was required is not known, so nothing is taken away. in 100 of 100 shifts" in page


def test_what_was_missed_is_made_good_in_every_plan_and_said_once(
    ward: Watched, alice: Client, book: Book
) -> None:
    for _ in range(3):
        watch(ward.house, book, washes=0, rubs=0)
    page = words_of(alice.get(page_of(ward), THREE))
    assert "Counts can rise" in page
    assert page.count("were required and not done; every plan adds them.") <= 2  # washes, and rubs


def test_a_very_small_harm_is_no_minus_nought(ward: Watched, alice: Client) -> None:
    more = {"compare": "1", "plan": ["own_measure"], "own_words": "More washing", "own_measure-washes": "5"}
    page = words_of(alice.get(page_of(ward), {**more, "cases": "1", "person_years": "900", "people": "10"}))
    assert "Cases spared a year 0.0 (0.0 to 0.0)" in page


def test_one_is_recorded_with_what_was_expected_of_it(ward: Watched, alice: Client) -> None:
    page = text_of(alice.get(page_of(ward), THREE))
    answer = alice.post(page_of(ward), {"form_key": key_of(page), **THREE, **RECORD})
    assert answer.status_code == 302
    assert answer.headers["Location"] == f"/areas/{ward.ward.ref}/#controls"
    kept = RecordedControl.objects.get()
    assert kept.control == {"kind": "wash_to_rub", "share": 100.0}
    assert (kept.owner, kept.hierarchy, str(kept.review_on)) == ("Ward manager", "substitution", "2026-06-01")
    assert (kept.role, kept.by) == (ward.house.nurse, ward.house.alice)
    assert kept.expected["after"]["washes"] == 2.0
    row = AuditRow.objects.filter(event="control recorded").get()
    assert (row.target, row.data_class) == (kept.ref, "C5")
    assert "Washes become rubs: share that change (%) 100" in words_of(alice.get(f"/areas/{ward.ward.ref}/"))


def test_the_same_form_sent_twice_makes_one_record(ward: Watched, alice: Client) -> None:
    fields = {"form_key": key_of(text_of(alice.get(page_of(ward), THREE))), **THREE, **RECORD}
    assert alice.post(page_of(ward), fields).status_code == 302
    assert alice.post(page_of(ward), fields).status_code == 302
    assert RecordedControl.objects.count() == 1


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"plan": []}, "Tick at least one control."),
        ({"wash_to_rub-share": ""}, "Fill it in, or untick “Washes become rubs”."),
        ({"wash_to_rub-share": "-5"}, "greater than or equal to 1"),
        ({"cream_at_breaks-times": "99999"}, "less than or equal to 1440"),
        ({"cases": "4"}, "Give cases and person-years together, or neither."),
        ({"plan": ["own_measure"]}, "Say what the measure is."),
        ({"plan": ["nonsense"]}, "not one of the available choices"),
    ],
)
def test_bad_figures_are_named_and_nothing_typed_is_lost(
    ward: Watched, alice: Client, changed: dict[str, object], says: str
) -> None:
    answer = alice.get(page_of(ward), {**THREE, **changed})
    assert answer.status_code == 200
    assert says in problems_of(answer)
    assert text_of(answer).count("<title>Error:") == 1
    assert 'name="gloves_off-share" value="50"' in text_of(answer)


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"owner": " "}, "Owner: This field is required."),
        ({"hierarchy": ""}, "What kind of measure it is: This field is required."),
        ({"review_on": "2026-03-01"}, "The review is before the start."),
        ({"start_on": "0026-03-09"}, "too far from today"),
        ({"control": "machine"}, "not one of the available choices"),
    ],
)
def test_a_bad_record_is_refused_and_nothing_is_stored(
    ward: Watched, alice: Client, changed: dict[str, str], says: str
) -> None:
    key = key_of(text_of(alice.get(page_of(ward), THREE)))
    answer = alice.post(page_of(ward), {"form_key": key, **THREE, **RECORD, **changed})
    assert answer.status_code == 200
    assert says in problems_of(answer)
    assert "What each would do" in words_of(answer)
    assert not RecordedControl.objects.exists()


def test_a_session_that_ends_in_mid_form_loses_nothing(ward: Watched, alice: Client) -> None:
    key = key_of(text_of(alice.get(page_of(ward), THREE)))
    alice.logout()
    answer = alice.post(page_of(ward), {"form_key": key, **THREE, **RECORD})
    assert answer.status_code == 302
    assert not RecordedControl.objects.exists()
    kept = re.search(r"kept%3D([^&]+)", answer.headers["Location"])
    assert kept
    alice.force_login(ward.house.alice)
    page = text_of(alice.get(page_of(ward), {"kept": kept.group(1)}))
    assert 'value="Ward manager"' in page
    assert "What each would do" in page


def test_infection_prevention_compares_but_may_not_record(ward: Watched, signed_in: SignIn) -> None:
    ivy = signed_in(ward.ivy)
    page = text_of(ivy.get(page_of(ward), THREE))
    assert "Record this control" not in page
    key = key_of(text_of(signed_in(ward.house.alice).get(page_of(ward), THREE)))
    assert ivy.post(page_of(ward), {"form_key": key, **THREE, **RECORD}).status_code == 403
    assert not RecordedControl.objects.exists()


def test_doors_are_closed_to_others_and_to_absent_areas(
    ward: Watched, alice: Client, signed_in: SignIn
) -> None:
    assert signed_in(ward.house.mona).get(page_of(ward)).status_code == 403
    assert alice.get("/areas/zzzzzzzzzzzz/controls/").status_code == 404
    assert alice.put(page_of(ward)).status_code == 405


def test_an_unwatched_area_has_nothing_to_lighten(ward: Watched, alice: Client) -> None:
    page = words_of(alice.get(f"/areas/{ward.house.ward_2.ref}/controls/", THREE))
    assert "Nothing is known of the work here, so there is nothing to lighten yet." in page
