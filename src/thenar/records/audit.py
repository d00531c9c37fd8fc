"""Writes and checks the chain of audit rows."""

import hashlib
import json
from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass
from datetime import UTC, datetime

from django.db import transaction

from thenar.records.models import AuditHead, AuditRow, User

FIRST_HASH = "0" * 64


@dataclass(frozen=True, slots=True)
class Noted:
    """What one audit row says. Never anything clinical."""

    at: datetime
    who: str
    access: str
    event: str
    target: str
    worker_ref: str
    data_class: str
    why: str


def note(
    event: str,
    *,
    by: User | None,
    now: datetime,
    target: str = "",
    worker_ref: str = "",
    data_class: str = "C1",
    why: str = "",
) -> None:
    """Add one row to the chain, inside the caller's transaction. `by` is None for a personal link.

    Data classes: C1 clinical, C2 adjustments, C3 appointments, C4 identity, C5 ward figures, C6 audit,
    C7 settings.
    """
    if not transaction.get_connection().in_atomic_block:
        raise RuntimeError("An audit row belongs in the transaction of what it tells about.")
    who, access = (by.get_username(), by.access) if by else ("personal link", "worker")
    add_rows([Noted(now, who, access, event, target, worker_ref, data_class, why)])


def add_rows(noted: Iterable[Noted]) -> None:
    """Chain rows onto the newest hash, holding its lock so that no two writers fork the chain."""
    head = AuditHead.objects.select_for_update().get_or_create(pk=1, defaults={"hash": FIRST_HASH})[0]
    rows: list[AuditRow] = []
    for one in noted:
        following = chained(head.hash, one)
        rows.append(AuditRow(**asdict(one), previous_hash=head.hash, hash=following))
        head.hash = following
    AuditRow.objects.bulk_create(rows, batch_size=500)
    head.save(update_fields=["hash"])


def chained(previous_hash: str, noted: Noted) -> str:
    """The hash of a row that follows `previous_hash`."""
    fields = {**asdict(noted), "at": noted.at.astimezone(UTC).isoformat(timespec="microseconds")}
    text = json.dumps(fields, sort_keys=True, ensure_ascii=False)
    return hashlib.sha256(f"{previous_hash}\n{text}".encode()).hexdigest()


def broken_rows() -> Iterator[int]:
    """Positions (row numbers) at which the chain does not hold; none when all is well."""
    expected = FIRST_HASH
    for row in AuditRow.objects.order_by("pk").iterator(chunk_size=2000):
        noted = Noted(
            row.at, row.who, row.access, row.event, row.target, row.worker_ref, row.data_class, row.why
        )
        if row.previous_hash != expected or row.hash != chained(row.previous_hash, noted):
            yield row.pk
        expected = row.hash
    head = AuditHead.objects.filter(pk=1).first()
    if head is not None and head.hash != expected:
        yield -1
