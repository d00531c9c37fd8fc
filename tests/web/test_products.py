"""Products on screen: what they declare as read, how that is kept, stock, price, and who sees people."""

import re
import time
from collections.abc import Callable
from datetime import timedelta

import pytest
from django.test import Client

from tests.conftest import NOW, TODAY, House, make_user, make_worker
from tests.records.shelves import FULL, MILD, WITH_MIT, add, declare, sensitise, sensitised, stock
from tests.web.clinic_house import key_of, problems_of, send, text_of, words_of
from thenar.allergy.declared import ListKind
from thenar.allergy.product import GloveFacts
from thenar.knowledge import Book
from thenar.records.actions.allergies import withdraw_allergy
from thenar.records.judging import as_product
from thenar.records.models import (
    AccessRole,
    AuditRow,
    Product,
    ProductConcern,
    ProductDeclaration,
    ProductPrice,
    ReadingAccepted,
    Sensitisation,
    Stock,
    User,
)
from thenar.screens import clock
from thenar.screens.products.differences import as_declared, difference
from thenar.screens.products.marking import ALLERGEN, MAY_NAME, UMBRELLA, UNREAD, Marked, mark
from thenar.screens.products.wording import CANNOT_TELL, WHAT_IT_IS

SignIn = Callable[[User], Client]
DAY = timedelta(days=1)
BOTTLE = (
    "Ingredients: Aqua/Eau, Parfum, Methylisothiazolinone, DMDM Hydantoin, Methylchloroisothiazolinon, "
    "Glycerin, \ufffd\ufffd [+/- CI 77891]"
)


@pytest.fixture(autouse=True)
def _one_day(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: NOW)
    monkeypatch.setattr(clock, "today", lambda: TODAY)


@pytest.fixture
def alice(house: House, signed_in: SignIn) -> Client:
    return signed_in(house.alice)


@pytest.fixture
def ingrid(house: House, signed_in: SignIn) -> Client:
    """The infection-prevention lead."""
    return signed_in(make_user("Ingrid", AccessRole.INFECTION_PREVENTION))


@pytest.fixture
def soap(house: House, book: Book) -> Product:
    """A soap in Ward 1, where Wanda reacts to what it names."""
    soap = add(house)
    declare(house, book, soap, BOTTLE, from_on=TODAY - DAY)
    stock(house, book, soap, house.ward_1, TODAY - DAY)
    sensitise(house, house.wanda)
    return soap


def page_of(product: Product, what: str = "") -> str:
    return f"/products/{product.ref}/{what}"


def marked(text: str, book: Book, house: House, **other: object) -> Marked:
    product = add(house, "M1")
    return mark(as_product(declare(house, book, product, text, **other), book), book)


# ---- The declaration as read


def test_the_pieces_of_a_marked_text_are_the_text(house: House, book: Book) -> None:
    assert "".join(piece.text for piece in marked(BOTTLE, book, house).pieces) == BOTTLE


def test_what_names_an_allergen_what_hides_one_and_what_was_not_read_are_told_apart(
    house: House, book: Book
) -> None:
    kinds = {piece.text: piece.kind for piece in marked(BOTTLE, book, house).pieces}
    assert kinds["Methylisothiazolinone"] == kinds["DMDM Hydantoin"] == ALLERGEN
    assert kinds["Parfum"] == UMBRELLA
    assert kinds["\ufffd\ufffd"] == UNREAD
    assert kinds["Glycerin"] == kinds["Methylchloroisothiazolinon"] == "ingredient"
    assert kinds["Ingredients"] == "remark"


def test_every_mark_has_its_note_and_every_note_its_mark(house: House, book: Book) -> None:
    shown = marked(BOTTLE, book, house)
    numbers = [number for piece in shown.pieces for number in piece.notes]
    assert sorted(set(numbers)) == [note.number for note in shown.notes] == list(range(1, len(numbers) + 1))
    for piece in shown.pieces:
        assert bool(piece.notes) == (piece.kind in (ALLERGEN, UMBRELLA, UNREAD))


