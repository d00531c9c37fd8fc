"""What one worker may use: answers with reasons, what is missing said first, and overrulings kept."""

from collections.abc import Callable

import pytest
from django.test import Client

from tests.conftest import NOW, TODAY, House
from tests.records.shelves import add, sensitise, stock
from tests.web.clinic_house import key_of, problems_of, send, text_of, words_of
from tests.web.shelved import Shelf, shelf
from thenar.knowledge import Book
from thenar.records.models import AuditRow, ImmediateAllergy, Overruling, User
from thenar.screens import clock

SignIn = Callable[[User], Client]


@pytest.fixture(autouse=True)
def _one_day(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: NOW)
    monkeypatch.setattr(clock, "today", lambda: TODAY)


@pytest.fixture
def ward(house: House, book: Book) -> Shelf:
    return shelf(house, book)


@pytest.fixture
def alice(ward: Shelf, signed_in: SignIn) -> Client:
    return signed_in(ward.house.alice)


def page_of(ward: Shelf) -> str:
    return f"/workers/{ward.house.wanda.ref}/products/"


def overrule_of(ward: Shelf) -> str:
    return f"{page_of(ward)}{ward.bad_soap.ref}/overrule/"


def pages_of(ward: Shelf) -> list[str]:
    worker = f"/workers/{ward.house.wanda.ref}"
    gloves = f"{worker}/gloves/"
    table = f"{page_of(ward)}?view=table"
    return [page_of(ward), table, overrule_of(ward), gloves, f"{gloves}?tier=examination", f"{worker}/list/"]


def make_immediate(ward: Shelf, allergen: str = "natural_rubber_latex") -> None:
    ImmediateAllergy.objects.create(
        worker=ward.house.wanda,
        allergen=allergen,
        severe=True,
        basis="letter",
        found_on=TODAY,
        edition="a test",
        at=NOW,
        by=ward.house.alice,
    )


def test_each_answer_stands_with_the_product_and_its_chain(ward: Shelf, alice: Client) -> None:
    page = words_of(alice.get(page_of(ward)))
    assert "Heron Wash S1 Avoid" in page
    assert "Curlew Wash S2 Cannot exclude" in page
    assert "Dunlin Rub R1 No match found" in page
    assert "The label names “Methylisothiazolinone”." in page
    assert "allergen.methylisothiazolinone" in page


def test_every_entry_of_a_chain_leads_to_its_rule(ward: Shelf, alice: Client) -> None:
    assert 'href="/rules/allergen.methylisothiazolinone/"' in text_of(alice.get(page_of(ward)))


def test_what_is_missing_is_said_first_with_the_nearest_elsewhere(ward: Shelf, alice: Client) -> None:
    page = words_of(alice.get(page_of(ward)))
    said = page.index("In Ward 1, nothing without a match")
    assert said < page.index("Soap In Ward 1")
    assert "Soap: Curlew Wash (nothing declared), Heron Wash (avoid). Nearest" in page
    assert "Nearest without a match: Plover Wash (Ward 2)" in page


def test_a_kind_with_something_to_use_is_not_called_missing(ward: Shelf, alice: Client) -> None:
    page = words_of(alice.get(page_of(ward)))
    assert "Hand rub In Ward 1" in page
    assert "Hand rub:" not in page


def test_what_stands_above_the_workers_area_serves_it_too(ward: Shelf, alice: Client, book: Book) -> None:
    hospital = ward.house.ward_1.parent
    assert hospital is not None
    stock(ward.house, book, ward.mild_soap, hospital)
    page = words_of(alice.get(page_of(ward)))
    assert "Soap In Ward 1 Plover Wash S3 No match found" in page
    assert "Soap:" not in page


def test_a_product_without_declaration_is_not_left_out(ward: Shelf, alice: Client) -> None:
    assert "Nothing is declared for it." in words_of(alice.get(page_of(ward)))


def test_without_an_allergy_no_product_gets_an_answer(ward: Shelf, signed_in: SignIn) -> None:
    page = words_of(signed_in(ward.house.alice).get(f"/workers/{ward.house.yusuf.ref}/products/"))
    assert "nothing to judge products by" in page
    assert "Heron Wash" not in page


def test_an_immediate_allergy_puts_the_emergency_note_first(ward: Shelf, alice: Client) -> None:
    make_immediate(ward)
    for address in pages_of(ward):
        page = words_of(alice.get(address))
        assert "Emergency note" in page
        assert "anaphylaxis" in page


def test_several_allergies_are_seen_side_by_side(ward: Shelf, alice: Client) -> None:
    sensitise(ward.house, ward.house.wanda, "formaldehyde")
    assert "As a table" in words_of(alice.get(page_of(ward)))
    page = words_of(alice.get(f"{page_of(ward)}?view=table"))
    # Columns: formaldehyde, methylisothiazolinone, in use. Its label is full and names only the second.
    assert "Heron Wash Ward 1 No match found Avoid Avoid" in page


