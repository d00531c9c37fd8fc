"""Formulary on screen: what is asked, what is found and kept, who is named, and what supplies read."""

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest
from django.test import Client

from tests.conftest import NOW, TODAY, House, make_user, make_worker
from tests.records.shelves import MILD, MIT, WITH_MIT, add, declare, sensitise, sensitised, stock
from tests.web.clinic_house import problems_of, send, text_of, words_of
from thenar.allergy.formulary_programme import OutOfTime
from thenar.allergy.formulary_terms import Goal
from thenar.allergy.product import GloveFacts
from thenar.knowledge import Book
from thenar.records.actions.allergies import set_glove_size
from thenar.records.actions.products import price_product
from thenar.records.models import AccessRole, AuditRow, FormularyProposal, Product, Sensitisation, User
from thenar.screens import clock
from thenar.screens.formulary import asking
from thenar.screens.formulary.kept import answer_of, as_json
from thenar.screens.formulary.needs import BY_ID, KINDS
from thenar.screens.formulary.shown import how_good

SignIn = Callable[[User], Client]
DAY = timedelta(days=1)
GLOVES = "glove chemicals declared"


@pytest.fixture(autouse=True)
def _one_day(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: NOW)
    monkeypatch.setattr(clock, "today", lambda: TODAY)


@pytest.fixture
def alice(house: House, signed_in: SignIn) -> Client:
    return signed_in(house.alice)


@pytest.fixture
def soaps(house: House, book: Book) -> tuple[Product, Product]:
    """Ward 1 holds a cheap soap that Wanda reacts to; a dearer one, held nowhere, has no match for her.

    Nell works there too, without allergies.
    """
    make_worker("Nell", "3001", house.ward_1, house.nurse)
    sensitise(house, house.wanda)
    cheap = a_product(house, book, "S1", "4", WITH_MIT)
    stock(house, book, cheap, house.ward_1, TODAY - DAY)
    return cheap, a_product(house, book, "S2", "6.50", MILD)


def a_product(
    house: House, book: Book, code: str, price: str, text: str, *kind: str, **other: object
) -> Product:
    product = add(house, code, *kind)
    declare(house, book, product, text, from_on=TODAY - DAY, **other)
    if price:
        priced(house, product, price)
    return product


def priced(house: House, product: Product, price: str) -> None:
    price_product(
        product=product,
        from_on=TODAY - DAY,
        per_worker_year=Decimal(price),
        per_year=Decimal(50),
        by=house.alice,
        now=NOW,
    )


def asked(house: House, **other: object) -> dict[str, object]:
    return {"areas": [house.ward_1.ref], "everyone": ["soap"], "held": ["soap"], "goal": "cheapest"} | other


def propose(client: Client, house: House, **other: object) -> str:
    """The words of the page a search leads to."""
    reply = send(client, "/formulary/", asked(house, **other))
    if reply.status_code == 200:
        return words_of(reply)
    return words_of(client.get(reply["Location"]))


def test_no_set_rests_on_what_may_hold_a_misprint_nobody_has_settled(
    house: House, alice: Client, book: Book
) -> None:
    sensitise(house, house.wanda)
    a_product(house, book, "S1", "4", MILD + ", Methylisothiazolinome")
    page = propose(alice, house)
    assert "Not everyone can be served" in page
    assert "Ask the maker whether Product S1 is free of Methylisothiazolinone" in page


def test_patterns_that_list_the_same_allergies_say_how_they_differ(
    house: House, alice: Client, soaps: tuple[Product, Product]
) -> None:
    other = sensitised(house, "Olga", "3002", house.ward_1)
    Sensitisation.objects.create(
        worker=other,
        allergen="nickel_sulfate",
        strength="+",
        basis="letter",
        found_on=TODAY,
        edition="a test",
        at=NOW,
        by=house.alice,
    )
    sensitise(house, house.wanda, "nickel_sulfate")
    page = propose(alice, house)
    assert "Nickel sulfate hexahydrate: strength +" in page
    assert "Nickel sulfate hexahydrate: strength ++" in page
    assert "Methylisothiazolinone: strength" not in page  # the same in both


