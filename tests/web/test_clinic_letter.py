"""An adjustment says what must change and never why, and its letter goes nowhere without the worker's yes."""

import io
from collections.abc import Callable
from datetime import timedelta

import pypdf
import pytest
from django.test import Client
from pytest_django import Settings

from tests.conftest import NOW, TODAY, House
from tests.web.clinic_house import Clinic, a_clinic, key_of, problems_of, send, text_of, words_of
from tests.web.wanda import AGREED, MARKED, OFFERED, RELEASED, walk
from thenar.knowledge import Book
from thenar.records.actions.letters import state_of
from thenar.records.letter_states import Step
from thenar.records.models import Adjustment, AreaManager, Letter, LetterStep, User
from thenar.screens import clock

SignIn = Callable[[User], Client]


@pytest.fixture(autouse=True)
def _one_day(monkeypatch: pytest.MonkeyPatch, settings: Settings) -> None:
    monkeypatch.setattr(clock, "now", lambda: NOW)
    monkeypatch.setattr(clock, "today", lambda: TODAY)
    settings.OH_TELEPHONE, settings.OH_EMAIL = "extension 4000", "oh@saltmere.example"


@pytest.fixture
def clinic(house: House, book: Book) -> Clinic:
    return a_clinic(house, book)


@pytest.fixture
def alice(clinic: Clinic, signed_in: SignIn) -> Client:
    return signed_in(clinic.house.alice)


@pytest.fixture
def fields(clinic: Clinic) -> dict[str, object]:
    return {
        "measures": ["adjustment.no-patient-contact"],
        "own_words": "Ward rounds instead of sluice work.",
        "start_on": "2 March 2026",
        "review_on": "30 March 2026",
        "end_on": "",
        "recipient": str(clinic.house.mona.pk),
    }


def steps_of(kept: Letter) -> list[str]:
    return list(LetterStep.objects.filter(letter=kept).order_by("pk").values_list("kind", flat=True))


# ---- the adjustment


def test_an_adjustment_and_its_draft_are_made_together(
    clinic: Clinic, alice: Client, fields: dict[str, object]
) -> None:
    response = send(alice, clinic.pages()["adjustment_new"], {**fields, "besides": "on"})
    made = Letter.objects.latest("pk")
    assert response["Location"] == f"/letters/{made.ref}/"  # type: ignore[index]
    assert made.adjustment.measures == [
        "Duties without direct patient contact.",
        "Ward rounds instead of sluice work.",
    ]
    assert (made.recipient, state_of(made).label) == (clinic.house.mona, "Draft")
    sheet = words_of(alice.get(f"/letters/{made.ref}/"))
    assert "Dear Mona Example," in sheet
    assert "Wanda Example Staff number 1001, Ward 1" in sheet
    assert "Until we write again" in sheet


def test_sent_twice_it_is_one_adjustment_and_one_letter(
    clinic: Clinic, alice: Client, fields: dict[str, object]
) -> None:
    address = clinic.pages()["adjustment_new"]
    body = {"form_key": key_of(alice, address), **fields, "besides": "on"}
    first, second = alice.post(address, body), alice.post(address, body)
    assert first["Location"] == second["Location"]
    assert (Adjustment.objects.count(), Letter.objects.count()) == (2, 2)  # with the ones there were


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"own_words": "No wet work while the eczema heals."}, "“eczema”, “heals” could tell why."),
        ({"own_words": "Needs hydrocortisone breaks."}, "“hydrocortisone” could tell why."),
        ({"measures": [], "own_words": ""}, "Measures: Choose at least one measure, or write one."),
        ({"measures": ["adjustment.made-up"]}, "Measures: A measure is no longer in the rules."),
        ({"own_words": "\n".join(["Desk work."] * 8)}, "Measures: A letter holds at most 8 measures."),
        ({"review_on": "9 March 2026", "start_on": "16 March 2026"}, "Review on: The review comes before"),
        ({"end_on": "1 March 2026"}, "Until: The end comes before the start."),
        ({"review_on": "1 March 2026"}, "Review on: 1 March 2026 has passed."),
        (
            {"end_on": "29 March 2026"},
            "Review on: The review on 30 March 2026 comes after the end on 29 March 2026.",
        ),
        ({"start_on": "03/04/2026"}, "From: This could be two days."),
        ({"recipient": ""}, "The letter goes to: Choose who the letter goes to."),
    ],
)
def test_an_adjustment_that_can_not_be_is_asked_back(
    changed: dict[str, object], says: str, clinic: Clinic, alice: Client, fields: dict[str, object]
) -> None:
    response = send(alice, clinic.pages()["adjustment_new"], {**fields, **changed})
    assert says in problems_of(response)
    assert Letter.objects.count() == 1


