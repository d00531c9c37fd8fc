"""A manager sees released adjustments of their own staff, and nothing clinical, by any door."""

import re
from collections.abc import Callable
from datetime import date, timedelta

import pypdfium2
import pytest
from django.test import Client

from tests.conftest import NOW, TODAY, House
from tests.web import wanda
from thenar.knowledge import Book
from thenar.records.letter_states import Step
from thenar.records.models import AreaManager, AuditRow, Letter, Post, User
from thenar.screens import clock

SignIn = Callable[[User], Client]
NEVER = ("skin", "dermatitis", "hands", "eczema", "examination", wanda.MARKED.lower())


@pytest.fixture(autouse=True)
def _one_day(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: NOW)
    monkeypatch.setattr(clock, "today", lambda: TODAY)


@pytest.fixture
def released(house: House, book: Book) -> Letter:
    return wanda.everything(house, book)


def words_of(response: object) -> str:
    bare = re.sub(r"<[^>]+>", " ", response.content.decode())  # type: ignore[attr-defined]
    return " ".join(bare.replace("&#x27;", "'").split())


def words_in_pdf(pdf: bytes) -> str:
    return " ".join(
        " ".join(page.get_textpage().get_text_bounded() for page in pypdfium2.PdfDocument(pdf)).split()
    )


# ---- Works ----------------------------------------------------------------------------------------------


def test_a_manager_sees_what_changes_and_from_when_to_when(
    house: House, signed_in: SignIn, released: Letter
) -> None:
    page = words_of(signed_in(house.mona).get("/team/"))
    for part in (
        "Wanda Example",
        "1001",
        wanda.MEASURE,
        "2 Mar 2026",
        "30 Apr 2026",
        "30 Mar 2026",
        "Ward 1",
    ):
        assert part in page
    assert "What you don’t see" in page


def test_the_letter_page_shows_the_letter_and_leaves_its_row(
    house: House, signed_in: SignIn, released: Letter
) -> None:
    page = words_of(signed_in(house.mona).get(f"/team/letters/{released.ref}/"))
    assert "Adjustment to work" in page
    assert wanda.MEASURE in page
    row = AuditRow.objects.get(event="letter read by its recipient")
    assert (row.who, row.worker_ref, row.target) == ("mona", house.wanda.ref, released.ref)


def test_the_pdf_is_the_letter(house: House, signed_in: SignIn, released: Letter) -> None:
    response = signed_in(house.mona).get(f"/team/letters/{released.ref}/letter.pdf")
    assert response.headers["Content-Type"] == "application/pdf"
    assert "Wanda" not in response.headers["Content-Disposition"]
    assert wanda.MEASURE in words_in_pdf(response.content)


def test_the_words_of_the_page_are_the_words_of_the_paper(
    house: House, signed_in: SignIn, released: Letter
) -> None:
    """What was agreed on a screen is what is printed: every sentence of the sheet stands in the PDF."""
    mona = signed_in(house.mona)
    html = mona.get(f"/team/letters/{released.ref}/").content.decode()
    sheet = re.search(r'<article class="sheet.*?</article>', html, re.S)
    assert sheet
    paper = _flat(words_in_pdf(mona.get(f"/team/letters/{released.ref}/letter.pdf").content))
    blocks = re.findall(r"<(p|li|h2|h3|dt|dd)\b[^>]*>(.*?)</\1>", sheet.group(0), re.S)
    assert len(blocks) > 15
    for _, block in blocks:
        for part in re.split(r"<br>|(?<=\.)\s", re.sub(r"</?strong>", "", block)):
            assert _flat(part) in paper, part


def _flat(text: str) -> str:
    """Letters and figures only: lines break elsewhere on paper."""
    return "".join(sign for sign in text.lower() if sign.isalnum())


