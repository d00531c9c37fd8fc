"""Reading a skin check and deciding on it: every reason shown, nothing left out counts as a no."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.test import Client

from tests.conftest import NOW, TODAY, House
from tests.web.clinic_house import Clinic, a_clinic, key_of, problems_of, send, words_of
from thenar.knowledge import Book, load
from thenar.records.actions.cases import open_case
from thenar.records.actions.checks import record_sorting, submit_check
from thenar.records.models import AreaManager, Case, CheckSorting, SkinCheck, User
from thenar.screens import clock
from thenar.skin.triage import triage_table

SignIn = Callable[[User], Client]


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


@pytest.fixture
def report(clinic: Clinic) -> str:
    """Yusuf has pus and has answered two questions only."""
    return clinic.pages()["check"]


def test_it_shows_how_urgent_it_is_and_every_reason_with_source_and_edition(
    clinic: Clinic, alice: Client, report: str, book: Book
) -> None:
    page = words_of(alice.get(report))
    assert "Same day" in page
    assert "Stop patient contact" in page
    assert len(clinic.waiting.reasons) > 1
    for rule_id in clinic.waiting.reasons:
        entry = book.entry(rule_id)
        assert entry.says.replace('"', "'") in page.replace('"', "'")
        assert f"{rule_id} . {entry.citation.label}. Edition {clinic.waiting.edition}" in page


def test_every_question_stands_there_and_one_left_out_counts_as_possible(
    clinic: Clinic, alice: Client, report: str, book: Book
) -> None:
    page = words_of(alice.get(report))
    questions = triage_table(book).questions
    assert all(question.asks in page for question in questions)
    answered = len(clinic.waiting.answers)
    assert page.count("Not answered") == len(questions) - answered
    silent = [one for one in questions if one.role == "record"]
    assert page.count("Not answered counts as possible") == len(questions) - answered - len(silent)
    assert "Is there pus? Yes" in page


def test_it_says_which_yes_would_make_it_more_urgent(alice: Client, report: str) -> None:
    page = words_of(alice.get(report))
    assert "A yes to any of these would make it more urgent. Is it hard to breathe" in page


def test_opening_a_case_leads_to_it(clinic: Clinic, alice: Client, report: str) -> None:
    response = send(alice, report, {"decision": "case", "into": "", "note": "Called in."})
    case = Case.objects.get(worker=clinic.house.yusuf)
    assert response["Location"] == f"/cases/{case.ref}/"  # type: ignore[index]
    page = words_of(alice.get(report))
    assert "Decided by Alice Example" in page
    assert "Called in." in page


def test_sent_twice_it_opens_one_case(clinic: Clinic, alice: Client, report: str) -> None:
    fields = {"form_key": key_of(alice, report), "decision": "case", "into": ""}
    first, second = alice.post(report, fields), alice.post(report, fields)
    assert first["Location"] == second["Location"]
    assert Case.objects.filter(worker=clinic.house.yusuf).count() == 1


def test_with_a_case_open_it_is_added_to_that_one(clinic: Clinic, alice: Client, report: str) -> None:
    running = open_case(worker=clinic.house.yusuf, by=clinic.house.bob, now=NOW)
    assert "Add it to the case open since 2 March 2026" in words_of(alice.get(report))
    send(alice, report, {"decision": "case", "into": running.ref})
    assert CheckSorting.objects.get(check_report=clinic.waiting).case == running


def test_a_case_that_was_opened_meanwhile_is_told_and_asked_about_again(
    clinic: Clinic, alice: Client, report: str
) -> None:
    key = key_of(alice, report)
    running = open_case(worker=clinic.house.yusuf, by=clinic.house.bob, now=NOW)
    response = alice.post(report, {"form_key": key, "decision": "case", "into": ""})
    assert "A case was opened or closed while you were deciding." in problems_of(response)
    assert f'name="into" value="{running.ref}"' in response.content.decode()
    assert not CheckSorting.objects.filter(check_report=clinic.waiting).exists()


@pytest.mark.parametrize("decision", ["advice", "no_action"])
def test_a_pressing_check_is_not_put_aside_without_a_word(
    decision: str, clinic: Clinic, alice: Client, report: str
) -> None:
    response = send(alice, report, {"decision": decision})
    assert "Note: Say what you found, and why no case is needed." in problems_of(response)
    response = send(alice, report, {"decision": decision, "note": "Old plaster mark."})
    assert response["Location"] == report  # type: ignore[index]
    assert CheckSorting.objects.get(check_report=clinic.waiting).decision == decision


@pytest.mark.parametrize("decision", ["", "discharge"])
def test_a_decision_that_is_none_is_asked_back(decision: str, alice: Client, report: str) -> None:
    response = send(alice, report, {"decision": decision, "note": "Kept words."})
    assert "What happens now:" in problems_of(response)
    assert "Kept words." in response.content.decode()  # type: ignore[attr-defined]


def test_a_check_already_dealt_with_shows_what_was_decided_and_no_form(
    clinic: Clinic, alice: Client, report: str
) -> None:
    key = key_of(alice, report)
    record_sorting(
        check=clinic.waiting, decision="advice", by=clinic.house.bob, now=NOW, note_text="Told him."
    )
    page = words_of(alice.get(report))
    assert "Advice given, no case" in page
    assert "Record the decision" not in page
    late = alice.post(report, {"form_key": key, "decision": "no_action", "note": "x"})
    assert late.status_code == 200
    assert CheckSorting.objects.get(check_report=clinic.waiting).note == "Told him."


def test_a_session_that_ends_while_deciding_keeps_the_note(
    clinic: Clinic, report: str, signed_in: SignIn
) -> None:
    key = key_of(signed_in(clinic.house.alice), report)
    away = Client().post(report, {"form_key": key, "decision": "advice", "note": "Half typed."})
    kept = away["Location"].split("kept%3D")[1]
    page = signed_in(clinic.house.alice).get(f"{report}?kept={kept}").content.decode()
    assert "Half typed." in page
    assert 'value="advice"' in page


def test_an_answer_the_rules_no_longer_know_is_shown_and_stops_nothing(clinic: Clinic, alice: Client) -> None:
    old = SkinCheck.objects.create(
        worker=clinic.house.yusuf,
        given_by="worker",
        submitted_at=NOW,
        answers={"nails_brittle": "yes", "patients": "sometimes"},
        urgency="routine",
        patient_contact="continue",
        reasons=["triage.long-gone"],
        edition="2020.1",
    )
    page = words_of(alice.get(f"/checks/{old.ref}/"))
    assert "No longer asked nails brittle Yes" in page
    assert "Who do you touch at work? sometimes" in page
    assert "This rule is no longer in the edition in use. triage.long-gone. Edition 2020.1" in page


# ---- several checks of one worker


def a_check(clinic: Clinic, hours: float, **answers: str) -> SkinCheck:
    """Yusuf has sent another check; the one that waits already came two hours ago."""
    return submit_check(
        worker=clinic.house.yusuf,
        answers=answers,
        given_by="worker",
        by=clinic.house.yusuf.user,
        now=NOW - timedelta(hours=hours),
        book=load(),
    )


def test_the_worker_s_other_checks_that_wait_stand_there_with_links(
    clinic: Clinic, alice: Client, report: str
) -> None:
    assert "other check" not in words_of(alice.get(report))
    older, newer = a_check(clinic, 5), a_check(clinic, 1)
    page = alice.get(report)
    assert "2 other checks of this worker wait" in words_of(page)
    for one in (older, newer):
        assert f'href="/checks/{one.ref}/"' in page.content.decode()
    assert "The same for 1 older check of this worker" in words_of(page)
    assert "The same for" not in words_of(alice.get(f"/checks/{older.ref}/"))  # none is older than this


def test_a_ticked_decision_takes_the_older_ones_along_and_leaves_the_newer(
    clinic: Clinic, alice: Client, report: str
) -> None:
    older, newer = a_check(clinic, 5), a_check(clinic, 1)
    fields = {"decision": "case", "into": "", "along": "on", "older": older.ref}
    fields["form_key"] = key_of(alice, report)
    first, second = alice.post(report, fields), alice.post(report, fields)
    assert first["Location"] == second["Location"]
    case = Case.objects.get(worker=clinic.house.yusuf)
    assert {one.check_report for one in CheckSorting.objects.filter(case=case)} == {clinic.waiting, older}
    assert not CheckSorting.objects.filter(check_report=newer).exists()


def test_without_the_tick_only_this_one_is_decided(clinic: Clinic, alice: Client, report: str) -> None:
    older = a_check(clinic, 5)
    send(alice, report, {"decision": "case", "into": "", "older": older.ref})
    assert not CheckSorting.objects.filter(check_report=older).exists()


def test_an_older_check_dealt_with_meanwhile_is_told_and_nothing_is_decided(
    clinic: Clinic, alice: Client, report: str
) -> None:
    older = a_check(clinic, 5)
    key = key_of(alice, report)
    record_sorting(check=older, decision="advice", by=clinic.house.bob, now=NOW)
    fields = {"form_key": key, "decision": "case", "into": "", "along": "on", "older": older.ref}
    assert "An older check was dealt with while you were deciding." in problems_of(alice.post(report, fields))
    assert not CheckSorting.objects.filter(check_report=clinic.waiting).exists()


def test_a_pressing_check_is_not_taken_along_without_a_word(clinic: Clinic, alice: Client) -> None:
    mild = SkinCheck.objects.create(
        worker=clinic.house.yusuf,
        given_by="worker",
        submitted_at=NOW,
        answers={},
        urgency="self_care",
        patient_contact="continue",
        reasons=[],
        edition="2026.1",
    )
    fields = {"decision": "no_action", "along": "on", "older": clinic.waiting.ref}
    response = send(alice, f"/checks/{mild.ref}/", fields)
    assert "Note: Say what you found, and why no case is needed." in problems_of(response)
    send(alice, f"/checks/{mild.ref}/", {**fields, "note": "Rang him; seen by his doctor."})
    assert CheckSorting.objects.filter(check_report__in=[mild, clinic.waiting]).count() == 2


# ---- reaching the worker


def test_an_urgent_check_says_how_the_worker_can_be_reached(
    clinic: Clinic, alice: Client, report: str
) -> None:
    page = words_of(alice.get(report))
    assert "Make sure the worker reached someone Email None on record Manager Nils Example" in page
    assert "say only that you need to reach the worker; never why" in page
    clinic.house.yusuf.email = "yusuf@saltmere.example"
    clinic.house.yusuf.save()
    assert 'href="mailto:yusuf@saltmere.example"' in alice.get(report).content.decode()
    assert "Mona" not in page


def test_where_nobody_manages_the_area_it_says_that_too(clinic: Clinic, alice: Client, report: str) -> None:
    AreaManager.objects.all().delete()
    page = words_of(alice.get(report))
    assert "Managers None on record" in page
    assert "To a manager, say only" not in page