def test_where_a_comma_may_be_lost_the_text_may_name_an_allergen_and_no_more(
    house: House, book: Book
) -> None:
    shown = marked("Aqua, Moonwater Propylparaben", book, house)
    assert {piece.text: piece.kind for piece in shown.pieces}["Moonwater Propylparaben"] == MAY_NAME
    assert shown.notes[0].title.startswith("May name")


def test_an_ingredient_named_twice_has_one_note(house: House, book: Book) -> None:
    shown = marked("Methylisothiazolinone, Aqua, MIT", book, house)
    assert [note.title for note in shown.notes] == ["Methylisothiazolinone"]
    assert [piece.notes for piece in shown.pieces if piece.kind == ALLERGEN] == [(1,), (1,)]


def test_an_ingredient_with_a_lost_character_in_it_bears_its_note_once(house: House, book: Book) -> None:
    text = "Ethanol | 64-17-5 | \ufffd | 70 %\nButanone | 78-93-3"
    shown = marked(text, book, house, list_kind="safety data sheet")
    ethanol = next(note.number for note in shown.notes if note.title == "Ethanol")
    assert [piece.kind for piece in shown.pieces if piece.text == "\ufffd"] == [UNREAD]
    assert sum(ethanol in piece.notes for piece in shown.pieces) == 1


def test_a_note_says_group_what_is_given_off_and_the_source_of_each(house: House, book: Book) -> None:
    note = marked("Aqua, DMDM Hydantoin", book, house).notes[0]
    assert note.told[0].says.startswith("Group: formaldehyde releaser.")
    assert [one.says for one in note.told if "Gives off" in one.says] == ["Gives off Formaldehyde."]
    assert all(one.source_label and one.url for one in note.told)


def test_the_product_page_shows_the_text_marked_with_its_notes(soap: Product, alice: Client) -> None:
    page = text_of(alice.get(page_of(soap)))
    assert '<mark class="is-allergen">Methylisothiazolinone</mark><sup><a href="#note-2"' in page
    assert '<mark class="is-umbrella">Parfum</mark>' in page
    assert '<span class="is-unread">\ufffd\ufffd</span>' in page
    assert 'id="note-2"' in page
    assert "/rules/allergen.methylisothiazolinone/" in page
    assert "That is not the same as harmless." in page


def test_a_label_is_shown_and_never_run(house: House, book: Book, alice: Client) -> None:
    soap = add(house)
    declare(house, book, soap, "Aqua, <script>alert(1)</script>, Parfum")
    assert "<script>alert" not in text_of(alice.get(page_of(soap)))


@pytest.mark.parametrize("kind", ListKind)
def test_every_kind_of_list_says_what_it_is_and_what_it_cannot_tell(kind: ListKind) -> None:
    assert WHAT_IT_IS[kind].endswith(".")
    assert CANNOT_TELL[kind].endswith(".")


def test_no_page_of_products_calls_anything_safe(soap: Product, alice: Client) -> None:
    for address in ("/products/", page_of(soap), page_of(soap, "declare/")):
        words = words_of(alice.get(address)).replace("no answer here calls a product safe", "")
        words = words.replace("Safety data sheet", "").replace("safety data sheet", "")
        assert not re.search(r"\bsafe", words, re.IGNORECASE), address
        assert "Local policy, the treating clinician and your own judgement decide." in words


def test_a_product_without_a_declaration_says_so_plainly(house: House, alice: Client) -> None:
    page = words_of(alice.get(page_of(add(house))))
    assert "No declaration is in force. Nothing can be excluded until there is one." in page
    assert "No price." in page
    assert "It stands nowhere" in page


