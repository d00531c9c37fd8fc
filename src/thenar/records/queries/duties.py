"""An area's tasks and team, and the searches for duties kept in a case."""

from dataclasses import dataclass
from datetime import date, datetime

from django.db import models, transaction

from thenar.records.audit import note
from thenar.records.days import day_of
from thenar.records.models import Area, DutySearch, Post, TaskList, User
from thenar.records.queries.cases import CaseStory, case_story
from thenar.records.queries.workers import visible_worker
from thenar.records.rights import Act, NotVisible, require


@dataclass(frozen=True, slots=True)
class Colleague:
    """Someone with a running post in an area: who they are to their manager, and as what they work."""

    staff_number: str
    called: str
    role: str


@dataclass(frozen=True, slots=True)
class AreaTasks:
    """An area with its task list in force, and how many people of each role work there."""

    area: Area
    in_force: TaskList | None
    roles: tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True)
class DutyGround:
    """What a search for duties stands on: the case, and the task list of the worker's area."""

    story: CaseStory
    area: Area | None
    task_list: TaskList | None
    searches: tuple[DutySearch, ...]


def area_tasks(*, ref: str, by: User, on: date) -> AreaTasks:
    """One area's tasks. Names nobody, so a look leaves no row."""
    require(by, Act.SEE_WORKPLACE)
    area = _area(ref, by)
    counted: dict[str, int] = {}
    for role in _posts(area, on).values_list("role__name", flat=True):
        counted[role] = counted.get(role, 0) + 1
    return AreaTasks(area, _in_force(area), tuple(sorted(counted.items())))


@transaction.atomic
def area_team(*, ref: str, by: User, on: date, now: datetime) -> tuple[Colleague, ...]:
    """Everyone with a running post in an area or below it, by name; noted as a look at identities."""
    require(by, Act.WRITE_WORKPLACE)
    area = _area(ref, by)
    rows = _posts(area, on).order_by("worker__family_name", "worker__given_name", "-from_on")
    team: dict[str, Colleague] = {}
    for post in rows.select_related("worker", "role"):
        person = Colleague(post.worker.staff_number, post.worker.called, post.role.name)
        team.setdefault(person.staff_number, person)
    note("team listed", by=by, now=now, target=area.ref, data_class="C4", why=f"{len(team)} people")
    return tuple(team.values())


@transaction.atomic
def duty_ground(*, ref: str, by: User, now: datetime) -> DutyGround:
    """One case and the tasks its worker's area has; the look is noted."""
    story = case_story(ref=ref, by=by, now=now, why="finding duties")
    area = story.post.area if story.post else None
    return DutyGround(
        story=story,
        area=area,
        task_list=_in_force(area) if area else None,
        searches=tuple(
            DutySearch.objects.filter(case=story.case).select_related("by").order_by("-at", "-pk")
        ),
    )


@transaction.atomic
def duty_search(*, ref: str, by: User, now: datetime) -> DutySearch:
    """One kept search, for those who may see its case; the look is noted."""
    require(by, Act.SEE_CLINICAL)
    rows = DutySearch.objects.filter(ref=ref)
    kept = rows.select_related("case__worker", "case__closing", "task_list__area", "by").first()
    if kept is None:
        raise NotVisible(by=by, target="duty search")
    worker = visible_worker(kept.case.worker.ref, by=by, on=day_of(now))
    note(
        "duty search looked at",
        by=by,
        now=now,
        target=kept.ref,
        worker_ref=worker.ref,
        data_class="C2",
    )
    return kept


def _area(ref: str, by: User) -> Area:
    area = Area.objects.filter(ref=ref).first()
    if area is None:
        raise NotVisible(by=by, target="area")
    return area


def _in_force(area: Area) -> TaskList | None:
    """The newest list of the area itself."""
    return TaskList.objects.filter(area=area).select_related("area", "by").order_by("-at", "-pk").first()


def _posts(area: Area, on: date) -> models.QuerySet[Post]:
    return Post.objects.running_on(on).filter(area__path__startswith=area.path, worker__left_on__isnull=True)
