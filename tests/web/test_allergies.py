"""A worker's allergies on screen: delayed and immediate apart, by hand, withdrawn with a reason."""

import re
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

from tests.conftest import NOW, TODAY, House
from tests.records.shelves import MIT, WITH_MIT, add, declare, sensitise, stock
from tests.web.clinic_house import problems_of, send, text_of, words_of
from thenar.knowledge import Book
from thenar.records.actions.allergies import set_down_immediate, withdraw_allergy
from thenar.records.models import (
    AccessRole,
    AllergyWithdrawal,
    AuditRow,
    GloveSize,
    ImmediateAllergy,
    ProductConcern,
    Sensitisation,
    User,
)
from thenar.screens import clock

SignIn = Callable[[User], Client]


@pytest.fixture(autouse=True)
def _one_day(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: NOW)
    monkeypatch.setattr(clock, "today", lambda: TODAY)


@pytest.fixture
def alice(house: House, signed_in: SignIn) -> Client:
    return signed_in(house.alice)


@pytest.fixture
def mit(house: House) -> Sensitisation:
    return sensitise(house, house.wanda)


def of_wanda(house: House, then: str = "") -> str:
    return f"/workers/{house.wanda.ref}/allergies/{then}"


def pages(house: House, mit: Sensitisation) -> dict[str, str]:
    return {
        "allergies": of_wanda(house),
        "add": of_wanda(house, "add/"),
        "immediate": of_wanda(house, "immediate/"),
        "withdraw": f"/allergies/{mit.ref}/withdraw/",
    }


PAGES = ("allergies", "add", "immediate", "withdraw")


@pytest.mark.parametrize("page", PAGES)
@pytest.mark.parametrize("who", ["clara", "mona", "ada", "wanda"])
def test_nobody_but_the_practitioner_may(
    who: str, page: str, house: House, mit: Sensitisation, signed_in: SignIn
) -> None:
    someone = house.wanda.user if who == "wanda" else getattr(house, who)
    response = signed_in(someone).get(pages(house, mit)[page])
    assert response.status_code == 403
    assert "isothiazolinone" not in words_of(response)


@pytest.mark.parametrize("page", PAGES)
def test_ones_own_reads_like_one_that_is_not_there(
    page: str, house: House, mit: Sensitisation, signed_in: SignIn
) -> None:
    own = house.wanda.user
    assert own is not None
    own.access = AccessRole.PRACTITIONER
    own.save()
    address = pages(house, mit)[page]
    ref = address.strip("/").split("/")[1]
    hidden, absent = (signed_in(own).get(one) for one in (address, address.replace(ref, "a" * 12)))
    assert (hidden.status_code, absent.status_code) == (404, 404)
    assert words_of(hidden) == words_of(absent)


def test_a_lead_reads_and_does_not_write(house: House, mit: Sensitisation, signed_in: SignIn) -> None:
    house.bob.access = AccessRole.LEAD
    house.bob.save()
    lead = signed_in(house.bob)
    page = lead.get(of_wanda(house))
    assert "Methylisothiazolinone" in words_of(page)
    assert 'name="form_key"' not in text_of(page)
    assert lead.post(of_wanda(house), {"size": "7"}).status_code == 403
    for then in ("add", "immediate", "withdraw"):
        assert lead.get(pages(house, mit)[then]).status_code == 403


def test_delayed_and_immediate_stand_apart_with_what_they_rest_on(
    house: House, book: Book, mit: Sensitisation, alice: Client
) -> None:
    latex(house, book, severe=True)
    page = text_of(alice.get(of_wanda(house)))
    delayed, at_once = (
        re.search(rf'<section aria-labelledby="{name}">.*?</section>', page, re.DOTALL)
        for name in ("delayed", "at-once")
    )
    assert delayed is not None
    assert at_once is not None
    assert "Methylisothiazolinone" in delayed.group()
    assert "A letter from another clinic" in delayed.group()
    assert "latex" not in delayed.group()
    assert "latex" in at_once.group()
    assert "A prick test" in at_once.group()
    assert "with a reaction of the whole body" in page


def latex(house: House, book: Book, *, severe: bool) -> ImmediateAllergy:
    return set_down_immediate(
        worker=house.wanda,
        allergen="natural_rubber_latex",
        severe=severe,
        basis="prick",
        found_on=TODAY,
        note_text="",
        book=book,
        by=house.alice,
        now=NOW,
    )


def test_none_on_record_is_not_called_none(house: House, alice: Client) -> None:
    words = words_of(alice.get(of_wanda(house)))
    assert "That nobody knows of one is not that there is none" in words
    assert "safe" not in words.lower()


def delayed(alice: Client, house: House, **more: Any) -> object:
    given = {
        "allergen": "Methylisothiazolinone",
        "strength": "++",
        "basis": "letter",
        "found_on": "2 March 2026",
    }
    return send(alice, of_wanda(house, "add/"), {**given, **more})