def test_a_glove_shows_what_is_known_of_it_and_what_is_not(house: House, book: Book, alice: Client) -> None:
    glove = add(house, "G1", "glove")
    facts = GloveFacts(material="nitrile", sterile=False)
    declare(house, book, glove, "ZDEC", list_kind="glove chemicals declared", glove=facts)
    page = words_of(alice.get(page_of(glove)))
    assert "Material Nitrile Sterile no Coloured not known Powdered not known Sizes not known" in page
    assert "Nitrile gloves: May hold accelerators." in page


def test_a_label_at_its_longest_is_shown_in_time(house: House, book: Book, alice: Client) -> None:
    soap = add(house)
    declare(house, book, soap, ", ".join(f"Unheardofsubstance{number}ine" for number in range(2_000)))
    began = time.monotonic()
    page = text_of(alice.get(page_of(soap)))
    assert "more ingredients than any label holds" in page
    assert time.monotonic() - began < 10


# ---- Did you mean


def test_a_near_miss_is_suggested_and_decides_nothing_until_accepted(
    soap: Product, alice: Client, book: Book
) -> None:
    page = words_of(alice.get(page_of(soap)))
    assert "Methylchloroisothiazolinon ”: Methylchloroisothiazolinone" in page.replace("n”", "n ”")
    assert "Accepting one counts for everyone who meets this product" in page
    assert not ReadingAccepted.objects.exists()


def accept(client: Client, soap: Product, **other: str) -> object:
    fields = {
        "declaration": soap.declarations.latest("pk").ref,
        "written": "Methylchloroisothiazolinon",
        "allergen": "methylchloroisothiazolinone",
    }
    if "form_key" not in other:
        fields["form_key"] = key_of(client, page_of(soap))
    return client.post(page_of(soap, "accept/"), fields | other, follow=True)


def test_an_accepted_reading_is_marked_and_named_with_who_accepted_it(soap: Product, alice: Client) -> None:
    page = words_of(accept(alice, soap))
    assert "Accepted. From now on every answer counts it so." in page
    assert "is taken to mean Methylchloroisothiazolinone : accepted by Alice" in page
    assert "Did you mean?" not in page
    assert '<mark class="is-allergen">Methylchloroisothiazolinon</mark>' in text_of(alice.get(page_of(soap)))


def test_accepting_twice_accepts_once(soap: Product, alice: Client) -> None:
    key = key_of(alice, page_of(soap))
    for _ in range(2):
        accept(alice, soap, form_key=key)
    assert ReadingAccepted.objects.count() == 1


def refuse(client: Client, soap: Product, written: str = "Methylchloroisothiazolinon") -> object:
    fields = {
        "declaration": soap.declarations.latest("pk").ref,
        "written": written,
        "form_key": key_of(client, page_of(soap)),
    }
    return client.post(page_of(soap, "refuse/"), fields, follow=True)


def test_doubtful_words_are_marked_in_the_text_until_they_are_settled(soap: Product, alice: Client) -> None:
    doubtful = '<mark class="is-doubtful">Methylchloroisothiazolinon</mark>'
    assert doubtful in text_of(alice.get(page_of(soap)))
    assert "may be a misprint of Methylchloroisothiazolinone" in words_of(alice.get(page_of(soap)))
    refuse(alice, soap)
    assert doubtful not in text_of(alice.get(page_of(soap)))


def test_a_reading_can_be_refused_and_the_page_says_by_whom(soap: Product, alice: Client) -> None:
    assert "No, not that" in words_of(alice.get(page_of(soap)))
    page = words_of(refuse(alice, soap))
    assert "From now on these words count as no allergen." in page
    assert "is taken to be no misprint of an allergen: refused by Alice" in page
    assert "Did you mean?" not in page
    assert AuditRow.objects.filter(event="reading refused", target=soap.declarations.get().ref).count() == 1


def test_a_refusal_is_taken_back_by_accepting_later(soap: Product, alice: Client) -> None:
    assert "It means Methylchloroisothiazolinone all the same" in words_of(refuse(alice, soap))
    page = words_of(accept(alice, soap))
    assert "is taken to mean Methylchloroisothiazolinone : accepted by Alice" in page
    assert "all the same" not in page
    assert '<mark class="is-allergen">Methylchloroisothiazolinon</mark>' in text_of(alice.get(page_of(soap)))


