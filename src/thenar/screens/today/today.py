"""What needs the practitioner now, in the order it needs them."""

from dataclasses import dataclass
from datetime import datetime

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from thenar.allergy.verdict_terms import Answer
from thenar.knowledge import Book, Entry
from thenar.records.queries.today import Today, WaitingCheck, what_waits
from thenar.records.rights import Act, may
from thenar.screens import clock
from thenar.screens.book import book
from thenar.screens.people import for_those_who, person
from thenar.screens.usable.shown import SHOWN

URGENT = ("emergency", "same_day")
URGENCIES = ("emergency", "same_day", "prompt", "routine", "self_care")


@dataclass(frozen=True, slots=True)
class CheckLine:
    """One waiting check as Today shows it."""

    waiting: WaitingCheck
    since: str
    reason: Entry | None


@dataclass(frozen=True, slots=True)
class Told:
    """What workers with one urgency are told to do, and how many of them wait."""

    urgency: str
    how_many: int
    line: Entry


@require_safe
@for_those_who(Act.SEE_TODAY)
def today(request: HttpRequest) -> HttpResponse:
    """New checks by urgency, reviews and readings due, products to look at, letters, and what comes next."""
    now = clock.now()
    waits = what_waits(by=person(request), now=now, book=book())
    return render(
        request,
        "today/today.html",
        {
            "waits": waits,
            "checks": [_line(waiting, book(), now) for waiting in waits.checks],
            "told": _told(waits, book()),
            "urgent_total": sum(waits.checks_by_urgency[code] for code in URGENT),
            "to_move": [letter for letter in waits.letters if not letter.state.waits_for_worker],
            "with_worker": [letter for letter in waits.letters if letter.state.waits_for_worker],
            "levels": _levels(book()),
            "may_write": may(person(request), Act.WRITE_CLINICAL),
            "concerns": [(one, SHOWN[Answer(one.concern.answer)]) for one in waits.concerns],
        },
    )


def _line(waiting: WaitingCheck, book: Book, now: datetime) -> CheckLine:
    reasons = waiting.check.reasons
    return CheckLine(
        waiting=waiting,
        since=since(waiting.check.submitted_at, now),
        reason=book.entries.get(reasons[0]) if reasons else None,
    )


def since(moment: datetime, now: datetime) -> str:
    """When something came in, in the words a person would use.

    Examples
    --------
    >>> from datetime import UTC
    >>> noon = datetime(2026, 3, 2, 12, tzinfo=UTC)
    >>> since(datetime(2026, 3, 2, 8, 5, tzinfo=UTC), noon)
    'today 08:05'
    >>> since(datetime(2026, 3, 1, 8, 5, tzinfo=UTC), noon)
    'yesterday 08:05'
    >>> since(datetime(2026, 2, 20, 8, 5, tzinfo=UTC), noon)
    '10 days ago'
    """
    local = timezone.localtime(moment)
    days = (timezone.localdate(now) - local.date()).days
    if days <= 1:
        return f"{'yesterday' if days else 'today'} {local:%H:%M}"
    return f"{days} days ago"


def _told(waits: Today, book: Book) -> list[Told]:
    """What the workers behind the most urgent checks were told, so that someone makes sure it happened."""
    counts = waits.checks_by_urgency
    lines = {code: book.entries.get(f"urgency.{code}.do") for code in URGENT}
    return [Told(code, counts[code], line) for code in URGENT if counts[code] and (line := lines[code])]


def _levels(book: Book) -> list[tuple[str, Entry]]:
    """Each urgency with the rule that says how soon someone must look."""
    return [
        (code, book.entries[f"urgency.{code}.do"])
        for code in URGENCIES
        if f"urgency.{code}.do" in book.entries
    ]
