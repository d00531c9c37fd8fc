"""Assessments: numbered, kept as printed, with actions, owners and a day to look again."""

import io
import re
from collections.abc import Callable

import pypdf
import pytest
from django.db import DatabaseError, transaction
from django.test import Client
from pytest_django import Settings

from tests.conftest import NOW, TODAY, House
from tests.web.clinic_house import key_of, problems_of, send, text_of, words_of
from tests.web.watched import Watched, watch, watched
from thenar.knowledge import Book
from thenar.records.models import AreaAssessment, AuditRow, Role, User
from thenar.screens import clock

SignIn = Callable[[User], Client]
GIVEN = {
    "own_words": "Bowls are washed by hand at each bed.\n\nThe machine is broken.",
    "words-1": "Gloves at hand only where they are indicated",
    "kind-1": "elimination",
    "owner-1": "Ward manager",
    "due_on-1": "2026-04-01",
    "words-2": "Cream at the break room",
    "kind-2": "protection",
    "owner-2": "Occupational health",
    "due_on-2": "2026-03-20",
    "review_on": "2026-09-01",
}


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
    return f"/areas/{ward.ward.ref}/assess/"


def printed(client: Client, kept: AreaAssessment) -> str:
    answer = client.get(f"/assessments/{kept.ref}/assessment.pdf")
    assert answer.headers["Content-Type"] == "application/pdf"
    pages = pypdf.PdfReader(io.BytesIO(answer.content)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def test_an_assessment_is_kept_and_printed(ward: Watched, alice: Client) -> None:
    assert send(alice, page_of(ward), GIVEN).status_code == 302  # type: ignore[attr-defined]
    kept = AreaAssessment.objects.get()
    assert (kept.version, kept.assessed_on, str(kept.review_on)) == (1, TODAY, "2026-09-01")
    paper = printed(alice, kept)
    assert "Assessment 1" in paper
    assert "The machine is broken." in paper
    # Stopping it stands before protecting the hands, though it is due later.
    assert paper.index("Gloves at hand only") < paper.index("Cream at the break room")
    assert "Ward manager" in paper
    assert "1 September 2026" in paper
    assert "TRGS 401 (2022)" in paper
    assert "Page 1 of" in paper
    row = AuditRow.objects.filter(event="area assessed").get()
    assert (row.target, row.data_class, row.why) == (kept.ref, "C5", "assessment 1")
    assert "Assessment 1 (PDF)" in words_of(alice.get(f"/areas/{ward.ward.ref}/"))


def test_the_next_gets_the_next_number_and_the_first_stays_as_printed(
    ward: Watched, alice: Client, book: Book
) -> None:
    send(alice, page_of(ward), GIVEN)
    first = AreaAssessment.objects.get()
    before = printed(alice, first)
    watch(ward.house, book, washes=40)
    send(alice, page_of(ward), {**GIVEN, "own_words": "Seen again."})
    assert [one.version for one in AreaAssessment.objects.order_by("version")] == [1, 2]
    assert printed(alice, first) == before


def test_each_caution_is_printed_once_and_names_its_role_where_it_is_not_for_all(
    ward: Watched, alice: Client, book: Book
) -> None:
    aide = Role.objects.create(name="Aide")
    for observer in ("Ola", "Per"):
        watch(ward.house, book, role=aide, observer=observer)
    send(alice, page_of(ward), GIVEN)
    paper = printed(alice, AreaAssessment.objects.get())
    found, cautions = paper.split("What was found", 1)[1].split(" Cautions ", 1)
    for rule in ("rates.caution.watched", "rates.caution.not-a-target"):
        says = book.rule(rule).on(TODAY).text
        assert says not in found
        assert cautions.count(says) == 1
        assert f": {says}" not in cautions  # it is said of both roles
    assert "Aide: Two or more observers are taken together" in cautions
    assert "under the figures" not in paper  # where the screen shows them, and paper does not


@pytest.mark.django_db(transaction=False)
def test_an_assessment_can_not_be_changed(ward: Watched, alice: Client) -> None:
    send(alice, page_of(ward), GIVEN)
    with pytest.raises(DatabaseError), transaction.atomic():
        AreaAssessment.objects.update(version=7)


def test_the_same_form_sent_twice_makes_one(ward: Watched, alice: Client) -> None:
    fields = {"form_key": key_of(alice, page_of(ward)), **GIVEN}
    assert alice.post(page_of(ward), fields).status_code == 302
    assert alice.post(page_of(ward), fields).status_code == 302
    assert AreaAssessment.objects.count() == 1


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"review_on": ""}, "Review on: Enter the day, like 3 March 2026."),
        ({"review_on": "2026-03-01"}, "Review on: 1 March 2026 has passed."),
        ({"owner-1": ""}, "Owner of action 1: Name an owner."),
        ({"kind-2": ""}, "Kind of action 2: Choose its kind."),
        ({"due_on-1": "31.31.31"}, "Due day of action 1: This is not a day in the calendar."),
        ({"words-1": "x" * 60}, "45 characters"),
        ({"own_words": "日本語"}, "no shape for"),
    ],
)
def test_bad_input_is_named_and_nothing_is_kept(
    ward: Watched, alice: Client, changed: dict[str, str], says: str
) -> None:
    answer = send(alice, page_of(ward), {**GIVEN, **changed})
    assert answer.status_code == 200  # type: ignore[attr-defined]
    assert says in problems_of(answer)
    assert "<title>Error:" in text_of(answer)
    assert not AreaAssessment.objects.exists()


def test_an_area_of_which_nothing_is_known_can_be_assessed_and_says_so(ward: Watched, alice: Client) -> None:
    page = f"/areas/{ward.house.ward_2.ref}/assess/"
    send(alice, page, GIVEN)
    assert "Nothing is known of the work here. That never means that all is well." in printed(
        alice, AreaAssessment.objects.get()
    )


def test_a_session_that_ends_in_mid_form_loses_nothing(ward: Watched, alice: Client) -> None:
    key = key_of(alice, page_of(ward))
    alice.logout()
    answer = alice.post(page_of(ward), {"form_key": key, **GIVEN})
    kept = re.search(r"kept%3D([^&]+)", answer.headers["Location"])
    assert kept
    alice.force_login(ward.house.alice)
    assert "The machine is broken." in text_of(alice.get(page_of(ward), {"kept": kept.group(1)}))


def test_doors(ward: Watched, alice: Client, signed_in: SignIn) -> None:
    send(alice, page_of(ward), GIVEN)
    paper = f"/assessments/{AreaAssessment.objects.get().ref}/assessment.pdf"
    assert signed_in(ward.ivy).get(page_of(ward)).status_code == 403
    assert signed_in(ward.ivy).get(paper).status_code == 200
    assert signed_in(ward.house.mona).get(paper).status_code == 403
    assert alice.get("/assessments/zzzzzzzzzzzz/assessment.pdf").status_code == 404
    assert alice.get("/areas/zzzzzzzzzzzz/assess/").status_code == 404
    assert alice.post(paper).status_code == 405
    assert alice.put(page_of(ward)).status_code == 405
