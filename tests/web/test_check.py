"""A skin check from link or sign-in to result: nothing lost, sent once, red flags for all."""

import re
from collections.abc import Callable, Iterator, Mapping
from datetime import timedelta
from pathlib import Path

import pytest
from django.contrib.staticfiles import finders
from django.test import Client
from pytest_django import Settings

from tests.conftest import NOW, House
from thenar.knowledge import Book
from thenar.records.actions.checks import make_check_link
from thenar.records.models import AuditRow, CheckDraft, CheckLink, SkinCheck, User
from thenar.screens import clock
from thenar.screens.check.questions import PageForm, chosen_before, options
from thenar.skin.triage import red_flag_advice, triage_table
from thenar.skin.triage_table import Page

SignIn = Callable[[User], Client]
PAGES = 12  # counted by hand in triage.toml
HUNDRED_KB = 100 * 1000


@pytest.fixture(autouse=True)
def _one_day(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: NOW)


@pytest.fixture
def by_link(house: House) -> Client:
    """Wanda has followed her personal link in a browser where nobody is signed in."""
    client = Client()
    token = make_check_link(worker=house.wanda, by=house.clara, now=NOW)
    assert client.get(f"/check/link/{token}/").status_code == 302
    return client


@pytest.fixture
def at_home(house: House, signed_in: SignIn) -> Client:
    """Wanda has signed in."""
    assert house.wanda.user is not None
    return signed_in(house.wanda.user)


def text_of(response: object) -> str:
    return response.content.decode()  # type: ignore[attr-defined, no-any-return]


def words_of(response: object) -> str:
    """What a person reads: no tags, single spaces, entities as signs."""
    bare = re.sub(r"<[^>]+>", " ", text_of(response)).replace("&#x27;", "'").replace("&amp;", "&")
    return " ".join(bare.split())


def form_key(response: object) -> str:
    found = re.search(r'name="form_key" value="([^"]+)"', text_of(response))
    assert found
    return found.group(1)


def pages(book: Book) -> tuple[Page, ...]:
    return triage_table(book).pages


def no_to(page: Page) -> list[str]:
    """The calmest answer of a page."""
    if len(page.questions) > 1:
        return ["none"]
    return [page.questions[0].answers[0] if page.questions[0].answers else "no"]


def answer_all(client: Client, book: Book, chosen: Mapping[str, list[str]] | None = None) -> None:
    for number, page in enumerate(pages(book), 1):
        answer = (chosen or {}).get(page.id, no_to(page))
        response = client.post(f"/check/{number}/", {"answer": answer})
        following = f"/check/{number + 1}/" if number < len(pages(book)) else "/check/answers/"
        assert response.headers.get("Location") == following, text_of(response)[:2000]


def send(client: Client) -> object:
    key = form_key(client.get("/check/answers/"))
    return client.post("/check/answers/", {"form_key": key}, follow=True)


# ---- The whole way ------------------------------------------------------------------------------------


def test_a_check_goes_from_link_to_result_without_signing_in(
    by_link: Client, book: Book, house: House
) -> None:
    assert len(pages(book)) == PAGES
    assert "Check my hands" in words_of(by_link.get("/check/"))
    answer_all(by_link, book, {"worse": ["growing_heat"], "patients": ["patients"]})
    result = words_of(send(by_link))
    check = SkinCheck.objects.get()
    assert (check.worker, check.given_by, check.urgency) == (house.wanda, "worker", "same_day")
    assert check.answers["growing_heat"] == "yes"
    assert check.answers["growing_pain"] == "no"
    assert "Be seen today" in result
    assert check.ref in result
    assert "This is not a diagnosis" in result
    assert AuditRow.objects.get(event="check submitted").who == "personal link"


def test_a_check_goes_from_sign_in_to_result(at_home: Client, book: Book, house: House) -> None:
    answer_all(at_home, book)
    result = words_of(send(at_home))
    check = SkinCheck.objects.get()
    assert (check.worker, check.urgency) == (house.wanda, "self_care")
    assert "Look after your hands" in result
    assert AuditRow.objects.get(event="check submitted").who == "wanda"


