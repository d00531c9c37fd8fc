"""A staff list is taken over whole or not at all."""

from datetime import date, timedelta
from unittest import mock

import pytest
from django.db import transaction

from tests.conftest import NOW, TODAY, House, make_user
from thenar.errors import BadInput, Conflict, NotAllowed
from thenar.exchange.staff_import import dry_run, file_hash, take_over
from thenar.records.actions.cases import open_case
from thenar.records.actions.staff import keep_staff_list, throw_away_staff_list
from thenar.records.models import AccessRole, Area, AuditRow, Post, StaffListImport, User, Worker

HEAD = "Staff number;Given name;Family name;Area;Role\n"
WANDA = "1001;Wanda;Example;Ward 1;Nurse\n"
YUSUF = "1002;Yusuf;Example;Ward 2;Nurse\n"


@pytest.fixture
def clerk_of_an_empty_house(db: None) -> User:
    return make_user("Clara", AccessRole.CLERK)


def taken(house: House, text: str, *, confirmed: bool = True, head: str = HEAD) -> StaffListImport:
    raw = (head + text).encode()
    kept = keep_staff_list(raw=raw, file_name="staff.csv", file_hash=file_hash(raw), by=house.clara, now=NOW)
    run = dry_run(raw=raw, name="staff.csv", day_first=None, by=house.clara, now=NOW)
    with transaction.atomic():  # the request's
        return take_over(
            waiting=kept, digest=run.digest, unusual_confirmed=confirmed, by=house.clara, now=NOW
        )


def running(worker: Worker, day: date = TODAY) -> list[tuple[str, str]]:
    return [(post.area.name, post.role.name) for post in Post.objects.running_on(day).filter(worker=worker)]


def test_an_unchanged_list_changes_nothing(house: House) -> None:
    done = taken(house, WANDA + YUSUF)
    assert (done.joiners, done.movers, done.corrected, done.leavers) == (0, 0, 0, 0)
    assert Post.objects.count() == 2


def test_a_joiner_gets_a_record_and_a_post_in_a_new_area_under_the_organisation(house: House) -> None:
    taken(house, WANDA + YUSUF + "0042;Åse;Lind;Laundry;Laundry worker\n")
    worker = Worker.objects.get(staff_number="0042")
    assert (worker.search_name, running(worker)) == ("ase lind", [("Laundry", "Laundry worker")])
    assert Area.objects.get(name="Laundry").parent == Area.objects.get(name="The hospital")


def test_a_mover_ends_one_post_yesterday_and_begins_another_today(house: House) -> None:
    taken(house, "1001;Wanda;Example;Ward 2;Nurse\n" + YUSUF)
    assert running(house.wanda) == [("Ward 2", "Nurse")]
    assert running(house.wanda, TODAY - timedelta(days=1)) == [("Ward 1", "Nurse")]


def test_moving_twice_on_one_day_leaves_no_post_that_ends_before_it_begins(house: House) -> None:
    taken(house, "1001;Wanda;Example;Ward 2;Nurse\n" + YUSUF)
    taken(house, "1001;Wanda;Example;Ward 3;Nurse\n" + YUSUF)
    assert running(house.wanda) == [("Ward 3", "Nurse")]
    assert Post.objects.filter(worker=house.wanda).count() == 2


def test_a_correction_changes_the_name_and_how_it_is_found(house: House) -> None:
    taken(house, "1001;Wanda;Óbidos;Ward 1;Nurse\n" + YUSUF)
    house.wanda.refresh_from_db()
    assert (house.wanda.family_name, house.wanda.search_name) == ("Óbidos", "wanda obidos")


def test_a_leaver_keeps_their_record_and_an_open_case_stays_open(house: House) -> None:
    case = open_case(worker=house.wanda, by=house.alice, now=NOW)
    taken(house, YUSUF)
    house.wanda.refresh_from_db()
    assert house.wanda.left_on == TODAY
    assert running(house.wanda, TODAY + timedelta(days=1)) == []
    assert not hasattr(case, "closing")


def test_a_returner_gets_their_old_record_back(house: House) -> None:
    taken(house, YUSUF)
    taken(house, WANDA + YUSUF)
    house.wanda.refresh_from_db()
    assert house.wanda.left_on is None
    assert Worker.objects.filter(staff_number="1001").count() == 1


HEAD_WITH_START = "Staff number;Given name;Family name;Area;Role;Start date\n"
BO_IN_MAY = "0042;Bo;Lind;Ward 1;Nurse;2026-05-01\n"


def test_someone_who_starts_later_joins_once_however_often_the_list_comes(house: House) -> None:
    rows = "1001;Wanda;Example;Ward 1;Nurse;\n1002;Yusuf;Example;Ward 2;Nurse;\n"
    taken(house, rows + BO_IN_MAY, head=HEAD_WITH_START)
    again = taken(house, rows + BO_IN_MAY, head=HEAD_WITH_START)
    moved = taken(house, rows + BO_IN_MAY.replace("Ward 1", "Ward 2"), head=HEAD_WITH_START)
    bo = Worker.objects.get(staff_number="0042")
    assert (again.joiners, again.movers, moved.movers) == (0, 0, 1)
    assert running(bo) == []
    assert running(bo, date(2026, 5, 1)) == [("Ward 2", "Nurse")]
    assert bo.posts.count() == 1


