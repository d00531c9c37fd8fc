"""Whoever meets a product that no longer suits them is raised, once; nobody else is."""

from datetime import timedelta

import pytest
from django.db import transaction

from tests.conftest import NOW, TODAY, House, make_area, make_user
from tests.records.shelves import MILD, MIT, WITH_MIT, add, declare, raised, sensitise, sensitised, stock
from thenar.errors import BadInput, Conflict, NotAllowed
from thenar.exchange.staff_import import dry_run, file_hash, take_over
from thenar.knowledge import Book
from thenar.records.actions.concerns import Scope, deal_with_concern, meetings, raise_concerns
from thenar.records.actions.products import accept_reading, refuse_reading
from thenar.records.actions.staff import keep_staff_list
from thenar.records.actions.stock import end_stock
from thenar.records.models import (
    AccessRole,
    AllergyWithdrawal,
    AuditRow,
    Overruling,
    Post,
    Product,
    ProductConcern,
    ProductDeclaration,
    ReadingAccepted,
)
from thenar.records.queries.concerns import concern, concerns_waiting
from thenar.records.queries.products import who_must_avoid
from thenar.records.rights import NotVisible

LATER = TODAY + timedelta(days=30)


@pytest.fixture
def soap(house: House, book: Book) -> Product:
    """A soap without methylisothiazolinone, in use on Ward 1 for long."""
    product = add(house)
    declare(house, book, product, from_on=TODAY - timedelta(days=100))
    stock(house, book, product, house.ward_1, TODAY - timedelta(days=100))
    return product


@pytest.fixture
def three(house: House) -> None:
    """Three sensitised workers on Ward 1, one on Ward 2, and one on Ward 1 with another allergy."""
    for number, name in enumerate(("Uma", "Vera", "Will"), 2001):
        sensitised(house, name, str(number), house.ward_1)
    sensitised(house, "Xena", "2004", house.ward_2)
    sensitised(house, "Yves", "2005", house.ward_1, "chlorhexidine")


def on_ward_1(because: str, answer: str = "avoid", code: str = "S1") -> set[tuple[str, str, str, str, str]]:
    return {(name, code, "Ward 1", because, answer) for name in ("Uma", "Vera", "Will")}


def overrule(house: House, worker, declaration: ProductDeclaration, answer: str) -> None:
    Overruling.objects.create(
        worker=worker,
        declaration=declaration,
        rules_say="avoid",
        answer=answer,
        reason="A use test over a month was well borne.",
        edition="a test",
        at=NOW,
        by=house.alice,
    )


# ---- A declaration changes


@pytest.mark.usefixtures("three")
def test_a_changed_soap_raises_the_three_it_concerns_and_nobody_else(
    house: House, book: Book, soap: Product
) -> None:
    declare(house, book, soap, WITH_MIT)
    assert raised() == on_ward_1("declaration")
    assert set(ProductConcern.objects.values_list("answer_before", flat=True)) == {"no match found"}


@pytest.mark.usefixtures("three")
def test_the_same_change_again_raises_nobody_twice(house: House, book: Book, soap: Product) -> None:
    declare(house, book, soap, WITH_MIT)
    declare(house, book, soap, WITH_MIT)
    declare(house, book, soap, MILD)
    declare(house, book, soap, WITH_MIT)  # worse again, and the first concern still waits
    assert ProductConcern.objects.count() == 3


@pytest.mark.usefixtures("three")
def test_a_change_that_begins_later_is_told_now(house: House, book: Book, soap: Product) -> None:
    declare(house, book, soap, WITH_MIT, from_on=LATER)
    assert raised() == on_ward_1("declaration")


@pytest.mark.usefixtures("three")
def test_a_change_after_the_product_has_gone_raises_nobody(house: House, book: Book, soap: Product) -> None:
    end_stock(stock=soap.stock.get(), until_on=LATER - timedelta(days=1), by=house.alice, now=NOW)
    declare(house, book, soap, WITH_MIT, from_on=LATER)
    assert raised() == set()


@pytest.mark.usefixtures("three")
def test_a_declaration_that_was_never_in_force_raises_nobody(house: House, book: Book, soap: Product) -> None:
    declare(house, book, soap, WITH_MIT, from_on=TODAY - timedelta(days=200))
    assert raised() == set()