def test_the_caution_about_uses_stands_before_what_the_set_leaves_out(
    house: House, alice: Client, soaps: tuple[Product, Product]
) -> None:
    page = propose(alice, house)
    assert page.index("not every use") < page.index("Not in the set")


# ---- Asking


def test_soap_is_offered_ticked_as_an_obligation_with_its_reason(alice: Client) -> None:
    page = text_of(alice.get("/formulary/"))
    assert re.search(r'name="everyone" value="soap" checked', page)
    assert re.search(r'name="held" value="soap" checked', page)
    assert "/rules/hand-cleansing.with.visibly-soiled/" in page
    assert "soap can&#x27;t be given up" in page.replace("’", "&#x27;")


def test_the_places_of_the_band_are_on_the_page_that_lists_areas(alice: Client) -> None:
    page = text_of(alice.get("/formulary/"))
    assert page.count('href="/today/"') == 1
    assert 'aria-label="Places"' in page


def test_every_rule_behind_a_need_is_in_the_book(book: Book) -> None:
    entries = [entry for kind in KINDS for entry in kind.entries]
    assert len(entries) >= 5
    assert set(entries) <= set(book.entries)


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"areas": []}, "Tick at least one area."),
        ({"areas": ["nowhere"]}, "Tick only areas of this list."),
        ({"everyone": [], "held": []}, "Tick at least one need."),
        ({"stay": ["S1"], "banned": ["S1"]}, "Ticked as to stay and as not to be chosen: Product S1."),
        ({"at_most": "0"}, "Products at most"),
        ({"goal": "greenest"}, "What is best"),
        ({"sizes": "7"}, "Tick sterile gloves as in stock in any case too"),
    ],
)
def test_what_cannot_be_asked_is_said_and_nothing_is_kept(
    wrong: dict[str, object], says: str, soaps: tuple[Product, Product], house: House, alice: Client
) -> None:
    reply = send(alice, "/formulary/", asked(house, **wrong))
    assert says in problems_of(reply)
    assert not FormularyProposal.objects.exists()
    assert not AuditRow.objects.filter(event="groups looked at").exists()


def test_what_was_ticked_stays_ticked_where_something_is_wrong(
    soaps: tuple[Product, Product], house: House, alice: Client
) -> None:
    page = text_of(
        send(alice, "/formulary/", asked(house, everyone=["cream"], held=[], banned=["S2"], at_most="0"))
    )
    assert re.search(r'name="everyone" value="cream" checked', page)
    assert not re.search(r'name="everyone" value="soap" checked', page)
    assert not re.search(r'name="held" value="soap" checked', page)
    assert re.search(r'name="banned" value="S2" checked', page)
    assert re.search(rf'value="{house.ward_1.ref}" id="area-\w+" checked', page)


def test_an_area_where_nobody_works_and_nothing_is_held_has_no_formulary(house: House, alice: Client) -> None:
    empty = house.ward_1
    empty.posts.update(until_on=TODAY - DAY)
    assert "There is no one to choose products for." in propose(alice, house, held=[])


# ---- What is found


def test_it_finds_the_cheapest_set_and_says_what_it_costs_and_whom_it_serves(
    soaps: tuple[Product, Product], house: House, alice: Client
) -> None:
    # S2 alone: 2 x 6.50 + 50 = 63. Both: 4 + 6.50 + 2 x 50 = 110.50.
    page = propose(alice, house)
    assert "Products that serve everyone" in page
    assert "1 product for 2 workers, 1 of them with an allergy on record" in page
    assert "63.00 a year" in page
    assert "Proven: no choice costs less." in page
    assert "soap: 2 (1 with allergies)" in page
    assert "Add Product S2 Not in the set Product S1 Keep nothing" in page
    assert "The present stock has nothing for: soap: pattern 1, 1 worker" in page
    assert FormularyProposal.objects.get().found


