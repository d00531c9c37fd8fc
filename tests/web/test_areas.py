"""Areas: what a shift does to hands, held against every rule set, with how sure that is."""

import re
from collections.abc import Callable

import pytest
from django.test import Client
from pytest_django import Settings

from tests.conftest import NOW, TODAY, House, make_area
from tests.web.clinic_house import text_of, words_of
from tests.web.watched import Watched, watch, watched
from thenar.exposure.load_chances import Limit
from thenar.exposure.rates import estimate_rates
from thenar.exposure.sessions import Quantity
from thenar.exposure.shift_load import ShiftPart, predict_shift
from thenar.knowledge import Book
from thenar.records.models import AuditRow, User
from thenar.records.queries.workplace import area_story
from thenar.screens import clock
from thenar.screens.workplace.drawn_shifts import DrawnShifts, draw_shifts, passing
from thenar.screens.workplace.exposure_of import exposure_of
from thenar.screens.workplace.kept_work import given_posts
from thenar.screens.workplace.limits_here import limits_here

SignIn = Callable[[User], Client]


@pytest.fixture(autouse=True)
def _one_day(monkeypatch: pytest.MonkeyPatch, settings: Settings) -> None:
    monkeypatch.setattr(clock, "now", lambda: NOW)
    monkeypatch.setattr(clock, "today", lambda: TODAY)
    settings.JURISDICTION = "DE"
    settings.OH_TELEPHONE, settings.OH_EMAIL = "extension 4000", "oh@saltmere.example"


@pytest.fixture
def ward(house: House, book: Book) -> Watched:
    return watched(house, book)


@pytest.fixture
def alice(ward: Watched, signed_in: SignIn) -> Client:
    return signed_in(ward.house.alice)


def page_of(ward: Watched) -> str:
    return f"/areas/{ward.ward.ref}/"


# ---- The hospital


def test_a_watched_area_stands_first_and_one_never_watched_apart(alice: Client) -> None:
    page = words_of(alice.get("/areas/"))
    assert page.index("Ward 1") < page.index("Never watched: nothing is known") < page.index("Ward 2")
    assert "Not known never means that all is well." in page


def test_areas_are_ordered_by_the_chance_of_passing_a_limit(ward: Watched, alice: Client, book: Book) -> None:
    for _ in range(5):
        watch(ward.house, book, area=ward.house.ward_2, washes=1, rubs=2, wet_contacts=0, wet_minutes=0.0)
    page = words_of(alice.get("/areas/"))
    assert page.index("Ward 1") < page.index("Ward 2")


def test_more_watching_narrows_the_range_of_the_chance(ward: Watched, house: House, book: Book) -> None:
    """The same hourly counts, in 2 hours and in 10, give a wider and a narrower range."""
    watch(house, book, area=house.ward_2)
    drawn = limits_here("DE", book, TODAY).drawn
    widths = []
    for area in (house.ward_2, house.ward_1):
        story = area_story(ref=area.ref, by=house.alice, on=TODAY)
        part = exposure_of(given_posts(story.record)[0], drawn, book, TODAY).parts[0]
        limit = Limit("fifteen", Quantity.WASHES, ">=", 15)
        chance = part.load.load(Quantity.WASHES).chances[0]
        assert (chance.limit.operator, chance.limit.amount) == (limit.operator, limit.amount)
        widths.append(chance.upper - chance.lower)
    assert widths[0] > 2 * widths[1]


def test_the_drawn_chance_of_one_limit_agrees_with_the_exact_one(ward: Watched, book: Book) -> None:
    """Shifts drawn here, against the negative binomial of the rates: within 5 hundredths."""
    story = area_story(ref=ward.ward.ref, by=ward.house.alice, on=TODAY)
    post = given_posts(story.record)[0]
    rates = estimate_rates(post.sessions, None, book, TODAY, area=post.area, role=post.role, seed=1)
    exact = predict_shift(
        rates, [ShiftPart("early", 6, night=False)], [Limit("20", Quantity.WASHES, ">", 20)], seed=1
    )
    australia = limits_here("DE", book, TODAY, chosen="wet-work.au-nhews-2008").drawn  # more than 20 washes
    every = draw_shifts(rates, "early", 6, (), seed=2)
    drawn = passing(DrawnShifts({"washes": every.amounts["washes"]}), australia)
    assert drawn is not None
    assert drawn.not_weighed == ("wet minutes",)
    assert drawn.chance == pytest.approx(exact.load(Quantity.WASHES).chances[0].chance, abs=0.05)


