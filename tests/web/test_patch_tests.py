"""Patch tests on screen: put on, read, judged, proposed; nothing kept unsaid, nothing typed lost."""

import csv
import io
import re
from collections.abc import Callable, Mapping
from datetime import date, timedelta
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from tests.conftest import NOW, TODAY, House
from tests.web.clinic_house import key_of, problems_of, send, text_of, words_of
from tests.web.wanda import in_case
from thenar.allergy.patch_test import Kind, OwnProduct, PatchGrade, Position
from thenar.allergy.product import Category
from thenar.knowledge import Book, load
from thenar.records.actions.patch_tests import apply_patch_test, end_patch_test, read_patch_test
from thenar.records.models import (
    AccessRole,
    AuditRow,
    PatchReading,
    PatchRelevance,
    PatchTest,
    PatchTestEnd,
    Sensitisation,
    User,
)
from thenar.records.patch_tests import as_patch_test, grades_of, positions_of
from thenar.screens import clock
from thenar.screens.patch.back import back_of

SignIn = Callable[[User], Client]
BASELINE = "european-baseline-2019"
G = PatchGrade
NICKEL = Position(1, "nickel_sulfate", "5 %", "pet", BASELINE)
THIURAM = Position(2, "thiuram_mix", "1 %", "pet", BASELINE)
MIT = Position(3, "methylisothiazolinone", "0.2 %", "aq", BASELINE)
FORMALDEHYDE = Position(4, "formaldehyde", "2 %", "aq", BASELINE)
SOAP = Position(5, "the soap at home", "", "", kind=Kind.OWN_PRODUCT, own=OwnProduct(Category.SOAP, "as is"))
FIVE = (NICKEL, THIURAM, MIT, FORMALDEHYDE, SOAP)
MONDAY = TODAY - timedelta(days=7)
QUIET = dict.fromkeys(range(1, 6), G.NEGATIVE)


@pytest.fixture(autouse=True)
def _one_day(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: NOW)
    monkeypatch.setattr(clock, "today", lambda: TODAY)


@pytest.fixture
def tested(house: House, book: Book) -> PatchTest:
    return put_on(house, book)


@pytest.fixture
def alice(house: House, signed_in: SignIn) -> Client:
    return signed_in(house.alice)


def put_on(house: House, book: Book, **more: Any) -> PatchTest:
    given = {
        "worker": house.wanda,
        "case": None,
        "applied_on": MONDAY,
        "series": (BASELINE,),
        "positions": FIVE,
        "note_text": "",
        "book": book,
        "by": house.alice,
        "now": NOW,
    }
    return apply_patch_test(**{**given, **more})


def read(
    house: House, test: PatchTest, day: int, grades: Mapping[int, PatchGrade], **more: Any
) -> PatchReading:
    return read_patch_test(
        test=test,
        read_on=test.applied_on + timedelta(days=day),
        grades={**QUIET, **grades},
        note_text="",
        book=load(),
        by=house.alice,
        now=NOW,
        **more,
    )


def page_of(test: PatchTest, then: str = "") -> str:
    return f"/patch-tests/{test.ref}/{then}"


def pages(house: House, test: PatchTest) -> dict[str, str]:
    return {
        "new": f"/workers/{house.wanda.ref}/patch-tests/new/",
        "from file": f"/workers/{house.wanda.ref}/patch-tests/file/",
        "test": page_of(test),
        "read": page_of(test, "read/"),
        "relevance": page_of(test, "relevance/"),
        "end": page_of(test, "end/"),
        "propose": page_of(test, "propose/"),
        "quality": "/patch-tests/quality/",
        "file": "/patch-tests/file/",
    }


WRITES = ("new", "from file", "read", "relevance", "end", "propose")
OF_ONE = ("new", "from file", "test", "read", "relevance", "end", "propose")
EVERY = (*OF_ONE, "quality", "file")


# ---- Who may


@pytest.mark.parametrize("page", EVERY)
@pytest.mark.parametrize("who", ["clara", "mona", "ada", "wanda"])
def test_nobody_but_the_practitioner_and_the_lead_may(
    who: str, page: str, house: House, tested: PatchTest, signed_in: SignIn
) -> None:
    someone = house.wanda.user if who == "wanda" else getattr(house, who)
    response = signed_in(someone).get(pages(house, tested)[page])
    assert response.status_code == 403
    assert "nickel" not in words_of(response).lower()
    assert AuditRow.objects.filter(event="refused", who=someone.username).count() == 1


@pytest.mark.parametrize("page", WRITES)
def test_a_lead_reads_and_does_not_write(
    page: str, house: House, tested: PatchTest, signed_in: SignIn
) -> None:
    house.bob.access = AccessRole.LEAD
    house.bob.save()
    lead = signed_in(house.bob)
    shown = lead.get(page_of(tested))
    assert shown.status_code == 200
    assert "Write down a reading" not in words_of(shown)
    assert lead.get("/patch-tests/quality/").status_code == 200
    assert lead.get(pages(house, tested)[page]).status_code == 403
    assert lead.post(pages(house, tested)[page], {}).status_code == 403