def test_a_letter_goes_to_managers_of_the_worker_s_own_area_only(
    clinic: Clinic, alice: Client, fields: dict[str, object]
) -> None:
    page = words_of(alice.get(clinic.pages()["adjustment_new"]))
    assert "Mona Example" in page
    assert "Nils" not in page
    response = send(
        alice, clinic.pages()["adjustment_new"], {**fields, "recipient": str(clinic.house.nils.pk)}
    )
    assert "The letter goes to:" in problems_of(response)
    assert Letter.objects.count() == 1


def test_where_nobody_manages_the_area_it_says_so(clinic: Clinic, alice: Client) -> None:
    AreaManager.objects.filter(user=clinic.house.mona).delete()
    page = words_of(alice.get(clinic.pages()["adjustment_new"]))
    assert "Nobody answers for Ward 1 today" in page


def test_another_wording_is_another_letter_and_the_first_is_withdrawn(
    clinic: Clinic, alice: Client, fields: dict[str, object]
) -> None:
    walk(clinic.house, clinic.letter, *OFFERED)
    address = f"{clinic.pages()['adjustment_new']}?replaces={clinic.letter.ref}"
    assert (
        'value="adjustment.no-cleaning-tasks" id="measure-adjustment.no-cleaning-tasks" checked'
        in text_of(alice.get(address))
    )
    send(alice, address, {**fields, "replaces": clinic.letter.ref})
    assert Letter.objects.latest("pk").replaces == clinic.letter
    assert steps_of(clinic.letter)[-1] == "withdrawn"
    assert "newer wording" in words_of(alice.get(clinic.pages()["letter"]))


# ---- the letter's road


def step(alice: Client, clinic: Clinic, code: str, **more: str) -> object:
    return send(alice, clinic.pages()["letter"], {"step": code, **more})


def test_the_practitioner_walks_it_to_release_with_what_the_worker_said(
    clinic: Clinic, alice: Client
) -> None:
    for code, how in [
        ("content_agreed", ""),
        ("offered", ""),
        ("seen", "in the room"),
        ("consented", "in the room"),
        ("released", ""),
    ]:
        assert step(alice, clinic, code, how=how).status_code == 302  # type: ignore[attr-defined]
    assert steps_of(clinic.letter) == ["content_agreed", "offered", "seen", "consented", "released"]
    assert LetterStep.objects.get(kind="consented").how == "in the room"
    assert "Released 2 Mar 2026 done" in words_of(alice.get(clinic.pages()["letter"]))


@pytest.mark.parametrize(
    "taken",
    [(), OFFERED[:1], OFFERED, (*OFFERED, Step.SEEN), (*OFFERED, Step.SEE_DECLINED)],
    ids=["draft", "agreed", "offered", "seen", "not wanted to be seen"],
)
def test_without_the_worker_s_yes_it_can_not_be_released(
    taken: tuple[Step, ...], clinic: Clinic, alice: Client
) -> None:
    walk(clinic.house, clinic.letter, *taken)
    assert 'value="released"' not in text_of(alice.get(clinic.pages()["letter"]))
    response = step(alice, clinic, "released", how="They surely agree")
    assert "can't become “released”" in problems_of(response).replace("&#x27;", "'")
    assert "released" not in steps_of(clinic.letter)


