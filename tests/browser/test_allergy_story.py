"""From a patch test to products someone may use, through the real pages: lists, a changed soap, a formulary.

The products are made up; ingredient names are real. What a page says of methylisothiazolinone follows from
the label that names it, not from figures of ours.
"""

import io
import re
from datetime import timedelta

from django.utils import timezone
from openpyxl import Workbook
from playwright.sync_api import FilePayload, Page, expect
from pypdf import PdfReader

from tests.browser.conftest import People

TODAY = timezone.localdate()
SERVED = TODAY - timedelta(days=40)
APPLIED = TODAY - timedelta(days=7)
MIT = "Methylisothiazolinone"
CLINICAL = re.compile(r"methyliso|betaine|allerg|eczema|dermatitis|patch|react|avoid", re.IGNORECASE)

HEADER = ["Code", "Name", "Kind of product", "Kind of list", "Ingredients", "From", "Areas", "Cost a worker"]
FULL = "full ingredient list"
SHELF = [
    ["S-1", "Avocet wash", "soap", FULL, f"Aqua, Sodium Laureth Sulfate, {MIT}", "2.00"],
    ["S-2", "Curlew wash", "soap", FULL, "Aqua, Sodium Laureth Sulfate, Glycerin, Citric Acid", "3.00"],
    ["S-3", "Dunlin wash", "soap", FULL, "Aqua, Sodium Laureth Sulfate, Methylisothiazolinome", "1.00"],
    ["R-1", "Knot hand rub", "rub", FULL, "Alcohol, Aqua, Glycerin", "5.00"],
    ["C-1", "Ruff hand cream", "cream", FULL, "Aqua, Glycerin, Paraffinum Liquidum", "4.00"],
    ["G-1", "Teal glove", "glove", "glove chemicals declared", "Zinc Oxide, Titanium Dioxide", "30.00"],
]


def in_words(days_ago: int) -> str:
    day = TODAY - timedelta(days=days_ago)
    return f"{day.day} {day:%B %Y}"


def rows(area: str = "The hospital") -> list[list[str]]:
    return [[*facts, SERVED.isoformat(), area, cost] for *facts, cost in SHELF]


def as_csv(listed: list[list[str]]) -> FilePayload:
    lines = [";".join(f'"{cell}"' for cell in row) for row in [HEADER, *listed]]
    return FilePayload(name="shelf.csv", mimeType="text/csv", buffer="\n".join(lines).encode())


def as_workbook(listed: list[list[str]]) -> FilePayload:
    book, held = Workbook(), io.BytesIO()
    assert book.active is not None
    for row in [HEADER, *listed]:
        book.active.append(row)
    book.save(held)
    kind = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
    return FilePayload(name="shelf.xlsx", mimeType=kind, buffer=held.getvalue())


def read_in(page: Page, site: str, file: FilePayload) -> None:
    page.goto(f"{site}/products/import/")
    page.locator("#id_file").set_input_files(file)
    page.get_by_role("button", name="See what it would change").click()


def fits(page: Page) -> bool:
    """Nothing hangs over the edge, at a desk and on a phone."""
    widths = []
    for width in (1280, 390):
        page.set_viewport_size({"width": width, "height": 900})
        widths.append(bool(page.evaluate("document.documentElement.scrollWidth <= innerWidth")))
    page.set_viewport_size({"width": 1280, "height": 900})
    return all(widths)


def page_of(people: People, alice: Page, name: str) -> str:
    """The address of a worker's page, found by name."""
    alice.goto(f"{people.site}/workers/")
    alice.locator("#id_words").fill(name)
    alice.get_by_role("button", name="Find").click()
    expect(alice.get_by_role("heading", level=1)).to_have_text(name)  # one found is opened
    return alice.url


def put_on(alice: Page, worker: str) -> str:
    """Methylisothiazolinone, nickel, and the soap the worker brought; a week ago."""
    alice.goto(f"{worker}patch-tests/new/")
    alice.locator("#id_applied_on").fill(in_words(7))
    alice.locator("#id_allergen-1").fill(MIT)
    alice.locator("#id_allergen-2").fill("Nickel sulfate hexahydrate")
    alice.locator("#id_product-1").fill("Avocet wash")
    alice.locator("#id_kind-1").select_option("soap")
    alice.locator("#id_prepared-1").fill("1 % in water, semi-open")
    alice.get_by_role("button", name="Number the positions").last.click()
    alice.get_by_role("button", name="Keep it as put on").click()
    expect(alice.get_by_role("heading", level=1)).to_contain_text("Patch test of")
    return alice.url


def read_by_keyboard(alice: Page, test: str, days_ago: int, keys: str) -> None:
    """One key for each position; the next row comes by itself."""
    alice.goto(f"{test}read/")
    alice.locator("#id_read_on").fill(in_words(days_ago))
    alice.locator("input[name=grade-1]").first.focus()
    alice.keyboard.type(keys)
    alice.get_by_role("button", name="Record the reading").click()
    expect(alice.get_by_role("heading", level=1)).to_contain_text("Patch test of")


