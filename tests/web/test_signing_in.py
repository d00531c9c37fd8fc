"""The way in and out: one message whatever is wrong, only our own pages next, doors only in the demo."""

import logging
import re
from collections.abc import Callable
from datetime import timedelta
from urllib.parse import quote

import pytest
from django.db import OperationalError
from django.test import Client
from django.urls import reverse

from tests.conftest import NOW, House, make_user
from thenar.records.models import AccessRole, AuditRow, User
from thenar.screens import clock
from thenar.screens.front.doors import DOORS
from thenar.screens.log_lines import PlainLines

SignIn = Callable[[User], Client]
PASSWORD = "four plain words here"


@pytest.fixture(autouse=True)
def _one_day(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: NOW)


@pytest.fixture
def alice(house: House) -> User:
    house.alice.set_password(PASSWORD)
    house.alice.save()
    return house.alice


@pytest.mark.django_db
def test_the_page_says_what_it_is_for_and_shows_no_door() -> None:
    page = Client().get("/sign-in/").content.decode()
    assert "For occupational-health staff, managers and workers" in page
    assert "/demo/" not in page


def test_a_person_signs_in_and_lands_where_they_work(alice: User) -> None:
    client = Client()
    response = client.post("/sign-in/", {"username": "alice", "password": PASSWORD})
    assert (response.status_code, response["Location"]) == (302, "/today/")
    assert client.get("/today/").status_code == 200
    row = AuditRow.objects.get(event="signed in")
    assert (row.who, row.why) == ("alice", "password")


@pytest.mark.parametrize(
    ("username", "password"),
    [("alice", "wrong"), ("nobody", PASSWORD), ("ALICE", PASSWORD), ("gone", PASSWORD), ("a\x00b", PASSWORD)],
)
def test_whatever_is_wrong_the_answer_is_the_same(alice: User, username: str, password: str) -> None:
    gone = make_user("Gone", AccessRole.PRACTITIONER)
    gone.set_password(PASSWORD)
    gone.is_active = False
    gone.save()
    response = Client().post("/sign-in/", {"username": username, "password": password})
    page = response.content.decode()
    assert response.status_code == 200
    assert "<title>Error:" in page
    if "\x00" not in username:  # that one is named by its field
        assert "That name and password do not belong together." in page
    assert password not in page
    assert not AuditRow.objects.filter(event="signed in").exists()


def test_an_empty_form_names_both_fields(house: House) -> None:
    page = Client().post("/sign-in/", {}).content.decode()
    assert "Enter your user name." in page
    assert "Enter your password." in page


def test_after_signing_in_one_goes_on_to_the_page_one_wanted(alice: User) -> None:
    client = Client()
    asked = client.get(f"/workers/{'x' * 12}/?a=1")
    assert asked["Location"] == f"/sign-in/?next={quote('/workers/xxxxxxxxxxxx/?a=1', safe='')}"
    page = client.get(asked["Location"]).content.decode()
    assert f'action="{asked["Location"]}"' in page
    response = client.post(asked["Location"], {"username": "alice", "password": PASSWORD})
    assert response["Location"] == "/workers/xxxxxxxxxxxx/?a=1"


@pytest.mark.parametrize(
    "elsewhere",
    [
        "https://elsewhere.example/",
        "//elsewhere.example/today/",
        "/\\elsewhere.example/",
        "///elsewhere.example/",
        "javascript:alert(1)",
        "/no-such-page/",
        "today/",
        "/today/\r\nSet-Cookie: a=b",
    ],
)
def test_it_never_sends_anyone_to_another_site(alice: User, elsewhere: str) -> None:
    address = f"/sign-in/?next={quote(elsewhere, safe='')}"
    assert "next=" not in Client().get(address).content.decode().partition("<form")[2]
    response = Client().post(address, {"username": "alice", "password": PASSWORD})
    assert response["Location"] == "/today/"


def test_signing_in_changes_the_session_key_so_that_a_planted_one_is_worthless(alice: User) -> None:
    client = Client()
    client.force_login(make_user("Other", AccessRole.CLERK))
    before = client.cookies["__Host-thenar-session"].value
    client.post("/sign-in/", {"username": "alice", "password": PASSWORD})
    assert client.cookies["__Host-thenar-session"].value != before


@pytest.mark.parametrize(
    ("access", "page"),
    [
        ("practitioner", "/today/"),
        ("lead", "/today/"),
        ("clerk", "/workers/"),
        ("manager", "/team/"),
        ("worker", "/mine/"),
        ("administrator", "/staff-list/"),
        ("hr", "/rules/"),
        ("infection_prevention", "/rules/"),
        ("auditor", "/rules/"),
    ],
)
@pytest.mark.django_db
def test_everyone_has_a_first_page(access: str, page: str, signed_in: SignIn) -> None:
    client = signed_in(make_user("Someone", AccessRole(access)))
    assert client.get("/")["Location"] == page
    assert client.get("/sign-in/")["Location"] == "/"