def test_the_address_bar_never_keeps_the_secret_and_neither_does_the_session(house: House) -> None:
    client = Client()
    token = make_check_link(worker=house.wanda, by=house.clara, now=NOW)
    response = client.get(f"/check/link/{token}/")
    assert response.headers["Location"] == "/check/"
    assert token not in repr(dict(client.session.items()))


def test_looking_never_spends_a_link_and_sending_does(house: House, book: Book) -> None:
    token = make_check_link(worker=house.wanda, by=house.clara, now=NOW)
    for _ in range(3):
        assert Client().get(f"/check/link/{token}/").status_code == 302
    assert CheckLink.objects.get().spent_at is None
    client = Client()
    client.get(f"/check/link/{token}/")
    answer_all(client, book)
    send(client)
    assert CheckLink.objects.get().spent_at == NOW
    assert Client().get(f"/check/link/{token}/").status_code == 404


# ---- What ticks mean ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("ticked", "meant"),
    [
        (["fever"], {"fever": "yes", "feeling_unwell": "no"}),
        (["fever", "feeling_unwell"], {"fever": "yes", "feeling_unwell": "yes"}),
        (["none"], {"fever": "no", "feeling_unwell": "no"}),
        (["not_sure"], {"fever": "not_sure", "feeling_unwell": "not_sure"}),
        (["fever", "not_sure"], {"fever": "yes", "feeling_unwell": "not_sure"}),
    ],
)
def test_ticks_mean_yes_and_the_rest_no_unless_not_sure(
    at_home: Client, ticked: list[str], meant: dict[str, str]
) -> None:
    at_home.post("/check/2/", {"answer": ticked})
    assert CheckDraft.objects.get().answers == meant


def test_every_page_offers_not_sure(at_home: Client, book: Book) -> None:
    for number, page in enumerate(pages(book), 1):
        shown = text_of(at_home.get(f"/check/{number}/"))
        assert 'value="not_sure"' in shown, page.id
        assert "Not sure" in shown
        assert at_home.post(f"/check/{number}/", {"answer": "not_sure"}).status_code == 302
    assert set(CheckDraft.objects.get().answers.values()) == {"not_sure"}


def test_what_was_chosen_is_shown_again_on_every_page(book: Book) -> None:
    for page in pages(book):
        for value, _, _ in options(page):
            form = PageForm(page, initial=chosen_before(page, _answers_from(page, [value])))
            assert [row[0][0] for row in form.rows() if row[1]] == [value], page.id


def _answers_from(page: Page, chosen: list[str]) -> dict[str, str]:
    from django.http import QueryDict

    typed = QueryDict(mutable=True)
    typed.setlist("answer", chosen)
    form = PageForm(page, typed)
    assert form.is_valid()
    return form.answers()


# ---- Bad input ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("sent", "says"),
    [
        ([], "Choose an answer. If you can't tell, choose “Not sure”."),
        (["nonsense"], "Choose an answer"),
        (["none", "fever"], "You ticked a yes and also “None of these”."),
        (["none", "not_sure"], "You ticked “None of these” and also “Not sure”."),
    ],
)
def test_an_answer_that_can_not_be_read_is_asked_for_again(
    at_home: Client, sent: list[str], says: str
) -> None:
    response = at_home.post("/check/2/", {"answer": sent})
    assert response.status_code == 200
    assert "<title>Error: " in text_of(response)
    assert says in words_of(response)
    assert not CheckDraft.objects.exists()
    if "fever" in sent:
        assert 'id="answer-fever" checked' in text_of(response)


@pytest.mark.parametrize("number", [0, PAGES + 1, 999])
def test_an_unknown_page_number_is_not_found(at_home: Client, number: int) -> None:
    assert at_home.get(f"/check/{number}/").status_code == 404
    assert at_home.post(f"/check/{number}/", {"answer": "none"}).status_code == 404