def test_only_what_is_asked_about_can_be_refused(soap: Product, alice: Client) -> None:
    assert "it is asked whether it is a misprint" in words_of(refuse(alice, soap, "Methylisothiazolinone"))
    assert not ReadingAccepted.objects.exists()


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"allergen": "moonshine"}, "No allergen"),
        ({"written": "Moonwater"}, "no ingredient written like that"),
        ({"form_key": ""}, "lost its key"),
    ],
)
def test_a_reading_that_was_never_suggested_is_refused(
    wrong: dict[str, str], says: str, soap: Product, alice: Client
) -> None:
    assert says in words_of(accept(alice, soap, **wrong))
    assert not ReadingAccepted.objects.exists()


def test_a_reading_of_a_text_that_no_longer_holds_is_refused(
    soap: Product, alice: Client, house: House, book: Book
) -> None:
    old, key = soap.declarations.latest("pk"), key_of(alice, page_of(soap))
    declare(house, book, soap, MILD)
    assert "has changed since the page was opened" in words_of(
        accept(alice, soap, declaration=old.ref, form_key=key)
    )
    assert not ReadingAccepted.objects.exists()


# ---- Who must avoid it, and who sees that


def test_the_practitioner_sees_who_must_avoid_it_by_area(soap: Product, alice: Client) -> None:
    page = words_of(alice.get(page_of(soap)))
    assert "1 of those who meet it where it stands, or will, must avoid it" in page
    assert "Ward 1 Avoid Wanda Example" in page
    assert "Yusuf" not in page
    assert AuditRow.objects.filter(event="avoiders looked at", target=soap.ref).count() == 1


def test_the_practitioner_is_never_told_of_their_own_allergy(
    soap: Product, house: House, book: Book, signed_in: SignIn
) -> None:
    worker = make_worker("Bea", "2001", house.ward_1, house.nurse)
    sensitise(house, worker)
    bea = worker.user
    assert bea is not None
    bea.access = AccessRole.PRACTITIONER
    bea.save()
    page = words_of(signed_in(bea).get(page_of(soap)))
    assert "1 of those who meet it where it stands, or will, must avoid it" in page
    assert "Ward 1 Avoid Wanda Example Where it stands" in page.replace("Cannot exclude ", "")
    assert page.count("Bea Example") == 1  # who is signed in, at the top


def test_whom_a_declaration_would_concern_never_counts_whoever_asks(
    house: House, book: Book, signed_in: SignIn
) -> None:
    soap = add(house)
    declare(house, book, soap, MILD, from_on=TODAY - DAY)
    stock(house, book, soap, house.ward_1)
    bea = make_worker("Bea", "2001", house.ward_1, house.nurse)
    sensitise(house, bea)
    assert bea.user is not None
    bea.user.access = AccessRole.PRACTITIONER
    bea.user.save()
    assert "It raises no new concern" in words_of(look(signed_in(bea.user), soap))
    assert "It would concern 1 worker." in words_of(look(signed_in(house.alice), soap))


def test_infection_prevention_sees_products_and_nothing_of_anyones_health(
    house: House, book: Book, ingrid: Client
) -> None:
    soap = a_concern(house, book)
    noted = AuditRow.objects.count()
    for address in (page_of(soap), f"/areas/{house.ward_1.ref}/", "/products/"):
        page = words_of(ingrid.get(address))
        assert "Product S1" in page
        for word in ("Wanda", "ust avoid", "Cannot exclude", "concern", "Today"):
            assert word not in page, (address, word)
    assert AuditRow.objects.count() == noted  # nobody's record was looked at


