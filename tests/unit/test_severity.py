"""What scoring promises to the person who scores."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from thenar.knowledge import RuleNotInForce, load
from thenar.skin import hand_map
from thenar.skin.severity import (
    MOST_EXTENT,
    MOST_SIGN,
    Area,
    AreaSigns,
    GradeOutOfRange,
    HandSigns,
    ImpossibleSigns,
    ImpossibleTotal,
    QueryKind,
    Sign,
    band_of,
    judge_change,
    query_signs,
    refuse_impossible_total,
    score_hands,
)

BOOK = load()
DAY = date(2026, 11, 25)
CLEAR_AREA = AreaSigns(0, 0, 0, 0, 0, 0, 0)
CLEAR = HandSigns(CLEAR_AREA, CLEAR_AREA, CLEAR_AREA, CLEAR_AREA, CLEAR_AREA)


def with_area(area: Area, **grades: int) -> HandSigns:
    return replace(CLEAR, **{area: replace(CLEAR_AREA, **grades)})


@pytest.mark.parametrize("area", Area)
@pytest.mark.parametrize("sign", Sign)
@pytest.mark.parametrize("grade", [-1, 4, 1.0, True, "1", None])
def test_a_grade_off_the_scale_is_refused_by_area_and_sign(area, sign, grade):
    with pytest.raises(GradeOutOfRange, match=f"{area}: {sign} is .* from 0 to 3"):
        score_hands(with_area(area, **{sign: grade, "extent": 1}), BOOK, DAY)


@pytest.mark.parametrize("area", Area)
@pytest.mark.parametrize("extent", [-1, 5, 2.5, False])
def test_an_extent_off_the_scale_is_refused_by_area(area, extent):
    with pytest.raises(GradeOutOfRange, match=f"{area}: extent is .* from 0 to 4"):
        score_hands(with_area(area, erythema=1, extent=extent), BOOK, DAY)


def test_contradictions_of_all_areas_are_asked_back_at_once_and_not_scored():
    signs = replace(
        CLEAR,
        fingertips=replace(CLEAR_AREA, extent=2),
        palms=replace(CLEAR_AREA, fissures=2, scaling=1),
        backs=replace(CLEAR_AREA, erythema=1, extent=1),
    )
    with pytest.raises(ImpossibleSigns) as refusal:
        score_hands(signs, BOOK, DAY)
    assert [(query.area, query.kind) for query in refusal.value.queries] == [
        (Area.FINGERTIPS, QueryKind.EXTENT_WITHOUT_SIGNS),
        (Area.PALMS, QueryKind.SIGNS_WITHOUT_EXTENT),
    ]
    assert "fingertips: extent is 2, but every sign is 0." in refusal.value.what
    assert "palms: fissures 2, scaling 1, but extent is 0." in refusal.value.what


def test_signs_that_agree_raise_no_query():
    assert query_signs(with_area(Area.BACKS, erythema=1, extent=1)) == ()


def test_hard_to_judge_is_kept_and_changes_no_number():
    signs = with_area(Area.BACKS, erythema=2, extent=3)
    plain = score_hands(signs, BOOK, DAY)
    marked = score_hands(signs, BOOK, DAY, hard_to_judge=True)
    assert marked.hard_to_judge
    assert replace(marked, hard_to_judge=False) == plain


def test_a_score_names_its_edition_and_the_source_of_its_band():
    severity = score_hands(CLEAR, BOOK, DAY)
    assert severity.edition == BOOK.edition
    assert severity.band.citation.source.doi == "10.1111/bjd.18295"


def test_no_band_is_called_mild():
    labels = {band_of(total, BOOK, DAY).label for total in (0, 1, 16, 17, 37, 38, 116, 117, 360)}
    assert labels == {"clear", "almost clear", "moderate", "severe", "very severe"}


def test_a_day_before_the_bands_were_published_is_refused():
    with pytest.raises(RuleNotInForce, match=r"severity\.band\.clear"):
        band_of(0, BOOK, date(2019, 9, 4))


@pytest.mark.parametrize("total", [-1, 361, 359, 12.0, "12", None, True])
def test_a_total_that_cannot_occur_is_refused(total):
    with pytest.raises(ImpossibleTotal, match="No examination can give"):
        refuse_impossible_total(total)


def test_a_change_is_never_judged_from_an_impossible_total():
    with pytest.raises(ImpossibleTotal):
        judge_change(359, 10, BOOK, DAY)
    with pytest.raises(ImpossibleTotal):
        judge_change(10, 361, BOOK, DAY)


def test_both_yardsticks_are_always_named_with_threshold_and_source():
    judgements = judge_change(26, 17, BOOK, DAY)
    assert [(j.yardstick, j.threshold, j.difference) for j in judgements] == [
        ("oosterhaven-2020", Decimal(41), -9),
        ("yuksel-2021", Decimal("8.3"), -9),
    ]
    assert [j.citation.source.year for j in judgements] == [2020, 2021]
    assert "11 in moderate to severe" in judgements[1].note


NOTHING = "no change that can be told"


@pytest.mark.parametrize(
    ("before", "after", "by_oosterhaven", "by_yuksel"),
    [
        (20, 20, NOTHING, NOTHING),
        (20, 12, NOTHING, NOTHING),  # 8 points fewer: below 8.3
        (20, 11, NOTHING, "improved"),  # 9 points fewer: above 8.3
        (11, 20, NOTHING, "worse"),
        (12, 20, NOTHING, NOTHING),
        (60, 20, NOTHING, "improved"),  # 40 points fewer: below 41
        (61, 20, "improved", "improved"),  # 41 points fewer: at the bound, which counts
        (20, 61, "worse", "worse"),
    ],
)
def test_a_change_is_called_one_only_from_the_yardstick_up(before, after, by_oosterhaven, by_yuksel):
    verdicts = [judgement.verdict for judgement in judge_change(before, after, BOOK, DAY)]
    assert verdicts == [by_oosterhaven, by_yuksel]


def test_the_scale_in_the_code_is_the_scale_in_the_knowledge():
    assert BOOK.rule("severity.structure.sign-most").on(DAY).amount == MOST_SIGN
    assert BOOK.rule("severity.structure.extent-most").on(DAY).amount == MOST_EXTENT
    most = MOST_SIGN * len(Sign) * MOST_EXTENT * len(Area)
    assert BOOK.rule("severity.structure.total-most").on(DAY).amount == most


def test_the_hand_map_marks_the_areas_that_are_scored():
    assert tuple(hand_map.AREAS) == tuple(Area)
