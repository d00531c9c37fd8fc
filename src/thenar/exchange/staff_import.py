"""Joins the staff list as read, the staff as kept, and the action that takes the list over."""

import hashlib
from dataclasses import dataclass, fields
from datetime import datetime

from django.db import transaction
from django.db.models import Q

from thenar.errors import BadInput, Conflict
from thenar.exchange.staff_changes import CurrentWorker, StaffChanges, compare_staff, worker_after
from thenar.exchange.staff_list import StaffList, read_staff_list
from thenar.exchange.staff_row import StaffRow
from thenar.records.actions.staff import StaffEntry, StaffUpdate, take_staff_list_over
from thenar.records.days import day_of
from thenar.records.models import StaffListImport, User
from thenar.records.queries.staff import staff_now


@dataclass(frozen=True, slots=True)
class DryRun:
    """What a list would change if it were taken over now. `digest` is the same while that stays the same."""

    listed: StaffList
    changes: StaffChanges
    update: StaffUpdate
    digest: str


def dry_run(*, raw: bytes, name: str, day_first: bool | None, by: User, now: datetime) -> DryRun:
    """Read a list and compare it with the staff as kept; change nothing."""
    listed = read_staff_list(raw, name=name, today=day_of(now), day_first=day_first)
    return _compared(listed, by=by, now=now)


def look_again(waiting: StaffListImport, *, by: User, now: datetime) -> DryRun:
    """The dry run of an uploaded list."""
    return dry_run(
        raw=bytes(waiting.raw), name=waiting.file_name, day_first=waiting.day_first, by=by, now=now
    )


@transaction.atomic(savepoint=False)  # see take_staff_list_over
def take_over(
    *,
    waiting: StaffListImport,
    digest: str,
    unusual_confirmed: bool,
    by: User,
    now: datetime,
    listed: StaffList | None = None,
) -> StaffListImport:
    """Take the list over exactly as the dry run with that digest showed it.

    `listed` is the waiting file as just read; without it, it is read again. Inside another transaction, a
    refusal undoes that one too.

    Raises
    ------
    BadInput
        When the list has a serious problem, or something unusual was not confirmed.
    Conflict
        When the list was taken over or thrown away already, or the staff has changed since the dry run.
    """
    waiting = _alone(waiting)
    if waiting.applied_at is not None:
        raise Conflict(
            what="This list was already taken over.",
            why="Taking it over twice could undo later changes.",
            todo="Upload the newest list.",
        )
    run = _compared(listed, by=by, now=now) if listed else look_again(waiting, by=by, now=now)
    refuse_unready(run.changes, unusual_confirmed=unusual_confirmed)
    if run.digest != digest:
        raise Conflict(
            what="The staff has changed since you looked.",
            why="What would happen now is not what you saw.",
            todo="Look at the changes again, then take the list over.",
        )
    return take_staff_list_over(waiting=waiting, update=run.update, by=by, now=now)


def refuse_unready(changes: StaffChanges, *, unusual_confirmed: bool) -> None:
    """Refuse a list with a serious problem, or with something unusual that nobody confirmed."""
    serious = sum(problem.serious for problem in changes.problems)
    if serious:
        raise BadInput(
            what=f"The list has {'a problem' if serious == 1 else f'{serious} problems'} to put right.",
            why="A list is taken over whole or not at all; nothing was changed.",
            todo="Put right what is named, in the file, and read it in again.",
        )
    if changes.unusual and not unusual_confirmed:
        raise BadInput(
            what="Something unusual about this list was not confirmed.",
            why="If it isn't meant, taking the list over would do great harm; nothing was changed.",
            todo="Read what is unusual, and confirm it only if it is meant.",
        )


def file_hash(raw: bytes) -> str:
    """Fingerprint of an uploaded file."""
    return hashlib.sha256(raw).hexdigest()


def _compared(listed: StaffList, *, by: User, now: datetime) -> DryRun:
    today = day_of(now)
    kept = staff_now(by=by, on=today, now=now)
    current = {number: _as_current(entry) for number, entry in kept.workers.items()}
    changes = compare_staff(current, listed, known_areas=kept.areas, known_roles=kept.roles, today=today)
    update = _update(changes)
    return DryRun(listed, changes, update, _digest(update))


def _alone(waiting: StaffListImport) -> StaffListImport:
    """The list as it is once nobody else is taking one over."""
    pks = (
        StaffListImport.objects.filter(Q(applied_at=None) | Q(pk=waiting.pk)).order_by("pk").values_list("pk")
    )
    if (waiting.pk,) not in pks.select_for_update():
        raise Conflict(
            what="This list was thrown away meanwhile.",
            why="There is nothing left to take over.",
            todo="Upload it again if it is still wanted.",
        )
    return StaffListImport.objects.get(pk=waiting.pk)


def _as_current(kept: StaffEntry) -> CurrentWorker:
    return CurrentWorker(
        kept.staff_number,
        kept.given_name,
        kept.family_name,
        kept.born_on,
        kept.email,
        kept.area,
        kept.role,
        kept.hours_share,
    )


def _entry(row: StaffRow, before: CurrentWorker | None) -> StaffEntry:
    after = worker_after(row, before)
    return StaffEntry(
        after.staff_number,
        after.given_name,
        after.family_name,
        after.born_on,
        after.email,
        after.area,
        after.role,
        after.hours_share,
        row.starts_on,
    )


def _update(changes: StaffChanges) -> StaffUpdate:
    return StaffUpdate(
        joiners=tuple(_entry(row, None) for row in changes.joiners),
        movers=tuple(_entry(move.row, move.before) for move in changes.movers),
        corrected=tuple(_entry(each.row, each.before) for each in changes.corrected),
        leavers=tuple(worker.staff_number for worker in changes.leavers),
        new_areas=changes.new_areas,
        new_roles=changes.new_roles,
    )


def _digest(update: StaffUpdate) -> str:
    digest = hashlib.sha256()
    for field in fields(update):
        for each in getattr(update, field.name):
            digest.update(repr(each).encode())
        digest.update(b"\n")
    return digest.hexdigest()
