"""What a worker reacts to is set down once, by a clinician, on a ground; lists tell only what they must."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

import pytest

from tests.conftest import NOW, TODAY, House
from tests.records.shelves import MILD, MIT, WITH_MIT, add, declare, raised, stock
from tests.records.test_patch_tests import own_record_of, put_on, read
from thenar.allergy.patch_test import PatchGrade
from thenar.allergy.product import GloveFacts
from thenar.allergy.verdict_terms import Answer
from thenar.errors import BadInput, Conflict, NotAllowed
from thenar.knowledge import Book
from thenar.records.actions.allergies import (
    SomeoneCouldDie,
    overrule,
    set_down_immediate,
    set_down_sensitisation,
    set_glove_size,
    withdraw_allergy,
)
from thenar.records.actions.concerns import deal_with_concern
from thenar.records.actions.product_lists import issue_list
from thenar.records.actions.products import accept_reading
from thenar.records.frozen import content_hash
from thenar.records.judging import Answers, Judged, allergies_of
from thenar.records.models import (
    AccessRole,
    AllergyWithdrawal,
    AuditRow,
    GloveSize,
    ImmediateAllergy,
    IssuedList,
    Overruling,
    PatchTest,
    ProductConcern,
    ProductDeclaration,
    Sensitisation,
    Worker,
)
from thenar.records.queries.allergies import allergies_story, issued_list, own_allergies, own_list
from thenar.records.rights import NotVisible

LATEX = "natural_rubber_latex"
ACCELERATOR = "Zinc diethyldithiocarbamate"
LATEX_GLOVE: dict[str, Any] = {
    "list_kind": "glove chemicals declared",
    "glove": GloveFacts(material="latex"),
}
NEXT_HOUR = NOW + timedelta(hours=1)
REASON = "A use test over a month was well borne."


def her_test(house: House, book: Book) -> PatchTest:
    """Wanda reacted to methylisothiazolinone strongly, and not to nickel."""
    test = put_on(house, book)
    for day in (4, 7):
        read(house, test, day)
    return test


def set_down(house: House, book: Book, **more: Any) -> Sensitisation:
    given = {
        "worker": house.wanda,
        "allergen": MIT,
        "strength": "++",
        "confirmed": False,
        "basis": "letter",
        "test": None,
        "found_on": TODAY,
        "note_text": "",
        "book": book,
        "by": house.alice,
        "now": NOW,
    }
    return set_down_sensitisation(**{**given, **more})


def set_down_at_once(house: House, book: Book, **more: Any) -> ImmediateAllergy:
    given = {
        "worker": house.wanda,
        "allergen": LATEX,
        "severe": False,
        "basis": "prick",
        "found_on": TODAY,
        "note_text": "",
        "book": book,
        "by": house.alice,
        "now": NOW,
    }
    return set_down_immediate(**{**given, **more})


def overruled(
    house: House, book: Book, declaration: ProductDeclaration, answer: str = "no match found", **more: Any
) -> Overruling:
    given = {
        "worker": house.wanda,
        "declaration": declaration,
        "answer": Answer(answer),
        "reason": REASON,
        "book": book,
        "by": house.alice,
        "now": NOW,
    }
    return overrule(**{**given, **more})


def judged(worker: Worker, declaration: ProductDeclaration, book: Book) -> Judged:
    return Answers(allergies_of([worker.pk], book), [declaration], book).of(worker.pk, declaration)


# ---- Sensitisations


def test_a_sensitisation_from_her_own_positive_test_needs_no_more_words(house: House, book: Book) -> None:
    test = her_test(house, book)
    kept = set_down(house, book, basis="patch_test", test=test)
    row = AuditRow.objects.get(event="sensitisation set down")
    assert (row.who, row.target, row.worker_ref, row.data_class) == ("alice", kept.ref, house.wanda.ref, "C1")
    assert (kept.test, kept.edition) == (test, book.edition)


@pytest.mark.parametrize("allergen", ["nickel_sulfate", "bronopol"])
def test_what_the_test_does_not_show_is_set_down_only_with_a_note(
    house: House, book: Book, allergen: str
) -> None:
    """Nickel was negative in it, bronopol was not on it."""
    test = her_test(house, book)
    with pytest.raises(BadInput, match="no positive reaction"):
        set_down(house, book, basis="patch_test", test=test, allergen=allergen, note_text="  ")
    set_down(
        house, book, basis="patch_test", test=test, allergen=allergen, note_text="Positive when repeated"
    )


def test_a_reaction_seen_only_before_the_days_that_count_needs_a_note(house: House, book: Book) -> None:
    test = put_on(house, book)
    read(house, test, 2)
    with pytest.raises(BadInput, match="no positive reaction"):
        set_down(house, book, basis="patch_test", test=test)


def test_a_corrected_reading_no_longer_shows_anything(house: House, book: Book) -> None:
    test = put_on(house, book)
    first = read(house, test, 4)
    read(house, test, 4, grades={2: PatchGrade.NEGATIVE}, corrects=first, correction_reason="Wrong side")
    with pytest.raises(BadInput, match="no positive reaction"):
        set_down(house, book, basis="patch_test", test=test)


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({"allergen": "moonlight"}, "is no allergen"),
        ({"strength": "++++"}, "no strength"),
        ({"basis": "dream"}, "no basis"),
        ({"found_on": TODAY + timedelta(days=1)}, "future"),
        ({"basis": "patch_test"}, "names the test"),
        ({"strength": "?+"}, "doubtful"),
    ],
)
def test_what_cannot_stand_is_refused_whole(
    house: House, book: Book, more: dict[str, Any], says: str
) -> None:
    with pytest.raises(BadInput, match=says):
        set_down(house, book, **more)
    assert not Sensitisation.objects.exists()
    assert not AuditRow.objects.filter(event="sensitisation set down").exists()


def test_a_doubtful_reaction_stands_with_its_note(house: House, book: Book) -> None:
    assert set_down(house, book, strength="?+", note_text="Twice, and an open test").strength == "?+"


def test_a_test_is_the_worker_s_own_and_named_by_no_other_ground(house: House, book: Book) -> None:
    test = her_test(house, book)
    with pytest.raises(BadInput, match="another worker's"):
        set_down(house, book, worker=house.yusuf, basis="patch_test", test=test)
    with pytest.raises(BadInput, match="names the test"):
        set_down(house, book, basis="letter", test=test)
    with pytest.raises(BadInput, match="put on only"):
        set_down(house, book, basis="patch_test", test=test, found_on=test.applied_on - timedelta(days=1))


def test_what_stands_is_not_set_down_twice_and_after_a_withdrawal_it_may_be(house: House, book: Book) -> None:
    first = set_down(house, book)
    with pytest.raises(Conflict, match="already on"):
        set_down(house, book, strength="+++")
    withdraw_allergy(allergy=first, reason="It was +++", by=house.alice, now=NOW)
    set_down(house, book, strength="+++")
    set_down(house, book, worker=house.yusuf)
    assert Sensitisation.objects.count() == 3


# ---- Immediate allergies are records of their own


def test_delayed_and_immediate_allergy_to_one_thing_stand_side_by_side(house: House, book: Book) -> None:
    set_down(house, book, allergen=LATEX)
    set_down_at_once(house, book, severe=True)
    known = allergies_of([house.wanda.pk], book)[house.wanda.pk]
    assert {one.allergen for one in known.delayed} == {one.allergen for one in known.immediate} == {LATEX}


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({"allergen": "moonlight"}, "is no allergen"),
        ({"basis": "patch_test"}, "no basis"),
        ({"found_on": TODAY + timedelta(days=1)}, "future"),
    ],
)
def test_an_immediate_allergy_that_cannot_stand_is_refused(
    house: House, book: Book, more: dict[str, Any], says: str
) -> None:
    with pytest.raises(BadInput, match=says):
        set_down_at_once(house, book, **more)
    assert not ImmediateAllergy.objects.exists()


def test_an_immediate_allergy_is_not_set_down_twice(house: House, book: Book) -> None:
    set_down_at_once(house, book)
    with pytest.raises(Conflict, match="already on"):
        set_down_at_once(house, book, severe=True)


def test_an_unknown_allergen_is_refused_for_someone_no_product_reaches(house: House, book: Book) -> None:
    """Nothing is judged for who has left, so no verdict would stumble over it."""
    house.wanda.left_on = TODAY
    house.wanda.save()
    for act in (set_down, set_down_at_once):
        with pytest.raises(BadInput, match="is no allergen"):
            act(house, book, allergen="moonlight")


# ---- Withdrawal


def test_a_withdrawal_says_why_once_and_the_entry_stays(house: House, book: Book) -> None:
    for allergy in (set_down(house, book), set_down_at_once(house, book)):
        for reason, says in ((" ", "no reason"), ("x" * 301, "301 characters")):
            with pytest.raises(BadInput, match=says):
                withdraw_allergy(allergy=allergy, reason=reason, by=house.alice, now=NOW)
        withdraw_allergy(allergy=allergy, reason="Another's result", by=house.alice, now=NOW)
        with pytest.raises(Conflict, match="already withdrawn"):
            withdraw_allergy(allergy=allergy, reason="Again", by=house.alice, now=NOW)
    story = allergies_story(worker_ref=house.wanda.ref, by=house.alice, now=NOW)
    assert (story.sensitisations, story.immediate, len(story.withdrawn)) == ((), (), 2)
    known = allergies_of([house.wanda.pk], book)[house.wanda.pk]
    assert (known.delayed, known.immediate) == (frozenset(), frozenset())


# ---- Concerns


def test_setting_down_an_allergy_raises_what_is_stocked_where_the_worker_works(
    house: House, book: Book
) -> None:
    for code, area in (("S1", house.ward_1), ("S2", house.ward_2), ("S3", house.ward_1.parent)):
        product = add(house, code)
        declare(house, book, product, WITH_MIT)
        stock(house, book, product, area)
    mild = add(house, "S4")
    declare(house, book, mild, MILD)
    stock(house, book, mild, house.ward_1)
    set_down(house, book)
    assert raised() == {("Wanda", code, "Ward 1", "allergy", "avoid") for code in ("S1", "S3")}


def test_an_immediate_allergy_raises_its_gloves(house: House, book: Book) -> None:
    glove = add(house, "G1", "glove")
    declare(house, book, glove, ACCELERATOR, **LATEX_GLOVE)
    stock(house, book, glove, house.ward_1)
    set_down_at_once(house, book)
    assert raised() == {("Wanda", "G1", "Ward 1", "allergy", "avoid")}


def test_when_the_concerns_cannot_be_raised_nothing_is_set_down(
    house: House, book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(**_: object) -> None:
        raise OSError("disk full")

    monkeypatch.setattr("thenar.records.actions.allergies.raise_concerns", broken)
    with pytest.raises(OSError, match="disk full"):
        set_down(house, book)
    assert not Sensitisation.objects.exists()
    assert not AuditRow.objects.filter(event="sensitisation set down").exists()


# ---- Overruling


@pytest.fixture
def soap(house: House, book: Book) -> ProductDeclaration:
    return declare(house, book, add(house), WITH_MIT)


def test_an_overruling_holds_with_its_reason_and_keeps_what_the_rules_said(
    house: House, book: Book, soap: ProductDeclaration
) -> None:
    set_down(house, book)
    kept = overruled(house, book, soap)
    assert (kept.rules_say, kept.answer, kept.reason) == ("avoid", "no match found", REASON)
    found = judged(house.wanda, soap, book)
    assert (found.verdict.answer, found.answer_in_use) == (Answer.AVOID, Answer.NO_MATCH_FOUND)
    assert judged(house.yusuf, soap, book).overruling is None
    row = AuditRow.objects.get(event="answer overruled")
    assert (row.worker_ref, row.why) == (house.wanda.ref, "")


def test_the_newest_overruling_holds_and_the_rules_answer_takes_it_back(
    house: House, book: Book, soap: ProductDeclaration
) -> None:
    set_down(house, book)
    overruled(house, book, soap)
    overruled(house, book, soap, "avoid", reason="It broke out again")
    assert judged(house.wanda, soap, book).answer_in_use is Answer.AVOID
    assert Overruling.objects.count() == 2


def test_an_overruling_needs_a_reason_and_something_to_overrule(
    house: House, book: Book, soap: ProductDeclaration
) -> None:
    set_down(house, book)
    for more, says in (
        ({"reason": " "}, "no reason"),
        ({"reason": "x" * 401}, "401 characters"),
        ({"answer": Answer.AVOID}, "already say avoid"),
    ):
        with pytest.raises(BadInput, match=says):
            overruled(house, book, soap, **more)
    assert not Overruling.objects.exists()


def test_an_overruling_lapses_with_the_declaration(
    house: House, book: Book, soap: ProductDeclaration
) -> None:
    set_down(house, book)
    overruled(house, book, soap)
    newer = declare(house, book, soap.product, WITH_MIT + ", Parfum")
    assert judged(house.wanda, newer, book).answer_in_use is Answer.AVOID
    with pytest.raises(Conflict, match="something else by now"):
        overruled(house, book, soap)


@pytest.mark.parametrize("began", [NEXT_HOUR, NOW, NOW - timedelta(minutes=1)])
def test_an_overruling_does_not_cover_an_allergy_set_down_after_it(
    house: House, book: Book, began: datetime
) -> None:
    """Both are declared: whoever overruled for the one knew nothing of the other.

    Who sets it down may have begun at the same moment, or before, and waited for their turn.
    """
    soap = declare(house, book, add(house), f"{WITH_MIT}, 2-Bromo-2-Nitropropane-1,3-Diol")
    stock(house, book, soap.product, house.ward_1)
    set_down(house, book)
    overruled(house, book, soap)
    deal_with_concern(
        concern=ProductConcern.objects.get(), outcome="overruled", note_text="", by=house.alice, now=NOW
    )
    set_down(house, book, allergen="bronopol", now=began)
    assert judged(house.wanda, soap, book).answer_in_use is Answer.AVOID
    waiting = ProductConcern.objects.get(outcome__isnull=True)
    assert (waiting.because, waiting.answer, waiting.answer_before) == ("allergy", "avoid", "no match found")


@pytest.mark.parametrize("began", [NEXT_HOUR, NOW, NOW - timedelta(minutes=1)])
def test_an_overruling_does_not_cover_what_an_ingredient_is_later_known_to_mean(
    house: House, book: Book, began: datetime
) -> None:
    """The rules said avoid before and say it now: for one thing more than whoever overruled knew."""
    soap = declare(house, book, add(house), f"{MILD}, Bronopol, Methylisothiazolinon")
    set_down(house, book)
    set_down(house, book, allergen="bronopol")
    kept = overruled(house, book, soap)
    accept_reading(
        declaration=soap,
        written="Methylisothiazolinon",
        allergen=MIT,
        book=book,
        by=house.alice,
        now=began,
    )
    soap = ProductDeclaration.objects.get(pk=soap.pk)
    assert kept.rules_say == judged(house.wanda, soap, book).verdict.answer == "avoid"
    assert judged(house.wanda, soap, book).answer_in_use is Answer.AVOID


def test_an_overruling_of_less_than_the_rules_say_by_now_no_longer_counts(
    house: House, book: Book, soap: ProductDeclaration
) -> None:
    """A later edition may know more: what was overruled was `cannot exclude`, and now it is `avoid`."""
    set_down(house, book)
    facts = {"worker": house.wanda, "declaration": soap, "answer": "no match found", "reason": REASON}
    Overruling.objects.create(
        **facts, rules_say="cannot exclude", edition="an earlier one", at=NOW, by=house.alice
    )
    assert judged(house.wanda, soap, book).answer_in_use is Answer.AVOID


def test_an_avoid_that_could_kill_is_not_overruled(house: House, book: Book) -> None:
    glove = declare(house, book, add(house, "G1", "glove"), ACCELERATOR, **LATEX_GLOVE)
    severe = set_down_at_once(house, book, severe=True)
    for answer in ("no match found", "cannot exclude"):
        with pytest.raises(SomeoneCouldDie, match="die"):
            overruled(house, book, glove, answer)
    assert not Overruling.objects.exists()
    withdraw_allergy(allergy=severe, reason="Not severe: a rash of the hands", by=house.alice, now=NOW)
    set_down_at_once(house, book, severe=False)
    assert overruled(house, book, glove, "cannot exclude").rules_say == "avoid"


def test_an_overruling_no_longer_counts_once_a_severe_allergy_is_known(house: House, book: Book) -> None:
    glove = declare(house, book, add(house, "G1", "glove"), ACCELERATOR, **LATEX_GLOVE)
    mild = set_down_at_once(house, book)
    overruled(house, book, glove, "cannot exclude")
    withdraw_allergy(allergy=mild, reason="It was severe", by=house.alice, now=NEXT_HOUR)
    set_down_at_once(house, book, severe=True, now=NEXT_HOUR)
    assert judged(house.wanda, glove, book).answer_in_use is Answer.AVOID


# ---- Glove size


def test_the_newest_glove_size_holds(house: House) -> None:
    for size in ("7", " 7.5 "):
        set_glove_size(worker=house.wanda, size=size, by=house.alice, now=NOW)
    story = allergies_story(worker_ref=house.wanda.ref, by=house.alice, now=NOW)
    assert story.glove_size == "7.5"
    for size in (" ", "enormous"):
        with pytest.raises(BadInput, match="glove size"):
            set_glove_size(worker=house.wanda, size=size, by=house.alice, now=NOW)
    assert GloveSize.objects.count() == 2


# ---- Lists given out

SUPPLIES = {
    "request": "R-17",
    "area": "Ward 1",
    "products": [{"category": "soap", "code": "S4", "name": "Product S4"}],
}


def give(house: House, content: Mapping[str, object], made_for: str = "supplies", **more: Any) -> IssuedList:
    given = {
        "worker": house.wanda,
        "made_for": made_for,
        "content": content,
        "valid_until": TODAY + timedelta(days=365),
        "edition": "2026.1",
        "by": house.alice,
        "now": NOW,
    }
    return issue_list(**{**given, **more})


def test_a_list_is_frozen_as_it_was_given_out(house: House) -> None:
    kept = give(house, {"avoid": ["Methylisothiazolinone"]}, "worker")
    kept.refresh_from_db()
    assert (kept.from_on, kept.content_hash) == (TODAY, content_hash({"avoid": ["Methylisothiazolinone"]}))
    row = AuditRow.objects.get(event="product list given")
    assert (row.target, row.worker_ref, row.data_class) == (kept.ref, house.wanda.ref, "C1")


def test_supplies_get_area_request_and_products_and_no_health_leaves_the_room(house: House) -> None:
    kept = give(house, SUPPLIES)
    row = AuditRow.objects.get(event="product list given to supplies")
    assert (row.target, row.data_class) == (kept.ref, "C2")


@pytest.mark.parametrize(
    "more",
    [
        {"allergens": ["methylisothiazolinone"]},
        {"diagnosis": "allergic contact dermatitis"},
        {"products": [{"code": "S1", "reasons": ["declares methylisothiazolinone"]}]},
        {"worker": "Wanda Example"},
        {"worker": "Wanda Example", "worker_agreed": False},
        {"worker": "Wanda Example", "worker_agreed": "no"},
        {"request": "For wanda example"},
        {"request": "1001"},
    ],
)
def test_supplies_are_never_told_more_than_they_need(house: House, more: dict[str, object]) -> None:
    with pytest.raises(BadInput, match=r"has no place for|names the worker"):
        give(house, {**SUPPLIES, **more})
    assert not IssuedList.objects.exists()


def test_supplies_are_told_the_name_after_a_yes(house: House) -> None:
    kept = give(house, {**SUPPLIES, "worker": "Wanda Example", "worker_agreed": True})
    assert kept.content["worker"] == "Wanda Example"


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({"made_for": "the press"}, "the press"),
        ({"content": {}}, "says nothing"),
        ({"valid_until": TODAY - timedelta(days=1)}, "run out"),
    ],
)
def test_a_list_of_no_use_is_refused(house: House, more: dict[str, Any], says: str) -> None:
    with pytest.raises(BadInput, match=says):
        give(house, **{"content": SUPPLIES, **more})
    assert not IssuedList.objects.exists()


# ---- Who may


@pytest.mark.parametrize("who", ["clara", "mona", "ada", "wanda", "lead"])
def test_nobody_but_a_practitioner_writes_what_someone_reacts_to(
    house: House, book: Book, soap: ProductDeclaration, who: str
) -> None:
    house.bob.access = AccessRole.LEAD
    house.bob.save()
    someone = {"wanda": house.wanda.user, "lead": house.bob}.get(who) or getattr(house, who)
    kept = set_down(house, book)
    for write in (
        lambda: set_down(house, book, worker=house.yusuf, by=someone),
        lambda: set_down_at_once(house, book, by=someone),
        lambda: withdraw_allergy(allergy=kept, reason="No", by=someone, now=NOW),
        lambda: overruled(house, book, soap, by=someone),
        lambda: set_glove_size(worker=house.wanda, size="7", by=someone, now=NOW),
        lambda: give(house, SUPPLIES, by=someone),
    ):
        with pytest.raises(NotAllowed):
            write()
    assert Sensitisation.objects.count() == 1
    for kind in (ImmediateAllergy, AllergyWithdrawal, Overruling, GloveSize, IssuedList):
        assert not kind._default_manager.exists()


def test_no_practitioner_writes_what_they_themselves_react_to(
    house: House, book: Book, soap: ProductDeclaration
) -> None:
    kept = set_down(house, book)
    own = own_record_of(house.wanda)
    for write in (
        lambda: set_down(house, book, allergen="nickel_sulfate", by=own),
        lambda: set_down_at_once(house, book, by=own),
        lambda: withdraw_allergy(allergy=kept, reason="It is mine", by=own, now=NOW),
        lambda: overruled(house, book, soap, by=own),
        lambda: set_glove_size(worker=house.wanda, size="7", by=own, now=NOW),
        lambda: give(house, SUPPLIES, by=own),
    ):
        with pytest.raises(NotVisible):
            write()
    assert Sensitisation.objects.count() == 1
    for kind in (ImmediateAllergy, AllergyWithdrawal, Overruling, GloveSize, IssuedList):
        assert not kind._default_manager.exists()


@pytest.mark.parametrize("who", ["clara", "mona", "ada", "wanda"])
def test_nobody_else_reads_them_through_the_clinic(house: House, who: str) -> None:
    someone = house.wanda.user if who == "wanda" else getattr(house, who)
    kept = give(house, SUPPLIES)
    with pytest.raises(NotAllowed):
        allergies_story(worker_ref=house.wanda.ref, by=someone, now=NOW)
    with pytest.raises(NotAllowed):
        issued_list(ref=kept.ref, by=someone, now=NOW)


def test_every_look_is_noted_about_the_worker(house: House) -> None:
    kept = give(house, SUPPLIES)
    allergies_story(worker_ref=house.wanda.ref, by=house.bob, now=NOW)
    issued_list(ref=kept.ref, by=house.bob, now=NOW)
    rows = AuditRow.objects.filter(event="record looked at").order_by("pk")
    assert [(row.who, row.worker_ref, row.why, row.data_class) for row in rows] == [
        ("bob", house.wanda.ref, "allergies", "C1"),
        ("bob", house.wanda.ref, "product list", "C1"),
    ]


def test_ones_own_allergies_read_like_nobody_s_through_the_clinic(house: House) -> None:
    kept = give(house, SUPPLIES)
    own = own_record_of(house.wanda)
    for ref in (house.wanda.ref, "a" * 12):
        with pytest.raises(NotVisible):
            allergies_story(worker_ref=ref, by=own, now=NOW)
    for ref in (kept.ref, "a" * 12):
        with pytest.raises(NotVisible):
            issued_list(ref=ref, by=own, now=NOW)


def test_a_worker_sees_what_is_on_record_and_who_set_it_down(house: House, book: Book) -> None:
    set_down(house, book)
    kept = give(house, SUPPLIES)
    assert house.wanda.user is not None
    story = own_allergies(by=house.wanda.user, now=NOW)
    assert [(one.allergen, one.by.called) for one in story.sensitisations] == [(MIT, "Alice Example")]
    assert story.issued == (kept,)
    assert own_list(ref=kept.ref, by=house.wanda.user, now=NOW) == kept
    events = AuditRow.objects.filter(worker_ref=house.wanda.ref, who="wanda").values_list("event", flat=True)
    assert set(events) == {"own allergies looked at", "own product list looked at"}


def test_a_worker_sees_nobody_else_s_list(house: House) -> None:
    kept = give(house, SUPPLIES)
    assert house.yusuf.user is not None
    with pytest.raises(NotVisible):
        own_list(ref=kept.ref, by=house.yusuf.user, now=NOW)
    with pytest.raises(NotVisible):
        own_allergies(by=house.alice, now=NOW)
