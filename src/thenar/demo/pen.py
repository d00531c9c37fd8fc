"""Writes the past of Saltmere: rows as the actions make them, each with its audit row, kept until all stand.

The events are worded as in records.actions, which write one row at a time at the present moment; here years
are written at once. What depends on all that stands by then the actions do themselves, each at its moment.
"""

from collections import deque
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import TypeVar

from django.db import models
from django.utils import timezone

from thenar.demo.chance import Chance
from thenar.records.audit import Noted, add_rows
from thenar.records.models import (
    Adjustment,
    Area,
    AreaManager,
    Case,
    CaseClosing,
    CheckLink,
    CheckSorting,
    Examination,
    Letter,
    LetterStep,
    ObservedSession,
    Plan,
    Post,
    Review,
    ReviewOutcome,
    Role,
    SkinCheck,
    TaskList,
    User,
    WorkDescription,
    Worker,
)
from thenar.records.refs import refs_chosen_by

Row = TypeVar("Row", bound=models.Model)

# Parents before children; a row that names another of its own table comes after it.
ORDER: tuple[tuple[type[models.Model], str], ...] = (
    (User, ""),
    (Role, ""),
    (Area, "parent"),
    (Worker, ""),
    (Post, ""),
    (AreaManager, ""),
    (CheckLink, ""),
    (SkinCheck, ""),
    (Case, "earlier"),
    (CheckSorting, ""),
    (Examination, "corrects"),
    (Plan, ""),
    (Adjustment, ""),
    (Letter, "replaces"),
    (LetterStep, ""),
    (Review, ""),
    (ReviewOutcome, ""),
    (CaseClosing, ""),
    (WorkDescription, ""),
    (ObservedSession, ""),
    (TaskList, ""),
)
_WHEN = {SkinCheck: "submitted_at", CheckLink: "made_at"}


@dataclass(frozen=True, slots=True)
class Deed:
    """Something an action does at a moment of the past, given that moment."""

    at: datetime
    do: Callable[[datetime], object]


class Pen:
    """Rows, audit rows and deeds waiting to be written together."""

    def __init__(self, refs: Chance) -> None:
        self._refs = refs
        self.rows: dict[type[models.Model], list[models.Model]] = {model: [] for model, _ in ORDER}
        self.noted: list[Noted] = []
        self.deeds: list[Deed] = []

    def ref(self) -> str:
        """The next reference."""
        return self._refs.ref()

    def keep(self, row: Row) -> Row:
        """Keep a row."""
        self.rows[type(row)].append(row)
        return row

    def note(
        self,
        event: str,
        *,
        by: User | None,
        at: datetime,
        target: str = "",
        worker: Worker | None = None,
        data_class: str = "C1",
        why: str = "",
    ) -> None:
        """Keep an audit row, as `records.audit.note` would write it."""
        who, access = (by.get_username(), by.access) if by else ("personal link", "worker")
        worker_ref = worker.ref if worker else ""
        self.noted.append(Noted(at, who, str(access), event, target, worker_ref, data_class, why))

    def act(self, at: datetime, do: Callable[[datetime], object]) -> None:
        """Keep a deed. Of two at one moment the one kept first is done first."""
        self.deeds.append(Deed(at, do))

    def counts(self) -> dict[str, int]:
        """How many rows of each kind."""
        return {model.__name__: len(rows) for model, rows in self.rows.items()}

    def write(self) -> None:
        """Put everything into the database, inside the caller's transaction: rows first, then the chain.

        Deeds are done in their turn of the chain, with references from the same chance as all others.
        """
        for model, own in ORDER:
            rows = self.rows[model]
            when = _WHEN.get(model, "at")
            if any(field.name == when for field in model._meta.fields):
                rows = sorted(rows, key=lambda row, when=when: getattr(row, when))  # type: ignore[misc]
            for layer in _layers(rows, own):
                model._default_manager.bulk_create(layer)
        told = deque(sorted(self.noted, key=lambda noted: noted.at))
        with refs_chosen_by(self._refs.one_of):
            for deed in sorted(self.deeds, key=lambda deed: deed.at):
                add_rows(_until(deed.at, told))
                deed.do(deed.at)
        add_rows(told)


def _until(at: datetime, told: deque[Noted]) -> Iterable[Noted]:
    """What was noted up to a moment, taken off the front."""
    while told and told[0].at <= at:
        yield told.popleft()


def _layers(rows: list[models.Model], own: str) -> Iterable[list[models.Model]]:
    """Rows whose own kind of parent is already written, then those that name them, and so on."""
    waiting = rows
    while waiting:
        ready = [row for row in waiting if not own or getattr(row, own) is None or getattr(row, own).pk]
        yield ready
        waiting = [row for row in waiting if row.pk is None]


def moment(day: date, hour: int, minute: int = 0) -> datetime:
    """A moment of a day in the site's zone. The hour and minute may run over."""
    start = datetime.combine(day, time(), tzinfo=timezone.get_current_timezone())
    return start + timedelta(hours=hour, minutes=minute)


def working(day: date) -> date:
    """That day, or the Monday after a weekend.

    Examples
    --------
    >>> working(date(2026, 11, 28))
    datetime.date(2026, 11, 30)
    """
    return day + timedelta(days=max(0, 7 - day.weekday()) if day.weekday() > 4 else 0)
