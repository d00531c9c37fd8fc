"""A list of products on screen: read in, looked through, kept or thrown away."""

from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from tests.conftest import NOW, TODAY, House
from tests.records.shelves import MILD, add, declare, sensitise, stock
from tests.web.clinic_house import key_of, problems_of, text_of, words_of
from thenar.knowledge import Book
from thenar.records.models import KeptTyping, Product, ProductConcern, ProductDeclaration, Stock, User
from thenar.screens import clock

SignIn = Callable[[User], Client]
DAY = timedelta(days=1)
HEAD = "Code;Name;Kind of product;Kind of list;Ingredients;From;Areas;Cost a worker\n"
SOAP = 'S1;Product S1;soap;full ingredient list;"Aqua, Glycerin, Methylisothiazolinone";;Ward 1;7.10\n'
CREAM = 'C1;Dune cream;cream;full ingredient list;"Aqua, Paraffinum Liquidum";2026-03-09;;\n'


@pytest.fixture(autouse=True)
def _one_day(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: NOW)
    monkeypatch.setattr(clock, "today", lambda: TODAY)


@pytest.fixture
def alice(house: House, signed_in: SignIn) -> Client:
    return signed_in(house.alice)


@pytest.fixture
def soap(house: House, book: Book) -> Product:
    """A soap in Ward 1, where Wanda reacts to what the list will make it declare."""
    soap = add(house)
    declare(house, book, soap, MILD, from_on=TODAY - DAY)
    stock(house, book, soap, house.ward_1, TODAY - DAY)
    sensitise(house, house.wanda)
    return soap


def read_in(client: Client, text: str | bytes, name: str = "products.csv") -> object:
    raw = text.encode() if isinstance(text, str) else text
    key = key_of(client, "/products/import/")
    return client.post(
        "/products/import/", {"form_key": key, "file": SimpleUploadedFile(name, raw)}, follow=True
    )


def decide(client: Client, shown: object, do: str, **other: str) -> object:
    page, address = text_of(shown), shown.redirect_chain[-1][0]  # type: ignore[attr-defined]
    return client.post(address, {**hidden(page), "do": do, **other}, follow=True)


def hidden(page: str) -> dict[str, str]:
    decision = page[page.index('id="decide"') :]
    return {
        name: decision.split(f'name="{name}" value="', 1)[1].split('"', 1)[0]
        for name in ("form_key", "digest")
    }


def test_a_dry_run_shows_what_would_change_and_changes_nothing(soap: Product, alice: Client) -> None:
    page = words_of(read_in(alice, HEAD + SOAP + CREAM))
    assert "1 new products not kept until now 1 declare something else another list, or other facts" in page
    assert "Added Methylisothiazolinone Gone Sodium Laureth Sulfate Citric Acid" in page
    assert "Dune cream C1, cream Full ingredient list Aqua, Paraffinum Liquidum nowhere no price" in page
    assert "Product S1 S1 7.10 0" in page
    assert "products.csv" in page
    assert Product.objects.count() == ProductDeclaration.objects.count() == 1
    assert not ProductConcern.objects.exists()


def test_a_list_that_is_kept_is_kept_whole_and_raises_whom_it_concerns(soap: Product, alice: Client) -> None:
    reply = decide(alice, read_in(alice, HEAD + SOAP + CREAM), "take over")
    assert "The list was taken over." in words_of(reply)
    assert Product.objects.get(code="C1").declarations.get().from_on == TODAY + 7 * DAY
    assert soap.prices.get().per_worker_year == Decimal("7.10")
    assert ProductConcern.objects.get().product == soap
    assert Stock.objects.count() == 1
    assert not KeptTyping.objects.exists()


def test_a_list_that_is_thrown_away_leaves_nothing(soap: Product, alice: Client) -> None:
    shown = read_in(alice, HEAD + SOAP)
    reply = decide(alice, shown, "throw away")
    assert "Nothing of it was taken over." in words_of(reply)
    assert ProductDeclaration.objects.count() == 1
    assert not KeptTyping.objects.exists()
    assert alice.get(shown.redirect_chain[-1][0]).status_code == 404  # type: ignore[attr-defined]


def test_taking_over_twice_takes_over_once(soap: Product, alice: Client) -> None:
    shown = read_in(alice, HEAD + SOAP + CREAM)
    for _ in range(2):
        assert "The list was taken over." in words_of(decide(alice, shown, "take over"))
    assert Product.objects.count() == 2
    assert ProductDeclaration.objects.count() == 3


