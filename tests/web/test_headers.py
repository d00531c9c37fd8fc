"""What every answer carries, page or error, signed in or out."""

import re
from collections.abc import Callable, Iterator
from contextlib import closing

import pytest
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver

from tests.conftest import House
from thenar.records.models import User

pytestmark = pytest.mark.slow

SignIn = Callable[[User], Client]
POLICY = {
    "default-src 'none'",
    "style-src 'self'",
    "script-src 'self'",
    "img-src 'self'",
    "font-src 'self'",
    "connect-src 'self'",
    "form-action 'self'",
    "base-uri 'none'",
    "object-src 'none'",
    "frame-ancestors 'none'",
}
FILLED = {
    "ref": "zzzzzzzzzzzz",
    "product_ref": "zzzzzzzzzzzz",
    "token": "no-such-token",
    "number": "1",
    "key": "none.such",
    "who": "clerk",
}


def addresses() -> Iterator[str]:
    """Every address there is, with something absent in its open places."""

    def walk(patterns: list[URLPattern | URLResolver]) -> Iterator[str]:
        for pattern in patterns:
            if isinstance(pattern, URLResolver):
                yield from walk(pattern.url_patterns)
            else:
                yield "/" + re.sub(r"<\w+:(\w+)>", lambda place: FILLED[place[1]], str(pattern.pattern))

    yield from walk(get_resolver().url_patterns)
    yield "/nowhere/"


ADDRESSES = sorted(set(addresses()))
OPEN = ("/", "/sign-in/", "/sign-out/", "/nowhere/")


def test_there_are_addresses_to_look_at() -> None:
    assert len(ADDRESSES) >= 35


@pytest.mark.parametrize("who", ["nobody", "alice", "clara", "mona", "ada", "wanda"])
@pytest.mark.parametrize("method", ["get", "post"])
def test_every_answer_keeps_browsers_from_keeping_framing_or_mixing_it(
    method: str, who: str, house: House, signed_in: SignIn
) -> None:
    user = {"wanda": house.wanda.user}.get(who) or getattr(house, who, None)
    client = signed_in(user) if user else Client()
    for address in sorted(ADDRESSES, key=lambda one: one == "/sign-out/"):  # last, for it ends the session
        response = getattr(client, method)(address)
        assert response.status_code < 500, address
        assert response["Cache-Control"] == "no-store", address
        assert response["X-Frame-Options"] == "DENY", address
        assert response["X-Content-Type-Options"] == "nosniff", address
        assert response["Referrer-Policy"] == "same-origin", address
        assert {part.strip() for part in response["Content-Security-Policy"].split(";")} == POLICY, address


@pytest.mark.parametrize(
    "address", [a for a in ADDRESSES if not a.startswith(("/check/", "/demo/", *OPEN[1:]))]
)
def test_signed_out_every_page_asks_to_sign_in_and_remembers_itself(address: str, db: None) -> None:
    response = Client().get(address)
    if response.status_code == 405:  # a part of a page that is only ever sent to
        response = Client().post(address)
    assert response.status_code == 302, address
    assert response["Location"].startswith("/sign-in/")
    if address != "/":
        assert "next=" in response["Location"]


@pytest.mark.parametrize("who", ["alice", "wanda", "mona", "ada"])
def test_no_page_carries_style_or_script_of_its_own_or_asks_another_host(
    who: str, house: House, signed_in: SignIn
) -> None:
    user = house.wanda.user if who == "wanda" else getattr(house, who)
    assert user is not None
    client = signed_in(user)
    for address in ("/sign-in/", *ADDRESSES):
        response = client.get(address, follow=True)
        if not response["Content-Type"].startswith("text/html"):
            continue
        page = response.content.decode()
        assert not re.search(r"<style|\sstyle=|<script(?![^>]*\ssrc=)|\son\w+=", page), address
        for host in re.findall(r'<(?:link|script|img|source|iframe)[^>]+(?:href|src)="(https?:)?//', page):
            pytest.fail(f"{address} asks {host}")


def test_cookies_are_for_this_site_over_tls_and_out_of_reach_of_scripts(house: House) -> None:
    house.alice.set_password("four plain words here")
    house.alice.save()
    client = Client()
    client.post("/sign-in/", {"username": "alice", "password": "four plain words here"})
    cookie = client.cookies["__Host-thenar-session"]
    assert (cookie["secure"], cookie["httponly"], cookie["samesite"]) == (True, True, "Lax")
    assert not cookie["expires"]  # gone when the browser closes


def test_the_style_sheet_may_be_kept(db: None) -> None:
    with closing(Client().get("/static/thenar/thenar.css")) as response:
        assert response.status_code == 200
        assert "no-store" not in response["Cache-Control"]
