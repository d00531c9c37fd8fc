"""Takes the pictures of the docs from Saltmere: each page at 390 and 1280 pixels, and the PDFs as pages.

    make pictures

Builds the demo in a folder that is thrown away, serves it on loopback, and writes docs/pictures/.
"""

import os
import re
import subprocess
import sys
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from io import BytesIO
from pathlib import Path
from urllib.parse import urlencode, urlsplit

import pypdfium2
from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright

ROOT = Path(__file__).parents[1]
sys.path.insert(0, str(ROOT))

from tests.browser.check_walk import answer_every_question  # noqa: E402
from tests.browser.conftest import FLAGS, free_port, installed_chromium, wait_for  # noqa: E402

PICTURES = ROOT / "docs" / "pictures"
WIDTHS = (390, 1280)
TALLEST = 2400
Way = Callable[[Page], None]


@dataclass(frozen=True)
class Picture:
    """One page: its name, who opens it, and the way there from that person's first page."""

    name: str
    who: str
    way: Way


def at(path: str) -> Way:
    return lambda page: go(page, path)


def go(page: Page, path: str) -> None:
    page.goto("/".join(page.url.split("/")[:3]) + path)


def follow(*hrefs: str) -> Way:
    """Open, one after the other, the first link whose address holds each word."""

    def way(page: Page) -> None:
        for href in hrefs:
            address = page.locator(f"main a[href*='{href}']").first.get_attribute("href")
            go(page, address or "/")

    return way


def named(words: str) -> Way:
    """Open the first link of the page that says so."""

    def way(page: Page) -> None:
        go(page, page.locator("main a", has_text=words).first.get_attribute("href") or "/")

    return way


def in_days(days: int) -> str:
    return (datetime.now().astimezone() + timedelta(days=days)).date().isoformat()


def then(*ways: Way) -> Way:
    def way(page: Page) -> None:
        for step in ways:
            step(page)

    return way


def answered(page: Page) -> None:
    """A check with cracked, weeping hands, sent."""
    go(page, "/check/")
    answer_every_question(page)
    page.get_by_role("button", name="Send my check").click()
    page.wait_for_url("**/check/sent/**")


def duties_found(page: Page) -> None:
    """Duties with at most eight washes a shift, for someone whose area keeps a list of its tasks."""
    go(page, "/today/")
    with_tasks = re.compile("Intensive care|Dialysis|Plover Ward")
    due = page.locator("tr", has_text=with_tasks).locator("a[href*='/reviews/']").first
    go(page, due.get_attribute("href") or "/")
    go(page, page.locator("a[href*='/cases/']").first.get_attribute("href") or "/")
    follow("/duties/")(page)
    page.get_by_label("Washes with soap and water").fill("8")
    page.get_by_role("button", name="Search").click()
    page.wait_for_url(re.compile("/duties/[a-z0-9]{12}/$"))


AREA = then(at("/areas/"), named("Intensive care unit"))
COMPARED = {
    "compare": 1,
    "plan": ["wash_to_rub", "gloves_off", "shared_task"],
    "wash_to_rub-share": 50,
    "gloves_off-share": 60,
    "shared_task-wet_minutes": 30,
    "shared_task-people": 2,
    "cases": 6,
    "person_years": 120,
    "people": 57,
}


def compared(page: Page) -> None:
    """Three controls for the area side by side."""
    AREA(page)
    go(page, f"{urlsplit(page.url).path}controls/?{urlencode(COMPARED, doseq=True)}")


def assessed(page: Page) -> None:
    """An assessment of the area, kept, with one action."""
    then(AREA, follow("/assess/"))(page)
    page.get_by_label("In your words").fill("Bowls are washed by hand at each bed.")
    page.get_by_label("Action 1", exact=True).fill("Buy a washer for bowls")
    page.get_by_label("Kind of action 1").select_option("engineering")
    page.get_by_label("Owner of action 1").fill("Head of estates")
    page.get_by_label("Due day of action 1").fill(in_days(60))
    page.get_by_label("Review on").fill(in_days(180))
    page.get_by_role("button", name="Keep assessment").click()
    follow("assessment.pdf")(page)


