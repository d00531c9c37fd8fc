"""Wanda's open case as the practitioner's pages meet it, and how a test fills in their forms."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta

from django.test import Client

from tests.conftest import NOW, TODAY, House
from tests.web.wanda import SIGNS, adjusted, letter
from thenar.documents.compose import plan_content, plan_section
from thenar.documents.letters import Contact, to_json
from thenar.knowledge import Book
from thenar.records.actions.checks import record_sorting, submit_check
from thenar.records.actions.examinations import Circumstances, record_examination
from thenar.records.actions.plans import make_plan
from thenar.records.actions.reviews import set_review
from thenar.records.models import Adjustment, Case, Examination, Letter, Plan, Review, SkinCheck

AREAS = ("fingertips", "fingers", "palms", "backs", "wrists")
COLUMNS = ("extent", "erythema", "induration", "vesicles", "fissures", "scaling", "oedema")
ALL_CLEAR = {f"{area}-{column}": "0" for area in AREAS for column in COLUMNS}
CONTACT = Contact("Occupational health", "extension 4000", "oh@saltmere.example")


@dataclass(frozen=True)
class Clinic:
    """One record of each kind in Wanda's case, and a check of Yusuf's that waits."""

    house: House
    case: Case
    check: SkinCheck
    waiting: SkinCheck
    examination: Examination
    plan: Plan
    adjustment: Adjustment
    letter: Letter
    review: Review

    def pages(self) -> dict[str, str]:
        """Every page that can be opened, by what it shows."""
        case = f"/cases/{self.case.ref}/"
        return {
            "check": f"/checks/{self.waiting.ref}/",
            "case": case,
            "examine": f"{case}examine/",
            "examination": f"/examinations/{self.examination.ref}/",
            "correct": f"/examinations/{self.examination.ref}/correct/",
            "plan_new": f"{case}plan/",
            "plan": f"/plans/{self.plan.ref}/",
            "plan_pdf": f"/plans/{self.plan.ref}/plan.pdf",
            "adjustment_new": f"{case}adjustment/",
            "letter": f"/letters/{self.letter.ref}/",
            "letter_pdf": f"/letters/{self.letter.ref}/letter.pdf",
            "review_new": f"{case}review/",
            "review": f"/reviews/{self.review.ref}/",
            "close_case": f"{case}close/",
        }


def a_clinic(house: House, book: Book) -> Clinic:
    """Fill the records through the product's own actions. Wanda's score is 8 (see tests/web/wanda.py)."""
    check = submit_check(
        worker=house.wanda,
        answers={"soreness": "yes", "cracks": "yes"},
        given_by="worker",
        by=house.wanda.user,
        now=NOW - timedelta(days=30),
        book=book,
    )
    sorting = record_sorting(check=check, decision="case", by=house.alice, now=NOW - timedelta(days=30))
    assert sorting.case is not None
    case = sorting.case
    adjustment = adjusted(house, case)
    content = plan_content(
        worker=house.wanda,
        sections=[section] if (section := plan_section("Cream", [("At breaks.", "Common practice")])) else [],
        red_flags=["Pus, or pain that grows."],
        next_look_on=None,
        contact=CONTACT,
        reference=f"{case.ref}-1",
        edition=book.edition,
        on=TODAY,
    )
    return Clinic(
        house=house,
        case=case,
        check=check,
        waiting=submit_check(
            worker=house.yusuf,
            answers={"pus": "yes", "growing_pain": "no"},
            given_by="worker",
            by=house.yusuf.user,
            now=NOW - timedelta(hours=2),
            book=book,
        ),
        examination=record_examination(
            case=case,
            signs=SIGNS,
            marks=("left-back-hand",),
            examined_on=TODAY - timedelta(days=14),
            circumstances=Circumstances(note="Knuckles worst."),
            by=house.alice,
            now=NOW - timedelta(days=14),
            book=book,
        ),
        plan=make_plan(case=case, content=to_json(content), edition=book.edition, by=house.alice, now=NOW),
        adjustment=adjustment,
        letter=letter(house, adjustment),
        review=set_review(case=case, due_on=TODAY, purpose="Next look", by=house.alice, now=NOW),
    )


def send(client: Client, address: str, fields: Mapping[str, object]) -> object:
    """Open a form and send it with these fields, as a browser without script does."""
    return client.post(address, {"form_key": key_of(client, address), **fields})


def key_of(client: Client, address: str) -> str:
    """The key of the form a page shows."""
    found = re.search(r'name="form_key" value="([^"]+)"', text_of(client.get(address)))
    assert found, "the page shows no form"
    return found.group(1)


def text_of(response: object) -> str:
    """The page as sent."""
    return response.content.decode()  # type: ignore[attr-defined, no-any-return]


def words_of(response: object) -> str:
    """What a person reads: no tags, single spaces, entities as signs."""
    bare = re.sub(r"<[^>]+>", " ", text_of(response))
    for entity, sign in (("&#x27;", "'"), ("&amp;", "&"), ("&quot;", '"'), ("&nbsp;", " ")):
        bare = bare.replace(entity, sign)
    return " ".join(bare.split())


def problems_of(response: object) -> str:
    """What the summary at the top of a refused form says."""
    found = re.search(r'<div class="error-summary".*?</div>', text_of(response), re.DOTALL)
    return " ".join(re.sub(r"<[^>]+>", " ", found.group()).replace("&#x27;", "'").split()) if found else ""