def test_someone_who_leaves_before_their_first_day_never_had_the_post(house: House) -> None:
    rows = "1001;Wanda;Example;Ward 1;Nurse;\n1002;Yusuf;Example;Ward 2;Nurse;\n"
    taken(house, rows + BO_IN_MAY, head=HEAD_WITH_START)
    taken(house, rows, head=HEAD_WITH_START)
    bo = Worker.objects.get(staff_number="0042")
    assert (bo.left_on, bo.posts.count()) == (TODAY, 0)


def test_in_an_empty_house_no_ward_comes_to_stand_over_the_others(clerk_of_an_empty_house: User) -> None:
    raw = (HEAD + WANDA + YUSUF).encode()
    clerk = clerk_of_an_empty_house
    kept = keep_staff_list(raw=raw, file_name="a.csv", file_hash=file_hash(raw), by=clerk, now=NOW)
    run = dry_run(raw=raw, name="a.csv", day_first=None, by=clerk, now=NOW)
    take_over(waiting=kept, digest=run.digest, unusual_confirmed=True, by=clerk, now=NOW)
    over = dict(Area.objects.values_list("name", "parent__name"))
    assert over == {"Whole hospital": None, "Ward 1": "Whole hospital", "Ward 2": "Whole hospital"}


def test_a_correction_leaves_the_rest_of_the_record_alone(house: House) -> None:
    before = Worker.objects.values("pk", "ref", "user_id", "born_on", "email", "left_on").get(
        pk=house.wanda.pk
    )
    done = taken(house, "1001;Wanda;Tern;Ward 1;Nurse\n" + YUSUF)
    after = Worker.objects.values("pk", "ref", "user_id", "born_on", "email", "left_on").get(
        pk=house.wanda.pk
    )
    assert (done.corrected, after) == (1, before)
    assert Worker.objects.count() == 2


def test_a_list_thrown_away_meanwhile_is_not_taken_over(house: House) -> None:
    raw = (HEAD + WANDA + YUSUF).encode()
    kept = keep_staff_list(raw=raw, file_name="a.csv", file_hash=file_hash(raw), by=house.clara, now=NOW)
    throw_away_staff_list(waiting=StaffListImport.objects.get(pk=kept.pk), by=house.clara, now=NOW)
    with pytest.raises(Conflict, match="thrown away"):
        take_over(waiting=kept, digest="", unusual_confirmed=True, by=house.clara, now=NOW)


def test_something_unusual_is_not_taken_over_unconfirmed(house: House) -> None:
    with pytest.raises(BadInput, match="unusual"):
        taken(house, YUSUF, confirmed=False)
    assert Worker.objects.filter(left_on=None).count() == 2


def test_a_list_with_a_problem_changes_nothing(house: House) -> None:
    with pytest.raises(BadInput):
        taken(house, WANDA + YUSUF + "9;Bo;Lind;;Nurse\n9;Bo;Lind;Ward 1;Nurse\n")
    assert Worker.objects.count() == 2


def test_a_failure_at_the_last_step_leaves_everything_as_it_was(house: House) -> None:
    with (
        mock.patch("thenar.records.actions.staff._let_go", side_effect=OSError("disk full")),
        pytest.raises(OSError, match="disk full"),
    ):
        taken(house, "1001;Wanda;Other;Ward 2;Nurse\n7;Bo;Lind;Laundry;Porter\n")  # Yusuf leaves
    house.wanda.refresh_from_db()
    assert house.wanda.family_name == "Example"
    assert not Area.objects.filter(name="Laundry").exists()
    assert Worker.objects.count() == 2


def test_a_list_is_taken_over_once(house: House) -> None:
    done = taken(house, WANDA + YUSUF)
    with pytest.raises(Conflict, match="already"):
        take_over(waiting=done, digest="", unusual_confirmed=True, by=house.clara, now=NOW)


def test_a_staff_that_changed_since_the_dry_run_asks_for_another_look(house: House) -> None:
    raw = (HEAD + "1001;Wanda;Example;Ward 2;Nurse\n" + YUSUF).encode()
    kept = keep_staff_list(raw=raw, file_name="a.csv", file_hash=file_hash(raw), by=house.clara, now=NOW)
    run = dry_run(raw=raw, name="a.csv", day_first=None, by=house.clara, now=NOW)
    taken(house, "1001;Wanda;Example;Ward 3;Nurse\n" + YUSUF)
    house.wanda.posts.update(area=house.ward_2)
    with pytest.raises(Conflict, match="changed since"):
        take_over(waiting=kept, digest=run.digest, unusual_confirmed=True, by=house.clara, now=NOW)


def test_the_file_is_forgotten_once_taken_over_and_no_name_reaches_the_audit(house: House) -> None:
    done = taken(house, WANDA + YUSUF + "0042;Åse;Lind;Laundry;Laundry worker\n")
    assert bytes(done.raw) == b""
    assert "Lind" not in " ".join(AuditRow.objects.values_list("why", flat=True))


@pytest.mark.parametrize("who", ["alice", "mona"])
def test_only_clerk_and_administrator_take_lists_over(house: House, who: str) -> None:
    with pytest.raises(NotAllowed):
        keep_staff_list(raw=b"x", file_name="x", file_hash="x", by=getattr(house, who), now=NOW)


def test_taking_over_needs_no_query_per_row(house: House, django_assert_max_num_queries: object) -> None:
    rows = "".join(f"{number};Given;Family{number};Ward {number % 7};Nurse\n" for number in range(5000, 5400))
    with django_assert_max_num_queries(60):  # type: ignore[operator]
        taken(house, WANDA + YUSUF + rows)
