"""One episode on one page, its reviews, and its end."""

import re
from collections.abc import Callable
from datetime import date, timedelta

import pytest
from django.test import Client

from tests.conftest import NOW, TODAY, House
from tests.web.clinic_house import ALL_CLEAR, Clinic, a_clinic, key_of, problems_of, send, words_of
from tests.web.wanda import AGREED, MEASURE, OFFERED, RELEASED, adjusted, letter, walk
from thenar.knowledge import Book
from thenar.records.actions.cases import close_case, open_case
from thenar.records.actions.examinations import Circumstances, record_examination
from thenar.records.actions.reviews import set_review
from thenar.records.letter_states import Step
from thenar.records.models import CaseClosing, Review, ReviewOutcome, User
from thenar.screens import clock
from thenar.skin.severity import AreaSigns, HandSigns

SignIn = Callable[[User], Client]


@pytest.fixture(autouse=True)
def _one_day(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: NOW)
    monkeypatch.setattr(clock, "today", lambda: TODAY)


@pytest.fixture
def clinic(house: House, book: Book) -> Clinic:
    return a_clinic(house, book)


@pytest.fixture
def alice(clinic: Clinic, signed_in: SignIn) -> Client:
    return signed_in(clinic.house.alice)


def test_its_head_tells_whose_it_is_by_two_identifiers_and_the_post(clinic: Clinic, alice: Client) -> None:
    page = words_of(alice.get(clinic.pages()["case"]))
    assert "Wanda Example born 17 May 1990 staff number 1001 Nurse, Ward 1" in page


def test_it_gathers_what_belongs_to_the_episode(clinic: Clinic, alice: Client) -> None:
    walk(clinic.house, clinic.letter, *OFFERED)
    page = words_of(alice.get(clinic.pages()["case"]))
    assert "16 Feb 2026" in page  # the examination, two weeks before 2 March
    assert "Left back: back of the hand." in page
    assert "Plan of 2 March 2026" in page
    assert "No dishwashing, instrument washing or cleaning tasks." in page
    assert "Letter to Mona Example Waiting for the worker to see it" in page
    assert "Next look Due today" in page
    assert "31 January 2026" in page  # the check, thirty days before


def test_the_course_names_both_yardsticks_and_what_each_says(
    clinic: Clinic, alice: Client, book: Book
) -> None:
    clear = AreaSigns(0, 0, 0, 0, 0, 0, 0)
    # (3 + 2 + 2) times 3 is 21 on the palms; 21 less 8 is 13: over 8.3, under 41.
    palms = AreaSigns(erythema=3, induration=2, vesicles=0, fissures=2, scaling=0, oedema=0, extent=3)
    record_examination(
        case=clinic.case,
        signs=HandSigns(clear, clear, palms, clear, clear),
        marks=(),
        examined_on=TODAY,
        circumstances=Circumstances(),
        by=clinic.house.alice,
        now=NOW,
        book=book,
    )
    page = words_of(alice.get(clinic.pages()["case"]))
    assert "Change by Oosterhaven and Schuttelaar, 2020: 41 points" in page
    assert "Change by Yüksel, Agner and Ofenloch, 2021: 8.3 points" in page
    assert "+13 no change that can be told +13 worse" in page
    assert "Moderate" in page


def test_a_case_that_follows_another_points_back_to_it(clinic: Clinic, alice: Client) -> None:
    close_case(case=clinic.case, outcome="controlled", closed_on=TODAY, by=clinic.house.alice, now=NOW)
    later = open_case(worker=clinic.house.wanda, by=clinic.house.alice, now=NOW)
    page = alice.get(f"/cases/{later.ref}/").content.decode()
    assert f'href="/cases/{clinic.case.ref}/">Earlier case of 31 January 2026' in page
    assert "Not examined yet." in page


def test_an_open_case_can_be_added_to_and_a_closed_one_can_not(clinic: Clinic, alice: Client) -> None:
    assert "Examine the hands" in words_of(alice.get(clinic.pages()["case"]))
    close_case(
        case=clinic.case,
        outcome="controlled",
        closed_on=TODAY,
        by=clinic.house.alice,
        now=NOW,
        note_text="Well.",
    )
    page = words_of(alice.get(clinic.pages()["case"]))
    assert "Closed on 2 March 2026 by Alice Example: under control, surveillance goes on." in page
    assert "Examine the hands" not in page