@pytest.mark.parametrize("ended", [Step.REFUSED, Step.WITHDRAWN])
def test_after_a_no_it_can_not_be_released_either(ended: Step, clinic: Clinic, alice: Client) -> None:
    key = key_of(alice, clinic.pages()["letter"])
    walk(clinic.house, clinic.letter, *OFFERED, Step.SEEN, ended)
    alice.post(clinic.pages()["letter"], {"form_key": key, "step": "released"})
    assert "released" not in steps_of(clinic.letter)
    assert "Write it again with other words" in words_of(alice.get(clinic.pages()["letter"]))


@pytest.mark.parametrize("code", ["seen", "see_declined", "refused", "withdrawn"])
def test_a_step_of_the_worker_s_says_how_it_was_told(code: str, clinic: Clinic, alice: Client) -> None:
    walk(clinic.house, clinic.letter, *OFFERED)
    response = step(alice, clinic, code)
    assert "Say " in problems_of(response)
    assert code not in steps_of(clinic.letter)


def test_a_comment_has_words(clinic: Clinic, alice: Client) -> None:
    walk(clinic.house, clinic.letter, *OFFERED, Step.SEEN)
    assert "Their comment: Write down what the worker said." in problems_of(
        step(alice, clinic, "commented", how="by telephone")
    )
    step(alice, clinic, "commented", how="by telephone", comment="Fine, but not on Mondays.")
    assert "Fine, but not on Mondays." in words_of(alice.get(clinic.pages()["letter"]))


def test_a_step_sent_twice_is_taken_once(clinic: Clinic, alice: Client) -> None:
    address = clinic.pages()["letter"]
    body = {"form_key": key_of(alice, address), "step": "content_agreed"}
    first, second = alice.post(address, body), alice.post(address, body)
    assert first["Location"] == second["Location"] == address
    assert steps_of(clinic.letter) == ["content_agreed"]


@pytest.mark.parametrize("code", ["", "burned"])
def test_a_step_that_is_none_is_asked_back(code: str, clinic: Clinic, alice: Client) -> None:
    response = step(alice, clinic, code, how="in the room")
    assert "What the worker said:" in problems_of(response)
    assert steps_of(clinic.letter) == []


def test_another_practitioner_who_is_the_worker_can_not_act_here(clinic: Clinic, signed_in: SignIn) -> None:
    walk(clinic.house, clinic.letter, *AGREED)
    wanda = clinic.house.wanda.user
    assert wanda is not None
    assert signed_in(wanda).post(clinic.pages()["letter"], {"step": "released"}).status_code == 403
    assert "released" not in steps_of(clinic.letter)


def test_on_paper_it_is_one_page_with_two_identifiers_and_no_word_of_why(
    clinic: Clinic, alice: Client
) -> None:
    walk(clinic.house, clinic.letter, *RELEASED)
    response = alice.get(clinic.pages()["letter_pdf"])
    assert response["Content-Type"] == "application/pdf"
    pages = pypdf.PdfReader(io.BytesIO(response.content)).pages
    printed = pages[0].extract_text()
    assert len(pages) == 1
    assert "Wanda Example" in printed
    assert "1001" in printed
    assert "almost clear" not in printed
    assert "1990" not in printed


def test_a_session_that_ends_in_mid_form_keeps_what_was_typed(clinic: Clinic, signed_in: SignIn) -> None:
    walk(clinic.house, clinic.letter, *OFFERED, Step.SEEN)
    for page, body, shows in [
        ("adjustment_new", {"own_words": "Half typed."}, "Half typed."),
        ("letter", {"step": "commented", "how": "in the room", "comment": "Half said."}, "Half said."),
    ]:
        address = clinic.pages()[page]
        key = key_of(signed_in(clinic.house.alice), address)
        kept = Client().post(address, {"form_key": key, **body})["Location"].split("kept%3D")[1]
        assert shows in text_of(signed_in(clinic.house.alice).get(f"{address}?kept={kept}"))


