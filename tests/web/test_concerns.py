"""Products that may not suit someone: on Today, and each on a page that says why and what was done."""

from collections.abc import Callable

import pytest
from django.test import Client

from tests.conftest import NOW, TODAY, House
from tests.records.shelves import MILD, WITH_MIT, add, declare, sensitise, sensitised, stock
from tests.web.clinic_house import problems_of, send, text_of, words_of
from thenar.knowledge import Book
from thenar.records.actions.allergies import withdraw_allergy
from thenar.records.models import AccessRole, AuditRow, ConcernOutcome, ProductConcern, User
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
def raised(house: House, book: Book) -> ProductConcern:
    """Wanda should not use the ward's soap any more."""
    sensitise(house, house.wanda)
    soap = add(house, "S1", name="Ward soap")
    declare(house, book, soap, MILD)
    stock(house, book, soap, house.ward_1)
    declare(house, book, soap, WITH_MIT)
    return ProductConcern.objects.get()


def page_of(concern: ProductConcern) -> str:
    return f"/concerns/{concern.ref}/"


def test_a_changed_soap_brings_three_workers_to_today(house: House, book: Book, alice: Client) -> None:
    for number, name in enumerate(("Uma", "Vera", "Will"), 2001):
        sensitised(house, name, str(number), house.ward_1)
    sensitised(house, "Xena", "2004", house.ward_2)
    soap = add(house, "S1", name="Ward soap")
    declare(house, book, soap, MILD)
    stock(house, book, soap, house.ward_1)
    assert "Products that may not suit someone" not in words_of(alice.get("/today/"))
    declare(house, book, soap, WITH_MIT)
    page = alice.get("/today/")
    assert "3 products that may not suit someone" in words_of(page)
    assert text_of(page).count('href="/concerns/') == 3
    for name in ("Uma", "Vera", "Will"):
        assert f"{name} Example" in words_of(page)
    assert "Xena" not in words_of(page)


@pytest.mark.parametrize("who", ["clara", "mona", "ada", "wanda"])
def test_nobody_else_may(who: str, house: House, raised: ProductConcern, signed_in: SignIn) -> None:
    someone = house.wanda.user if who == "wanda" else getattr(house, who)
    response = signed_in(someone).get(page_of(raised))
    assert response.status_code == 403
    assert "Ward soap" not in words_of(response)


def test_ones_own_reads_like_one_that_is_not_there(
    house: House, raised: ProductConcern, signed_in: SignIn
) -> None:
    own = house.wanda.user
    assert own is not None
    own.access = AccessRole.PRACTITIONER
    own.save()
    hidden, absent = (signed_in(own).get(one) for one in (page_of(raised), f"/concerns/{'a' * 12}/"))
    assert (hidden.status_code, absent.status_code) == (404, 404)
    assert words_of(hidden) == words_of(absent)
    assert "Ward soap" not in words_of(signed_in(own).get("/today/"))


def test_it_says_who_which_product_and_why_as_a_chain(
    house: House, raised: ProductConcern, alice: Client
) -> None:
    page = alice.get(page_of(raised))
    words = words_of(page)
    assert "Ward soap may not suit Wanda Example" in words
    assert "Its declaration changed" in words
    assert "Answer before No match found Answer when raised Avoid" in words
    assert "The label names “Methylisothiazolinone”." in words
    assert 'href="/rules/allergen.methylisothiazolinone/"' in text_of(page)
    assert "no answer here calls a product safe" in words
    row = AuditRow.objects.get(event="concern looked at")
    assert (row.who, row.target, row.worker_ref) == ("alice", raised.ref, house.wanda.ref)


def test_it_names_what_else_of_the_kind_has_no_match_and_nothing_of_another_kind(
    house: House, book: Book, raised: ProductConcern, alice: Client
) -> None:
    assert "Nothing of this kind that is in stock somewhere has no match" in words_of(
        alice.get(page_of(raised))
    )
    for code, kind, text, area in (
        ("S2", "soap", MILD, house.ward_1),
        ("S3", "soap", MILD, house.ward_2),
        ("S4", "soap", WITH_MIT, house.ward_2),
        ("S5", "soap", WITH_MIT, house.ward_1),
        ("C1", "cream", MILD, house.ward_1),
    ):
        product = add(house, code, kind)
        declare(house, book, product, text)
        stock(house, book, product, area)
    words = words_of(alice.get(page_of(raised)))
    assert "Product S2 , here" in words
    assert "Product S3 , Ward 2" in words
    assert "Product S4" not in words
    assert "Product S5" not in words
    assert "Product C1" not in words


def test_it_waits_until_somebody_says_what_was_done(raised: ProductConcern, alice: Client) -> None:
    response = send(alice, page_of(raised), {"note": "Typed before"})
    assert "Choose what was done" in problems_of(response)
    assert "Typed before" in text_of(response)
    assert raised.ref in text_of(alice.get("/today/"))
    done = send(alice, page_of(raised), {"outcome": "told", "note": "Has soft wash now."})
    assert done["Location"] == "/today/"  # type: ignore[index]
    assert ConcernOutcome.objects.get().note == "Has soft wash now."
    assert raised.ref not in text_of(alice.get("/today/"))
    words = words_of(alice.get(page_of(raised)))
    assert "Dealt with" in words
    assert "Has soft wash now." in words


def test_one_dealt_with_meanwhile_is_not_dealt_with_again(
    raised: ProductConcern, house: House, alice: Client, signed_in: SignIn
) -> None:
    bob = signed_in(house.bob)
    for client, note in ((alice, "first"), (bob, "second")):
        key = text_of(client.get("/today/"))
        assert key
        send_unseen(client, raised, note)
    assert ConcernOutcome.objects.get().note == "first"


def send_unseen(client: Client, concern: ProductConcern, note: str) -> None:
    """From a page opened before anyone had dealt with it."""
    from thenar.screens.keeping import new_form_key

    user = User.objects.get(pk=client.session["_auth_user_id"])
    client.post(page_of(concern), {"form_key": new_form_key(user), "outcome": "told", "note": note})


def test_a_lead_reads_and_deals_with_nothing(raised: ProductConcern, house: House, signed_in: SignIn) -> None:
    house.bob.access = AccessRole.LEAD
    house.bob.save()
    lead = signed_in(house.bob)
    assert 'name="form_key"' not in text_of(lead.get(page_of(raised)))
    assert lead.post(page_of(raised), {"outcome": "told"}).status_code == 403
    assert not ConcernOutcome.objects.exists()


def test_an_allergy_withdrawn_since_is_told_and_the_concern_still_waits(
    raised: ProductConcern, house: House, alice: Client
) -> None:
    withdraw_allergy(
        allergy=house.wanda.sensitisations.get(), reason="Somebody else's letter.", by=house.alice, now=NOW
    )
    words = words_of(alice.get(page_of(raised)))
    assert "nothing speaks against it any more" in words
    assert "Waits" in words
