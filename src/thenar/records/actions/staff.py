"""Takes a staff list over: joiners, movers, corrections and leavers, all or none."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import TypeVar

from django.conf import settings
from django.db import transaction
from django.db.models import Q, QuerySet

from thenar.errors import Conflict
from thenar.knowledge import load
from thenar.records.actions.concerns import Scope, meetings, raise_concerns
from thenar.records.audit import note
from thenar.records.days import day_of
from thenar.records.models import Area, Post, Role, StaffListImport, User, Worker
from thenar.records.models.people import folded
from thenar.records.rights import Act, require

_BATCH = 500  # people at a time: little memory, and few enough names for one query
_FULL_TIME = Decimal(1)

Thing = TypeVar("Thing")
Kept = TypeVar("Kept", Worker, Post)


@dataclass(frozen=True, slots=True)
class StaffEntry:
    """A worker as they will stand once the list is taken over."""

    staff_number: str
    given_name: str
    family_name: str
    born_on: date | None
    email: str
    area: str
    role: str
    hours_share: Decimal | None
    starts_on: date | None = None


@dataclass(frozen=True, slots=True)
class StaffUpdate:
    """Everything a staff list changes."""

    joiners: tuple[StaffEntry, ...] = ()
    movers: tuple[StaffEntry, ...] = ()
    corrected: tuple[StaffEntry, ...] = ()
    leavers: tuple[str, ...] = ()
    new_areas: tuple[str, ...] = ()
    new_roles: tuple[str, ...] = ()


@transaction.atomic
def keep_staff_list(
    *, raw: bytes, file_name: str, file_hash: str, by: User, now: datetime, day_first: bool | None = None
) -> StaffListImport:
    """Keep an uploaded list while someone looks at what it would change."""
    require(by, Act.IMPORT_STAFF)
    kept = StaffListImport.objects.create(
        raw=raw, file_name=file_name[:200], file_hash=file_hash, day_first=day_first, uploaded_at=now, by=by
    )
    note("staff list uploaded", by=by, now=now, target=kept.ref, data_class="C4")
    return kept


@transaction.atomic
def say_day_first(*, waiting: StaffListImport, day_first: bool, by: User, now: datetime) -> None:
    """Record which way round the list writes its dates."""
    require(by, Act.IMPORT_STAFF)
    if not _still_waiting(waiting).update(day_first=day_first):
        raise _not_waiting()
    note("staff list dates explained", by=by, now=now, target=waiting.ref, data_class="C4")


@transaction.atomic
def throw_away_staff_list(*, waiting: StaffListImport, by: User, now: datetime) -> None:
    """Forget an uploaded list; nothing of it was taken over."""
    require(by, Act.IMPORT_STAFF)
    if not _still_waiting(waiting).delete()[0]:
        raise _not_waiting()
    note("staff list thrown away", by=by, now=now, target=waiting.ref, data_class="C4")


def _still_waiting(waiting: StaffListImport) -> QuerySet[StaffListImport]:
    return StaffListImport.objects.filter(pk=waiting.pk, applied_at=None)


def _not_waiting() -> Conflict:
    return Conflict(
        what="This list was taken over or thrown away meanwhile.",
        why="It no longer waits for an answer.",
        todo="Look at the newest lists, or upload another.",
    )


@transaction.atomic(savepoint=False)  # inside a savepoint SQLite would keep every page it touches in memory
def take_staff_list_over(
    *, waiting: StaffListImport, update: StaffUpdate, by: User, now: datetime
) -> StaffListImport:
    """Do everything a list changes, or nothing; the file itself is then forgotten.

    A mover's running posts end the day before the new one starts; a post that would then end before it
    began (begun today, or still to begin) is changed instead. Leavers' open cases stay open. Who comes to an
    area in which a product does not suit them is raised as a concern.
    """
    require(by, Act.IMPORT_STAFF)
    today, book = day_of(now), load(settings.SITE_KNOWLEDGE)
    since = meetings(Scope(workers=_arriving(update)), book=book, on=today)
    places = _Places.after_adding(update.new_areas, update.new_roles)
    for joiners in _batches(update.joiners):
        _add_joiners(joiners, places, today)
    for movers in _batches(update.movers):
        _move(movers, places, today)
    for corrected in _batches(update.corrected):
        _correct(corrected)
    for leavers in _batches(update.leavers):
        _let_go(leavers, today)
    waiting.raw = b""
    waiting.applied_at = now
    waiting.joiners, waiting.movers = len(update.joiners), len(update.movers)
    waiting.corrected, waiting.leavers = len(update.corrected), len(update.leavers)
    waiting.save()
    note(
        "staff list taken over",
        by=by,
        now=now,
        target=waiting.ref,
        data_class="C4",
        why=f"{waiting.joiners} join, {waiting.movers} move, {waiting.leavers} leave, "
        f"{waiting.corrected} corrected",
    )
    raise_concerns(since=since, because="post", book=book, by=by, now=now)
    return waiting


def _arriving(update: StaffUpdate) -> frozenset[int]:
    """Ids of the movers and returners; who was never here has no allergy on record."""
    batches = _batches((*update.joiners, *update.movers))
    known = (_workers(entry.staff_number for entry in batch) for batch in batches)
    return frozenset(worker.pk for workers in known for worker in workers.values())


def posts_not_over(day: date) -> QuerySet[Post]:
    """Posts that run on `day` or will."""
    return Post.objects.filter(Q(until_on__isnull=True) | Q(until_on__gte=day))


@dataclass(frozen=True, slots=True)
class _Places:
    """Areas and roles by name."""

    areas: dict[str, Area]
    roles: dict[str, Role]

    @classmethod
    def after_adding(cls, areas: Sequence[str], roles: Sequence[str]) -> "_Places":
        """Add what is new; new areas go under the organisation."""
        if areas:
            organisation = Area.objects.filter(parent=None).order_by("pk").first() or _found_organisation()
            for name in areas:
                if name != organisation.name:
                    _add_area(name, organisation)
        Role.objects.bulk_create(Role(name=name) for name in roles)
        return cls(
            {area.name: area for area in Area.objects.all()}, {role.name: role for role in Role.objects.all()}
        )

    def post(self, worker: Worker, entry: StaffEntry, from_on: date) -> Post:
        """The post an entry describes, not yet saved."""
        return Post(
            worker=worker,
            area=self.areas[entry.area],
            role=self.roles[entry.role],
            from_on=from_on,
            hours_share=entry.hours_share or _FULL_TIME,
        )


def _found_organisation() -> Area:
    """In an empty house: without it, the first ward would stand over all others, and so would its manager."""
    return _add_area(settings.SITE_NAME or "Whole hospital", None)


def _add_area(name: str, parent: Area | None) -> Area:
    area = Area(name=name, parent=parent)
    area.path = area.path_under(parent)
    area.save()
    return area


def _add_joiners(joiners: Sequence[StaffEntry], places: _Places, today: date) -> None:
    """New workers, and returners, who keep their record under the same number."""
    known = _workers(entry.staff_number for entry in joiners)
    new: list[Worker] = []
    back: list[Worker] = []
    for entry in joiners:
        worker = known.get(entry.staff_number)
        (back if worker else new).append(_write(worker or Worker(staff_number=entry.staff_number), entry))
    for worker in back:
        worker.left_on = None
    Worker.objects.bulk_create(new)
    _save(back, [*_IDENTITY, "left_on"])
    everyone = {worker.staff_number: worker for worker in (*new, *back)}
    Post.objects.bulk_create(
        places.post(everyone[entry.staff_number], entry, entry.starts_on or today) for entry in joiners
    )


def _move(movers: Sequence[StaffEntry], places: _Places, today: date) -> None:
    workers = _workers(entry.staff_number for entry in movers)
    posts = _posts_held(workers.values(), today)
    begun, ended, changed = [], [], []
    for entry in movers:
        worker = workers[entry.staff_number]
        for post in posts.get(worker.pk, ()):
            if post.from_on >= today:
                new = places.post(worker, entry, post.from_on)
                post.area, post.role, post.hours_share = new.area, new.role, new.hours_share
                changed.append(post)
                break
            ended.append(post.pk)
        else:
            begun.append(places.post(worker, entry, today))
    Post.objects.filter(pk__in=ended).update(until_on=today - timedelta(days=1))
    _save(changed, ["area", "role", "hours_share"])
    Post.objects.bulk_create(begun)


def _correct(corrected: Sequence[StaffEntry]) -> None:
    workers = _workers(entry.staff_number for entry in corrected)
    _save([_write(workers[entry.staff_number], entry) for entry in corrected], _IDENTITY)


def _let_go(numbers: Sequence[str], today: date) -> None:
    """Their posts end today; one that has not begun never was."""
    leavers = Worker.objects.filter(staff_number__in=numbers)
    Post.objects.filter(worker__in=leavers, from_on__gt=today).delete()
    Post.objects.running_on(today).filter(worker__in=leavers).update(until_on=today)
    leavers.update(left_on=today)


_IDENTITY = ["given_name", "family_name", "search_name", "born_on", "email"]


def _write(worker: Worker, entry: StaffEntry) -> Worker:
    worker.given_name, worker.family_name = entry.given_name, entry.family_name
    worker.search_name = folded(entry.given_name, entry.family_name)
    worker.born_on, worker.email = entry.born_on or worker.born_on, entry.email or worker.email
    return worker


def _save(kept: list[Kept], fields: list[str]) -> None:
    """Write these fields of rows that exist. An insert that updates is ten times as fast as bulk_update."""
    if kept:
        type(kept[0])._default_manager.bulk_create(
            kept, update_conflicts=True, unique_fields=["id"], update_fields=fields
        )


def _workers(numbers: Iterable[str]) -> dict[str, Worker]:
    found = Worker.objects.filter(staff_number__in=list(numbers))
    return {worker.staff_number: worker for worker in found}


def _posts_held(workers: Iterable[Worker], today: date) -> dict[int, list[Post]]:
    """Of each worker, the posts that have begun and run, else the next to begin."""
    posts: dict[int, list[Post]] = {}
    for post in posts_not_over(today).filter(worker__in=workers).order_by("from_on", "pk"):
        held = posts.setdefault(post.worker_id, [])
        if post.from_on <= today or not held:
            held.append(post)
    return posts


def _batches(things: tuple[Thing, ...]) -> Iterator[tuple[Thing, ...]]:
    return (things[start : start + _BATCH] for start in range(0, len(things), _BATCH))
