"""The door to sorting a skin check."""

from dataclasses import dataclass
from datetime import date

from pydantic import ConfigDict
from pydantic.dataclasses import dataclass as checked

from thenar.cli.doors import Cited, Door, Schema, cited
from thenar.knowledge import Book
from thenar.skin.triage import advice_for, red_flag_advice, sort_check, triage_table, what_would_raise


@checked(frozen=True, slots=True, config=ConfigDict(extra="forbid", strict=True))
class TriageGiven:
    """Question to answer. A question left out counts as not sure."""

    answers: dict[str, str]


@dataclass(frozen=True, slots=True)
class ReasonAnswer:
    """A rule that holds; `decisive` when it alone asks for the outcome."""

    rule: str
    says: str
    decisive: bool
    source: Cited


@dataclass(frozen=True, slots=True)
class AdviceAnswer:
    """One line of advice to the worker, with its source."""

    line: str
    says: str
    source: Cited


@dataclass(frozen=True, slots=True)
class RaiseAnswer:
    """A question that, answered yes, would make the check more urgent."""

    question: str
    asks: str
    urgency: str


@dataclass(frozen=True, slots=True)
class TriageAnswer:
    """How soon, whether patients may be touched meanwhile, why, and what to do.

    `red_flags` is shown to everyone, whatever they answered. Sorts; does not diagnose.
    """

    urgency: str
    patient_contact: str
    reasons: tuple[ReasonAnswer, ...]
    unanswered: tuple[str, ...]
    advice: tuple[AdviceAnswer, ...]
    red_flags: tuple[AdviceAnswer, ...]
    what_would_raise: tuple[RaiseAnswer, ...]
    edition: str


def _compute(given: TriageGiven, book: Book, today: date) -> TriageAnswer:  # noqa: ARG001
    triage = sort_check(given.answers, book)
    return TriageAnswer(
        urgency=triage.urgency.code,
        patient_contact=triage.patient_contact.code,
        reasons=tuple(
            ReasonAnswer(reason.rule_id, reason.says, reason.decisive, cited(reason.rule_id, reason.citation))
            for reason in triage.reasons
        ),
        unanswered=triage.unanswered,
        advice=tuple(
            AdviceAnswer(line.id, line.says, cited(line.id, book.cite(line)))
            for line in advice_for(triage, book)
        ),
        red_flags=tuple(
            AdviceAnswer(line.id, line.says, cited(line.id, book.cite(line)))
            for line in red_flag_advice(book)
        ),
        what_would_raise=tuple(
            RaiseAnswer(each.question, each.asks, each.urgency.code)
            for each in what_would_raise(given.answers, book)
        ),
        edition=triage.edition,
    )


def _name_the_questions(schema: Schema, book: Book) -> Schema:
    """Add every question and its answers: they stand in the book, not in the type."""
    table = triage_table(book)
    answers = {
        question.id: {"enum": list(table.moves[question.id]), "description": question.asks}
        for question in table.questions
    }
    described = {"type": "object", "properties": answers, "additionalProperties": False}
    return {**schema, "properties": {**schema["properties"], "answers": described}}


DOOR = Door("triage", TriageGiven, TriageAnswer, _compute, _name_the_questions)
