"""An hour of counting on a phone without a connection, sent once when there is one."""

import io
import re

import pytest
from playwright.sync_api import Page, Route, expect
from pypdf import PdfReader

from tests.browser.conftest import People

SMALLEST_KEY = 64  # px: pressed with a thumb, by someone who looks elsewhere


def area_page(people: People, page: Page, area: str) -> str:
    page.goto(f"{people.site}/areas/")
    address = page.get_by_role("link", name=area, exact=True).first.get_attribute("href")
    assert address is not None
    return f"{people.site}{address}"


@pytest.fixture
def phone(people: People) -> Page:
    """The counting page of Ward 2, kept on the phone."""
    page = people.page("practitioner", width=390)
    address = area_page(people, page, "Ward 2")
    page.clock.install()
    page.goto(f"{address}count/phone/")
    expect(page.locator("[data-counter][data-kept]")).to_be_visible()
    return page


def start(page: Page) -> None:
    page.get_by_role("radio", name="Late").check()
    page.get_by_role("button", name="Start counting").click()


def press(page: Page, *keys: str) -> None:
    for key in keys:
        page.locator(f'[data-press="{key}"]').click()


def recorded(people: People, page: Page) -> list[str]:
    """The rows of the table of sessions in this area, read on another page."""
    desk = page.context.new_page()
    desk.goto(page.url.replace("/phone/", "/"))
    expect(desk.locator("h1")).to_have_text("Type in a count")
    rows = desk.locator("table.ledger tbody tr").all_inner_texts()
    desk.close()
    return [re.sub(r"\s+", " ", row) for row in rows]


def test_counts_survive_without_a_connection_and_make_one_session(people: People, phone: Page) -> None:
    before = len(recorded(people, phone))
    start(phone)
    press(phone, "wash", "rub", "rub", "gloves")
    phone.clock.fast_forward("10:00")
    phone.context.set_offline(True)
    phone.reload()  # opens from what the phone kept
    expect(phone.locator("[data-counter]")).to_have_attribute("data-shell", "yes")
    expect(phone.locator('[data-count="rub"]')).to_have_text("2")
    expect(phone.locator("[data-gloves]")).to_have_text(re.compile(r"Gloves off 10:0\d"))
    press(phone, "gloves-off", "water")
    phone.clock.fast_forward("05:00")
    press(phone, "water", "cream", "cream")
    phone.get_by_role("button", name="Undo").click()
    phone.clock.fast_forward("15:00")
    phone.get_by_role("button", name="Finish", exact=True).click()
    expect(phone.locator("[data-said]")).to_contain_text("No connection")
    phone.reload()
    expect(phone.locator("[data-waiting]")).to_contain_text("Nurse, late: 30 min")
    phone.context.set_offline(False)
    expect(phone.locator("[data-said]")).to_have_text("Sent and recorded.")
    rows = recorded(people, phone)
    assert len(rows) == before + 1
    # minutes, washes, rubs, minutes in water, pairs; a tap takes less than 0.05 of a minute
    assert re.search(r"Nurse Late Alice Example 30(\.\d)? 1 2 5(\.\d)? 1$", rows[0]), rows[0]


def test_an_answer_lost_on_the_way_makes_no_second_session(people: People, phone: Page) -> None:
    before = len(recorded(people, phone))
    sent: list[str] = []

    def lose_the_answer(route: Route) -> None:
        if route.request.method == "POST":
            sent.append(route.request.post_data or "")
            route.fetch()  # it arrives, and is recorded
            route.abort()
        else:
            route.continue_()

    phone.route("**/count/sync/", lose_the_answer)
    start(phone)
    press(phone, "wash")
    phone.clock.fast_forward("40:00")
    phone.get_by_role("button", name="Finish", exact=True).click()
    expect(phone.locator("[data-said]")).to_contain_text("No connection")
    assert len(sent) == 1
    assert len(recorded(people, phone)) == before + 1
    phone.unroute("**/count/sync/")
    phone.get_by_role("button", name="Send now").click()
    expect(phone.locator("[data-said]")).to_have_text("Sent and recorded.")
    again = phone.evaluate(
        """async (body) => {
          const { token } = await (await fetch(location.pathname.replace("phone", "sync"))).json();
          const answer = await fetch(location.pathname.replace("phone", "sync"), {
            method: "POST", body, headers: { "Content-Type": "application/json", "X-CSRFToken": token } });
          return answer.status;
        }""",
        sent[0],
    )
    assert again == 200
    assert len(recorded(people, phone)) == before + 1


@pytest.mark.parametrize(
    "sign",
    ["window.dispatchEvent(new Event('focus'))", "document.dispatchEvent(new Event('visibilitychange'))"],
)
def test_what_could_not_be_sent_is_tried_when_the_phone_is_looked_at(
    sign: str, people: People, phone: Page
) -> None:
    before = len(recorded(people, phone))
    phone.route("**/count/sync/", lambda route: route.abort())
    count_and_fail(phone)
    phone.unroute("**/count/sync/")
    phone.evaluate(sign)
    expect(phone.locator("[data-said]")).to_have_text("Sent and recorded.")
    phone.evaluate(sign)  # nothing is left to send
    assert len(recorded(people, phone)) == before + 1