# ---- Products and allergies

SOAP = then(at("/products/"), named("Saltmere mild soap 2"))
CONCERN = then(at("/today/"), follow("/concerns/"))
SENSITISED = then(CONCERN, follow("/allergies/"))


def beside(place: str) -> Way:
    """Another page of the same worker, from their allergies."""

    def way(page: Page) -> None:
        SENSITISED(page)
        go(page, urlsplit(page.url).path.replace("/allergies/", f"/{place}/"))

    return way


def proposed(page: Page) -> None:
    """The cheapest set of products for theatres, intensive care and their wards."""
    go(page, "/formulary/")
    page.get_by_label("Surgery and intensive care", exact=True).check()
    page.get_by_role("button", name="Propose a set").click()
    page.wait_for_url(re.compile("/formulary/[a-z0-9]{12}/$"))


def gloves_compared(page: Page) -> None:
    """Gloves for a task that is long and wet, with two chemicals."""
    beside("gloves")(page)
    page.get_by_label("Worn long, or with wet hands").select_option(label="Yes")
    page.get_by_label("Pairs in a shift").fill("30")
    page.get_by_label("Chemical 1").fill("glutaraldehyde")
    page.get_by_role("button", name="Compare gloves").click()
    page.wait_for_load_state()


def listed(what: str) -> Way:
    """A list for the worker, given out and opened."""

    def way(page: Page) -> None:
        beside("list")(page)
        page.get_by_label(what).check()
        page.get_by_role("button", name="Give it out").click()
        follow("list.pdf")(page)

    return way


def supplies_asked(page: Page) -> None:
    """What supplies are told: products, and neither for whom nor why."""
    beside("list")(page)
    page.get_by_role("button", name="Make the list for supplies").click()
    follow("list.pdf")(page)


DEMO_CASE = then(at("/today/"), follow("/letters/"), follow("/cases/"))
PAGES = (
    Picture("sign-in", "out", at("/sign-in/")),
    Picture("check-start", "worker", at("/check/")),
    Picture("check-question", "worker", at("/check/4/")),
    Picture("today", "practitioner", at("/today/")),
    Picture("check-report", "practitioner", then(at("/today/"), follow("/checks/"))),
    Picture("workers", "practitioner", at("/workers/")),
    Picture("worker", "practitioner", then(DEMO_CASE, follow("/workers/"))),
    Picture("case", "practitioner", DEMO_CASE),
    Picture("examine", "practitioner", then(DEMO_CASE, follow("/examine/"))),
    Picture("examination", "practitioner", then(DEMO_CASE, follow("/examinations/"))),
    Picture("plan-new", "practitioner", then(DEMO_CASE, follow("/plan/"))),
    Picture("adjustment-new", "practitioner", then(DEMO_CASE, follow("/adjustment/"))),
    Picture("letter", "practitioner", then(at("/today/"), follow("/letters/"))),
    Picture("review", "practitioner", then(at("/today/"), follow("/reviews/"))),
    Picture("areas", "practitioner", at("/areas/")),
    Picture("area", "practitioner", AREA),
    Picture("count-phone", "practitioner", then(AREA, follow("/count/phone/"))),
    Picture("describe", "practitioner", then(AREA, follow("/describe/"), named("Nurse"))),
    Picture("controls", "practitioner", compared),
    Picture("assess", "practitioner", then(AREA, follow("/assess/"))),
    Picture("duties", "practitioner", duties_found),
    Picture("products", "practitioner", at("/products/")),
    Picture("product", "practitioner", SOAP),
    Picture("concern", "practitioner", CONCERN),
    Picture("allergies", "practitioner", SENSITISED),
    Picture(
        "patch-test", "practitioner", then(at("/today/"), follow("/patch-tests/"), follow("/patch-tests/"))
    ),
    Picture("compare", "practitioner", beside("products")),
    Picture("gloves", "practitioner", gloves_compared),
    Picture("formulary", "practitioner", proposed),
    Picture("patch-test-quality", "practitioner", at("/patch-tests/quality/")),
    Picture("rules", "practitioner", at("/rules/")),
    Picture("rule", "practitioner", at("/rules/severity.change.yuksel-2021/")),
    Picture("team", "manager", at("/team/")),
    Picture("mine", "worker", at("/mine/")),
    Picture("mine-letter", "worker", then(at("/mine/"), follow("/mine/letters/"))),
    Picture("who-looked", "worker", at("/mine/looked/")),
    Picture("staff-list", "clerk", at("/staff-list/")),
    Picture("check-result", "worker", answered),
)
PAPERS = (
    Picture("letter-pdf", "practitioner", then(at("/today/"), follow("/letters/"), follow("letter.pdf"))),
    Picture("assessment-pdf", "practitioner", assessed),
    Picture("product-list-pdf", "practitioner", listed("The list, on a sheet")),
    Picture("wallet-card-pdf", "practitioner", listed("A card for the wallet")),
    Picture("supplies-list-pdf", "practitioner", supplies_asked),
    Picture("plan-pdf", "worker", then(at("/mine/"), follow("plan.pdf"))),
)


