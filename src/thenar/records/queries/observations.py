"""What was counted in an area, who works there, and how their work is described. No person is in it."""

from collections.abc import Iterable
from datetime import date

from django.db.models import QuerySet

from thenar.exposure.sessions import ObservationSession
from thenar.exposure.tally import Tally
from thenar.records.models import Area, ObservedSession, Post, Role, User, WorkDescription
from thenar.records.rights import Act, NotVisible, require


def area_to(act: Act, *, ref: str, by: User) -> Area:
    """The area with that reference, for someone who may do this there."""
    require(by, act)
    area = Area.objects.filter(ref=ref).first()
    if area is None:
        raise NotVisible(by=by, target="area")
    return area


def roles_in(area: Area, *, on: date) -> list[Role]:
    """The roles that work in an area on a day; every role where nobody works."""
    posts = Post.objects.running_on(on).filter(area=area)
    return list(Role.objects.filter(pk__in=posts.values("role"))) or list(Role.objects.all())


def sessions_in(area: Area, *, by: User, role: Role | None = None) -> QuerySet[ObservedSession]:
    """The sessions of an area, the newest first."""
    require(by, Act.SEE_WORKPLACE)
    found = ObservedSession.objects.filter(area=area).select_related("area", "role")
    return (found.filter(role=role) if role else found).order_by("-observed_on", "-pk")


def tally_of(row: ObservedSession) -> Tally:
    """What was counted, as it was kept; what is missing there nobody counted."""
    return Tally(**row.counts)


def as_sessions(rows: Iterable[ObservedSession]) -> list[ObservationSession]:
    """Kept sessions as the computations take them, the oldest first."""
    return [
        as_session(row, row.area.name, row.role.name)
        for row in sorted(rows, key=lambda row: (row.observed_on, row.pk))
    ]


def as_session(row: ObservedSession, area: str, role: str) -> ObservationSession:
    """One kept session; its area and role by the names the caller already has."""
    return ObservationSession(
        observer=row.observer, area=area, role=role, shift_part=row.shift_part, counts=tally_of(row)
    )


def descriptions_in_force(area: Area, *, by: User) -> dict[int, WorkDescription]:
    """The newest description of each role in an area, by the role's number."""
    require(by, Act.SEE_WORKPLACE)
    rows = WorkDescription.objects.filter(area=area).select_related("role").order_by("at", "pk")
    return {row.role_id: row for row in rows}
