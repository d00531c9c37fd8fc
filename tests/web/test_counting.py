"""Counting sessions and describing work: typed in, printed, and sent from a phone."""

import json
from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal
from urllib.parse import parse_qs, urlsplit

import pytest
from django.http import HttpResponse
from django.test import Client

from tests.conftest import NOW, TODAY, House, make_area
from thenar.exposure.care_acts import Cleansed, Occasion, Pathogen, Tier
from thenar.records.actions.descriptions import described
from thenar.records.models import AccessRole, AuditRow, ObservedSession, Role, User, WorkDescription
from thenar.screens import clock
from thenar.screens.keeping import new_form_key

SignIn = Callable[[User], Client]
KEY = "0123456789abcdef0123456789abcdef"


@pytest.fixture(autouse=True)
def _one_day(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: NOW)
    monkeypatch.setattr(clock, "today", lambda: TODAY)


@pytest.fixture
def alice(house: House, signed_in: SignIn) -> Client:
    return signed_in(house.alice)


def address(house: House, page: str) -> str:
    return f"/areas/{house.ward_1.ref}/{page}"


def sheet(house: House, **other: object) -> dict[str, object]:
    typed = {
        "form_key": new_form_key(house.alice),
        "role": house.nurse.ref,
        "observer": "A. E.",
        "observed_on": "2 March 2026",
        "shift_part": "early",
        "minutes_observed": "40",
        "washes": "3",
        "rubs": "0",
    }
    return {name: given for name, given in (typed | other).items() if given is not None}


def text_of(response: HttpResponse) -> str:
    return response.content.decode()


# Every page: who may, what is absent

PAGES = ("count/", "count/sheet/", "count/phone/", "count/sync/", "describe/")


@pytest.mark.parametrize("page", PAGES)
def test_a_practitioner_opens_it(page: str, house: House, alice: Client) -> None:
    assert alice.get(address(house, page)).status_code == 200


@pytest.mark.parametrize("page", PAGES)
@pytest.mark.parametrize("who", ["clara", "mona", "ada", "wanda"])
def test_others_may_not_and_the_refusal_is_noted(
    page: str, who: str, house: House, signed_in: SignIn
) -> None:
    user = house.wanda.user if who == "wanda" else getattr(house, who)
    response = signed_in(user).get(address(house, page))
    assert response.status_code == 403
    assert "Ward 1" not in text_of(response)
    assert AuditRow.objects.filter(event="refused", who=user.username).count() == 1


@pytest.mark.parametrize("page", PAGES)
def test_an_area_that_is_not_there_reads_like_one_that_is_hidden(
    page: str, house: House, alice: Client
) -> None:
    response = alice.get(f"/areas/zzzzzzzzzzzz/{page}")
    assert response.status_code == 404
    assert "There is no such page, or it is not yours to see." in text_of(response)


def test_an_infection_prevention_nurse_counts_but_does_not_describe(house: House, signed_in: SignIn) -> None:
    house.bob.access = AccessRole.INFECTION_PREVENTION
    house.bob.save()
    client = signed_in(house.bob)
    assert client.get(address(house, "count/")).status_code == 200
    assert client.get(address(house, "describe/")).status_code == 403


@pytest.mark.parametrize("page", ["count/sheet/"])
def test_a_sheet_takes_no_form(page: str, house: House, alice: Client) -> None:
    assert alice.post(address(house, page)).status_code == 405


# Typed from paper


@pytest.mark.parametrize(("page", "came_by"), [("count/", "page"), ("count/phone/", "phone")])
def test_a_session_is_kept_as_it_was_counted_and_empty_is_not_known(
    page: str, came_by: str, house: House, alice: Client
) -> None:
    response = alice.post(address(house, page), sheet(house, wet_minutes="2.5", wet_contacts="2"))
    assert response.status_code == 302
    kept = ObservedSession.objects.get()
    assert (kept.area, kept.role, kept.observer) == (house.ward_1, house.nurse, "A. E.")
    assert (kept.observed_on, kept.shift_part, kept.came_by) == (date(2026, 3, 2), "early", came_by)
    assert kept.counts == {
        "minutes_observed": 40,
        "whole_shift": False,
        "washes": 3,
        "rubs": 0,
        "wet_contacts": 2,
        "wet_minutes": 2.5,
    }
    noted = AuditRow.objects.get(event="session recorded")
    assert (noted.who, noted.target, noted.data_class, noted.worker_ref) == ("alice", kept.ref, "C5", "")


