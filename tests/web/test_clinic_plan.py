"""A plan says what this worker uses, each line with its source, and always when to get help."""

import io
import re
from collections.abc import Callable

import pypdf
import pytest
from django.test import Client
from pytest_django import Settings

from tests.conftest import NOW, TODAY, House
from tests.web.clinic_house import Clinic, a_clinic, key_of, problems_of, send, text_of, words_of
from tests.web.wanda import SIGNS
from thenar.knowledge import Book
from thenar.records.actions.cases import open_case
from thenar.records.actions.examinations import Circumstances, record_examination
from thenar.records.models import Plan, Review, User
from thenar.screens import clock
from thenar.screens.clinic.plan_choices import (
    FOR_BROKEN_SKIN,
    FOR_EVERYONE,
    FOR_SORE_HANDS,
    RED_FLAGS,
    lines_to_choose,
)

SignIn = Callable[[User], Client]
LINES = {"lines": ["care.cream.when", "care.cleansing.rub-first"]}


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


def no_plan_yet(clinic: Clinic, book: Book) -> str:
    """The address of the first plan in Yusuf's case: his hands were seen once, with cracks."""
    alice = clinic.house.alice
    case = open_case(worker=clinic.house.yusuf, by=alice, now=NOW)
    record_examination(
        case=case,
        signs=SIGNS,
        marks=(),
        examined_on=TODAY,
        circumstances=Circumstances(),
        by=alice,
        now=NOW,
        book=book,
    )
    return f"/cases/{case.ref}/plan/"


def test_every_line_that_is_ticked_or_always_there_is_in_the_knowledge(book: Book) -> None:
    known = {line.id for line in lines_to_choose(book)}
    assert known >= FOR_EVERYONE | FOR_SORE_HANDS | FOR_BROKEN_SKIN
    assert set(RED_FLAGS) <= set(book.lines)
    assert not set(RED_FLAGS) & known


def test_each_line_stands_there_with_its_source(clinic: Clinic, alice: Client, book: Book) -> None:
    page = words_of(alice.get(clinic.pages()["plan_new"]))
    for line in lines_to_choose(book):
        assert line.says in page
        assert f"{line.id} . {book.cite(line).label}." in page


def test_how_many_say_otherwise_is_said_in_words(alice: Client, clinic: Clinic, book: Book) -> None:
    page = words_of(alice.get(clinic.pages()["plan_new"]))
    counts = {line.id: len(line.other_view) for line in lines_to_choose(book)}
    assert counts["care.washing.diarrhoea"] == 4
    assert counts["care.cleansing.not-both"] == 1
    assert "4 sources say otherwise" in page
    assert "1 source says otherwise" in page


def test_cracks_at_the_last_look_tick_the_lines_on_broken_skin(
    clinic: Clinic, alice: Client, book: Book
) -> None:
    page = text_of(alice.get(no_plan_yet(clinic, book)))
    assert 'value="care.broken-skin.cover" id="line-care.broken-skin.cover" checked' in page
    assert 'value="care.home.cold" id="line-care.home.cold">' in page


def test_a_plan_keeps_what_was_chosen_named_and_written(clinic: Clinic, alice: Client, book: Book) -> None:
    fields = {
        **LINES,
        "cream": "Plain cream, pump",
        "own_words": "Ask before the new soap.\n\nBring your own tube.",
        "next_look_on": "16 March 2026",
    }
    response = send(alice, clinic.pages()["plan_new"], fields)
    made = Plan.objects.latest("pk")
    assert response["Location"] == f"/plans/{made.ref}/"  # type: ignore[index]
    page = words_of(alice.get(f"/plans/{made.ref}/"))
    assert "Cream: Plain cream, pump Your practitioner's words" in page
    assert f"{book.lines['care.cream.when'].says} Common practice" in page
    assert "Bring your own tube. Your practitioner's words" in page
    assert "Next look: 16 March 2026" in page
    assert all(book.lines[key].says in page for key in RED_FLAGS)
    assert made.edition == book.edition


def test_the_next_plan_begins_from_the_plan_in_force(clinic: Clinic, alice: Client) -> None:
    address = clinic.pages()["plan_new"]
    first = {
        "lines": ["care.cream.when", "care.home.cold"],
        "cream": "Plain: the blue pump",
        "work_gloves": "Nitrile, size M",
        "own_words": "Ask before the new soap.\nBring your own tube.",
    }
    send(alice, address, first)
    page = text_of(alice.get(address))
    assert "Begun from the plan of 2 March 2026." in page
    ticked = set(re.findall(r'id="line-([^"]+)" checked', page))
    assert ticked == {"care.cream.when", "care.home.cold"}
    assert 'value="Plain: the blue pump"' in page
    assert 'value="Nitrile, size M"' in page
    assert "Ask before the new soap.\nBring your own tube.</textarea>" in page
    assert "Not taken over" not in page


