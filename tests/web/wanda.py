"""Wanda's record, filled through the product's own actions, with a marked word in every clinical field."""

from datetime import date, timedelta

from tests.conftest import NOW, TODAY, House
from thenar.documents.compose import adjustment_content
from thenar.documents.letters import Contact, PersonalIdentity, PlanContent, PlanLine, PlanSection, to_json
from thenar.knowledge import Book
from thenar.records.actions.adjustments import agree_adjustment
from thenar.records.actions.cases import open_case
from thenar.records.actions.checks import record_sorting, submit_check
from thenar.records.actions.examinations import Circumstances, record_examination
from thenar.records.actions.letters import draft_letter, take_letter_step
from thenar.records.actions.plans import make_plan
from thenar.records.actions.reviews import finish_review, set_review
from thenar.records.letter_states import Step
from thenar.records.models import Adjustment, Case, Examination, Letter, Plan, SkinCheck, User
from thenar.skin.severity import AreaSigns, HandSigns

MARKED = "Quetzal"  # a word that stands in every free clinical field, and nowhere else in the product
CONTACT = Contact("Occupational health", "extension 4000", "oh@saltmere.example")
MEASURE = "No dishwashing, instrument washing or cleaning tasks."
_CLEAR = AreaSigns(0, 0, 0, 0, 0, 0, 0)
# Backs: cracks some, flaking and redness a little, on a quarter to a half: (2 + 1 + 1) times 2 is 8.
SIGNS = HandSigns(_CLEAR, _CLEAR, _CLEAR, AreaSigns(1, 0, 0, 2, 1, 0, 2), _CLEAR)


def checked(house: House, book: Book) -> SkinCheck:
    """Wanda has sent a check with sore, cracked skin, and the practitioner has dealt with it."""
    check = submit_check(
        worker=house.wanda,
        answers={"soreness": "yes", "cracks": "yes"},
        given_by="worker",
        by=house.wanda.user,
        now=NOW - timedelta(days=7),
        book=book,
    )
    record_sorting(check=check, decision="advice", by=house.alice, now=NOW, note_text=f"{MARKED} sorting")
    return check


def in_case(house: House) -> Case:
    """Wanda has an open case."""
    return open_case(worker=house.wanda, by=house.alice, now=NOW)


def examined(house: House, book: Book, case: Case) -> Examination:
    """Her hands were examined."""
    return record_examination(
        case=case,
        signs=SIGNS,
        marks=("left-back-wrist",),
        examined_on=TODAY,
        circumstances=Circumstances(note=f"{MARKED} examination"),
        by=house.alice,
        now=NOW,
        book=book,
    )


def planned(house: House, book: Book, case: Case) -> Plan:
    """She has a plan, and a review behind and before her."""
    content = PlanContent(
        worker=PersonalIdentity(house.wanda.called, date(1990, 5, 17)),
        made_on=TODAY,
        sections=(
            PlanSection("Cream", (PlanLine(f"Use {MARKED} plan cream at breaks.", "Common practice"),)),
        ),
        next_look_on=None,
        red_flags=("Pus, or pain that grows.",),
        contact=CONTACT,
        reference="PLAN-1",
        edition=book.edition,
        large_print=False,
    )
    review = set_review(case=case, due_on=TODAY, purpose=f"{MARKED} review", by=house.alice, now=NOW)
    finish_review(
        review=review,
        outcome="moved",
        by=house.alice,
        now=NOW,
        note_text=f"{MARKED} review note",
        next_due_on=date(2026, 3, 16),
    )
    return make_plan(case=case, content=to_json(content), edition=book.edition, by=house.alice, now=NOW)


def adjusted(house: House, case: Case, *, end_on: date | None = date(2026, 4, 30)) -> Adjustment:
    """Her work is changed for a while."""
    return agree_adjustment(
        case=case,
        measures=(MEASURE,),
        start_on=TODAY,
        end_on=end_on,
        review_on=date(2026, 3, 30),
        by=house.alice,
        now=NOW,
    )


def letter(
    house: House, adjustment: Adjustment, *, to: User | None = None, replaces: Letter | None = None
) -> Letter:
    """The practitioner has drafted the letter about it."""
    recipient = to or house.mona
    content = adjustment_content(
        adjustment=adjustment, recipient=recipient, area="Ward 1", contact=CONTACT, by=house.alice, on=TODAY
    )
    return draft_letter(
        adjustment=adjustment,
        recipient=recipient,
        content=to_json(content),
        by=house.alice,
        now=NOW,
        replaces=replaces,
    )


def walk(house: House, kept: Letter, *steps: Step) -> None:
    """Take these steps, each by whom it belongs to."""
    own = {Step.SEEN, Step.SEE_DECLINED, Step.COMMENTED, Step.CONSENTED, Step.REFUSED}
    for step in steps:
        by = house.wanda.user if step in own else house.alice
        assert by is not None
        comment = f"{MARKED} comment" if step is Step.COMMENTED else ""
        how = "by telephone" if step is Step.WITHDRAWN else ""
        take_letter_step(
            letter=Letter.objects.get(pk=kept.pk), step=step, by=by, now=NOW, how=how, comment=comment
        )


OFFERED = (Step.CONTENT_AGREED, Step.OFFERED)
AGREED = (*OFFERED, Step.SEEN, Step.COMMENTED, Step.CONSENTED)
RELEASED = (*AGREED, Step.RELEASED)


def everything(house: House, book: Book) -> Letter:
    """The whole story, up to a released letter; every free field holds the marked word."""
    checked(house, book)
    case = in_case(house)
    examined(house, book, case)
    planned(house, book, case)
    kept = letter(house, adjusted(house, case))
    walk(house, kept, *RELEASED)
    return kept
