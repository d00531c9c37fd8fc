"""The staff list page: nothing changes before someone has looked, and then all of it does or nothing."""

import html
import re
from collections.abc import Callable
from unittest import mock

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from tests.conftest import NOW, House, make_worker
from thenar.records.models import AuditRow, FormReceipt, KeptTyping, StaffListImport, User, Worker
from thenar.screens import clock
from thenar.screens.settings.dry_run_page import SHOWN_AT_FIRST

SignIn = Callable[[User], Client]

HEAD = "Staff no;Surname;First name;Ward;Role\n"
WANDA = "1001;Example;Wanda;Ward 1;Nurse\n"
YUSUF = "1002;Example;Yusuf;Ward 2;Nurse\n"
BOTH = HEAD + WANDA + YUSUF
BO_JOINS = BOTH + "0042;Lind;Bo;Ward 1;Nurse\n"
DATED = "Staff no;Surname;First name;Ward;Role;Born\n"


@pytest.fixture(autouse=True)
def _one_day(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: NOW)


@pytest.fixture
def clara(house: House, signed_in: SignIn) -> Client:
    return signed_in(house.clara)


def words(response: object) -> str:
    """What a person reads."""
    bare = re.sub(r"<[^>]+>", " ", response.content.decode())  # type: ignore[attr-defined]
    return " ".join(html.unescape(bare).split())


def hidden(response: object, name: str) -> str:
    found = re.search(rf'name="{name}" value="([^"]+)"', response.content.decode())  # type: ignore[attr-defined]
    assert found, f"no {name} on the page"
    return found[1]


def uploaded(client: Client, content: str | bytes, key: str = "", name: str = "staff.csv") -> object:
    raw = content.encode() if isinstance(content, str) else content
    key = key or hidden(client.get("/staff-list/"), "form_key")
    return client.post("/staff-list/", {"form_key": key, "file": SimpleUploadedFile(name, raw)})


def waiting(client: Client, content: str | bytes) -> str:
    """The address of the dry run of an uploaded list."""
    response = uploaded(client, content)
    assert response.status_code == 302, words(response)  # type: ignore[attr-defined]
    return str(response["Location"])  # type: ignore[index]


def form_of(page: object, do: str, **more: str) -> dict[str, str]:
    return {"form_key": hidden(page, "form_key"), "digest": hidden(page, "digest"), "do": do, **more}


def sent(client: Client, url: str, do: str, **more: str) -> object:
    return client.post(url, form_of(client.get(url), do, **more))


# ---- It works -------------------------------------------------------------------------------------------


def test_a_list_is_uploaded_looked_at_and_taken_over(clara: Client) -> None:
    url = waiting(clara, BO_JOINS)
    page = words(clara.get(url))
    assert "1 join" in page
    assert "Bo Lind 0042" in page
    assert not Worker.objects.filter(staff_number="0042").exists()
    done = sent(clara, url, "take over")
    assert done.status_code == 302  # type: ignore[attr-defined]
    receipt = words(clara.get(done["Location"]))  # type: ignore[index]
    assert "The list was taken over" in receipt
    assert "Joined 1" in receipt
    assert Worker.objects.filter(staff_number="0042").exists()


def test_the_dry_run_tells_movers_corrections_and_leavers_from_before_to_after(
    house: House, clara: Client
) -> None:
    for number in range(2000, 2008):  # so that one leaver is not unusual
        make_worker(f"Worker{number}", str(number), house.ward_1, house.nurse)
    rest = "".join(f"{number};Example;Worker{number};Ward 1;Nurse\n" for number in range(2000, 2007))
    page = words(
        clara.get(
            waiting(clara, HEAD + "1001;Tern;Wanda;Ward 1;Nurse\n1002;Example;Yusuf;Ward 3;Cook\n" + rest)
        )
    )
    assert "Wanda Example 1001 Family name Example Tern" in page
    assert "Yusuf Example 1002 Area Ward 2 Ward 3" in page
    assert "Yusuf Example 1002 Role Nurse Cook" in page
    assert "Worker2007 Example 2007 Ward 1 Nurse" in page
    assert "New area Ward 3 New role Cook" in page
    assert "7 stay as they are" in page