def test_infection_prevention_can_write_nothing(soap: Product, ingrid: Client) -> None:
    page = text_of(ingrid.get(page_of(soap)))
    for what in ("declare/", "stock/", "price/", "accept/", "refuse/"):
        assert page_of(soap, what) not in page
        assert ingrid.post(page_of(soap, what)).status_code == 403
    assert ingrid.get("/products/new/").status_code == 403
    assert ingrid.get("/products/import/").status_code == 403
    assert ProductDeclaration.objects.count() == 1


@pytest.mark.parametrize("who", ["clara", "mona", "ada", "wanda"])
@pytest.mark.parametrize(
    "what", ["/products/", "/products/new/", "/products/import/", "", "declare/", "stock/", "price/"]
)
def test_others_see_no_product(who: str, what: str, soap: Product, house: House, signed_in: SignIn) -> None:
    user = getattr(house, who)
    client = signed_in(user.user if who == "wanda" else user)
    assert client.get(what if what.startswith("/") else page_of(soap, what)).status_code == 403
    assert 'href="/products/"' not in text_of(client.get("/mine/"))


@pytest.mark.parametrize("what", ["", "declare/", "stock/", "price/"])
def test_a_product_that_is_not_there_is_a_page_that_helps(what: str, alice: Client) -> None:
    assert alice.get(f"/products/nosuchref/{what}").status_code == 404


def test_the_area_page_says_how_many_here_must_avoid_each_and_names_nobody(
    soap: Product, alice: Client, house: House
) -> None:
    sensitised(house, "Bo", "1003", house.ward_1, "fragrance_mix_i")  # Parfum: cannot be excluded
    page = words_of(alice.get(f"/areas/{house.ward_1.ref}/"))
    assert "Product S1 Soap, S1 Full ingredient list 1" in page
    assert "Wanda" not in page
    assert "Bo Example" not in page
    assert "Nothing here is about anyone’s health." not in page  # a number of allergies is
    assert "No product is known to stand here." in words_of(alice.get(f"/areas/{house.ward_2.ref}/"))


def test_concerns_that_wait_are_counted_on_the_product_page(house: House, book: Book, alice: Client) -> None:
    soap = a_concern(house, book)
    assert "1 concern about this product waits. Look at Today" in words_of(alice.get(page_of(soap)))


def a_concern(house: House, book: Book) -> Product:
    """A soap that began to name what Wanda reacts to."""
    soap = add(house)
    declare(house, book, soap, MILD, from_on=TODAY - DAY)
    stock(house, book, soap, house.ward_1, TODAY - DAY)
    sensitise(house, house.wanda)
    declare(house, book, soap, BOTTLE)
    assert ProductConcern.objects.get().worker == house.wanda
    return soap


# ---- The list


def test_the_list_says_kind_of_list_areas_and_price_and_nothing_where_there_is_none(
    soap: Product, alice: Client, house: House
) -> None:
    add(house, "R1", "rub")
    page = words_of(alice.get("/products/"))
    assert "Product S1 S1 Full ingredient list since 1 March 2026 Ward 1 no price" in page
    assert "Product R1 R1 Nothing kept nothing can be excluded nowhere no price" in page


def test_the_list_can_be_kept_to_an_area_and_a_category(
    soap: Product, alice: Client, house: House, book: Book
) -> None:
    rub = add(house, "R1", "rub")
    stock(house, book, rub, house.ward_1.parent)  # stands above, so it serves the wards beneath

    def names(question: str) -> set[str]:
        return set(re.findall(r">(Product \w+)</a>", text_of(alice.get(f"/products/{question}"))))

    assert names(f"?area={house.ward_1.ref}") == {"Product S1", "Product R1"}
    assert names(f"?area={house.ward_2.ref}") == {"Product R1"}
    assert names("?category=soap") == {"Product S1"}
    assert names("?category=moon&area=nowhere") == {"Product S1", "Product R1"}
    assert "No product is like that." in words_of(alice.get("/products/?category=wipe"))


# ---- Declaring


def fields(**other: str) -> dict[str, str]:
    return {"text": WITH_MIT, "list_kind": FULL, "from_on": "2026-03-02", "step": "look"} | other