def test_what_it_costs_stands_against_the_stock_of_now(
    soaps: tuple[Product, Product], house: House, book: Book, alice: Client
) -> None:
    # Now both stand there: 4 + 6.50 + 100 = 110.50; the proposal costs 63, which is 47.50 less.
    stock(house, book, soaps[1], house.ward_1.parent)
    assert "63.00 a year the present stock costs 110.50: 47.50 less" in propose(alice, house)


def test_a_group_of_many_keeps_the_cheap_soap_and_alternatives_say_what_they_add(
    soaps: tuple[Product, Product], house: House, alice: Client
) -> None:
    for number in range(40):
        make_worker(f"Nurse{number}", f"4{number:03}", house.ward_1, house.nurse)
    # 41 x 4 + 1 x 6.50 + 100 = 270.50; S2 alone 42 x 6.50 + 50 = 323, which is 52.50 more.
    page = propose(alice, house)
    assert "270.50 a year" in page
    assert "nothing in its place: 52.50 more" in page


def test_fewest_needs_no_prices(house: House, book: Book, alice: Client) -> None:
    a_product(house, book, "S2", "", MILD)
    page = propose(alice, house, goal="fewest")
    assert "What it costs is not known" in page
    assert "Proven: no choice has fewer products." in page


def test_a_product_without_a_price_is_left_out_of_the_cheapest_and_said(
    soaps: tuple[Product, Product], house: House, book: Book, alice: Client
) -> None:
    third = a_product(house, book, "S3", "", MILD)
    page = propose(alice, house)
    assert "Without a price, so left out: Product S3" in page
    assert "Product S3" not in page.split("For supplies")[1].split("What was asked")[0]
    stock(house, book, third, house.ward_1)
    page = propose(alice, house)
    assert "Standing there now, and not counted: Product S3" in page
    assert "The present stock has nothing for" not in page


def test_what_must_stay_and_has_no_price_is_said_by_name(
    soaps: tuple[Product, Product], house: House, book: Book, alice: Client
) -> None:
    a_product(house, book, "S3", "", MILD)
    assert "No price is kept for what must stay: Product S3." in propose(alice, house, stay=["S3"])
    assert not FormularyProposal.objects.exists()


def test_what_must_stay_stays_and_what_is_ruled_out_is_not_chosen(
    soaps: tuple[Product, Product], house: House, alice: Client
) -> None:
    page = propose(alice, house, stay=["S1"])
    assert "Product S1 S1; must stay" in page
    page = propose(alice, house, banned=["S2"])
    assert "Not everyone can be served" in page
    assert "Would serve Product S2 , if it were not ruled out" in page
    assert "Must stay nothing Not to be chosen Product S2" in page


def test_more_products_than_allowed_are_proven_and_shown(house: House, book: Book, alice: Client) -> None:
    sensitise(house, house.wanda)
    sensitised(house, "Vera", "3002", house.ward_1, "cocamidopropyl_betaine")
    a_product(house, book, "S1", "4", "Aqua, Cocamidopropyl Betaine")
    a_product(house, book, "S2", "4", WITH_MIT)
    page = propose(alice, house, at_most="1")
    assert "It takes at least 2 products , and 1 is allowed." in page
    assert not FormularyProposal.objects.get().found


# ---- Where nothing serves


@pytest.fixture
def gloves(house: House, book: Book) -> Product:
    """The one glove names a thiuram, to which Wanda reacts."""
    sensitise(house, house.wanda, "thiuram_mix")
    facts = GloveFacts(material="nitrile", sterile=False)
    glove = a_product(
        house, book, "G1", "9", "Tetramethylthiuram Disulfide", "glove", list_kind=GLOVES, glove=facts
    )
    stock(house, book, glove, house.ward_1)
    return glove