def test_search_finds_an_area_by_part_of_its_name(alice: Client) -> None:
    assert "Ward 2" not in words_of(alice.get("/areas/?q=ward+1"))
    assert "No area is called “nowhere”." in words_of(alice.get("/areas/?q=nowhere"))


# ---- One area


def test_an_area_shows_loads_limits_verdicts_and_obligations(ward: Watched, alice: Client) -> None:
    page = words_of(alice.get(page_of(ward)))
    # 30 washes and half an act in 10 hours, over 8 hours: 24.4 expected.
    assert re.search(r"Washes: (9\d|over 99) % of early shifts bring 15 or more", page)
    assert "24.4 of 15 or more: 9.4 over" in page
    assert "TRGS 401 (2022) governs here." in page
    assert "12 did not need soap: a rub would do." in page
    assert "Local policy, the law and your own judgement decide." in page


def test_every_drawing_has_a_text_and_a_table(ward: Watched, alice: Client) -> None:
    page = text_of(alice.get(page_of(ward)))
    drawings = re.findall(r'<svg class="chart intervals".*?role="img" aria-label="([^"]+)"', page)
    assert len(drawings) == 4
    assert all("The figures stand in the table below." in label for label in drawings)
    assert "The figures as a table" in page
    assert " style=" not in page


def test_all_rule_sets_stand_side_by_side_and_words_only_is_said(
    ward: Watched, alice: Client, book: Book
) -> None:
    page = words_of(alice.get(page_of(ward)))
    for rule_set in book.rule_sets.values():
        assert rule_set.name in page
    assert "cannot be judged by numbers (words only)" in page
    assert "Tier: at least offer" in page


def test_what_nobody_counted_is_not_known_and_never_fine(house: House, book: Book, signed_in: SignIn) -> None:
    watch(house, book, washes=1, wet_contacts=None, wet_minutes=None, pairs=None, glove_minutes=None)
    page = words_of(signed_in(house.alice).get(f"/areas/{house.ward_1.ref}/"))
    assert "Not known: nobody counted" in page
    assert "not known: " in page
    assert "not weighed for want of a count" in page


def test_where_the_governing_set_has_no_number_another_is_a_yardstick(
    ward: Watched, alice: Client, settings: Settings
) -> None:
    settings.JURISDICTION = "GB"
    assert "in words only: it has no number" in words_of(alice.get(page_of(ward)))
    settings.JURISDICTION = "FR"
    assert "Which rule set governs here is not known." in words_of(alice.get(page_of(ward)))


def test_the_rub_policy_changes_what_is_wet_contact(ward: Watched, alice: Client) -> None:
    """24.4 rubs a shift are wet contacts only under the policy that counts them."""
    without = words_of(alice.get(page_of(ward)))
    counted = words_of(alice.get(f"{page_of(ward)}?rubs=all"))
    assert without != counted
    assert words_of(alice.get(f"{page_of(ward)}?rubs=nonsense&rules=nonsense&role=x&part=y")) == without


def test_it_says_when_the_verdict_would_flip(house: House, book: Book, signed_in: SignIn) -> None:
    """Ten washes in a shift of 8 hours: doubled they pass 15."""
    for _ in range(5):
        watch(house, book, washes=2, wet_contacts=1, wet_minutes=2.0, pairs=1, glove_minutes=5.0)
    page = words_of(signed_in(house.alice).get(f"/areas/{house.ward_1.ref}/"))
    assert "Observe, don't ask" in page.replace("’", "'")


