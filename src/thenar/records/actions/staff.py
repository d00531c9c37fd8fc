"""Takes a staff list over: joiners, movers, corrections and leavers, all or none."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal

from django.db import transaction

from thenar.records.audit import note
from thenar.records.days import day_of
from thenar.records.models import Area, Post, Role, StaffListImport, User, Worker
from thenar.records.models.people import folded
from thenar.records.rights import Act, require

_BATCH = 1000
_FULL_TIME = Decimal(1)


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
    waiting.day_first = day_first
    waiting.save(update_fields=["day_first"])
    note("staff list dates explained", by=by, now=now, target=waiting.ref, data_class="C4")


@transaction.atomic
def throw_away_staff_list(*, waiting: StaffListImport, by: User, now: datetime) -> None:
    """Forget an uploaded list; nothing of it was taken over."""
    require(by, Act.IMPORT_STAFF)
    ref = waiting.ref
    waiting.delete()
    note("staff list thrown away", by=by, now=now, target=ref, data_class="C4")


@transaction.atomic
def take_staff_list_over(
    *, waiting: StaffListImport, update: StaffUpdate, by: User, now: datetime
) -> StaffListImport:
    """Do everything a list changes, or nothing; the file itself is then forgotten.

    A mover's running posts end the day before the new one starts; a post that would then end before it
    began (begun today) is changed instead. Leavers' open cases stay open.
    """
    require(by, Act.IMPORT_STAFF)
    today = day_of(now)
    places = _Places.after_adding(update.new_areas, update.new_roles)
    _add_joiners(update.joiners, places, today)
    _move(update.movers, places, today)
    _correct(update.corrected)
    _let_go(update.leavers, today)
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
        why=f"{waiting.joiners} join, {waiting.movers} move, {waiting.leavers} leave",
    )
    return waiting


@dataclass(frozen=True, slots=True)
class _Places:
    """Areas and roles by name."""

    areas: dict[str, Area]
    roles: dict[str, Role]

    @classmethod
    def after_adding(cls, areas: Iterable[str], roles: Iterable[str]) -> "_Places":
        """Add what is new; new areas go under the organisation."""
        root = Area.objects.filter(parent=None).order_by("pk").first()
        for name in areas:
            area = Area(name=name, parent=root)
            area.path = area.path_under(root)
            area.save()
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


def _workers(numbers: Iterable[str]) -> dict[str, Worker]:
    wanted = list(numbers)
    found: dict[str, Worker] = {}
    for start in range(0, len(wanted), _BATCH):
        batch = Worker.objects.filter(staff_number__in=wanted[start : start + _BATCH])
        found.update({worker.staff_number: worker for worker in batch})
    return found


def _write(worker: Worker, entry: StaffEntry) -> Worker:
    worker.given_name, worker.family_name = entry.given_name, entry.family_name
    worker.search_name = folded(entry.given_name, entry.family_name)
    worker.born_on, worker.email = entry.born_on or worker.born_on, entry.email or worker.email
    return worker


_IDENTITY = ["given_name", "family_name", "search_name", "born_on", "email"]


def _add_joiners(joiners: tuple[StaffEntry, ...], places: _Places, today: date) -> None:
    """New workers, and returners, who keep their record under the same number."""
    known = _workers(entry.staff_number for entry in joiners)
    new = [
        _write(Worker(staff_number=entry.staff_number), entry)
        for entry in joiners
        if entry.staff_number not in known
    ]
    Worker.objects.bulk_create(new, batch_size=_BATCH)
    back = [_write(known[entry.staff_number], entry) for entry in joiners if entry.staff_number in known]
    for worker in back:
        worker.left_on = None
    Worker.objects.bulk_update(back, [*_IDENTITY, "left_on"], batch_size=_BATCH // 4)
    everyone = {worker.staff_number: worker for worker in (*new, *back)}
    Post.objects.bulk_create(
        [places.post(everyone[entry.staff_number], entry, entry.starts_on or today) for entry in joiners],
        batch_size=_BATCH,
    )


def _move(movers: tuple[StaffEntry, ...], places: _Places, today: date) -> None:
    workers = _workers(entry.staff_number for entry in movers)
    running = _running_posts(workers.values(), today)
    begun, ended, changed = [], [], []
    for entry in movers:
        worker = workers[entry.staff_number]
        for post in running.get(worker.pk, ()):
            if post.from_on >= today:
                new = places.post(worker, entry, post.from_on)
                post.area, post.role, post.hours_share = new.area, new.role, new.hours_share
                changed.append(post)
                break
            post.until_on = today - timedelta(days=1)
            ended.append(post)
        else:
            begun.append(places.post(worker, entry, today))
    Post.objects.bulk_update(ended, ["until_on"], batch_size=_BATCH // 4)
    Post.objects.bulk_update(changed, ["area", "role", "hours_share"], batch_size=_BATCH // 4)
    Post.objects.bulk_create(begun, batch_size=_BATCH)


def _correct(corrected: tuple[StaffEntry, ...]) -> None:
    workers = _workers(entry.staff_number for entry in corrected)
    written = [_write(workers[entry.staff_number], entry) for entry in corrected]
    Worker.objects.bulk_update(written, _IDENTITY, batch_size=_BATCH // 4)


def _let_go(leavers: tuple[str, ...], today: date) -> None:
    workers = list(_workers(leavers).values())
    for worker in workers:
        worker.left_on = today
    Worker.objects.bulk_update(workers, ["left_on"], batch_size=_BATCH // 4)
    posts = [post for posts in _running_posts(workers, today).values() for post in posts]
    for post in posts:
        post.until_on = max(post.from_on, today)
    Post.objects.bulk_update(posts, ["until_on"], batch_size=_BATCH // 4)


def _running_posts(workers: Iterable[Worker], today: date) -> dict[int, list[Post]]:
    ids = [worker.pk for worker in workers]
    posts: dict[int, list[Post]] = {}
    for start in range(0, len(ids), _BATCH):
        batch = Post.objects.running_on(today).filter(worker_id__in=ids[start : start + _BATCH])
        for post in batch.order_by("from_on"):
            posts.setdefault(post.worker_id, []).append(post)
    return posts
