"""A practitioner with one hand on the keyboard: a full score in at most forty keys, and no mouse."""

import re

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import People

MOST_KEYS = 40
# Each area: extent, then six signs. Every cell of every area is graded, so nothing can be skipped.
FULL = ["2111111", "3111111", "1111111", "4111111", "1111111"]
# Each area 6 points of signs; extents 2 + 3 + 1 + 4 + 1 = 11; 6 times 11 is 66.
FULL_TOTAL = 66


class Keyboard:
    """Presses keys, and counts them."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.pressed = 0

    def press(self, *keys: str) -> None:
        for key in keys:
            self.page.keyboard.press(key)
            self.pressed += 1


@pytest.fixture
def examining(people: People) -> Page:
    """The form to examine Yusuf's hands, in a case that is opened for it the first time."""
    page = people.page("practitioner")
    page.goto(f"{people.site}/workers/")
    page.locator("[name=words]").fill("1002")
    page.get_by_role("button", name="Find").click()
    expect(page.locator("h1")).to_have_text("Yusuf Yildiz")
    running = page.get_by_role("link", name=re.compile("Open since"))
    if running.count():
        running.first.click()
    else:
        page.get_by_role("link", name="Open a case").click()
        page.get_by_role("button", name="Open the case").click()
    page.get_by_role("link", name="Examine the hands").click()
    expect(page.locator("[name=fingertips-extent]")).to_be_focused()
    return page


def test_a_full_score_takes_at_most_forty_keys(examining: Page) -> None:
    keys = Keyboard(examining)
    keys.press(*"".join(FULL))
    expect(examining.locator("#score")).to_contain_text(str(FULL_TOTAL))
    expect(examining.locator("#score")).to_contain_text("severe")
    keys.press("Enter")
    expect(examining.locator("h1")).to_contain_text("Examination of")
    expect(examining.locator(".figure b").first).to_have_text(str(FULL_TOTAL))
    assert keys.pressed <= MOST_KEYS


def test_a_clear_area_takes_one_key(examining: Page) -> None:
    keys = Keyboard(examining)
    keys.press("0", "0", "2", "1", "0", "0", "0", "1", "0", "0", ".")
    assert examining.locator("[name=palms-scaling]").input_value() == "1"
    assert examining.locator("[name=wrists-oedema]").input_value() == "0"
    expect(examining.locator("#score")).to_contain_text("4 almost clear")  # (1 + 1) times 2


def test_arrows_move_and_a_wrong_key_leaves_the_grade(examining: Page) -> None:
    keys = Keyboard(examining)
    keys.press("2", "ArrowLeft", "9", "ArrowDown", "ArrowRight")
    assert examining.locator("[name=fingertips-extent]").input_value() == "2"
    expect(examining.locator("[data-exam-said]")).to_contain_text("9 is not a grade here: 0 to 4.")
    expect(examining.locator("[name=fingers-erythema]")).to_be_focused()


def test_as_last_time_and_clear_are_keys_that_can_be_undone(examining: Page) -> None:
    if not examining.get_by_role("button", name="As last time").count():
        Keyboard(examining).press(*"".join(FULL), "Enter")
        expect(examining.locator("h1")).to_contain_text("Examination of")
        examining.get_by_role("link", name="Back to the case").click()
        examining.get_by_role("link", name="Examine the hands").click()
    keys = Keyboard(examining)
    keys.press("l")
    assert examining.locator("[name=backs-extent]").input_value() == "4"
    expect(examining.locator("#score")).to_contain_text(f"{FULL_TOTAL} severe")
    keys.press("c")
    assert examining.locator("[name=backs-extent]").input_value() == "0"
    keys.press("u")
    assert examining.locator("[name=backs-extent]").input_value() == "4"


def test_signs_without_extent_are_asked_back_while_typing(examining: Page) -> None:
    # Backs get extent 1 and no sign; every other area is clear.
    Keyboard(examining).press("0", "0", "0", "1", "0", "0", "0", "0", "0", "0", "0")
    expect(examining.locator("#score")).to_contain_text("Backs, extent: every sign here is 0.")


def test_letters_typed_elsewhere_are_only_letters(examining: Page) -> None:
    examining.locator("[name=fingertips-extent]").press("3")
    examining.locator("#id_note").press_sequentially("clu.")
    assert examining.locator("#id_note").input_value() == "clu."
    assert examining.locator("[name=fingertips-extent]").input_value() == "3"


def test_without_script_the_grid_is_plain_boxes_and_records(people: People, examining: Page) -> None:
    plain = people.page("practitioner", javascript=False)
    plain.goto(examining.url)
    plain.get_by_role("button", name="Clear all").click()
    plain.locator("[name=wrists-extent]").fill("1")
    plain.locator("[name=wrists-scaling]").fill("2")
    plain.get_by_role("button", name="Record the examination").click()
    expect(plain.locator(".figure b").first).to_have_text("2")
