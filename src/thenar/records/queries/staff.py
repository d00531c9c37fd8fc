"""Who works here now, for comparing with a staff list."""

from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction

from thenar.records.actions.staff import StaffEntry, posts_not_over
from thenar.records.audit import note
from thenar.records.models import Area, Role, StaffListImport, User
from thenar.records.rights import Act, NotVisible, require


@dataclass(frozen=True, slots=True)
class StaffNow:
    """Everyone with a post that runs or is to come, by staff number; the names of areas and roles in use."""

    workers: dict[str, StaffEntry]
    areas: frozenset[str]
    roles: frozenset[str]


@transaction.atomic
def staff_now(*, by: User, on: date, now: datetime) -> StaffNow:
    """Identity and post of everyone working here or about to, in three queries whatever their number.

    Someone with several running posts is listed with the newest, someone with none yet with the first to
    come.
    """
    require(by, Act.IMPORT_STAFF)
    rows = (
        posts_not_over(on)
        .filter(worker__left_on__isnull=True)
        .order_by("from_on", "pk")
        .values_list(
            "worker__staff_number",
            "worker__given_name",
            "worker__family_name",
            "worker__born_on",
            "worker__email",
            "area__name",
            "role__name",
            "hours_share",
            "from_on",
        )
    )
    workers: dict[str, StaffEntry] = {}
    for row in rows.iterator(chunk_size=5000):
        entry = StaffEntry(*row)
        if row[-1] <= on or entry.staff_number not in workers:
            workers[entry.staff_number] = entry
    note("staff listed", by=by, now=now, data_class="C4", why=f"{len(workers)} workers")
    return StaffNow(
        workers,
        frozenset(Area.objects.values_list("name", flat=True)),
        frozenset(Role.objects.values_list("name", flat=True)),
    )


def staff_list_imports(*, by: User) -> tuple[StaffListImport, ...]:
    """The latest lists, waiting or taken over."""
    require(by, Act.IMPORT_STAFF)
    return tuple(StaffListImport.objects.defer("raw").select_related("by").order_by("-uploaded_at")[:20])


def staff_list_import(*, ref: str, by: User) -> StaffListImport:
    """One uploaded list."""
    require(by, Act.IMPORT_STAFF)
    kept = StaffListImport.objects.filter(ref=ref).select_related("by").first()
    if kept is None:
        raise NotVisible(by=by, target="staff list")
    return kept
