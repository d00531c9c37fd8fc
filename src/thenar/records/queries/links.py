"""Finds the worker a personal check link belongs to."""

from datetime import datetime

from thenar.records.actions.checks import LinkNotUsable, token_hash
from thenar.records.models import CheckLink


def usable_link(*, token: str, now: datetime) -> CheckLink:
    """The link of that secret, if it can still be used. Looking does not spend it."""
    link = (
        CheckLink.objects.filter(token_hash=token_hash(token), spent_at=None, expires_at__gt=now)
        .select_related("worker")
        .first()
    )
    if link is None:
        raise LinkNotUsable
    return link