def test_signed_out_the_first_page_is_signing_in(db: None) -> None:
    assert Client().get("/")["Location"] == "/sign-in/"


def test_signing_out_ends_the_session_and_leaves_its_row(house: House, signed_in: SignIn) -> None:
    client = signed_in(house.alice)
    client.get("/today/")
    response = client.post("/sign-out/", follow=True)
    assert "You are signed out." in response.content.decode()
    assert client.get("/today/").status_code == 302
    assert AuditRow.objects.filter(event="signed out", who="alice").count() == 1


def test_a_link_can_not_sign_anyone_out(house: House, signed_in: SignIn) -> None:
    client = signed_in(house.alice)
    response = client.get("/sign-out/")
    assert (response.status_code, response["Allow"]) == (405, "POST")
    assert "can&#x27;t be opened that way" in response.content.decode()
    assert client.get("/today/").status_code == 200


# ---- The demo's doors -----------------------------------------------------------------------------------


@pytest.fixture
def demo_people(db: None) -> None:
    for door in DOORS:
        User.objects.create_user(username=door.username, access=door.who)


@pytest.mark.usefixtures("demo_people")
class TestDoors:
    """Five doors, in the demo and on this machine only."""

    @pytest.mark.parametrize("who", [door.who for door in DOORS])
    def test_outside_the_demo_there_are_none(self, who: str) -> None:
        client = Client(headers={"host": "localhost"})
        assert client.get(f"/demo/{who}/").status_code == 404
        assert "_auth_user_id" not in client.session

    @pytest.mark.parametrize("who", [door.who for door in DOORS])
    @pytest.mark.parametrize("host", ["localhost:8017", "127.0.0.1:8017", "[::1]:8017", "localhost"])
    def test_in_the_demo_each_lets_its_person_in(self, who: str, host: str, settings) -> None:  # type: ignore[no-untyped-def]
        settings.DEMO = True
        client = Client(headers={"host": host})
        assert f"/demo/{who}/" in client.get("/sign-in/").content.decode()
        response = client.get(f"/demo/{who}/")
        assert response.status_code == 302
        user = User.objects.get(username=f"demo-{who}")
        assert client.session["_auth_user_id"] == str(user.pk)
        assert AuditRow.objects.get(event="signed in").why == "demo door"

    @pytest.mark.parametrize(
        ("host", "address"),
        [
            ("saltmere.example", "127.0.0.1"),
            ("localhost", "192.0.2.7"),
            ("localhost.evil.example", "127.0.0.1"),
        ],
    )
    def test_from_elsewhere_there_are_none_even_in_the_demo(self, host: str, address: str, settings) -> None:  # type: ignore[no-untyped-def]
        settings.DEMO = True
        settings.ALLOWED_HOSTS = ["*"]
        client = Client(headers={"host": host}, REMOTE_ADDR=address)
        assert client.get("/demo/practitioner/").status_code == 404
        assert "/demo/" not in client.get("/sign-in/").content.decode()

    def test_a_door_leads_on_to_where_one_was_going(self, settings) -> None:  # type: ignore[no-untyped-def]
        settings.DEMO = True
        client = Client(headers={"host": "localhost"})
        goal = "/workers/?kept=abc"
        page = client.get("/sign-in/", {"next": goal}).content.decode()
        door = re.search(r'href="(/demo/practitioner/[^"]*)"', page)
        assert door
        assert client.get(door[1]).headers["Location"] == goal

    @pytest.mark.parametrize("goal", ["https://elsewhere.example/", "//elsewhere.example/", "/no-such-page/"])
    def test_a_door_leads_to_no_other_site(self, goal: str, settings) -> None:  # type: ignore[no-untyped-def]
        settings.DEMO = True
        client = Client(headers={"host": "localhost"})
        response = client.get("/demo/practitioner/", {"next": goal})
        assert response.headers["Location"] == "/today/"

    @pytest.mark.parametrize("who", ["lead", "demo-practitioner", "alice"])
    def test_there_are_only_five(self, who: str, settings) -> None:  # type: ignore[no-untyped-def]
        settings.DEMO = True
        make_user("Alice", AccessRole.PRACTITIONER)
        assert Client(headers={"host": "localhost"}).get(f"/demo/{who}/").status_code == 404


# ---- A shared computer ----------------------------------------------------------------------------------


def at(minutes: float, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: NOW + timedelta(minutes=minutes))


