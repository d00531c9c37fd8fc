"""Keeps an area's tasks, and what a search for duties found."""

from collections.abc import Mapping
from datetime import date, datetime

from django.db import transaction

from thenar.errors import BadInput
from thenar.records.actions.cases import require_open
from thenar.records.audit import note
from thenar.records.models import Area, Case, DutySearch, TaskList, User
from thenar.records.rights import Act, require, require_not_own


@transaction.atomic
def keep_task_list(
    *, area: Area, first_day: date, content: Mapping[str, object], by: User, now: datetime
) -> TaskList:
    """Keep an area's tasks from a first day on; from now on this list is in force, older ones stay."""
    require(by, Act.WRITE_WORKPLACE)
    if not content.get("tasks"):
        raise BadInput(
            what="The list has no task.",
            why="Without tasks there are no duties to share out.",
            todo="Give at least one row.",
        )
    kept = TaskList.objects.create(area=area, first_day=first_day, content=dict(content), at=now, by=by)
    note("task list kept", by=by, now=now, target=kept.ref, data_class="C5", why=area.ref)
    return kept


@transaction.atomic
def keep_duty_search(
    *,
    case: Case,
    task_list: TaskList,
    limits: Mapping[str, object],
    found: bool,
    words: Mapping[str, object],
    edition: str,
    by: User,
    now: datetime,
) -> DutySearch:
    """Keep a search for a worker's duties: what was asked, and what was found in words that say no reason."""
    require(by, Act.WRITE_CLINICAL)
    require_not_own(case.worker, by)
    require_open(case)
    if not words.get("says"):
        raise BadInput(
            what="The search says nothing.",
            why="A search without an answer in words is of no use to whoever runs the area.",
            todo="Search again.",
        )
    kept = DutySearch.objects.create(
        case=case,
        task_list=task_list,
        limits=dict(limits),
        found=found,
        words=dict(words),
        edition=edition,
        at=now,
        by=by,
    )
    note(
        "duties searched",
        by=by,
        now=now,
        target=kept.ref,
        worker_ref=case.worker.ref,
        data_class="C2",
    )
    return kept
