"""Why a figure or a verdict stands: the rule, its source, the edition, and who sees it otherwise."""

from dataclasses import dataclass

from django.urls import reverse

from thenar.knowledge import Book, Citation, KnownAs, Line
from thenar.skin.severity import Judgement


@dataclass(frozen=True, slots=True)
class View:
    """What another source says."""

    says: str
    source_label: str


@dataclass(frozen=True, slots=True)
class Reason:
    """One note for the margin."""

    says: str
    rule_id: str
    source_label: str
    edition: str
    url: str = ""
    why_in_use: str = ""
    note: str = ""
    other_views: tuple[View, ...] = ()


def reason_for(rule_id: str, book: Book, *, says: str = "", edition: str = "", note: str = "") -> Reason:
    """The note of one rule, line or decision.

    Parameters
    ----------
    rule_id
        Id of the rule; one that the present edition no longer has is named all the same.
    book
        The knowledge in use.
    says
        What to say instead of the rule's own words.
    edition
        The edition a kept result was made with; by default the one in use.
    note
        A caution that belongs beside the verdict.
    """
    entry = book.entries.get(rule_id)
    if entry is None:
        gone = "This rule is no longer in the edition in use."
        return Reason(says=says or gone, rule_id=rule_id, source_label="", edition=edition)
    return Reason(
        says=says or entry.says,
        rule_id=rule_id,
        source_label=entry.citation.label,
        edition=edition or book.edition,
        url=reverse("rule", kwargs={"key": rule_id}),
        why_in_use=entry.why_in_use,
        note=note,
        other_views=tuple(View(view, citation.label) for view, citation in entry.other_views),
    )


def reason_for_line(line: Line, book: Book) -> Reason:
    """The note of a line of advice, which already stands beside it: why it is there, and its source."""
    reason = reason_for(line.id, book, says=line.why_in_use or " ")
    return Reason(
        says=line.why_in_use,
        rule_id=reason.rule_id,
        source_label=reason.source_label,
        edition=reason.edition,
        url=reason.url,
        other_views=reason.other_views,
    )


def reason_for_judgement(judgement: Judgement, book: Book) -> Reason:
    """The note of one yardstick's verdict on a change."""
    return reason_for(
        f"severity.change.{judgement.yardstick}",
        book,
        says=f"{_points(judgement.difference)}: {judgement.verdict}. "
        f"This yardstick asks for {judgement.threshold} points.",
        note=judgement.note,
    )


def short_source(citation: Citation) -> str:
    """A source in few words, for a line of a printed plan.

    Examples
    --------
    >>> from thenar.knowledge import load
    >>> book = load()
    >>> short_source(book.cite(book.lines["care.cream.everywhere"]))
    'Fisker and others, 2013'
    >>> short_source(book.cite(book.lines["care.cream.own-tube"]))
    'Common practice'
    """
    if citation.known_as in (KnownAs.COMMON_PRACTICE, KnownAs.OUR_CHOICE):
        return citation.known_as.value.capitalize()
    memory = " (from memory)" if citation.known_as is KnownAs.FROM_MEMORY else ""
    return f"{citation.source.label}{memory}"


def _points(difference: int) -> str:
    """A signed difference with a real minus.

    Examples
    --------
    >>> _points(-12), _points(1), _points(0)
    ('−12 points', '+1 point', '0 points')
    """
    sign = "+" if difference > 0 else "−" if difference < 0 else ""
    return f"{sign}{abs(difference)} point{'' if abs(difference) == 1 else 's'}"
