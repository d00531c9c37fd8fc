"""A worker's own record, and who has looked at it."""

from dataclasses import dataclass, replace
from datetime import datetime
from typing import TypeVar

from django.db import models, transaction

from thenar.records.audit import note
from thenar.records.models import AuditRow, Letter, Plan, SkinCheck, User, Worker
from thenar.records.queries.workers import WorkerStory, whole_story
from thenar.records.rights import Act, NotVisible, require

LOOKS_AT_MOST = 500

Kept = TypeVar("Kept", bound=models.Model)


@dataclass(frozen=True, slots=True)
class Look:
    """Someone looked at, or wrote in, the worker's record. `own` marks the worker's own account."""

    at: datetime
    who: str
    access: str
    event: str
    why: str
    own: bool


def own_worker(by: User) -> Worker:
    """The worker this account belongs to."""
    worker = Worker.objects.filter(user=by).first()
    if worker is None:
        raise NotVisible(by=by, target="own record")
    return worker


@transaction.atomic
def my_story(*, by: User, now: datetime) -> WorkerStory:
    """Everything in one's own record. A letter belongs to it once it has been offered."""
    require(by, Act.SEE_OWN)
    worker = own_worker(by)
    note("own record looked at", by=by, now=now, worker_ref=worker.ref)
    story = whole_story(worker, tuple(worker.posts.select_related("area", "role").order_by("-from_on")))
    offered = tuple(
        letter for letter in story.letters if any(step.kind == "offered" for step in letter.steps.all())
    )
    return replace(story, letters=offered)


@transaction.atomic
def my_check(*, ref: str, by: User, now: datetime) -> SkinCheck:
    """One of one's own checks."""
    worker = own_worker(by)
    return _own(SkinCheck.objects.filter(ref=ref, worker=worker).first(), worker, by, now, "check")


@transaction.atomic
def my_plan(*, ref: str, by: User, now: datetime) -> Plan:
    """One of one's own plans."""
    worker = own_worker(by)
    return _own(Plan.objects.filter(ref=ref, case__worker=worker).first(), worker, by, now, "plan")


@transaction.atomic
def my_letter(*, ref: str, by: User, now: datetime) -> Letter:
    """A letter about oneself, once it has been offered."""
    worker = own_worker(by)
    rows = Letter.objects.filter(ref=ref, worker=worker, steps__kind="offered")
    rows = rows.select_related("worker", "recipient", "adjustment__case").prefetch_related("steps__by")
    return _own(rows.first(), worker, by, now, "letter")


@transaction.atomic
def who_looked(*, by: User, now: datetime) -> tuple[Look, ...]:
    """Every look and act on one's own record, newest first, with names."""
    worker = own_worker(by)
    note("own look-ups looked at", by=by, now=now, worker_ref=worker.ref, data_class="C6")
    rows = list(AuditRow.objects.filter(worker_ref=worker.ref).order_by("-pk")[:LOOKS_AT_MOST])
    names = {
        user.get_username(): user.called
        for user in User.objects.filter(username__in={row.who for row in rows})
    }
    return tuple(
        Look(
            row.at, names.get(row.who, row.who), row.access, row.event, row.why, row.who == by.get_username()
        )
        for row in rows
    )


def _own(row: Kept | None, worker: Worker, by: User, now: datetime, what: str) -> Kept:
    require(by, Act.SEE_OWN)
    if row is None:
        raise NotVisible(by=by, target=what)
    note(f"own {what} looked at", by=by, now=now, worker_ref=worker.ref)
    return row