def test_only_the_first_fifty_are_shown_until_all_are_asked_for(clara: Client) -> None:
    many = "".join(f"{number};Lind;Bo{number};Ward 1;Nurse\n" for number in range(5000, 5060))
    url = waiting(clara, BOTH + many)
    first, whole = words(clara.get(url)), words(clara.get(f"{url}?all=1"))
    assert f"Bo{5000 + SHOWN_AT_FIRST - 1} Lind" in first
    assert f"Bo{5000 + SHOWN_AT_FIRST} Lind" not in first
    assert "10 more are not shown" in first
    assert "Bo5059 Lind" in whole
    assert "not shown" not in whole


def test_the_page_tells_how_the_file_was_read(clara: Client) -> None:
    content = "Staff no;Surname;First name;Ward;Role;Shoe size\n7;Löffler;Zoë;Ward 1;Nurse;38\n".encode(
        "cp1252"
    )
    page = words(clara.get(waiting(clara, content)))
    assert "Letters Windows-1252, a guess. Are these names right? Zoë, Löffler" in page
    assert "Between cells Semicolons" in page
    assert "Family name “Surname”" in page
    assert "Email no column" in page
    assert "Not read Shoe size" in page


def test_lists_read_in_lately_are_named_with_what_became_of_them(clara: Client) -> None:
    sent(clara, waiting(clara, BO_JOINS), "take over")
    waiting(clara, BOTH)
    page = words(clara.get("/staff-list/"))
    assert "Waits for a decision" in page
    assert "1 joined, 0 moved, 0 corrected, 0 left" in page


def test_a_list_thrown_away_leaves_nothing_behind(clara: Client) -> None:
    url = waiting(clara, BO_JOINS)
    form = form_of(clara.get(url), "throw away")
    for _ in range(2):
        assert clara.post(url, form)["Location"] == "/staff-list/"
    assert "thrown away" in words(clara.get("/staff-list/"))
    assert not StaffListImport.objects.exists()
    assert not Worker.objects.filter(staff_number="0042").exists()


# ---- What must be answered or put right first -----------------------------------------------------------


def test_every_problem_is_shown_with_line_and_column_and_the_list_cannot_be_taken_over(clara: Client) -> None:
    url = waiting(clara, BOTH + "9;Lind;Bo;;Nurse\n")
    page = clara.get(url)
    assert "4 Ward The area is missing. Fill it in." in words(page)
    assert "Take the list over" not in words(page)
    refused = clara.post(url, form_of(page, "take over", confirmed="yes"))
    assert "Nothing was changed" in words(refused)
    assert Worker.objects.count() == 2


def test_something_unusual_needs_its_tick(clara: Client) -> None:
    url = waiting(clara, HEAD + YUSUF)
    assert "1 of 2 current workers is not on the list" in words(clara.get(url))
    assert "was not confirmed" in words(sent(clara, url, "take over"))
    assert Worker.objects.filter(left_on=None).count() == 2
    assert sent(clara, url, "take over", confirmed="yes").status_code == 302  # type: ignore[attr-defined]
    assert Worker.objects.filter(left_on=None).count() == 1


def test_dates_that_can_be_read_both_ways_are_asked_about_and_read_again(clara: Client) -> None:
    url = waiting(
        clara, DATED + "1001;Example;Wanda;Ward 1;Nurse;03/04/1991\n1002;Example;Yusuf;Ward 2;Nurse;\n"
    )
    page = words(clara.get(url))
    assert "Which comes first in a date?" in page
    assert "Take the list over" not in page
    assert "Nobody said whether the day or the month comes first." in words(sent(clara, url, "read dates"))
    assert sent(clara, url, "read dates", first="day").status_code == 302  # type: ignore[attr-defined]
    assert "17 May 1990 3 April 1991" in words(clara.get(url))
    sent(clara, url, "read dates", first="month")
    assert "17 May 1990 4 March 1991" in words(clara.get(url))
    sent(clara, url, "take over")
    assert Worker.objects.get(staff_number="1001").born_on.isoformat() == "1991-03-04"