# ---- whose turn, and when


def test_a_comment_makes_it_the_practitioner_s_turn_with_its_words(clinic: Clinic, alice: Client) -> None:
    walk(clinic.house, clinic.letter, *OFFERED, Step.SEEN)
    assert "The next step is the worker's." in words_of(alice.get(clinic.pages()["letter"]))
    walk(clinic.house, clinic.letter, Step.COMMENTED)
    page = words_of(alice.get(clinic.pages()["letter"]))
    assert f"Your turn: they commented {MARKED} comment Talk it over" in page
    assert "The next step is the worker's." not in page


def test_a_letter_whose_first_day_has_passed_says_so_and_offers_new_days(
    clinic: Clinic, signed_in: SignIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    alice = signed_in(clinic.house.alice)
    walk(clinic.house, clinic.letter, *AGREED)
    assert "The first day has passed" not in words_of(alice.get(clinic.pages()["letter"]))
    # The letter runs from 2 March to 30 April with a review on 30 March 2026. Three days later:
    monkeypatch.setattr(clock, "now", lambda: NOW + timedelta(days=3))
    monkeypatch.setattr(clock, "today", lambda: TODAY + timedelta(days=3))
    alice = signed_in(clinic.house.alice)
    page = alice.get(clinic.pages()["letter"])
    assert "asks for changes from 2 March 2026; today is 5 March 2026." in words_of(page)
    again = f"{clinic.pages()['adjustment_new']}?replaces={clinic.letter.ref}"
    assert f'href="{again}">Write it again with new dates' in text_of(page)
    form = text_of(alice.get(again))
    for day in ("5 March 2026", "2 April 2026", "3 May 2026"):
        assert f'value="{day}"' in form
    step(alice, clinic, "released")
    assert "The first day has passed" not in words_of(alice.get(clinic.pages()["letter"]))
    assert 'name="start_on" value="2 March 2026"' in text_of(alice.get(again))  # it runs since then


def test_a_second_release_says_when_it_was_released(clinic: Clinic, alice: Client) -> None:
    walk(clinic.house, clinic.letter, *AGREED)
    stale = key_of(alice, clinic.pages()["letter"])
    step(alice, clinic, "released")
    late = alice.post(clinic.pages()["letter"], {"form_key": stale, "step": "released"})
    assert "Already released on 2 March 2026." in problems_of(late)
    assert steps_of(clinic.letter).count("released") == 1


# ---- two letters to one manager


def test_a_second_letter_to_a_manager_is_told_about_the_first_and_asked_for_a_tick(
    clinic: Clinic, alice: Client, fields: dict[str, object]
) -> None:
    address = clinic.pages()["adjustment_new"]
    page = alice.get(address)
    assert f'href="{clinic.pages()["letter"]}">The letter to Mona Example of 2 March 2026' in text_of(page)
    response = send(alice, address, fields)
    assert "A letter to this manager is already on its way." in problems_of(response)
    assert "Ward rounds instead of sluice work." in text_of(response)
    assert (Adjustment.objects.count(), Letter.objects.count()) == (1, 1)
    send(alice, address, {**fields, "besides": "on"})
    assert Letter.objects.count() == 2


def test_once_the_first_has_ended_nothing_is_asked(
    clinic: Clinic, alice: Client, fields: dict[str, object]
) -> None:
    walk(clinic.house, clinic.letter, *OFFERED, Step.REFUSED)
    address = clinic.pages()["adjustment_new"]
    assert "On its way already" not in words_of(alice.get(address))
    send(alice, address, fields)
    assert Letter.objects.count() == 2