def test_a_line_that_the_rules_word_otherwise_now_is_shown_as_not_taken_over(
    clinic: Clinic, alice: Client
) -> None:
    page = words_of(alice.get(clinic.pages()["plan_new"]))  # the clinic's plan says only "At breaks."
    assert "Not taken over, because the rules word it otherwise now or no longer have it: At breaks." in page


def test_the_first_plan_of_a_case_says_nothing_of_another(clinic: Clinic, alice: Client, book: Book) -> None:
    page = words_of(alice.get(no_plan_yet(clinic, book)))
    assert "Begun from" not in page
    assert "Ticked to fit what was last seen." in page


def test_the_review_is_set_too_where_asked(clinic: Clinic, alice: Client) -> None:
    fields = {**LINES, "next_look_on": "16 March 2026"}
    send(alice, clinic.pages()["plan_new"], fields)
    assert Review.objects.count() == 1
    send(alice, clinic.pages()["plan_new"], {**fields, "sets_review": "on"})
    assert Review.objects.latest("pk").due_on.isoformat() == "2026-03-16"


def test_sent_twice_it_is_one_plan(clinic: Clinic, alice: Client) -> None:
    address = clinic.pages()["plan_new"]
    fields = {"form_key": key_of(alice, address), **LINES}
    first, second = alice.post(address, fields), alice.post(address, fields)
    assert first["Location"] == second["Location"]
    assert Plan.objects.count() == 2  # the one there was, and this one


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({}, "Advice: Choose at least one line of advice, or write one."),
        ({"lines": ["care.made-up"]}, "Advice: A line is no longer in the rules."),
        ({**LINES, "next_look_on": "1 March 2026"}, "Next look on: 1 March 2026 has passed."),
        (
            {**LINES, "sets_review": "on"},
            "Next look on: Enter the day of the next look, or take away",
        ),
        ({**LINES, "own_words": "a" * 241}, "In your own words: Line 1 has 241 characters; 240 is the most."),
        ({**LINES, "cream": "a" * 121}, "Cream: Ensure this value has at most 120 characters"),
    ],
)
def test_a_plan_that_can_not_be_is_asked_back(
    fields: dict[str, object], says: str, clinic: Clinic, alice: Client
) -> None:
    response = send(alice, clinic.pages()["plan_new"], {"hand_rub": "Kept words", **fields})
    assert says in problems_of(response)
    assert "Kept words" in text_of(response)
    assert Plan.objects.count() == 1


def test_the_plan_says_whose_service_made_it(clinic: Clinic, alice: Client, settings: Settings) -> None:
    settings.SITE_NAME = "Saltmere Trust"
    made = send(alice, clinic.pages()["plan_new"], LINES)
    assert "Occupational health, Saltmere Trust, extension 4000" in words_of(alice.get(made["Location"]))  # type: ignore[index]


def test_without_a_date_of_birth_there_is_no_plan(clinic: Clinic, alice: Client) -> None:
    clinic.house.wanda.born_on = None
    clinic.house.wanda.save()
    response = send(alice, clinic.pages()["plan_new"], LINES)
    assert "The worker's date of birth is not known." in problems_of(response)
    assert Plan.objects.count() == 1


def test_a_site_that_has_not_set_its_telephone_is_told_so(
    clinic: Clinic, alice: Client, settings: Settings
) -> None:
    settings.OH_TELEPHONE = ""
    response = send(alice, clinic.pages()["plan_new"], LINES)
    assert "THENAR_OH_TELEPHONE" in problems_of(response)
    assert Plan.objects.count() == 1


@pytest.mark.parametrize("large", ["", "?large=1"])
def test_on_paper_it_carries_two_identifiers(large: str, clinic: Clinic, alice: Client) -> None:
    response = alice.get(clinic.pages()["plan_pdf"] + large)
    assert response["Content-Type"] == "application/pdf"
    assert response["Content-Disposition"].startswith("inline")
    pages = pypdf.PdfReader(io.BytesIO(response.content)).pages
    printed = " ".join(" ".join(page.extract_text() for page in pages).split())
    assert "Wanda Example" in printed
    assert "17 May 1990" in printed
    assert "At breaks." in printed


def test_large_print_is_another_document(clinic: Clinic, alice: Client) -> None:
    address = clinic.pages()["plan_pdf"]
    assert alice.get(address).content != alice.get(f"{address}?large=1").content


def test_a_session_that_ends_in_mid_form_keeps_the_choice(clinic: Clinic, signed_in: SignIn) -> None:
    address = clinic.pages()["plan_new"]
    key = key_of(signed_in(clinic.house.alice), address)
    fields = {"form_key": key, "lines": ["care.home.cold"], "cream": "Half typed"}
    kept = Client().post(address, fields)["Location"].split("kept%3D")[1]
    page = text_of(signed_in(clinic.house.alice).get(f"{address}?kept={kept}"))
    assert 'id="line-care.home.cold" checked' in page
    assert "Half typed" in page
