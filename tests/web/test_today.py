"""Today: what needs the practitioner now, in an order that can be explained, and nothing of anyone else's."""

import re
from collections.abc import Callable
from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from tests.conftest import NOW, TODAY, House, make_user, make_worker
from tests.web.clinic_house import Clinic, a_clinic, text_of, words_of
from tests.web.wanda import OFFERED, adjusted, letter, walk
from thenar.knowledge import Book
from thenar.records.actions.cases import close_case, open_case
from thenar.records.actions.checks import record_sorting
from thenar.records.actions.letters import take_letter_step
from thenar.records.actions.reviews import set_review
from thenar.records.letter_states import Step
from thenar.records.models import AccessRole, AuditRow, SkinCheck, User, Worker
from thenar.screens import clock

SignIn = Callable[[User], Client]


@pytest.fixture(autouse=True)
def _one_day(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: NOW)
    monkeypatch.setattr(clock, "today", lambda: TODAY)


@pytest.fixture
def clinic(house: House, book: Book) -> Clinic:
    return a_clinic(house, book)


def a_check(worker: Worker, urgency: str, hours: float = 1, contact: str = "continue") -> SkinCheck:
    """A check that waits, as if the answers had led to this urgency."""
    return SkinCheck.objects.create(
        worker=worker,
        given_by="worker",
        submitted_at=NOW - timedelta(hours=hours),
        answers={},
        urgency=urgency,
        patient_contact=contact,
        reasons=["triage.infection"],
        edition="2026.1",
    )


def order_of(page: str) -> list[str]:
    """Refs of the checks in the order they stand on the page."""
    return re.findall(r'<th scope="row"><a href="/checks/(\w+)/"', page)


def test_the_practitioner_sees_checks_reviews_and_letters_each_one_enter_away(
    clinic: Clinic, signed_in: SignIn
) -> None:
    page = text_of(signed_in(clinic.house.alice).get("/today/"))
    for link in (
        f'href="/checks/{clinic.waiting.ref}/"',
        f'href="/reviews/{clinic.review.ref}/"',
        f'href="/letters/{clinic.letter.ref}/"',
    ):
        assert link in page
    assert f"/checks/{clinic.check.ref}/" not in page  # it was dealt with
    assert "Yusuf Example" in page
    assert "1002" in page
    row = AuditRow.objects.get(event="today looked at")
    assert (row.who, row.why) == ("alice", "1 checks, 1 reviews")


@pytest.mark.parametrize("who", ["clara", "mona", "ada", "wanda"])
def test_nobody_else_may_and_the_refusal_is_noted(who: str, clinic: Clinic, signed_in: SignIn) -> None:
    someone = clinic.house.wanda.user if who == "wanda" else getattr(clinic.house, who)
    response = signed_in(someone).get("/today/")
    assert response.status_code == 403
    assert "Yusuf" not in text_of(response)
    row = AuditRow.objects.get(event="refused")
    assert (row.who, row.why) == (someone.username, "today")


def test_ones_own_record_is_never_on_it(clinic: Clinic, signed_in: SignIn) -> None:
    for worker in (clinic.house.wanda, clinic.house.yusuf):
        worker.user = None
        worker.save()
    clinic.house.wanda.user = clinic.house.alice
    clinic.house.wanda.save()
    clinic.house.yusuf.user = clinic.house.bob
    clinic.house.yusuf.save()
    alices = words_of(signed_in(clinic.house.alice).get("/today/"))
    assert "Wanda" not in alices
    assert "Yusuf" in alices
    bobs = words_of(signed_in(clinic.house.bob).get("/today/"))
    assert "Wanda" in bobs
    assert "Yusuf" not in bobs


def test_it_takes_no_form(house: House, signed_in: SignIn) -> None:
    assert signed_in(house.alice).post("/today/", {"anything": "x"}).status_code == 405


def test_signed_out_one_is_asked_to_sign_in(house: House) -> None:
    assert Client().get("/today/")["Location"] == "/sign-in/?next=%2Ftoday%2F"


def test_urgency_comes_first_then_the_longest_wait_and_never_patient_contact(
    house: House, signed_in: SignIn
) -> None:
    six = [make_worker(f"Six{number}", f"60{number:02}", house.ward_1, house.nurse) for number in range(6)]
    young_routine = a_check(six[0], "routine", hours=1, contact="stop")
    old_routine = a_check(six[1], "routine", hours=100)
    self_care = a_check(six[2], "self_care", hours=900)
    emergency = a_check(six[3], "emergency", hours=0.1)
    prompt = a_check(six[4], "prompt", hours=30)
    same_day = a_check(six[5], "same_day", hours=2)
    wanted = [emergency, same_day, prompt, old_routine, young_routine, self_care]
    page = text_of(signed_in(house.alice).get("/today/"))
    assert order_of(page) == [check.ref for check in wanted]