def test_what_could_not_be_sent_is_tried_by_itself_less_and_less_often(people: People, phone: Page) -> None:
    before = len(recorded(people, phone))
    tried: list[str] = []

    def fail(route: Route) -> None:
        tried.append(route.request.method)
        route.abort()

    phone.route("**/count/sync/", fail)
    count_and_fail(phone)
    assert len(tried) == 1
    for already, seconds in enumerate((2, 4, 8, 16), 1):
        phone.clock.run_for((seconds - 1) * 1000)
        assert len(tried) == already
        with phone.expect_event("requestfailed"):
            phone.clock.run_for(1000)
        phone.wait_for_timeout(200)  # the failure comes back to the page, which sets its next wait
    phone.unroute("**/count/sync/")
    phone.clock.run_for("05:00")
    expect(phone.locator("[data-said]")).to_have_text("Sent and recorded.")
    assert len(recorded(people, phone)) == before + 1


def count_and_fail(phone: Page) -> None:
    """Count for 40 minutes, finish without a connection; the phone's clock then stands still."""
    start(phone)
    press(phone, "wash")
    phone.clock.pause_at(phone.evaluate("Date.now()") / 1000 + 40 * 60)
    phone.get_by_role("button", name="Finish", exact=True).click()
    expect(phone.locator("[data-said]")).to_contain_text("No connection")


def test_what_a_phone_keeps_names_nobody_and_is_of_this_page_alone(phone: Page) -> None:
    start(phone)
    press(phone, "wash")
    kept = phone.evaluate(
        """async () => {
          const told = [JSON.stringify(localStorage)];
          const addresses = [];
          for (const name of await caches.keys()) {
            const store = await caches.open(name);
            for (const request of await store.keys()) {
              addresses.push(new URL(request.url).pathname);
              const type = (await store.match(request)).headers.get("Content-Type");
              if (type.startsWith("text/html")) told.push(await (await store.match(request)).text());
            }
          }
          return { told: told.join("\\n"), addresses };
        }"""
    )
    assert "Ward 2" in kept["told"]
    for name in ("Alice", "Wanda", "Winter", "Yusuf", "Yildiz", "csrfmiddlewaretoken", "form_key"):
        assert name not in kept["told"], name
    pages = [address for address in kept["addresses"] if not address.startswith("/static/")]
    assert len(pages) == 1
    assert pages[0].endswith("/count/phone/")


def test_keys_are_large_and_only_possible_ones_can_be_pressed(phone: Page) -> None:
    start(phone)
    for key in phone.locator(".counter-keys button").all():
        box = key.bounding_box()
        assert box is not None
        assert min(box["width"], box["height"]) >= SMALLEST_KEY
    press(phone, "gloves-wet")
    for closed in ("wash", "rub", "cream", "water", "gloves"):
        expect(phone.locator(f'[data-press="{closed}"]')).to_be_disabled()
    assert phone.evaluate("document.documentElement.scrollWidth") <= 390


def test_a_count_that_can_hardly_be_is_asked_back_and_can_be_confirmed(people: People, phone: Page) -> None:
    before = len(recorded(people, phone))
    start(phone)
    press(phone, *["rub"] * 4)  # four in about a second: more than 90 an hour
    phone.get_by_role("button", name="Finish", exact=True).click()
    expect(phone.locator("[data-waiting]")).to_contain_text("are asked back")
    assert len(recorded(people, phone)) == before
    phone.get_by_role("button", name="It is right, send it").click()
    expect(phone.locator("[data-said]")).to_have_text("Sent and recorded.")
    assert len(recorded(people, phone)) == before + 1


def test_signed_out_meanwhile_the_count_waits_and_goes_after_signing_in(people: People, phone: Page) -> None:
    before = len(recorded(people, phone))
    start(phone)
    press(phone, "rub")
    phone.clock.fast_forward("40:00")
    address = phone.url
    phone.context.clear_cookies()
    phone.get_by_role("button", name="Finish", exact=True).click()
    expect(phone.locator("[data-waiting]").get_by_role("link", name="Sign in")).to_be_visible()
    phone.goto(f"{people.site}/demo/practitioner/")
    phone.goto(address)
    expect(phone.locator("[data-said]")).to_have_text("Sent and recorded.")
    assert len(recorded(people, phone)) == before + 1


def test_without_script_the_page_is_a_form_of_plain_numbers(people: People) -> None:
    page = people.page("practitioner", width=390, javascript=False)
    page.goto(f"{area_page(people, page, 'Ward 1')}count/phone/")
    expect(page.locator("[data-counter]")).to_be_hidden()
    page.locator("[name=observed_on]").fill("2 March 2026")
    page.locator("[name=shift_part][value=early]").check()
    page.get_by_label("Minutes watched").fill("40")
    page.locator("[name=rubs]").fill("6")
    page.get_by_role("button", name="Record the session").click()
    expect(page.get_by_role("status")).to_contain_text("The session is recorded.")


def test_the_tally_sheet_prints_on_one_side_of_a4_across(people: People) -> None:
    page = people.page("practitioner")
    page.goto(f"{area_page(people, page, 'Ward 1')}count/sheet/")
    printed = PdfReader(io.BytesIO(page.pdf(prefer_css_page_size=True)))
    (sheet,) = printed.pages
    # A4 is 297 by 210 mm; a point is 25.4 / 72 mm
    assert float(sheet.mediabox.width) * 25.4 / 72 == pytest.approx(297, abs=0.5)
    assert float(sheet.mediabox.height) * 25.4 / 72 == pytest.approx(210, abs=0.5)
    words = sheet.extract_text()
    for expected in ("Hand rub", "Hour 8", "Ward 1", "Never write the worker"):
        assert expected in words