def test_where_nothing_serves_it_names_the_workers_the_need_and_what_to_look_for(
    gloves: Product, house: House, book: Book, alice: Client
) -> None:
    page = propose(alice, house, everyone=["examination-glove"], held=[])
    name = book.allergens.allergens["thiuram_mix"].name
    assert "Examination gloves: 1 worker, pattern 1" in page
    assert f"Reacts to {name}." in page
    assert f"Look for Examination gloves without {name}" in page
    assert f"Nearest Product G1 , but for {name}" in page
    assert "Wanda Example" in page
    assert f"Pattern 1 {name} 1 nothing" in page
    assert AuditRow.objects.filter(
        event="record looked at", worker_ref=house.wanda.ref, why="choosing products"
    ).exists()


def test_a_glove_that_declares_nothing_is_one_to_ask_the_maker_about(
    house: House, book: Book, alice: Client
) -> None:
    sensitise(house, house.wanda, "thiuram_mix")
    glove = add(house, "G2", "glove")
    priced(house, glove, "9")
    page = propose(alice, house, everyone=["examination-glove"], held=[])
    assert "Ask the maker whether Product G2 is free of" in page


def test_workers_who_are_served_stand_nowhere_by_name(
    soaps: tuple[Product, Product], house: House, alice: Client
) -> None:
    page = propose(alice, house)
    assert "Wanda" not in page
    assert "Nell" not in page
    kept = FormularyProposal.objects.get()
    assert not any(group.members for group in answer_of(kept.answer).groups)


def test_a_practitioner_never_reads_their_own_name(
    gloves: Product, house: House, book: Book, signed_in: SignIn
) -> None:
    bea = make_worker("Bea", "2001", house.ward_1, house.nurse)
    sensitise(house, bea, "thiuram_mix")
    assert bea.user is not None
    bea.user.access = AccessRole.PRACTITIONER
    bea.user.save()
    client = signed_in(house.alice)
    assert "Bea Example" in propose(client, house, everyone=["examination-glove"], held=[])
    kept = FormularyProposal.objects.get()
    page = words_of(signed_in(bea.user).get(f"/formulary/{kept.ref}/"))
    assert "2 workers, pattern 1" in page
    assert "Wanda Example" in page
    assert ". Bea Example" not in page
    assert ", Bea Example" not in page


# ---- Sterile gloves by size, virucidal rub


def test_sterile_gloves_are_asked_for_in_each_workers_size(house: House, book: Book, alice: Client) -> None:
    make_worker("Nell", "3001", house.ward_1, house.nurse)
    set_glove_size(worker=house.wanda, size="7,5", by=house.alice, now=NOW)
    facts = GloveFacts(material="nitrile", sterile=True, sizes=("7", "7.5"))
    a_product(house, book, "G1", "9", "", "glove", list_kind="nothing declared", glove=facts)
    page = propose(alice, house, everyone=["sterile-glove"], held=[], sizes="")
    assert "sterile gloves, size 7.5: 1" in page
    assert "sterile gloves, any size: 1" in page
    assert "The glove size of 1 worker is not known." in page
    assert "No allergy known, size 7,5 1 – Product G1" in page
    page = propose(alice, house, everyone=["sterile-glove"], held=["sterile-glove"], sizes="8")
    assert "Sterile gloves, size 8: nothing to hold" in page


def test_sterile_gloves_without_sizes_are_pointed_out(house: House, book: Book, alice: Client) -> None:
    set_glove_size(worker=house.wanda, size="7", by=house.alice, now=NOW)
    facts = GloveFacts(material="nitrile", sterile=True)
    a_product(house, book, "G1", "9", "", "glove", list_kind="nothing declared", glove=facts)
    page = propose(alice, house, everyone=["sterile-glove"], held=[])
    assert "Sterile gloves whose sizes nobody wrote down serve no size: Product G1" in page


def test_a_rub_not_known_to_be_virucidal_is_none(house: House, book: Book, alice: Client) -> None:
    a_product(house, book, "R1", "3", "Alcohol, Aqua", "rub")
    assert "Virucidal hand rub" in propose(alice, house, everyone=["virucidal-rub"], held=["virucidal-rub"])
    assert not FormularyProposal.objects.latest("pk").found
    a_product(house, book, "R2", "5", "Alcohol, Aqua", "rub", virucidal=True)
    assert "Products that serve everyone" in propose(
        alice, house, everyone=["virucidal-rub"], held=["virucidal-rub"]
    )