@pytest.mark.parametrize("page", OF_ONE)
def test_ones_own_record_reads_like_one_that_is_not_there(
    page: str, house: House, tested: PatchTest, signed_in: SignIn
) -> None:
    own = house.wanda.user
    assert own is not None
    own.access = AccessRole.PRACTITIONER
    own.save()
    address = pages(house, tested)[page]
    ref = address.strip("/").split("/")[1]
    hidden, absent = (signed_in(own).get(one) for one in (address, address.replace(ref, "a" * 12)))
    assert (hidden.status_code, absent.status_code) == (404, 404)
    assert words_of(hidden) == words_of(absent)


@pytest.mark.parametrize("page", OF_ONE)
def test_each_look_is_noted(page: str, house: House, tested: PatchTest, alice: Client) -> None:
    before = AuditRow.objects.count()
    assert alice.get(pages(house, tested)[page]).status_code == 200
    (row,) = AuditRow.objects.order_by("pk")[before:]
    assert (row.who, row.worker_ref, row.why) == ("alice", house.wanda.ref, "patch test")


@pytest.mark.parametrize("page", WRITES)
def test_a_form_without_its_key_keeps_nothing(
    page: str, house: House, tested: PatchTest, alice: Client
) -> None:
    read(house, tested, 4, {3: G.STRONG})
    looks = ["record looked at"]
    before = AuditRow.objects.exclude(event__in=looks).count()
    fields = {
        "new": {"applied_on": "2 March 2026", "series": BASELINE, "do": "keep"},
        "from file": {"text": LINES, "do": "keep"},
        "read": {"read_on": "2 March 2026", "open_positions": "negative", "do": "sure"},
        "relevance": {"relevance-3": "current"},
        "end": {"how": "not_back", "ended_on": "2 March 2026"},
        "propose": {
            "take-methylisothiazolinone": "on",
            "strength-methylisothiazolinone": "++",
            "found_on": "2 March 2026",
        },
    }[page]
    response = alice.post(pages(house, tested)[page], fields)
    assert "lost its key" in words_of(response)
    assert AuditRow.objects.exclude(event__in=looks).count() == before


# ---- Putting it on


def applied(alice: Client, house: House, do: str, **fields: object) -> object:
    given = {"applied_on": "2 March 2026", "do": do, "rows": "4", **fields}
    return send(alice, f"/workers/{house.wanda.ref}/patch-tests/new/", given)


def test_each_series_says_how_far_its_members_are_known(house: House, alice: Client, book: Book) -> None:
    words = words_of(alice.get(f"/workers/{house.wanda.ref}/patch-tests/new/"))
    assert "members from memory" in words
    assert "the members of that revision are not confirmed, so it is not offered here" in words
    for series in book.allergens.series.values():
        assert series.name in words


def test_nothing_is_kept_before_the_numbered_positions_were_looked_over(house: House, alice: Client) -> None:
    looked = words_of(applied(alice, house, "look", series="plastic-glove"))
    assert "Nothing is kept yet" in looked
    assert not PatchTest.objects.exists()
    kept = applied(alice, house, "keep", series="plastic-glove")
    assert kept.status_code == 302  # type: ignore[attr-defined]
    assert PatchTest.objects.count() == 1


def test_series_singles_products_and_control_are_numbered_in_that_order(
    house: House, book: Book, alice: Client
) -> None:
    case = in_case(house)
    fields = {
        "series": "plastic-glove",
        "case": case.ref,
        "allergen-1": "Bronopol",  # a name on labels
        "allergen-2": "26172-55-4",  # methylchloroisothiazolinone by its CAS number
        "strength-2": "0.01 %",
        "vehicle-2": "aq",
        "product-1": "Soap at home",
        "kind-1": "soap",
        "prepared-1": "1 % in water",
        "control": "0.25 %",
    }
    applied(alice, house, "keep", **fields)
    test = PatchTest.objects.get()
    kept = positions_of(test)
    in_series = len(book.allergens.series["plastic-glove"].items)
    assert [one.number for one in kept] == list(range(1, in_series + 5))
    after = kept[in_series:]
    assert [one.hapten for one in after] == [
        "bronopol",
        "methylchloroisothiazolinone",
        "Soap at home",
        "sodium lauryl sulfate",
    ]
    usual = book.allergens.allergens["bronopol"].preparation
    assert usual is not None
    assert (after[0].concentration, after[0].vehicle) == (usual.concentration, usual.vehicle)
    assert after[2].own == OwnProduct(Category.SOAP, "1 % in water")
    assert after[3].kind is Kind.IRRITANT_CONTROL
    assert test.case == case