def test_what_nobody_counted_is_shown_as_not_known(house: House, alice: Client) -> None:
    alice.post(address(house, "count/"), sheet(house))
    page = text_of(alice.get(address(house, "count/")))
    assert '<td class="num">3</td><td class="num">0</td>' in page
    assert page.count("not known</td>") == 2  # minutes in water, pairs


def test_changes_are_kept_with_the_convention_printed_on_the_sheet(house: House, alice: Client) -> None:
    alice.post(address(house, "count/"), sheet(house, pairs="4", wash_glove_alternations="3"))
    convention = ObservedSession.objects.get().counts["convention"]
    assert convention == "each way: each way is one change, however long between"
    assert "Each way is one change, however long between" in text_of(
        alice.get(address(house, "count/sheet/"))
    )


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"minutes_observed": ""}, "Minutes watched: Enter the minutes watched."),
        ({"minutes_observed": "0"}, "Minutes watched: Enter more than 0 minutes."),
        ({"minutes_observed": "-5"}, "Minutes watched: Enter more than 0 minutes."),
        ({"washes": "-1"}, "Hand washes: Enter a whole number from 0 up"),
        ({"washes": "2.5"}, "Hand washes: Enter a whole number from 0 up"),
        ({"washes": "", "rubs": ""}, "Nothing is counted."),
        ({"observed_on": "3 March 2026"}, "Day: 3 March 2026 has not come yet."),
        ({"observed_on": "03/04/2025"}, "Day: This could be two days."),
        ({"role": ""}, "Role watched: Choose whose work it was."),
        ({"role": "zzzzzzzzzzzz"}, "Role watched: "),
        ({"shift_part": "dawn"}, "Part of the shift: "),
        ({"observer": "  "}, "Observer: Say who counted"),
        (
            {"pairs": "2", "gloves_on_wet_skin": "3"},
            "Pairs put on wet skin (3) do not fit pairs of gloves (2)",
        ),
        ({"wet_minutes": "41"}, "Wet minutes (41) do not fit minutes observed (40)."),
        ({"wet_minutes": "5", "wet_contacts": "0"}, "there are 5 wet minutes but no wet contacts."),
        ({"washes": "100001"}, "Hand washes: Enter at most 100,000."),
    ],
)
def test_what_cannot_be_is_asked_back_with_all_that_was_typed_and_nothing_is_kept(
    wrong: dict[str, str], says: str, house: House, alice: Client
) -> None:
    response = alice.post(address(house, "count/"), sheet(house, **({"observer": "Somebody"} | wrong)))
    page = text_of(response)
    assert response.status_code == 200
    assert "<title>Error:" in page
    assert says in page
    assert ("Somebody" in page) == ("observer" not in wrong)
    assert not ObservedSession.objects.exists()


def test_three_hundred_washes_are_asked_back_and_stand_once_confirmed(house: House, alice: Client) -> None:
    absurd = {"washes": "300", "minutes_observed": "480"}
    asked = text_of(alice.post(address(house, "count/"), sheet(house, **absurd)))
    assert "300 washes in one shift: more than 150 are asked back." in asked
    assert 'name="counts_confirmed"' in asked
    assert not ObservedSession.objects.exists()
    alice.post(address(house, "count/"), sheet(house, counts_confirmed="on", **absurd))
    assert ObservedSession.objects.get().counts["washes"] == 300


def test_nothing_is_there_to_confirm_before_something_is_asked_back(house: House, alice: Client) -> None:
    assert "counts_confirmed" not in text_of(alice.get(address(house, "count/")))


def test_a_sheet_sent_twice_is_one_session(house: House, alice: Client) -> None:
    body = sheet(house)
    first, second = (alice.post(address(house, "count/"), body) for _ in range(2))
    assert first["Location"] == second["Location"]
    assert ObservedSession.objects.count() == 1


def test_signed_out_in_mid_form_nothing_typed_is_lost(house: House, signed_in: SignIn) -> None:
    away = Client().post(address(house, "count/"), sheet(house, observer="Kept Typing"))
    assert away.status_code == 302
    back = parse_qs(urlsplit(away["Location"]).query)["next"][0]
    assert "Kept Typing" in text_of(signed_in(house.alice).get(back))
    assert not ObservedSession.objects.exists()