def look(client: Client, soap: Product, **other: str) -> object:
    return send(client, page_of(soap, "declare/"), fields(**other))


def test_a_declaration_is_shown_as_read_before_anything_is_kept(
    house: House, book: Book, alice: Client
) -> None:
    soap = add(house)
    declare(house, book, soap, MILD, from_on=TODAY - DAY)
    stock(house, book, soap, house.ward_1)
    sensitise(house, house.wanda)
    rows = AuditRow.objects.count()
    page = words_of(look(alice, soap))
    assert "This is how it was read" in page
    assert "Added Methylisothiazolinone Gone Citric Acid" in page
    assert "It would concern 1 worker." in page
    assert "Wanda" not in page
    assert ProductDeclaration.objects.count() == 1
    assert not ProductConcern.objects.exists()
    assert AuditRow.objects.count() == rows + 1  # the look itself


def test_what_was_shown_is_what_is_kept_and_whom_it_concerns_comes_up(
    house: House, book: Book, alice: Client
) -> None:
    soap = add(house)
    declare(house, book, soap, MILD, from_on=TODAY - DAY)
    stock(house, book, soap, house.ward_1)
    sensitise(house, house.wanda)
    shown = text_of(look(alice, soap, text="Aqua,\r\nMethylisothiazolinone", read_from="label"))
    carried = dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)"', shown))
    reply = alice.post(page_of(soap, "declare/"), {**carried, "step": "keep"}, follow=True)
    kept = ProductDeclaration.objects.latest("pk")
    assert (kept.text, kept.read_from, kept.from_on) == ("Aqua,\nMethylisothiazolinone", "label", TODAY)
    assert ProductConcern.objects.get().worker == house.wanda
    assert "1 concern about this product waits." in words_of(reply)


def test_a_near_miss_is_named_before_the_text_is_kept(house: House, alice: Client) -> None:
    page = words_of(look(alice, add(house), text="Aqua, Methylisothiazolinon"))
    assert "2. “Methylisothiazolinon”: Methylisothiazolinone ?" in page
    assert "If the text was mistyped, change it." in page


def test_changing_the_text_comes_back_with_what_was_typed(house: House, alice: Client) -> None:
    soap = add(house)
    page = text_of(look(alice, soap, step="change", text="Aqua, Parfum", read_from="the bottle"))
    assert "Aqua, Parfum</textarea>" in page
    assert 'value="the bottle"' in page
    assert not ProductDeclaration.objects.exists()


def test_keeping_twice_keeps_once(house: House, alice: Client) -> None:
    soap = add(house)
    key = key_of(alice, page_of(soap, "declare/"))
    for _ in range(2):
        alice.post(page_of(soap, "declare/"), fields(step="keep", form_key=key))
    assert ProductDeclaration.objects.count() == 1


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"text": ""}, "No ingredient can be read from the text."),
        ({"text": "  \n "}, "Type in what the label says. If it says nothing, choose “nothing declared”."),
        ({"text": "Aqua\x00, Parfum"}, "holds a control character (U+0000)"),
        ({"text": "Aqua\x1b[1m, Parfum"}, "holds a control character (U+001B)"),
        ({"text": "Aqua, " * 50_000}, "The ingredient text has 300,000 characters"),
        ({"list_kind": ""}, "Choose what kind of list it is"),
        ({"list_kind": "nothing declared"}, "There is an ingredient text, and the kind of list is"),
        ({"list_kind": "accelerator-free claim"}, "What kind of list it is:"),
        ({"from_on": "31/02/2026"}, "Holds from:"),
        ({"from_on": "2062-03-02"}, "too far from today"),
        ({"read_from": "x" * 201}, "Where it was read:"),
    ],
)
@pytest.mark.parametrize("step", ["look", "keep"])
def test_a_declaration_that_cannot_be_used_says_why_and_keeps_what_was_typed(
    typed: dict[str, str], says: str, step: str, house: House, alice: Client
) -> None:
    soap = add(house)
    reply = look(alice, soap, step=step, **{"read_from": "the bottle"} | typed)
    assert says in problems_of(reply)
    page = text_of(reply)
    if "read_from" not in typed:
        assert 'value="the bottle"' in page
    if "text" not in typed:
        assert f"{WITH_MIT}</textarea>" in page
    assert not ProductDeclaration.objects.exists()


