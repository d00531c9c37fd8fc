"""What is kept of the work in areas. Nothing here is about a person's health; no worker is named."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import Count

from thenar.records.models import (
    Area,
    AreaAssessment,
    ObservedSession,
    Post,
    RecordedControl,
    Role,
    User,
    WorkDescription,
)
from thenar.records.rights import Act, NotVisible, require


@dataclass(frozen=True, slots=True)
class PostRecord:
    """A role in an area: people in it now, sessions oldest first, and the newest description."""

    role: Role
    people: int
    sessions: tuple[ObservedSession, ...]
    description: WorkDescription | None


@dataclass(frozen=True, slots=True)
class AreaRecord:
    """An area with its roles."""

    area: Area
    posts: tuple[PostRecord, ...]

    def post(self, role_ref: str) -> PostRecord | None:
        """The role of that reference, if it is worked or was watched here."""
        return next((post for post in self.posts if post.role.ref == role_ref), None)


@dataclass(frozen=True, slots=True)
class AreaStory:
    """An area with its roles, what was done about them, and the assessments, newest first."""

    record: AreaRecord
    controls: tuple[RecordedControl, ...]
    assessments: tuple[AreaAssessment, ...]

    @property
    def area(self) -> Area:
        """The area itself."""
        return self.record.area


def areas_at_work(*, by: User, on: date) -> tuple[AreaRecord, ...]:
    """Every area where someone works on a day, or where work was watched or described; by name."""
    require(by, Act.SEE_WORKPLACE)
    return _records(Area.objects.all(), on)


def area_story(*, ref: str, by: User, on: date) -> AreaStory:
    """One area, for those who may see what work does to hands."""
    require(by, Act.SEE_WORKPLACE)
    area = Area.objects.filter(ref=ref).first()
    if area is None:
        raise NotVisible(by=by, target="area")
    return _story(area, on)


def area_story_named(*, name: str, on: date) -> AreaStory | None:
    """One area by its name, for the command line, which only those who keep this machine can use."""
    area = Area.objects.filter(name__iexact=name.strip()).first()
    return None if area is None else _story(area, on)


def assessment(*, ref: str, by: User) -> AreaAssessment:
    """One assessment, as it was printed."""
    require(by, Act.SEE_WORKPLACE)
    kept = AreaAssessment.objects.filter(ref=ref).select_related("area", "by").first()
    if kept is None:
        raise NotVisible(by=by, target="assessment")
    return kept


def area_names() -> tuple[str, ...]:
    """The names of all areas, to say what could have been meant."""
    return tuple(Area.objects.order_by("name").values_list("name", flat=True))


def _story(area: Area, on: date) -> AreaStory:
    found = _records([area], on)
    controls = RecordedControl.objects.filter(area=area)
    assessments = AreaAssessment.objects.filter(area=area)
    return AreaStory(
        record=found[0] if found else AreaRecord(area, ()),
        controls=tuple(controls.select_related("role", "by").order_by("-start_on", "-pk")),
        assessments=tuple(assessments.select_related("by").order_by("-version")),
    )


def _records(areas: Iterable[Area], on: date) -> tuple[AreaRecord, ...]:
    """Areas with what is kept of them, in a fixed number of questions to the database."""
    by_id = {area.pk: area for area in areas}
    sessions: dict[tuple[int, int], list[ObservedSession]] = defaultdict(list)
    for session in ObservedSession.objects.filter(area__in=by_id).order_by("observed_on", "pk"):
        sessions[session.area_id, session.role_id].append(session)
    described = WorkDescription.objects.filter(area__in=by_id).order_by("at", "pk")
    newest = {(one.area_id, one.role_id): one for one in described}
    people = _people(by_id, on)
    roles = Role.objects.in_bulk({role for _, role in {*sessions, *newest, *people}})
    posts: dict[int, list[PostRecord]] = defaultdict(list)
    keys = {*sessions, *newest, *people}
    for key in sorted(keys, key=lambda key: (-people.get(key, 0), roles[key[1]].name)):
        posts[key[0]].append(
            PostRecord(roles[key[1]], people.get(key, 0), tuple(sessions[key]), newest.get(key))
        )
    ordered = sorted(posts, key=lambda pk: by_id[pk].name)
    return tuple(AreaRecord(by_id[pk], tuple(posts[pk])) for pk in ordered)


def _people(areas: Iterable[int], on: date) -> dict[tuple[int, int], int]:
    """How many hold each role in each area on a day."""
    rows = Post.objects.running_on(on).filter(area__in=areas).values("area", "role")
    counted = rows.annotate(people=Count("worker", distinct=True)).order_by()
    return {(row["area"], row["role"]): row["people"] for row in counted}