def test_one_is_set_down_by_hand_under_any_of_its_names(house: House, alice: Client) -> None:
    # 2682-20-4 is the CAS number of methylisothiazolinone
    assert delayed(alice, house, allergen="2682-20-4").status_code == 302  # type: ignore[attr-defined]
    kept = Sensitisation.objects.get()
    assert (kept.allergen, kept.strength, kept.basis, kept.test) == (MIT, "++", "letter", None)


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({"allergen": "Moonlight"}, "no allergen that is known here"),
        ({"allergen": "Methylisothiazolinon"}, "“Methylisothiazolinone”?"),  # told, never taken
        ({"allergen": "latex"}, "Is it “Natural rubber latex proteins (type I)”"),
        ({"basis": ""}, "Choose what it rests on"),
        ({"basis": "patch_test"}, "Choose the patch test"),
        ({"strength": "?+"}, "Say in the note why it counts"),
        ({"found_on": "3 March 2026"}, "has not come yet"),
        ({"strength": "++++"}, "++++"),
    ],
)
def test_what_cannot_be_set_down_is_asked_back_and_what_was_typed_stays(
    more: dict[str, str], says: str, house: House, alice: Client
) -> None:
    response = delayed(alice, house, **more)
    assert says in problems_of(response)
    assert more.get("allergen", "Methylisothiazolinone") in text_of(response)
    assert not Sensitisation.objects.exists()


def test_the_same_one_twice_is_refused(house: House, mit: Sensitisation, alice: Client) -> None:
    assert "already on the worker's record" in problems_of(delayed(alice, house))
    assert Sensitisation.objects.get() == mit


def test_one_newly_set_down_raises_what_to_avoid_at_work(house: House, book: Book, alice: Client) -> None:
    soap = add(house)
    declare(house, book, soap, WITH_MIT)
    stock(house, book, soap, house.ward_1)
    delayed(alice, house)
    assert ProductConcern.objects.get().because == "allergy"


def test_whether_the_whole_body_reacted_must_be_said(house: House, alice: Client) -> None:
    address = of_wanda(house, "immediate/")
    given = {
        "allergen": "Natural rubber latex proteins (type I)",
        "basis": "prick",
        "found_on": "2 March 2026",
        "note": "Typed",
    }
    response = send(alice, address, given)
    assert "If nobody knows, choose yes" in problems_of(response)
    assert "Typed" in text_of(response)
    assert not ImmediateAllergy.objects.exists()
    send(alice, address, {**given, "severe": "yes"})
    assert ImmediateAllergy.objects.get().severe


def test_what_causes_only_delayed_allergy_is_not_taken_for_an_immediate_one(
    house: House, alice: Client
) -> None:
    given = {
        "allergen": "Methylisothiazolinone",
        "severe": "no",
        "basis": "prick",
        "found_on": "2 March 2026",
    }
    response = send(alice, of_wanda(house, "immediate/"), given)
    assert "not known here as a cause of immediate allergy" in problems_of(response)
    assert not ImmediateAllergy.objects.exists()


def test_it_is_withdrawn_with_a_reason_and_stays_to_be_read(
    house: House, mit: Sensitisation, alice: Client
) -> None:
    address = f"/allergies/{mit.ref}/withdraw/"
    assert "Say why" in problems_of(send(alice, address, {"reason": " "}))
    assert not AllergyWithdrawal.objects.exists()
    send(alice, address, {"reason": "The letter was of somebody else."})
    words = words_of(alice.get(of_wanda(house)))
    assert "None on record" in words
    assert "Withdrawn" in words
    assert "The letter was of somebody else." in words
    assert "Methylisothiazolinone" in words


def test_an_immediate_one_is_withdrawn_the_same_way(house: House, book: Book, alice: Client) -> None:
    kept = latex(house, book, severe=False)
    send(alice, f"/allergies/{kept.ref}/withdraw/", {"reason": "Specific IgE and prick test were negative."})
    assert AllergyWithdrawal.objects.get().immediate == kept


def test_what_was_withdrawn_shows_no_form(house: House, mit: Sensitisation, alice: Client) -> None:
    withdraw_allergy(allergy=mit, reason="Somebody else's letter.", by=house.alice, now=NOW)
    page = text_of(alice.get(f"/allergies/{mit.ref}/withdraw/"))
    assert 'name="reason"' not in page
    assert "Somebody else" in page


def test_the_glove_size_is_kept_and_shown(house: House, alice: Client) -> None:
    assert "Give the size" in problems_of(send(alice, of_wanda(house), {"size": ""}))
    send(alice, of_wanda(house), {"size": "7.5"})
    assert GloveSize.objects.get().size == "7.5"
    assert 'value="7.5"' in text_of(alice.get(of_wanda(house)))


def test_a_weak_reaction_to_an_irritant_preparation_is_marked_to_be_confirmed(
    house: House, book: Book, alice: Client
) -> None:
    irritant = next(one for one in book.allergens.allergens.values() if one.irritant_preparation)
    kept = sensitise(house, house.wanda, irritant.id)
    assert "Confirm it" not in words_of(alice.get(of_wanda(house)))
    Sensitisation.objects.create(
        worker=house.yusuf,
        allergen=irritant.id,
        strength="+",
        basis="letter",
        found_on=TODAY,
        edition=kept.edition,
        at=NOW,
        by=house.alice,
    )
    assert "Confirm it" in words_of(alice.get(f"/workers/{house.yusuf.ref}/allergies/"))


def test_the_worker_page_tells_what_stands_and_leads_on(
    house: House, book: Book, mit: Sensitisation, alice: Client
) -> None:
    latex(house, book, severe=True)
    before = AuditRow.objects.count()
    page = alice.get(f"/workers/{house.wanda.ref}/")
    assert "reaction of the whole body" in words_of(page)
    assert "Methylisothiazolinone" in words_of(page)
    for then in ("allergies", "products", "list"):
        assert f'href="/workers/{house.wanda.ref}/{then}/"' in text_of(page)
    assert AuditRow.objects.count() == before + 1
    assert Sensitisation.objects.get() == mit