def test_sending_nothing_is_refused(at_home: Client, book: Book) -> None:
    assert at_home.get("/check/answers/").headers["Location"] == "/check/"
    at_home.post("/check/1/", {"answer": "none"})
    key = form_key(at_home.get("/check/answers/"))
    CheckDraft.objects.all().delete()
    response = at_home.post("/check/answers/", {"form_key": key})
    assert response.status_code == 409
    assert not SkinCheck.objects.exists()


def test_a_form_without_its_key_sends_nothing(at_home: Client, book: Book) -> None:
    answer_all(at_home, book)
    assert at_home.post("/check/answers/", {"form_key": "forged"}).status_code == 422
    assert not SkinCheck.objects.exists()


@pytest.mark.parametrize(
    "path", ["/check/1/", "/check/", "/check/answers/", "/check/sent/", "/check/link/abc/"]
)
def test_other_methods_are_not_allowed(at_home: Client, path: str) -> None:
    assert at_home.delete(path).status_code == 405


def test_posting_to_a_link_is_not_allowed(house: House) -> None:
    assert Client().post("/check/link/abc/").status_code == 405


# ---- Back, change, resume -----------------------------------------------------------------------------


def test_going_back_shows_what_was_answered(at_home: Client) -> None:
    at_home.post("/check/2/", {"answer": ["fever", "not_sure"]})
    third = text_of(at_home.get("/check/3/"))
    assert 'href="/check/2/">Back</a>' in third
    second = text_of(at_home.get("/check/2/"))
    assert 'id="answer-fever" checked' in second
    assert 'id="answer-not_sure" checked' in second
    assert 'id="answer-feeling_unwell" checked' not in second


def test_changing_an_answer_returns_to_the_answers(at_home: Client, book: Book) -> None:
    answer_all(at_home, book)
    looked_over = at_home.get("/check/answers/")
    assert 'href="/check/2/?then=answers"' in text_of(looked_over)
    assert 'name="then" value="answers"' in text_of(at_home.get("/check/2/?then=answers"))
    response = at_home.post("/check/2/", {"answer": ["fever"], "then": "answers"})
    assert response.headers["Location"] == "/check/answers/"
    send(at_home)
    assert SkinCheck.objects.get().answers["fever"] == "yes"


def test_a_lost_connection_resumes_where_it_stopped(house: House) -> None:
    token = make_check_link(worker=house.wanda, by=house.clara, now=NOW)
    first, second = Client(), Client()
    first.get(f"/check/link/{token}/")
    first.post("/check/1/", {"answer": "none"})
    first.post("/check/2/", {"answer": "fever"})
    second.get(f"/check/link/{token}/")
    assert 'href="/check/3/">Go on with question 3</a>' in text_of(second.get("/check/"))
    assert 'id="answer-fever" checked' in text_of(second.get("/check/2/"))


def test_a_session_that_ends_in_mid_check_loses_nothing(
    at_home: Client, house: House, signed_in: SignIn
) -> None:
    at_home.post("/check/1/", {"answer": "none"})
    key = form_key(at_home.get("/check/2/"))
    at_home.logout()
    response = at_home.post("/check/2/", {"form_key": key, "answer": ["fever", "not_sure"]})
    assert response.status_code == 302
    kept = re.search(r"kept%3D([^&]+)", response.headers["Location"])
    assert kept
    assert house.wanda.user is not None
    again = signed_in(house.wanda.user)
    assert 'id="answer-fever" checked' in text_of(again.get(f"/check/2/?kept={kept.group(1)}"))
    assert "You have answered 1 of 12" in words_of(again.get("/check/"))


def test_answers_are_gone_after_a_day(
    at_home: Client, signed_in: SignIn, monkeypatch: pytest.MonkeyPatch, house: House
) -> None:
    at_home.post("/check/2/", {"answer": "fever"})
    monkeypatch.setattr(clock, "now", lambda: NOW + timedelta(hours=24))
    assert house.wanda.user is not None
    next_day = signed_in(house.wanda.user)
    assert "checked" not in text_of(next_day.get("/check/2/"))
    next_day.post("/check/1/", {"answer": "none"})
    assert set(CheckDraft.objects.get().answers) == {"breathing", "lip_throat_swelling", "faintness"}