def test_an_adjustment_that_has_ended_moves_below(
    house: House, signed_in: SignIn, released: Letter, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(clock, "now", lambda: NOW + timedelta(days=60))  # 1 May, a day after its end
    page = words_of(signed_in(house.mona).get("/team/"))
    assert "No adjustment is running in your team." in page
    assert "Ended" in page
    assert wanda.MEASURE in page


def test_an_empty_team_says_so_and_what_to_expect(house: House, signed_in: SignIn) -> None:
    page = words_of(signed_in(house.mona).get("/team/"))
    assert "No adjustment is running in your team." in page
    assert "When a letter is sent to you, the change appears here." in page


def test_a_manager_without_an_area_is_told_whom_to_ask(house: House, signed_in: SignIn) -> None:
    AreaManager.objects.filter(user=house.mona).update(until_on=date(2026, 3, 1))
    assert "ask the administrator to enter it" in words_of(signed_in(house.mona).get("/team/"))


@pytest.mark.parametrize("steps", [wanda.OFFERED, wanda.AGREED])
def test_nothing_shows_before_the_release(house: House, signed_in: SignIn, steps: tuple[Step, ...]) -> None:
    kept = wanda.letter(house, wanda.adjusted(house, wanda.in_case(house)))
    wanda.walk(house, kept, *steps)
    mona = signed_in(house.mona)
    assert wanda.MEASURE not in words_of(mona.get("/team/"))
    assert mona.get(f"/team/letters/{kept.ref}/").status_code == 404
    assert mona.get(f"/team/letters/{kept.ref}/letter.pdf").status_code == 404


def test_a_new_wording_takes_the_place_of_the_old_once_it_is_released(
    house: House, signed_in: SignIn, released: Letter
) -> None:
    mona = signed_in(house.mona)
    newer = wanda.letter(
        house, wanda.adjusted(house, released.adjustment.case, end_on=None), replaces=released
    )
    wanda.walk(house, newer, *wanda.AGREED)
    assert f"/team/letters/{released.ref}/" in mona.get("/team/").content.decode()
    wanda.walk(house, newer, Step.RELEASED)
    page = mona.get("/team/").content.decode()
    assert f"/team/letters/{newer.ref}/" in page
    assert f"/team/letters/{released.ref}/" not in page


# ---- Wrong role, not yours, bad input ---------------------------------------------------------------------


@pytest.mark.parametrize("who", ["alice", "clara", "ada"])
@pytest.mark.parametrize("path", ["/team/", "/team/letters/{ref}/", "/team/letters/{ref}/letter.pdf"])
def test_only_managers_have_a_team_page(
    house: House, signed_in: SignIn, released: Letter, who: str, path: str
) -> None:
    response = signed_in(getattr(house, who)).get(path.format(ref=released.ref))
    assert response.status_code == 403
    assert AuditRow.objects.filter(event="refused", who=who).count() == 1


@pytest.mark.parametrize("path", ["/team/letters/{ref}/", "/team/letters/{ref}/letter.pdf"])
def test_another_managers_letter_reads_like_one_that_never_was(
    house: House, signed_in: SignIn, released: Letter, path: str
) -> None:
    nils = signed_in(house.nils)
    hidden = nils.get(path.format(ref=released.ref))
    absent = nils.get(path.format(ref="zzzzzzzzzzzz"))
    assert hidden.status_code == absent.status_code == 404
    assert words_of(hidden) == words_of(absent)
    assert "Wanda" not in words_of(hidden)
    refused = AuditRow.objects.filter(event="refused", who="nils")
    assert refused.count() == 2
    assert not refused.exclude(worker_ref="").exists()


def test_a_worker_who_moved_to_another_ward_is_no_longer_shown(
    house: House, signed_in: SignIn, released: Letter
) -> None:
    Post.objects.filter(worker=house.wanda).update(area=house.ward_2)
    for manager in (house.mona, house.nils):
        client = signed_in(manager)
        assert "Wanda" not in words_of(client.get("/team/"))
        assert client.get(f"/team/letters/{released.ref}/").status_code == 404


def test_someone_signed_out_signs_in_first(house: House, released: Letter) -> None:
    assert Client().get("/team/").headers["Location"] == "/sign-in/?next=%2Fteam%2F"


@pytest.mark.parametrize("path", ["/team/", "/team/letters/abc/", "/team/letters/abc/letter.pdf"])
def test_nothing_can_be_sent_to_these_pages(house: House, signed_in: SignIn, path: str) -> None:
    assert signed_in(house.mona).post(path).status_code == 405


@pytest.mark.parametrize("ref", ["..", "a%20b", "%00", "x" * 300])
def test_a_strange_reference_is_not_found(house: House, signed_in: SignIn, ref: str) -> None:
    assert signed_in(house.mona).get(f"/team/letters/{ref}/").status_code == 404


# ---- Nothing clinical by any door -------------------------------------------------------------------------


def test_no_clinical_word_stands_on_a_managers_pages(
    house: House, signed_in: SignIn, released: Letter
) -> None:
    mona = signed_in(house.mona)
    shown = [
        words_of(mona.get("/team/")),
        words_of(mona.get(f"/team/letters/{released.ref}/")),
        words_in_pdf(mona.get(f"/team/letters/{released.ref}/letter.pdf").content),
        words_of(signed_in(house.nils).get("/team/")),
    ]
    for page in shown:
        for word in NEVER:
            assert not re.search(rf"\b{word}\b", page.lower()), word


def test_the_marked_word_is_in_the_record_or_this_test_could_not_fail(
    house: House, signed_in: SignIn, released: Letter
) -> None:
    assert house.wanda.user is not None
    page = words_of(signed_in(house.wanda.user).get("/mine/"))
    for field in ("sorting", "examination", "plan", "review", "review note"):
        assert f"{wanda.MARKED} {field}" in page
    letter_page = words_of(signed_in(house.wanda.user).get(f"/mine/letters/{released.ref}/"))
    assert f"{wanda.MARKED} comment" in letter_page


@pytest.mark.parametrize("who", ["mona", "nils", "ada", "clara"])
def test_nothing_written_about_hands_reaches_managers_clerk_or_administrator(
    house: House, signed_in: SignIn, released: Letter, who: str
) -> None:
    """Every page here and every page of the record, asked for by name: none shows the marked word."""
    client = signed_in(getattr(house, who))
    case = released.adjustment.case
    examination, plan, check = case.examinations.get(), case.plans.get(), house.wanda.checks.get()
    doors = [
        "/team/",
        f"/team/letters/{released.ref}/",
        f"/team/letters/{released.ref}/letter.pdf",
        "/mine/",
        "/mine/looked/",
        f"/mine/checks/{check.ref}/",
        f"/mine/plans/{plan.ref}/plan.pdf",
        f"/mine/letters/{released.ref}/",
        f"/mine/letters/{released.ref}/letter.pdf",
        "/check/",
        "/check/answers/",
        "/check/sent/",
        f"/workers/{house.wanda.ref}/",
        f"/cases/{case.ref}/",
        f"/examinations/{examination.ref}/",
    ]
    for door in doors:
        response = client.get(door, follow=True)
        pdf = response.headers.get("Content-Type") == "application/pdf"
        shown = words_in_pdf(response.content) if pdf else response.content.decode()
        assert wanda.MARKED not in shown, door
