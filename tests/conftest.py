"""A very small hospital, and people who keep their parts in every test.

Alice is the practitioner, Bob her colleague, Clara the clerk, Mona manages Ward 1, Nils manages Ward 2,
Ada administers, Wanda works on Ward 1 and has sore hands, Yusuf works on Ward 2.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime

import pytest
from django.test import Client
from hypothesis import settings

from thenar.knowledge import Book, load
from thenar.records.models import AccessRole, Area, AreaManager, Post, Role, User, Worker
from thenar.records.models.people import folded

# A busy machine must not fail a property; how long things take is for benchmarks/.
settings.register_profile("thenar", deadline=None)
settings.load_profile("thenar")

NOW = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
TODAY = date(2026, 3, 2)


@dataclass(frozen=True)
class House:
    """Everyone in the small hospital."""

    alice: User
    bob: User
    clara: User
    mona: User
    nils: User
    ada: User
    wanda: Worker
    yusuf: Worker
    ward_1: Area
    ward_2: Area
    nurse: Role


@pytest.fixture
def now() -> datetime:
    return NOW


@pytest.fixture
def book() -> Book:
    return load()


def make_user(name: str, access: AccessRole, family: str = "Example") -> User:
    return User.objects.create_user(
        username=name.lower(), password=None, first_name=name, last_name=family, access=access
    )


def make_area(name: str, parent: Area | None = None) -> Area:
    area = Area(name=name, parent=parent)
    area.path = area.path_under(parent)
    area.save()
    return area


def make_worker(name: str, number: str, area: Area, role: Role, family: str = "Example") -> Worker:
    worker = Worker.objects.create(
        staff_number=number,
        given_name=name,
        family_name=family,
        search_name=folded(name, family),
        born_on=date(1990, 5, 17),
        user=make_user(name, AccessRole.WORKER, family),
    )
    Post.objects.create(worker=worker, area=area, role=role, from_on=date(2020, 1, 1))
    return worker


@pytest.fixture
def house(db: None) -> House:
    hospital = make_area("The hospital")
    ward_1, ward_2 = make_area("Ward 1", hospital), make_area("Ward 2", hospital)
    nurse = Role.objects.create(name="Nurse")
    made = House(
        alice=make_user("Alice", AccessRole.PRACTITIONER),
        bob=make_user("Bob", AccessRole.PRACTITIONER),
        clara=make_user("Clara", AccessRole.CLERK),
        mona=make_user("Mona", AccessRole.MANAGER),
        nils=make_user("Nils", AccessRole.MANAGER),
        ada=make_user("Ada", AccessRole.ADMINISTRATOR),
        wanda=make_worker("Wanda", "1001", ward_1, nurse),
        yusuf=make_worker("Yusuf", "1002", ward_2, nurse),
        ward_1=ward_1,
        ward_2=ward_2,
        nurse=nurse,
    )
    AreaManager.objects.create(user=made.mona, area=ward_1, from_on=date(2020, 1, 1))
    AreaManager.objects.create(user=made.nils, area=ward_2, from_on=date(2020, 1, 1))
    return made


@pytest.fixture
def signed_in() -> Callable[[User], Client]:
    """A browser in which this person is signed in."""

    def sign_in(user: User) -> Client:
        client = Client()
        client.force_login(user)
        return client

    return sign_in
