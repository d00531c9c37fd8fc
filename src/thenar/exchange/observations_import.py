"""Joins a file of sessions as read, the sessions as kept, and the action that takes the file over."""

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from thenar.errors import BadInput
from thenar.exchange.observations import ObservationFile, SessionRow, read_observations
from thenar.exchange.problems import Problem
from thenar.knowledge import Book
from thenar.records.actions.observations import SessionSeen, asked_back, counts_kept, record_file
from thenar.records.days import day_of
from thenar.records.models import Area, ObservedSession, Role, User
from thenar.records.receipts import taken_once
from thenar.records.rights import Act, require


@dataclass(frozen=True, slots=True)
class DryRun:
    """What a file would add. `problems` must be put right; `asked` is confirmed or corrected."""

    listed: ObservationFile
    seen: tuple[SessionSeen, ...]
    problems: tuple[Problem, ...]
    asked: tuple[Problem, ...]

    @property
    def hours(self) -> float:
        """How long was watched in all. [hours]"""
        return sum(one.counts.minutes_observed for one in self.seen) / 60


def dry_run(*, raw: bytes, name: str, day_first: bool | None, by: User, now: datetime, book: Book) -> DryRun:
    """Read a file and hold it against what is kept and believed; change nothing."""
    require(by, Act.OBSERVE)
    areas = {area.name: area for area in Area.objects.all()}
    roles = {role.name: role for role in Role.objects.all()}
    listed = read_observations(
        raw, name=name, today=day_of(now), areas=areas, roles=roles, day_first=day_first
    )
    problems, asked, seen = list(listed.problems), [], []
    for row in listed.rows:
        one = _seen(row, areas[row.area], roles[row.role])
        try:
            queries = asked_back(one, book=book, now=now)
        except BadInput as fault:
            problems.append(Problem(row.line, "", fault.what, fault.todo, serious=True))
            continue
        seen.append(one)
        asked += [Problem(row.line, "", says, "Ask the observer.", serious=False) for says in queries]
    asked += _recorded_already(list(zip(listed.rows, seen, strict=False))) if not problems else []
    in_order = sorted(problems, key=lambda problem: problem.line)
    return DryRun(listed, tuple(seen), tuple(in_order), tuple(sorted(asked, key=lambda one: one.line)))


def refuse_unready(run: DryRun, *, confirmed: bool) -> None:
    """Refuse a file with a serious problem, or with counts asked back that nobody confirmed."""
    serious = sum(problem.serious for problem in run.problems)
    if serious:
        raise BadInput(
            what=f"The file has {'a problem' if serious == 1 else f'{serious} problems'} to put right.",
            why="A file is taken over whole or not at all; nothing was recorded.",
            todo="Put right what is named, in the file, and read it in again.",
        )
    if run.asked and not confirmed:
        raise BadInput(
            what="Something in the file is asked back, and nobody has confirmed it.",
            why="A slip of the finger in one session can change the verdict on a ward; nothing was recorded.",
            todo="Ask the observer. Correct the file, or confirm that it is right.",
        )


def take_over(*, run: DryRun, raw: bytes, confirmed: bool, by: User, now: datetime, book: Book) -> str:
    """Record every session, once however often the same file comes; the reference of the first."""
    refuse_unready(run, confirmed=confirmed)
    fingerprint = hashlib.sha256(raw).hexdigest()
    return taken_once(
        key=fingerprint,
        form="sessions from a file",
        body={"file": fingerprint},
        now=now,
        write=lambda: (
            record_file(seen=run.seen, by=by, now=now, book=book, counts_confirmed=confirmed)[0].ref
        ),
    )


def _seen(row: SessionRow, area: Area, role: Role) -> SessionSeen:
    return SessionSeen(
        area=area,
        role=role,
        observer=row.observer,
        observed_on=row.observed_on,
        shift_part=row.shift_part,
        counts=row.counts,
    )


def _recorded_already(rows: list[tuple[SessionRow, SessionSeen]]) -> Iterator[Problem]:
    """Sessions that are the same in everything as one that is kept, or as an earlier line."""
    days = {row.observed_on for row, _ in rows}
    kept = ObservedSession.objects.filter(observed_on__in=days)
    known = {
        _mark(one.area_id, one.role_id, one.observer, one.observed_on, one.shift_part, one.counts): "recorded"
        for one in kept
    }
    for row, one in rows:
        counts = counts_kept(one.counts)
        mark = _mark(one.area.pk, one.role.pk, one.observer, one.observed_on, one.shift_part, counts)
        if mark in known:
            where = "already recorded" if known[mark] == "recorded" else f"on line {known[mark]} too"
            yield Problem(row.line, "", f"The same session is {where}.", "Remove it, or confirm it.", False)
        known.setdefault(mark, str(row.line))


def _mark(*facts: object) -> str:
    return repr([sorted(fact.items()) if isinstance(fact, dict) else fact for fact in facts])
