"""Sets of products proposed for places of work, as they were kept."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from thenar.records.audit import Noted, add_rows, note
from thenar.records.days import day_of
from thenar.records.models import FormularyProposal, User, Worker
from thenar.records.rights import Act, NotVisible, require

MOST_EARLIER = 20


@dataclass(frozen=True, slots=True)
class EarlierProposal:
    """A proposal in a list: for which areas, when, by whom. Of its answer only whether it was found."""

    ref: str
    areas: tuple[str, ...]
    found: bool
    at: datetime
    by: User


def earlier_proposals(*, by: User) -> tuple[EarlierProposal, ...]:
    """The newest proposals, newest first. Names no worker, so a look leaves no row."""
    require(by, Act.WRITE_PRODUCTS)
    rows = FormularyProposal.objects.select_related("by").order_by("-at", "-pk")[:MOST_EARLIER]
    return tuple(
        EarlierProposal(row.ref, tuple(area["name"] for area in row.areas), row.found, row.at, row.by)
        for row in rows
    )


@transaction.atomic
def proposal(*, ref: str, by: User, now: datetime) -> FormularyProposal:
    """One proposal as it was kept. It may speak of few workers, so the look is noted."""
    require(by, Act.SEE_CLINICAL)
    kept = FormularyProposal.objects.select_related("by").filter(ref=ref).first()
    if kept is None:
        raise NotVisible(by=by, target="formulary")
    note("groups looked at", by=by, now=now, target=kept.ref, why="a formulary")
    return kept


@transaction.atomic
def workers_named(*, refs: Collection[str], target: str, by: User, now: datetime) -> dict[str, Worker]:
    """Workers for whom a proposal has nothing, by reference, as far as they are visible; noted for each."""
    require(by, Act.SEE_CLINICAL)
    rows = Worker.objects.visible_to(by, day_of(now)).filter(ref__in=refs)
    found = {worker.ref: worker for worker in rows}
    looks = [
        Noted(now, by.get_username(), by.access, "record looked at", target, one, "C1", "choosing products")
        for one in sorted(found)
    ]
    add_rows(looks)
    return found