def test_what_changed_since_it_was_shown_is_shown_again_before_anything_happens(
    soap: Product, alice: Client, house: House, book: Book
) -> None:
    shown = read_in(alice, HEAD + SOAP)
    declare(house, book, soap, "Aqua")
    reply = decide(alice, shown, "take over")
    assert "Products have changed since this was shown to you." in problems_of(reply)
    assert "Added Glycerin Methylisothiazolinone" in words_of(reply)
    assert ProductDeclaration.objects.count() == 2
    shown.redirect_chain.append((reply.request["PATH_INFO"], 200))  # type: ignore[attr-defined]
    shown.content = reply.content  # type: ignore[attr-defined]
    assert "The list was taken over." in words_of(decide(alice, shown, "take over"))


def test_problems_are_named_by_line_and_column_and_stand_in_the_way(soap: Product, alice: Client) -> None:
    shown = read_in(alice, HEAD + SOAP.replace(";soap;", ";soup;") + CREAM.replace(";;\n", ";;=1+1\n"))
    page = words_of(shown)
    assert "It can’t be taken over yet" in page
    assert "Line 2 Kind of product" in page.replace("2 Kind", "Line 2 Kind")
    assert "This is no kind of product known here." in page
    assert "Cost a worker The cell begins like a formula." in page
    assert "Take the list over" not in page
    assert "problems to put right" in problems_of(decide(alice, shown, "take over"))
    assert Product.objects.count() == 1


def test_a_list_that_changes_nothing_says_so(soap: Product, alice: Client) -> None:
    page = words_of(read_in(alice, f'{HEAD}S1;Product S1;soap;full ingredient list;"{MILD}";;Ward 1;\n'))
    assert "The list changes nothing." in page
    assert "Take the list over" not in page


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "The file is empty."),
        (b"\x89PNG\r\n\x1a\n" + b"\x00" * 50, "is a picture, not a table"),
        (b"Code;Name\x00;Kind", "NUL"),
        (b"x" * 20_000_001, "20.0 MB; at most 20 MB are read"),
    ],
)
def test_a_file_that_is_no_list_is_refused_at_once(text: str | bytes, says: str, alice: Client) -> None:
    assert says in problems_of(read_in(alice, text))
    assert not KeptTyping.objects.exists()


def test_ten_megabytes_in_a_cell_are_named_by_their_line(alice: Client) -> None:
    long = f'S1;A soap;soap;full ingredient list;"{"Aqua, " * 1_700_000}";;;\n'
    page = words_of(read_in(alice, HEAD + long))
    assert "It can’t be taken over yet" in page
    assert "more than any label" in page or "at most 100,000 are read" in page
    assert not Product.objects.exists()


def test_no_file_is_a_message(alice: Client) -> None:
    reply = alice.post("/products/import/", {"form_key": key_of(alice, "/products/import/")})
    assert "Choose the file first." in problems_of(reply)


def test_a_colleague_does_not_find_the_file(alice: Client, house: House, signed_in: SignIn) -> None:
    shown = read_in(alice, HEAD + CREAM)
    address = shown.redirect_chain[-1][0]  # type: ignore[attr-defined]
    bob = signed_in(house.bob)
    assert bob.get(address).status_code == 404
    key = key_of(bob, "/products/new/")
    assert bob.post(address, {"form_key": key, "do": "take over", "digest": "x"}).status_code == 404
    assert not Product.objects.exists()


def test_a_file_is_not_kept_for_longer_than_twelve_hours(
    alice: Client, house: House, signed_in: SignIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    address = read_in(alice, HEAD + CREAM).redirect_chain[-1][0]  # type: ignore[attr-defined]
    monkeypatch.setattr(clock, "now", lambda: NOW + timedelta(hours=13))
    assert signed_in(house.alice).get(address).status_code == 404


def test_a_page_sent_without_a_choice_or_a_key_changes_nothing(alice: Client) -> None:
    shown = read_in(alice, HEAD + CREAM)
    assert "sent without a choice" in problems_of(decide(alice, shown, ""))
    assert "lost its key" in problems_of(decide(alice, shown, "take over", form_key=""))
    assert not Product.objects.exists()


def test_only_the_first_of_each_kind_are_shown_until_all_are_asked_for(alice: Client) -> None:
    many = "".join(f"C{number};Cream {number};cream;nothing declared;;;;\n" for number in range(60))
    shown = read_in(alice, HEAD + many)
    assert "Cream 49" in words_of(shown)
    assert "Cream 50" not in words_of(shown)
    address = shown.redirect_chain[-1][0]  # type: ignore[attr-defined]
    assert "Cream 59" in words_of(alice.get(f"{address}?all=1"))
