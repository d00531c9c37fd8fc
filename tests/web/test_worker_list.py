"""Lists given out: to the worker, for the wallet, to supplies; and the worker's own page in plain words."""

import io
import re
from collections.abc import Callable

import pypdf
import pytest
from django.test import Client
from pytest_django import Settings

from tests.conftest import NOW, TODAY, House
from tests.knowledge.test_reading_level import SHORT, grade, sentences, words
from tests.records.shelves import WITH_MIT, add, declare, sensitise, stock
from tests.web.clinic_house import key_of, problems_of, send, text_of, words_of
from tests.web.shelved import Shelf, shelf
from thenar.allergy.verdict_terms import Answer
from thenar.documents.clinical_words import clinical_words_in
from thenar.knowledge import Book
from thenar.records.actions.allergies import overrule
from thenar.records.models import AuditRow, IssuedList, Post, User
from thenar.screens import clock
from thenar.screens.mine.products import PLAIN

SignIn = Callable[[User], Client]


@pytest.fixture(autouse=True)
def _one_day(monkeypatch: pytest.MonkeyPatch, settings: Settings) -> None:
    monkeypatch.setattr(clock, "now", lambda: NOW)
    monkeypatch.setattr(clock, "today", lambda: TODAY)
    settings.OH_TELEPHONE = "extension 4000"
    settings.OH_EMAIL = "oh@saltmere.example"


@pytest.fixture
def ward(house: House, book: Book) -> Shelf:
    return shelf(house, book)


@pytest.fixture
def alice(ward: Shelf, signed_in: SignIn) -> Client:
    return signed_in(ward.house.alice)


@pytest.fixture
def wanda(ward: Shelf, signed_in: SignIn) -> Client:
    assert ward.house.wanda.user is not None
    return signed_in(ward.house.wanda.user)


def page_of(ward: Shelf) -> str:
    return f"/workers/{ward.house.wanda.ref}/list/"


def paper_of(client: Client, address: str) -> str:
    """The text of a PDF, without spaces."""
    answer = client.get(address)
    assert answer["Content-Type"] == "application/pdf"
    pages = pypdf.PdfReader(io.BytesIO(answer.content)).pages
    return re.sub(r"[\s\u200b]", "", "".join(page.extract_text() for page in pages)).casefold()


def plain(text: str) -> str:
    return "".join(text.casefold().split())


def given(client: Client, ward: Shelf, made_for: str) -> IssuedList:
    """One list given out by its form."""
    wanted = {"made_for": made_for}
    if made_for == "supplies":
        wanted |= {"products": [ward.rub.ref, ward.mild_soap.ref]}
    assert send(client, page_of(ward), wanted).status_code == 302  # type: ignore[attr-defined]
    return IssuedList.objects.latest("pk")


def test_the_page_names_every_name_of_what_is_avoided(ward: Shelf, alice: Client, book: Book) -> None:
    sensitise(ward.house, ward.house.wanda, "formaldehyde")
    page = words_of(alice.get(page_of(ward))).casefold()
    releasers = [one for one in book.allergens.allergens.values() if "formaldehyde" in one.releases]
    for one in (book.allergens.allergens["methylisothiazolinone"], *releasers):
        for name in (one.name, *one.inci, *one.synonyms, *one.cas):
            assert name.casefold() in page, name


def test_the_page_says_product_by_product_what_to_do_in_the_workers_area(ward: Shelf, alice: Client) -> None:
    page = words_of(alice.get(page_of(ward)))
    products = page[page.index("Products in Ward 1") : page.index("Ask supplies for products")]
    assert "Heron Wash S1 Do not use" in products
    assert "Curlew Wash S2 Ask first" in products
    assert "Dunlin Rub R1 Use" in products
    assert "Plover Wash" not in products