def test_the_worker_is_told_the_days_to_come(house: House, alice: Client) -> None:
    words = words_of(applied(alice, house, "look", series="plastic-glove"))
    # Put on Monday 2 March: day 2 is Wednesday 4, days 3 and 4 Thursday 5 and Friday 6, day 7 Monday 9.
    assert "come off on Wednesday 4 March" in words
    assert "Thursday 5 March to Friday 6 March" in words
    assert "Monday 9 March" in words
    assert "from memory" in words


def test_a_soap_as_it_is_is_warned_of_before_it_is_put_on(house: House, alice: Client) -> None:
    fields = {"product-1": "Soap at home", "kind-1": "soap", "prepared-1": "as is"}
    assert "burns under a patch" in words_of(applied(alice, house, "look", **fields))


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({}, "Nothing is chosen"),
        ({"allergen-1": "Moonlight"}, "“Moonlight” is no allergen that is known here"),
        ({"allergen-1": "Methylisothiazo1inone"}, "Is it “Methylisothiazolinone”?"),
        ({"product-1": "Soap"}, "Choose what kind of product it is"),
        ({"product-1": "Soap", "kind-1": "soap"}, "Say how it was prepared"),
        ({"strength-1": "1 %"}, "Say which allergen this is"),
        ({"product-1": "=Soap", "kind-1": "soap", "prepared-1": "as is"}, "without “=” at the front"),
        ({"series": BASELINE, "applied_on": "3 March 2026"}, "has not come yet"),
        ({"series": BASELINE, "applied_on": "3 March 1962"}, "1962"),
        ({"series": "moonlight"}, "moonlight"),
    ],
)
@pytest.mark.parametrize("do", ["look", "keep"])
def test_what_cannot_be_put_on_is_asked_back_and_what_was_typed_stays(
    do: str, house: House, alice: Client, fields: dict[str, str], says: str
) -> None:
    response = applied(alice, house, do, **{"note": "Typed before", **fields})
    assert says in problems_of(response)
    assert "Typed before" in text_of(response)
    for typed in fields.values():
        assert typed in text_of(response)
    assert not PatchTest.objects.exists()


def test_a_strength_published_as_a_range_is_asked_for(house: House, alice: Client, book: Book) -> None:
    ranged = next(
        one
        for one in book.allergens.allergens.values()
        if one.preparation and " or " in one.preparation.concentration
    )
    response = applied(alice, house, "look", **{"allergen-1": ranged.name})
    assert f"Published as {ranged.preparation.concentration}" in problems_of(response)  # type: ignore[union-attr]


def test_more_rows_lose_nothing_and_change_nothing(house: House, alice: Client) -> None:
    fields = {"allergen-1": "Bronopol", "series": [BASELINE, "rubber"], "note": "Typed before"}
    page = text_of(applied(alice, house, "more", **fields))
    assert 'name="allergen-10"' in page
    assert 'value="Bronopol"' in page
    assert len(re.findall(r'name="series"[^>]* checked', page)) == 2
    assert "Typed before" in page
    assert not PatchTest.objects.exists()


