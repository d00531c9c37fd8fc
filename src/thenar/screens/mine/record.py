"""A worker's own record, laid out for the page: every row ready to read, nothing looked up later."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from thenar.documents.letters import PlanContent
from thenar.records.actions.letters import state_of
from thenar.records.models import Adjustment, Case, Examination, Letter, Plan, Review, SkinCheck
from thenar.records.queries.standing import Standing
from thenar.records.queries.workers import WorkerStory
from thenar.screens.mine.letter_answers import where_it_stands
from thenar.screens.mine.plain_words import Seen, verdict, what_was_seen
from thenar.screens.papers import plan_content


@dataclass(frozen=True, slots=True)
class ShownLetter:
    """A letter, where it stands, and whether it waits for the worker."""

    letter: Letter
    stands: str
    waits: bool


@dataclass(frozen=True, slots=True)
class ShownExamination:
    """An examination in plain words. `corrected` marks an entry that a later one replaces."""

    examination: Examination
    verdict: str
    seen: tuple[Seen, ...]
    corrected: bool


@dataclass(frozen=True, slots=True)
class ShownAdjustment:
    """A change of work, and how it stands."""

    adjustment: Adjustment
    standing: Standing


@dataclass(frozen=True, slots=True)
class ShownCase:
    """One episode."""

    case: Case
    is_open: bool
    examinations: tuple[ShownExamination, ...]
    adjustments: tuple[Adjustment, ...]
    reviews_past: tuple[Review, ...]


@dataclass(frozen=True, slots=True)
class OwnRecord:
    """Everything on the page. `adjustments` stand; those `not_sent` never reached the workplace."""

    waiting: tuple[ShownLetter, ...]
    letters: tuple[ShownLetter, ...]
    reviews: tuple[Review, ...]
    plan: Plan | None
    plan_says: PlanContent | None
    adjustments: tuple[ShownAdjustment, ...]
    not_sent: tuple[ShownAdjustment, ...]
    cases: tuple[ShownCase, ...]
    checks: tuple[SkinCheck, ...]


def own_record(story: WorkerStory, today: date) -> OwnRecord:
    """The worker's story in the order the page tells it: what waits, what comes, what was."""
    letters = [shown_letter(letter) for letter in story.letters]
    adjustments = [
        ShownAdjustment(one, story.standings.get(one.pk, Standing.ON_ITS_WAY))
        for case in story.cases
        for one in case.adjustments.all()
    ]
    return OwnRecord(
        waiting=tuple(letter for letter in letters if letter.waits),
        letters=tuple(letter for letter in letters if not letter.waits),
        reviews=story.reviews_to_come,
        plan=story.plan,
        plan_says=plan_content(story.plan) if story.plan else None,
        adjustments=tuple(
            one
            for one in adjustments
            if one.standing.stands and (one.adjustment.end_on is None or one.adjustment.end_on >= today)
        ),
        not_sent=tuple(one for one in adjustments if one.standing.was_not_sent),
        cases=tuple(_shown_case(case) for case in story.cases),
        checks=story.checks,
    )


def shown_letter(letter: Letter) -> ShownLetter:
    """A letter with its state in words."""
    state = state_of(letter)
    return ShownLetter(letter, where_it_stands(letter, state), state.waits_for_worker)


def _shown_case(case: Case) -> ShownCase:
    examinations = sorted(case.examinations.all(), key=lambda one: (one.examined_on, one.pk), reverse=True)
    corrected = {one.corrects_id for one in examinations}
    return ShownCase(
        case=case,
        is_open=not hasattr(case, "closing"),
        examinations=tuple(_shown(one, corrected) for one in examinations),
        adjustments=tuple(case.adjustments.all()),
        reviews_past=tuple(review for review in case.reviews.all() if hasattr(review, "outcome")),
    )


def _shown(examination: Examination, corrected: Iterable[int | None]) -> ShownExamination:
    return ShownExamination(
        examination, verdict(examination), what_was_seen(examination), examination.pk in corrected
    )