def test_beginning_again_forgets_the_answers(at_home: Client) -> None:
    at_home.post("/check/2/", {"answer": "fever"})
    assert at_home.post("/check/").headers["Location"] == "/check/1/"
    assert not CheckDraft.objects.exists()


def test_open_questions_may_be_sent_and_never_reassure(at_home: Client) -> None:
    at_home.post("/check/1/", {"answer": "none"})
    assert "11 questions still open" in words_of(at_home.get("/check/answers/"))
    send(at_home)
    assert SkinCheck.objects.get().urgency == "prompt"  # rule triage.infection-unknown among others


def test_an_emergency_is_said_on_the_very_next_page(at_home: Client) -> None:
    calm = at_home.get("/check/2/")
    assert "Call your local emergency number now." not in words_of(calm)
    at_home.post("/check/1/", {"answer": "breathing"})
    for path in ("/check/2/", "/check/answers/"):
        assert "Call your local emergency number now." in words_of(at_home.get(path))
    assert 'form="send">Send what I have answered</button>' in text_of(at_home.get("/check/answers/"))
    result = words_of(send(at_home))
    assert "Get help now" in result
    assert "Bring the packets" not in result  # advice for later would stand in the way of the call


def test_not_sure_about_the_airway_is_met_at_once_and_first_of_all(at_home: Client, book: Book) -> None:
    says = book.lines["before-all.airway-unknown"].says
    assert says not in words_of(at_home.get("/check/1/"))  # open, but not asked yet
    at_home.post("/check/1/", {"answer": "not_sure"})
    for path in ("/check/2/", "/check/answers/"):
        assert says in words_of(at_home.get(path))
    answer_all(at_home, book, {"now": ["not_sure"]})
    result = words_of(send(at_home))
    assert SkinCheck.objects.get().urgency == "prompt"
    assert result.index(says) < result.index("What to do")


def test_the_sites_emergency_number_can_be_called_from_every_page_that_asks_for_it(
    at_home: Client, book: Book, settings: Settings
) -> None:
    settings.EMERGENCY_TELEPHONE = "112"
    link = '<a class="call" href="tel:112">'
    assert link in text_of(at_home.get("/check/"))
    at_home.post("/check/1/", {"answer": "not_sure"})
    assert link in text_of(at_home.get("/check/2/"))
    at_home.post("/check/1/", {"answer": "breathing"})
    assert link in text_of(at_home.get("/check/2/"))
    assert link in text_of(at_home.get("/check/answers/"))
    assert text_of(send(at_home)).count(link) == 1
    settings.EMERGENCY_TELEPHONE = "the bell by the bed"
    assert "Your local emergency number: the bell by the bed." in words_of(at_home.get("/check/"))


# ---- Whose check --------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", ["/check/", "/check/1/", "/check/answers/"])
def test_someone_without_link_or_account_is_asked_to_sign_in(house: House, path: str) -> None:
    response = Client().get(path)
    assert response.status_code == 302
    assert response.headers["Location"].startswith("/sign-in/")


@pytest.mark.parametrize("who", ["mona", "clara", "ada", "alice"])
@pytest.mark.parametrize("path", ["/check/", "/check/1/", "/check/answers/"])
def test_an_account_without_a_worker_has_no_check(
    house: House, signed_in: SignIn, who: str, path: str
) -> None:
    assert signed_in(getattr(house, who)).get(path).status_code == 404


def test_answers_on_their_way_are_seen_by_their_owner_only(
    at_home: Client, house: House, signed_in: SignIn, by_link: Client
) -> None:
    at_home.post("/check/2/", {"answer": "fever"})
    assert house.yusuf.user is not None
    assert "checked" not in text_of(signed_in(house.yusuf.user).get("/check/2/"))
    # A link may be passed on, so it doesn't open what was answered under the account.
    assert "checked" not in text_of(by_link.get("/check/2/"))