def set_down(alice: Page, worker: str, allergen: str) -> None:
    """A delayed allergy that a letter tells of."""
    alice.goto(f"{worker}allergies/add/")
    alice.get_by_label("Allergen", exact=True).fill(allergen)
    alice.get_by_label("++ strong").check()
    alice.locator("input[name=basis][value=letter]").check()
    alice.locator("#id_found_on").fill(in_words(30))
    alice.get_by_role("button", name="Set it down").click()
    expect(alice.get_by_role("heading", level=1)).to_have_text("Allergies")


def papers(alice: Page, site: str, worker: str) -> dict[str, str]:
    """The words of the three PDFs, given out one after the other."""
    alice.goto(f"{worker}list/")
    for what in ("The list, on a sheet", "A card for the wallet"):
        alice.get_by_label(what).check()
        alice.get_by_role("button", name="Give it out").click()
    alice.locator("#id_glove_size").fill("7")
    alice.get_by_role("button", name="Make the list for supplies").click()
    told = {}
    for name in ("The worker's list", "Card for the wallet", "List for supplies"):
        address = alice.get_by_role("link", name=re.compile(name)).first.get_attribute("href")
        read = PdfReader(io.BytesIO(alice.request.get(f"{site}{address}").body()))
        told[name] = " ".join(" ".join(one.extract_text() for one in read.pages).split())
        assert len(read.pages) == 1
    return told


def test_a_list_with_faults_says_where_they_are_and_changes_nothing(people: People) -> None:
    alice = people.page("practitioner")
    faulty = rows()
    faulty[0][2] = "shampoo"
    faulty[1][5] = "31/31/2026"
    faulty[3][6] = "Moon ward"
    for file in (as_csv(faulty), as_workbook(faulty)):
        read_in(alice, people.site, file)
        wrong = alice.locator("section[aria-labelledby=put-right]")
        for line, column in ((2, "Kind of product"), (3, "From"), (5, "Areas")):
            expect(wrong).to_contain_text(re.compile(rf"{line}.*{column}", re.DOTALL))
        expect(alice.get_by_role("button", name="Take the list over")).to_have_count(0)
        assert fits(alice)
        alice.get_by_role("button", name="Throw it away").click()
    alice.goto(f"{people.site}/products/")
    expect(alice.locator("main")).not_to_contain_text("Curlew wash")


def test_from_a_patch_test_to_products_that_may_be_used(people: People) -> None:
    alice, site = people.page("practitioner"), people.site

    # 1. The site's products, from a workbook, looked over first.
    read_in(alice, site, as_workbook(rows()))
    expect(alice.locator("#added + table")).to_contain_text("Ruff hand cream")
    alice.get_by_role("button", name="Take the list over").click()
    alice.goto(f"{site}/products/")
    expect(alice.locator("main")).to_contain_text("Teal glove")
    assert fits(alice)

    # 2. A patch test, put on a week ago and read on three days by keyboard.
    worker = page_of(people, alice, "Wanda Winter")
    test = put_on(alice, worker)
    for days_ago, keys in ((5, "100"), (3, "201"), (0, "201")):
        read_by_keyboard(alice, test, days_ago, keys)
    reacted = alice.locator("tr", has_text=MIT).first
    expect(reacted).to_contain_text("Positive")
    expect(reacted).to_contain_text("Grows")
    assert fits(alice)

    # 3. It proposes; only the tick sets down.
    alice.goto(f"{test}propose/")
    alice.goto(f"{worker}allergies/")
    expect(alice.locator("main")).not_to_contain_text("++ strong")
    alice.goto(f"{test}propose/")
    alice.get_by_label(f"Set down {MIT}").check()
    alice.get_by_role("button", name="Set down what is ticked").click()
    alice.goto(f"{worker}allergies/")
    expect(alice.locator("tr", has_text=MIT)).to_contain_text("++ strong")

    # 4. Product by product: the label that names it, the one that does not, the one that may be misprinted.
    alice.goto(f"{worker}products/")
    soaps = {
        name: alice.locator(".usable", has_text=f"{name} wash") for name in ("Avocet", "Curlew", "Dunlin")
    }
    expect(soaps["Avocet"]).to_contain_text("Avoid")
    expect(soaps["Curlew"]).to_contain_text("No match found")
    expect(soaps["Dunlin"]).to_contain_text("Cannot exclude")
    expect(soaps["Dunlin"]).to_contain_text("Until it is settled, it can’t be cleared")
    assert fits(alice)

    # 5. Three papers. Supplies learn what to send, and neither for whom nor why.
    told = papers(alice, site, worker)
    assert fits(alice)
    sheet = told["The worker's list"]
    assert re.search(r"Avocet wash S-1 Do not use", sheet)
    assert re.search(r"Curlew wash S-2 Use", sheet)
    assert re.search(r"Dunlin wash S-3 Ask first", sheet)
    assert "2682-20-4" in sheet  # its CAS number: so the substance is labelled where names differ
    assert MIT in told["Card for the wallet"]
    supplies = told["List for supplies"]
    for named in ("Curlew wash", "Knot hand rub", "Ruff hand cream", "Teal glove"):
        assert named in supplies
    assert "Avocet" not in supplies
    assert "Dunlin" not in supplies
    assert "Wanda" not in supplies
    assert not CLINICAL.search(supplies)

    # 6. She reads it herself, on a phone without scripts.
    phone = people.page("worker", width=390, javascript=False)
    phone.goto(f"{site}/mine/products/")
    expect(phone.locator("main")).to_contain_text("Ruff hand cream")
    assert phone.get_by_role("listitem").filter(has_text="Avocet wash").inner_text().startswith("Do not use")