def test_urgent_checks_nobody_dealt_with_ask_for_attention_with_what_workers_are_told(
    house: House, signed_in: SignIn, book: Book
) -> None:
    a_check(house.wanda, "emergency")
    a_check(house.yusuf, "same_day")
    a_check(house.yusuf, "same_day", hours=3)
    words = words_of(signed_in(house.alice).get("/today/"))
    assert "3 urgent checks: make sure the workers reached someone" in words
    assert f"Emergency 1 waiting. The check tells them: “{book.lines['urgency.emergency.do'].says}”" in words
    assert f"Same day 2 waiting. The check tells them: “{book.lines['urgency.same_day.do'].says}”" in words


def test_once_dealt_with_they_no_longer_do(house: House, signed_in: SignIn) -> None:
    check = a_check(house.wanda, "emergency")
    a_check(house.yusuf, "prompt")
    record_sorting(check=check, decision="advice", by=house.alice, now=NOW)
    page = text_of(signed_in(house.alice).get("/today/"))
    assert "make sure the worker" not in page
    assert check.ref not in page


def test_each_check_shows_patient_contact_and_its_gravest_rule(
    house: House, signed_in: SignIn, book: Book
) -> None:
    a_check(house.wanda, "same_day", contact="stop")
    response = signed_in(house.alice).get("/today/")
    assert "Stop patient contact" in words_of(response)
    assert book.entry("triage.infection").says in words_of(response)
    assert 'href="/rules/triage.infection/"' in text_of(response)


def test_a_check_made_with_a_rule_that_is_gone_still_shows(house: House, signed_in: SignIn) -> None:
    check = a_check(house.wanda, "prompt")
    gone = SkinCheck.objects.create(
        worker=house.yusuf,
        given_by="worker",
        submitted_at=NOW,
        answers={},
        urgency="routine",
        patient_contact="continue",
        reasons=["triage.no-longer-there"],
        edition="2019.1",
    )
    assert order_of(text_of(signed_in(house.alice).get("/today/"))) == [check.ref, gone.ref]


def test_a_late_review_says_how_late_and_one_to_come_stands_apart(house: House, signed_in: SignIn) -> None:
    case = open_case(worker=house.wanda, by=house.alice, now=NOW - timedelta(days=30))
    set_review(
        case=case,
        due_on=TODAY - timedelta(days=3),
        purpose="First look",
        by=house.alice,
        now=NOW - timedelta(days=30),
    )
    set_review(case=case, due_on=TODAY, purpose="Second look", by=house.alice, now=NOW)
    set_review(case=case, due_on=TODAY + timedelta(days=9), purpose="Third look", by=house.alice, now=NOW)
    words = words_of(signed_in(house.alice).get("/today/"))
    due, coming = words.split("Reviews due", 1)[1].split("Coming", 1)
    # 2 March 2026 is a Monday; three days before is Friday 27 February, nine days on is Wednesday 11 March.
    assert "Fri 27 Feb 3 days late" in due
    assert "Mon 2 Mar today" in due
    assert "Third look" not in due
    assert "Wed 11 Mar Wanda Example" in coming  # no year: it is this one
    assert "Third look" in coming


def test_a_review_to_come_shows_its_year_only_when_it_is_another(house: House, signed_in: SignIn) -> None:
    case = open_case(worker=house.wanda, by=house.alice, now=NOW)
    set_review(case=case, due_on=TODAY.replace(year=2027), purpose="A year on", by=house.alice, now=NOW)
    words = words_of(signed_in(house.alice).get("/today/"))
    assert "Tue 2 Mar 2027 Wanda Example" in words.split("Coming", 1)[1]


def test_a_letter_stands_under_whose_turn_it_is(clinic: Clinic, signed_in: SignIn) -> None:
    client = signed_in(clinic.house.alice)
    assert "Your turn" in words_of(client.get("/today/"))
    for step in (Step.CONTENT_AGREED, Step.OFFERED):
        take_letter_step(letter=clinic.letter, step=step, by=clinic.house.alice, now=NOW)
    assert "Waiting for the worker to see it The worker’s turn" in words_of(client.get("/today/"))
    worker = clinic.house.wanda.user
    assert worker is not None
    for step in (Step.SEEN, Step.CONSENTED):
        take_letter_step(letter=clinic.letter, step=step, by=worker, now=NOW)
    assert "Agreed, ready to release Your turn" in words_of(client.get("/today/"))
    take_letter_step(letter=clinic.letter, step=Step.RELEASED, by=clinic.house.alice, now=NOW)
    assert f"/letters/{clinic.letter.ref}/" not in text_of(client.get("/today/"))


def test_a_long_list_is_cut_and_says_how_long_it_is(house: House, signed_in: SignIn) -> None:
    for hours in range(41):
        worker = make_worker(f"Long{hours}", f"70{hours:02}", house.ward_1, house.nurse)
        a_check(worker, "routine", hours=hours)
    response = signed_in(house.alice).get("/today/")
    assert len(order_of(text_of(response))) == 40
    assert "The first 40 of 41." in words_of(response)