def test_a_staff_that_changed_since_shows_the_conflict_with_a_fresh_dry_run(
    house: House, clara: Client
) -> None:
    url = waiting(clara, HEAD + "1001;Example;Wanda;Ward 2;Nurse\n" + YUSUF)
    seen = form_of(clara.get(url), "take over")
    house.wanda.posts.update(area=house.ward_2)
    page = clara.post(url, seen)
    assert "The staff has changed since you looked." in words(page)
    assert "0 move" in words(page)
    assert hidden(page, "digest") != seen["digest"]
    assert StaffListImport.objects.get().applied_at is None
    assert clara.post(url, form_of(page, "take over")).status_code == 302


def test_a_tick_does_not_outlive_the_dry_run_it_was_given_for(house: House, clara: Client) -> None:
    url = waiting(clara, HEAD + YUSUF)
    seen = form_of(clara.get(url), "take over", confirmed="yes")
    make_worker("Vera", "1003", house.ward_1, house.nurse)
    assert "required checked" not in clara.post(url, seen).content.decode()
    assert Worker.objects.filter(left_on=None).count() == 3


# ---- Sent twice -----------------------------------------------------------------------------------------


def test_taking_over_sent_twice_is_done_once_with_the_same_receipt(clara: Client) -> None:
    url = waiting(clara, BO_JOINS)
    form = form_of(clara.get(url), "take over")
    first, second = clara.post(url, form), clara.post(url, form)
    assert (first.status_code, first["Location"]) == (second.status_code, second["Location"])
    assert AuditRow.objects.filter(event="staff list taken over").count() == 1
    assert Worker.objects.get(staff_number="0042").posts.count() == 1


def test_an_upload_sent_twice_is_one_list_and_another_file_from_the_same_page_is_another(
    clara: Client,
) -> None:
    key = hidden(clara.get("/staff-list/"), "form_key")
    first, again = uploaded(clara, BOTH, key), uploaded(clara, BOTH, key)
    other = uploaded(clara, BO_JOINS, key)
    assert first["Location"] == again["Location"] != other["Location"]  # type: ignore[index]
    assert StaffListImport.objects.count() == 2


@pytest.mark.parametrize("do", ["take over", "throw away", "read dates"])
def test_a_list_taken_over_meanwhile_shows_its_receipt_and_stays(clara: Client, do: str) -> None:
    url = waiting(clara, BO_JOINS)
    late = form_of(clara.get(url), do, first="day")
    sent(clara, url, "take over")
    page = words(clara.post(url, late))
    assert "The list was taken over" in page
    assert "Nothing was changed" in page
    assert StaffListImport.objects.get().joiners == 1


# ---- Files that are no list -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "The file is empty."),
        (b" \r\n;;\r\n", "The file is empty."),
        (b"PK\x03\x04rest of a workbook", "a spreadsheet workbook"),
        (b"%PDF-1.7 rest", "a PDF"),
        (b"Staff no;Ward\n7;\x00\n", "a NUL byte on line 2"),
        (bytes(range(1, 32)) * 40, "characters that can't be seen"),
        (b"a;" * 300 + b"\n", "columns; at most 200 are read"),
    ],
)
def test_a_file_that_is_no_table_is_refused_on_the_page_and_leaves_nothing_behind(
    clara: Client, content: bytes, says: str
) -> None:
    page = uploaded(clara, content)
    assert page.status_code == 200  # type: ignore[attr-defined]
    assert "<title>Error: " in page.content.decode()  # type: ignore[attr-defined]
    assert says in words(page)
    assert not StaffListImport.objects.exists()
    assert not FormReceipt.objects.exists()


