"""The extract: everything counted, nobody named, keys that lead nowhere, and never half of it."""

from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from pyarrow import parquet
from pytest_django import DjangoAssertNumQueries

from tests.conftest import NOW, TODAY, House
from tests.records.shelves import add, declare, stock
from tests.web.watched import watch
from thenar.errors import BadInput, Conflict, NotAllowed
from thenar.exchange import extract
from thenar.exchange.extract import LeaveList, Written, write_extract
from thenar.exchange.extract_keys import Keys
from thenar.knowledge import Book
from thenar.population.extract_schema import TABLES, open_extract
from thenar.population.person_time import embedded_engine, person_time
from thenar.population.person_time_rules import TimeRules
from thenar.population.stated import Period
from thenar.records.actions.cases import close_case, open_case
from thenar.records.actions.checks import record_sorting, submit_check
from thenar.records.actions.controls import record_control
from thenar.records.actions.examinations import Circumstances, record_examination
from thenar.records.models import AuditRow, Case, Examination, Post, SkinCheck
from thenar.skin.severity import AreaSigns, HandSigns

SECRET = b"drawn by chance for this one extract"
WORDS = "Never-to-leave words"
"""Put into every field in which somebody may type."""

Table = list[dict[str, Any]]


def examine(case: Case, house: House, book: Book, **correction: Any) -> Examination:
    return record_examination(
        case=case,
        signs=HandSigns(*[AreaSigns(*[1] * 7)] * 5),
        marks=(),
        examined_on=TODAY,
        circumstances=Circumstances(note=WORDS),
        by=house.alice,
        now=NOW,
        book=book,
        **correction,
    )


@pytest.fixture
def lived_in(house: House, book: Book) -> House:
    """A house with a row for every table of the extract but leave, which the records don't hold."""
    by = {"by": house.alice, "now": NOW}
    check = submit_check(
        worker=house.wanda,
        answers={"itch": "yes", "how_long": "weeks"},
        given_by="worker",
        by=house.wanda.user,
        now=NOW,
        book=book,
    )
    record_sorting(check=check, decision="case", note_text=WORDS, **by)
    case = house.wanda.cases.get()
    wrong = examine(case, house, book)
    examine(case, house, book, corrects=wrong, correction_reason=WORDS)
    close_case(case=case, outcome="controlled", closed_on=TODAY, note_text=WORDS, **by)
    open_case(worker=house.yusuf, **by)
    watch(house, book, observer=WORDS)
    product = add(house, name=WORDS)
    declare(house, book, product, from_on=TODAY)
    stock(house, book, product, house.ward_1)
    record_control(
        area=house.ward_1,
        role=None,
        control={"kind": "wash_to_rub"},
        words=WORDS,
        hierarchy="substitution",
        start_on=TODAY,
        review_on=TODAY,
        owner=WORDS,
        expected={},
        edition="x",
        **by,
    )
    return house


@pytest.fixture
def write(lived_in: House, tmp_path: Path) -> Callable[..., Written]:
    def write(folder: str = "extract", **other: Any) -> Written:
        return write_extract(
            tmp_path / folder, **{"secret": SECRET, "by": lived_in.alice, "now": NOW} | other
        )

    return write


def read(folder: Path) -> dict[str, Table]:
    return {table: parquet.read_table(folder / f"{table}.parquet").to_pylist() for table in TABLES}


def test_every_table_is_filled_and_says_what_the_records_say(
    write: Callable[..., Written], lived_in: House, tmp_path: Path
) -> None:
    written = write()
    tables, keys = read(tmp_path / "extract"), Keys(SECRET)
    assert {table for table, rows in tables.items() if not rows} == {"leave"}
    assert written.rows == {table: len(rows) for table, rows in tables.items()}
    wanda, ward_1 = keys.of("worker", lived_in.wanda.pk), keys.of("area", lived_in.ward_1.pk)
    post = next(row for row in tables["posts"] if row["worker"] == wanda)
    assert (post["area"], post["from_on"], post["until_on"]) == (ward_1, date(2020, 1, 1), None)
    assert (post["hours_percent"], post["age_band"]) == (100, "25 to 34")  # born 17 May 1990: 29
    case = next(row for row in tables["cases"] if row["worker"] == wanda)
    assert (case["opened_on"], case["closed_on"], case["outcome"]) == (TODAY, TODAY, "controlled")
    assert case["age_band"] == "35 to 44"  # 35 on 2 March 2026
    (check,) = tables["checks"]
    assert (check["case"], check["sorted_as"], check["given_on"]) == (case["case"], "case", TODAY)
    answers = {row["question"]: row["answer"] for row in tables["answers"]}
    assert (answers["itch"], answers["how_long"]) == ("yes", "weeks")
    assert sorted(row["superseded"] for row in tables["examinations"]) == [False, True]
    assert {row["case"] for row in tables["examinations"]} == {case["case"]}
    assert [row["parent"] for row in tables["areas"] if row["area"] == ward_1] == [
        keys.of("area", lived_in.ward_1.parent_id)
    ]
    assert tables["exposures"][0]["gel_rubs"] is None  # nobody counted them, which is not 0