def test_whoever_has_two_posts_is_told_of_the_products_of_both(
    ward: Shelf, alice: Client, wanda: Client, book: Book
) -> None:
    house = ward.house
    Post.objects.create(worker=house.wanda, area=house.ward_2, role=house.nurse, from_on=TODAY)
    soap = add(house, "S9", name="Stint Wash")
    declare(house, book, soap, WITH_MIT)
    stock(house, book, soap, house.ward_2)
    page = words_of(alice.get(page_of(ward)))
    products = page[page.index("Products in Ward 2 and Ward 1") : page.index("Ask supplies for products")]
    for said in ("Heron Wash S1 Do not use", "Stint Wash S9 Do not use", "Plover Wash S3 Use"):
        assert said in products
    own = words_of(wanda.get("/mine/products/"))
    assert own.count("Do not use") == 2
    assert "Nurse on Ward 2, Nurse on Ward 1" in own
    kept = given(alice, ward, "worker")
    paper = paper_of(alice, f"/lists/{kept.ref}/list.pdf")
    assert "heronwash" in paper
    assert "stintwash" in paper


def test_no_list_says_to_use_what_may_hold_a_misprint_nobody_has_settled(
    ward: Shelf, alice: Client, book: Book
) -> None:
    soap = add(ward.house, "S8", name="Ruff Wash")
    declare(ward.house, book, soap, "Aqua, Methylisothiazolinome, Glycerin")
    stock(ward.house, book, soap, ward.house.ward_1)
    page = alice.get(page_of(ward))
    assert "Ruff Wash S8 Ask first" in words_of(page)
    assert f'id="supply-{soap.ref}"' not in text_of(page)
    compared = words_of(alice.get(f"/workers/{ward.house.wanda.ref}/products/"))
    assert "Is “Methylisothiazolinome” a misprint of Methylisothiazolinone?" in compared


def test_supplies_are_told_the_names_of_everyday_products(ward: Shelf, alice: Client, book: Book) -> None:
    cream = add(ward.house, "C8", "cream", name="Godwit hand cream")
    declare(ward.house, book, cream, "Aqua, Glycerin")
    send(alice, page_of(ward), {"made_for": "supplies", "products": [cream.ref]})
    kept = IssuedList.objects.get(made_for="supplies")
    assert "godwithandcream" in paper_of(alice, f"/lists/{kept.ref}/list.pdf")


def test_no_list_says_to_use_what_declares_nothing(
    ward: Shelf, alice: Client, wanda: Client, book: Book
) -> None:
    bare = add(ward.house, "G9", "glove", name="Ruff Glove")
    stock(ward.house, book, bare, ward.house.ward_1)
    page = text_of(alice.get(page_of(ward)))
    assert "Ruff Glove G9 Ask first" in words_of(alice.get(page_of(ward)))
    assert f'id="supply-{bare.ref}"' not in page
    assert "Ask first Ruff Glove We don't know what is in it." in words_of(wanda.get("/mine/products/"))


def test_the_list_is_given_out_as_it_stands_and_kept(ward: Shelf, alice: Client) -> None:
    kept = given(alice, ward, "worker")
    paper = paper_of(alice, f"/lists/{kept.ref}/list.pdf")
    for said in ("Wanda Example", "Heron Wash", "Do not use", "2682-20-4", "extension 4000"):
        assert plain(said) in paper
    assert "safe" not in paper
    assert "The worker's list of 2 March 2026" in words_of(alice.get(page_of(ward)))


def test_what_was_given_out_stays_as_it_was(ward: Shelf, alice: Client, book: Book) -> None:
    kept = given(alice, ward, "worker")
    before = paper_of(alice, f"/lists/{kept.ref}/list.pdf")
    stock(ward.house, book, ward.mild_soap, ward.house.ward_1)
    assert paper_of(alice, f"/lists/{kept.ref}/list.pdf") == before
    assert "plover" not in before


def test_an_overruled_answer_stands_on_the_list_with_its_reason(
    ward: Shelf, alice: Client, wanda: Client, book: Book
) -> None:
    reason = "Used for years; the maker left it out in May."
    overrule(
        worker=ward.house.wanda,
        declaration=ward.declared,
        answer=Answer.NO_MATCH_FOUND,
        reason=reason,
        book=book,
        by=ward.house.alice,
        now=NOW,
    )
    assert reason in words_of(alice.get(page_of(ward)))
    assert reason in words_of(wanda.get("/mine/products/"))
    kept = given(alice, ward, "worker")
    assert plain(reason) in paper_of(alice, f"/lists/{kept.ref}/list.pdf")