def test_a_changed_soap_raises_everyone_it_concerns_until_each_is_dealt_with(people: People) -> None:
    alice, site = people.page("practitioner"), people.site
    listed = ["Grebe foam", "soap", FULL, "Aqua, Glycerin", SERVED.isoformat(), "The hospital", "6.00"]
    read_in(alice, site, as_csv([["S-9", *listed]]))
    alice.get_by_role("button", name="Take the list over").click()
    for name in ("Bo Berg", "Yusuf Yildiz", "Wanda Winter"):
        set_down(alice, page_of(people, alice, name), "Phenoxyethanol")

    # The maker's new label names what all three react to; how many it concerns is said before it is kept.
    alice.goto(f"{site}/products/")
    alice.get_by_role("link", name="Grebe foam").click()
    soap = alice.url
    alice.get_by_role("link", name="Change what it declares").click()
    alice.get_by_label("Ingredient text").fill("Aqua, Glycerin, Phenoxyethanol")
    alice.get_by_role("button", name="See how it is read").click()
    expect(alice.locator("main")).to_contain_text("It would concern 3 workers.")
    alice.get_by_role("button", name="Keep it").click()
    expect(alice.locator("main")).to_contain_text("3 concerns about this product wait")
    assert fits(alice)

    # Today names them; one is dealt with, two wait on.
    alice.goto(f"{site}/today/")
    waiting = alice.locator("tr", has_text="Grebe foam")
    expect(waiting).to_have_count(3)
    waiting.get_by_role("link", name="Bo Berg").click()
    expect(alice.locator("main")).to_contain_text("The label names “Phenoxyethanol”")
    assert fits(alice)
    alice.get_by_label("The worker was told and has something else to use").check()
    alice.get_by_role("button", name="Keep it").click()
    expect(alice.locator("tr", has_text="Grebe foam")).to_have_count(2)
    alice.goto(soap)
    expect(alice.locator("main")).to_contain_text("2 concerns about this product wait")


def test_a_formulary_says_what_it_costs_and_whom_it_serves(people: People) -> None:
    alice, site = people.page("practitioner"), people.site
    soaps = [
        [
            "S-71",
            "Smew wash",
            "soap",
            FULL,
            "Aqua, Cocamidopropyl Betaine",
            SERVED.isoformat(),
            "Ward 2",
            "0.10",
        ],
        ["S-72", "Scaup wash", "soap", FULL, "Aqua, Glycerin", SERVED.isoformat(), "Ward 2", "0.20"],
    ]
    read_in(alice, site, as_csv(soaps))
    alice.get_by_role("button", name="Take the list over").click()
    set_down(alice, page_of(people, alice, "Yusuf Yildiz"), "Cocamidopropyl betaine")

    alice.goto(f"{site}/formulary/")
    expect(alice.get_by_role("navigation", name="Places")).to_contain_text("Today")
    alice.get_by_label("Ward 2", exact=True).check()
    for box in alice.locator("input[name=everyone], input[name=held]").all():
        box.set_checked(box.get_attribute("value") == "soap")
    alice.get_by_role("button", name="Propose a set").click()
    found = alice.locator("main")
    expect(alice.get_by_role("heading", level=1)).to_have_text("Products that serve everyone")
    # One nurse works on Ward 2 and reacts: the dearer soap alone serves him, at 0.20 a year.
    expect(alice.locator("#set ~ table, section:has(#set) table").first).to_contain_text("Scaup wash")
    expect(found).to_contain_text("for 1 worker")
    expect(found).to_contain_text("0.20 a year")
    expect(
        alice.locator("section", has=alice.get_by_role("heading", name="For supplies"))
    ).not_to_contain_text(CLINICAL)
    assert fits(alice)