def test_only_roles_that_work_here_are_offered_and_all_where_nobody_does(house: House, alice: Client) -> None:
    Role.objects.create(name="Cook")
    assert "Cook" not in text_of(alice.get(address(house, "count/")))
    empty = make_area("Empty", house.ward_1)
    assert "Cook" in text_of(alice.get(f"/areas/{empty.ref}/count/"))


# Sent from a phone


def phone_log(house: House, **other: object) -> dict[str, object]:
    """Forty minutes: a wash, water for 3 minutes, gloves on wet skin for 10, two rubs."""
    start = int((NOW - timedelta(hours=1)).timestamp() * 1000)

    def at(minute: int) -> int:
        return start + minute * 60_000

    return {
        "key": KEY,
        "role": house.nurse.ref,
        "part": "late",
        "started": start,
        "ended": at(40),
        "watched": ["washes", "rubs", "wet contact", "gloves"],
        "presses": [
            {"kind": "wash", "at": at(1)},
            {"kind": "wet_start", "at": at(2)},
            {"kind": "wet_stop", "at": at(5)},
            {"kind": "gloves_on", "at": at(5), "skin_wet": True},
            {"kind": "gloves_off", "at": at(15)},
            {"kind": "rub", "at": at(16)},
            {"kind": "rub", "at": at(30)},
        ],
        "confirmed": False,
        **other,
    }


def send(client: Client, house: House, body: object) -> HttpResponse:
    return client.post(address(house, "count/sync/"), json.dumps(body), content_type="application/json")


def test_a_session_from_a_phone_is_counted_from_its_presses(house: House, alice: Client) -> None:
    answer = send(alice, house, phone_log(house))
    kept = ObservedSession.objects.get()
    assert (answer.status_code, answer.json()) == (200, {"ref": kept.ref})
    assert (kept.observer, kept.came_by, kept.shift_part) == ("Alice Example", "phone", "late")
    # By hand from the presses: water 2 to 5, gloves 5 to 15; wash to gloves, water to gloves: one way each.
    assert kept.counts == {
        "minutes_observed": 40,
        "whole_shift": False,
        "washes": 1,
        "rubs": 2,
        "wet_contacts": 1,
        "wet_minutes": 3,
        "pairs": 1,
        "gloves_on_wet_skin": 1,
        "glove_minutes": 10,
        "longest_glove_wear_minutes": 10,
        "wet_glove_alternations": 1,
        "wash_glove_alternations": 1,
        "convention": "each way: each way is one change, however long between",
    }  # cream was not watched for, so it is not there: not known


def test_sent_again_it_is_the_same_session_whoever_sends_it(
    house: House, alice: Client, signed_in: SignIn
) -> None:
    first = send(alice, house, phone_log(house)).json()
    again = send(alice, house, phone_log(house, confirmed=True)).json()
    other = send(signed_in(house.bob), house, phone_log(house)).json()
    assert first == again == other
    assert ObservedSession.objects.count() == 1


def test_another_session_under_the_same_key_is_refused(house: House, alice: Client) -> None:
    send(alice, house, phone_log(house))
    assert send(alice, house, phone_log(house, part="early")).status_code == 409
    assert ObservedSession.objects.count() == 1


def test_an_hour_in_which_nothing_happened_is_asked_back_then_kept_as_zeros(
    house: House, alice: Client
) -> None:
    empty = phone_log(house, presses=[], watched=["rubs", "gloves"])
    asked = send(alice, house, empty)
    assert (asked.status_code, asked.json()["asked_back"]) == (422, True)
    assert asked.json()["what"] == "Nothing was counted in 40 minutes."
    assert not ObservedSession.objects.exists()
    assert send(alice, house, empty | {"confirmed": True}).status_code == 200
    counts = ObservedSession.objects.get().counts
    assert (counts["rubs"], counts["pairs"], counts.get("washes")) == (0, 0, None)


