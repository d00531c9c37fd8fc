"""Task lists and duty searches are written once, by who may, and every look at a search is noted."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.db import DatabaseError, transaction

from tests.conftest import NOW, TODAY, House
from tests.web.wanda import in_case
from thenar.demo.chance import Chance
from thenar.demo.duties import write_task_lists
from thenar.demo.pen import Pen
from thenar.demo.staff import Hiring
from thenar.documents.clinical_words import clinical_words_in
from thenar.errors import BadInput, Conflict, NotAllowed
from thenar.exchange.task_list import TaskRow, from_content
from thenar.records.actions.cases import close_case
from thenar.records.actions.duties import keep_duty_search, keep_task_list
from thenar.records.audit import broken_rows
from thenar.records.models import AccessRole, AuditRow, Case, DutySearch, Post, TaskList, User
from thenar.records.queries.duties import area_tasks, area_team, duty_ground, duty_search
from thenar.records.rights import NotVisible

CONTENT = {"form": 1, "tasks": [{"task": "Bed baths"}]}


def a_list(house: House, **more: Any) -> TaskList:
    given = {"area": house.ward_1, "first_day": TODAY, "content": CONTENT, "by": house.alice, "now": NOW}
    return keep_task_list(**{**given, **more})


def a_search(house: House, case: Case, kept: TaskList, **more: Any) -> DutySearch:
    given = {
        "case": case,
        "task_list": kept,
        "limits": {"washes": 5},
        "found": True,
        "words": {"says": ["Nothing has to change."]},
        "edition": "2026.1",
        "by": house.alice,
        "now": NOW,
    }
    return keep_duty_search(**{**given, **more})


def test_a_task_list_is_kept_with_its_row_and_names_no_worker(house: House) -> None:
    kept = a_list(house)
    row = AuditRow.objects.get(event="task list kept")
    assert (row.who, row.target, row.worker_ref, row.data_class) == ("alice", kept.ref, "", "C5")
    assert list(broken_rows()) == []


def test_the_newest_list_of_the_area_is_in_force(house: House) -> None:
    a_list(house)
    newer = a_list(house, now=NOW + timedelta(hours=1))
    a_list(house, area=house.ward_2, now=NOW + timedelta(hours=2))
    assert area_tasks(ref=house.ward_1.ref, by=house.alice, on=TODAY).in_force == newer


@pytest.mark.parametrize("who", ["clara", "mona", "ada"])
def test_who_may_not_write_the_workplace_keeps_no_list(who: str, house: House) -> None:
    with pytest.raises(NotAllowed):
        a_list(house, by=getattr(house, who))
    assert not TaskList.objects.exists()


def test_a_list_without_a_task_is_refused(house: House) -> None:
    with pytest.raises(BadInput):
        a_list(house, content={"form": 1, "tasks": []})


def test_a_search_is_kept_with_its_row_about_the_worker(house: House) -> None:
    kept = a_search(house, in_case(house), a_list(house))
    row = AuditRow.objects.get(event="duties searched")
    assert (row.who, row.target, row.worker_ref, row.data_class) == (
        "alice",
        kept.ref,
        house.wanda.ref,
        "C2",
    )


def test_a_search_belongs_in_an_open_case_and_says_something(house: House) -> None:
    case, kept = in_case(house), a_list(house)
    with pytest.raises(BadInput):
        a_search(house, case, kept, words={"says": []})
    close_case(case=case, outcome="clear", closed_on=TODAY, by=house.alice, now=NOW)
    with pytest.raises(Conflict):
        a_search(house, case, kept)
    assert not DutySearch.objects.exists()


def test_a_lead_reads_searches_and_keeps_none(house: House) -> None:
    case, kept = in_case(house), a_list(house)
    search = a_search(house, case, kept)
    house.bob.access = AccessRole.LEAD
    house.bob.save()
    assert duty_search(ref=search.ref, by=house.bob, now=NOW) == search
    with pytest.raises(NotAllowed):
        a_search(house, case, kept, by=house.bob)


def test_every_look_at_a_search_is_noted_about_the_worker(house: House) -> None:
    search = a_search(house, in_case(house), a_list(house))
    duty_search(ref=search.ref, by=house.bob, now=NOW)
    row = AuditRow.objects.get(event="duty search looked at")
    assert (row.who, row.worker_ref, row.target, row.data_class) == (
        "bob",
        house.wanda.ref,
        search.ref,
        "C2",
    )


def test_ones_own_search_reads_like_one_that_is_not_there(house: House) -> None:
    search = a_search(house, in_case(house), a_list(house))
    own = User.objects.get(pk=house.wanda.user_id)
    own.access = AccessRole.PRACTITIONER
    own.save()
    for ref in (search.ref, "a" * 12):
        with pytest.raises(NotVisible):
            duty_search(ref=ref, by=own, now=NOW)


def test_neither_can_be_changed_or_taken_back(house: House) -> None:
    kept = a_list(house)
    search = a_search(house, in_case(house), kept)
    for row in (kept, search):
        with pytest.raises(DatabaseError), transaction.atomic():
            type(row)._default_manager.filter(pk=row.pk).delete()
        with pytest.raises(DatabaseError), transaction.atomic():
            type(row)._default_manager.filter(pk=row.pk).update(at=NOW + timedelta(days=1))


def test_the_team_is_who_has_a_running_post_and_the_look_at_names_is_noted(house: House) -> None:
    Post.objects.filter(worker=house.yusuf).update(area=house.ward_1, until_on=TODAY - timedelta(days=1))
    team = area_team(ref=house.ward_1.ref, by=house.alice, on=TODAY, now=NOW)
    assert [(one.staff_number, one.called, one.role) for one in team] == [("1001", "Wanda Example", "Nurse")]
    row = AuditRow.objects.get(event="team listed")
    assert (row.who, row.data_class, row.why) == ("alice", "C4", "1 people")


def test_infection_prevention_sees_tasks_and_numbers_but_no_names(house: House) -> None:
    a_list(house)
    house.bob.access = AccessRole.INFECTION_PREVENTION
    house.bob.save()
    assert area_tasks(ref=house.ward_1.ref, by=house.bob, on=TODAY).roles == (("Nurse", 1),)
    with pytest.raises(NotAllowed):
        area_team(ref=house.ward_1.ref, by=house.bob, on=TODAY, now=NOW)


def test_the_ground_of_a_search_is_the_case_and_its_worker_s_area(house: House) -> None:
    case, kept = in_case(house), a_list(house)
    a_list(house, area=house.ward_2, now=NOW + timedelta(hours=1))
    ground = duty_ground(ref=case.ref, by=house.alice, now=NOW)
    assert (ground.area, ground.task_list) == (house.ward_1, kept)
    assert AuditRow.objects.filter(event="record looked at", why="finding duties").count() == 1


# ---- the demo's


@pytest.fixture(scope="module")
def saltmere() -> tuple[Pen, Hiring]:
    """Saltmere's people and task lists in memory, on a Wednesday."""
    pen, today = Pen(Chance(7, "refs")), date(2026, 11, 25)
    hiring = Hiring(pen, 7, today)
    write_task_lists(pen, hiring.everyone(), today)
    return pen, hiring


