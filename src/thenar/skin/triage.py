"""Sorts a skin check: how soon someone must look, whether patients may be touched meanwhile, and why."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from thenar.errors import BadInput
from thenar.knowledge.book import Book
from thenar.knowledge.entries import Line
from thenar.skin.triage_outcome import PatientContact, Reason, Urgency, outcome_of
from thenar.skin.triage_table import NOT_SURE, YES, Page, TriageTable, answers_to, triage_table

__all__ = [
    "Page",
    "PatientContact",
    "Raise",
    "Reason",
    "Triage",
    "TriageTable",
    "UnknownAnswer",
    "UnknownQuestion",
    "Urgency",
    "advice_for",
    "before_all",
    "red_flag_advice",
    "sort_check",
    "triage_table",
    "what_would_raise",
]


class UnknownQuestion(BadInput):
    """A check answers a question the table does not ask."""

    def __init__(self, question: str) -> None:
        super().__init__(
            what=f"There is no question {question[:40]!r} in the skin check.",
            why="An answer that no rule knows could be lost without anyone noticing.",
            todo="Use the question names of this edition; `thenar calc triage --schema` lists them.",
        )
        self.question = question


class UnknownAnswer(BadInput):
    """A check gives an answer the question does not take."""

    def __init__(self, question: str, answer: object, allowed: tuple[str, ...]) -> None:
        super().__init__(
            what=f"{question}: {str(answer)[:40]!r} is not an answer; it takes {', '.join(allowed)}.",
            why="A misread answer could hide a warning sign.",
            todo="Choose one of the answers named, or leave the question out, which counts as not sure.",
        )
        self.question = question


@dataclass(frozen=True, slots=True)
class Triage:
    """The outcome of a skin check. `reasons` come most serious first; `unanswered` in the order asked."""

    urgency: Urgency
    patient_contact: PatientContact
    reasons: tuple[Reason, ...]
    unanswered: tuple[str, ...]
    edition: str


@dataclass(frozen=True, slots=True)
class Raise:
    """A question that, answered yes, would make a check more urgent."""

    question: str
    asks: str
    urgency: Urgency


def sort_check(answers: Mapping[str, str], book: Book) -> Triage:
    """How soon someone must look at these hands, whether patients may be touched meanwhile, and why.

    Parameters
    ----------
    answers
        Question to answer: `yes`, `no`, `not_sure`, or one of a question's own choices. A question left out
        counts as not sure.
    book
        The knowledge whose triage table is used.

    Returns
    -------
    Triage
        The most serious urgency and patient contact over every rule that holds. With no rule holding:
        self-care and continue, without reasons.

    Raises
    ------
    UnknownQuestion, UnknownAnswer
        Naming the field.

    Notes
    -----
    Sorts; does not diagnose. Rules only raise, so a worse answer never lowers the outcome. Colour is never
    needed for an urgent outcome. It has not been tried on real workers.

    References
    ----------
    Each rule carries its own, in knowledge/skin/triage.toml.

    Examples
    --------
    >>> from thenar.knowledge.book import load
    >>> triage = sort_check({"growing_heat": "yes"}, load())
    >>> triage.urgency.code, triage.patient_contact.code, triage.reasons[0].rule_id
    ('same_day', 'stop', 'triage.infection')
    """
    table = triage_table(book)
    combinations = _combinations(answers, table)
    urgency, contact, reasons = outcome_of(table, table.rules_that_hold(table.levels(combinations)))
    known = {question for question, answer in answers.items() if answer != NOT_SURE}
    unanswered = tuple([question for question in table.deciding if question not in known])
    return Triage(urgency, contact, reasons, unanswered, book.edition)


def _combinations(answers: Mapping[str, str], table: TriageTable) -> list[int]:
    """The combination of answers in each group, by number; what is not answered stays not sure."""
    combinations = list(table.all_unsure)
    moves = table.moves
    for question, answer in answers.items():
        try:
            group, step = moves[question][answer]
        except (KeyError, TypeError):
            raise _misfit(question, answer, table) from None
        combinations[group] += step
    return combinations


def _misfit(question: str, answer: object, table: TriageTable) -> BadInput:
    if question not in table.moves:
        return UnknownQuestion(question)
    return UnknownAnswer(question, answer, tuple(table.moves[question]))


def what_would_raise(answers: Mapping[str, str], book: Book) -> tuple[Raise, ...]:
    """Which yes, one at a time, would make this check more urgent, and how urgent; most urgent first.

    Parameters
    ----------
    answers
        As for `sort_check`.
    book
        The knowledge whose triage table is used.

    Raises
    ------
    UnknownQuestion, UnknownAnswer
        Naming the field.

    Examples
    --------
    >>> from thenar.knowledge.book import load
    >>> first = what_would_raise({"growing_heat": "yes"}, load())[0]
    >>> first.asks, first.urgency.code
    ('Is it hard to breathe, or do you wheeze?', 'emergency')
    """
    now = sort_check(answers, book).urgency
    raises = [
        Raise(question.id, question.asks, sort_check({**answers, question.id: YES}, book).urgency)
        for question in triage_table(book).questions
        if YES in answers_to(question) and answers.get(question.id) != YES
    ]
    return tuple(sorted((each for each in raises if each.urgency > now), key=lambda each: -each.urgency))


def red_flag_advice(book: Book) -> tuple[Line, ...]:
    """When to get help at once: shown to everyone, whatever they answered.

    Examples
    --------
    >>> from thenar.knowledge.book import load
    >>> red_flag_advice(load())[0].id
    'red-flags.emergency'
    """
    return book.lines_about("red-flags")


def advice_for(triage: Triage, book: Book) -> tuple[Line, ...]:
    """What a worker should do after this outcome: where, by when, what changes it, what to tell work.

    Parameters
    ----------
    triage
        An outcome of `sort_check`.
    book
        The knowledge whose lines are used; a site can reword each.

    Returns
    -------
    tuple of Line
        First what a danger left open by an answer asks for, unless it is an emergency already; then on the
        urgency, on patient contact, on each reason that has lines, and on the limits of a check.

    Examples
    --------
    >>> from thenar.knowledge.book import load
    >>> book = load()
    >>> [line.id for line in advice_for(sort_check({"growing_heat": "yes"}, book), book)][:2]
    ['before-all.airway-unknown', 'urgency.same_day.do']
    """
    rules = [reason.rule_id for reason in triage.reasons]
    topics = (
        f"urgency.{triage.urgency.code}",
        f"contact.{triage.patient_contact.code}",
        *(f"because.{rule}" for rule in rules),
        "limits",
    )
    first = before_all(triage.urgency.code, rules, book)
    return (*first, *(line for topic in topics for line in book.lines_about(topic)))


def before_all(urgency: str, rules: Iterable[str], book: Book) -> tuple[Line, ...]:
    """What must be read before anything else, where an answer leaves a danger open.

    Parameters
    ----------
    urgency
        Code of the urgency reached. An emergency already says whom to call, without an "if".
    rules
        Ids of the rules that hold.
    book
        The knowledge whose lines are used.

    Examples
    --------
    >>> from thenar.knowledge.book import load
    >>> [line.id for line in before_all("prompt", ["triage.airway-unknown"], load())]
    ['before-all.airway-unknown']
    >>> before_all("emergency", ["triage.airway-unknown"], load())
    ()
    """
    if urgency == Urgency.EMERGENCY.code:
        return ()
    return tuple(line for rule in rules for line in book.lines_about(f"before-all.{rule}"))