def test_the_result_is_for_the_session_that_sent_it(
    by_link: Client, house: House, signed_in: SignIn, book: Book
) -> None:
    answer_all(by_link, book)
    send(by_link)
    ref = SkinCheck.objects.get().ref
    assert ref in words_of(by_link.get("/check/sent/"))
    assert Client().get("/check/sent/").status_code == 302
    assert house.yusuf.user is not None
    yusuf = signed_in(house.yusuf.user)
    assert yusuf.get("/check/sent/").headers["Location"] == "/mine/"
    assert yusuf.get(f"/mine/checks/{ref}/").status_code == 404


def test_the_next_person_at_the_same_browser_sees_no_result(
    by_link: Client, house: House, book: Book
) -> None:
    answer_all(by_link, book)
    send(by_link)
    by_link.force_login(house.mona)  # signing in keeps what an anonymous session held
    assert by_link.get("/check/sent/").headers["Location"] == "/mine/"
    assert by_link.get("/check/").status_code == 404


def test_a_link_left_behind_gives_the_next_person_their_own_check(by_link: Client, house: House) -> None:
    assert house.yusuf.user is not None
    by_link.force_login(house.yusuf.user)
    by_link.post("/check/2/", {"answer": ["fever"]})
    assert CheckDraft.objects.get().worker == house.yusuf


def test_following_a_link_changes_the_session_key_so_that_a_planted_one_is_worthless(
    by_link: Client, house: House
) -> None:
    before = by_link.cookies["__Host-thenar-session"].value
    by_link.get(f"/check/link/{make_check_link(worker=house.wanda, by=house.clara, now=NOW)}/")
    assert by_link.cookies["__Host-thenar-session"].value != before


def test_a_worker_can_clear_the_result_from_the_device(by_link: Client, book: Book) -> None:
    answer_all(by_link, book)
    send(by_link)
    assert by_link.post("/check/sent/").status_code == 302
    assert by_link.get("/check/sent/").headers["Location"] == "/check/"
    assert by_link.get("/check/").headers["Location"].startswith("/sign-in/")