def test_ten_megabytes_of_text_are_refused_with_a_page_that_says_what_to_do(
    house: House, alice: Client
) -> None:
    soap = add(house)
    reply = look(alice, soap, text="Aqua, " * 1_750_000)
    assert reply.status_code == 400
    assert "more was pasted into a form than it takes" in words_of(reply)
    assert not ProductDeclaration.objects.exists()


def test_glove_facts_are_asked_of_gloves_only(house: House, alice: Client) -> None:
    soap, glove = add(house), add(house, "G1", "glove")
    assert "The glove itself" not in words_of(alice.get(page_of(soap, "declare/")))
    page = words_of(alice.get(page_of(glove, "declare/")))
    assert "The glove itself" in page
    assert "Stays on the skin" not in page
    given = {
        "text": "ZDEC",
        "list_kind": "glove chemicals declared",
        "material": "nitrile",
        "sterile": "no",
        "sizes": "6.5, 7; 7",
    }
    look(alice, glove, step="keep", **given)
    kept = ProductDeclaration.objects.get()
    assert kept.glove == {"material": "nitrile", "sterile": False, "sizes": ["6.5", "7"]}


def test_the_form_begins_with_what_holds_now(house: House, book: Book, alice: Client) -> None:
    glove = add(house, "G1", "glove")
    facts = GloveFacts(material="nitrile", sterile=True, sizes=("7",), powdered=False)
    declare(house, book, glove, "ZDEC", list_kind="glove chemicals declared", glove=facts)
    page = text_of(alice.get(page_of(glove, "declare/")))
    assert "ZDEC</textarea>" in page
    assert '<option value="nitrile" selected>' in page
    assert page.count('<option value="yes" selected>') == 1
    assert page.count('<option value="no" selected>') == 1


def test_declarations_over_time_say_what_came_and_what_went(house: House, book: Book, alice: Client) -> None:
    soap = add(house)
    declare(house, book, soap, MILD, from_on=TODAY - 9 * DAY)
    declare(house, book, soap, WITH_MIT, from_on=TODAY)
    declare(house, book, soap, "Aqua", from_on=TODAY + 9 * DAY, list_kind="safety data sheet")
    page = words_of(alice.get(page_of(soap)))
    assert page.index("to come") < page.index("in force")
    assert "Added Methylisothiazolinone Gone Citric Acid" in page
    assert "Otherwise Kind of list: full ingredient list, now safety data sheet" in page


def test_another_spelling_of_the_same_ingredient_is_no_change(house: House, book: Book) -> None:
    soap = add(house)
    before = as_declared(declare(house, book, soap, "Aqua, Methylisothiazolinone"))
    after = as_declared(declare(house, book, soap, "Aqua/Water/Eau, METHYLISOTHIAZOLINONE"))
    assert difference(before, after).is_empty


# ---- New products, stock, price


def test_a_new_product_goes_on_to_what_it_declares(alice: Client) -> None:
    given = {"code": "S-9", "name": "Cove soap", "category": "soap"}
    reply = send(alice, "/products/new/", given)
    assert reply.status_code == 302
    assert reply["Location"] == page_of(Product.objects.get(), "declare/")


def test_a_code_that_is_taken_is_refused_and_what_was_typed_stays(house: House, alice: Client) -> None:
    add(house, "S1")
    reply = send(alice, "/products/new/", {"code": "s1", "name": "Cove soap", "category": "soap"})
    assert "Another product has the code" in problems_of(reply)
    assert 'value="Cove soap"' in text_of(reply)
    assert Product.objects.count() == 1


