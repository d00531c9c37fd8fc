"""Ward 1 as it was watched: ten hours of its nurses' early shifts, and a description of their work."""

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal

from tests.conftest import NOW, TODAY, House, make_user
from thenar.exposure.care_acts import CareAct, Cleansed, Occasion, Pathogen, Tier
from thenar.exposure.tally import Tally
from thenar.knowledge import Book
from thenar.records.actions.descriptions import DescribedWork, describe
from thenar.records.actions.observations import SessionSeen, record_session
from thenar.records.models import AccessRole, Area, Role, User

CLEAR = {
    "visible_soil": False,
    "after_toilet": False,
    "hands_wet": False,
    "contaminated": False,
    "pathogen": Pathogen.NONE,
    "contact_precautions": False,
    "fluid_expected": False,
}
# 12 washes that needed no soap, 2 that did, 10 rubs: 2 soap acts and 24 cleansings required.
ACTS = (
    CareAct(
        "observations",
        Occasion.BEFORE_PATIENT,
        **CLEAR,
        cleansed=Cleansed.WASH,
        gloves=Tier.EXAMINATION,
        times=12,
    ),
    CareAct(
        "observations", Occasion.AFTER_PATIENT, **CLEAR, cleansed=Cleansed.RUB, gloves=Tier.NONE, times=10
    ),
    CareAct(
        "own-needs",
        Occasion.NONE,
        **{**CLEAR, "after_toilet": True},
        cleansed=Cleansed.WASH,
        gloves=Tier.NONE,
        times=2,
    ),
    CareAct(
        "washing-dressing",
        Occasion.NONE,
        **CLEAR,
        cleansed=Cleansed.NOT,
        gloves=Tier.EXAMINATION,
        times=3,
    ),
)


@dataclass(frozen=True)
class Watched:
    """The house, and who may look."""

    house: House
    ivy: User

    @property
    def ward(self) -> Area:
        return self.house.ward_1


def watch(
    house: House,
    book: Book,
    *,
    area: Area | None = None,
    role: Role | None = None,
    observer: str = "Ola",
    **counts: object,
) -> None:
    """One session of an early shift."""
    tally = {"minutes_observed": 120, "whole_shift": False, "washes": 6, "rubs": 6, "wet_contacts": 2}
    tally |= {"wet_minutes": 8.0, "pairs": 5, "glove_minutes": 30.0} | counts
    seen = SessionSeen(
        area=area or house.ward_1,
        role=role or house.nurse,
        observer=observer,
        observed_on=TODAY - timedelta(days=3),
        shift_part="early",
        counts=Tally(**tally),
    )
    record_session(seen=seen, came_by="page", by=house.alice, now=NOW, book=book, counts_confirmed=True)


def describe_ward(house: House, book: Book) -> None:
    """The nurses' work on Ward 1: 8 hours, and its acts."""
    work = DescribedWork(shift_hours=Decimal(8), acts=ACTS)
    describe(area=house.ward_1, role=house.nurse, work=work, by=house.alice, now=NOW, book=book)


def watched(house: House, book: Book) -> Watched:
    """Five sessions of two hours, the acts described, and Ivy, who prevents infections."""
    for _ in range(5):
        watch(house, book)
    describe_ward(house, book)
    return Watched(house, make_user("Ivy", AccessRole.INFECTION_PREVENTION))