def test_who_has_left_the_area_or_the_house_is_not_raised(house: House, book: Book, soap: Product) -> None:
    moved = sensitised(house, "Uma", "2001", house.ward_1)
    moved.posts.update(until_on=TODAY - timedelta(days=1))
    gone = sensitised(house, "Vera", "2002", house.ward_1)
    type(gone).objects.filter(pk=gone.pk).update(left_on=TODAY)
    declare(house, book, soap, WITH_MIT)
    assert raised() == set()


def test_an_allergy_withdrawn_raises_nobody(house: House, book: Book, soap: Product) -> None:
    AllergyWithdrawal.objects.create(
        sensitisation=sensitise(house, house.wanda), reason="Another person's test", at=NOW, by=house.alice
    )
    declare(house, book, soap, WITH_MIT)
    assert raised() == set()


def test_what_was_declared_after_nothing_is_worse_only_if_it_must_be_avoided(
    house: House, book: Book
) -> None:
    sensitise(house, house.wanda)
    product = add(house)
    stock(house, book, product, house.ward_1)
    assert raised() == {("Wanda", "S1", "Ward 1", "stock", "cannot exclude")}
    assert ProductConcern.objects.get().declaration is None
    declare(house, book, product, MILD)
    assert ProductConcern.objects.count() == 1
    declare(house, book, product, WITH_MIT)
    assert ("Wanda", "S1", "Ward 1", "declaration", "avoid") in raised()


def test_an_overruling_lapses_with_the_declaration(house: House, book: Book, soap: Product) -> None:
    sensitise(house, house.wanda)
    first = declare(house, book, soap, WITH_MIT)
    waiting = ProductConcern.objects.get()
    deal_with_concern(concern=waiting, outcome="overruled", note_text="", by=house.alice, now=NOW)
    overrule(house, house.wanda, first, "no match found")
    declare(house, book, soap, WITH_MIT + ", Citric Acid")
    assert ProductConcern.objects.count() == 2
    newest = ProductConcern.objects.latest("pk")
    assert (newest.answer_before, newest.answer) == ("no match found", "avoid")


def test_an_overruling_that_holds_keeps_a_product_quiet(house: House, book: Book) -> None:
    sensitise(house, house.wanda)
    product = add(house)
    overrule(house, house.wanda, declare(house, book, product, WITH_MIT), "no match found")
    stock(house, book, product, house.ward_1)
    assert raised() == set()


# ---- A product comes


@pytest.mark.usefixtures("three")
def test_a_product_stocked_above_reaches_everyone_beneath(house: House, book: Book) -> None:
    product = add(house)
    declare(house, book, product, WITH_MIT)
    stock(house, book, product, house.ward_1.parent)
    assert raised() == on_ward_1("stock") | {("Xena", "S1", "Ward 2", "stock", "avoid")}
    assert set(ProductConcern.objects.values_list("answer_before", flat=True)) == {""}


@pytest.mark.usefixtures("three")
def test_a_product_that_reaches_them_from_above_already_raises_nobody(house: House, book: Book) -> None:
    product = add(house)
    declare(house, book, product, WITH_MIT)
    stock(house, book, product, house.ward_1.parent)
    for one in ProductConcern.objects.all():
        deal_with_concern(concern=one, outcome="told", note_text="", by=house.alice, now=NOW)
    stock(house, book, product, house.ward_1)
    assert ProductConcern.objects.count() == 4


def test_a_product_next_door_raises_nobody(house: House, book: Book) -> None:
    sensitised(house, "Uma", "2001", house.ward_1)
    product = add(house)
    declare(house, book, product, WITH_MIT)
    stock(house, book, product, house.ward_2)
    stock(house, book, product, make_area("Room 1 on Ward 1", house.ward_1))
    stock(house, book, product, house.ward_1, TODAY - timedelta(days=9), TODAY - timedelta(days=1))
    assert raised() == set()


