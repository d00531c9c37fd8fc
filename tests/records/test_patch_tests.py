"""A patch test is written down day by day; what can't have been is refused, and nothing written is lost."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests.conftest import NOW, TODAY, House, make_worker
from tests.records.shelves import add, declare, raised, sensitise, stock
from tests.web.wanda import in_case
from thenar.allergy.patch_days import occlusion_caution
from thenar.allergy.patch_rules import reading_rules
from thenar.allergy.patch_test import Kind, OwnProduct, PatchGrade, Position
from thenar.allergy.product import Category
from thenar.errors import BadInput, Conflict, NotAllowed
from thenar.knowledge import Book, load
from thenar.records.actions.cases import close_case, open_case
from thenar.records.actions.concerns import deal_with_concern
from thenar.records.actions.patch_tests import (
    apply_patch_test,
    end_patch_test,
    read_patch_test,
    say_relevance,
)
from thenar.records.audit import broken_rows
from thenar.records.models import (
    AccessRole,
    AllergyWithdrawal,
    AuditRow,
    PatchReading,
    PatchRelevance,
    PatchTest,
    PatchTestEnd,
    Product,
    ProductConcern,
    Sensitisation,
    User,
    Worker,
)
from thenar.records.patch_tests import as_patch_test, grades_of, positions_of
from thenar.records.patch_tests import tested_negative as cleared
from thenar.records.queries.patch_tests import clinic_tests, patch_test_story, readings_due
from thenar.records.queries.today import what_waits
from thenar.records.rights import NotVisible

NICKEL = Position(1, "nickel_sulfate", "5 %", "pet", "european-baseline-2019")
MIT = Position(2, "methylisothiazolinone", "0.2 %", "aq", "european-baseline-2019")
CREAM = Position(
    3,
    "a cream from home",
    "10 %",
    "aq",
    kind=Kind.OWN_PRODUCT,
    own=OwnProduct(Category.CREAM, "a tenth in water"),
)
MONDAY = TODAY - timedelta(days=7)  # so D7 is today
NEGATIVE, STRONG, DOUBTFUL, NT = (
    PatchGrade.NEGATIVE,
    PatchGrade.STRONG,
    PatchGrade.DOUBTFUL,
    PatchGrade.NOT_TESTED,
)


def put_on(house: House, book: Book, **more: Any) -> PatchTest:
    given = {
        "worker": house.wanda,
        "case": None,
        "applied_on": MONDAY,
        "series": ("european-baseline-2019",),
        "positions": (NICKEL, MIT, CREAM),
        "note_text": "",
        "book": book,
        "by": house.alice,
        "now": NOW,
    }
    return apply_patch_test(**{**given, **more})


def read(house: House, test: PatchTest, day: int, **more: Any) -> PatchReading:
    given = {
        "test": test,
        "read_on": test.applied_on + timedelta(days=day),
        "grades": {1: NEGATIVE, 2: STRONG, 3: NEGATIVE},
        "note_text": "",
        "book": load(),
        "by": house.alice,
        "now": NOW,
    }
    return read_patch_test(**{**given, **more})


def end(house: House, test: PatchTest, how: str = "complete", **more: Any) -> PatchTestEnd:
    given = {
        "test": test,
        "how": how,
        "ended_on": TODAY,
        "note_text": "",
        "by": house.alice,
        "now": NOW,
    }
    return end_patch_test(**{**given, **more})


def own_record_of(worker: Worker) -> User:
    """The worker is a practitioner too, and signs in as one."""
    assert worker.user is not None
    worker.user.access = AccessRole.PRACTITIONER
    worker.user.save()
    return worker.user


# ---- Putting it on


def test_what_was_put_on_comes_back_as_it_was_own_products_with_their_dilution(
    house: House, book: Book
) -> None:
    test = put_on(house, book, case=in_case(house))
    test.refresh_from_db()
    assert positions_of(test) == (NICKEL, MIT, CREAM)
    row = AuditRow.objects.get(event="patch test applied")
    assert (row.who, row.target, row.worker_ref) == ("alice", test.ref, house.wanda.ref)
    assert list(broken_rows()) == []


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({"applied_on": TODAY + timedelta(days=1)}, "still to come"),
        ({"applied_on": date(1962, 3, 2)}, "1962"),
        ({"positions": ()}, "Nothing was put on"),
        ({"positions": (NICKEL, Position(1, "bronopol", "0.5 %", "pet"))}, "used 2 times"),
        ({"positions": (Position(1, "moonlight", "1 %", "pet"),)}, "moonlight"),
        ({"series": ("a-series-of-nobody",)}, "a-series-of-nobody"),
        ({"series": ()}, "was not put on"),
    ],
)
def test_a_test_that_cannot_have_been_is_refused_whole(
    house: House, book: Book, more: dict[str, Any], says: str
) -> None:
    with pytest.raises(BadInput, match=says):
        put_on(house, book, **more)
    assert not PatchTest.objects.exists()
    assert not AuditRow.objects.filter(event="patch test applied").exists()


def test_a_test_belongs_in_an_open_case_of_the_same_worker_or_in_none(house: House, book: Book) -> None:
    another = open_case(worker=house.yusuf, by=house.alice, now=NOW)
    with pytest.raises(BadInput, match="another worker"):
        put_on(house, book, case=another)
    case = in_case(house)
    close_case(case=case, outcome="clear", closed_on=TODAY, by=house.alice, now=NOW)
    with pytest.raises(Conflict, match="closed"):
        put_on(house, book, case=case)
    assert put_on(house, book).case is None


# ---- Reading it


def test_readings_of_three_days_are_read_together(house: House, book: Book) -> None:
    test = put_on(house, book)
    for day in (2, 4, 7):
        read(house, test, day)
    assert as_patch_test(test).days_of(2) == ((2, STRONG), (4, STRONG), (7, STRONG))
    assert AuditRow.objects.filter(event="patch test read", worker_ref=house.wanda.ref).count() == 3


@pytest.mark.parametrize(
    ("day", "grades", "says"),
    [
        (-1, {1: STRONG}, "before the test was put on"),
        (0, {1: STRONG}, "the day the test was put on"),
        (8, {1: STRONG}, "still to come"),
        (4, {9: STRONG}, "position 9, at which nothing was put on"),
        (4, {}, "no grade"),
    ],
)
def test_a_reading_that_cannot_have_been_is_refused(
    house: House, book: Book, day: int, grades: dict[int, PatchGrade], says: str
) -> None:
    test = put_on(house, book)
    with pytest.raises(BadInput, match=says):
        read(house, test, day, grades=grades)
    assert not PatchReading.objects.exists()


def test_a_day_is_read_once_unless_the_second_corrects_the_first(house: House, book: Book) -> None:
    test = put_on(house, book)
    first = read(house, test, 4)
    with pytest.raises(Conflict, match="already a reading of"):
        read(house, test, 4, grades={1: NEGATIVE})
    read(house, test, 4, grades={1: STRONG}, corrects=first, correction_reason="Left and right mixed up")
    assert as_patch_test(test).days_of(1) == ((4, STRONG),)
    assert as_patch_test(test).days_of(2) == ()
    assert grades_of(PatchReading.objects.get(pk=first.pk)) == {1: NEGATIVE, 2: STRONG, 3: NEGATIVE}
    assert AuditRow.objects.filter(event="patch test reading corrected").count() == 1


def test_a_reading_of_a_moment_ago_is_seen_from_a_page_opened_before_it(house: House, book: Book) -> None:
    test = put_on(house, book)
    as_on_the_page = PatchTest.objects.prefetch_related("readings").get(pk=test.pk)
    read(house, test, 4)
    with pytest.raises(Conflict, match="already a reading of"):
        read(house, as_on_the_page, 4)


def test_a_correction_may_move_a_reading_to_the_day_it_was_taken_but_not_onto_another(
    house: House, book: Book
) -> None:
    test = put_on(house, book)
    read(house, test, 2)
    second = read(house, test, 3)
    with pytest.raises(Conflict, match="already a reading of"):
        read(house, test, 2, corrects=second, correction_reason="Wrong day")
    read(house, test, 4, corrects=second, correction_reason="Wrong day")
    assert [day for day, _ in as_patch_test(test).days_of(2)] == [2, 4]


def test_a_correction_says_why_names_its_own_test_and_comes_once(house: House, book: Book) -> None:
    test = put_on(house, book)
    first = read(house, test, 4)
    with pytest.raises(BadInput, match="no reason"):
        read(house, test, 4, corrects=first, correction_reason="  ")
    with pytest.raises(BadInput, match="201 characters"):
        read(house, test, 4, corrects=first, correction_reason="x" * 201)
    other = put_on(house, book, worker=house.yusuf)
    with pytest.raises(BadInput, match="another test"):
        read(house, other, 4, corrects=first, correction_reason="Mixed up")
    read(house, test, 4, corrects=first, correction_reason="Mixed up")
    with pytest.raises(Conflict, match="already corrected"):
        read(house, test, 4, corrects=first, correction_reason="Mixed up again")
    assert PatchReading.objects.count() == 2


def test_a_reading_alone_makes_no_sensitisation(house: House, book: Book) -> None:
    test = put_on(house, book)
    for day in (2, 4, 7):
        read(house, test, day)
    end(house, test)
    assert not Sensitisation.objects.exists()


# ---- Relevance and end


def test_the_newest_relevance_of_a_position_holds_and_the_older_stays(house: House, book: Book) -> None:
    test = put_on(house, book)
    read(house, test, 4)
    given = {"test": test, "position": 2, "note_text": "", "by": house.alice, "now": NOW}
    say_relevance(**given, relevance="unknown")
    say_relevance(**given, relevance="current")
    story = patch_test_story(ref=test.ref, by=house.alice, now=NOW)
    assert story.relevances[2].relevance == "current"
    assert [one.relevance for one in story.said_before] == ["unknown"]


@pytest.mark.parametrize(
    ("position", "relevance", "says"),
    [(9, "current", "Nothing was put on"), (1, "current", "No reaction"), (2, "lunar", "lunar")],
)
def test_only_what_reacted_explains_anything(
    house: House, book: Book, position: int, relevance: str, says: str
) -> None:
    test = put_on(house, book)
    read(house, test, 4)
    with pytest.raises(BadInput, match=says):
        say_relevance(
            test=test, position=position, relevance=relevance, note_text="", by=house.alice, now=NOW
        )
    assert not PatchRelevance.objects.exists()


def test_a_test_with_a_position_nobody_looked_at_is_not_complete(house: House, book: Book) -> None:
    test = put_on(house, book)
    read(house, test, 4, grades={1: NEGATIVE, 2: NT})
    with pytest.raises(BadInput, match="position 3"):
        end(house, test)
    assert end(house, test, "not_back").how == "not_back"


def test_a_test_ends_once_on_a_day_that_can_be(house: House, book: Book) -> None:
    test = put_on(house, book)
    read(house, test, 4)
    for day, says in ((TODAY + timedelta(days=1), "future"), (MONDAY + timedelta(days=3), "later")):
        with pytest.raises(BadInput, match=says):
            end(house, test, ended_on=day)
    with pytest.raises(BadInput, match="vanished"):
        end(house, test, "vanished")
    end(house, test)
    with pytest.raises(Conflict, match="already ended"):
        end(house, test)


def test_a_late_reaction_is_written_down_after_the_end_too(house: House, book: Book) -> None:
    test = put_on(house, book)
    read(house, test, 4)
    end(house, test)
    read(house, test, 7, grades={1: STRONG})
    assert as_patch_test(test).days_of(1) == ((4, NEGATIVE), (7, STRONG))


# ---- What a negative test clears


def test_only_what_was_read_to_the_last_day_and_never_reacted_is_cleared(house: House, book: Book) -> None:
    test = put_on(house, book)
    read(house, test, 4)
    assert cleared([house.wanda.pk], book) == {house.wanda.pk: frozenset()}
    read(house, test, 7)
    assert cleared([house.wanda.pk], book) == {house.wanda.pk: frozenset({"nickel_sulfate"})}


@pytest.mark.parametrize("grade", [STRONG, DOUBTFUL, PatchGrade.IRRITANT])
def test_what_reacted_in_an_earlier_test_is_not_cleared_by_a_later_one(
    house: House, book: Book, grade: PatchGrade
) -> None:
    earlier = put_on(house, book, applied_on=MONDAY - timedelta(days=300))
    read(house, earlier, 4, grades={1: grade})
    later = put_on(house, book)
    for day in (4, 7):
        read(house, later, day)
    assert cleared([house.wanda.pk], book) == {house.wanda.pk: frozenset()}


def test_a_negative_mix_clears_nothing(house: House, book: Book) -> None:
    mix = Position(1, "thiuram_mix", "1 %", "pet")
    test = put_on(house, book, positions=(mix,))
    for day in (4, 7):
        read(house, test, day, grades={1: NEGATIVE})
    assert cleared([house.wanda.pk], book) == {house.wanda.pk: frozenset()}


TMTD = Position(1, "tmtd", "1 %", "pet")  # a part of the thiuram mix


def tmtd_negative(house: House, book: Book, **more: Any) -> PatchTest:
    test = put_on(house, book, positions=(TMTD,), **more)
    for day in (4, 7):
        read(house, test, day, grades={1: NEGATIVE})
    return test


def test_a_part_tested_before_its_mix_was_found_positive_is_not_cleared(house: House, book: Book) -> None:
    tmtd_negative(house, book, applied_on=MONDAY - timedelta(days=1000))
    assert cleared([house.wanda.pk], book) == {house.wanda.pk: frozenset({"tmtd"})}
    mix = sensitise(house, house.wanda, "thiuram_mix")
    assert cleared([house.wanda.pk], book) == {house.wanda.pk: frozenset()}
    AllergyWithdrawal.objects.create(sensitisation=mix, reason="Another's test", at=NOW, by=house.alice)
    assert cleared([house.wanda.pk], book) == {house.wanda.pk: frozenset({"tmtd"})}


def test_a_part_tested_together_with_its_mix_or_again_later_is_cleared(house: House, book: Book) -> None:
    tmtd_negative(house, book, applied_on=MONDAY - timedelta(days=1000))
    of_wanda, of_yusuf = tmtd_negative(house, book), tmtd_negative(house, book, worker=house.yusuf)
    sensitise(house, house.wanda, "thiuram_mix", found_on=MONDAY)  # by a letter, before she was tested again
    sensitise(house, house.yusuf, "thiuram_mix", basis="patch_test", test=of_yusuf)  # found on its last day
    assert of_wanda.applied_on == MONDAY
    both = [house.wanda.pk, house.yusuf.pk]
    assert cleared(both, book) == dict.fromkeys(both, frozenset({"tmtd"}))


def test_an_allergy_found_later_leaves_a_negative_alone_that_does_not_ease_it(
    house: House, book: Book
) -> None:
    tmtd_negative(house, book)
    sensitise(house, house.wanda, "nickel_sulfate")
    assert cleared([house.wanda.pk], book) == {house.wanda.pk: frozenset({"tmtd"})}


# ---- What clears no longer is told


@pytest.fixture
def rubber_soap(house: House, book: Book) -> Product:
    """A soap on Ward 1 that names a part of the thiuram mix, for Wanda, who reacts to the mix."""
    sensitise(house, house.wanda, "thiuram_mix", found_on=MONDAY)
    product = add(house)
    declare(house, book, product, f"Aqua, {book.allergens.allergens['tmtd'].name}")
    stock(house, book, product, house.ward_1)
    for one in ProductConcern.objects.all():
        deal_with_concern(concern=one, outcome="told", note_text="", by=house.alice, now=NOW)
    return product


TOLD = {("Wanda", "S1", "Ward 1", "patch_test", "avoid")}


@pytest.mark.parametrize("grade", [STRONG, DOUBTFUL, NT])
def test_a_correction_that_takes_a_negative_away_raises_what_must_be_avoided_now(
    house: House, book: Book, rubber_soap: Product, grade: PatchGrade
) -> None:
    last = tmtd_negative(house, book).readings.get(read_on=TODAY)
    waiting_before = raised()
    read(house, last.test, 7, grades={1: grade}, corrects=last, correction_reason="Another's back")
    assert raised() - waiting_before == TOLD
    assert ProductConcern.objects.latest("pk").answer_before == "cannot exclude"


def test_a_reaction_where_a_test_was_negative_before_raises_too(
    house: House, book: Book, rubber_soap: Product
) -> None:
    tmtd_negative(house, book)
    waiting_before = raised()
    read(house, put_on(house, book, positions=(TMTD,)), 4, grades={1: STRONG})
    assert raised() - waiting_before == TOLD


def test_a_reading_that_takes_nothing_away_raises_nobody(
    house: House, book: Book, rubber_soap: Product
) -> None:
    waiting_before = raised()
    last = tmtd_negative(house, book).readings.get(read_on=TODAY)
    read(house, last.test, 7, grades={1: NEGATIVE}, corrects=last, correction_reason="A note forgotten")
    assert raised() == waiting_before


# ---- Who may


@pytest.mark.parametrize("who", ["clara", "mona", "ada", "wanda"])
def test_nobody_but_a_practitioner_writes_or_reads_a_patch_test(house: House, book: Book, who: str) -> None:
    someone = house.wanda.user if who == "wanda" else getattr(house, who)
    test = put_on(house, book)
    read(house, test, 4)
    writes = [
        lambda: put_on(house, book, by=someone),
        lambda: read(house, test, 7, by=someone),
        lambda: end(house, test, by=someone),
        lambda: say_relevance(test=test, position=2, relevance="current", note_text="", by=someone, now=NOW),
    ]
    for write in writes:
        with pytest.raises(NotAllowed):
            write()
    with pytest.raises(NotAllowed):
        patch_test_story(ref=test.ref, by=someone, now=NOW)
    with pytest.raises(NotAllowed):
        readings_due(by=someone, now=NOW, book=book)
    assert (PatchTest.objects.count(), PatchReading.objects.count()) == (1, 1)


def test_no_practitioner_writes_their_own_test(house: House, book: Book) -> None:
    test = put_on(house, book)
    read(house, test, 4)
    own = own_record_of(house.wanda)
    for write in (
        lambda: put_on(house, book, by=own),
        lambda: read(house, test, 7, by=own),
        lambda: end(house, test, by=own),
        lambda: say_relevance(test=test, position=2, relevance="current", note_text="", by=own, now=NOW),
    ):
        with pytest.raises(NotVisible):
            write()
    assert (PatchTest.objects.count(), PatchReading.objects.count()) == (1, 1)
    assert not PatchRelevance.objects.exists()
    assert not PatchTestEnd.objects.exists()


def test_a_lead_reads_a_test_and_writes_none(house: House, book: Book) -> None:
    test = put_on(house, book)
    house.bob.access = AccessRole.LEAD
    house.bob.save()
    assert patch_test_story(ref=test.ref, by=house.bob, now=NOW).test == test
    with pytest.raises(NotAllowed):
        read(house, test, 4, by=house.bob)


def test_a_look_at_a_test_is_noted_about_its_worker(house: House, book: Book) -> None:
    test = put_on(house, book)
    patch_test_story(ref=test.ref, by=house.bob, now=NOW)
    row = AuditRow.objects.get(event="record looked at")
    assert (row.who, row.worker_ref, row.why, row.data_class) == ("bob", house.wanda.ref, "patch test", "C1")


def test_ones_own_test_reads_like_one_that_is_not_there(house: House, book: Book) -> None:
    test = put_on(house, book)
    own = own_record_of(house.wanda)
    for ref in (test.ref, "a" * 12):
        with pytest.raises(NotVisible):
            patch_test_story(ref=ref, by=own, now=NOW)
    assert readings_due(by=own, now=NOW, book=book) == ((), 0)


@pytest.mark.parametrize("to_file", [False, True])
def test_ones_own_test_is_in_no_figure_and_no_file_one_asks_for(
    house: House, book: Book, to_file: bool
) -> None:
    put_on(house, book)
    of_yusuf = put_on(house, book, worker=house.yusuf)
    own = own_record_of(house.wanda)
    found = clinic_tests(from_on=MONDAY, until_on=TODAY, by=own, now=NOW, to_file=to_file)
    assert [one.ref for one in found] == [of_yusuf.ref]
    assert len(clinic_tests(from_on=MONDAY, until_on=TODAY, by=house.alice, now=NOW, to_file=to_file)) == 2


# ---- Which readings are due


def due(house: House, book: Book) -> list[tuple[str, str, int]]:
    """Who, which reading ("" for: end the test), and how many days late."""
    lines, _ = readings_due(by=house.alice, now=NOW, book=book)
    return [
        (line.worker.given_name, line.due.stage.name if line.due else "", line.days_late) for line in lines
    ]


@pytest.mark.parametrize(
    ("days_ago", "read_days", "waits"),
    [
        (1, (), []),  # nothing is due before D2
        (2, (), [("Wanda", "D2", 0)]),
        (2, (2,), []),
        (3, (), [("Wanda", "D3 or D4", 0)]),  # D2 has passed for good
        (5, (2,), [("Wanda", "D3 or D4", 1)]),
        (7, (2, 4), [("Wanda", "about D7", 0)]),
        (10, (2, 4), [("Wanda", "about D7", 3)]),
        (10, (2, 4, 7), [("Wanda", "", 0)]),  # all is read: somebody judges and ends it
    ],
)
def test_each_day_names_the_reading_it_can_still_take(
    house: House, book: Book, days_ago: int, read_days: tuple[int, ...], waits: list[tuple[str, str, int]]
) -> None:
    test = put_on(house, book, applied_on=TODAY - timedelta(days=days_ago))
    for day in read_days:
        read(house, test, day)
    assert due(house, book) == waits


def test_a_position_left_out_keeps_the_reading_due(house: House, book: Book) -> None:
    test = put_on(house, book, applied_on=TODAY - timedelta(days=4))
    read(house, test, 4, grades={1: NEGATIVE, 2: STRONG})
    (line,), _ = readings_due(by=house.alice, now=NOW, book=book)
    assert line.due is not None
    assert line.due.unread == (3,)


def test_the_latest_comes_first_and_an_ended_test_waits_for_nothing(house: House, book: Book) -> None:
    put_on(house, book, applied_on=TODAY - timedelta(days=9))
    put_on(house, book, worker=house.yusuf, applied_on=TODAY - timedelta(days=12))
    assert due(house, book) == [("Yusuf", "about D7", 5), ("Wanda", "about D7", 2)]
    for test in PatchTest.objects.all():
        end(house, test, "not_back")
    assert due(house, book) == []


def test_what_is_late_comes_before_what_is_older_and_in_time(house: House, book: Book) -> None:
    read(house, put_on(house, book), 4)  # its seventh day is today
    put_on(house, book, worker=house.yusuf, applied_on=TODAY - timedelta(days=5))
    assert due(house, book) == [("Yusuf", "D3 or D4", 1), ("Wanda", "about D7", 0)]


def test_today_names_readings_and_costs_the_same_for_many_as_for_one(house: House, book: Book) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as asked:
            waits = what_waits(by=house.alice, now=NOW, book=book)
        assert waits.readings_total == len(waits.readings_due) == PatchTest.objects.count()
        assert all(line.post and line.post.area == house.ward_1 for line in waits.readings_due)
        return len(asked)

    put_on(house, book)
    few = queries()
    for number in range(8):
        worker = make_worker(f"Extra{number}", f"20{number:02}", house.ward_1, house.nurse)
        read(house, put_on(house, book, worker=worker), 2)
    assert queries() == few


def test_the_day_the_patches_came_off_is_kept_and_another_time_than_two_days_is_told(
    house: House, book: Book
) -> None:
    test = put_on(house, book, applied_on=TODAY - timedelta(days=4))
    read(house, test, 4, patches_off_on=test.applied_on + timedelta(days=3))
    kept = as_patch_test(PatchTest.objects.get(pk=test.pk))
    assert kept.occluded_until == test.applied_on + timedelta(days=3)
    told = occlusion_caution(kept, reading_rules(book, test.applied_on))
    assert told is not None
    assert told.says.startswith("The patches stayed on for 3 days")


def test_no_earlier_reading_was_taken_under_the_patches(house: House, book: Book) -> None:
    test = put_on(house, book, applied_on=TODAY - timedelta(days=4))
    read(house, test, 2)
    with pytest.raises(BadInput, match="after a reading of"):
        read(house, test, 4, patches_off_on=test.applied_on + timedelta(days=3))
    assert test.readings.count() == 1
