"""What Saltmere does about wet work: controls recorded, and one area assessed. Invented."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import partial

from thenar.demo.pen import Pen, moment, working
from thenar.demo.staff import Staff
from thenar.records.actions.assessments import record_assessment
from thenar.records.actions.controls import record_control
from thenar.records.models import Area, Role, User

# What an assessment says: of which area, by whom, on which day, to be reviewed when, and its number.
Assess = Callable[[Area, User, date, date, int], Mapping[str, object]]

ASSESSED, ASSESSED_DAYS_AGO, REVIEW_AFTER = "Intensive care unit", 9, timedelta(days=180)


@dataclass(frozen=True, slots=True)
class Measure:
    """A control: where, for which role, what; since how many days; in how many days it is looked at again."""

    area: str
    role: str
    kind: str
    figures: Mapping[str, float]
    words: str
    hierarchy: str
    owner: str
    since: int
    review_in: int


MEASURES = (
    Measure(
        "Intensive care unit",
        "Nurse",
        "wash_to_rub",
        {"share": 50.0},
        "Washes become rubs: share that change (%) 50",
        "substitution",
        "Ward manager",
        64,
        26,
    ),
    Measure(
        "Kitchen",
        "Kitchen assistant",
        "machine",
        {"wet_minutes_spared": 40.0},
        "A machine instead of cleaning by hand: wet minutes spared a shift 40",
        "engineering",
        "Head of catering",
        150,
        30,
    ),
    Measure(
        "Cleaning team",
        "Cleaner",
        "gloves_off",
        {"share": 25.0},
        "Gloves come off: share that come off (%) 25",
        "elimination",
        "Team manager",
        35,
        55,
    ),
)


def seed_measures(pen: Pen, staff: Staff, today: date, edition: str, assess: Assess | None) -> None:
    """Record the controls and, where someone can say what an assessment holds, an assessment."""
    service = _Service(pen, staff.accounts["demo-practitioner"], edition)
    for one in MEASURES:
        at = moment(working(today - timedelta(days=one.since)), 13, 30)
        pen.act(at, partial(service.record, one, working(today + timedelta(days=one.review_in))))
    if assess is not None:
        at = moment(working(today - timedelta(days=ASSESSED_DAYS_AGO)), 14, 10)
        pen.act(at, partial(service.assess, assess))


class _Service:
    """Whoever looks after the workplace, through the actions."""

    def __init__(self, pen: Pen, by: User, edition: str) -> None:
        self.by, self.edition = by, edition
        self.areas = {row.name: row for row in pen.rows[Area] if isinstance(row, Area)}
        self.roles = {row.name: row for row in pen.rows[Role] if isinstance(row, Role)}

    def record(self, one: Measure, review_on: date, now: datetime) -> None:
        """Keep a control."""
        record_control(
            area=self.areas[one.area],
            role=self.roles[one.role],
            control={"kind": one.kind, **one.figures},
            words=one.words,
            hierarchy=one.hierarchy,
            start_on=now.date(),
            review_on=review_on,
            owner=one.owner,
            expected={},
            edition=self.edition,
            by=self.by,
            now=now,
        )

    def assess(self, assess: Assess, now: datetime) -> None:
        """Keep an assessment."""
        area, review_on = self.areas[ASSESSED], working(now.date() + REVIEW_AFTER)
        record_assessment(
            area=area,
            review_on=review_on,
            content_for=lambda number: assess(area, self.by, now.date(), review_on, number),
            edition=self.edition,
            by=self.by,
            now=now,
        )