def test_a_declaration_written_ahead_counts_when_the_product_comes(house: House, book: Book) -> None:
    sensitise(house, house.wanda)
    product = add(house)
    declare(house, book, product)
    declare(house, book, product, WITH_MIT, from_on=LATER)
    stock(house, book, product, house.ward_1, TODAY, LATER - timedelta(days=1))
    assert raised() == set()
    stock(house, book, product, house.ward_1, LATER)
    assert raised() == {("Wanda", "S1", "Ward 1", "stock", "avoid")}


# ---- A reading is accepted


def test_an_accepted_reading_makes_a_match_and_raises(house: House, book: Book, soap: Product) -> None:
    sensitise(house, house.wanda)
    declaration = declare(house, book, soap, MILD + ", Methylisothiazolinon")  # its last letter is missing
    unsettled = ("Wanda", "S1", "Ward 1", "declaration", "cannot exclude")
    assert raised() == {unsettled}
    accepting = {"declaration": declaration, "written": "Methylisothiazolinon", "book": book, "now": NOW}
    accept_reading(**accepting, allergen=MIT, by=house.alice)
    assert raised() == {unsettled, ("Wanda", "S1", "Ward 1", "declaration", "avoid")}
    accept_reading(**accepting, allergen=MIT, by=house.bob)  # again: nothing more
    assert (ReadingAccepted.objects.count(), ProductConcern.objects.count()) == (1, 2)


def test_what_may_be_a_misprint_concerns_only_who_reacts_to_what_may_be_meant(
    house: House, book: Book, soap: Product
) -> None:
    sensitise(house, house.wanda, "nickel_sulfate")
    declare(house, book, soap, MILD + ", Methylisothiazolinon")
    assert raised() == set()
    sensitise(house, house.wanda, MIT)
    (area,) = who_must_avoid(product=soap, by=house.alice, now=NOW, book=book)
    assert (area.avoid, area.cannot_exclude) == ((), (house.wanda,))


def test_a_refused_reading_clears_again_and_goes_on_where_the_same_words_stand(
    house: House, book: Book, soap: Product
) -> None:
    sensitise(house, house.wanda)
    declaration = declare(house, book, soap, MILD + ", Methylisothiazolinon")
    answer = lambda: meetings(Scope(), book=book, on=TODAY).met[house.wanda.pk, soap.pk].answer  # noqa: E731
    assert answer() == "cannot exclude"
    for _ in range(2):  # again: nothing more
        refuse_reading(
            declaration=declaration, written="Methylisothiazolinon", book=book, by=house.alice, now=NOW
        )
    assert answer() == "no match found"
    declare(house, book, soap, "Aqua, Methylisothiazolinon")
    assert answer() == "no match found"
    assert AuditRow.objects.filter(event="reading refused").count() == 1
    assert len(raised()) == 1  # what waited still waits, nothing new does
    again = soap.declarations.latest("pk")
    accept_reading(
        declaration=again, written="Methylisothiazolinon", allergen=MIT, book=book, by=house.bob, now=NOW
    )
    assert answer() == "avoid"


def test_a_refused_reading_ends_no_overruling(house: House, book: Book, soap: Product) -> None:
    sensitise(house, house.wanda)
    declaration = declare(house, book, soap, MILD + ", Parfum, Methylisothiazolinon")
    overrule(house, house.wanda, declaration, "avoid")
    later = NOW + timedelta(days=2)
    refuse_reading(
        declaration=declaration, written="Methylisothiazolinon", book=book, by=house.alice, now=later
    )
    assert meetings(Scope(), book=book, on=TODAY).met[house.wanda.pk, soap.pk].answer == "avoid"


def test_an_accepted_reading_goes_on_where_the_same_words_stand(
    house: House, book: Book, soap: Product
) -> None:
    sensitise(house, house.wanda)
    declaration = declare(house, book, soap, MILD + ", Methylisothiazolinon")
    accept_reading(
        declaration=declaration,
        written="Methylisothiazolinon",
        allergen=MIT,
        book=book,
        by=house.alice,
        now=NOW,
    )
    again = declare(house, book, soap, "Aqua, Methylisothiazolinon")
    met = meetings(Scope(), book=book, on=TODAY).met
    assert met[house.wanda.pk, soap.pk].answer == "avoid"
    assert again.accepted_readings.get().allergen == MIT
    assert not declare(house, book, soap, MILD).accepted_readings.exists()


