"""What holds for whatever is evaluated, and how often a change put into made-up figures is found again."""

from datetime import date
from math import log

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from thenar.population.evaluation import evaluate
from thenar.population.evaluation_terms import Change, Shape, WardMonth
from thenar.population.relapse import Followed, LastSeen, count_relapses
from thenar.population.stated import AnswerFrom, Grounds, Period
from thenar.population.time_to_clear import CaseSpan, Ending, time_to_clear
from thenar.population.trial_planner import Outcome, Trial, judge_trial, wards_needed

GROUNDS = Grounds("hand eczema", AnswerFrom.CLINIC, Period(date(2023, 1, 1), date(2026, 12, 31)))
MONTHS, CAME = 36, 20


def month(place):
    return date(2023 + place // 12, place % 12 + 1, 1)


def hospital(seed, *, wards, changed, log_ratio, growth=0.0, spread=6.0, own_course=0.0):
    """Wards with levels and seasons of their own, negative-binomial months, a change on the first of them.

    `own_course` lets each ward's rate wander from one half of the series to the other (standard deviation of
    its logarithm), as real wards do.
    """
    draw, rows = np.random.default_rng(seed), []
    for ward in range(wards):
        level, people = draw.normal(log(0.12), 0.3), draw.uniform(1.5, 4.5)
        wander = draw.normal(0, own_course)
        for place in range(MONTHS):
            after = place >= CAME
            effect = (log_ratio + growth * (place - CAME) / 12) * after * (ward < changed)
            season = 0.25 * np.cos(2 * np.pi * place / 12)
            rate = np.exp(level + 0.1 * place / 12 + season + 0.1 * after + effect + wander * after)
            mean = rate * people * 12
            rows.append(
                WardMonth(
                    f"Ward {ward:02}",
                    month(place),
                    int(draw.negative_binomial(spread, spread / (spread + mean))),
                    people,
                )
            )
    change = Change(
        what="Cream posts",
        wards=frozenset(f"Ward {ward:02}" for ward in range(changed)),
        on=month(CAME),
        shape=Shape.AT_ONCE_AND_GROWING if growth else Shape.AT_ONCE,
    )
    return rows, change


def found_again(times, **put_in):
    """How often the truth lies within the interval, and how often 1 does."""
    truth, held, none = np.exp(put_in["log_ratio"]), 0, 0
    for seed in range(times):
        level = evaluate(*hospital(seed, **put_in), GROUNDS).level
        held += level.lower <= truth <= level.upper
        none += level.lower <= 1 <= level.upper
    return held, none


@pytest.mark.parametrize(
    "put_in",
    [
        {"wards": 1, "changed": 1, "log_ratio": log(0.6)},
        {"wards": 6, "changed": 6, "log_ratio": log(0.6)},
        {"wards": 18, "changed": 8, "log_ratio": log(0.6)},
        {"wards": 8, "changed": 4, "log_ratio": log(0.6), "growth": -0.2},
    ],
    ids=["one ward", "six wards, none to compare", "eight of eighteen", "growing, four of eight"],
)
def test_a_seeded_effect_lies_within_its_interval_in_ninety_of_a_hundred(put_in):
    held, _ = found_again(100, **put_in)
    assert held >= 90


def test_where_nothing_changed_and_wards_wander_few_findings_are_false():
    """One in twenty at most, so up to 11 of 100 by chance (binomial, 99.5 %)."""
    _, none = found_again(100, wards=16, changed=6, log_ratio=0.0, own_course=0.25)
    assert none >= 89


def test_a_large_effect_on_eight_wards_is_mostly_seen():
    _, none = found_again(20, wards=18, changed=8, log_ratio=log(0.4))
    assert none <= 4


@settings(max_examples=15)
@given(st.randoms(use_true_random=False), st.integers(0, 1000))
def test_the_order_of_the_rows_changes_nothing(chance, seed):
    rows, change = hospital(seed, wards=4, changed=2, log_ratio=log(0.6))
    shuffled = list(rows)
    chance.shuffle(shuffled)
    assert evaluate(shuffled, change, GROUNDS) == evaluate(rows, change, GROUNDS)


@settings(max_examples=15)
@given(st.integers(0, 1000), st.floats(0.1, 1000))
def test_the_unit_of_person_time_changes_no_ratio(seed, factor):
    rows, change = hospital(seed, wards=4, changed=2, log_ratio=log(0.6))
    other = [WardMonth(row.ward, row.month, row.cases, row.person_years * factor) for row in rows]
    one, two = evaluate(rows, change, GROUNDS), evaluate(other, change, GROUNDS)
    assert two.ratio.estimate == pytest.approx(one.ratio.estimate, rel=1e-6)
    assert two.ratio.upper == pytest.approx(one.ratio.upper, rel=1e-5)


rates = st.floats(0.005, 0.5)
trials = st.builds(
    Trial,
    outcome=st.sampled_from(Outcome),
    usual=rates,
    with_change=st.floats(0.51, 0.9),
    per_ward=st.floats(5, 500),
    spread=st.floats(0, 1),
)


@given(trials, st.floats(0.2, 0.99))
def test_wards_and_power_undo_each_other(trial, power):
    wards = wards_needed(trial, power)
    assume(wards >= 2)
    assert judge_trial(trial, int(np.ceil(wards))).power >= power - 1e-9


@given(trials, st.integers(2, 50))
def test_more_wards_never_see_less(trial, wards):
    assert judge_trial(trial, wards + 1).power >= judge_trial(trial, wards).power


def test_a_planned_trial_of_rates_reaches_its_power_in_made_up_trials():
    """Wards' rates compared by t test, as the planned trial would be; 2,000 trials, so ± 2.5 % by chance."""
    trial = Trial(outcome=Outcome.RATE, usual=0.2, with_change=0.12, per_ward=80, spread=0.3)
    wards = int(np.ceil(wards_needed(trial, 0.8)))
    draw, shape = np.random.default_rng(3), 1 / trial.spread**2
    from scipy import stats

    arms = [
        draw.poisson(draw.gamma(shape, rate / shape, (2000, wards)) * trial.per_ward) / trial.per_ward
        for rate in (trial.usual, trial.with_change)
    ]
    seen = (stats.ttest_ind(*arms, axis=1).pvalue < 0.05).mean()
    assert seen == pytest.approx(judge_trial(trial, wards).power, abs=0.05)


spans = st.lists(st.builds(CaseSpan, st.integers(0, 400), st.sampled_from(Ending)), min_size=2, max_size=40)


@given(spans)
def test_shares_by_day_are_shares_and_the_curve_only_falls(cases):
    assume(any(case.ending is Ending.CLEAR for case in cases))
    found = time_to_clear(cases)
    still = [step.not_yet.estimate for step in found.curve]
    assert still == sorted(still, reverse=True)
    for step in found.curve:
        assert 0 <= step.not_yet.lower <= step.not_yet.estimate + 1e-12
        assert step.not_yet.estimate <= step.not_yet.upper + 1e-12 <= 1 + 2e-12
    for look in found.looks:
        others = sum(share for _, share in look.otherwise)
        assert -1e-9 <= look.clear.estimate <= 1 - others + 1e-9
        assert look.clear.lower <= look.clear.estimate + 1e-12
        assert look.clear.estimate <= look.clear.upper + 1e-12


@st.composite
def followed(draw):
    days = draw(st.integers(1, 400))
    relapses = sorted(draw(st.sets(st.integers(1, days), max_size=4)))
    return Followed(days, tuple(relapses), draw(st.sampled_from(LastSeen)))


@given(st.lists(followed(), min_size=2, max_size=25))
def test_the_mean_count_only_grows_and_leaving_only_lowers_it(people):
    assume(any(one.relapses for one in people))
    ended = [count.relapses.estimate for count in count_relapses(people).counts]
    on = [count.relapses.estimate for count in count_relapses(people, leaving_ends_it=False).counts]
    assert ended == sorted(ended)
    assert all(one <= other + 1e-9 for one, other in zip(ended, on, strict=True))


@given(st.lists(st.lists(st.integers(1, 365), max_size=4, unique=True), min_size=2, max_size=20))
def test_where_everybody_is_watched_throughout_the_mean_count_is_a_plain_mean(courses):
    assume(any(courses))
    people = [Followed(365, tuple(sorted(course))) for course in courses]
    last = count_relapses(people).counts[-1]
    assert last.relapses.estimate == pytest.approx(sum(map(len, courses)) / len(courses))