def test_where_nothing_waits_it_says_what_one_can_do(house: House, signed_in: SignIn) -> None:
    words = words_of(signed_in(house.alice).get("/today/"))
    for said in ("No check waits.", "No review is due.", "No letter is on its way."):
        assert said in words


def test_the_margin_says_why_this_order_and_links_each_urgency_to_its_rule(
    house: House, signed_in: SignIn
) -> None:
    page = text_of(signed_in(house.alice).get("/today/"))
    assert "Why this order" in page
    for code in ("emergency", "same_day", "prompt", "routine", "self_care"):
        assert f'href="/rules/urgency.{code}.do/"' in page


def test_the_number_of_queries_does_not_grow_with_the_lists(house: House, signed_in: SignIn) -> None:
    client = signed_in(house.alice)

    def queries() -> int:
        with CaptureQueriesContext(
            connection,
        ) as asked:
            client.get("/today/")
        return len(asked)

    def one_more(number: int) -> None:
        worker = make_worker(f"Extra{number}", f"20{number:02}", house.ward_1, house.nurse)
        a_check(worker, "prompt")
        case = open_case(worker=worker, by=house.alice, now=NOW)
        set_review(case=case, due_on=TODAY, purpose="Look", by=house.alice, now=NOW)

    client.get("/today/")
    one_more(0)
    few = queries()
    for number in range(1, 12):
        one_more(number)
    assert queries() == few <= 25


def test_a_lead_sees_it_too(house: House, signed_in: SignIn) -> None:
    assert signed_in(make_user("Lea", AccessRole.LEAD)).get("/today/").status_code == 200


def test_a_name_with_marks_in_it_is_shown_as_typed(house: House, signed_in: SignIn) -> None:
    house.wanda.family_name = "<b>O’Neil</b>"
    house.wanda.save()
    a_check(house.wanda, "prompt")
    page = text_of(signed_in(house.alice).get("/today/"))
    assert "&lt;b&gt;O’Neil&lt;/b&gt;" in page
    assert "<b>O’Neil" not in page


def test_a_worker_s_checks_stand_in_one_row_under_the_gravest(house: House, signed_in: SignIn) -> None:
    a_check(house.wanda, "routine", hours=90)
    gravest = a_check(house.wanda, "same_day", hours=1)
    a_check(house.wanda, "prompt", hours=30)
    other = a_check(house.yusuf, "prompt", hours=2)
    response = signed_in(house.alice).get("/today/")
    assert order_of(text_of(response)) == [gravest.ref, other.ref]
    words = words_of(response)
    assert "Wanda Example 1001 and 2 more checks Nurse" in words
    assert "Yusuf Example 1002 Nurse" in words
    assert "4 new checks" in words


def test_a_comment_is_the_practitioner_s_turn(clinic: Clinic, signed_in: SignIn) -> None:
    walk(clinic.house, clinic.letter, *OFFERED, Step.SEEN, Step.COMMENTED)
    words = words_of(signed_in(clinic.house.alice).get("/today/"))
    assert "Worker has commented Your turn: they commented" in words
    assert "The worker’s turn" not in words


# ---- a no is not the end of it


def test_a_no_stays_on_the_list_until_another_letter_is_written(clinic: Clinic, signed_in: SignIn) -> None:
    walk(clinic.house, clinic.letter, *OFFERED, Step.REFUSED)
    client = signed_in(clinic.house.alice)
    page = client.get("/today/")
    assert "Worker did not agree on 2 March 2026. Your turn: talk it over" in words_of(page)
    assert f'href="/letters/{clinic.letter.ref}/"' in text_of(page)
    letter(clinic.house, adjusted(clinic.house, clinic.case))
    assert "Worker did not agree" not in words_of(client.get("/today/"))


def test_a_no_goes_when_the_case_closes(clinic: Clinic, signed_in: SignIn) -> None:
    walk(clinic.house, clinic.letter, *OFFERED, Step.REFUSED)
    close_case(case=clinic.case, outcome="controlled", closed_on=TODAY, by=clinic.house.alice, now=NOW)
    assert "Worker did not agree" not in words_of(signed_in(clinic.house.alice).get("/today/"))


@pytest.mark.parametrize(("days", "shown"), [(29, True), (30, False)])
def test_a_no_stays_for_thirty_days(
    days: int, shown: bool, clinic: Clinic, signed_in: SignIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    walk(clinic.house, clinic.letter, *OFFERED, Step.REFUSED)
    monkeypatch.setattr(clock, "now", lambda: NOW + timedelta(days=days))
    monkeypatch.setattr(clock, "today", lambda: TODAY + timedelta(days=days))
    words = words_of(signed_in(clinic.house.alice).get("/today/"))
    assert ("Worker did not agree" in words) is shown


def test_a_no_about_oneself_is_never_on_it(clinic: Clinic, signed_in: SignIn) -> None:
    walk(clinic.house, clinic.letter, *OFFERED, Step.REFUSED)
    clinic.house.wanda.user = clinic.house.bob
    clinic.house.wanda.save()
    assert "Worker did not agree" not in words_of(signed_in(clinic.house.bob).get("/today/"))