def test_both_reasons_are_shown_where_they_point_apart(ward: Watched, alice: Client) -> None:
    page = words_of(alice.get(page_of(ward)))
    assert "Here two reasons point apart. Both stand; a person chooses." in page
    assert page.count("Infection control Gloves: not indicated") >= 1


def test_an_assumed_shift_length_is_said(house: House, book: Book, signed_in: SignIn) -> None:
    watch(house, book)
    page = words_of(signed_in(house.alice).get(f"/areas/{house.ward_1.ref}/"))
    assert "(assumed)" in page
    assert "Nobody has described the shift; 8 hours are assumed." in page


def test_the_margin_says_once_what_was_taken_together_and_the_fold_says_it_all(
    ward: Watched, alice: Client, book: Book
) -> None:
    """Five sessions by Ola, one by Bo: 12 washes in 2 hours are (12 + 0.5) / 2 = 6.25 an hour."""
    watch(ward.house, book, observer="Bo", washes=12)
    page = text_of(alice.get(page_of(ward)))
    margin, fold = re.search(
        r'<summary>Why, and how sure</summary>(.*?)<details class="every">(.*?)</details>', page, re.DOTALL
    ).groups()
    assert margin.count("taken together") == 1
    assert margin.count("<p>") <= 8
    assert "People who are watched" in margin
    # Every quantity apart: washes, rubs, pairs and wet contacts.
    assert fold.count("2 observers taken together; each is also shown apart.") == 4
    assert "no reason to skip an act" in fold
    assert "rates.spread-by-chance" in fold
    words = words_of(alice.get(page_of(ward)))
    assert "Washes Ola 30 in 10 h 3.0 " in words  # (30 + 0.5) / 10 = 3.05, shown as 3.0
    assert "Washes Bo 12 in 2 h 6.2 " in words


def test_the_caution_against_use_as_a_target_stands_unfolded(ward: Watched, alice: Client) -> None:
    page = text_of(alice.get(page_of(ward)))
    assert page.index("no reason to skip an act") < page.index("<summary>Why, and how sure</summary>")


def test_an_area_without_anything_says_what_to_do(ward: Watched, alice: Client) -> None:
    page = words_of(alice.get(f"/areas/{ward.house.ward_2.ref}/"))
    assert "Nothing is known of the work here. That never means that all is well." in page
    assert "Count a shift" in page


def test_reading_writes_no_audit_row(ward: Watched, alice: Client) -> None:
    before = AuditRow.objects.count()
    alice.get("/areas/")
    alice.get(page_of(ward))
    assert AuditRow.objects.count() == before


# ---- Doors


def test_infection_prevention_sees_it_but_records_nothing(ward: Watched, signed_in: SignIn) -> None:
    page = text_of(signed_in(ward.ivy).get(page_of(ward)))
    assert "Count a shift" in page
    assert "/assess/" not in page


@pytest.mark.parametrize("who", ["clara", "mona", "ada"])
def test_other_roles_are_refused(ward: Watched, signed_in: SignIn, who: str) -> None:
    client = signed_in(getattr(ward.house, who))
    assert client.get("/areas/").status_code == 403
    assert client.get(page_of(ward)).status_code == 403


def test_an_absent_area_gives_no_hint(alice: Client) -> None:
    answer = alice.get("/areas/zzzzzzzzzzzz/")
    assert answer.status_code == 404
    assert "There is no such page, or it is not yours to see." in words_of(answer)


def test_other_methods_are_not_allowed_and_signed_out_people_sign_in(ward: Watched, alice: Client) -> None:
    assert alice.post("/areas/").status_code == 405
    assert alice.post(page_of(ward)).status_code == 405
    assert Client().get(page_of(ward)).status_code == 302


def test_the_hospital_costs_the_same_questions_whatever_its_size(
    ward: Watched, alice: Client, django_assert_max_num_queries: Callable[..., object]
) -> None:
    for number in range(20):
        make_area(f"Ward {number + 10}", ward.house.ward_1)
    with django_assert_max_num_queries(12):
        alice.get("/areas/")