def main() -> None:
    """Build, serve, look, write."""
    PICTURES.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix="thenar-pictures-") as data:
        env = {**os.environ, "THENAR_DATA": data}
        port = free_port()
        run = [sys.executable, "-m", "thenar", "demo"]
        subprocess.run(run, env=env, cwd=ROOT, check=True, stdout=subprocess.DEVNULL)
        server = subprocess.Popen(
            [*run, "--serve", "--port", str(port)], env=env, cwd=ROOT, stdout=subprocess.DEVNULL
        )
        try:
            wait_for(f"http://127.0.0.1:{port}/sign-in/", server)
            take_all(f"http://127.0.0.1:{port}")
        finally:
            server.terminate()
            server.wait(timeout=20)


def take_all(site: str) -> None:
    chromium = installed_chromium()
    if chromium is None:
        sys.exit("Pictures need Chromium; none was found on this machine.")
    wanted = set(sys.argv[1:])
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=FLAGS)
        for width in WIDTHS:
            for picture in PAGES:
                if not wanted or picture.name in wanted:
                    take(browser, site, picture, width)
        for paper in PAPERS:
            if not wanted or paper.name in wanted:
                draw(browser, site, paper)
        browser.close()


def opened(browser: Browser, site: str, picture: Picture, width: int) -> Page:
    context = browser.new_context(viewport={"width": width, "height": 900})
    context.set_default_timeout(20_000)
    page = context.new_page()
    page.goto(f"{site}/sign-in/" if picture.who == "out" else f"{site}/demo/{picture.who}/")
    return page


def take(browser: Browser, site: str, picture: Picture, width: int) -> None:
    page = opened(browser, site, picture, width)
    picture.way(page)
    image = Image.open(BytesIO(page.screenshot(full_page=True)))
    image = image.crop((0, 0, image.width, min(image.height, TALLEST)))
    keep(image, f"{picture.name}-{width}")
    page.context.close()


def draw(browser: Browser, site: str, paper: Picture) -> None:
    page = opened(browser, site, paper, 1280)
    addresses: list[str] = []
    page.route("**/*.pdf*", lambda route: (addresses.append(route.request.url), route.abort()))
    try:
        paper.way(page)
    except Exception as problem:
        if not addresses:
            raise problem
    page.unroute_all()
    body = page.request.get(addresses[0]).body()
    keep(pypdfium2.PdfDocument(body)[0].render(scale=1.2).to_pil(), paper.name)
    page.context.close()


def keep(image: Image.Image, name: str) -> None:
    """A palette of 64 tones is plenty for ink on paper and a quarter of the size."""
    image.convert("RGB").quantize(64).save(PICTURES / f"{name}.png", optimize=True)
    print(name)


if __name__ == "__main__":
    main()