def test_sterile_gloves_are_let_be_unless_they_are_asked_for(house: House, book: Book, alice: Client) -> None:
    # They stand there for sterile work: they are neither dropped, nor priced, nor taken for other work.
    facts = GloveFacts(material="nitrile", sterile=True, sizes=("7",))
    sterile = a_product(house, book, "G1", "1", "", "glove", list_kind="nothing declared", glove=facts)
    a_product(house, book, "G2", "9", "", "glove", list_kind="nothing declared", glove=GloveFacts())
    stock(house, book, sterile, house.ward_1)
    page = propose(alice, house, everyone=["examination-glove"], held=[])
    assert "Add Product G2 Not in the set nothing Keep nothing" in page
    assert "Left alone, because it is sterile or virucidal and that was not asked for: Product G1" in page
    page = propose(alice, house, everyone=["examination-glove", "sterile-glove"], held=[])
    assert "Add nothing Not in the set nothing Keep Product G1" in page  # the cheaper one serves both


# ---- Kept, and read again


def test_a_kept_answer_reads_back_as_it_was(
    soaps: tuple[Product, Product], house: House, alice: Client
) -> None:
    propose(alice, house)
    kept = FormularyProposal.objects.get().answer
    assert as_json(answer_of(kept)) == kept


def test_a_proposal_stays_as_it_was_when_prices_and_labels_change(
    soaps: tuple[Product, Product], house: House, book: Book, alice: Client
) -> None:
    before = propose(alice, house)
    priced(house, soaps[1], "60")
    declare(house, book, soaps[1], WITH_MIT)
    kept = FormularyProposal.objects.get()
    assert words_of(alice.get(f"/formulary/{kept.ref}/")) == before
    assert "Ward 1 2 March 2026" in words_of(alice.get("/formulary/"))


def test_every_look_at_groups_is_written_down(
    soaps: tuple[Product, Product], house: House, alice: Client
) -> None:
    propose(alice, house)
    kept = FormularyProposal.objects.get()
    rows = AuditRow.objects.filter(event="groups looked at")
    assert [row.target for row in rows.order_by("pk")] == ["", kept.ref]
    assert AuditRow.objects.filter(event="formulary proposed", target=kept.ref).count() == 1


def test_a_form_sent_twice_is_one_proposal(
    soaps: tuple[Product, Product], house: House, alice: Client
) -> None:
    page = text_of(alice.get("/formulary/"))
    key = re.search(r'name="form_key" value="([^"]+)"', page)
    assert key
    fields = {**asked(house), "form_key": key.group(1)}
    first, again = (alice.post("/formulary/", fields)["Location"] for _ in range(2))
    assert first == again
    assert FormularyProposal.objects.count() == 1


