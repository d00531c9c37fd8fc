"""Saltmere's work: what each role does in a usual shift, and what observers counted. Invented figures."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal

from thenar.demo.chance import Chance
from thenar.demo.hospital import saltmere
from thenar.demo.pen import Pen, moment, working
from thenar.demo.staff import Staff
from thenar.demo.workplace_acts import ACTS, HOURS, NO_START, UNITS
from thenar.exposure.alternations import EACH_WAY
from thenar.exposure.tally import Tally
from thenar.knowledge import Book
from thenar.records.actions.descriptions import DescribedWork, acts_kept
from thenar.records.actions.observations import counts_kept
from thenar.records.models import Area, ObservedSession, Role, User, WorkDescription

OBSERVERS = ("demo-practitioner", "saltmere-nurse", "saltmere-physician")
_HABIT = {"demo-practitioner": 1.0, "saltmere-nurse": 1.12, "saltmere-physician": 0.93}  # how they count


@dataclass(frozen=True, slots=True)
class Pace:
    """Acts an hour of one worker by day, and how long one takes. [acts an hour; minutes]"""

    washes: float
    rubs: float
    water: float
    pairs: float
    water_minutes: float
    glove_minutes: float


@dataclass(frozen=True, slots=True)
class Watching:
    """How a role in an area was watched: in so many sessions of so many minutes."""

    area: str
    role: str
    pace: Pace
    sessions: tuple[tuple[str, int, int], ...]  # part of the shift, sessions, minutes of each


_BEDSIDE = Pace(2.1, 4.6, 1.6, 3.4, 1.6, 5.5)
_INTENSIVE = Pace(2.9, 8.2, 1.9, 4.8, 1.4, 4.5)
_CARE = Pace(2.6, 2.8, 3.0, 4.0, 2.6, 6.0)
_CLEANING = Pace(1.3, 0.8, 1.6, 2.2, 3.0, 17.0)
_KITCHEN = Pace(4.2, 0.1, 5.0, 1.0, 3.2, 9.0)
_SCOPES = Pace(1.8, 2.6, 1.2, 4.2, 2.0, 7.5)

# One ward watched for 30 hours, one for 40 minutes: the difference in certainty is there to be seen.
WATCHED = (
    Watching(
        "Intensive care unit", "Nurse", _INTENSIVE, (("early", 8, 90), ("late", 6, 90), ("night", 6, 90))
    ),
    Watching("Heron Ward, lungs", "Nurse", _BEDSIDE, (("early", 1, 40),)),
    Watching("Intensive care unit", "Healthcare assistant", _CARE, (("early", 3, 60), ("late", 2, 60))),
    Watching("Plover Ward, older people", "Healthcare assistant", _CARE, (("early", 4, 60), ("late", 2, 45))),
    Watching("Tern Ward, general surgery", "Nurse", _BEDSIDE, (("early", 3, 60), ("late", 2, 60))),
    Watching(
        "Emergency department", "Nurse", _BEDSIDE, (("early", 2, 60), ("late", 3, 60), ("night", 1, 60))
    ),
    Watching("Cleaning team", "Cleaner", _CLEANING, (("early", 4, 60),)),
    Watching("Kitchen", "Kitchen assistant", _KITCHEN, (("early", 3, 60), ("late", 1, 60))),
    Watching("Endoscopy", "Nurse", _SCOPES, (("day", 3, 60),)),
)
_NIGHTS = 0.6  # of the pace by day
_NOTED_AT = {"early": 12, "late": 19, "night": 23, "day": 15}  # hour


def seed_workplace(pen: Pen, staff: Staff, seed: int, today: date, book: Book) -> None:
    """Describe the work of every role that touches water or patients, and keep the sessions watched."""
    work = _Work(pen, staff, today, book)
    work.describe_all()
    for number, watching in enumerate(WATCHED):
        work.watch(watching, Chance(seed, "watched", number))


class _Work:
    """Keeps descriptions and sessions as their actions would."""

    def __init__(self, pen: Pen, staff: Staff, today: date, book: Book) -> None:
        self.pen, self.staff, self.today, self.book = pen, staff, today, book
        self.areas = {row.name: row for row in pen.rows[Area] if isinstance(row, Area)}
        self.roles = {row.name: row for row in pen.rows[Role] if isinstance(row, Role)}

    def describe_all(self) -> None:
        """Every area, role by role, in one morning."""
        day = working(self.today - timedelta(days=120))
        for place in saltmere().places:
            for turn, role in enumerate(name for name in place.roles if name in ACTS):
                self._describe(place.name, role, moment(day, 9, 5 * turn))

    def _describe(self, area: str, role: str, at: datetime) -> None:
        by = self.staff.accounts["demo-practitioner"]
        start = UNITS.get(area, {}).get(role, NO_START)
        work = DescribedWork(
            shift_hours=Decimal(HOURS.get(role, "8")),
            unit_type=start.unit_type,
            staff_group=start.staff_group,
            patients_per_worker=start.patients,
            acts=ACTS[role],
        )
        kept = self.pen.keep(
            WorkDescription(
                ref=self.pen.ref(),
                area=self.areas[area],
                role=self.roles[role],
                described_on=at.date(),
                unit_type=work.unit_type,
                shift_hours=work.shift_hours,
                acts=acts_kept(work),
                edition=self.book.edition,
                at=at,
                by=by,
            )
        )
        self.pen.note("work described", by=by, at=at, target=kept.ref, data_class="C5")

    def watch(self, watching: Watching, chance: Chance) -> None:
        """The sessions, one or two a week, each observer in turn."""
        day, turn = working(self.today - timedelta(days=100 + chance.whole(0, 6))), 0
        for part, sessions, minutes in watching.sessions:
            for _ in range(sessions):
                by = self.staff.accounts[OBSERVERS[turn % len(OBSERVERS)]]
                counts = _counted(watching.pace, part, minutes, _HABIT[by.username], chance)
                at = moment(day, _NOTED_AT[part], chance.whole(0, 40))
                came_by = chance.weighed({"phone": 3, "page": 2})
                self._keep(watching, part, counts, by=by, at=at, came_by=came_by)
                day, turn = working(day + timedelta(days=chance.whole(2, 4))), turn + 1

    def _keep(
        self, watching: Watching, part: str, counts: Tally, *, by: User, at: datetime, came_by: str
    ) -> None:
        kept = self.pen.keep(
            ObservedSession(
                ref=self.pen.ref(),
                area=self.areas[watching.area],
                role=self.roles[watching.role],
                observer=by.called,
                observed_on=at.date(),
                shift_part=part,
                counts=counts_kept(counts),
                came_by=came_by,
                at=at,
                by=by,
            )
        )
        self.pen.note("session recorded", by=by, at=at, target=kept.ref, data_class="C5")


def _counted(pace: Pace, part: str, minutes: int, habit: float, chance: Chance) -> Tally:
    """One session's counts, by chance around the pace; times fit into the session."""
    hours = minutes / 60 * habit * (_NIGHTS if part == "night" else 1) * chance.between(0.85, 1.15)
    washes, rubs, water, pairs = (
        _times(rate * hours, chance) for rate in (pace.washes, pace.rubs, pace.water, pace.pairs)
    )
    wet = min(minutes * 0.4, sum(chance.wait(pace.water_minutes) for _ in range(water)))
    worn = [chance.wait(pace.glove_minutes) for _ in range(pairs)]
    shrink = min(1.0, minutes * 0.5 / sum(worn)) if worn else 1.0
    return Tally(
        minutes_observed=minutes,
        whole_shift=False,
        washes=washes,
        rubs=rubs,
        wet_contacts=water,
        wet_minutes=round(wet, 1),
        pairs=pairs,
        glove_minutes=round(sum(worn) * shrink, 1),
        longest_glove_wear_minutes=int(max(worn, default=0) * shrink * 10) / 10,
        gloves_on_wet_skin=sum(chance.yes(0.2) for _ in range(pairs)),
        wet_glove_alternations=sum(chance.yes(0.4) for _ in range(min(water, pairs))),
        wash_glove_alternations=sum(chance.yes(0.6) for _ in range(min(washes, pairs))),
        cream_uses=int(chance.yes(0.15)),
        convention=EACH_WAY.says,
    )


def _times(expected: float, chance: Chance) -> int:
    """How often something happens by chance, where it happens `expected` times on average (Poisson)."""
    count, waited = 0, chance.wait(1)
    while waited < expected:
        count, waited = count + 1, waited + chance.wait(1)
    return count
