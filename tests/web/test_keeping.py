"""Nothing typed is lost: not when a session ends in mid-form, not when the form's key no longer fits."""

from collections.abc import Callable
from datetime import timedelta
from urllib.parse import parse_qs, urlsplit

import pytest
from django.http import HttpRequest, HttpResponse
from django.test import Client
from django.urls import include, path

from tests.conftest import NOW, House
from thenar.records.models import KeptTyping, User
from thenar.records.rights import Act
from thenar.screens import clock
from thenar.screens.keeping import new_form_key, submitted_once, typed_before
from thenar.screens.people import for_those_who

SignIn = Callable[[User], Client]
TYPED = {"note": "sore at the webs", "marks": ["left-palm", "right-palm"]}


@for_those_who(Act.WRITE_CLINICAL)
def form(request: HttpRequest) -> HttpResponse:
    """A form such as the clinic's: it shows what was typed before, and takes what is sent once."""
    if request.method == "POST":
        return HttpResponse(submitted_once(request, "form", lambda: "made"))
    typed = typed_before(request)
    return HttpResponse(f"{typed['note']}|{','.join(typed.getlist('marks'))}" if typed else "empty")


urlpatterns = [path("form/", form), path("", include("thenar.screens.urls"))]
pytestmark = pytest.mark.urls(__name__)


@pytest.fixture(autouse=True)
def _one_day(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: NOW)


def sent(client: Client, key: str, **rest: object) -> str:
    """Send the form; where one is led."""
    return client.post("/form/", {**TYPED, "form_key": key, **rest}).get("Location", "")


def goal_of(address: str) -> str:
    return parse_qs(urlsplit(address).query)["next"][0]


def test_signed_out_in_mid_form_the_typing_waits_for_its_person(house: House, signed_in: SignIn) -> None:
    led_to = sent(Client(), new_form_key(house.alice))
    assert led_to.startswith("/sign-in/?next=%2Fform%2F%3Fkept%3D")
    again = signed_in(house.alice).get(goal_of(led_to))
    assert again.content.decode() == "sore at the webs|left-palm,right-palm"


def test_a_page_that_gives_typing_back_says_so_and_that_nothing_is_recorded(
    house: House, signed_in: SignIn
) -> None:
    key = new_form_key(house.alice)
    led_to = Client().post("/workers/", {"form_key": key, "words": "exam"}).get("Location", "")
    client = signed_in(house.alice)
    said = "Your typing is back; nothing is recorded yet."
    assert client.get(goal_of(led_to)).content.decode().count(said) == 1
    assert said not in client.get("/today/").content.decode()


def test_a_reload_of_the_restored_form_loses_nothing(house: House, signed_in: SignIn) -> None:
    address = goal_of(sent(Client(), new_form_key(house.alice)))
    client = signed_in(house.alice)
    assert client.get(address).content == client.get(address).content != b"empty"


def test_another_person_at_the_same_computer_is_shown_nothing(house: House, signed_in: SignIn) -> None:
    address = goal_of(sent(Client(), new_form_key(house.alice)))
    assert signed_in(house.bob).get(address).content == b"empty"
    assert signed_in(house.alice).get(address).content != b"empty"


def test_it_is_given_back_to_its_own_form_only(house: House, signed_in: SignIn) -> None:
    address = goal_of(sent(Client(), new_form_key(house.alice)))
    KeptTyping.objects.update(path="/another/")
    assert signed_in(house.alice).get(address).content == b"empty"


def test_once_the_form_is_sent_the_kept_typing_is_gone(house: House, signed_in: SignIn) -> None:
    address = goal_of(sent(Client(), new_form_key(house.alice)))
    client = signed_in(house.alice)
    made = client.post(address, {**TYPED, "form_key": new_form_key(house.alice)})
    assert made.content == b"made"
    assert not KeptTyping.objects.exists()