def test_stock_that_overlaps_is_refused_and_what_was_typed_stays(
    soap: Product, house: House, alice: Client
) -> None:
    given = {"area": house.ward_1.ref, "from_on": "2026-04-01", "until_on": "2026-05-01"}
    reply = send(alice, page_of(soap, "stock/"), given)
    assert "already in Ward 1 on some of these days" in problems_of(reply)
    assert 'value="2026-04-01"' in text_of(reply)
    assert Stock.objects.count() == 1


def test_stock_comes_to_an_area_and_raises_whom_it_concerns(house: House, book: Book, alice: Client) -> None:
    soap = add(house)
    declare(house, book, soap, WITH_MIT)
    sensitise(house, house.wanda)
    send(alice, page_of(soap, "stock/"), {"area": house.ward_1.ref, "from_on": "2026-03-02"})
    assert (Stock.objects.get().area, Stock.objects.get().until_on) == (house.ward_1, None)
    assert ProductConcern.objects.get().because == "stock"


def test_stock_can_end_earlier_and_never_later(soap: Product, alice: Client) -> None:
    address = page_of(soap, f"stock/?end={Stock.objects.get().ref}")
    assert "End it in Ward 1" in words_of(alice.get(address))
    send(alice, address, {"until_on": "2026-04-01"})
    assert str(Stock.objects.get().until_on) == "2026-04-01"
    assert re.search(
        r"This period ends on \d+ [A-Z][a-z]+ \d{4} as it is",
        problems_of(send(alice, address, {"until_on": "2026-05-01"})),
    )
    assert "before it begins" in problems_of(send(alice, address, {"until_on": "2026-02-01"}))


def test_another_products_stock_cannot_be_ended_from_here(soap: Product, house: House, alice: Client) -> None:
    other = add(house, "S2")
    assert alice.get(page_of(other, f"stock/?end={Stock.objects.get().ref}")).status_code == 404


@pytest.mark.parametrize(
    ("typed", "amount"), [("12.50", "12.50"), ("0", "0.00"), ("7,5", "7.50"), (" 3 ", "3.00")]
)
def test_a_price_is_the_sites_own_figure(typed: str, amount: str, soap: Product, alice: Client) -> None:
    send(alice, page_of(soap, "price/"), {"per_worker_year": typed, "from_on": "2026-03-02"})
    assert str(ProductPrice.objects.get().per_worker_year) == amount
    assert f"{amount} a year for each worker who uses it" in words_of(alice.get(page_of(soap)))


@pytest.mark.parametrize("typed", ["", "-1", "12.345", "1e3", "€5", "NaN", "٣", "99999999999"])
def test_what_is_no_price_is_refused_and_stays_typed(typed: str, soap: Product, alice: Client) -> None:
    reply = send(alice, page_of(soap, "price/"), {"per_worker_year": typed, "from_on": "2026-03-02"})
    assert problems_of(reply)
    assert f'value="{typed}"' in text_of(reply) or not typed
    assert not ProductPrice.objects.exists()


@pytest.mark.parametrize("what", ["declare/", "stock/", "price/"])
def test_a_form_without_its_key_changes_nothing(what: str, soap: Product, alice: Client) -> None:
    given = {**fields(step="keep"), "area": "x", "per_worker_year": "1"}
    before = (ProductDeclaration.objects.count(), Stock.objects.count(), ProductPrice.objects.count())
    alice.post(page_of(soap, what), given)
    assert (
        ProductDeclaration.objects.count(),
        Stock.objects.count(),
        ProductPrice.objects.count(),
    ) == before


def test_a_withdrawn_allergy_no_longer_counts(soap: Product, house: House, book: Book, alice: Client) -> None:
    withdraw_allergy(allergy=Sensitisation.objects.get(), reason="A slip.", by=house.alice, now=NOW)
    assert "Nobody of whom an allergy is known meets it" in words_of(alice.get(page_of(soap)))