@pytest.mark.parametrize(("written", "allergen"), [("Glycerol", MIT), ("Glycerin", "moonlight")])
def test_a_reading_of_what_is_not_there_is_refused(
    written: str, allergen: str, house: House, book: Book, soap: Product
) -> None:
    with pytest.raises(BadInput):
        accept_reading(
            declaration=soap.declarations.get(),
            written=written,
            allergen=allergen,
            book=book,
            by=house.alice,
            now=NOW,
        )
    assert not ReadingAccepted.objects.exists()


# ---- An allergy is set down


def test_a_newly_known_allergy_raises_what_must_be_avoided_and_not_what_cannot_be_excluded(
    house: House, book: Book
) -> None:
    for code, text in (("S1", WITH_MIT), ("S2", MILD)):
        product = add(house, code)
        declare(house, book, product, text)
        stock(house, book, product, house.ward_1)
    stock(house, book, add(house, "S3"), house.ward_1)  # nothing declared
    since = meetings(Scope(workers=frozenset({house.wanda.pk})), book=book, on=TODAY)
    sensitise(house, house.wanda)
    with transaction.atomic():
        raise_concerns(since=since, because="allergy", book=book, by=house.alice, now=NOW)
    assert raised() == {("Wanda", "S1", "Ward 1", "allergy", "avoid")}


# ---- A worker moves


def moved(house: House, wards: str) -> None:
    raw = f"Staff number;Given name;Family name;Area;Role\n{wards}".encode()
    kept = keep_staff_list(raw=raw, file_name="staff.csv", file_hash=file_hash(raw), by=house.clara, now=NOW)
    run = dry_run(raw=raw, name="staff.csv", day_first=None, by=house.clara, now=NOW)
    with transaction.atomic():
        take_over(waiting=kept, digest=run.digest, unusual_confirmed=True, by=house.clara, now=NOW)


def test_a_mover_is_raised_where_a_product_they_must_avoid_stands(
    house: House, book: Book, soap: Product
) -> None:
    declare(house, book, soap, WITH_MIT)
    sensitise(house, house.yusuf)
    moved(house, "1001;Wanda;Example;Ward 1;Nurse\n1002;Yusuf;Example;Ward 1;Nurse\n")
    assert raised() == {("Yusuf", "S1", "Ward 1", "post", "avoid")}


def test_a_mover_whom_the_product_reached_before_is_not_raised(
    house: House, book: Book, soap: Product
) -> None:
    declare(house, book, soap, WITH_MIT)
    stock(house, book, soap, house.ward_2)
    sensitise(house, house.yusuf)
    moved(house, "1001;Wanda;Example;Ward 1;Nurse\n1002;Yusuf;Example;Ward 1;Nurse\n")
    assert raised() == set()


def test_a_returner_is_raised_like_a_mover(house: House, book: Book, soap: Product) -> None:
    declare(house, book, soap, WITH_MIT)
    sensitise(house, house.yusuf)
    Post.objects.filter(worker=house.yusuf).update(until_on=TODAY - timedelta(days=50))
    type(house.yusuf).objects.filter(pk=house.yusuf.pk).update(left_on=TODAY - timedelta(days=50))
    moved(house, "1001;Wanda;Example;Ward 1;Nurse\n1002;Yusuf;Example;Ward 1;Nurse\n")
    assert raised() == {("Yusuf", "S1", "Ward 1", "post", "avoid")}


# ---- Today


@pytest.mark.usefixtures("three")
def test_what_is_dealt_with_leaves_today(house: House, book: Book, soap: Product) -> None:
    declare(house, book, soap, WITH_MIT)
    rows, total = concerns_waiting(by=house.bob, now=NOW)
    assert (len(rows), total) == (3, 3)
    assert (rows[0].post.area, rows[0].waiting_days) == (house.ward_1, 0)
    done = rows[0].concern
    deal_with_concern(concern=done, outcome="told", note_text=" A rub instead. ", by=house.bob, now=NOW)
    assert done.outcome.note == "A rub instead."
    rows, total = concerns_waiting(by=house.bob, now=NOW)
    assert total == 2
    assert done not in [row.concern for row in rows]
    with pytest.raises(Conflict):
        deal_with_concern(concern=done, outcome="told", note_text="", by=house.bob, now=NOW)