# ---- closing


def test_before_closing_it_says_what_is_still_open(clinic: Clinic, alice: Client) -> None:
    page = words_of(alice.get(clinic.pages()["close_case"]))
    assert "The last score was 8 points, on 16 February 2026." in page
    assert "The letter to Mona Example is still on its way. It will be withdrawn." in page
    assert "The review of 2 March 2026 will be marked as no longer needed." in page


def test_closing_is_recorded_once_and_its_reviews_are_no_longer_needed(clinic: Clinic, alice: Client) -> None:
    address = clinic.pages()["close_case"]
    fields = {"form_key": key_of(alice, address), "outcome": "controlled", "closed_on": "2026-03-02"}
    first, second = alice.post(address, fields), alice.post(address, fields)
    assert first["Location"] == second["Location"] == clinic.pages()["case"]
    assert CaseClosing.objects.get().outcome == "controlled"
    assert ReviewOutcome.objects.get(review=clinic.review).outcome == "not_needed"


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"outcome": "clear", "closed_on": "3 March 2026"}, "Closed on: 3 March 2026 has not come yet."),
        ({"outcome": "clear", "closed_on": ""}, "Closed on: Enter the day, like 3 March 2026."),
        ({"outcome": "cured", "closed_on": "2 March 2026"}, "How it ended:"),
        ({"closed_on": "2 March 2026"}, "How it ended: Choose how the case ended."),
    ],
)
def test_a_closing_that_can_not_be_is_asked_back(
    fields: dict[str, str], says: str, clinic: Clinic, alice: Client
) -> None:
    response = send(alice, clinic.pages()["close_case"], {**fields, "note": "Kept words."})
    assert says in problems_of(response)
    assert "Kept words." in response.content.decode()  # type: ignore[attr-defined]
    assert not CaseClosing.objects.exists()


# ---- reviews


def test_a_review_is_set_for_a_day_to_come(clinic: Clinic, alice: Client) -> None:
    fields = {"due_on": "16 March 2026", "purpose": "Second look"}
    response = send(alice, clinic.pages()["review_new"], fields)
    assert response["Location"] == clinic.pages()["case"]  # type: ignore[index]
    assert Review.objects.get(purpose="Second look").due_on == date(2026, 3, 16)


def test_a_review_set_twice_by_one_form_is_one_review(clinic: Clinic, alice: Client) -> None:
    address = clinic.pages()["review_new"]
    fields = {"form_key": key_of(alice, address), "due_on": "16 March 2026", "purpose": "Second look"}
    alice.post(address, fields)
    alice.post(address, fields)
    assert Review.objects.filter(purpose="Second look").count() == 1


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"due_on": "1 March 2026", "purpose": "Look"}, "Due on: 1 March 2026 has passed."),
        ({"due_on": "04/05/2026", "purpose": "Look"}, "Due on: This could be two days."),
        ({"due_on": "soon", "purpose": "Look"}, "Due on: This is not a day in the calendar."),
        ({"due_on": "9 March 2026", "purpose": ""}, "What for: Say in a few words"),
        ({"due_on": "9 March 2026", "purpose": "Eczema again"}, "What for: “Eczema” could tell why."),
    ],
)
def test_a_review_that_can_not_be_is_asked_back(
    fields: dict[str, str], says: str, clinic: Clinic, alice: Client
) -> None:
    assert says in problems_of(send(alice, clinic.pages()["review_new"], fields))
    assert Review.objects.count() == 1


def test_what_became_of_a_review_is_recorded_and_the_next_one_set(clinic: Clinic, alice: Client) -> None:
    address = clinic.pages()["review"]
    assert "Examine now" in words_of(alice.get(address))
    fields = {
        "form_key": key_of(alice, address),
        "outcome": "missed",
        "next_due_on": "9 March 2026",
        "note": "Rang twice.",
    }
    first, second = alice.post(address, fields), alice.post(address, fields)
    assert first["Location"] == second["Location"] == clinic.pages()["case"]
    assert Review.objects.filter(due_on=TODAY + timedelta(days=7)).count() == 1
    page = words_of(alice.get(address))
    assert "Worker did not come, 2 March 2026, Alice Example" in page
    assert "Rang twice." in page
    assert "Record it" not in page