def test_presses_too_close_to_be_believed_are_asked_back(house: House, alice: Client) -> None:
    start = phone_log(house)["started"]
    rubs = [{"kind": "rub", "at": start + 30_000 * turn} for turn in range(61)]  # 61 in 40 min: 91.5 an hour
    asked = send(alice, house, phone_log(house, presses=rubs))
    assert asked.json()["what"] == "61 rubs in 40 minutes: more than 90 an hour are asked back."
    assert asked.json()["asked_back"]
    assert not ObservedSession.objects.exists()


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"key": "short"}, "key is not as expected"),
        ({"watched": []}, "watched is not as expected"),
        ({"watched": ["health"]}, "watched.0 is not as expected"),
        ({"presses": [{"kind": "sneeze", "at": 1}]}, "presses.0.kind is not as expected"),
        ({"presses": [{"kind": "wash", "at": "now"}]}, "presses.0.at is not as expected"),
        ({"worker": "1001"}, "worker is not as expected"),
        ({"role": "zzzzzzzzzzzz"}, "The role that was watched is no longer in the list."),
        ({"part": "dawn"}, "'dawn' is no part of a shift."),
        ({"ended": 5}, "The times on the phone do not fit together."),
        ({"presses": [{"kind": "wash", "at": 5}]}, "The times on the phone do not fit together."),
    ],
)
def test_what_a_phone_cannot_have_counted_is_refused_and_nothing_is_kept(
    wrong: dict[str, object], says: str, house: House, alice: Client
) -> None:
    answer = send(alice, house, phone_log(house, **wrong))
    assert answer.status_code == 422
    assert says in answer.json()["what"]
    assert not answer.json()["asked_back"]
    assert not ObservedSession.objects.exists()


@pytest.mark.parametrize("body", [b"", b"[]", b"{", b"\xff", b"null"])
def test_what_is_no_session_at_all_is_refused(body: bytes, house: House, alice: Client) -> None:
    answer = alice.post(address(house, "count/sync/"), body, content_type="application/json")
    assert answer.status_code == 422


def test_water_that_never_stopped_is_asked_back_by_press(house: House, alice: Client) -> None:
    start = phone_log(house)["started"]
    answer = send(alice, house, phone_log(house, presses=[{"kind": "wet_start", "at": start}]))
    assert answer.status_code == 422
    assert "no end to the wet contact that starts here" in answer.json()["what"]


def test_a_phone_whose_clock_is_a_day_ahead_is_refused(house: House, alice: Client) -> None:
    log = phone_log(house)
    ahead = 86_400_000
    moved = [press | {"at": press["at"] + ahead} for press in log["presses"]]
    shifted = {"started": log["started"] + ahead, "ended": log["ended"] + ahead, "presses": moved}
    answer = send(alice, house, log | shifted)
    assert "is in the future" in answer.json()["what"]
    assert not ObservedSession.objects.exists()


def test_sending_needs_the_key_of_this_site(house: House) -> None:
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(house.alice)
    assert send(strict, house, phone_log(house)).status_code == 403
    token = strict.get(address(house, "count/sync/"), secure=True).json()["token"]
    sent = strict.post(
        address(house, "count/sync/"),
        json.dumps(phone_log(house)),
        content_type="application/json",
        headers={"X-CSRFToken": token, "Referer": "https://testserver/"},
        secure=True,
    )
    assert sent.status_code == 200


def test_the_page_kept_on_a_phone_names_nobody_and_holds_no_form(house: House, alice: Client) -> None:
    kept = text_of(alice.get(address(house, "count/phone/?offline")))
    assert "Ward 1" in kept
    for secret in ("Alice", "csrfmiddlewaretoken", "form_key", "Wanda"):
        assert secret not in kept
    assert 'data-who=""' in kept


def test_the_script_that_keeps_the_page_is_a_script_and_asks_no_other_host(
    house: House, alice: Client
) -> None:
    response = alice.get("/counting-worker.js")
    assert response["Content-Type"].startswith("text/javascript")
    assert "http" not in text_of(response)


# Describing the work


def work(house: House, **other: object) -> dict[str, object]:
    return {
        "form_key": new_form_key(house.alice),
        "role": house.nurse.ref,
        "shift_hours": "12.5",
        "unit_type": "medical-ward",
        "staff_group": "nurse",
        "patients_per_worker": "5",
        "act-0-kind": "observations",
        "act-0-times": "9",
        "act-0-occasion": "before-patient",
        "act-0-cleansed": "rub",
        "act-0-gloves": "none",
        "act-0-circumstances": "clear",
        "act-1-kind": "body-fluid",
        "act-1-times": "2",
        "act-1-circumstances": "difficile",
        "act-2-kind": "",
        "act-2-times": "",
        **other,
    }