def test_four_areas_of_the_demo_have_a_fortnight_of_tasks(saltmere: tuple[Pen, Hiring]) -> None:
    lists = saltmere[0].rows[TaskList]
    assert [kept.area.name for kept in lists] == [  # type: ignore[attr-defined]
        "Intensive care unit",
        "Plover Ward, older people",
        "Dialysis unit",
        "Cleaning team",
    ]
    for kept in lists:
        rows = from_content(kept.content)  # type: ignore[attr-defined]
        assert kept.first_day == date(2026, 11, 23)  # type: ignore[attr-defined]
        assert {row.day for row in rows} == set(range(14))
        assert clinical_words_in("\n".join(row.task for row in rows)) == ()


def test_everyone_named_in_the_demo_works_there_in_a_role_that_may_and_in_one_shift_a_day(
    saltmere: tuple[Pen, Hiring],
) -> None:
    pen, hiring = saltmere
    posts = {one.worker.staff_number: one.posts[-1] for one in hiring.staff.members}
    for kept in pen.rows[TaskList]:
        parts: dict[tuple[int, str], set[str]] = {}
        for row in from_content(kept.content):  # type: ignore[attr-defined]
            _named_rightly(row, posts, kept.area.name, parts)  # type: ignore[attr-defined]
        assert all(len(found) == 1 for found in parts.values())


def _named_rightly(
    row: TaskRow, posts: dict[str, Post], area: str, parts: dict[tuple[int, str], set[str]]
) -> None:
    assert 0 < len(row.now) <= row.people
    for number in row.now:
        assert posts[number].area.name == area
        assert posts[number].role.name in row.roles
        parts.setdefault((row.day, number), set()).add(row.part)


def test_the_demo_s_worker_stands_on_the_list_of_intensive_care(saltmere: tuple[Pen, Hiring]) -> None:
    pen, hiring = saltmere
    number = hiring.staff.member("demo-worker").worker.staff_number
    rows = from_content(pen.rows[TaskList][0].content)  # type: ignore[attr-defined]
    assert len({row.day for row in rows if number in row.now}) == 10  # five days in seven