def test_the_card_is_given_out_too(ward: Shelf, alice: Client) -> None:
    kept = given(alice, ward, "wallet")
    paper = paper_of(alice, f"/lists/{kept.ref}/list.pdf")
    assert plain("Methylisothiazolinone") in paper
    assert "safe" not in paper


def test_supplies_are_told_products_and_nothing_of_health(ward: Shelf, alice: Client, book: Book) -> None:
    kept = given(alice, ward, "supplies")
    answer = alice.get(f"/lists/{kept.ref}/list.pdf")
    pages = pypdf.PdfReader(io.BytesIO(answer.content)).pages
    text = " ".join(page.extract_text() for page in pages)
    assert "S3" in text
    assert "Plover Wash" in text
    assert not clinical_words_in(text)
    said = f" {' '.join(re.findall('[a-z0-9]+', text.casefold()))} "
    for one in book.allergens.allergens.values():
        for name in (one.name, *one.inci, *one.synonyms, *one.cas):
            assert f" {' '.join(re.findall('[a-z0-9]+', name.casefold()))} " not in said, name
    assert "Wanda" not in text
    assert "1001" not in text
    assert "safe" not in text.lower()


def test_a_product_whose_name_could_tell_why_is_asked_for_by_its_code(
    ward: Shelf, alice: Client, book: Book
) -> None:
    telling = add(ward.house, "C7", "cream", name="Fragrance-free hand cream")
    declare(ward.house, book, telling, "Aqua, Glycerin")
    stock(ward.house, book, telling, ward.house.ward_1)
    assert "Listed by its code" in words_of(alice.get(page_of(ward)))
    send(alice, page_of(ward), {"made_for": "supplies", "products": [telling.ref]})
    kept = IssuedList.objects.get(made_for="supplies")
    paper = paper_of(alice, f"/lists/{kept.ref}/list.pdf")
    assert "c7" in paper
    assert "fragrance" not in paper


def test_a_code_that_could_tell_why_is_pointed_out(ward: Shelf, alice: Client, book: Book) -> None:
    telling = add(ward.house, "LATEX-FREE-2", "wipe", name="Godwit")
    declare(ward.house, book, telling, "Aqua, Glycerin")
    stock(ward.house, book, telling, ward.house.ward_1)
    sensitise(ward.house, ward.house.yusuf, "lanolin")
    page = words_of(alice.get(f"/workers/{ward.house.yusuf.ref}/list/"))
    assert "Its code could tell why" in page
    assert page.count("Its code could tell why") == 1


def test_only_products_without_a_match_are_offered_to_supplies(ward: Shelf, alice: Client) -> None:
    assert f'id="supply-{ward.bad_soap.ref}"' not in text_of(alice.get(page_of(ward)))
    answer = send(alice, page_of(ward), {"made_for": "supplies", "products": [ward.bad_soap.ref]})
    assert "another answer by now" in problems_of(answer)
    assert not IssuedList.objects.exists()


def test_where_a_kind_is_missing_the_nearest_is_ticked(ward: Shelf, alice: Client) -> None:
    page = text_of(alice.get(page_of(ward)))
    assert re.search(rf'id="supply-{ward.mild_soap.ref}" checked', page)


def test_supplies_learn_the_name_only_after_a_yes(ward: Shelf, alice: Client) -> None:
    wanted = {"made_for": "supplies", "products": [ward.rub.ref], "worker_agreed": "on"}
    send(alice, page_of(ward), wanted)
    kept = IssuedList.objects.get()
    assert "wandaexample" in paper_of(alice, f"/lists/{kept.ref}/list.pdf")