def test_nothing_typed_and_nobody_s_name_number_or_reference_is_in_it(
    write: Callable[..., Written], lived_in: House, tmp_path: Path
) -> None:
    write()
    values = {value for rows in read(tmp_path / "extract").values() for row in rows for value in row.values()}
    texts = " ".join(value for value in values if isinstance(value, str))
    wanda = lived_in.wanda
    for hidden in (
        WORDS,
        "Wanda",
        "Example",
        "wanda",
        "1001",
        wanda.ref,
        wanda.cases.get().ref,
        "Ward",
        "Nurse",
    ):
        assert hidden not in texts
    assert wanda.born_on not in values
    for file in (tmp_path / "extract").iterdir():
        assert WORDS.encode() not in file.read_bytes()
        assert SECRET not in file.read_bytes()


def test_an_answer_that_is_no_code_stays_behind(
    write: Callable[..., Written], lived_in: House, tmp_path: Path
) -> None:
    """No question takes typed words today; should one ever do, they don't leave with the extract."""
    typed = {"itch": "no", "soreness": WORDS, WORDS: "yes", "cracks": 3}
    SkinCheck.objects.create(
        worker=lived_in.yusuf,
        given_by="worker",
        submitted_at=NOW,
        answers=typed,
        urgency="self_care",
        patient_contact="continue",
        reasons=[],
        edition="x",
    )
    write()
    check = Keys(SECRET).of("check", SkinCheck.objects.latest("pk").pk)
    answers = read(tmp_path / "extract")["answers"]
    assert [row for row in answers if row["check"] == check] == [
        {"check": check, "question": "itch", "answer": "no"}
    ]


def test_no_key_is_a_record_s_number(write: Callable[..., Written], lived_in: House, tmp_path: Path) -> None:
    write()
    for table, rows in read(tmp_path / "extract").items():
        keys = [column.name for column in TABLES[table] if column.holds == "key"]
        assert all(row[name] is None or row[name] > 2**32 for row in rows for name in keys)


def test_keys_of_two_extracts_have_nothing_in_common(write: Callable[..., Written], tmp_path: Path) -> None:
    write("one")
    write("two", secret=b"drawn by chance for another one")
    one, two = ({row["worker"] for row in read(tmp_path / name)["posts"]} for name in ("one", "two"))
    assert len(one) == 2
    assert not one & two


def test_a_short_secret_is_refused(write: Callable[..., Written]) -> None:
    with pytest.raises(BadInput, match="The secret has 8 bytes"):
        write(secret=b"password")


def test_person_time_can_be_counted_from_it(write: Callable[..., Written], tmp_path: Path) -> None:
    write()
    rules = TimeRules(Period(date(2026, 2, 1), TODAY), washout_days=90)
    with embedded_engine() as engine:
        found = person_time(open_extract(tmp_path / "extract"), rules, engine)
    # Two nurses on two wards, 28 days in February and 2 in March; both cases open on the last of them.
    assert sorted(cell.person_days for cell in found.cells) == [2, 2, 28, 28]
    assert found.tally.counted == found.tally.total == 2


def leave(text: str) -> LeaveList:
    return LeaveList(text.encode(), "leave.csv")


