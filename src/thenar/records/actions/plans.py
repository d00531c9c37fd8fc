"""Keeps the plan a worker takes home."""

from collections.abc import Mapping
from datetime import datetime

from django.db import transaction

from thenar.records.actions.cases import require_open
from thenar.records.audit import note
from thenar.records.days import day_of
from thenar.records.models import Case, Plan, User
from thenar.records.rights import Act, require, require_not_own


@transaction.atomic
def make_plan(*, case: Case, content: Mapping[str, object], edition: str, by: User, now: datetime) -> Plan:
    """Keep a plan's content as it was handed over; the newest plan of a case is the one in force."""
    require(by, Act.WRITE_CLINICAL)
    require_not_own(case.worker, by)
    require_open(case)
    plan = Plan.objects.create(
        case=case, made_on=day_of(now), content=dict(content), edition=edition, at=now, by=by
    )
    note("plan made", by=by, now=now, target=plan.ref, worker_ref=case.worker.ref)
    return plan