def test_gloves_are_not_asked_for_without_a_size(ward: Shelf, alice: Client) -> None:
    assert f'id="supply-{ward.glove.ref}"' in text_of(alice.get(page_of(ward)))
    wanted = {"made_for": "supplies", "products": [ward.glove.ref], f"amount-{ward.glove.ref}": "4"}
    answer = send(alice, page_of(ward), wanted)
    assert "Give the size of the gloves." in problems_of(answer)
    assert 'value="4"' in text_of(answer)
    send(alice, page_of(ward), {**wanted, "glove_size": "7.5"})
    assert plain("7.5") in paper_of(alice, f"/lists/{IssuedList.objects.get().ref}/list.pdf")


def test_a_day_that_has_passed_is_asked_back(ward: Shelf, alice: Client) -> None:
    answer = send(alice, page_of(ward), {"made_for": "worker", "valid_until": "1 March 2026"})
    assert "has passed" in problems_of(answer)
    assert not IssuedList.objects.exists()


def test_the_same_form_sent_twice_gives_out_one_list(ward: Shelf, alice: Client) -> None:
    fields = {"form_key": key_of(alice, page_of(ward)), "made_for": "worker"}
    for _ in range(2):
        assert alice.post(page_of(ward), fields).status_code == 302
    assert IssuedList.objects.count() == 1


def test_without_the_services_telephone_nothing_is_given_out(
    ward: Shelf, alice: Client, settings: Settings
) -> None:
    settings.OH_TELEPHONE = ""
    answer = send(alice, page_of(ward), {"made_for": "worker"})
    assert "contact is not set" in problems_of(answer)
    assert not IssuedList.objects.exists()


@pytest.mark.parametrize("who", ["clara", "mona", "ada", "wanda"])
def test_nobody_else_opens_a_list_by_the_practitioners_address(
    who: str, ward: Shelf, alice: Client, signed_in: SignIn
) -> None:
    kept = given(alice, ward, "worker")
    someone = ward.house.wanda.user if who == "wanda" else getattr(ward.house, who)
    assert signed_in(someone).get(f"/lists/{kept.ref}/list.pdf").status_code == 403


def test_the_worker_opens_their_own_lists_and_nobody_elses(
    ward: Shelf, alice: Client, wanda: Client, signed_in: SignIn
) -> None:
    lists = [given(alice, ward, made_for) for made_for in ("worker", "wallet", "supplies")]
    page = text_of(wanda.get("/mine/products/"))
    for kept in lists:
        address = f"/mine/lists/{kept.ref}/list.pdf"
        assert address in page
        assert paper_of(wanda, address)
        assert signed_in(ward.house.yusuf.user).get(address).status_code == 404


def test_the_worker_reads_what_to_use_and_why(ward: Shelf, wanda: Client) -> None:
    page = words_of(wanda.get("/mine/products/"))
    assert "Do not use Heron Wash Its label names something you react to: Methylisothiazolinone" in page
    assert "Ask first Curlew Wash We don't know what is in it. Ask us first." in page
    assert "Use Dunlin Rub We found no name on its label that you react to." in page
    assert "None of these is one to use. Ask us for another." in page
    assert "2682-20-4" in page
    assert "extension 4000" in page


def test_the_workers_look_is_noted_as_their_own(ward: Shelf, wanda: Client) -> None:
    wanda.get("/mine/products/")
    assert AuditRow.objects.filter(event="own allergies looked at", who="wanda").count() == 1


def test_without_an_allergy_nothing_reassures(ward: Shelf, signed_in: SignIn) -> None:
    page = words_of(signed_in(ward.house.yusuf.user).get("/mine/products/"))
    assert "we have not checked any product" in page
    assert "Wash" not in page


@pytest.mark.parametrize("said", PLAIN.values())
def test_the_workers_page_is_short_and_plain(said: str) -> None:
    """As tests/knowledge/test_reading_level.py holds for advice: 20 words a sentence, US grade 6 at most."""
    for sentence in sentences(said):
        assert len(words(sentence)) <= 20, sentence
    if len(words(said)) >= SHORT:
        assert grade(said) <= 6, said
