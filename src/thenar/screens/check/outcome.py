"""What a worker is told after a check: what to do, where, by when, why, and what would change it."""

from dataclasses import dataclass
from itertools import groupby

from thenar.errors import BadInput
from thenar.knowledge import Book, Line
from thenar.records.models import SkinCheck
from thenar.skin.triage import Raise, before_all, red_flag_advice, what_would_raise

_HEADLINES = {
    "emergency": "Get help now",
    "same_day": "Be seen today",
    "prompt": "Be seen soon",
    "routine": "Have your hands looked at",
    "self_care": "Look after your hands",
}
_CONTACT = {
    "stop": "Do not touch patients for now",
    "adjust": "Ask before you touch patients",
    "continue": "You can go on with patients",
}
_RAISED_TO = {
    "emergency": "Get help now if",
    "same_day": "Be seen today if",
    "prompt": "Be seen within days if",
    "routine": "Have your hands looked at if",
}


@dataclass(frozen=True, slots=True)
class Because:
    """One rule that holds, in its own words. `citation` is empty for a rule the book no longer has."""

    rule_id: str
    says: str
    citation: str


@dataclass(frozen=True, slots=True)
class Raised:
    """Questions that, answered yes, would lead to a more urgent outcome."""

    heading: str
    asks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Outcome:
    """A result page, in the order it is read."""

    urgency: str
    patient_contact: str
    headline: str
    first: tuple[Line, ...]
    do: tuple[Line, ...]
    contact_headline: str
    contact: tuple[Line, ...]
    meanwhile: tuple[Line, ...]
    work: tuple[Line, ...]
    sooner: tuple[Line, ...]
    because: tuple[Because, ...]
    raised: tuple[Raised, ...]
    red_flags: tuple[Line, ...]
    limits: tuple[Line, ...]


def outcome_of(check: SkinCheck, book: Book) -> Outcome:
    """The page for a kept check: its own urgency and reasons, in the words of the book in use now."""
    lines = book.lines_about(f"urgency.{check.urgency}")
    kinds = {line: line.id.rpartition(".")[2] for line in lines}
    return Outcome(
        urgency=check.urgency,
        patient_contact=check.patient_contact,
        headline=_HEADLINES[check.urgency],
        first=before_all(check.urgency, check.reasons, book),
        do=tuple(line for line in lines if kinds[line] not in ("sooner", "work")),
        contact_headline=_CONTACT[check.patient_contact],
        contact=book.lines_about(f"contact.{check.patient_contact}"),
        meanwhile=_meanwhile(check, book),
        work=tuple(line for line in lines if kinds[line] == "work"),
        sooner=tuple(line for line in lines if kinds[line] == "sooner"),
        because=tuple(_because(rule_id, book) for rule_id in check.reasons),
        raised=_raised(check, book),
        red_flags=red_flag_advice(book),
        limits=book.lines_about("limits"),
    )


def _meanwhile(check: SkinCheck, book: Book) -> tuple[Line, ...]:
    """Advice on each reason; in an emergency nothing may stand between the worker and the call."""
    if check.urgency == "emergency":
        return ()
    return tuple(line for rule in check.reasons for line in book.lines_about(f"because.{rule}"))


def _because(rule_id: str, book: Book) -> Because:
    entry = book.entries.get(rule_id)
    if entry is None:
        return Because(rule_id, "A rule of an earlier edition, no longer in use.", "")
    return Because(rule_id, entry.says, entry.citation.label)


def _raised(check: SkinCheck, book: Book) -> tuple[Raised, ...]:
    """Grouped by what it would lead to. Answers to questions that are no longer asked raise nothing."""
    try:
        raises: tuple[Raise, ...] = what_would_raise(check.answers, book)
    except BadInput:
        return ()
    return tuple(
        Raised(_RAISED_TO[urgency.code], tuple(one.asks for one in group))
        for urgency, group in groupby(raises, key=lambda one: one.urgency)
    )