def test_an_overruled_answer_shows_its_reason_wherever_the_answer_stands(ward: Shelf, alice: Client) -> None:
    reason = "Open use test for two weeks without reaction."
    answer = send(alice, overrule_of(ward), {"answer": "cannot exclude", "reason": reason})
    assert answer.status_code == 302  # type: ignore[attr-defined]
    kept = Overruling.objects.get()
    assert (kept.rules_say, kept.answer, kept.reason) == ("avoid", "cannot exclude", reason)
    page = words_of(alice.get(page_of(ward)))
    assert f"By Alice Example, 2 March 2026: {reason} The rules say: avoid." in page
    worker = f"/workers/{ward.house.wanda.ref}"
    assert reason in words_of(alice.get(f"{page_of(ward)}?view=table"))
    assert reason in words_of(alice.get(f"{worker}/list/"))


def test_an_answer_without_reason_is_asked_back_and_nothing_is_lost(ward: Shelf, alice: Client) -> None:
    answer = send(alice, overrule_of(ward), {"answer": "no match found", "reason": " "})
    assert "Say why" in problems_of(answer)
    assert 'value="no match found"' in text_of(answer)
    assert "checked" in text_of(answer)
    assert not Overruling.objects.exists()


def test_the_same_overruling_sent_twice_is_kept_once(ward: Shelf, alice: Client) -> None:
    fields = {"form_key": key_of(alice, overrule_of(ward)), "answer": "cannot exclude", "reason": "Tested."}
    for _ in range(2):
        assert alice.post(overrule_of(ward), fields).status_code == 302
    assert Overruling.objects.count() == 1


def test_what_declares_nothing_can_not_be_overruled(ward: Shelf, alice: Client) -> None:
    address = f"{page_of(ward)}{ward.bare_soap.ref}/overrule/"
    answer = send(alice, address, {"answer": "no match found", "reason": "Maker says so."})
    assert "Nothing is declared for this product." in words_of(answer)
    assert not Overruling.objects.exists()


def test_gloves_are_all_shown_with_what_is_not_known(ward: Shelf, alice: Client) -> None:
    add(ward.house, "G2", "glove", name="Ruff Sterile")
    asked = {"tier": "sterile", "chemical-1": "glutaral", "minutes-1": "10", "chemical-2": "toluene"}
    page = words_of(alice.get(f"/workers/{ward.house.wanda.ref}/gloves/", asked))
    assert "Knot Examination" in page
    assert "Ruff Sterile G2, not in stock" in page
    assert "Nothing is declared for it." in page
    assert "What the glove is made of is not known" in page
    assert page.count("think of an undyed cotton liner") == 1
    assert "Not what the task calls for" in page
    assert "No glove here fits" in page
    assert "No published time is known here for toluene" in page
    assert "“toluene” is not among the chemicals with published figures here" in page
    assert "“glutaral” is not among" not in page
    assert "glutaral; glutaraldehyde 2 to 3.4 %" in page
    assert "breakthrough.glutaraldehyde-2-to-3.4.nitrile" in page


def test_minutes_without_a_chemical_are_asked_back(ward: Shelf, alice: Client) -> None:
    asked = {"tier": "examination", "minutes-1": "10"}
    answer = alice.get(f"/workers/{ward.house.wanda.ref}/gloves/", asked)
    assert "Name the chemical" in problems_of(answer)


def test_no_page_ever_calls_a_product_safe(ward: Shelf, alice: Client, signed_in: SignIn) -> None:
    make_immediate(ward)
    for address in pages_of(ward):
        assert "safe" not in text_of(alice.get(address)).lower()
    assert "safe" not in text_of(signed_in(ward.house.wanda.user).get("/mine/products/")).lower()


@pytest.mark.parametrize("who", ["clara", "mona", "ada", "wanda"])
def test_nobody_else_may_not_even_the_worker_here(who: str, ward: Shelf, signed_in: SignIn) -> None:
    someone = ward.house.wanda.user if who == "wanda" else getattr(ward.house, who)
    for address in pages_of(ward):
        answer = signed_in(someone).get(address)
        assert answer.status_code == 403
        assert "Heron" not in words_of(answer)


def test_each_look_is_noted(ward: Shelf, alice: Client) -> None:
    for address in pages_of(ward):
        before = AuditRow.objects.filter(who="alice", worker_ref=ward.house.wanda.ref).count()
        assert alice.get(address).status_code == 200
        assert AuditRow.objects.filter(who="alice", worker_ref=ward.house.wanda.ref).count() == before + 1


def test_signed_out_leads_to_signing_in(ward: Shelf) -> None:
    for address in pages_of(ward):
        assert Client().get(address)["Location"].startswith("/sign-in/?next=")
