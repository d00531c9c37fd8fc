"""Takes skin checks in, and records what the practitioner made of them."""

import hashlib
from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta

from django.db import transaction

from thenar.errors import Conflict, NotAllowed
from thenar.knowledge import Book
from thenar.records.actions.cases import begin_case, require_open
from thenar.records.audit import note
from thenar.records.models import (
    Case,
    CheckDraft,
    CheckLink,
    CheckSorting,
    SkinCheck,
    User,
    Worker,
)
from thenar.records.refs import new_token
from thenar.records.rights import Act, may, require, require_not_own
from thenar.records.turns import wait_turn
from thenar.skin.triage import sort_check

LINK_LASTS = timedelta(days=14)


class LinkNotUsable(Conflict):
    """A check link has expired, was used, or never existed: which one, it does not say."""

    def __init__(self) -> None:
        super().__init__(
            what="This link can no longer be used.",
            why="Each link works once and for 14 days.",
            todo="Ask occupational health for a new one. If your hands are getting worse, call them now.",
        )


@transaction.atomic
def submit_check(
    *,
    worker: Worker,
    answers: Mapping[str, str],
    given_by: str,
    by: User | None,
    now: datetime,
    book: Book,
    link: CheckLink | None = None,
) -> SkinCheck:
    """Sort the answers, keep both, spend the link. `by` is None when the worker came by a personal link."""
    _require_theirs(worker, by, link)
    if link is not None:
        _spend(link, now)
    triage = sort_check(answers, book)
    check = SkinCheck.objects.create(
        worker=worker,
        given_by=given_by,
        submitted_at=now,
        answers=dict(answers),
        urgency=triage.urgency.code,
        patient_contact=triage.patient_contact.code,
        reasons=[reason.rule_id for reason in triage.reasons],
        edition=triage.edition,
    )
    CheckDraft.objects.filter(worker=worker).delete()
    note("check submitted", by=by, now=now, target=check.ref, worker_ref=worker.ref)
    return check


def _require_theirs(worker: Worker, by: User | None, link: CheckLink | None) -> None:
    """A check is given by the worker, by the worker's own link, or by the practitioner who asked."""
    if link is not None and link.worker_id == worker.pk:
        return
    if by is not None and (worker.user_id == by.pk or may(by, Act.WRITE_CLINICAL)):
        return
    raise NotAllowed(
        what="This check is somebody else's to give.",
        why="Answers in the wrong record could hide trouble, or invent it.",
        todo="Sign in as yourself, or use your own link.",
    )


def _spend(link: CheckLink, now: datetime) -> None:
    spent = CheckLink.objects.filter(pk=link.pk, spent_at=None, expires_at__gt=now).update(spent_at=now)
    if not spent:
        raise LinkNotUsable


@transaction.atomic
def make_check_link(*, worker: Worker, by: User, now: datetime) -> str:
    """A personal link's secret, told once; only its hash is kept."""
    require(by, Act.INVITE)
    token = new_token()
    CheckLink.objects.create(
        token_hash=token_hash(token), worker=worker, made_at=now, expires_at=now + LINK_LASTS, by=by
    )
    note("check link made", by=by, now=now, worker_ref=worker.ref, data_class="C3")
    return token


def token_hash(token: str) -> str:
    """What is stored of a secret."""
    return hashlib.sha256(token.encode()).hexdigest()


@transaction.atomic
def record_sorting(
    *,
    check: SkinCheck,
    decision: str,
    by: User,
    now: datetime,
    note_text: str = "",
    into: Case | None = None,
    along: Sequence[SkinCheck] = (),
) -> CheckSorting:
    """What the practitioner made of a check; `case` opens one unless it goes `into` an open one.

    The same decision is recorded for the checks taken `along`, which are the same worker's.
    """
    require(by, Act.WRITE_CLINICAL)
    require_not_own(check.worker, by)
    wait_turn(check.worker_id)
    _require_waiting(check, along)
    case = _case_for(check, into, by=by, now=now) if decision == "case" else None
    sorting, *_ = [
        CheckSorting.objects.create(
            check_report=one, case=case, decision=decision, note=note_text, at=now, by=by
        )
        for one in (check, *along)
    ]
    for one in (check, *along):
        note("check dealt with", by=by, now=now, target=one.ref, worker_ref=check.worker.ref)
    return sorting


def _require_waiting(check: SkinCheck, along: Sequence[SkinCheck]) -> None:
    if CheckSorting.objects.filter(check_report__in=[check, *along]).exists():
        raise Conflict(
            what=f"This check{', or one taken along with it,' if along else ''} was already dealt with.",
            why="Two decisions on one check would contradict each other.",
            todo="Open the worker's page to see what was decided.",
        )
    if any(one.worker_id != check.worker_id for one in along):
        raise Conflict(
            what="A check taken along is another worker's.",
            why="A decision in someone else's record would mislead about both.",
            todo="Open the check again, and decide from there.",
        )


def _case_for(check: SkinCheck, into: Case | None, *, by: User, now: datetime) -> Case:
    """The open case of this worker that takes the check, else a new one."""
    if into is None:
        return begin_case(worker=check.worker, by=by, now=now)
    require_open(into)
    if into.worker_id != check.worker_id:
        raise Conflict(
            what="This case is another worker's.",
            why="A check in someone else's record would mislead about both.",
            todo="Open the check again, and choose from there.",
        )
    return into
