"""What holds for every pair of hands that can be entered."""

import json
from dataclasses import asdict, fields, replace
from datetime import date
from itertools import pairwise

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from thenar.knowledge import load
from thenar.skin.severity import (
    Area,
    AreaSigns,
    HandSigns,
    ImpossibleSigns,
    Sign,
    band_of,
    judge_change,
    query_signs,
    refuse_impossible_total,
    score_hands,
)

BOOK = load()
DAY = date(2026, 11, 25)
BANDS_IN_ORDER = ("clear", "almost-clear", "moderate", "severe", "very-severe")

grades = st.integers(0, 3)
any_area = st.builds(AreaSigns, grades, grades, grades, grades, grades, grades, st.integers(0, 4))
any_hands = st.builds(HandSigns, any_area, any_area, any_area, any_area, any_area)
sound_area = any_area.filter(lambda area: bool(area.extent) == bool(area.sum_of_signs()))
sound_hands = st.builds(HandSigns, sound_area, sound_area, sound_area, sound_area, sound_area)


def rank(total: int) -> int:
    return BANDS_IN_ORDER.index(band_of(total, BOOK, DAY).code)


@given(sound_hands)
def test_the_total_lies_between_0_and_360_and_can_occur(signs):
    severity = score_hands(signs, BOOK, DAY)
    assert 0 <= severity.total <= 360
    assert severity.total == sum(area.score for area in severity.areas)
    assert all(0 <= area.score <= 72 for area in severity.areas)
    refuse_impossible_total(severity.total)


@given(sound_hands, st.sampled_from(Area), st.sampled_from([field.name for field in fields(AreaSigns)]))
def test_a_worse_grade_raises_the_total_and_never_lowers_the_band(signs, area, field):
    seen = signs.at(area)
    assume(seen.extent > 0)
    grade = getattr(seen, field)
    assume(grade < (4 if field == "extent" else 3))
    worse = replace(signs, **{area: replace(seen, **{field: grade + 1})})
    before = score_hands(signs, BOOK, DAY)
    after = score_hands(worse, BOOK, DAY)
    assert after.total > before.total
    assert rank(after.total) >= rank(before.total)


@given(sound_hands, st.permutations(list(Area)))
def test_which_area_is_affected_does_not_change_the_total(signs, order):
    moved = HandSigns(*(signs.at(area) for area in order))
    assert score_hands(moved, BOOK, DAY).total == score_hands(signs, BOOK, DAY).total


@given(sound_hands, st.permutations(list(Sign)))
def test_every_sign_counts_alike(signs, order):
    moved = HandSigns(
        *(
            AreaSigns(*(signs.at(area).grade(sign) for sign in order), extent=signs.at(area).extent)
            for area in Area
        )
    )
    assert score_hands(moved, BOOK, DAY).total == score_hands(signs, BOOK, DAY).total


@given(any_hands)
def test_signs_survive_json(signs):
    read = json.loads(json.dumps(asdict(signs)))
    assert HandSigns(**{area: AreaSigns(**grades) for area, grades in read.items()}) == signs


@given(any_hands)
def test_hands_are_either_scored_or_asked_back_with_every_contradiction(signs):
    contradictions = {
        area for area in Area if bool(signs.at(area).extent) != bool(signs.at(area).sum_of_signs())
    }
    assert {query.area for query in query_signs(signs)} == contradictions
    if contradictions:
        with pytest.raises(ImpossibleSigns) as refusal:
            score_hands(signs, BOOK, DAY)
        assert {query.area for query in refusal.value.queries} == contradictions
    else:
        score_hands(signs, BOOK, DAY)


possible_totals = st.builds(lambda signs: score_hands(signs, BOOK, DAY).total, sound_hands)


@given(possible_totals, possible_totals)
def test_a_change_is_judged_alike_in_both_directions(before, after):
    opposite = {"improved": "worse", "worse": "improved"}
    there = judge_change(before, after, BOOK, DAY)
    back = judge_change(after, before, BOOK, DAY)
    assert [j.verdict for j in back] == [opposite.get(j.verdict, j.verdict) for j in there]


@given(possible_totals, possible_totals)
def test_a_change_below_a_yardstick_is_never_called_one(before, after):
    for judgement in judge_change(before, after, BOOK, DAY):
        told = judgement.verdict != "no change that can be told"
        assert told == (abs(after - before) >= judgement.threshold)


def test_bands_never_go_down_as_the_total_goes_up():
    possible = [total for total in range(361) if total < 337]
    assert all(rank(lower) <= rank(higher) for lower, higher in pairwise(possible))
