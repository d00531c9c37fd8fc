"""Every rule, line of advice and decision with its value, history and source; and the bibliography."""

from collections import Counter
from dataclasses import dataclass
from datetime import date

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from thenar.errors import ThenarError
from thenar.knowledge import Book, Citation, DecisionRule, Entry, Source
from thenar.records.rights import Act
from thenar.screens import clock
from thenar.screens.book import book
from thenar.screens.middleware import problem_page
from thenar.screens.people import for_those_who

LONGEST_SEARCH = 80
MOST_LISTED = 100  # of one file: a browser on a phone holds no thousand, and nobody reads them
OF_PARTS = frozenset({"allergen", "patch series"})  # what they say is several things at once, not one by one


@dataclass(frozen=True, slots=True)
class Step:
    """A value in an entry's history, as it is shown."""

    in_force_from: date
    says: str
    citation: Citation
    note: str


@dataclass(frozen=True, slots=True)
class EntryLine:
    """One entry in the list; only quantities have a value beside their words."""

    entry: Entry
    value: str


@dataclass(frozen=True, slots=True)
class Chapter:
    """One knowledge file, with the first of its `found` entries that were asked for."""

    name: str
    anchor: str
    title: str
    why_it_matters: str
    reviewed_by: str
    reviewed_on: date
    review_due: date
    overdue: bool
    found: int
    lines: tuple[EntryLine, ...]

    @property
    def more(self) -> int:
        """How many were found and are not listed."""
        return self.found - len(self.lines)


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of entry, how many there are, and whether only they are shown."""

    name: str
    how_many: int
    is_shown: bool


@dataclass(frozen=True, slots=True)
class Listed:
    """A work of the bibliography, and what is taken from it."""

    key: str
    source: Source
    read: str
    entries: tuple[Entry, ...]


@require_safe
@for_those_who(Act.SEE_RULES)
def rules(request: HttpRequest) -> HttpResponse:
    """All of it, file by file; narrowed by the words and the kind asked for."""
    words = request.GET.get("q", "").strip()[:LONGEST_SEARCH]
    today = clock.today()
    counted = Counter(entry.kind for entry in book().entries.values())
    kind = request.GET.get("kind", "") if request.GET.get("kind") in counted else ""
    chapters = chapters_of(book(), words, today, kind)
    return render(
        request,
        "rules/rules.html",
        {
            "words": words,
            "kind": kind,
            "kinds": [Kind(name, how_many, name == kind) for name, how_many in counted.most_common()],
            "chapters": chapters,
            "how_many": sum(chapter.found for chapter in chapters),
            "overdue": [chapter for chapter in chapters_of(book(), "", today) if chapter.overdue],
            "editions": tuple(reversed(book().editions)),
        },
    )


@require_safe
@for_those_who(Act.SEE_RULES)
def rule(request: HttpRequest, key: str) -> HttpResponse:
    """One rule: what it says, the value in force, its history, its source, and who sees it otherwise."""
    entry = book().entries.get(key)
    if entry is None:
        return problem_page(request, _no_such_rule(key), status=404)
    today = clock.today()
    history = history_of(entry)
    in_force = [step for step in history if step.in_force_from <= today]
    return render(
        request,
        "rules/rule.html",
        {
            "entry": entry,
            "now": in_force[-1] if in_force else None,
            "step": in_force[-1] if in_force else history[-1],
            "decision": _decision(book(), key),
            "history": history if entry.kind in OF_PARTS else history[::-1],
            "of_parts": entry.kind in OF_PARTS,
            "overdue": entry.review_due < today,
            "today": today,
        },
    )


@require_safe
@for_those_who(Act.SEE_RULES)
def sources(request: HttpRequest) -> HttpResponse:
    """The works everything is taken from."""
    return render(request, "rules/sources.html", {"listed": bibliography(book())})


def chapters_of(book: Book, words: str, today: date, kind: str = "") -> list[Chapter]:
    """The knowledge files with the entries that hold every word asked for; files without any are left out."""
    wanted = words.lower().split()
    late = {named.name for named in book.overdue_on(today)}
    chapters = []
    for named in book.files:
        entries = tuple(
            entry
            for entry in book.entries.values()
            if entry.file == named.name and kind in {"", entry.kind} and _holds(entry, wanted)
        )
        if entries:
            content = named.content
            chapters.append(
                Chapter(
                    name=named.name,
                    anchor=named.name.removesuffix(".toml").replace("/", "-"),
                    title=content.title,
                    why_it_matters=content.why_it_matters,
                    reviewed_by=content.reviewed.by,
                    reviewed_on=content.reviewed.on,
                    review_due=content.reviewed.due,
                    overdue=named.name in late,
                    found=len(entries),
                    lines=tuple(_line(entry) for entry in entries[:MOST_LISTED]),
                )
            )
    return chapters


def bibliography(book: Book) -> list[Listed]:
    """Every source, by author, with the entries that cite it."""
    citing: dict[str, dict[str, Entry]] = {key: {} for key in book.sources}
    for entry in book.entries.values():
        citations = [step.citation for step in entry.history] + [view[1] for view in entry.other_views]
        for citation in citations:
            citing[citation.source_id][entry.id] = entry
    listed = [
        Listed(key, source, source.read, tuple(citing[key].values())) for key, source in book.sources.items()
    ]
    return sorted(listed, key=lambda one: (one.source.by.lower(), one.source.year or 0))


def history_of(entry: Entry) -> tuple[Step, ...]:
    """Every value an entry has had, oldest first, with the signs a reader knows.

    Examples
    --------
    >>> from thenar.knowledge import load
    >>> history_of(load().entry("severity.band.moderate"))[-1].says
    '≥ 17 points'
    """
    return tuple(
        Step(step.in_force_from, _signs(step.says), step.citation, step.note) for step in entry.history
    )


def _decision(book: Book, key: str) -> DecisionRule | None:
    """The triage decision of that id, for what it asks for."""
    return next((rule for table in book.tables.values() for rule in table.rule if rule.id == key), None)


def _signs(says: str) -> str:
    return says.replace(">=", "≥").replace("<=", "≤")


def _line(entry: Entry) -> EntryLine:
    return EntryLine(entry, _signs(entry.history[-1].says) if entry.kind == "rule" else "")


def _holds(entry: Entry, wanted: list[str]) -> bool:
    text = " ".join(
        [entry.id, entry.says, entry.file_title]
        + [f"{step.says} {step.citation.label}" for step in entry.history]
        + [f"{says} {citation.label}" for says, citation in entry.other_views]
    ).lower()
    return all(word in text for word in wanted)


def _no_such_rule(key: str) -> ThenarError:
    return ThenarError(
        what=f"There is no rule “{key[:80]}” in this edition.",
        why="It may have been renamed, or belong to another edition.",
        todo="Look for it among all rules.",
    )
