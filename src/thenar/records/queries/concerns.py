"""Which concerns about products wait for the practitioner?"""

from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from thenar.allergy.verdict_terms import RANK, Answer
from thenar.records.audit import note
from thenar.records.days import day_of
from thenar.records.models import Post, ProductConcern, User, Worker
from thenar.records.rights import Act, NotVisible, require

SHOWN = 40


@dataclass(frozen=True, slots=True)
class WaitingConcern:
    """A concern nobody has dealt with, whom it is about, and how long it has waited."""

    concern: ProductConcern
    worker: Worker
    post: Post | None
    waiting_days: int


@transaction.atomic
def concerns_waiting(*, by: User, now: datetime) -> tuple[tuple[WaitingConcern, ...], int]:
    """The concerns that wait, `avoid` first, then the oldest; cut, with how many there are in all.

    Whoever asks never sees one about themself. Concerns of workers who have left wait until they come back.
    """
    require(by, Act.SEE_CLINICAL)
    rows = ProductConcern.objects.filter(outcome__isnull=True, worker__left_on__isnull=True)
    waiting = list(rows.exclude(worker__user=by).values_list("pk", "answer", "at"))
    waiting.sort(key=lambda row: (RANK[Answer(row[1])], row[2], row[0]))
    found = _read([pk for pk, _, _ in waiting[:SHOWN]])
    note("concerns looked at", by=by, now=now, why=f"{len(found)} concerns")
    today = day_of(now)
    posts = _posts([one.worker_id for one in found], now)
    return tuple(
        WaitingConcern(one, one.worker, posts.get(one.worker_id), (today - day_of(one.at)).days)
        for one in found
    ), len(waiting)


@transaction.atomic
def concern(*, ref: str, by: User, now: datetime) -> ProductConcern:
    """One concern, for those who may see its worker; the look is noted."""
    require(by, Act.SEE_CLINICAL)
    rows = ProductConcern.objects.filter(ref=ref).exclude(worker__user=by)
    kept = rows.select_related("worker", "product", "declaration", "area", "outcome").first()
    if kept is None:
        raise NotVisible(by=by, target="concern")
    note("concern looked at", by=by, now=now, target=kept.ref, worker_ref=kept.worker.ref)
    return kept


def _read(ids: list[int]) -> list[ProductConcern]:
    rows = ProductConcern.objects.select_related("worker", "product", "declaration", "area")
    found = rows.in_bulk(ids)
    return [found[pk] for pk in ids]


def _posts(workers: list[int], now: datetime) -> dict[int, Post]:
    posts = Post.objects.running_on(day_of(now)).filter(worker__in=workers).select_related("area", "role")
    return {post.worker_id: post for post in posts.order_by("from_on")}
