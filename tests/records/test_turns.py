"""Two people at one record: the second waits, then meets what the first did. PostgreSQL runs both at once."""

import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta

import pytest
from django.db import connection, transaction

from tests.conftest import NOW, TODAY, House
from tests.records.shelves import MIT, add, declare
from thenar.errors import Conflict
from thenar.knowledge import Book
from thenar.records.actions.cases import close_case, open_case
from thenar.records.actions.checks import record_sorting, submit_check
from thenar.records.actions.examinations import Circumstances, record_examination
from thenar.records.actions.products import accept_reading
from thenar.records.actions.reviews import finish_review, set_review
from thenar.records.models import CheckSorting, Examination, ReadingAccepted, ReviewOutcome
from thenar.skin.severity import AreaSigns, HandSigns

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.skipif(
        "connection.vendor != 'postgresql'",
        reason="SQLite lets one transaction in at a time, from its first statement on",
    ),
]
_CLEAR = AreaSigns(0, 0, 0, 0, 0, 0, 0)
LONGEST_WAIT = 10.0  # seconds


def second_while_first(first: Callable[[], object], second: Callable[[], object]) -> None:
    """Begin `second` after `first` has written, and end the first only once the second waits for it."""
    with ThreadPoolExecutor(1) as other:
        with transaction.atomic():
            first()
            waiting = other.submit(_and_hang_up, second)
            _until_someone_waits()
        waiting.result(timeout=LONGEST_WAIT)


def _and_hang_up(act: Callable[[], object]) -> object:
    try:
        return act()
    finally:
        connection.close()


def _until_someone_waits() -> None:
    until = time.monotonic() + LONGEST_WAIT
    while time.monotonic() < until:
        with connection.cursor() as cursor:
            cursor.execute("SELECT count(*) FROM pg_locks WHERE NOT granted")
            if cursor.fetchone()[0]:
                return
        time.sleep(0.01)
    pytest.fail("the second never had to wait")


def test_two_decisions_on_one_check_leave_one_and_a_message(house: House, book: Book) -> None:
    check = submit_check(
        worker=house.wanda, answers={}, given_by="worker", by=house.wanda.user, now=NOW, book=book
    )
    with pytest.raises(Conflict, match="already dealt with"):
        second_while_first(
            lambda: record_sorting(check=check, decision="advice", by=house.alice, now=NOW),
            lambda: record_sorting(check=check, decision="no_action", by=house.bob, now=NOW),
        )
    assert CheckSorting.objects.get().decision == "advice"


def test_two_outcomes_of_one_review_leave_one_and_a_message(house: House) -> None:
    case = open_case(worker=house.wanda, by=house.alice, now=NOW)
    review = set_review(case=case, due_on=TODAY, purpose="look", by=house.alice, now=NOW)
    with pytest.raises(Conflict, match="already has an outcome"):
        second_while_first(
            lambda: finish_review(
                review=review,
                outcome="done",
                no_next=True,
                note_text="Well; to be closed.",
                by=house.alice,
                now=NOW,
            ),
            lambda: finish_review(review=review, outcome="not_needed", by=house.bob, now=NOW),
        )
    assert ReviewOutcome.objects.get().outcome == "done"


def test_nothing_is_added_to_a_case_that_is_being_closed(house: House, book: Book) -> None:
    case = open_case(worker=house.wanda, by=house.alice, now=NOW)
    with pytest.raises(Conflict, match="closed"):
        second_while_first(
            lambda: close_case(case=case, outcome="clear", closed_on=TODAY, by=house.alice, now=NOW),
            lambda: record_examination(
                case=case,
                signs=HandSigns(_CLEAR, _CLEAR, _CLEAR, _CLEAR, _CLEAR),
                marks=(),
                examined_on=TODAY,
                circumstances=Circumstances(),
                by=house.bob,
                now=NOW,
                book=book,
            ),
        )
    assert not Examination.objects.exists()


def test_a_reading_accepted_while_the_product_is_declared_anew_is_not_lost(house: House, book: Book) -> None:
    product = add(house)
    before = declare(house, book, product, "Aqua, Metilisotiazolinon", TODAY - timedelta(days=9))
    second_while_first(
        lambda: accept_reading(
            declaration=before, written="Metilisotiazolinon", allergen=MIT, book=book, by=house.alice, now=NOW
        ),
        lambda: declare(house, book, product, "Aqua, Glycerin, Metilisotiazolinon"),
    )
    assert ReadingAccepted.objects.filter(declaration__from_on=TODAY, allergen=MIT).exists()
