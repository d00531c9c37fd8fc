"""Products, declarations, prices and stock as records: who may write, what is refused, what is read back."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction

from tests.conftest import NOW, TODAY, House, make_area, make_user, make_worker
from tests.records.shelves import FULL, MILD, MIT, WITH_MIT, add, declare, sensitise, stock
from thenar.allergy.allergies import Allergies, Delayed, Immediate, Strength
from thenar.allergy.product import Category, GloveFacts
from thenar.errors import BadInput, Conflict, NotAllowed
from thenar.knowledge import Book
from thenar.records.actions.formularies import keep_proposal
from thenar.records.actions.product_import import Priced, ProductEntry, take_products_over
from thenar.records.actions.products import (
    Declared,
    accept_reading,
    add_product,
    declare_product,
    price_product,
)
from thenar.records.actions.stock import end_stock, stock_product
from thenar.records.judging import allergies_of, as_product, judge_of
from thenar.records.models import (
    AccessRole,
    AllergyWithdrawal,
    AuditRow,
    FormularyProposal,
    GloveSize,
    ImmediateAllergy,
    Overruling,
    Product,
    ProductConcern,
    ProductDeclaration,
    ProductPrice,
    Sensitisation,
    Stock,
)
from thenar.records.queries.judged import judged_for, sensitised_groups
from thenar.records.queries.products import declaration_named, product_story, products, stock_in
from thenar.records.rights import NotVisible

DAY = timedelta(days=1)


# ---- Products


def test_two_products_never_share_a_code(house: House) -> None:
    add(house, "S1")
    with pytest.raises(Conflict, match="Another product has the code 's1'"):
        add(house, "s1")
    add(house, "\u00c91")
    with pytest.raises(Conflict):
        add(house, "E\u03011")  # the same letter, of two characters
    with pytest.raises(Conflict):
        add(house, "\u00e91")
    assert Product.objects.count() == 2


@pytest.mark.parametrize(
    "wrong",
    [
        {"category": "soup"},
        {"code": "  "},
        {"code": "x" * 41},
        {"code": "S\x001"},
        {"code": "S1\u200b"},
        {"name": "A \u202epaos"},
        {"name": ""},
        {"name": "x" * 161},
    ],
)
def test_a_product_that_cannot_be_told_apart_is_refused(wrong: dict[str, str], house: House) -> None:
    with pytest.raises(BadInput):
        add_product(**({"code": "S1", "name": "A soap", "category": "soap"} | wrong), by=house.alice, now=NOW)
    assert not Product.objects.exists()
    assert not AuditRow.objects.exists()


# ---- Declarations


@pytest.mark.parametrize(
    ("category", "wrong"),
    [
        ("soap", {"list_kind": "hearsay"}),
        ("soap", {"list_kind": "accelerator-free claim"}),
        ("soap", {"text": ""}),
        ("soap", {"text": " , ; "}),
        ("soap", {"text": "Aqua\x00"}),
        ("soap", {"text": "Aqua\x1b[1m"}),
        ("soap", {"text": "Aqua, " * 2_000_000}),
        ("soap", {"list_kind": "nothing declared"}),  # and yet there is a text
        ("soap", {"glove": GloveFacts(material="nitrile")}),
        ("glove", {"glove": GloveFacts(material="paper")}),
        ("glove", {"glove": GloveFacts(sizes=("enormous and more",))}),
        ("soap", {"read_from": "x" * 201}),
    ],
)
def test_a_declaration_that_could_only_mislead_is_refused(
    category: str, wrong: dict[str, object], house: House, book: Book
) -> None:
    product = add(house, category=category)
    with pytest.raises(BadInput):
        declare(house, book, product, **({"text": MILD} | wrong))
    assert not ProductDeclaration.objects.exists()
    assert AuditRow.objects.count() == 1


def test_an_empty_text_is_told_what_to_do(house: House, book: Book) -> None:
    with pytest.raises(BadInput, match="If it says nothing, choose “nothing declared”"):
        declare(house, book, add(house), "")
    assert declare(house, book, Product.objects.get(), "", list_kind="nothing declared").text == ""


def test_the_newest_declaration_that_has_begun_is_in_force_and_the_last_written_wins(
    house: House, book: Book
) -> None:
    product = add(house)
    older = declare(house, book, product, from_on=TODAY - 9 * DAY)
    declare(house, book, product, from_on=TODAY)
    mended = declare(house, book, product, from_on=TODAY)
    coming = declare(house, book, product, from_on=TODAY + 9 * DAY)

    def on(day):
        return products(by=house.alice, on=day)[0].declaration

    assert [on(TODAY - 10 * DAY), on(TODAY - DAY), on(TODAY)] == [None, older, mended]
    assert on(TODAY + 9 * DAY) == coming


def test_a_glove_is_judged_by_what_is_known_of_it(house: House, book: Book) -> None:
    facts = GloveFacts(material="nitrile", sterile=False, sizes=("6.5", "7"), powdered=False)
    glove = add(house, "G1", "glove")
    kept = declare(house, book, glove, "ZDEC", list_kind="glove chemicals declared", glove=facts)
    kept.refresh_from_db()
    assert kept.glove == {"material": "nitrile", "sterile": False, "sizes": ["6.5", "7"], "powdered": False}
    assert as_product(kept, book).glove == facts
    assert as_product(declare(house, book, add(house)), book).glove is None


def test_a_first_day_in_another_decade_is_a_slip(house: House, book: Book) -> None:
    with pytest.raises(BadInput, match="too far from today"):
        declare(house, book, add(house), from_on=TODAY.replace(year=2062))


# ---- Prices


def price(house: House, product: Product, each: str, kept: str = "0") -> ProductPrice:
    return price_product(
        product=product,
        from_on=TODAY,
        per_worker_year=Decimal(each),
        per_year=Decimal(kept),
        by=house.alice,
        now=NOW,
    )


def test_the_newest_price_holds(house: House) -> None:
    product = add(house)
    price(house, product, "3.50")
    newer = price(house, product, "4.25", "100")
    (record,) = products(by=house.alice, on=TODAY)
    assert record.price == newer


@pytest.mark.parametrize("amount", ["-1", "1.234", "NaN", "Infinity", "10000000"])
def test_what_is_no_amount_is_refused(amount: str, house: House) -> None:
    product = add(house)
    with pytest.raises(BadInput):
        price(house, product, amount)
    with pytest.raises(BadInput):
        price(house, product, "1", amount)
    assert not ProductPrice.objects.exists()


# ---- Stock


@pytest.mark.parametrize(
    "days",
    [
        (TODAY,),
        (TODAY - 20 * DAY, TODAY - 10 * DAY),
        (TODAY + 10 * DAY,),
        (TODAY - 20 * DAY,),
    ],
)
def test_overlapping_stock_is_refused_and_nothing_is_stored(days, house: House, book: Book) -> None:
    product = add(house)
    kept = stock(house, book, product, house.ward_1, TODAY - 10 * DAY, TODAY + 10 * DAY)
    noted = AuditRow.objects.count()
    with pytest.raises(Conflict, match="already in Ward 1"):
        stock(house, book, product, house.ward_1, *days)
    assert list(Stock.objects.all()) == [kept]
    assert AuditRow.objects.count() == noted
    stock(house, book, product, house.ward_2, *days)  # another area is another matter
    stock(house, book, product, house.ward_1, TODAY + 11 * DAY)


def test_stock_that_ends_before_it_begins_is_refused(house: House, book: Book) -> None:
    with pytest.raises(BadInput, match="before it begins"):
        stock(house, book, add(house), house.ward_1, TODAY, TODAY - DAY)
    kept = stock(house, book, Product.objects.get(), house.ward_1)
    with pytest.raises(BadInput, match="before it begins"):
        end_stock(stock=kept, until_on=TODAY - DAY, by=house.alice, now=NOW)
    kept.refresh_from_db()
    assert kept.until_on is None


def test_an_end_comes_earlier_than_planned_never_later(house: House, book: Book) -> None:
    kept = stock(house, book, add(house), house.ward_1, TODAY, TODAY + 10 * DAY)
    with pytest.raises(Conflict):
        end_stock(stock=kept, until_on=TODAY + 11 * DAY, by=house.alice, now=NOW)
    assert (
        end_stock(stock=kept, until_on=TODAY + 5 * DAY, by=house.alice, now=NOW).until_on == TODAY + 5 * DAY
    )


def test_an_area_is_served_by_what_stands_in_it_and_above_it(house: House, book: Book) -> None:
    hospital, room = house.ward_1.parent, make_area("Room 1", house.ward_1)
    above, here, beneath, next_door, gone = (add(house, code) for code in ("A", "B", "C", "D", "E"))
    declared = declare(house, book, above)
    for product, area in (
        (above, hospital),
        (here, house.ward_1),
        (beneath, room),
        (next_door, house.ward_2),
    ):
        stock(house, book, product, area)
    stock(house, book, gone, house.ward_1, TODAY - 5 * DAY, TODAY - DAY)
    first, second = stock_in((house.ward_1,), TODAY)
    assert first == declared
    # A product without a declaration is not left out: its stand-in declares nothing.
    assert (second.product, second.pk, second.list_kind) == (here, None, "nothing declared")


# ---- Read back


def test_a_product_tells_its_story_newest_first(house: House, book: Book) -> None:
    product = add(house)
    sensitise(house, house.wanda)
    first = declare(house, book, product, from_on=TODAY - 9 * DAY)
    second = declare(house, book, product, MILD + ", Methylisothiazolinon")
    coming = declare(house, book, product, MILD, from_on=TODAY + DAY)
    cost, row = price(house, product, "3.50"), stock(house, book, product, house.ward_1)
    accept_reading(
        declaration=second, written="Methylisothiazolinon", allergen=MIT, book=book, by=house.alice, now=NOW
    )
    told = product_story(ref=product.ref, by=house.bob, on=TODAY)
    assert told.declarations == (coming, second, first)
    assert (told.in_force, told.price, told.prices, told.stock) == (second, cost, (cost,), (row,))
    assert [one.allergen for one in told.accepted] == [MIT]
    assert told.concerns == 2  # before the reading was accepted, and after
    ivy = make_user("Ivy", AccessRole.INFECTION_PREVENTION)
    assert product_story(ref=product.ref, by=ivy, on=TODAY).concerns is None  # a number of workers' allergies


def test_all_products_are_read_in_a_fixed_number_of_questions(
    house: House, book: Book, django_assert_num_queries
) -> None:
    for number in range(12):
        product = add(house, f"S{number}")
        declare(house, book, product)
        stock(house, book, product, house.ward_1)
    with django_assert_num_queries(5):
        assert len(products(by=house.alice, on=TODAY)) == 12


def test_what_is_not_there_is_not_visible(house: House) -> None:
    with pytest.raises(NotVisible):
        product_story(ref="zzzzzzzzzzzz", by=house.alice, on=TODAY)
    with pytest.raises(NotVisible):
        declaration_named(ref="zzzzzzzzzzzz", by=house.alice)


# ---- Rights and audit


@pytest.mark.parametrize("who", ["clara", "mona", "ada", "wanda", "ivy"])
def test_only_practitioners_and_leads_write(who: str, house: House, book: Book) -> None:
    product = add(house)
    row, declared = stock(house, book, product, house.ward_1), declare(house, book, product)
    someone = {
        "ivy": lambda: make_user("Ivy", AccessRole.INFECTION_PREVENTION),
        "wanda": lambda: house.wanda.user,
    }
    by = someone.get(who, lambda: getattr(house, who))()
    mark = {"by": by, "now": NOW}
    noted = AuditRow.objects.count()
    for attempt in (
        lambda: add_product(code="S2", name="A soap", category="soap", **mark),
        lambda: declare_product(
            product=product, from_on=TODAY, declared=Declared(list_kind=FULL, text=MILD), book=book, **mark
        ),
        lambda: price_product(
            product=product, from_on=TODAY, per_worker_year=Decimal(1), per_year=Decimal(0), **mark
        ),
        lambda: accept_reading(declaration=declared, written="Glycerin", allergen=MIT, book=book, **mark),
        lambda: stock_product(
            product=product, area=house.ward_2, from_on=TODAY, until_on=None, book=book, **mark
        ),
        lambda: end_stock(stock=row, until_on=TODAY, **mark),
        lambda: keep_proposal(
            areas=[house.ward_1], question={}, answer={}, found=True, edition="a test", **mark
        ),
        lambda: take_products_over(rows=[], book=book, **mark),
        lambda: sensitised_groups(areas=[house.ward_1], on=TODAY, book=book, **mark),
    ):
        with pytest.raises(NotAllowed):
            attempt()
    assert AuditRow.objects.count() == noted
    if who != "ivy":
        with pytest.raises(NotAllowed):
            products(by=by, on=TODAY)


def test_every_act_is_noted(house: House, book: Book) -> None:
    product = add(house)
    declared = declare(house, book, product)
    price(house, product, "1")
    accept_reading(declaration=declared, written="Glycerin", allergen=MIT, book=book, by=house.alice, now=NOW)
    row = stock(house, book, product, house.ward_1)
    end_stock(stock=row, until_on=TODAY, by=house.alice, now=NOW)
    kept = keep_proposal(
        areas=[house.ward_1],
        question={"a": 1},
        answer={},
        found=False,
        edition="a test",
        by=house.alice,
        now=NOW,
    )
    assert kept.areas == [{"ref": house.ward_1.ref, "name": "Ward 1"}]
    assert list(AuditRow.objects.order_by("pk").values_list("event", "target")) == [
        ("product added", product.ref),
        ("product declared", declared.ref),
        ("product priced", product.ref),
        ("reading accepted", declared.ref),
        ("product stocked", row.ref),
        ("stock ended", row.ref),
        ("formulary proposed", kept.ref),
    ]


def test_a_proposal_for_no_area_is_refused(house: House) -> None:
    with pytest.raises(BadInput):
        keep_proposal(areas=[], question={}, answer={}, found=True, edition="x", by=house.alice, now=NOW)
    assert not FormularyProposal.objects.exists()


def test_the_database_itself_keeps_one_open_stock_for_a_product_and_area(house: House, book: Book) -> None:
    kept = stock(house, book, add(house), house.ward_1)
    with pytest.raises(IntegrityError), transaction.atomic():
        Stock.objects.create(product=kept.product, area=kept.area, from_on=TODAY + DAY)


# ---- A list of products


def entry(house: House, code: str, **other: object) -> ProductEntry:
    facts = {"product": None, "name": f"Product {code}", "category": "soap", "from_on": TODAY}
    return ProductEntry(code=code, **(facts | other))


def test_a_list_is_taken_over_whole(house: House, book: Book) -> None:
    sensitise(house, house.wanda)
    kept = add(house, "S1")
    declare(house, book, kept)
    stock(house, book, kept, house.ward_1)
    changed = Declared(list_kind=FULL, text=WITH_MIT)
    one, two = take_products_over(
        rows=[
            entry(house, "S1", product=kept, declared=changed),
            entry(
                house,
                "S2",
                declared=changed,
                price=Priced(per_worker_year=Decimal(2), per_year=Decimal(0)),
                areas=(house.ward_1, house.ward_2),
            ),
        ],
        book=book,
        by=house.alice,
        now=NOW,
    )
    assert (one, two.code, two.stock.count()) == (kept, "S2", 2)
    assert set(ProductConcern.objects.values_list("product__code", "because")) == {
        ("S1", "declaration"),
        ("S2", "stock"),
    }
    assert AuditRow.objects.filter(event="products read in", why="2 products").exists()


def test_one_row_that_is_refused_keeps_the_whole_list_out(house: House, book: Book) -> None:
    good = entry(house, "S1", declared=Declared(list_kind=FULL, text=MILD), areas=(house.ward_1,))
    for bad in (
        entry(house, "S1"),
        entry(house, "S2", declared=Declared(list_kind=FULL)),
        entry(house, "S2", areas=(house.ward_1, house.ward_1)),
        entry(house, "S2", category="soup"),
    ):
        with pytest.raises((BadInput, Conflict)):
            take_products_over(rows=[good, bad], book=book, by=house.alice, now=NOW)
        assert not Product.objects.exists()
        assert not AuditRow.objects.exists()


# ---- Judging


def test_of_several_records_of_one_allergy_the_strongest_counts(house: House, book: Book) -> None:
    facts = {"worker": house.wanda, "basis": "letter", "found_on": TODAY, "edition": "x", "at": NOW}
    for strength, confirmed in (("+", True), ("++", False), ("?+", False)):
        Sensitisation.objects.create(
            allergen=MIT, strength=strength, confirmed=confirmed, by=house.alice, **facts
        )
    for severe in (True, False):
        ImmediateAllergy.objects.create(allergen="latex_natural", severe=severe, by=house.alice, **facts)
    found = allergies_of([house.wanda.pk, house.yusuf.pk], book)
    assert found[house.wanda.pk] == Allergies(
        delayed=frozenset({Delayed(MIT, Strength.STRONG, confirmed=True)}),
        immediate=frozenset({Immediate("latex_natural", severe=True)}),
    )
    assert found[house.yusuf.pk] == Allergies()


def test_what_was_withdrawn_counts_no_more_and_what_stands_beside_it_does(house: House, book: Book) -> None:
    sensitise(house, house.wanda)
    AllergyWithdrawal.objects.create(
        sensitisation=sensitise(house, house.wanda, "formaldehyde"),
        reason="Not confirmed when tested again",
        at=NOW,
        by=house.alice,
    )
    (found,) = allergies_of([house.wanda.pk], book).values()
    assert {one.allergen for one in found.delayed} == {MIT}


def test_a_judge_is_made_once_for_an_edition(book: Book) -> None:
    assert judge_of(book) is judge_of(book)


def test_the_practitioners_answer_is_in_use_and_the_rules_stay_visible(house: House, book: Book) -> None:
    sensitise(house, house.wanda)
    declarations = [declare(house, book, add(house, code), WITH_MIT) for code in ("S1", "S2")]
    for answer in ("cannot exclude", "no match found"):
        Overruling.objects.create(
            worker=house.wanda,
            declaration=declarations[0],
            rules_say="avoid",
            answer=answer,
            reason="A use test was well borne.",
            edition="x",
            at=NOW,
            by=house.alice,
        )
    first, second = judged_for(house.wanda, declarations, book)
    assert (first.verdict.answer, first.answer_in_use) == ("avoid", "no match found")
    assert first.overruling.reason == "A use test was well borne."
    assert (second.answer_in_use, second.overruling) == ("avoid", None)
    (yusufs,) = judged_for(house.yusuf, declarations[:1], book)
    assert yusufs.answer_in_use == "no match found"


def test_workers_are_grouped_by_what_they_react_to_and_their_glove_size(house: House, book: Book) -> None:
    vera, will = (
        make_worker(name, number, house.ward_1, house.nurse)
        for name, number in (("Vera", "3"), ("Will", "4"))
    )
    for worker in (house.wanda, vera, will):
        sensitise(house, worker)
    for size in ("6.5", "7"):  # the newest holds
        GloveSize.objects.create(worker=will, size=size, at=NOW, by=house.alice)
    type(vera).objects.filter(pk=vera.pk).update(user=house.alice)
    groups = sensitised_groups(areas=[house.ward_1.parent], on=TODAY, book=book, by=house.alice, now=NOW)
    assert [(one.pattern, one.workers, one.glove_size) for one in groups] == [
        ("pattern 1", 2, ""),
        ("no allergy known", 1, ""),
        ("pattern 1, size 7", 1, "7"),
    ]
    assert groups[0].members == (house.wanda,)  # counted with Vera, who is the asker and is not named
    assert groups[1].members == ()
    assert groups[1].allergies == Allergies()
    assert sensitised_groups(areas=[], on=TODAY, book=book, by=house.alice, now=NOW) == ()
    assert AuditRow.objects.filter(event="groups looked at").count() == 2


def test_categories_kept_are_those_that_are_judged() -> None:
    assert {code for code, _ in Product._meta.get_field("category").choices} == set(Category)
