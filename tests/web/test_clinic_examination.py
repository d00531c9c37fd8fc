"""Scoring hands: every cell counts, what can't be is asked back, a correction leaves the first entry."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.test import Client

from tests.conftest import NOW, TODAY, House
from tests.web.clinic_house import ALL_CLEAR, Clinic, a_clinic, key_of, problems_of, send, text_of, words_of
from thenar.knowledge import Book
from thenar.records.actions.cases import close_case
from thenar.records.models import Examination, User
from thenar.screens import clock
from thenar.screens.clinic.grid import CELLS

SignIn = Callable[[User], Client]
# Palms: redness 1 and scaling 2 on a quarter to a half: (1 + 2) times 2 is 6.
SIX = {**ALL_CLEAR, "palms-extent": "2", "palms-erythema": "1", "palms-scaling": "2"}
BESIDES = {"examined_on": "2 March 2026", "under_treatment": "no", "days_since_wet_shift": "1"}


@pytest.fixture(autouse=True)
def _one_day(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: NOW)
    monkeypatch.setattr(clock, "today", lambda: TODAY)


@pytest.fixture
def clinic(house: House, book: Book) -> Clinic:
    return a_clinic(house, book)


@pytest.fixture
def alice(clinic: Clinic, signed_in: SignIn) -> Client:
    return signed_in(clinic.house.alice)


def test_what_was_graded_is_scored_and_kept_with_its_circumstances(clinic: Clinic, alice: Client) -> None:
    fields = {**SIX, **BESIDES, "marks": ["left-palm-hand"], "hard_to_judge": "on", "note": "Dry."}
    response = send(alice, clinic.pages()["examine"], fields)
    made = Examination.objects.latest("pk")
    assert response["Location"] == f"/examinations/{made.ref}/"  # type: ignore[index]
    assert (made.total, made.band, made.marks) == (6, "almost-clear", ["left-palm-hand"])
    assert (made.hard_to_judge, made.days_since_wet_shift, made.under_treatment) == (True, 1, "no")
    assert (made.examined_on, made.note, made.by) == (TODAY, "Dry.", clinic.house.alice)


def test_its_page_shows_the_sums_the_change_and_both_yardsticks_by_name(
    clinic: Clinic, alice: Client
) -> None:
    made = send(alice, clinic.pages()["examine"], {**SIX, **BESIDES, "hard_to_judge": "on"})
    page = words_of(alice.get(made["Location"]))  # type: ignore[index]
    assert "6 almost clear of 360 points" in page
    assert "3 × 2 = 6" in page
    assert "From 8 points on 16 February 2026 to 6." in page
    # 8 to 6 is 2 points: under 41 (Oosterhaven and Schuttelaar 2020) and under 8.3 (Yüksel and others 2021).
    assert page.count("−2 no change that can be told") == 2
    assert "severity.change.oosterhaven-2020" in page
    assert "severity.change.yuksel-2021" in page
    assert "Seen otherwise: 1 to 16 points are called mild." in page
    assert "Hard to judge on this skin." in page


def test_the_same_form_sent_twice_makes_one_examination(clinic: Clinic, alice: Client) -> None:
    address = clinic.pages()["examine"]
    fields = {"form_key": key_of(alice, address), **SIX, **BESIDES}
    first, second = alice.post(address, fields), alice.post(address, fields)
    assert first["Location"] == second["Location"]
    assert Examination.objects.count() == 2  # the one there was, and this one


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"palms-erythema": "0", "palms-scaling": "0"}, "Palms, extent: every sign here is 0."),
        ({"palms-extent": "0"}, "Palms, extent: signs are graded here, but the extent is 0."),
        ({"palms-erythema": "4"}, "Palms, redness: enter a whole number from 0 to 3."),
        ({"palms-extent": "5"}, "Palms, extent: enter a whole number from 0 to 4."),
        ({"palms-extent": "-1"}, "Palms, extent: enter a whole number from 0 to 4."),
        ({"palms-extent": "two"}, "Palms, extent: enter a whole number from 0 to 4."),
        ({"wrists-oedema": ""}, "Wrists, swelling: not graded: swelling. Enter 0 where there is none."),
        ({"examined_on": "3 March 2026"}, "Examined on: 3 March 2026 has not come yet."),
        ({"examined_on": "03/02/2026"}, "Examined on: This could be two days. Write the month as a word"),
        ({"examined_on": "30 February 2026"}, "Examined on: This is not a day in the calendar."),
        # the bands are of September 2019
        (
            {"examined_on": "4 September 2019"},
            "Examined on: This day is before the scores began. Is the year",
        ),
        ({"examined_on": "2 March 2006"}, "Examined on: This day is before the scores began. Is the year"),
        ({"marks": ["left-back-elbow"]}, "Hand map: a mark names no part of the hand."),
        ({"days_since_wet_shift": "-3"}, "Days since the last wet shift: Enter 0 or more days"),
        ({"under_treatment": "perhaps"}, "Under treatment now: Choose yes, no or not known."),
    ],
)
def test_what_can_not_be_is_asked_back_and_not_scored(
    changed: dict[str, object], says: str, clinic: Clinic, alice: Client
) -> None:
    response = send(alice, clinic.pages()["examine"], {**SIX, **BESIDES, "note": "Typed.", **changed})
    assert says in problems_of(response)
    assert "<title>Error: " in text_of(response)
    assert "Typed." in text_of(response)
    assert Examination.objects.count() == 1


def test_a_day_before_the_case_opened_is_asked_about_once_with_a_tick(clinic: Clinic, alice: Client) -> None:
    address = clinic.pages()["examine"]  # the case opened on 31 January 2026
    assert "before_opening" not in text_of(alice.get(address))
    early = {**SIX, **BESIDES, "examined_on": "30 January 2026"}
    asked = send(alice, address, early)
    assert "Examined on: 30 January 2026 is before the case opened on 31 January 2026." in problems_of(asked)
    assert 'name="before_opening"' in text_of(asked)
    assert Examination.objects.count() == 1
    send(alice, address, {**early, "before_opening": "on"})
    assert Examination.objects.latest("pk").examined_on.isoformat() == "2026-01-30"


def test_the_day_the_case_opened_is_not_asked_about(clinic: Clinic, alice: Client) -> None:
    send(alice, clinic.pages()["examine"], {**SIX, **BESIDES, "examined_on": "31 January 2026"})
    assert Examination.objects.count() == 2


def test_the_grid_names_each_sign_in_plain_words_and_in_the_trades(clinic: Clinic, alice: Client) -> None:
    page = words_of(alice.get(clinic.pages()["examine"]))
    for heading in ("Redness erythema", "Cracks fissures", "Flaking scaling", "Swelling oedema"):
        assert heading in page


@pytest.mark.parametrize("written", ["2026-03-02", "2 Mar 2026", "2 March 2026", "28/02/2026"])
def test_a_day_can_be_written_in_these_ways(written: str, clinic: Clinic, alice: Client) -> None:
    send(alice, clinic.pages()["examine"], {**SIX, **BESIDES, "examined_on": written})
    assert Examination.objects.count() == 2


def test_an_empty_grid_is_asked_back_area_by_area_not_cell_by_cell(clinic: Clinic, alice: Client) -> None:
    said = problems_of(send(alice, clinic.pages()["examine"], BESIDES))
    assert said.count("nothing is graded yet") == 5


def test_a_correction_is_a_new_entry_and_the_first_stays_as_it_was(clinic: Clinic, alice: Client) -> None:
    first = clinic.examination
    kept = Examination.objects.filter(pk=first.pk).values().get()
    fields = {**SIX, **BESIDES, "correction_reason": "Palms and backs swapped."}
    send(alice, clinic.pages()["correct"], fields)
    made = Examination.objects.latest("pk")
    assert (made.corrects, made.total) == (first, 6)
    assert Examination.objects.filter(pk=first.pk).values().get() == kept
    old = words_of(alice.get(clinic.pages()["examination"]))
    assert "This entry was corrected" in old
    assert "Palms and backs swapped." in old
    assert "8 almost clear" in old
    assert "Corrected: “Palms and backs swapped.”" in words_of(alice.get(clinic.pages()["case"]))


def test_a_correction_says_why(clinic: Clinic, alice: Client) -> None:
    response = send(alice, clinic.pages()["correct"], {**SIX, **BESIDES})
    assert "Why it is corrected: Say in a few words what was wrong." in problems_of(response)
    assert Examination.objects.count() == 1


def test_a_correction_opens_with_what_was_recorded(clinic: Clinic, alice: Client) -> None:
    page = text_of(alice.get(clinic.pages()["correct"]))
    assert 'name="backs-fissures" value="2"' in page
    assert "Knuckles worst." in page


def test_an_entry_that_was_corrected_can_not_be_corrected_again(clinic: Clinic, alice: Client) -> None:
    address = clinic.pages()["correct"]
    late = key_of(alice, address)
    fields = {**SIX, **BESIDES, "correction_reason": "Swapped."}
    send(alice, address, fields)
    assert alice.get(address)["Location"] == clinic.pages()["examination"]
    response = alice.post(address, {"form_key": late, **fields, "note": "Another."})
    assert "already corrected" in problems_of(response)
    assert Examination.objects.count() == 2


@pytest.mark.parametrize(("fill", "backs_cracks"), [("last", "2"), ("clear", "0")])
def test_without_script_the_grid_s_buttons_fill_it_and_keep_what_else_was_typed(
    fill: str, backs_cracks: str, clinic: Clinic, alice: Client
) -> None:
    fields = {**BESIDES, "note": "Typed before.", "marks": ["left-palm-hand"], "fill": fill}
    page = text_of(alice.post(clinic.pages()["examine"], fields))
    assert f'name="backs-fissures" value="{backs_cracks}"' in page
    assert "Typed before." in page
    assert "There is a problem" not in page
    assert Examination.objects.count() == 1


def test_the_first_button_of_the_form_records_so_that_enter_does_too(clinic: Clinic, alice: Client) -> None:
    page = text_of(alice.get(clinic.pages()["examine"]))
    form = page[page.index('<form method="post" class="exam"') :]
    first_button = form[form.index("<button") :].split(">")[0]
    assert "name=" not in first_button


def test_the_extent_comes_first_so_that_a_clear_area_takes_one_key_and_a_full_score_35() -> None:
    assert len(CELLS) == 35
    assert [place for place, (_, column) in enumerate(CELLS) if column == "extent"] == [0, 7, 14, 21, 28]


def test_the_score_so_far_adds_up_names_queries_and_reads_no_record(clinic: Clinic, alice: Client) -> None:
    address = f"/cases/{clinic.case.ref}/score/"
    so_far = {name: grade for name, grade in SIX.items() if not name.startswith("wrists")}
    assert "6 so far 28 of 35 graded." in words_of(alice.post(address, so_far))
    assert words_of(alice.post(address, SIX)).startswith("6 almost clear")
    queried = words_of(alice.post(address, {**SIX, "wrists-extent": "2"}))
    assert "6 so far" in queried
    assert "Wrists, extent: every sign here is 0." in queried
    assert alice.get(address).status_code == 405


def test_the_score_is_for_those_who_examine(clinic: Clinic, signed_in: SignIn) -> None:
    assert signed_in(clinic.house.clara).post(f"/cases/{clinic.case.ref}/score/", SIX).status_code == 403


def test_a_session_that_ends_in_mid_form_loses_nothing_that_was_typed(
    clinic: Clinic, signed_in: SignIn
) -> None:
    address = clinic.pages()["examine"]
    key = key_of(signed_in(clinic.house.alice), address)
    fields = {**SIX, **BESIDES, "note": "Half typed.", "marks": ["left-palm-hand"], "form_key": key}
    away = Client().post(address, fields)
    back = away["Location"].split("next=")[1].replace("%3F", "?").replace("%3D", "=").replace("%2F", "/")
    page = text_of(signed_in(clinic.house.alice).get(back))
    assert 'name="palms-scaling" value="2"' in page
    assert "Half typed." in page
    assert Examination.objects.count() == 1


def test_a_closed_case_takes_no_examination(clinic: Clinic, alice: Client) -> None:
    address = clinic.pages()["examine"]
    key = key_of(alice, address)
    close_case(case=clinic.case, outcome="moved_on", closed_on=TODAY, by=clinic.house.alice, now=NOW)
    assert "This case is closed" in words_of(alice.get(address))
    alice.post(address, {"form_key": key, **SIX, **BESIDES})
    assert Examination.objects.count() == 1


def test_the_way_redness_shows_on_brown_and_black_skin_stands_beside_the_grid(
    clinic: Clinic, alice: Client
) -> None:
    page = words_of(alice.get(clinic.pages()["examine"]))
    assert "redder, purple, grey or darker than the skin nearby. Feel for heat." in page
    assert "care.looking.redness" in page


def test_an_older_examination_is_judged_against_the_one_before_it(clinic: Clinic, alice: Client) -> None:
    earlier = (TODAY - timedelta(days=20)).isoformat()
    send(alice, clinic.pages()["examine"], {**SIX, **BESIDES, "examined_on": earlier})
    assert "From 6 points" in words_of(alice.get(clinic.pages()["examination"]))
