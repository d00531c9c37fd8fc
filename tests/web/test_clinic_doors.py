"""Who may open the clinic's pages, what a stranger learns from them, and what each look leaves behind."""

from collections.abc import Callable

import pytest
from django.test import Client

from tests.conftest import NOW, TODAY, House
from tests.web.clinic_house import Clinic, a_clinic, text_of, words_of
from thenar.knowledge import Book
from thenar.records.models import AccessRole, AuditRow, User
from thenar.screens import clock

SignIn = Callable[[User], Client]
PAGES = [
    *("check", "case", "examine", "examination", "correct", "plan_new", "plan", "plan_pdf"),
    *("adjustment_new", "letter", "letter_pdf", "review_new", "review", "close_case"),
]
TO_READ_ONLY = ("case", "examination", "plan", "plan_pdf", "letter_pdf")
TO_WRITE = ("examine", "correct", "plan_new", "adjustment_new", "review_new", "close_case")


@pytest.fixture(autouse=True)
def _one_day(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: NOW)
    monkeypatch.setattr(clock, "today", lambda: TODAY)


@pytest.fixture
def clinic(house: House, book: Book) -> Clinic:
    return a_clinic(house, book)


def test_the_list_of_pages_here_is_the_list_there_is(clinic: Clinic) -> None:
    assert sorted(clinic.pages()) == sorted(PAGES)


@pytest.mark.parametrize("page", PAGES)
def test_a_practitioner_opens_it_and_the_look_is_noted(page: str, clinic: Clinic, signed_in: SignIn) -> None:
    before = AuditRow.objects.filter(who="alice").count()
    response = signed_in(clinic.house.alice).get(clinic.pages()[page])
    assert response.status_code == 200
    noted = AuditRow.objects.filter(who="alice").order_by("pk")[before:]
    assert [row.worker_ref for row in noted] == [
        clinic.house.yusuf.ref if page == "check" else clinic.house.wanda.ref
    ]


@pytest.mark.parametrize("page", PAGES)
@pytest.mark.parametrize("who", ["clara", "mona", "ada", "wanda"])
def test_nobody_else_may_not_even_the_worker_here(
    who: str, page: str, clinic: Clinic, signed_in: SignIn
) -> None:
    someone = clinic.house.wanda.user if who == "wanda" else getattr(clinic.house, who)
    response = signed_in(someone).get(clinic.pages()[page])
    assert response.status_code == 403
    assert "Wanda" not in words_of(response).replace("Wanda Example Sign out", "")
    assert AuditRow.objects.filter(event="refused", who=someone.username).count() == 1


@pytest.mark.parametrize("page", PAGES)
def test_signed_out_leads_to_signing_in(page: str, clinic: Clinic) -> None:
    response = Client().get(clinic.pages()[page])
    assert response.status_code == 302
    assert response["Location"].startswith("/sign-in/?next=")


@pytest.mark.parametrize("page", PAGES)
def test_ones_own_record_reads_like_one_that_is_not_there(
    page: str, clinic: Clinic, signed_in: SignIn
) -> None:
    for worker in (clinic.house.wanda, clinic.house.yusuf):
        assert worker.user is not None
        worker.user.access = AccessRole.PRACTITIONER
        worker.user.save()
    own = clinic.house.yusuf.user if page == "check" else clinic.house.wanda.user
    assert own is not None
    address = clinic.pages()[page]
    ref = address.strip("/").split("/")[1]
    hidden = signed_in(own).get(address)
    absent = signed_in(own).get(address.replace(ref, "a" * 12))
    assert (hidden.status_code, absent.status_code) == (404, 404)
    assert words_of(hidden) == words_of(absent)


@pytest.mark.parametrize("page", TO_READ_ONLY)
def test_a_page_to_read_takes_no_form(page: str, clinic: Clinic, signed_in: SignIn) -> None:
    assert signed_in(clinic.house.alice).post(clinic.pages()[page], {}).status_code == 405


@pytest.mark.parametrize("page", ["check", *TO_WRITE, "letter", "review"])
def test_a_form_page_takes_nothing_but_its_form(page: str, clinic: Clinic, signed_in: SignIn) -> None:
    assert signed_in(clinic.house.alice).put(clinic.pages()[page]).status_code == 405


@pytest.mark.parametrize("page", TO_WRITE)
def test_a_lead_reads_and_does_not_write(page: str, clinic: Clinic, signed_in: SignIn) -> None:
    bob = clinic.house.bob
    bob.access = AccessRole.LEAD
    bob.save()
    client = signed_in(bob)
    assert client.get(clinic.pages()["case"]).status_code == 200
    assert "Examine the hands" not in words_of(client.get(clinic.pages()["case"]))
    assert client.get(clinic.pages()[page]).status_code == 403


@pytest.mark.parametrize("page", ["check", "letter", "review"])
def test_a_lead_sees_no_form_and_can_send_none(page: str, clinic: Clinic, signed_in: SignIn) -> None:
    bob = clinic.house.bob
    bob.access = AccessRole.LEAD
    bob.save()
    client = signed_in(bob)
    shown = text_of(client.get(clinic.pages()[page]))
    assert 'name="form_key"' not in shown
    assert client.post(clinic.pages()[page], {}).status_code == 403


@pytest.mark.parametrize("page", ["check", *TO_WRITE, "review"])
def test_a_form_without_its_key_records_nothing(page: str, clinic: Clinic, signed_in: SignIn) -> None:
    before = AuditRow.objects.exclude(event="record looked at").count()
    fields = {"outcome": "done", "closed_on": "2 March 2026", "decision": "case", "due_on": "9 March 2026"}
    response = signed_in(clinic.house.alice).post(clinic.pages()[page], fields)
    assert response.status_code == 200
    assert "There is a problem" in words_of(response)
    assert AuditRow.objects.exclude(event="record looked at").count() == before