@pytest.mark.parametrize("outcome", ["moved", "missed"])
def test_a_worker_who_was_not_seen_gets_another_day(outcome: str, clinic: Clinic, alice: Client) -> None:
    response = send(alice, clinic.pages()["review"], {"outcome": outcome})
    assert "Next review on: Set the day of the next review" in problems_of(response)
    assert not ReviewOutcome.objects.exists()


def test_a_second_outcome_of_one_review_is_refused(clinic: Clinic, alice: Client) -> None:
    address = clinic.pages()["review"]
    late = key_of(alice, address)
    send(alice, address, {"outcome": "done", "next_due_on": "16 March 2026"})
    response = alice.post(address, {"form_key": late, "outcome": "not_needed"})
    assert response.status_code == 200
    assert "already has an outcome" in problems_of(response)


@pytest.mark.parametrize(
    ("page", "fields", "shows"),
    [
        ("review_new", {"due_on": "9 March 2026", "purpose": "Second look"}, "Second look"),
        ("review", {"outcome": "done", "note": "Half typed."}, "Half typed."),
        ("close_case", {"outcome": "clear", "note": "Half typed."}, "Half typed."),
    ],
)
def test_a_session_that_ends_in_mid_form_keeps_what_was_typed(
    page: str, fields: dict[str, str], shows: str, clinic: Clinic, signed_in: SignIn
) -> None:
    address = clinic.pages()[page]
    key = key_of(signed_in(clinic.house.alice), address)
    kept = Client().post(address, {"form_key": key, **fields})["Location"].split("kept%3D")[1]
    assert shows in signed_in(clinic.house.alice).get(f"{address}?kept={kept}").content.decode()


def test_a_done_review_of_an_open_case_asks_for_the_next_day_or_the_reason(
    clinic: Clinic, alice: Client
) -> None:
    address = clinic.pages()["review"]
    assert "tick “No next review” and say why" in problems_of(send(alice, address, {"outcome": "done"}))
    assert "Note: Say why there is no next review." in problems_of(
        send(alice, address, {"outcome": "done", "no_next": "on"})
    )
    both = {"outcome": "done", "no_next": "on", "next_due_on": "9 March 2026", "note": "x"}
    assert "No next review: A next review is set as well." in problems_of(send(alice, address, both))
    assert not ReviewOutcome.objects.exists()
    fields = {"form_key": key_of(alice, address), "outcome": "done", "no_next": "on", "note": "To be closed."}
    first, second = alice.post(address, fields), alice.post(address, fields)
    assert first["Location"] == second["Location"] == clinic.pages()["case"]
    assert ReviewOutcome.objects.get().note == "To be closed."


def test_where_another_review_is_to_come_a_done_one_asks_for_nothing(clinic: Clinic, alice: Client) -> None:
    send(alice, clinic.pages()["review_new"], {"due_on": "16 March 2026", "purpose": "Second look"})
    address = clinic.pages()["review"]
    assert "Set already: 16 March 2026, Second look" in words_of(alice.get(address))
    send(alice, address, {"outcome": "done"})
    assert ReviewOutcome.objects.get().outcome == "done"


# ---- examining from a review


def test_examining_from_a_review_leads_back_to_it_to_be_marked_done(clinic: Clinic, alice: Client) -> None:
    review = clinic.pages()["review"]
    examine = f"{clinic.pages()['examine']}?review={clinic.review.ref}"
    assert f'href="{examine}"' in alice.get(review).content.decode()
    assert "Examined today" not in words_of(alice.get(review))
    fields = {
        **ALL_CLEAR,
        "examined_on": "2 March 2026",
        "under_treatment": "no",
        "review": clinic.review.ref,
    }
    fields["form_key"] = key_of(alice, examine)
    first, second = alice.post(examine, fields), alice.post(examine, fields)
    assert first["Location"] == second["Location"] == review
    page = words_of(alice.get(review))
    assert "Examined today Mark the review done and set the next. The examination : 0 points." in page
    assert re.search(r'value="done"[^>]* checked', alice.get(review).content.decode())


def test_what_was_seen_before_the_review_was_set_is_not_its_examination(
    clinic: Clinic, alice: Client, book: Book
) -> None:
    clear = AreaSigns(0, 0, 0, 0, 0, 0, 0)
    record_examination(
        case=clinic.case,
        signs=HandSigns(clear, clear, clear, clear, clear),
        marks=(),
        examined_on=TODAY,
        circumstances=Circumstances(),
        by=clinic.house.alice,
        now=NOW - timedelta(minutes=10),
        book=book,
    )
    page = words_of(alice.get(clinic.pages()["review"]))
    assert "Examine now" in page
    assert "Examined today" not in page