def test_a_file_over_twenty_megabytes_is_refused_unread(clara: Client) -> None:
    with mock.patch("thenar.exchange.delimited.MAX_BYTES", 100):
        page = words(uploaded(clara, BOTH + YUSUF * 10))
    assert "MB are read" in page
    assert not StaffListImport.objects.exists()


def test_no_file_at_all_is_asked_for(clara: Client) -> None:
    key = hidden(clara.get("/staff-list/"), "form_key")
    assert "Choose the file first." in words(clara.post("/staff-list/", {"form_key": key}))


def test_a_form_without_its_key_keeps_nothing(clara: Client) -> None:
    page = words(uploaded(clara, BOTH, key="nonsense"))
    assert "This form has lost its key." in page
    assert not StaffListImport.objects.exists()


def test_a_button_that_does_not_exist_does_nothing(clara: Client) -> None:
    url = waiting(clara, BO_JOINS)
    assert "Nothing was changed" in words(sent(clara, url, "burn"))
    assert StaffListImport.objects.get().applied_at is None


def test_names_in_a_list_are_shown_as_text_never_as_markup(clara: Client) -> None:
    url = waiting(clara, BOTH + "9;<script>alert(1)</script>;Bo;<b>Ward</b>;Nurse\n")
    page = clara.get(url).content.decode()
    assert "<script>alert" not in page
    assert "<b>Ward" not in page


# ---- Who, and what is not there -------------------------------------------------------------------------


@pytest.mark.parametrize("who", ["alice", "mona"])
def test_others_are_refused_and_the_refusal_is_noted(
    house: House, signed_in: SignIn, clara: Client, who: str
) -> None:
    url = waiting(clara, BOTH)
    other = signed_in(getattr(house, who))
    for address in ("/staff-list/", url):
        assert other.get(address).status_code == 403
        assert other.post(address, {"do": "take over"}).status_code == 403
    assert AuditRow.objects.filter(event="refused").count() == 4


def test_the_administrator_may_too(house: House, signed_in: SignIn) -> None:
    assert signed_in(house.ada).get(waiting(signed_in(house.clara), BOTH)).status_code == 200


def test_a_list_that_is_not_there_is_404(clara: Client) -> None:
    key = hidden(clara.get("/staff-list/"), "form_key")
    assert clara.get("/staff-list/zzzzzzzzzzzz/").status_code == 404
    for do in ("take over", "read dates", "burn"):
        gone = clara.post("/staff-list/zzzzzzzzzzzz/", {"form_key": key, "do": do, "first": "day"})
        assert gone.status_code == 404


@pytest.mark.parametrize("method", ["put", "delete"])
def test_other_methods_are_not_allowed(clara: Client, method: str) -> None:
    for address in ("/staff-list/", waiting(clara, BOTH)):
        assert getattr(clara, method)(address).status_code == 405


def test_a_session_that_ends_before_the_upload_asks_for_the_file_again(house: House, clara: Client) -> None:
    key = hidden(clara.get("/staff-list/"), "form_key")
    clara.logout()
    asked = uploaded(clara, BOTH, key)
    assert "/sign-in/" in asked["Location"]  # type: ignore[index]
    clara.force_login(house.clara)
    page = words(clara.get(f"/staff-list/?kept={KeptTyping.objects.get().key}"))
    assert "choose it again" in page
    assert not StaffListImport.objects.exists()


def test_a_tick_given_before_the_session_ended_is_still_there(house: House, clara: Client) -> None:
    url = waiting(clara, HEAD + YUSUF)
    form = form_of(clara.get(url), "take over", confirmed="yes")
    clara.logout()
    clara.post(url, form)
    assert StaffListImport.objects.get().applied_at is None
    clara.force_login(house.clara)
    again = f"{url}?kept={KeptTyping.objects.get().key}"
    page = clara.get(again)
    assert "required checked" in page.content.decode()
    assert clara.post(again, form_of(page, "take over", confirmed="yes")).status_code == 302
    assert not KeptTyping.objects.exists()