def test_a_search_that_runs_out_of_time_says_so_and_keeps_the_ticks(
    soaps: tuple[Product, Product], house: House, alice: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    def too_long(*_: object, **__: object) -> None:
        raise OutOfTime(5.0)

    monkeypatch.setattr(asking, "find_formulary", too_long)
    reply = send(alice, "/formulary/", asked(house))
    assert "found no formulary in its 5 seconds" in problems_of(reply)
    assert re.search(rf'value="{house.ward_1.ref}" id="area-\w+" checked', text_of(reply))
    assert not FormularyProposal.objects.exists()


@pytest.mark.parametrize(
    ("goal", "gap", "says"),
    [
        (Goal.CHEAPEST, 0.0, "Proven: no choice costs less."),
        (Goal.FEWEST, 0.0, "Proven: no choice has fewer products."),
        (Goal.CHEAPEST, 0.00005, "Proven to within less than 0.01 %"),
        (
            Goal.CHEAPEST,
            0.03,
            "Time ran out before the best was proven. This choice may be up to 3 % above it; the least "
            "possible is 63.",
        ),
    ],
)
@pytest.mark.usefixtures("soaps")
def test_how_near_the_best_it_is_is_said(
    goal: Goal, gap: float, says: str, house: House, alice: Client
) -> None:
    propose(alice, house)
    found = answer_of(FormularyProposal.objects.get().answer).formulary
    assert says in how_good(replace(found, goal=goal, gap=gap, at_least=Decimal(63)))


# ---- Supplies, and rights


def test_supplies_read_products_and_areas_and_nothing_of_anyone(
    gloves: Product, soaps: tuple[Product, Product], house: House, book: Book, alice: Client
) -> None:
    propose(alice, house, everyone=["soap", "examination-glove"])
    kept = FormularyProposal.objects.get()
    reply = alice.get(f"/formulary/{kept.ref}/supplies/")
    assert reply["Content-Type"] == "text/plain; charset=utf-8"
    text = text_of(reply)
    assert text.splitlines() == [
        "Products to hold for: Ward 1.",
        "Soap: Product S2, S2 (new there).",
        "Glove: Product G1, G1.",
        "Whatever else stands there stays as it is until somebody says otherwise.",
    ]
    for word in ("pattern", "worker", "thiuram", "allerg", MIT, "Wanda"):
        assert word.lower() not in text.lower()


@pytest.mark.parametrize("who", ["clara", "mona", "ada", "wanda", "ingrid"])
def test_others_see_no_formulary(
    who: str, soaps: tuple[Product, Product], house: House, alice: Client, signed_in: SignIn
) -> None:
    propose(alice, house)
    ref = FormularyProposal.objects.get().ref
    user = (
        make_user("Ingrid", AccessRole.INFECTION_PREVENTION)
        if who == "ingrid"
        else house.wanda.user
        if who == "wanda"
        else getattr(house, who)
    )
    client = signed_in(user)
    for address in ("/formulary/", f"/formulary/{ref}/", f"/formulary/{ref}/supplies/"):
        assert client.get(address).status_code == 403, address
    assert client.post("/formulary/", asked(house)).status_code == 403
    assert FormularyProposal.objects.count() == 1


def test_the_lead_may_ask_too(soaps: tuple[Product, Product], house: House, signed_in: SignIn) -> None:
    lead = signed_in(make_user("Lena", AccessRole.LEAD))
    assert "Products that serve everyone" in propose(lead, house)


@pytest.mark.parametrize("address", ["/formulary/nosuchref/", "/formulary/nosuchref/supplies/"])
def test_a_proposal_that_is_not_there_is_a_page_that_helps(address: str, alice: Client) -> None:
    assert alice.get(address).status_code == 404


def test_nothing_here_is_called_safe(soaps: tuple[Product, Product], house: House, alice: Client) -> None:
    for page in (words_of(alice.get("/formulary/")), propose(alice, house)):
        assert not re.search(r"\bsafe", page, re.IGNORECASE)
        assert "Local policy, the treating clinician and your own judgement decide." in page


def test_a_kind_of_which_nothing_is_kept_is_one_to_look_for(
    soaps: tuple[Product, Product], house: House, book: Book, alice: Client
) -> None:
    page = propose(alice, house, everyone=["cream"], held=["cream"])
    mit = book.allergens.allergens[MIT].name
    assert f"Cream without {mit} , found in other products here. No product of this kind" in page
    assert "Cream: nothing to hold" in page
    assert "Wanda Example" in page


def test_without_any_product_there_is_nothing_to_choose_among(house: House, alice: Client) -> None:
    assert "Add products and their prices" in propose(alice, house)


def test_every_kind_of_need_can_be_asked_for_alone(
    soaps: tuple[Product, Product], house: House, alice: Client
) -> None:
    for kind in BY_ID:
        propose(alice, house, everyone=[kind], held=[])
    assert FormularyProposal.objects.count() == len(BY_ID)