def test_leave_from_elsewhere_goes_in_under_the_keys_of_the_extract(
    write: Callable[..., Written], lived_in: House, tmp_path: Path
) -> None:
    write(leave=leave("From;Staff number;Until;Why\n2026-02-10;1001;2026-02-19;a word\n2026-03-02;1002;;\n"))
    wanda, yusuf = (Keys(SECRET).of("worker", one.pk) for one in (lived_in.wanda, lived_in.yusuf))
    assert read(tmp_path / "extract")["leave"] == [
        {"worker": wanda, "from_on": date(2026, 2, 10), "until_on": date(2026, 2, 19)},
        {"worker": yusuf, "from_on": date(2026, 3, 2), "until_on": None},
    ]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("staff number,from\n1001,2026-01-01\n", "must stand there once: until"),
        (
            "staff number,from,until\n1001,2026-01-01,\n7777,2026-01-01,\n",
            "Line 3, column 'staff number': No worker",
        ),
        ("staff number,from,until\n1001,01/02/2026,\n", "Line 2: A date can't be read"),
        ("staff number,from,until\n1001,,2026-01-01\n", "Line 2: A date can't be read"),
        ("from,until,staff number\n2026-01-01\n", "Line 2, column 'staff number': No worker"),
        ("staff number,from,until\n1001,2026-02-01,2026-01-31\n", "Line 2, column 'until': It ends before"),
        ("staff number,from,until\n" + "7777,2026-01-01,\n" * 7, "And 2 more"),
    ],
)
def test_a_list_of_leave_that_can_not_be_used_stops_the_extract(
    text: str, says: str, write: Callable[..., Written], tmp_path: Path
) -> None:
    with pytest.raises(BadInput, match=says) as refused:
        write(leave=leave(text))
    assert "7777" not in str(refused.value)
    assert not list(tmp_path.iterdir())


def test_the_day_in_the_file_is_the_day_at_the_site(write: Callable[..., Written], tmp_path: Path) -> None:
    write()
    assert open_extract(tmp_path / "extract").written_on == TODAY


@pytest.mark.parametrize("who", ["clara", "mona", "ada"])
def test_only_who_sees_clinical_records_may_write_one(
    who: str, lived_in: House, write: Callable[..., Written], tmp_path: Path
) -> None:
    with pytest.raises(NotAllowed):
        write(by=getattr(lived_in, who))
    assert not list(tmp_path.iterdir())


def test_the_look_is_in_the_audit(write: Callable[..., Written]) -> None:
    write()
    row = AuditRow.objects.get(event="extract written")
    assert (row.who, row.data_class, row.worker_ref) == ("alice", "C1", "")


def test_two_extracts_are_never_mixed_in_one_folder(write: Callable[..., Written], tmp_path: Path) -> None:
    write()
    before = sorted((tmp_path / "extract").iterdir())
    with pytest.raises(Conflict, match="is there already"):
        write()
    assert sorted((tmp_path / "extract").iterdir()) == before


def test_when_it_breaks_off_nothing_stays(
    write: Callable[..., Written], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full_disk(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(extract, "_columnar", full_disk)
    with pytest.raises(BadInput, match="No space left"):
        write()
    assert not list(tmp_path.iterdir())
    assert not AuditRow.objects.filter(event="extract written").exists()


def test_a_folder_that_can_not_be_made_is_told(write: Callable[..., Written]) -> None:
    with pytest.raises(BadInput, match="can't be written"):
        write("not/there")


def test_only_its_writer_can_open_it(write: Callable[..., Written], tmp_path: Path) -> None:
    write()
    assert (tmp_path / "extract").stat().st_mode & 0o077 == 0


def test_names_are_those_of_places_roles_and_products_only(
    write: Callable[..., Written], lived_in: House
) -> None:
    names = write().names.decode().splitlines()
    ward_1 = Keys(SECRET).of("area", lived_in.ward_1.pk)
    assert f"area,{ward_1},Ward 1" in names
    assert {line.split(",")[0] for line in names} == {"kind", "area", "role", "product"}
    assert "Wanda" not in "".join(names)


def test_more_workers_cost_no_more_queries(
    lived_in: House, write: Callable[..., Written], django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    with django_assert_num_queries(19, exact=False) as few:
        write("few")
    Post.objects.bulk_create(
        Post(
            worker=lived_in.yusuf,
            area=lived_in.ward_2,
            role=lived_in.nurse,
            from_on=TODAY - timedelta(days=9 * at + 8),
            until_on=TODAY - timedelta(days=9 * at),
            hours_share=Decimal("0.5"),
        )
        for at in range(50)
    )
    with django_assert_num_queries(len(few.captured_queries)):
        write("many")
