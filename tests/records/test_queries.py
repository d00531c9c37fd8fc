"""Every clinical read is by someone who may, of a record that is theirs to see, and leaves its row."""

from collections.abc import Callable

import pytest

from tests.conftest import NOW, House
from tests.records.test_actions import letter_for, walk
from thenar.errors import NotAllowed
from thenar.knowledge import Book
from thenar.records.actions.cases import open_case
from thenar.records.actions.checks import submit_check
from thenar.records.letter_states import Step
from thenar.records.models import AuditRow, User
from thenar.records.queries.cases import case_story
from thenar.records.queries.links import sent_check
from thenar.records.queries.mine import my_letter, my_story, who_looked
from thenar.records.queries.team import released_letter, team_of
from thenar.records.queries.today import what_waits
from thenar.records.queries.workers import find_workers, worker_story
from thenar.records.rights import NotVisible


def test_a_look_at_a_record_leaves_a_row_with_name_and_reason(house: House) -> None:
    worker_story(ref=house.wanda.ref, by=house.alice, now=NOW, why="clinic")
    row = AuditRow.objects.get(event="record looked at")
    assert (row.who, row.worker_ref, row.why, row.data_class) == ("alice", house.wanda.ref, "clinic", "C1")


def test_a_look_that_cannot_be_noted_shows_nothing(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*args: object, **kwargs: object) -> None:
        raise OSError("disk full")

    monkeypatch.setattr("thenar.records.queries.workers.note", broken)
    with pytest.raises(OSError, match="disk full"):
        worker_story(ref=house.wanda.ref, by=house.alice, now=NOW)


def test_a_clerk_sees_who_but_not_what(house: House) -> None:
    open_case(worker=house.wanda, by=house.alice, now=NOW)
    story = worker_story(ref=house.wanda.ref, by=house.clara, now=NOW)
    assert story.worker == house.wanda
    assert (story.clinical, story.cases, story.checks, story.plan) == (False, (), (), None)


@pytest.mark.parametrize("who", ["mona", "nils", "ada"])
def test_others_do_not_reach_a_record(house: House, who: str) -> None:
    case = open_case(worker=house.wanda, by=house.alice, now=NOW)
    for look in (worker_story, case_story):
        with pytest.raises(NotAllowed):
            look(ref=case.ref, by=getattr(house, who), now=NOW)


def test_a_practitioner_does_not_reach_their_own_record_through_the_clinic(house: House) -> None:
    house.wanda.user = house.alice
    house.wanda.save()
    with pytest.raises(NotVisible):
        worker_story(ref=house.wanda.ref, by=house.alice, now=NOW)
    assert find_workers(text="Wanda", by=house.alice, now=NOW) == ()


def test_absent_and_hidden_records_read_the_same(house: House) -> None:
    house.wanda.user = house.alice
    house.wanda.save()
    with pytest.raises(NotVisible) as hidden:
        worker_story(ref=house.wanda.ref, by=house.alice, now=NOW)
    with pytest.raises(NotVisible) as absent:
        worker_story(ref="zzzzzzzzzzzz", by=house.alice, now=NOW)
    assert str(hidden.value) == str(absent.value)


@pytest.mark.parametrize("typed", ["wan", "WANDA", "exam wan", "1001", "wándà"])
def test_a_worker_is_found_by_the_start_of_a_name_or_the_number(house: House, typed: str) -> None:
    assert [found.worker for found in find_workers(text=typed, by=house.alice, now=NOW)] == [house.wanda]


def test_today_puts_the_most_urgent_first_and_then_the_longest_waiting(house: House, book: Book) -> None:
    answers = {"routine": {"soreness": "yes"}, "emergency": {"breathing": "yes"}}
    for worker, given in zip((house.wanda, house.yusuf), answers.values(), strict=True):
        no = {
            question.id: question.answers[0] if question.answers else "no"
            for question in book.tables["triage"].question
        }
        submit_check(
            worker=worker,
            answers={**no, **given},
            given_by="worker",
            by=worker.user,
            now=NOW,
            book=book,
        )
    waiting = what_waits(by=house.alice, now=NOW, book=book).checks
    assert [line.check.urgency for line in waiting] == ["emergency", "routine"]


def release(house: House) -> str:
    letter = letter_for(house)
    walk(letter, house, Step.CONTENT_AGREED, Step.OFFERED, Step.SEEN, Step.CONSENTED, Step.RELEASED)
    return letter.ref


def test_a_manager_sees_a_released_adjustment_and_nothing_before(house: House) -> None:
    letter = letter_for(house)
    walk(letter, house, Step.CONTENT_AGREED, Step.OFFERED, Step.SEEN, Step.CONSENTED)
    assert team_of(by=house.mona, now=NOW).adjustments == ()
    walk(letter, house, Step.RELEASED)
    (line,) = team_of(by=house.mona, now=NOW).adjustments
    assert line.measures == ("No dishwashing.",)


def test_another_manager_sees_nothing_of_it(house: House) -> None:
    ref = release(house)
    assert team_of(by=house.nils, now=NOW).adjustments == ()
    with pytest.raises(NotVisible):
        released_letter(ref=ref, by=house.nils, now=NOW)


def test_a_manager_whose_worker_has_moved_away_sees_it_no_longer(house: House) -> None:
    release(house)
    house.wanda.posts.update(area=house.ward_2)
    assert team_of(by=house.mona, now=NOW).adjustments == ()


def test_a_worker_sees_a_letter_only_once_it_is_offered(house: House) -> None:
    letter = letter_for(house)
    assert house.wanda.user is not None
    with pytest.raises(NotVisible):
        my_letter(ref=letter.ref, by=house.wanda.user, now=NOW)
    walk(letter, house, Step.CONTENT_AGREED, Step.OFFERED)
    assert my_letter(ref=letter.ref, by=house.wanda.user, now=NOW) == letter


def test_a_sent_check_is_shown_to_no_other_account(house: House, book: Book) -> None:
    check = submit_check(
        worker=house.wanda, answers={}, given_by="worker", by=house.wanda.user, now=NOW, book=book
    )
    assert sent_check(ref=check.ref, by=house.wanda.user, now=NOW) == check
    assert sent_check(ref=check.ref, by=house.yusuf.user, now=NOW) is None


def test_a_worker_sees_who_looked_by_name(house: House) -> None:
    worker_story(ref=house.wanda.ref, by=house.alice, now=NOW)
    assert house.wanda.user is not None
    looks = who_looked(by=house.wanda.user, now=NOW)
    assert "Alice Example" in {look.who for look in looks}


@pytest.mark.parametrize("look", [my_story, who_looked], ids=["my record", "who looked"])
def test_someone_without_a_record_of_their_own_is_told_nothing(
    house: House, look: Callable[..., object]
) -> None:
    assert isinstance(house.ada, User)
    with pytest.raises(NotVisible):
        look(by=house.ada, now=NOW)
