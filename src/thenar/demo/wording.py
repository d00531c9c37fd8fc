"""What the demo's plans and letters say, in the form documents.letters keeps contents in (its form 1).

The demo stands beside the documents in the house and does not import them; a test reads every kind back.
"""

from collections.abc import Iterable
from datetime import date

from thenar.knowledge import Book, KnownAs, Line
from thenar.records.models import Adjustment, Area, User, Worker

Json = dict[str, object]

CONTACT: dict[str, str] = {
    "service": "Occupational health",
    "telephone": "extension 4000",
    "email": "oh@saltmere.example",
    "organisation": "Saltmere",
}
RED_FLAGS = ("care.when-to-come-back.emergency", "care.when-to-come-back.same-day")
# Heading of each topic, and how many of its lines a plan of the demo takes.
_TOPICS = {
    "cleansing": ("Cleaning your hands", 2),
    "rub": ("Hand rub", 1),
    "washing": ("Washing", 4),
    "cream": ("Cream", 3),
    "gloves": ("Gloves at work", 3),
    "home": ("At home", 4),
    "broken-skin": ("Broken skin", 3),
}


def plan_content(
    *, worker: Worker, book: Book, made_on: date, next_look_on: date | None, reference: str, broken: bool
) -> Json:
    """A worker's plan."""
    sections = [
        {"heading": heading, "lines": [_plan_line(line, book) for line in book.lines_about(topic)[:count]]}
        for topic, (heading, count) in _TOPICS.items()
        if broken or topic != "broken-skin"
    ]
    return {
        "kind": "plan",
        "form": 1,
        "worker": {"name": worker.called.strip(), "born_on": str(worker.born_on)},
        "made_on": str(made_on),
        "sections": sections,
        "next_look_on": str(next_look_on) if next_look_on else None,
        "red_flags": [book.lines[key].says for key in RED_FLAGS],
        "contact": CONTACT,
        "reference": reference,
        "edition": book.edition,
        "large_print": False,
    }


def letter_content(*, adjustment: Adjustment, recipient: User, area: Area, by: User, on: date) -> Json:
    """A manager's letter: tasks and days, nothing clinical."""
    worker = adjustment.case.worker
    return {
        "kind": "adjustment",
        "form": 1,
        "worker": {"name": worker.called.strip(), "staff_number": worker.staff_number},
        "recipient": {
            "name": recipient.called,
            "position": recipient.position,
            "address_lines": [area.name],
        },
        "area": area.name,
        "measures": [{"text": text} for text in adjustment.measures],
        "start_on": str(adjustment.start_on),
        "end_on": str(adjustment.end_on) if adjustment.end_on else None,
        "review_on": str(adjustment.review_on),
        "contact": CONTACT,
        "reference": adjustment.ref,
        "dated_on": str(on),
        "signed_by": by.called,
        "signed_position": by.position,
    }


def measures(book: Book, ids: Iterable[str]) -> list[str]:
    """The ready words of measures, by the last part of their ids."""
    return [book.lines[f"adjustment.{one}"].says for one in ids]


def _plan_line(line: Line, book: Book) -> Json:
    citation = book.cite(line)
    if citation.known_as in (KnownAs.COMMON_PRACTICE, KnownAs.OUR_CHOICE):
        label = citation.known_as.value.capitalize()
    else:
        remembered = citation.known_as is KnownAs.FROM_MEMORY
        label = citation.source.label + (" (from memory)" if remembered else "")
    return {"text": line.says, "source_label": label}