def test_the_result_leaves_the_session_after_two_hours(
    by_link: Client, book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    answer_all(by_link, book)
    send(by_link)
    monkeypatch.setattr(clock, "now", lambda: NOW + timedelta(hours=2, seconds=1))
    assert by_link.get("/check/sent/").status_code == 302


def test_a_look_at_the_result_leaves_its_row(by_link: Client, book: Book) -> None:
    answer_all(by_link, book)
    send(by_link)
    assert AuditRow.objects.filter(event="own check looked at", who="personal link").count() == 1


# ---- Links that can't be used -------------------------------------------------------------------------


def test_used_expired_and_guessed_links_read_the_same(
    house: House, book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    used = make_check_link(worker=house.wanda, by=house.clara, now=NOW)
    sender = Client()
    sender.get(f"/check/link/{used}/")
    answer_all(sender, book)
    send(sender)
    expired = make_check_link(worker=house.yusuf, by=house.clara, now=NOW - timedelta(days=14))
    answers = [Client().get(f"/check/link/{token}/") for token in (used, expired, "a-guess", "x" * 200)]
    assert {answer.status_code for answer in answers} == {404}
    assert len({answer.content for answer in answers}) == 1
    for line in red_flag_advice(book):
        assert line.says in words_of(answers[0])
    assert "Ask occupational health for a new one" in words_of(answers[0])


def test_a_link_that_expires_in_mid_check_takes_no_more_answers(
    by_link: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    by_link.post("/check/1/", {"answer": "none"})
    monkeypatch.setattr(clock, "now", lambda: NOW + timedelta(days=14))
    for response in (by_link.post("/check/2/", {"answer": "none"}), by_link.get("/check/2/")):
        assert response.status_code == 404
        assert "This link can't be used" in words_of(response)


def test_someone_signed_in_whose_link_is_used_goes_on_with_their_own_check(
    at_home: Client, house: House, book: Book
) -> None:
    token = make_check_link(worker=house.wanda, by=house.clara, now=NOW)
    at_home.get(f"/check/link/{token}/")
    answer_all(at_home, book)
    send(at_home)
    assert at_home.get("/check/").status_code == 200
    answer_all(at_home, book)
    send(at_home)
    assert SkinCheck.objects.count() == 2


def test_a_link_followed_while_someone_else_is_signed_in_shows_its_result_and_stays_its_workers(
    house: House, signed_in: SignIn, book: Book
) -> None:
    assert house.yusuf.user is not None
    shared = signed_in(house.yusuf.user)
    token = make_check_link(worker=house.wanda, by=house.clara, now=NOW)
    shared.get(f"/check/link/{token}/")
    assert "For Wanda, personally." in words_of(shared.get("/check/"))
    answer_all(shared, book)
    assert SkinCheck.objects.count() == 0
    result = words_of(send(shared))
    check = SkinCheck.objects.get()
    assert check.worker == house.wanda
    assert check.ref in result
    assert check.ref not in words_of(shared.get("/mine/"))
    assert not AuditRow.objects.filter(worker_ref=house.wanda.ref, who="yusuf").exists()


def test_two_browsers_with_one_link_make_one_record(house: House, book: Book) -> None:
    token = make_check_link(worker=house.wanda, by=house.clara, now=NOW)
    one, two = Client(), Client()
    for client in (one, two):
        client.get(f"/check/link/{token}/")
    answer_all(one, book)
    keys = [form_key(client.get("/check/answers/")) for client in (one, two)]
    assert one.post("/check/answers/", {"form_key": keys[0]}).status_code == 302
    late = two.post("/check/answers/", {"form_key": keys[1]})
    assert late.status_code == 404
    assert "This link can't be used" in words_of(late)
    assert SkinCheck.objects.count() == 1


# ---- Sent twice ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("how", ["by_link", "at_home"])
def test_sent_twice_makes_one_record_and_shows_the_same_receipt(
    how: str, request: pytest.FixtureRequest, book: Book
) -> None:
    client: Client = request.getfixturevalue(how)
    answer_all(client, book, {"feel": ["cracks"]})
    key = form_key(client.get("/check/answers/"))
    first = client.post("/check/answers/", {"form_key": key}, follow=True)
    second = client.post("/check/answers/", {"form_key": key}, follow=True)
    check = SkinCheck.objects.get()
    assert check.ref in words_of(first)
    assert check.ref in words_of(second)


@pytest.mark.parametrize("how", ["by_link", "at_home"])
def test_sent_from_a_second_window_it_leads_to_the_receipt_of_the_first(
    how: str, request: pytest.FixtureRequest, book: Book
) -> None:
    client: Client = request.getfixturevalue(how)
    answer_all(client, book, {"feel": ["cracks"]})
    keys = [form_key(client.get("/check/answers/")) for _ in range(2)]
    client.post("/check/answers/", {"form_key": keys[0]})
    late = client.post("/check/answers/", {"form_key": keys[1]})
    assert late.status_code in (404, 409)
    assert 'href="/check/sent/">See the check you have just sent' in text_of(late)
    assert SkinCheck.objects.get().ref in words_of(client.get("/check/sent/"))


def test_a_second_window_of_a_session_that_sent_nothing_shows_no_receipt(at_home: Client, book: Book) -> None:
    answer_all(at_home, book)
    key = form_key(at_home.get("/check/answers/"))
    CheckDraft.objects.all().delete()
    late = at_home.post("/check/answers/", {"form_key": key})
    assert late.status_code == 409
    assert "/check/sent/" not in text_of(late)


# ---- The result ---------------------------------------------------------------------------------------

OUTCOMES = {
    "emergency": {"now": ["breathing"]},
    "same_day": {"worse": ["growing_pain"]},
    "prompt": {"surface": ["weeping"]},
    "routine": {"feel": ["itch"]},
    "self_care": {},
}


@pytest.mark.parametrize(("urgency", "chosen"), OUTCOMES.items())
def test_the_full_red_flag_advice_is_shown_whatever_was_answered(
    at_home: Client, book: Book, urgency: str, chosen: dict[str, list[str]]
) -> None:
    answer_all(at_home, book, chosen)
    shown = words_of(send(at_home))
    assert SkinCheck.objects.get().urgency == urgency
    assert len(red_flag_advice(book)) >= 6
    for line in red_flag_advice(book):
        assert line.says in shown
    for line in (*book.lines_about(f"urgency.{urgency}"), *book.lines_about("limits")):
        assert line.says in shown
    assert "What would make it more urgent" in shown


def test_the_result_says_why_with_rule_source_and_edition(at_home: Client, book: Book) -> None:
    answer_all(at_home, book, {"sores": ["yes"]})
    shown = words_of(send(at_home))
    assert book.entry("triage.sores").says in shown
    assert f"triage.sores, {book.entry('triage.sores').citation.label}" in shown
    assert f"edition {book.edition}" in shown


def test_the_start_page_says_when_to_get_help_and_whom_to_call(at_home: Client, book: Book) -> None:
    shown = words_of(at_home.get("/check/"))
    for line in red_flag_advice(book):
        assert line.says in shown
    assert "Your local emergency number" in shown


# ---- Light, plain, without script ---------------------------------------------------------------------


def every_page(client: Client, book: Book) -> Iterator[object]:
    yield client.get("/check/")
    for number in range(1, PAGES + 1):
        yield client.get(f"/check/{number}/")
    answer_all(client, book, {"now": ["not_sure"], "feel": ["itch", "cracks"]})
    yield client.get("/check/answers/")
    yield send(client)
    yield Client().get("/check/link/a-guess/")


def linked_files(page: str) -> set[str]:
    """Names of the static files a page links, and of the typefaces its style sheets name."""
    linked = {href.removeprefix("/static/") for href in re.findall(r'(?:href|src)="(/static/[^"]+)"', page)}
    for sheet in [name for name in linked if name.endswith(".css")]:
        text = Path(str(finders.find(sheet))).read_text()
        linked |= {f"thenar/{url}" for url in re.findall(r'url\("([^"]+)"\)', text)}
    return linked


def test_a_check_page_with_all_it_links_weighs_at_most_100_kb(at_home: Client, book: Book) -> None:
    for response in every_page(at_home, book):
        page = text_of(response)
        # A browser fetches the extended typefaces only for letters beyond Latin-1, which no page here has.
        assert not re.search(r"[\u0100-\u0130\u0132-\u0151\u0154-\u02ba\u1e00-\u1eff]", page)
        linked = {name for name in linked_files(page) if not name.endswith("-ext.woff2")}
        sizes = {name: Path(str(finders.find(name))).stat().st_size for name in linked}
        assert len(page.encode()) + sum(sizes.values()) <= HUNDRED_KB, (len(page), sizes)


def test_check_pages_have_no_script_and_ask_no_other_host(at_home: Client, book: Book) -> None:
    for response in every_page(at_home, book):
        page = text_of(response).lower()
        assert "<script" not in page
        assert "http://" not in page
        assert "https://" not in page
        assert " style=" not in page
        assert 'class="phone"' in page


def test_sentences_of_the_check_are_short(at_home: Client, book: Book) -> None:
    """At most 20 words, as plain-language guides advise; the rules' own words have their own test."""
    for response in every_page(at_home, book):
        main = re.search(r"<main.*?</main>", text_of(response), re.S)
        assert main
        without_why = re.sub(
            r"<details.*?</details>|<section aria-labelledby=\"why\">.*?</section>",
            "",
            main.group(0),
            flags=re.S,
        )
        blocks = re.split(r"<(?:p|li|dt|dd|h\d|label|a|legend|span|button|div)\b[^>]*>|</[^>]+>", without_why)
        for block in blocks:
            for sentence in re.split(r"(?<=[.?!:])\s", re.sub(r"<[^>]+>", " ", block)):
                assert len(sentence.split()) <= 20, sentence
