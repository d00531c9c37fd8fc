"""Keeps the answers of a check on its way, so that a lost connection or session loses nothing.

A draft is no clinical entry. Nobody but its owner reads it; it goes when the check is sent, or after a day.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import transaction

from thenar.errors import NotAllowed
from thenar.records.models import CheckDraft, CheckLink, User, Worker

DRAFT_LASTS = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class DraftOwner:
    """Whose answers these are: a worker who signed in (`by`), or who came by a personal link."""

    worker: Worker
    by: User | None = None
    link: CheckLink | None = None

    def key(self) -> str:
        """What the draft is kept under. A link and an account keep apart: a link may be passed on.

        Raises
        ------
        NotAllowed
            When the account or the link belongs to somebody else.
        """
        if self.link is not None and self.link.worker_id == self.worker.pk:
            return f"link {self.link.pk}"
        if self.by is not None and self.worker.user_id == self.by.pk:
            return f"worker {self.worker.pk}"
        raise NotAllowed(
            what="These answers are someone else's.",
            why="Answers on their way are for their owner alone.",
            todo="Begin your own check.",
        )


def keep_answers(*, owner: DraftOwner, answers: Mapping[str, str], now: datetime) -> None:
    """Add answers to the owner's draft; the same question answered again takes the newer answer."""
    key = owner.key()
    with transaction.atomic():
        CheckDraft.objects.filter(changed_at__lte=now - DRAFT_LASTS).delete()
        draft, _ = CheckDraft.objects.select_for_update().get_or_create(
            key=key, defaults={"worker": owner.worker, "link": owner.link, "changed_at": now}
        )
        draft.answers = {**draft.answers, **answers}
        draft.changed_at = now
        draft.save(update_fields=["answers", "changed_at"])


def kept_answers(*, owner: DraftOwner, now: datetime) -> dict[str, str]:
    """The owner's answers so far; none once a day has passed without a change."""
    draft = CheckDraft.objects.filter(key=owner.key(), changed_at__gt=now - DRAFT_LASTS).first()
    return dict(draft.answers) if draft else {}


def drop_answers(*, owner: DraftOwner) -> None:
    """Forget the owner's answers, to begin afresh."""
    CheckDraft.objects.filter(key=owner.key()).delete()
