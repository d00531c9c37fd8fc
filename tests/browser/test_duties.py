"""A worker's duties are found and end up in the letter, on a page without scripts."""

import re
from datetime import timedelta

from django.utils import timezone
from playwright.sync_api import expect

from tests.browser.conftest import People

TODAY = timezone.localdate()
HEAD = (
    "Day,Part,Task,Washes,Wet minutes,Glove minutes,Pairs,Soap,Latex,Patient contact,People,Who can,Done by\n"
)
# Bo does the baths and Wanda the charts. With no wash for Bo, Wanda takes the baths: one change.
ROWS = (
    "1,early,Bed baths,6,25,30,6,yes,no,yes,1,Nurse,1003\n"
    "1,early,Phones and charts,0,0,0,0,no,no,no,1,Nurse,1001\n"
)
CLINICAL = re.compile(r"\b(skin|dermatitis|eczema|hands?|rash|latex)\b|allerg", re.IGNORECASE)


def test_from_the_case_to_duties_to_the_letter(people: People) -> None:
    alice = people.page("practitioner", width=390, javascript=False)
    when = f"{TODAY.day} {TODAY:%B %Y}"

    # 1. A case for Bo, without a check.
    alice.goto(f"{people.site}/workers/")
    alice.locator("[name=words]").fill("1003")
    alice.get_by_role("button", name="Find").click()
    alice.get_by_role("link", name="Open a case").click()
    alice.get_by_role("button", name="Open the case").click()
    case_page = alice.url
    assert "/cases/" in case_page

    # 2. Find duties: there is no task list yet, so she reads one in; a mistake is shown by row and column.
    alice.get_by_role("link", name="Find duties").click()
    expect(alice.locator("main")).to_contain_text("No task list for Ward 1.")
    alice.get_by_role("link", name="Read in its tasks").click()
    alice.get_by_label("First day of the fortnight").fill(when)
    alice.get_by_label("Rows").fill(HEAD + ROWS.replace("6,25", "-6,25"))
    alice.get_by_role("button", name="Look it over").click()
    expect(alice.locator("main")).to_contain_text("-6 is below 0.")
    alice.get_by_label("Rows").fill(HEAD + ROWS)
    alice.get_by_role("button", name="Look it over").click()
    expect(alice.locator("main")).to_contain_text("Nothing is kept yet")
    alice.get_by_role("button", name="Keep this list").click()
    expect(alice.get_by_role("heading", name="In force")).to_be_visible()
    name = alice.locator("table.tasks tbody th").first.bounding_box()
    assert name is not None
    assert name["width"] >= 9 * 16  # px: a name is read in one or two lines, and the table scrolls by itself
    assert alice.evaluate("document.documentElement.scrollWidth") <= 390

    # 3. The search: at most no wash in a shift, today alone.
    alice.goto(f"{case_page}duties/")
    alice.get_by_label("Washes with soap and water").fill("0")
    alice.get_by_label("First day").fill(when)
    alice.get_by_label("How many days").fill("1")
    alice.get_by_role("button", name="Search").click()
    expect(alice.get_by_role("heading", level=1)).to_have_text("Duties found")
    expect(alice.locator("main")).to_contain_text("Bed baths: Wanda Winter instead of Bo Berg.")
    assert alice.evaluate("document.documentElement.scrollWidth") <= 390

    # 4. The words go into the letter, which says what changes and never why.
    alice.get_by_role("link", name="Use in the adjustment letter").click()
    expect(alice.get_by_label("In your own words")).to_have_value(
        re.compile("Bed baths .early.: Wanda Winter")
    )
    alice.locator("#id_start_on").fill(when)
    later = TODAY + timedelta(days=28)
    alice.locator("#id_review_on").fill(f"{later.day} {later:%B %Y}")
    alice.locator("input[name=recipient]").first.check()
    alice.locator("main form button.primary").click()
    assert "/letters/" in alice.url
    measures = alice.locator(".sheet ul").first.inner_text()
    assert "Wanda Winter instead of Bo Berg" in measures
    assert not CLINICAL.search(measures)