def describing(house: House) -> str:
    return address(house, f"describe/?role={house.nurse.ref}")


def test_work_is_described_and_what_was_not_said_stays_not_known(house: House, alice: Client) -> None:
    assert alice.post(describing(house), work(house)).status_code == 302
    kept = WorkDescription.objects.get()
    told = described(kept)
    assert (told.shift_hours, told.unit_type, told.staff_group) == (Decimal("12.5"), "medical-ward", "nurse")
    assert told.patients_per_worker == 5
    first, second = told.acts
    assert (first.kind, first.times, first.occasion) == ("observations", 9, Occasion.BEFORE_PATIENT)
    assert (first.cleansed, first.gloves, first.visible_soil) == (Cleansed.RUB, Tier.NONE, False)
    assert (second.cleansed, second.gloves, second.occasion) == (None, None, None)
    assert (second.pathogen, second.contact_precautions) == (Pathogen.C_DIFFICILE, None)
    noted = AuditRow.objects.get(event="work described")
    assert (noted.target, noted.data_class) == (kept.ref, "C5")


def test_the_form_shows_the_description_in_force_and_a_new_one_leaves_it(house: House, alice: Client) -> None:
    alice.post(describing(house), work(house))
    page = text_of(alice.get(describing(house)))
    assert 'value="12.5"' in page
    assert '<option value="difficile" selected>' in page
    alice.post(describing(house), work(house, shift_hours="8"))
    assert [row.shift_hours for row in WorkDescription.objects.order_by("pk")] == [Decimal("12.5"), 8]


def test_without_a_role_the_roles_are_listed(house: House, alice: Client) -> None:
    assert "Not yet" in text_of(alice.get(address(house, "describe/")))
    alice.post(describing(house), work(house))
    assert "12.5 hours" in text_of(alice.get(address(house, "describe/")))


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"shift_hours": ""}, "Hours of a usual shift: Enter the hours"),
        ({"shift_hours": "25"}, "Hours of a usual shift: "),
        ({"shift_hours": "0"}, "Hours of a usual shift: "),
        ({"unit_type": "zoo"}, "Kind of unit: "),
        ({"patients_per_worker": ""}, "patients per worker are missing"),
        ({"staff_group": ""}, "No share of the opportunities is known"),
        ({"act-1-times": ""}, "Row 2, Times in a shift: Enter how often in a shift."),
        ({"act-1-times": "-2"}, "Row 2, Times in a shift: Enter a whole number from 1 up"),
        ({"act-1-kind": ""}, "Row 2, Act: Choose the act, or empty the row."),
        ({"act-1-kind": "juggling"}, "Row 2, Act: "),
        ({"act-0-gloves": "mittens"}, "Row 1, Gloves worn: "),
    ],
)
def test_a_description_that_cannot_be_is_shown_again_and_nothing_is_kept(
    wrong: dict[str, str], says: str, house: House, alice: Client
) -> None:
    response = alice.post(describing(house), work(house, **wrong))
    assert response.status_code == 200
    assert "<title>Error:" in text_of(response)
    assert says in text_of(response)
    assert not WorkDescription.objects.exists()


def test_more_rows_keep_what_was_typed_and_record_nothing(house: House, alice: Client) -> None:
    page = text_of(alice.post(describing(house), work(house, more_rows="1")))
    assert 'name="act-7-kind"' in page  # three rows and five more
    assert 'name="act-8-kind"' not in page
    assert 'value="12.5"' in page
    assert "<title>Error:" not in page
    assert not WorkDescription.objects.exists()


def test_a_description_sent_twice_is_one(house: House, alice: Client) -> None:
    body = work(house)
    for _ in range(2):
        alice.post(describing(house), body)
    assert WorkDescription.objects.count() == 1


def test_signed_out_in_mid_description_nothing_typed_is_lost(house: House, signed_in: SignIn) -> None:
    away = Client().post(describing(house), work(house, shift_hours="11.75"))
    back = parse_qs(urlsplit(away["Location"]).query)["next"][0]
    page = text_of(signed_in(house.alice).get(back))
    assert 'value="11.75"' in page
