"""Finds the worker a personal check link belongs to, and the check that was sent by it."""

from datetime import datetime

from django.db import transaction

from thenar.records.actions.checks import LinkNotUsable, token_hash
from thenar.records.audit import note
from thenar.records.models import CheckLink, SkinCheck, User


def usable_link(*, token: str, now: datetime) -> CheckLink:
    """The link of that secret, if it can still be used. Looking does not spend it."""
    link = followed_link(hashed=token_hash(token))
    if link is None or not can_be_used(link, now=now):
        raise LinkNotUsable
    return link


def followed_link(*, hashed: str) -> CheckLink | None:
    """The link of that hash, spent or not: who followed it has shown its secret before."""
    return CheckLink.objects.filter(token_hash=hashed).select_related("worker").first()


def can_be_used(link: CheckLink, *, now: datetime) -> bool:
    """Whether a check can still be sent by this link."""
    return link.spent_at is None and link.expires_at > now


@transaction.atomic
def sent_check(*, ref: str, by: User | None, now: datetime) -> SkinCheck | None:
    """The check that was sent in this session; `by` is None when its worker came by a personal link.

    An account reads only its own worker's check.
    """
    checks = SkinCheck.objects.filter(ref=ref).select_related("worker")
    check = (checks if by is None else checks.filter(worker__user=by)).first()
    if check is not None:
        note("own check looked at", by=by, now=now, worker_ref=check.worker.ref)
    return check
