"""Whatever the patch test: it survives a file, a positive stays positive, indices keep their bounds."""

from dataclasses import replace
from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from tests.patch_by_hand import APPLIED, QUALITY, RULES, known
from thenar.allergy.patch_days import Standing, readings_due
from thenar.allergy.patch_proposals import negative_allergens, proposed_sensitisations
from thenar.allergy.patch_quality import (
    Quality,
    Reactions,
    count_reactions,
    judge_preparation,
    reaction_index,
)
from thenar.allergy.patch_reading import Outcome, read_position
from thenar.allergy.patch_test import Kind, OwnProduct, PatchGrade, PatchTest, Position, Reading
from thenar.allergy.product import Category
from thenar.errors import BadInput
from thenar.exchange.patch_tests import NamedTest, read_patch_tests, write_patch_tests

TODAY = date(2027, 1, 1)
grades = st.sampled_from(PatchGrade)
words = st.text("abzÄéß09 ,;|\"'’.()%", min_size=1, max_size=12).map(
    lambda text: "w" + " ".join(text.split())
)
cells = st.just("") | words


@st.composite
def positions(draw: st.DrawFn, number: int) -> Position:
    kind = draw(st.sampled_from(Kind))
    own = OwnProduct(draw(st.sampled_from(Category)), draw(words)) if kind is Kind.OWN_PRODUCT else None
    return Position(number, draw(words), draw(cells), draw(cells), draw(cells), kind, own)


@st.composite
def patch_tests(draw: st.DrawFn) -> PatchTest:
    numbers = draw(st.lists(st.integers(1, 999), min_size=1, max_size=6, unique=True))
    occlusion = draw(st.none() | st.integers(1, 3))
    days = st.sets(st.integers(occlusion or 1, 90), max_size=4)
    readings = tuple(
        Reading(number, APPLIED + timedelta(day), draw(grades))
        for number in numbers
        for day in sorted(draw(days))
    )
    off = APPLIED + timedelta(occlusion) if occlusion else None
    return PatchTest(APPLIED, off, tuple(draw(positions(number)) for number in numbers), readings)


courses = st.lists(
    st.tuples(
        st.integers(1, 20), st.sampled_from([one for one in PatchGrade if one is not PatchGrade.NOT_TESTED])
    ),
    unique_by=lambda mark: mark[0],
    max_size=6,
)


def read_as(course: list[tuple[int, PatchGrade]]) -> PatchTest:
    readings = tuple(Reading(1, APPLIED + timedelta(day), grade) for day, grade in course)
    return PatchTest(APPLIED, None, (Position(1, "nickel", "5", "pet"),), readings)


@given(tests=st.lists(patch_tests(), max_size=4).filter(bool), delimiter=st.sampled_from(",;\t|"))
def test_any_tests_come_back_from_a_file_as_they_went(tests: list[PatchTest], delimiter: str) -> None:
    named = tuple(NamedTest(f"T-{number}", test) for number, test in enumerate(tests))
    back = read_patch_tests(write_patch_tests(named).encode(), name="tests.csv", today=TODAY)
    assert back.problems == ()
    assert back.tests == named


@given(st.text(max_size=400) | st.binary(max_size=400))
def test_no_file_whatever_brings_anything_but_problems_or_a_refusal(content: str | bytes) -> None:
    raw = content.encode("utf-8", "replace") if isinstance(content, str) else content
    head = b"test,put on,position,allergen,read on,grade\n"
    for whole in (raw, head + raw):
        try:
            read = read_patch_tests(whole, name="tests.csv", today=TODAY)
        except BadInput:
            continue
        assert not read.tests or not any(problem.serious for problem in read.problems)


@given(course=courses, more=st.tuples(st.integers(21, 60), grades))
def test_a_later_reading_never_takes_a_positive_away(
    course: list[tuple[int, PatchGrade]], more: tuple[int, PatchGrade]
) -> None:
    before = read_position(read_as(course), 1, RULES)
    after = read_position(read_as([*course, more]), 1, RULES)
    assert after.is_positive or not before.is_positive


@given(course=courses)
def test_the_order_in_which_readings_are_written_down_changes_nothing(
    course: list[tuple[int, PatchGrade]],
) -> None:
    test = read_as(course)
    turned = replace(test, readings=test.readings[::-1])
    assert read_position(test, 1, RULES) == read_position(turned, 1, RULES)


@given(course=courses)
def test_negative_needs_a_reading_on_a_day_that_counts(course: list[tuple[int, PatchGrade]]) -> None:
    read = read_position(read_as(course), 1, RULES)
    if read.outcome is Outcome.NEGATIVE:
        assert any(3 <= day <= 5 for day, _ in course)
        assert all(grade is PatchGrade.NEGATIVE for day, grade in course if day >= 3)


@given(test=patch_tests())
def test_nothing_is_both_proposed_and_negative(test: PatchTest) -> None:
    table = {one.hapten: known(one.hapten) for one in test.positions}
    proposed = {one.allergen for one in proposed_sensitisations(test, RULES, table)}
    assert not proposed & {one.allergen for one in negative_allergens(test, RULES, table)}


@given(test=patch_tests(), days=st.integers(0, 120))
def test_a_reading_with_positions_left_out_is_never_called_taken(test: PatchTest, days: int) -> None:
    for due in readings_due(test, RULES, APPLIED + timedelta(days)):
        assert (due.standing is Standing.TAKEN) == (not due.unread)


@given(tests=st.lists(patch_tests(), max_size=4))
def test_every_allergen_position_is_counted_once(tests: list[PatchTest]) -> None:
    counted = count_reactions(tests, RULES).values()
    total = sum((one.tests or 0) + one.unsettled for one in counted)
    assert total == sum(len(list(test.of_kind(Kind.ALLERGEN))) for test in tests)


@given(st.integers(0, 3000), st.integers(0, 3000), st.integers(0, 3000))
def test_a_reaction_index_lies_in_its_interval_and_its_bounds(a: int, q: int, i: int) -> None:
    index = reaction_index(a, q, i)
    if index is None:
        assert a + q + i == 0
        return
    assert -1 <= index.lower <= index.estimate <= index.upper <= 1
    # One allergic reaction more never lowers the index; one doubtful more never raises it.
    more, less = reaction_index(a + 1, q, i), reaction_index(a, q + 1, i)
    assert more is not None
    assert less is not None
    assert less.estimate <= index.estimate <= more.estimate


@given(st.integers(0, 200), st.integers(0, 200), st.integers(0, 200), st.integers(0, 200))
def test_every_preparation_has_one_verdict_and_few_reactions_have_none(
    w: int, s: int, q: int, i: int
) -> None:
    judged = judge_preparation(Reactions(w + s, q, i, w), QUALITY)
    few = w + s + q + i < 11 or w + s < 4
    if w + s + q + i == 0:
        assert judged.quality is Quality.NOT_KNOWN
        return
    assert few == (judged.quality is Quality.TOO_FEW)
    assert judged.quality is not Quality.NOT_KNOWN
