"""The main job, from sore hands on a phone to a closed case, through the real pages."""

import re
from datetime import date, timedelta

from django.utils import timezone
from playwright.sync_api import Page, expect

from tests.browser.check_walk import answer_every_question
from tests.browser.conftest import People

TODAY = timezone.localdate()

CLINICAL = re.compile(r"skin|dermatitis|eczema|hand|crack|weeping|HECSI|rash|allerg", re.IGNORECASE)


def in_words(day: date) -> str:
    return f"{day.day} {day:%B %Y}"


def give_the_check(worker: Page) -> None:
    """Wet, weeping, cracked hands; nothing worse."""
    worker.goto(worker.url.split("/mine")[0] + "/check/")
    answer_every_question(worker)
    expect(worker.get_by_role("heading", level=1)).to_have_text("Look over your answers")
    worker.get_by_role("button", name="Send my check").click()


def examine(page: Page, digits: str) -> None:
    """Type a whole examination on the keyboard."""
    page.locator("table input").first.focus()
    page.keyboard.type(digits)
    page.locator("label[data-region='right-back-ring-finger'] path").first.click()
    page.get_by_role("button", name="Record the examination").click()
    expect(page.locator("main")).to_contain_text("points")


def test_from_sore_hands_to_a_closed_case(people: People) -> None:
    # 1. The worker, on a phone without scripts, says what is wrong and reads what to do.
    worker = people.page("worker", width=390, javascript=False)
    give_the_check(worker)
    said = worker.locator("main").inner_text()
    assert "not a diagnosis" in said.lower()
    assert re.search(r"breath", said, re.IGNORECASE)  # the danger signs are shown whatever was answered

    # 2. The practitioner finds it on Today and puts it into a case.
    alice = people.page("practitioner")
    expect(alice.get_by_role("heading", level=1)).to_have_text("Today")
    alice.get_by_role("link", name="Wanda Winter").first.click()
    expect(alice.locator(".contact--stop").first).to_be_visible()
    alice.get_by_label("Open a case").check()
    alice.get_by_role("button", name="Record the decision").click()
    case_page = alice.url
    assert "/cases/" in case_page

    # 3. She examines: fingertips extent 1, redness 1, scaling 1; backs extent 2, cracks 2, the rest clear.
    alice.get_by_role("link", name="Examine the hands").click()
    examine(alice, "1" + "100010" + "0" + "0" + "2" + "000200" + "0")
    # Fingertips (1+1) x 1 = 2, backs 2 x 2 = 4: six points.
    expect(alice.locator("main")).to_contain_text("6")
    expect(alice.locator("main")).to_contain_text(re.compile("almost clear", re.IGNORECASE))

    # 4. She makes a plan.
    alice.goto(case_page)
    alice.get_by_role("link", name=re.compile("plan", re.IGNORECASE)).first.click()
    alice.get_by_label("In your own words").fill("Cream from the pump by the door.")
    alice.get_by_label("Set the review for that day too").uncheck()
    alice.get_by_role("button", name="Make the plan").click()
    expect(alice.locator("main")).to_contain_text("Cream from the pump by the door.")

    # 5. She agrees an adjustment; its letter is worded, agreed and offered.
    alice.goto(case_page)
    alice.get_by_role("link", name="Agree an adjustment").click()
    alice.locator("input[name=measures]").first.check()
    measure = alice.locator("input[name=measures]").first.locator("xpath=following::label[1]").inner_text()
    alice.locator("#id_start_on").fill(in_words(TODAY))
    alice.locator("#id_review_on").fill(in_words(TODAY + timedelta(days=28)))
    alice.locator("input[name=recipient]").first.check()
    alice.locator("main form button.primary").click()
    letter_page = alice.url
    assert "/letters/" in letter_page
    alice.locator("form.one-step button.primary").click()  # content agreed
    alice.locator("form.one-step button.primary").click()  # offered
    expect(alice.locator("h2#state")).to_contain_text("Waiting for the worker")

    # 6. Before she agrees, her manager sees nothing of it.
    mona = people.page("manager")
    assert measure not in mona.locator("main").inner_text()

    # 7. The worker reads it and agrees, on her phone.
    worker.goto(worker.url.split("/check")[0] + "/mine/")
    worker.get_by_role("link", name=re.compile("letter", re.IGNORECASE)).first.click()
    worker.locator("#step-seen").check()
    worker.get_by_role("button", name="Give my answer").click()
    expect(worker.locator("main")).to_contain_text(measure.strip().split("\n")[0])
    worker.locator("#step-consented").check()
    worker.get_by_role("button", name="Give my answer").click()

    # 8. The practitioner releases it; the manager sees the adjustment and nothing clinical.
    alice.goto(letter_page)
    alice.locator("form.one-step button.primary").click()
    expect(alice.locator("h2#state")).to_contain_text("Released")
    mona.goto(mona.url)
    team = mona.locator("main").inner_text()
    assert "Wanda Winter" in team
    assert measure.strip().split("\n")[0] in team
    assert not CLINICAL.search(team.replace("Handed", ""))

    # 9. A review is set, comes round, and the case is closed.
    alice.goto(case_page)
    alice.get_by_role("link", name="Set a review").click()
    alice.locator("#id_due_on").fill(in_words(TODAY))
    alice.locator("main form button.primary").click()
    alice.goto(alice.url.split("/cases")[0] + "/today/")
    reviews = alice.locator("section", has=alice.get_by_role("heading", name="Reviews due"))
    reviews.get_by_role("link", name="Wanda Winter").click()
    alice.get_by_role("link", name="Examine now").click()
    examine(alice, "0" * 5)
    expect(alice.get_by_role("heading", name="Examined today")).to_be_visible()
    expect(alice.get_by_label("Done")).to_be_checked()
    alice.get_by_label("No next review").check()
    alice.locator("#id_note").fill("Clear; the case is to be closed.")
    alice.get_by_role("button", name="Record it").click()
    alice.goto(case_page)
    alice.get_by_role("link", name="Close the case").click()
    alice.get_by_label("Skin clear").check()
    alice.locator("main form button.primary").click()
    alice.goto(case_page)
    expect(alice.locator("main")).to_contain_text("Closed")

    # 10. The worker can see who looked at her record, by name.
    worker.goto(worker.url.split("/mine")[0] + "/mine/looked/")
    expect(worker.locator("main")).to_contain_text("Alice Example")
