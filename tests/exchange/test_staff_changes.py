"""What a staff list would change is told before anything is written."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

from thenar.exchange.staff_changes import CurrentWorker, StaffChanges, compare_staff, staff_after
from thenar.exchange.staff_list import StaffList, read_staff_list

TODAY = date(2025, 6, 2)
ALICE = CurrentWorker(
    "00123", "Alice", "Tern", date(1980, 2, 1), "a@saltmere.example", "Ward 7", "nurse", Decimal(1)
)
BOB = CurrentWorker("00124", "Bob", "Plover", date(1990, 3, 4), "", "Laundry", "porter", None)


def read(
    *rows: str, headers: str = "Staff number,Family name,Given name,Area,Role,Born,Email,FTE,End"
) -> StaffList:
    return read_staff_list("\n".join([headers, *rows]).encode(), name="staff.csv", today=TODAY)


def compare(listed: StaffList, *workers: CurrentWorker) -> StaffChanges:
    return compare_staff(
        {worker.staff_number: worker for worker in workers},
        listed,
        known_areas=["Ward 7", "Laundry"],
        known_roles=["nurse", "porter"],
        today=TODAY,
    )


SAME_ALICE = "00123,Tern,Alice,Ward 7,nurse,1980-02-01,a@saltmere.example,1,"
SAME_BOB = "00124,Plover,Bob,Laundry,porter,1990-03-04,,,"


def test_the_same_staff_changes_nothing():
    changes = compare(read(SAME_ALICE, SAME_BOB), ALICE, BOB)
    assert changes == StaffChanges((), (), (), (), 2, 0, (), (), (), ())


def test_a_joiner_a_mover_a_correction_and_a_leaver_are_told_apart():
    charlie = replace(BOB, staff_number="00125", given_name="Charlie")
    changes = compare(
        read(
            SAME_ALICE.replace("Ward 7", "Laundry"),
            SAME_BOB.replace("Plover", "Plover-Knot"),
            "00200,Gull,Dora,Ward 7,nurse,,,,",
        ),
        ALICE,
        BOB,
        charlie,
    )
    assert [row.given_name for row in changes.joiners] == ["Dora"]
    assert [(move.before.area, move.row.area) for move in changes.movers] == [("Ward 7", "Laundry")]
    assert [each.row.family_name for each in changes.corrected] == ["Plover-Knot"]
    assert changes.leavers == (charlie,)
    assert changes.unchanged == 0


def test_somebody_may_move_and_be_corrected_at_once():
    changes = compare(
        read(SAME_ALICE.replace("Ward 7", "Laundry").replace("Tern", "Gull"), SAME_BOB), ALICE, BOB
    )
    assert len(changes.movers) == len(changes.corrected) == 1
    assert changes.unchanged == 1


def test_another_share_of_hours_is_a_move():
    assert len(compare(read(SAME_ALICE.replace(",1,", ",0.5,")), ALICE).movers) == 1


def test_a_share_written_another_way_is_no_move():
    assert compare(read(SAME_ALICE.replace(",1,", ",100 %,")), ALICE).unchanged == 1


def test_an_empty_cell_erases_nothing():
    changes = compare(read("00123,Tern,Alice,Ward 7,nurse,,,,"), ALICE)
    assert changes.unchanged == 1


def test_a_column_that_is_not_there_erases_nothing():
    listed = read("00123,Tern,Alice,Laundry,nurse", headers="Staff number,Family name,Given name,Area,Role")
    changes = compare(listed, ALICE)
    assert changes.corrected == ()
    assert staff_after({"00123": ALICE}, changes) == {"00123": replace(ALICE, area="Laundry")}


def test_capitals_and_spaces_make_no_new_area():
    changes = compare(read(SAME_ALICE.replace("Ward 7,nurse", "WARD7,Nurse")), ALICE)
    assert changes.unchanged == 1
    assert changes.new_areas == changes.new_roles == ()


def test_new_areas_and_roles_are_named_once_in_their_first_spelling():
    changes = compare(read("1,A,B,Theatre 2,surgeon,,,,", "2,C,D,THEATRE 2,Surgeon,,,,", SAME_BOB), BOB)
    assert (changes.new_areas, changes.new_roles) == (("Theatre 2",), ("surgeon",))


def test_a_post_that_ends_today_is_still_worked_in():
    assert compare(read(SAME_ALICE + "2025-06-02"), ALICE).unchanged == 1


def test_a_post_that_ended_yesterday_makes_a_leaver():
    assert compare(read(SAME_ALICE + "2025-06-01"), ALICE).leavers == (ALICE,)


def test_somebody_who_left_before_being_known_is_not_added():
    changes = compare(read(SAME_ALICE, SAME_BOB + "2025-06-01"), ALICE)
    assert changes.joiners == ()
    assert [(problem.line, problem.serious) for problem in changes.problems] == [(3, False)]


def test_a_row_that_cannot_be_read_makes_no_leaver():
    changes = compare(read(SAME_ALICE, "00124,,Bob,Laundry,porter,,,,"), ALICE, BOB)
    assert changes.leavers == ()
    assert changes.undecided == 1
    assert not changes.can_be_taken_over


def test_a_date_that_waits_for_an_answer_corrects_nobody():
    changes = compare(read(SAME_ALICE.replace("1980-02-01", "01/02/1980"), SAME_BOB), ALICE, BOB)
    assert changes.corrected == ()
    assert not changes.can_be_taken_over


def test_one_leaver_in_five_is_usual_and_more_is_not():
    # 20 % of 10 is 2: two leavers are at the limit, three are above it.
    staff = [replace(BOB, staff_number=str(number)) for number in range(10)]
    rows = [SAME_BOB.replace("00124", str(number)) for number in range(10)]
    assert compare(read(*rows[2:]), *staff).unusual == ()
    unusual = compare(read(*rows[3:]), *staff).unusual
    assert "3 of 10" in unusual[0]


def test_an_unusual_list_can_still_be_taken_over():
    changes = compare(read(SAME_ALICE), ALICE, BOB)
    assert changes.unusual
    assert changes.can_be_taken_over


def test_lost_leading_zeros_are_noticed():
    unusual = compare(read("123,Tern,Alice,Ward 7,nurse,,,,", SAME_BOB), ALICE, BOB).unusual
    assert any("zeros" in each and "line 2" in each for each in unusual)


def test_a_staff_number_given_to_somebody_else_is_noticed():
    unusual = compare(read("00123,Gull,Dora,Ward 7,nurse,1999-01-01,,,", SAME_BOB), ALICE, BOB).unusual
    assert len(unusual) == 1
    assert "One person" in unusual[0]
    assert "line 2" in unusual[0]


def test_a_name_changed_by_marriage_is_not_unusual():
    assert compare(read(SAME_ALICE.replace("Tern", "Gull"), SAME_BOB), ALICE, BOB).unusual == ()


def test_what_is_unusual_names_nobody():
    changes = compare(
        read("123,Ternella,Quetzal,Ward 7,nurse,,,,", "00124,Gull,Dora,Laundry,porter,,,,"), ALICE, BOB
    )
    assert len(changes.unusual) == 3
    for name in ("Ternella", "Quetzal", "Alice", "Tern ", "Dora", "Gull", "Bob", "Plover", "00123", "00124"):
        assert name not in " ".join(changes.unusual)


def test_the_first_list_of_a_new_hospital_is_not_unusual():
    changes = compare(read(SAME_ALICE, SAME_BOB))
    assert len(changes.joiners) == 2
    assert changes.unusual == ()
