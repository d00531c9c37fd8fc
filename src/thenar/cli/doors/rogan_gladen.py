"""The door to prevalence from self-reports, corrected for how often they are right."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from pydantic.dataclasses import dataclass as checked

from thenar.cli.doors import Cited, Door, Schema, cited, not_after
from thenar.cli.doors.stated import (
    STRICT,
    CautionAnswer,
    Confidence,
    Count,
    GroundsGiven,
    StatedAnswer,
    Text,
    counted_by,
    elsewhere_answer,
    stated_answer,
)
from thenar.errors import BadInput
from thenar.knowledge import Book, SelfReportAccuracy
from thenar.knowledge.self_report import Question
from thenar.population.counts import check_amount
from thenar.population.prevalence import Asked, Recall, prevalence
from thenar.population.self_report import (
    Accuracy,
    accuracy_of,
    choose_accuracy,
    corrected_prevalence,
)


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class ExaminedGiven:
    """Your own sample, asked and examined. `wrong_no` had hand trouble and answered no."""

    right_yes: Count
    wrong_yes: Count
    wrong_no: Count
    right_no: Count

    def accuracy(self) -> Accuracy:
        """The sample as the computation takes it."""
        with_trouble, without = self.right_yes + self.wrong_no, self.right_no + self.wrong_yes
        check_amount("examined: people with hand trouble", with_trouble)
        check_amount("examined: people without hand trouble", without)
        return Accuracy(self.right_yes / with_trouble, self.right_no / without, with_trouble, without)


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class CorrectionGiven:
    """Who said yes. Published errors are chosen by `role`, `recall` and `question`.

    `examined` takes your own sample's instead; `borrowed` takes those published for another role, by id.
    """

    cases: Count
    answered: Count
    invited: Count | None = None
    role: Text
    recall: Recall
    question: Question = "direct"
    examined: ExaminedGiven | None = None
    borrowed: str | None = None
    grounds: GroundsGiven
    confidence: Confidence = 0.95
    on: date | None = None


@dataclass(frozen=True, slots=True)
class AccuracyAnswer:
    """How often the answers are right. `id` and `source` are null for your own sample."""

    id: str | None
    says: str
    found: str
    sensitivity: float
    specificity: float
    note: str
    seen_otherwise: tuple[str, ...]
    source: Cited | None


@dataclass(frozen=True, slots=True)
class CorrectionAnswer:
    """The corrected share beside the one as counted, and what others found."""

    corrected: StatedAnswer
    as_counted: StatedAnswer
    accuracy: AccuracyAnswer
    elsewhere: CautionAnswer | None
    edition: str


def _compute(given: CorrectionGiven, book: Book, today: date) -> CorrectionAnswer:
    on, grounds = not_after(given.on, today), counted_by(today, given.grounds.grounds())
    asked = Asked(given.cases, given.answered, given.invited)
    published = _published(given, book)
    accuracy = accuracy_of(published) if published else _examined(given)
    corrected = corrected_prevalence(
        asked,
        grounds,
        given.recall,
        book,
        on,
        accuracy=accuracy,
        borrowed=given.borrowed is not None,
        confidence=given.confidence,
    )
    counted = prevalence(asked, grounds, given.recall, book, on, confidence=given.confidence)
    told = _told(published, book) if published else _own(accuracy)
    return CorrectionAnswer(
        corrected=stated_answer(corrected),
        as_counted=stated_answer(counted),
        accuracy=told,
        elsewhere=elsewhere_answer(corrected, book, on),
        edition=book.edition,
    )


def _published(given: CorrectionGiven, book: Book) -> SelfReportAccuracy | None:
    if given.examined and given.borrowed:
        raise BadInput(
            what="borrowed: stands beside examined.",
            why="Only one set of errors can correct.",
            todo="Leave one of them out; your own sample fits your people better.",
        )
    if given.examined:
        return None
    if given.borrowed is None:
        return choose_accuracy(given.role, given.recall, given.question, book)
    if given.borrowed not in book.self_reports:
        raise BadInput(
            what=f"borrowed: there is no {given.borrowed!r}.",
            why="Nothing can be corrected by it.",
            todo=f"Name one of: {', '.join(book.self_reports)}.",
        )
    return book.self_reports[given.borrowed]


def _examined(given: CorrectionGiven) -> Accuracy:
    assert given.examined is not None  # or an accuracy was published
    return given.examined.accuracy()


def _told(published: SelfReportAccuracy, book: Book) -> AccuracyAnswer:
    return AccuracyAnswer(
        id=published.id,
        says=published.says,
        found=published.in_words,
        sensitivity=published.sensitivity,
        specificity=published.specificity,
        note=published.note,
        seen_otherwise=tuple(view.says for view in published.other_view),
        source=cited(published.id, book.cite(published)),
    )


def _own(accuracy: Accuracy) -> AccuracyAnswer:
    return AccuracyAnswer(
        id=None,
        says="Your own sample, asked and examined.",
        found=accuracy.in_words,
        sensitivity=accuracy.sensitivity,
        specificity=accuracy.specificity,
        note="",
        seen_otherwise=(),
        source=None,
    )


def _explain(schema: Schema, book: Book) -> Schema:
    """The schema, with every published accuracy that may be borrowed."""
    borrowed: dict[str, Any] = schema["properties"]["borrowed"]
    schema["properties"]["borrowed"] = {**borrowed, "examples": list(book.self_reports)}
    return schema


DOOR = Door("rogan-gladen", CorrectionGiven, CorrectionAnswer, _compute, _explain)
