"""Peoples Saltmere: areas, roles, workers with their posts over the years, managers and accounts."""

from collections import Counter
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal

from thenar.demo.chance import Chance
from thenar.demo.figures import (
    ATOPIC,
    FULL_TIME,
    JOINED_WITHIN,
    KNOWN_ALLERGY,
    LEFT_WITHIN,
    MOVED_WITHIN,
    prone,
)
from thenar.demo.hospital import Kind, Named, NameGroup, Place, saltmere
from thenar.demo.pen import Pen, moment, working
from thenar.records.models import AccessRole, Area, AreaManager, Post, Role, User, Worker
from thenar.records.models.people import folded

WORKERS = 2400
MANAGER = "Team manager"
_DAY = timedelta(days=1)
_YEAR = 365


@dataclass(slots=True)
class Member:
    """A worker with what chance needs to know of them."""

    worker: Worker
    posts: list[Post]
    place: Place
    role: Kind
    manages: bool
    atopic: bool = False
    allergic: bool = False
    prone: bool = False

    @property
    def touches(self) -> str:
        """Their answer to whom they touch at work."""
        return self.place.touches if self.role.contact else "no_contact"

    def post_on(self, day: date) -> Post | None:
        """The post held on a day."""
        for post in self.posts:
            if post.from_on <= day and (post.until_on is None or post.until_on >= day):
                return post
        return None


@dataclass(slots=True)
class Staff:
    """Everyone, and who answers for which area when."""

    members: list[Member] = field(default_factory=list)
    accounts: dict[str, User] = field(default_factory=dict)
    managers: list[AreaManager] = field(default_factory=list)

    def member(self, username: str) -> Member:
        """The worker behind one of the named accounts."""
        user = self.accounts[username]
        return next(one for one in self.members if one.worker.user is user)

    def manager_of(self, area: Area, day: date) -> User:
        """Who answers for an area on a day."""
        return next(
            row.user
            for row in self.managers
            if row.area is area and row.from_on <= day and (row.until_on is None or row.until_on >= day)
        )

    @property
    def practitioners(self) -> list[User]:
        """Those who examine hands."""
        return [user for user in self.accounts.values() if user.access == AccessRole.PRACTITIONER]


