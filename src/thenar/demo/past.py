"""The acts of the past: each makes the rows and the audit row that the action of that name would make."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import date, datetime, timedelta

from thenar.demo import wording
from thenar.demo.hands import Pattern
from thenar.demo.pen import Pen
from thenar.demo.staff import Staff
from thenar.knowledge import Book
from thenar.records.days import day_of
from thenar.records.frozen import content_hash
from thenar.records.letter_states import Step
from thenar.records.models import (
    Adjustment,
    Case,
    CaseClosing,
    CheckLink,
    CheckSorting,
    Examination,
    Letter,
    LetterStep,
    Plan,
    Review,
    ReviewOutcome,
    SkinCheck,
    User,
    Worker,
)
from thenar.skin.hand_map import read_marks
from thenar.skin.severity import score_hands
from thenar.skin.triage import sort_check

LINK_LASTS = timedelta(days=14)


@dataclass(slots=True)
class Past:
    """Who can act, with which knowledge, until which day."""

    pen: Pen
    staff: Staff
    book: Book
    today: date

    @property
    def yesterday(self) -> date:
        """The last day that has a past."""
        return self.today - timedelta(days=1)

    def invite(self, worker: Worker, by: User, at: datetime, answered_at: datetime) -> None:
        """A personal link that was made and, later, spent."""
        self.pen.keep(
            CheckLink(
                token_hash=content_hash({"link": self.pen.ref()}),
                worker=worker,
                made_at=at,
                expires_at=at + LINK_LASTS,
                spent_at=answered_at,
                by=by,
            )
        )
        self.pen.note("check link made", by=by, at=at, worker=worker, data_class="C3")

    def check(
        self, worker: Worker, answers: Mapping[str, str], at: datetime, *, given_by: str, by: User | None
    ) -> SkinCheck:
        """A check, sorted by the rules themselves."""
        triage = sort_check(answers, self.book)
        check = SkinCheck(
            ref=self.pen.ref(),
            worker=worker,
            given_by=given_by,
            submitted_at=at,
            answers=dict(answers),
            urgency=triage.urgency.code,
            patient_contact=triage.patient_contact.code,
            reasons=[reason.rule_id for reason in triage.reasons],
            edition=triage.edition,
        )
        self.pen.note("check submitted", by=by, at=at, target=check.ref, worker=worker)
        return self.pen.keep(check)

    def sort(self, check: SkinCheck, decision: str, by: User, at: datetime, case: Case | None = None) -> None:
        """What the practitioner made of a check."""
        self.pen.keep(CheckSorting(check_report=check, case=case, decision=decision, at=at, by=by))
        self.pen.note("check dealt with", by=by, at=at, target=check.ref, worker=check.worker)

    def open_case(self, worker: Worker, earlier: Case | None, by: User, at: datetime) -> Case:
        """A case."""
        case = Case(ref=self.pen.ref(), worker=worker, opened_on=day_of(at), earlier=earlier, at=at, by=by)
        self.pen.note("case opened", by=by, at=at, target=case.ref, worker=worker)
        return self.pen.keep(case)

    def examine(
        self,
        case: Case,
        pattern: Pattern,
        activity: float,
        by: User,
        at: datetime,
        *,
        wet_shift: int | None = None,
        treated: str = "unknown",
        hard_to_judge: bool = False,
        note: str = "",
    ) -> Examination:
        """A look at the hands, scored by the rules themselves."""
        signs = pattern.at(activity)
        severity = score_hands(signs, self.book, day_of(at), hard_to_judge=hard_to_judge)
        self.pen.note("record looked at", by=by, at=at, worker=case.worker, why="examination")
        examination = Examination(
            ref=self.pen.ref(),
            case=case,
            examined_on=day_of(at),
            signs=asdict(signs),
            marks=[region.id for region in read_marks(pattern.marks)] if severity.total else [],
            total=severity.total,
            band=severity.band.code,
            hard_to_judge=hard_to_judge,
            days_since_wet_shift=wet_shift,
            under_treatment=treated,
            note=note,
            edition=severity.edition,
            at=at,
            by=by,
        )
        self.pen.note("examination recorded", by=by, at=at, target=examination.ref, worker=case.worker)
        return self.pen.keep(examination)

    def plan(
        self, case: Case, by: User, at: datetime, *, next_look_on: date, broken: bool, number: int
    ) -> Plan:
        """A plan to take home."""
        content = wording.plan_content(
            worker=case.worker,
            book=self.book,
            made_on=day_of(at),
            next_look_on=next_look_on,
            reference=f"{case.ref}-{number}",
            broken=broken,
        )
        plan = Plan(
            ref=self.pen.ref(),
            case=case,
            made_on=day_of(at),
            content=content,
            edition=self.book.edition,
            at=at,
            by=by,
        )
        self.pen.note("plan made", by=by, at=at, target=plan.ref, worker=case.worker)
        return self.pen.keep(plan)

    def adjust(
        self,
        case: Case,
        measures: list[str],
        by: User,
        at: datetime,
        *,
        end_on: date | None,
        review_on: date,
    ) -> Adjustment:
        """What the workplace changes for a while, from the day it is agreed."""
        adjustment = Adjustment(
            ref=self.pen.ref(),
            case=case,
            measures=wording.measures(self.book, measures),
            start_on=day_of(at),
            end_on=end_on,
            review_on=review_on,
            at=at,
            by=by,
        )
        self.pen.note(
            "adjustment agreed", by=by, at=at, target=adjustment.ref, worker=case.worker, data_class="C2"
        )
        return self.pen.keep(adjustment)

    def letter(self, adjustment: Adjustment, by: User, at: datetime) -> Letter | None:
        """A letter to whoever answers for the worker's area; None when the worker has no post or manager."""
        worker = adjustment.case.worker
        member = next(one for one in self.staff.members if one.worker is worker)
        post = member.post_on(day_of(at))
        recipient = self.staff.manager_of(post.area, day_of(at)) if post else None
        if post is None or recipient is None or recipient is worker.user:
            return None
        content = wording.letter_content(
            adjustment=adjustment, recipient=recipient, area=post.area, by=by, on=day_of(at)
        )
        letter = Letter(
            ref=self.pen.ref(),
            worker=worker,
            adjustment=adjustment,
            recipient=recipient,
            content=content,
            content_hash=content_hash(content),
            at=at,
            by=by,
        )
        self.pen.note("letter drafted", by=by, at=at, target=letter.ref, worker=worker, data_class="C2")
        return self.pen.keep(letter)

    def step(
        self, letter: Letter, step: Step, by: User, at: datetime, *, how: str = "", comment: str = ""
    ) -> None:
        """One step of a letter."""
        names_recipient = step in (Step.CONSENTED, Step.RELEASED)
        self.pen.keep(
            LetterStep(
                letter=letter,
                kind=step.value,
                on=day_of(at),
                how=how,
                comment=comment,
                content_hash=letter.content_hash,
                recipient=letter.recipient if names_recipient else None,
                at=at,
                by=by,
            )
        )
        event = f"letter {step.value.replace('_', ' ')}"
        self.pen.note(event, by=by, at=at, target=letter.ref, worker=letter.worker, data_class="C2")

    def set_review(self, case: Case, due_on: date, by: User, at: datetime) -> Review:
        """The next look."""
        review = Review(
            ref=self.pen.ref(),
            case=case,
            due_on=due_on,
            purpose="Look at the hands again",
            set_on=day_of(at),
            at=at,
            by=by,
        )
        self.pen.note("review set", by=by, at=at, target=review.ref, worker=case.worker, data_class="C3")
        return self.pen.keep(review)

    def finish(self, review: Review, outcome: str, by: User, at: datetime, note: str = "") -> None:
        """What became of a review."""
        self.pen.keep(
            ReviewOutcome(review=review, done_on=day_of(at), outcome=outcome, note=note, at=at, by=by)
        )
        self.pen.note("review finished", by=by, at=at, target=review.ref, worker=review.case.worker)

    def close(self, case: Case, outcome: str, by: User, at: datetime, note: str = "") -> None:
        """The end of a case."""
        self.pen.keep(CaseClosing(case=case, closed_on=day_of(at), outcome=outcome, note=note, at=at, by=by))
        self.pen.note("case closed", by=by, at=at, target=case.ref, worker=case.worker)