def test_after_fifteen_quiet_minutes_one_is_signed_out(
    house: House, signed_in: SignIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    client = signed_in(house.alice)
    client.get("/today/")
    at(15.1, monkeypatch)
    response = client.get("/today/")
    assert response["Location"] == "/sign-in/?next=%2Ftoday%2F"
    assert "signed out after 15 quiet minutes" in client.get(response["Location"]).content.decode()
    assert "_auth_user_id" not in client.session


def test_someone_at_work_stays_signed_in_but_not_beyond_eight_hours(
    house: House, signed_in: SignIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    client = signed_in(house.alice)
    for minutes in range(0, 8 * 60 + 1, 14):
        at(minutes, monkeypatch)
        assert client.get("/rules/sources/").status_code == 200, minutes
    at(8 * 60 + 1, monkeypatch)
    assert client.get("/rules/sources/").status_code == 302
    assert "signed out after 8 hours" in client.get("/sign-in/").content.decode()


def test_an_account_that_is_closed_during_a_session_is_out_at_once(house: House, signed_in: SignIn) -> None:
    client = signed_in(house.alice)
    assert client.get("/today/").status_code == 200
    User.objects.filter(pk=house.alice.pk).update(is_active=False)
    assert client.get("/today/").status_code == 302


def test_a_right_that_is_taken_away_is_gone_at_the_next_click(house: House, signed_in: SignIn) -> None:
    client = signed_in(house.alice)
    assert client.get("/today/").status_code == 200
    User.objects.filter(pk=house.alice.pk).update(access="clerk")
    assert client.get("/today/").status_code == 403


# ---- When things break ----------------------------------------------------------------------------------


def test_a_silent_database_is_told_plainly_and_shows_no_inside(
    house: House, signed_in: SignIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    def silent(**facts: object) -> None:
        raise OperationalError("database is locked near 'Wanda Example'")

    monkeypatch.setattr("thenar.screens.today.today.what_waits", silent)
    response = signed_in(house.alice).get("/today/")
    page = response.content.decode()
    assert (response.status_code, response["Retry-After"]) == (503, "60")
    assert "Nothing was saved" in page
    for inside in ("locked", "Wanda", "Traceback", "OperationalError"):
        assert inside not in page


def test_a_database_that_is_silent_before_anyone_is_known_is_told_plainly_too(
    house: House, signed_in: SignIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    client = signed_in(house.alice)

    def silent(request: object) -> None:
        raise OperationalError

    monkeypatch.setattr("django.contrib.auth.middleware.auth.get_user", silent)
    response = client.get("/today/")
    assert response.status_code == 503
    assert response["Cache-Control"] == "no-store"


def test_a_fault_of_ours_is_a_page_without_its_inside(
    house: House, signed_in: SignIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    def faulty(**facts: object) -> None:
        raise ValueError("Wanda Example has no post")

    monkeypatch.setattr("thenar.screens.today.today.what_waits", faulty)
    client = signed_in(house.alice)
    client.raise_request_exception = False
    response = client.get("/today/")
    page = response.content.decode()
    assert response.status_code == 500
    assert "Something went wrong on our side" in page
    assert "Wanda" not in page


class Lines(logging.Handler):
    """Log lines as the product writes them."""

    def __init__(self) -> None:
        super().__init__()
        self.setFormatter(PlainLines("{levelname} {name} {message}", style="{"))
        self.lines: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.lines.append(self.format(record))


@pytest.fixture
def lines() -> Lines:
    handler = Lines()
    root = logging.getLogger()
    root.addHandler(handler)
    yield handler  # type: ignore[misc]
    root.removeHandler(handler)


def test_log_lines_name_the_page_and_the_place_but_nobody(
    house: House, signed_in: SignIn, monkeypatch: pytest.MonkeyPatch, lines: Lines
) -> None:
    def faulty(**facts: object) -> None:
        raise ValueError("staff number 1001, Wanda Example")

    monkeypatch.setattr("thenar.screens.today.workers.worker_story", faulty)
    client = signed_in(house.alice)
    client.raise_request_exception = False
    client.get(f"/workers/{house.wanda.ref}/")
    client.get("/check/link/very-secret-token/")
    client.get("/nowhere/Wanda-Example/")
    text = "\n".join(lines.lines)
    assert "500 GET workers/<slug:ref>/" in text
    assert "ValueError" in text
    assert "test_signing_in.py" in text
    for personal in ("Wanda", "1001", house.wanda.ref, "very-secret-token"):
        assert personal not in text


@pytest.mark.django_db
def test_a_page_that_is_not_there_says_so_with_a_way_on() -> None:
    response = Client().get("/nowhere/")
    assert response.status_code == 404
    assert "There is no such page, or it is not yours to see" in response.content.decode()
    assert reverse("home") in response.content.decode()

    @pytest.mark.parametrize("header", ["X-Forwarded-For", "X-Forwarded-Host", "Forwarded", "Via"])
    def test_a_forwarded_request_finds_none_though_its_last_step_is_this_machine(  # type: ignore[no-untyped-def]
        self, header: str, settings
    ) -> None:
        settings.DEMO = True
        client = Client(headers={"host": "localhost", header: "192.0.2.7"})
        assert client.get("/demo/practitioner/").status_code == 404