class Hiring:
    """Fills the places of Saltmere from a seed, as it stands on `today` with three years behind it."""

    def __init__(self, pen: Pen, seed: int, today: date) -> None:
        self.pen, self.today = pen, today
        self.start = today - timedelta(days=3 * _YEAR)
        self.chance = Chance(seed, "staff")
        self.staff = Staff()
        self.roles = {name: pen.keep(Role(ref=pen.ref(), name=name)) for name in saltmere().roles}
        self.areas = self._areas()
        self.names: set[tuple[str, str]] = {(one.given, one.family) for one in saltmere().people}
        self.numbers = self.chance.shuffled(range(20_000, 20_000 + 4 * WORKERS))

    def everyone(self) -> Staff:
        """All workers of all places, in the order of the places."""
        places = saltmere().places
        for turn, (place, count) in enumerate(zip(places, _counts(places, WORKERS), strict=True)):
            named = [one for one in saltmere().people if one.area == place.name]
            for one in named:
                self._hire(place, one.role, named=one)
            free = count - len(named)
            if not any(one.role == MANAGER for one in named):
                free -= self._managers(place, turn)
            for _ in range(free):
                self._hire(place, self.chance.weighed(place.roles))
        self._tell()
        return self.staff

    def _areas(self) -> dict[str, Area]:
        """The tree: the organisation, its divisions, their areas."""
        root = self._area(saltmere().organisation, None)
        divisions = {name: self._area(name, root) for name in saltmere().divisions}
        return {place.name: self._area(place.name, divisions[place.division]) for place in saltmere().places}

    def _area(self, name: str, parent: Area | None) -> Area:
        area = Area(ref=self.pen.ref(), name=name, parent=parent)
        area.path = area.path_under(parent)
        return self.pen.keep(area)

    def _managers(self, place: Place, turn: int) -> int:
        """The place's manager; in every sixth place a new one has followed one who left. How many came."""
        if turn % 6 != 3:
            self._hire(place, MANAGER)
            return 1
        change = self.chance.day(self.start + timedelta(days=200), self.today - timedelta(days=300))
        self._hire(place, MANAGER, until=change)
        self._hire(place, MANAGER, since=change + _DAY)
        return 2

    def _hire(
        self,
        place: Place,
        role: str,
        *,
        named: Named | None = None,
        since: date | None = None,
        until: date | None = None,
    ) -> None:
        """One worker with their posts, and an account where they need one."""
        settled = named is not None or role == MANAGER
        given, family = (named.given, named.family) if named else self._name()
        born = self.today - timedelta(days=self.chance.whole(35 if settled else 22, 65) * _YEAR + 97)
        born += timedelta(days=self.chance.whole(0, 2 * _YEAR))
        joined = since or self._joined(born, settled)
        left = until or (None if settled else self._left(joined))
        number = str(self.numbers.pop())
        worker = Worker(
            ref=self.pen.ref(),
            staff_number=number,
            given_name=given,
            family_name=family,
            search_name=folded(given, family),
            born_on=born,
            email=f"s{number}@saltmere.example",
            left_on=left,
        )
        member = Member(
            worker=self.pen.keep(worker),
            posts=self._posts(worker, place, role, joined=joined, left=left, settled=settled),
            place=place,
            role=saltmere().roles[role],
            manages=role == MANAGER,
        )
        self._constitution(member, named)
        self._account(member, named, joined, left)
        self.staff.members.append(member)

    def _name(self) -> tuple[str, str]:
        groups: dict[NameGroup, float] = {group: group.share for group in saltmere().names}
        while True:
            group = self.chance.weighed(groups)
            given = self.chance.one_of(group.given) if group.given else ""
            family = self.chance.one_of(group.family)
            if given and self.chance.yes(0.03):
                family = f"{family}-{self.chance.one_of(group.family)}"
            if (given, family) not in self.names or not given:
                self.names.add((given, family))
                return given, family

    def _joined(self, born: date, settled: bool) -> date:
        of_age = born + timedelta(days=19 * _YEAR)
        if settled or (of_age < self.start and not self.chance.yes(JOINED_WITHIN)):
            long_ago = max(of_age, self.start - timedelta(days=self.chance.whole(1, 22) * _YEAR))
            return self.chance.day(long_ago, self.start)
        return self.chance.day(max(of_age, self.start + _DAY), self.today - timedelta(days=20))

    def _left(self, joined: date) -> date | None:
        earliest = max(joined + timedelta(days=90), self.start + timedelta(days=30))
        if earliest >= self.today or not self.chance.yes(LEFT_WITHIN):
            return None
        return self.chance.day(earliest, self.today - _DAY)

    def _posts(
        self, worker: Worker, place: Place, role: str, *, joined: date, left: date | None, settled: bool
    ) -> list[Post]:
        """The post, and for those who moved within the three years, the one before it elsewhere."""
        share = Decimal(self.chance.weighed(FULL_TIME)) / 100
        others = [other for other in saltmere().places if role in other.roles and other is not place]
        earliest = max(joined + timedelta(days=60), self.start + timedelta(days=60))
        latest = (left or self.today) - timedelta(days=30)
        spans = [(place, joined, left)]
        if others and not settled and earliest < latest and self.chance.yes(MOVED_WITHIN):
            moved = self.chance.day(earliest, latest)
            spans = [(self.chance.one_of(others), joined, moved - _DAY), (place, moved, left)]
        return [
            self.pen.keep(
                Post(
                    worker=worker,
                    area=self.areas[where.name],
                    role=self.roles[role],
                    from_on=from_on,
                    until_on=until_on,
                    hours_share=share,
                )
            )
            for where, from_on, until_on in spans
        ]

    def _constitution(self, member: Member, named: Named | None) -> None:
        """Whose hands get sore at all. The named ones' hands follow their stories instead."""
        if named is not None:
            return
        member.atopic = self.chance.yes(ATOPIC)
        member.allergic = self.chance.yes(KNOWN_ALLERGY)
        member.prone = self.chance.yes(prone(member.role.wet, member.atopic))

    def _account(self, member: Member, named: Named | None, joined: date, left: date | None) -> None:
        """Named people and managers sign in; nobody has a password."""
        if named is None and not member.manages:
            return
        worker = member.worker
        user = User(
            username=named.username if named else f"manager-{worker.staff_number}",
            first_name=worker.given_name or worker.family_name,
            last_name=worker.family_name if worker.given_name else "",
            access=named.access if named else AccessRole.MANAGER,
            position=named.position if named else "Manager",
            is_active=left is None,
            date_joined=moment(max(joined, self.start), 8),
        )
        user.set_unusable_password()
        worker.user = self.pen.keep(user)
        self.staff.accounts[user.username] = user
        if member.manages:
            area = self.areas[member.place.name]
            row = AreaManager(user=user, area=area, from_on=max(joined, self.start), until_on=left)
            self.staff.managers.append(self.pen.keep(row))

    def _tell(self) -> None:
        """Audit rows of setting up, and of the monthly staff lists with joiners, movers and leavers."""
        clerk, admin = self.staff.accounts["demo-clerk"], self.staff.accounts["demo-administrator"]
        for area in self.areas.values():
            self.pen.note("area added", by=admin, at=moment(self.start, 7), target=area.ref, data_class="C7")
        for user in self.staff.accounts.values():
            self.pen.note(
                "account made", by=admin, at=user.date_joined, data_class="C7", why=user.access[:120]
            )
        joined = Counter(_month(max(one.posts[0].from_on, self.start)) for one in self.staff.members)
        moved = Counter(_month(one.posts[1].from_on) for one in self.staff.members if len(one.posts) > 1)
        left = Counter(_month(one.worker.left_on) for one in self.staff.members if one.worker.left_on)
        for month in sorted(joined | moved | left):
            taken = self.start if month == _month(self.start) else working(_next_month(month))
            if taken < self.today:
                why = f"{joined[month]} join, {moved[month]} move, {left[month]} leave"
                at = moment(taken, 7, 30)
                self.pen.note("staff list taken over", by=clerk, at=at, data_class="C4", why=why)


def _counts(places: tuple[Place, ...], total: int) -> list[int]:
    """So many workers for each place that they add up."""
    weight = sum(place.staff for place in places)
    reached = [round(total * sum(one.staff for one in places[: n + 1]) / weight) for n in range(len(places))]
    return [after - before for before, after in zip([0, *reached], reached, strict=False)]


def _month(day: date) -> date:
    return day.replace(day=1)


def _next_month(month: date) -> date:
    return (month + timedelta(days=32)).replace(day=1)