def test_the_form_carries_the_review_it_came_from_and_no_other_s(clinic: Clinic, alice: Client) -> None:
    other = open_case(worker=clinic.house.yusuf, by=clinic.house.alice, now=NOW)
    foreign = set_review(case=other, due_on=TODAY, purpose="Look", by=clinic.house.alice, now=NOW)
    address = clinic.pages()["examine"]
    named = 'name="review" value="'
    assert (
        f"{named}{clinic.review.ref}" in alice.get(f"{address}?review={clinic.review.ref}").content.decode()
    )
    assert named not in alice.get(f"{address}?review={foreign.ref}").content.decode()
    assert named not in alice.get(address).content.decode()


# ---- closing where something would be lost


def test_closing_withdraws_the_letter_on_its_way_and_its_page_says_why(clinic: Clinic, alice: Client) -> None:
    walk(clinic.house, clinic.letter, *OFFERED)
    send(alice, clinic.pages()["close_case"], {"outcome": "controlled", "closed_on": "2 March 2026"})
    assert CaseClosing.objects.exists()
    page = words_of(alice.get(clinic.pages()["letter"]))
    assert "Withdrawn Alice Example. The case was closed" in page


def test_a_letter_the_worker_agreed_to_is_decided_before_the_case_is_closed(
    clinic: Clinic, alice: Client
) -> None:
    walk(clinic.house, clinic.letter, *AGREED)
    address = clinic.pages()["close_case"]
    assert "the worker has agreed to it. Release it or withdraw it first" in words_of(alice.get(address))
    response = send(alice, address, {"outcome": "controlled", "closed_on": "2 March 2026"})
    assert "has the worker's yes and was not released." in problems_of(response)
    assert not CaseClosing.objects.exists()


def test_clear_skin_against_the_last_score_is_asked_back_once_and_then_needs_a_reason(
    clinic: Clinic, alice: Client
) -> None:
    address = clinic.pages()["close_case"]
    fields = {"outcome": "clear", "closed_on": "2 March 2026"}
    assert "Close all the same" not in words_of(alice.get(address))
    response = send(alice, address, fields)
    # Wanda's score is 8: almost clear, not clear.
    assert "The last score was 8 points on 16 February 2026, which is not clear." in problems_of(response)
    assert 'name="all_the_same"' in response.content.decode()  # type: ignore[attr-defined]
    response = send(alice, address, {**fields, "all_the_same": "on"})
    assert "Note: Say why the skin counts as clear" in problems_of(response)
    assert not CaseClosing.objects.exists()
    send(alice, address, {**fields, "all_the_same": "on", "note": "What is left is an old scar."})
    assert CaseClosing.objects.get().note == "What is left is an old scar."


# ---- adjustments that do not stand


@pytest.mark.parametrize(
    ("steps", "says"),
    [
        ((*OFFERED, Step.REFUSED), "Was not sent The worker did not agree."),
        ((Step.WITHDRAWN,), "Was not sent Withdrawn."),
    ],
)
def test_an_adjustment_that_was_not_sent_is_struck(
    steps: tuple[Step, ...], says: str, clinic: Clinic, alice: Client
) -> None:
    struck = f"<s>{MEASURE}</s>"
    page = alice.get(clinic.pages()["case"])
    assert struck not in page.content.decode()
    assert "Not sent yet" in words_of(page)
    walk(clinic.house, clinic.letter, *steps)
    page = alice.get(clinic.pages()["case"])
    assert struck in page.content.decode()
    assert says in words_of(page)


def test_an_adjustment_in_force_is_not_marked_and_a_replaced_one_is(clinic: Clinic, alice: Client) -> None:
    walk(clinic.house, clinic.letter, *RELEASED)
    page = words_of(alice.get(clinic.pages()["case"]))
    assert "Not sent yet" not in page
    newer = letter(clinic.house, adjusted(clinic.house, clinic.case), replaces=clinic.letter)
    walk(clinic.house, newer, *RELEASED)
    page = alice.get(clinic.pages()["case"])
    assert "Replaced A newer wording took its place." in words_of(page)
    assert page.content.decode().count(f"<s>{MEASURE}</s>") == 1