def test_after_twelve_hours_it_is_gone(
    house: House, signed_in: SignIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    address = goal_of(sent(Client(), new_form_key(house.alice)))
    monkeypatch.setattr(clock, "now", lambda: NOW + timedelta(hours=12, minutes=1))
    assert signed_in(house.alice).get(address).content == b"empty"
    sent(Client(), new_form_key(house.alice))
    assert KeptTyping.objects.count() == 1  # the old row went with the next one kept


@pytest.mark.parametrize("key", ["", "made-up", "a:b:c"])
def test_a_form_without_a_key_of_ours_is_not_kept(house: House, key: str) -> None:
    assert sent(Client(), key) == "/sign-in/?next=%2Fform%2F"
    assert not KeptTyping.objects.exists()


def test_what_no_database_keeps_is_left_out_and_the_rest_given_back(house: House, signed_in: SignIn) -> None:
    address = goal_of(sent(Client(), new_form_key(house.alice), note="sore\0 at the webs"))
    assert signed_in(house.alice).get(address).content.decode().startswith("sore at the webs|")


def test_a_key_that_no_database_takes_finds_nothing(house: House, signed_in: SignIn) -> None:
    client = signed_in(house.alice)
    assert client.get("/form/?kept=%00").content == b"empty"
    made = client.post("/form/?kept=%00", {**TYPED, "form_key": new_form_key(house.alice)})
    assert made.content == b"made"


def test_typing_sent_to_an_endless_address_is_led_to_signing_in_all_the_same(house: House) -> None:
    long = f"/workers/{'a' * 400}/invite/"
    response = Client().post(long, {**TYPED, "form_key": new_form_key(house.alice)})
    assert response["Location"].startswith("/sign-in/")


def test_secrets_of_the_form_itself_are_not_kept(house: House) -> None:
    sent(Client(), new_form_key(house.alice), csrfmiddlewaretoken="abc")
    assert KeptTyping.objects.get().fields == {"note": ["sore at the webs"], "marks": TYPED["marks"]}


def test_quiet_minutes_in_mid_form_lose_nothing(
    house: House, signed_in: SignIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    client = signed_in(house.alice)
    client.get("/form/")
    monkeypatch.setattr(clock, "now", lambda: NOW + timedelta(minutes=16))
    address = goal_of(sent(client, new_form_key(house.alice)))
    assert signed_in(house.alice).get(address).content.decode().startswith("sore at the webs")


def test_a_cross_site_key_that_no_longer_fits_keeps_the_typing(house: House) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(house.alice)
    response = client.post("/form/", {**TYPED, "form_key": new_form_key(house.alice)})
    page = response.content.decode()
    assert response.status_code == 403
    kept = KeptTyping.objects.get()
    assert f'href="/form/?kept={kept.key}"' in page
    assert "Nothing was saved yet." in page
    assert client.get(f"/form/?kept={kept.key}").content.decode().startswith("sore at the webs")


def test_a_refused_form_that_can_not_be_kept_says_so(house: House) -> None:
    client = Client(enforce_csrf_checks=True)
    page = client.post(
        "/sign-in/?next=/today/", {"username": "alice", "password": "a secret"}
    ).content.decode()
    assert "fill it in once more" in page
    assert 'href="/sign-in/?next=/today/"' in page
    assert "a secret" not in page
    assert not KeptTyping.objects.exists()


def test_a_partial_update_after_the_session_leaves_the_page_as_it_is(house: House) -> None:
    response = Client().post("/form/", TYPED, headers={"HX-Request": "true"})
    assert (response.status_code, response.content) == (401, b"")


def test_a_form_sent_twice_is_taken_once(house: House, signed_in: SignIn) -> None:
    client, key = signed_in(house.alice), new_form_key(house.alice)
    first = client.post("/form/", {**TYPED, "form_key": key})
    second = client.post("/form/", {**TYPED, "form_key": key})
    assert first.content == second.content == b"made"
    other = client.post("/form/", {"note": "something else", "form_key": key})
    assert other.status_code == 409
    assert "already sent, with other answers" in other.content.decode()


def test_a_form_without_its_key_is_refused_in_words(house: House, signed_in: SignIn) -> None:
    response = signed_in(house.alice).post("/form/", TYPED)
    assert response.status_code == 422
    assert "This form has lost its key." in response.content.decode()


def test_a_form_made_for_somebody_else_is_refused(house: House, signed_in: SignIn) -> None:
    response = signed_in(house.bob).post("/form/", {**TYPED, "form_key": new_form_key(house.alice)})
    assert response.status_code == 422
    assert "This form has lost its key." in response.content.decode()