def test_avoid_comes_first_then_what_waits_longest(house: House, book: Book) -> None:
    sensitise(house, house.wanda)
    stock(house, book, add(house, "S1"), house.ward_1)  # nothing declared: cannot exclude
    for code in ("S2", "S3"):
        product = add(house, code)
        declare(house, book, product, WITH_MIT)
        stock(house, book, product, house.ward_1)
    rows, _ = concerns_waiting(by=house.alice, now=NOW)
    assert [row.concern.product.code for row in rows] == ["S2", "S3", "S1"]


def test_practitioners_never_see_a_concern_about_themselves(house: House, book: Book, soap: Product) -> None:
    sensitise(house, house.wanda)
    type(house.wanda).objects.filter(pk=house.wanda.pk).update(user=house.alice)
    declare(house, book, soap, WITH_MIT)
    about_alice = ProductConcern.objects.get()
    assert concerns_waiting(by=house.alice, now=NOW) == ((), 0)
    assert who_must_avoid(product=soap, by=house.alice, now=NOW, book=book) == ()
    with pytest.raises(NotVisible):
        concern(ref=about_alice.ref, by=house.alice, now=NOW)
    with pytest.raises(NotVisible):
        deal_with_concern(concern=about_alice, outcome="told", note_text="", by=house.alice, now=NOW)
    assert concerns_waiting(by=house.bob, now=NOW)[1] == 1
    assert concern(ref=about_alice.ref, by=house.bob, now=NOW) == about_alice


@pytest.mark.usefixtures("three")
def test_who_must_avoid_a_product_stands_under_their_area(house: House, book: Book, soap: Product) -> None:
    declare(house, book, soap, WITH_MIT)
    (ward,) = who_must_avoid(product=soap, by=house.alice, now=NOW, book=book)
    assert ward.area == house.ward_1
    assert [one.given_name for one in ward.avoid] == ["Uma", "Vera", "Will"]
    assert ward.cannot_exclude == ()


def test_an_outcome_nobody_knows_is_refused(house: House, book: Book, soap: Product) -> None:
    sensitise(house, house.wanda)
    declare(house, book, soap, WITH_MIT)
    with pytest.raises(BadInput):
        deal_with_concern(
            concern=ProductConcern.objects.get(), outcome="forgotten", note_text="", by=house.alice, now=NOW
        )


@pytest.mark.parametrize("who", ["clara", "mona", "ada", "ivy"])
def test_nobody_else_sees_or_deals_with_concerns(house: House, book: Book, soap: Product, who: str) -> None:
    sensitise(house, house.wanda)
    declare(house, book, soap, WITH_MIT)
    asker = make_user("Ivy", AccessRole.INFECTION_PREVENTION) if who == "ivy" else getattr(house, who)
    with pytest.raises(NotAllowed):
        concerns_waiting(by=asker, now=NOW)
    with pytest.raises(NotAllowed):
        who_must_avoid(product=soap, by=asker, now=NOW, book=book)
    with pytest.raises(NotAllowed):
        deal_with_concern(
            concern=ProductConcern.objects.get(), outcome="told", note_text="", by=asker, now=NOW
        )


@pytest.mark.usefixtures("three")
def test_every_concern_and_every_look_is_noted(house: House, book: Book, soap: Product) -> None:
    declare(house, book, soap, WITH_MIT)
    concerns_waiting(by=house.alice, now=NOW)
    one = ProductConcern.objects.first()
    concern(ref=one.ref, by=house.alice, now=NOW)
    deal_with_concern(concern=one, outcome="told", note_text="secret", by=house.alice, now=NOW)
    who_must_avoid(product=soap, by=house.alice, now=NOW, book=book)
    noted = list(AuditRow.objects.order_by("pk").values_list("event", "worker_ref"))
    assert noted[-8:] == [
        ("product declared", ""),
        *(("concern raised", each.worker.ref) for each in ProductConcern.objects.order_by("pk")),
        ("concerns looked at", ""),
        ("concern looked at", one.worker.ref),
        ("concern dealt with", one.worker.ref),
        ("avoiders looked at", ""),
    ]
    assert not AuditRow.objects.filter(why__contains="secret").exists()