def test_sent_twice_it_is_put_on_once(house: House, alice: Client) -> None:
    address = f"/workers/{house.wanda.ref}/patch-tests/new/"
    page = text_of(applied(alice, house, "look", series="rubber"))
    fields = dict(re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', page))
    for _ in range(2):
        assert alice.post(address, {**fields, "do": "keep"}).status_code == 302
    assert PatchTest.objects.count() == 1


# ---- Reading it


def graded(alice: Client, test: PatchTest, **fields: object) -> object:
    grades = {name.replace("_", "-"): grade for name, grade in fields.items() if name.startswith("grade")}
    rest = {name: value for name, value in fields.items() if not name.startswith("grade")}
    return send(
        alice,
        page_of(test, "read/"),
        {"read_on": "28 February 2026", "open_positions": "ask", "do": "record", **rest, **grades},
    )  # day 5 of a test put on on 23 February


def test_every_position_must_be_given_and_the_missing_ones_are_named(
    tested: PatchTest, alice: Client
) -> None:
    response = graded(alice, tested, grade_1="-", grade_3="++", note="Typed before")
    assert "Positions 2, 4, 5 have no grade" in problems_of(response)
    assert re.search(r'name="grade-3" value="\+\+"[^>]* checked', text_of(response))
    assert "Typed before" in text_of(response)
    assert not PatchReading.objects.exists()


def test_what_was_left_open_is_negative_only_after_it_was_asked_back(
    tested: PatchTest, alice: Client
) -> None:
    asked = graded(alice, tested, grade_3="++", open_positions="negative")
    words = words_of(asked)
    assert "4 positions without a grade become negative" in words
    assert "Thiuram mix" in words
    assert not PatchReading.objects.exists()
    graded(alice, tested, grade_3="++", open_positions="negative", do="sure")
    assert grades_of(PatchReading.objects.get()) == {**QUIET, 3: G.STRONG}


def test_back_from_being_asked_every_grade_is_still_there(tested: PatchTest, alice: Client) -> None:
    page = text_of(graded(alice, tested, grade_3="++", open_positions="negative", do="change"))
    assert re.search(r'name="grade-3" value="\+\+"[^>]* checked', page)
    assert not PatchReading.objects.exists()


def test_what_was_not_looked_at_stays_unread_and_is_not_negative(tested: PatchTest, alice: Client) -> None:
    graded(alice, tested, grade_3="+++", open_positions="not looked at")
    assert grades_of(PatchReading.objects.get()) == {3: G.EXTREME}
    assert "not read" in words_of(alice.get(page_of(tested)))


@pytest.mark.parametrize(
    ("read_on", "says"),
    [
        ("22 February 2026", "before the test was put on"),
        ("23 February 2026", "the day the test was put on"),
        ("3 March 2026", "has not come yet"),
    ],
)
def test_a_day_that_cannot_be_is_refused_and_the_grades_stay(
    read_on: str, says: str, tested: PatchTest, alice: Client
) -> None:
    all_of_them = {f"grade_{number}": "-" for number in range(1, 5)} | {"grade_5": "IR"}
    response = graded(alice, tested, read_on=read_on, **all_of_them)
    assert says in problems_of(response)
    assert re.search(r'name="grade-5" value="IR"[^>]* checked', text_of(response))
    assert not PatchReading.objects.exists()


def test_a_grade_of_nobodys_and_one_on_a_position_of_nothing_are_not_kept(
    tested: PatchTest, alice: Client
) -> None:
    response = graded(alice, tested, grade_1="purple", open_positions="negative", do="sure")
    assert "Choose one of the grades" in problems_of(response)
    graded(alice, tested, grade_77="+++", open_positions="negative", do="sure")
    assert 77 not in grades_of(PatchReading.objects.get())


def test_a_second_reading_of_a_day_is_refused_and_a_correction_needs_its_reason(
    house: House, tested: PatchTest, alice: Client
) -> None:
    first = read(house, tested, 5, {3: G.WEAK})
    whole = {f"grade_{number}": "-" for number in range(1, 6)} | {"grade_3": "++"}
    assert "already a reading" in problems_of(graded(alice, tested, **whole))
    response = graded(alice, tested, corrects=first.ref, **whole)
    assert "Say why" in problems_of(response)
    graded(alice, tested, corrects=first.ref, correction_reason="One too low.", **whole)
    words = words_of(alice.get(page_of(tested)))
    assert "Why: One too low." in words
    assert "no longer counts" in words
    assert PatchReading.objects.count() == 2


def test_a_correction_begins_with_the_grades_it_corrects(
    house: House, tested: PatchTest, alice: Client
) -> None:
    first = read(house, tested, 4, {3: G.WEAK})
    page = text_of(alice.get(page_of(tested, f"read/?corrects={first.ref}")))
    assert re.search(r'name="grade-3" value="\+"[^>]* checked', page)
    assert "27 February 2026" in page
    assert alice.get(page_of(tested, "read/?corrects=aaaaaaaaaaaa")).status_code == 404


# ---- The page of a test


def test_the_page_shows_grades_by_day_pattern_and_outcome(
    house: House, tested: PatchTest, alice: Client
) -> None:
    read(house, tested, 2, {3: G.WEAK})
    read(house, tested, 4, {3: G.STRONG, 4: G.DOUBTFUL})
    words = words_of(alice.get(page_of(tested)))
    assert "D2" in words
    assert "D4" in words
    assert "Grows" in words
    assert "Positive" in words
    assert "Doubtful" in words


def test_a_missed_reading_is_warned_of_with_the_published_share_and_its_source(
    house: House, tested: PatchTest, alice: Client
) -> None:
    read(house, tested, 2, {})
    words = words_of(alice.get(page_of(tested)))
    assert "A reading was not taken: D3 or D4" in words
    # German-speaking network: 6,424 patients; the share stands in patch-test.missed.without-day-3
    assert re.search(r"Share of positive reactions that appear only on day 3: \d", words)
    assert "German-speaking network" in words


def test_a_whole_negative_test_is_nowhere_called_safe_or_clear(
    house: House, tested: PatchTest, alice: Client
) -> None:
    for day in (2, 4, 7):
        read(house, tested, day, {})
    for page in (page_of(tested), page_of(tested, "propose/")):
        words = words_of(alice.get(page)).lower()
        assert "safe" not in words
        assert "all clear" not in words
        assert "No negative test clears a product".lower() in words or "clears nothing" in words


def test_the_drawing_says_in_words_what_it_shows(house: House, tested: PatchTest, alice: Client) -> None:
    read(house, tested, 4, {3: G.STRONG})
    drawing = re.search(
        r"<svg class=\"back-drawing\".*?</svg>", text_of(alice.get(page_of(tested))), re.DOTALL
    )
    assert drawing is not None
    assert 'role="img"' in drawing.group()
    assert "Reactions at the latest reading: 3 Methylisothiazolinone strong. Negative: 4. Not read: 0." in (
        drawing.group()
    )
    assert len(re.findall("<rect ", drawing.group())) == 5
    assert drawing.group().count("is-positive") == 1


@pytest.mark.parametrize("count", [1, 10, 11, 43, 120])
def test_every_position_has_one_chamber_and_no_two_share_a_place(count: int) -> None:
    positions = [Position(number, "x", "1", "pet") for number in range(1, count + 1)]
    back = back_of(positions)
    chambers = [chamber for strip in back.strips for chamber in strip.chambers]
    assert [one.position for one in chambers] == positions
    assert len({(one.x, one.y) for one in chambers}) == count
    assert all(0 < one.x < back.width - one.size and 0 < one.y < back.height - one.size for one in chambers)
    assert all(len(strip.chambers) <= 10 for strip in back.strips)


# ---- Relevance and end


def test_relevance_is_kept_where_it_changed_and_only_there(
    house: House, tested: PatchTest, alice: Client
) -> None:
    read(house, tested, 4, {3: G.STRONG, 4: G.WEAK})
    address = page_of(tested, "relevance/")
    send(alice, address, {"relevance-3": "current", "note-3": "In the ward soap"})
    send(alice, address, {"relevance-3": "current", "note-3": "In the ward soap", "relevance-4": "past"})
    assert list(PatchRelevance.objects.values_list("position", "relevance").order_by("pk")) == [
        (3, "current"),
        (4, "past"),
    ]
    words = words_of(alice.get(page_of(tested)))
    assert "C: explains the trouble now" in words
    assert "In the ward soap" in words


def test_a_note_without_a_judgement_is_asked_back(house: House, tested: PatchTest, alice: Client) -> None:
    read(house, tested, 4, {3: G.STRONG})
    response = send(alice, page_of(tested, "relevance/"), {"note-3": "In the ward soap"})
    assert "Choose what the reaction explains" in problems_of(response)
    assert "In the ward soap" in text_of(response)
    assert not PatchRelevance.objects.exists()


def test_what_did_not_react_has_no_relevance_to_give(tested: PatchTest, house: House, alice: Client) -> None:
    read(house, tested, 4, {})
    assert "No reaction is written down" in words_of(alice.get(page_of(tested, "relevance/")))


def test_ending_tells_what_was_not_read_and_an_unread_test_is_not_complete(
    tested: PatchTest, alice: Client
) -> None:
    address = page_of(tested, "end/")
    assert "Not all was read" in words_of(alice.get(address))
    fields = {"how": "complete", "ended_on": "2 March 2026", "note": "Typed before"}
    response = send(alice, address, fields)
    assert "no reading names position" in problems_of(response)
    assert "Typed before" in text_of(response)
    assert not PatchTestEnd.objects.exists()
    send(alice, address, {**fields, "how": "not_back"})
    assert PatchTestEnd.objects.get().how == "not_back"


# ---- From results to sensitisations


def test_a_reading_alone_sets_nothing_down(house: House, tested: PatchTest, alice: Client) -> None:
    read(house, tested, 4, {3: G.EXTREME})
    words = words_of(alice.get(page_of(tested, "propose/")))
    assert "These are proposals" in words
    assert not Sensitisation.objects.exists()
    response = send(alice, page_of(tested, "propose/"), {"found_on": "27 February 2026"})
    assert "Nothing is ticked" in problems_of(response)
    assert not Sensitisation.objects.exists()


def proposed(alice: Client, test: PatchTest, *allergens: str, **more: str) -> object:
    fields = {"found_on": "27 February 2026"}
    for one in ("methylisothiazolinone", "thiuram_mix", "formaldehyde"):
        fields |= {f"strength-{one}": more.get(one, "++"), f"note-{one}": more.get(f"note_{one}", "")}
    return send(alice, page_of(test, "propose/"), {**fields, **{f"take-{one}": "on" for one in allergens}})


def test_only_what_is_ticked_is_set_down_and_names_its_test(
    house: House, tested: PatchTest, alice: Client
) -> None:
    read(house, tested, 4, {2: G.STRONG, 3: G.EXTREME})
    response = proposed(alice, tested, "methylisothiazolinone", methylisothiazolinone="+++")
    assert response["Location"] == f"/workers/{house.wanda.ref}/allergies/"  # type: ignore[index]
    kept = Sensitisation.objects.get()
    assert (kept.allergen, kept.strength, kept.test, kept.basis, kept.found_on) == (
        "methylisothiazolinone",
        "+++",
        tested,
        "patch_test",
        date(2026, 2, 27),
    )
    assert "On record since 27 February 2026" in words_of(alice.get(page_of(tested, "propose/")))


def test_a_doubtful_reaction_asks_for_confirming_and_for_a_note(
    house: House, tested: PatchTest, alice: Client
) -> None:
    read(house, tested, 4, {4: G.DOUBTFUL, 3: G.STRONG})
    words = words_of(alice.get(page_of(tested, "propose/")))
    assert "Confirm first The reaction is doubtful." in words
    both = ("formaldehyde", "methylisothiazolinone")
    response = proposed(alice, tested, *both, formaldehyde="?+")
    assert "say why it counts" in problems_of(response)
    assert not Sensitisation.objects.exists()  # not the certain one either: all that is ticked, or nothing
    proposed(alice, tested, *both, formaldehyde="?+", note_formaldehyde="Open test positive.")
    assert Sensitisation.objects.count() == 2


def test_a_weak_reaction_to_an_irritant_preparation_asks_for_confirming(
    house: House, book: Book, alice: Client
) -> None:
    irritant = next(
        one for one in book.allergens.allergens.values() if one.irritant_preparation and not one.components
    )
    test = put_on(house, book, positions=(Position(1, irritant.id, "1 %", "pet"),))
    read_patch_test(
        test=test,
        read_on=MONDAY + timedelta(4),
        grades={1: G.WEAK},
        note_text="",
        book=book,
        by=house.alice,
        now=NOW,
    )
    assert "this preparation is known to irritate" in words_of(alice.get(page_of(test, "propose/")))


def test_a_negative_mix_is_said_to_clear_nothing_and_its_parts_stay_open(
    house: House, tested: PatchTest, alice: Client
) -> None:
    read(house, tested, 4, {})
    words = words_of(alice.get(page_of(tested, "propose/")))
    assert "A negative mix clears nothing" in words
    assert "Thiuram mix. Its parts stay open: Tetramethylthiuram disulfide" in words
    assert "no late reading: clears nothing yet" in words  # of nickel, which was not read about day 7


def test_an_own_product_that_reacted_names_no_allergen(
    house: House, tested: PatchTest, alice: Client
) -> None:
    read(house, tested, 4, {5: G.WEAK})
    words = words_of(alice.get(page_of(tested, "propose/")))
    assert "The test proposes nothing" in words
    assert "the soap at home, position 5" in words
    assert "Test its ingredients one by one" in words


# ---- Figures and files


def test_the_figures_name_nobody_and_few_tests_are_too_few(
    house: House, tested: PatchTest, alice: Client
) -> None:
    read(house, tested, 4, {3: G.STRONG, 4: G.DOUBTFUL})
    words = words_of(alice.get("/patch-tests/quality/"))
    assert "Wanda" not in words
    assert "1001" not in words
    assert "Too few to say" in words
    assert "0 of 2 preparations with a reaction can be judged" in words
    row = AuditRow.objects.get(event="patch test figures looked at")
    assert (row.who, row.why, row.worker_ref) == ("alice", "1 tests", "")


def test_the_profile_counts_what_is_on_record_and_calls_the_rest_not_known(
    house: House, book: Book, alice: Client
) -> None:
    put_on(house, book)
    second = put_on(house, book, worker=house.yusuf)
    read(house, second, 4, {3: G.STRONG})
    page = text_of(alice.get("/patch-tests/quality/"))
    rows = {
        re.sub(r"<[^>]+>", "", name): re.sub(r"<[^>]+>", " ", rest).split()
        for name, rest in re.findall(r'<th scope="row">((?:Male|Aged|Positive)[^<]*)</th>(.*?)</tr>', page)
    }
    assert rows["Male"][-1] == "2"  # both not known
    # Both were born on 17 May 1990 and tested in February 2026, at 35: none of two is 40 or older.
    assert rows["Aged 40 or older"][:3] == ["0", "of", "2"]
    # One positive; of the other, never read, nobody knows.
    positive = rows["Positive to at least one allergen of the baseline series"]
    assert (positive[:3], positive[-1]) == (["1", "of", "1"], "1")


def test_a_period_out_of_order_is_asked_back(alice: Client) -> None:
    fields = {"from_on": "2 March 2026", "until_on": "1 March 2026", "baseline": BASELINE}
    assert "lies before the first" in problems_of(alice.get("/patch-tests/quality/", fields))


PERIOD = {"from_on": "1 January 2026", "until_on": "2 March 2026", "baseline": BASELINE}


def test_the_file_holds_every_reading_and_no_name_and_reads_back_the_same(
    house: House, tested: PatchTest, alice: Client
) -> None:
    read(house, tested, 4, {3: G.STRONG})
    response = alice.get("/patch-tests/file/", PERIOD)
    text = text_of(response)
    assert "attachment" in response["Content-Disposition"]
    assert all(word not in text for word in ("Wanda", "1001", house.wanda.ref))
    rows = list(csv.DictReader(io.StringIO(text)))
    assert [row["grade"] for row in rows] == ["negative", "negative", "strong", "negative", "negative"]
    assert AuditRow.objects.get(event="patch tests written out").why == "1 tests"
    again = sent_file(alice, text.encode())
    assert "1 test in the file" in words_of(again)
    assert PatchTest.objects.count() == 1


def sent_file(alice: Client, raw: bytes, **more: str) -> object:
    return alice.post("/patch-tests/file/", {"file": SimpleUploadedFile("tests.csv", raw), **more})


def test_a_file_from_elsewhere_is_counted_and_nothing_of_it_is_kept(alice: Client) -> None:
    lines = ["test,put on,position,allergen,concentration,vehicle,read on,grade"]
    lines += [f"T-{number},2026-02-02,1,nickel_sulfate,5 %,pet,2026-02-06,strong" for number in range(30)]
    words = words_of(sent_file(alice, "\n".join(lines).encode()))
    assert "30 tests in the file" in words
    assert "1 of 1 preparation with a reaction can be judged" in words
    assert "Acceptable" in words  # 30 of 30 allergic, none weak: reaction index 1, positivity ratio 0
    assert not PatchTest.objects.exists()


@pytest.mark.parametrize(
    ("raw", "says"),
    [
        (b"", "empty"),
        (b"moon,sun\n1,2\n", "No column is headed"),
        (
            b"test,put on,position,allergen,read on,grade\nT,2026-02-06,1,nickel,2026-02-02,strong\n",
            "before the test was put on",
        ),
        (
            b"test,put on,position,allergen,read on,grade\nT,2026-02-02,1,nickel,2026-02-06,purple\n",
            "none of the grades in use",
        ),
        (
            b"test,put on,position,allergen,read on,grade\nT,2026-02-02,1,=1+1,2026-02-06,strong\n",
            "as a formula does",
        ),
    ],
)
def test_a_file_that_cannot_be_read_says_why_and_where(raw: bytes, says: str, alice: Client) -> None:
    response = sent_file(alice, raw)
    assert response.status_code == 200  # type: ignore[attr-defined]
    assert says in words_of(response)
    assert "in the file" not in words_of(response).replace("in the file first", "")


def test_without_a_period_no_file_is_written(alice: Client) -> None:
    assert "No file was written" in words_of(alice.get("/patch-tests/file/"))
    assert not AuditRow.objects.filter(event="patch tests written out").exists()


# ---- Where it comes up


def test_a_reading_due_stands_on_today_and_goes_when_the_test_has_ended(
    house: House, tested: PatchTest, alice: Client
) -> None:
    page = text_of(alice.get("/today/"))
    assert f'href="/patch-tests/{tested.ref}/read/"' in page
    assert "Patch tests to read" in page
    end_patch_test(test=tested, how="not_back", ended_on=TODAY, note_text="", by=house.alice, now=NOW)
    assert tested.ref not in text_of(alice.get("/today/"))


def test_case_and_worker_lead_to_their_tests(house: House, book: Book, alice: Client) -> None:
    case = in_case(house)
    test = put_on(house, book, case=case)
    for page in (f"/cases/{case.ref}/", f"/workers/{house.wanda.ref}/"):
        assert f'href="/patch-tests/{test.ref}/"' in text_of(alice.get(page))
    assert f'href="/workers/{house.wanda.ref}/patch-tests/new/"' in text_of(alice.get(f"/cases/{case.ref}/"))


def test_a_clerk_sees_no_allergies_on_a_workers_page(
    house: House, tested: PatchTest, signed_in: SignIn
) -> None:
    page = signed_in(house.clara).get(f"/workers/{house.wanda.ref}/")
    assert "patch_tests" not in page.context  # not even read
    words = words_of(page)
    assert "Allergies" not in words
    assert "atch test" not in words


# ---- The whole way, and a session that ends on it


def test_read_over_three_days_on_screen_it_becomes_what_was_ticked(
    house: House, signed_in: SignIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(clock, "now", lambda: NOW - timedelta(7))
    monkeypatch.setattr(clock, "today", lambda: MONDAY)
    alice = signed_in(house.alice)
    applied(alice, house, "keep", applied_on="23 February 2026", **{"allergen-1": "Methylisothiazolinone"})
    test = PatchTest.objects.get()
    for day, grade in ((2, "+"), (4, "++"), (7, "++")):
        on = MONDAY + timedelta(day)
        monkeypatch.setattr(clock, "now", lambda day=day: NOW - timedelta(7 - day))
        monkeypatch.setattr(clock, "today", lambda on=on: on)
        alice = signed_in(house.alice)  # a session does not last for days
        assert f"/patch-tests/{test.ref}/read/" in text_of(alice.get("/today/"))
        graded(alice, test, read_on=f"{on.day} {on:%B %Y}", grade_1=grade)
    assert "All taken" in words_of(alice.get("/today/"))
    proposed(alice, test, "methylisothiazolinone")
    send(alice, page_of(test, "end/"), {"how": "complete", "ended_on": "2 March 2026"})
    assert Sensitisation.objects.get().allergen == "methylisothiazolinone"
    assert "Patch tests to read" not in words_of(alice.get("/today/"))


@pytest.mark.parametrize("do", ["look", "keep"])
def test_what_was_chosen_is_back_after_signing_in_again(
    do: str, house: House, alice: Client, signed_in: SignIn
) -> None:
    address = f"/workers/{house.wanda.ref}/patch-tests/new/"
    fields = {"applied_on": "2 March 2026", "series": "rubber", "do": do, "form_key": key_of(alice, address)}
    back = Client().post(address, fields)["Location"]
    kept = re.search(r"kept%3D([^&]+)", back)
    assert kept is not None
    page = text_of(signed_in(house.alice).get(f"{address}?kept={kept[1]}"))
    assert "Your typing is back" in page
    assert re.search(r'name="series" value="rubber"[^>]* checked', page)
    assert not PatchTest.objects.exists()


# ---- A test done elsewhere


LINES = """test,put on,position,allergen,concentration,vehicle,read on,grade
T-7,2026-02-02,1,nickel_sulfate,5 %,pet,2026-02-04,doubtful
T-7,2026-02-02,1,nickel_sulfate,5 %,pet,2026-02-06,strong
T-7,2026-02-02,2,formaldehyde,2 %,aq,2026-02-06,negative
"""


def from_elsewhere(alice: Client, house: House, lines: str = LINES) -> object:
    address = f"/workers/{house.wanda.ref}/patch-tests/file/"
    file = SimpleUploadedFile("test.csv", lines.encode())
    return alice.post(address, {"form_key": key_of(alice, address), "file": file})


def kept_from(alice: Client, house: House, looked: object) -> object:
    fields = dict(re.findall(r'<input type="hidden" name="(text|form_key)" value="([^"]*)"', text_of(looked)))
    return alice.post(f"/workers/{house.wanda.ref}/patch-tests/file/", {**fields, "do": "keep"})


def test_a_test_done_elsewhere_is_kept_whole_for_the_worker_after_it_was_looked_over(
    house: House, alice: Client
) -> None:
    looked = from_elsewhere(alice, house)
    assert "Is this the test of Wanda Example?" in words_of(looked)
    assert "Nickel sulfate" in words_of(looked)
    assert not PatchTest.objects.exists()
    kept_from(alice, house, looked)
    test = PatchTest.objects.get()
    assert test.worker == house.wanda
    assert [grades_of(one) for one in test.readings.order_by("read_on")] == [
        {1: G.DOUBTFUL},
        {1: G.STRONG, 2: G.NEGATIVE},
    ]
    assert not Sensitisation.objects.exists()


def test_the_day_the_patches_came_off_elsewhere_is_kept(house: House, alice: Client) -> None:
    lines = LINES.replace("test,put on", "test,patches off,put on").replace("T-7,", "T-7,2026-02-03,")
    kept_from(alice, house, from_elsewhere(alice, house, lines))
    assert as_patch_test(PatchTest.objects.get()).occluded_until == date(2026, 2, 3)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (("T-7,2026-02-02,2", "T-8,2026-02-02,2"), "The file holds 2 tests"),
        (("2026-02-06,strong", "2026-01-06,strong"), "before the test was put on"),
        (("2026-02-06,strong", "2026-02-06,purple"), "none of the grades in use"),
        (("nickel_sulfate", "=nickel_sulfate"), "as a formula does"),
    ],
)
def test_a_file_that_is_not_one_sound_test_is_asked_back(
    change: tuple[str, str], says: str, house: House, alice: Client
) -> None:
    response = from_elsewhere(alice, house, LINES.replace(*change))
    assert says in words_of(response)
    assert "Keep it for" not in words_of(response)
    assert not PatchTest.objects.exists()


def test_an_allergen_that_is_not_known_here_keeps_nothing_of_the_file(house: House, alice: Client) -> None:
    looked = from_elsewhere(alice, house, LINES.replace("formaldehyde", "moonlight"))
    assert "'moonlight' is no allergen" in problems_of(kept_from(alice, house, looked))
    assert not PatchTest.objects.exists()
    assert not PatchReading.objects.exists()
