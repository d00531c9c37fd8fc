"""What an evaluation, a trial plan, times to clear and relapses promise, and what they refuse."""

from dataclasses import replace
from datetime import date

import pytest

from thenar.errors import BadInput
from thenar.population.counts import UnusableCount
from thenar.population.evaluation import evaluate
from thenar.population.evaluation_terms import Arm, CannotEvaluate, Change, Shape, WardMonth
from thenar.population.relapse import Followed, ImpossibleCourse, LastSeen, count_relapses
from thenar.population.stated import AnswerFrom, Grounds, Period
from thenar.population.time_to_clear import CaseSpan, Ending, NothingEnded, time_to_clear
from thenar.population.trial_planner import (
    Outcome,
    Trial,
    judge_trial,
    plan_trial,
    spread_of_correlation,
    wards_needed,
)

GROUNDS = Grounds("hand eczema", AnswerFrom.EXAMINATION, Period(date(2024, 1, 1), date(2026, 12, 31)))
CAREFUL = {"picked_for_high_rate": False}


def month(place):
    return date(2024 + place // 12, place % 12 + 1, 1)


def ward(name, cases, years=4.0):
    return [WardMonth(name, month(place), many, years) for place, many in enumerate(cases)]


def wobble(level, months):
    """Counts around a level that differ a little from month to month."""
    return [level + (1, 0, 2, 0, 1)[place % 5] for place in range(months)]


def came(*wards, on=12, **more):
    return Change(what="Cream posts", wards=frozenset(wards), on=month(on), **more)


HALVED = ward("Ward 1", [*wobble(8, 12), *wobble(3, 12)])
STEADY = ward("Ward 9", wobble(8, 24))
FALLING = ward("Ward 9", [*wobble(8, 12), *wobble(3, 12)])


def test_a_fall_on_the_changed_ward_alone_is_its_effect():
    halved, steady = ward("Ward 1", [*wobble(24, 12), *wobble(9, 12)]), ward("Ward 9", wobble(24, 24))
    found = evaluate(halved + steady, came("Ward 1"), GROUNDS, season_pairs=0)
    assert found.ratio.upper < 1
    assert "fewer" in found.sentence
    assert "and 1 comparison ward." in found.sentence


def test_a_fall_that_comparison_wards_share_is_no_effect():
    found = evaluate(HALVED + FALLING, came("Ward 1"), GROUNDS, season_pairs=0)
    assert found.ratio.estimate == pytest.approx(1)
    assert "do not show whether it changed anything" in found.sentence


def test_cases_seen_are_the_ratio_times_what_was_to_be_expected():
    found = evaluate(HALVED + STEADY, came("Ward 1"), GROUNDS)
    assert found.ratio.estimate * found.without_change == pytest.approx(found.cases_after)
    assert found.cases_after == sum(one.cases for one in HALVED[12:])


def test_what_would_have_been_is_told_for_changed_wards_after_the_change_only():
    found = evaluate(HALVED + STEADY, came("Ward 1"), GROUNDS)
    told = [(one.arm, one.month) for one in found.months if one.without is not None]
    assert told == [(Arm.CHANGED, month(place)) for place in range(12, 24)]
    assert sum(one.without.estimate for one in found.months if one.without) == pytest.approx(
        found.without_change
    )


def test_the_month_the_change_falls_into_and_settling_months_are_left_out():
    change = replace(came("Ward 1"), on=date(2025, 1, 15), settling_months=2)
    found = evaluate(HALVED, change, GROUNDS)
    assert (found.months_before, found.months_after) == (12, 9)
    assert [one.month for one in found.months if one.fitted is None] == [month(12), month(13), month(14)]
    assert any("Months left out, from the day of the change on: 3" in one for one in found.cautions)


def test_a_growing_change_tells_its_slope():
    found = evaluate(HALVED + STEADY, came("Ward 1", shape=Shape.AT_ONCE_AND_GROWING), GROUNDS)
    assert found.slope is not None
    assert evaluate(HALVED + STEADY, came("Ward 1"), GROUNDS).slope is None


def test_one_ward_against_many_is_never_surer_than_chance_alone_allows():
    """Errors by ward are meaningless with one changed ward; quasi-Poisson is all there is, and it says so."""
    many = [row for place in range(5) for row in ward(f"Ward {place + 2}", wobble(8 + place, 24))]
    found = evaluate(HALVED + many, came("Ward 1"), GROUNDS)
    assert found.ratio.method == "quasi-Poisson"
    assert any("Fewer than 3 wards in an arm" in one for one in found.cautions)


def test_errors_by_ward_are_used_where_wards_allow_and_few_wards_are_said():
    apart = ([8, 3], [7, 6], [9, 2], [8, 8], [7, 7], [9, 9])
    rows = [
        row
        for place, (early, late) in enumerate(apart)
        for row in ward(f"Ward {place}", [*wobble(early, 12), *wobble(late, 12)])
    ]
    found = evaluate(rows, came("Ward 0", "Ward 1", "Ward 2"), GROUNDS)
    assert found.ratio.method == "clustered by ward"
    assert any("6 wards: errors by ward" in one for one in found.cautions)


def test_counts_more_even_than_chance_narrow_nothing():
    """20 ± 0 cases a month: spread is far below 1, and the interval is still that of a Poisson count."""
    even = ward("Ward 1", [20, 21] * 12)
    found = evaluate(even, came("Ward 1"), GROUNDS, season_pairs=0)
    assert found.spread < 0.1
    assert found.ratio.upper / found.ratio.estimate > 1.2


def test_a_ward_without_any_case_is_left_out_and_named():
    empty = ward("Ward 7", [0] * 24)
    with_it = evaluate(HALVED + STEADY + empty, came("Ward 1"), GROUNDS)
    without = evaluate(HALVED + STEADY, came("Ward 1"), GROUNDS)
    assert with_it.ratio == without.ratio
    assert any("Ward 7" in one for one in with_it.cautions)


@pytest.mark.parametrize(
    ("picked", "says"),
    [(None, "If the wards were picked"), (True, "The wards were picked"), (False, None)],
)
def test_regression_to_the_mean_is_said_unless_it_is_ruled_out(picked, says):
    found = evaluate(HALVED, came("Ward 1", picked_for_high_rate=picked), GROUNDS)
    assert any("regression to the mean" in one for one in found.cautions) is (says is not None)
    assert says is None or found.cautions[0].startswith(says)


def test_without_comparison_wards_other_changes_are_said():
    alone = evaluate(HALVED, came("Ward 1", **CAREFUL), GROUNDS)
    assert "whatever else changed at the same time is counted as its effect" in alone.cautions[0]
    compared = evaluate(HALVED + STEADY, came("Ward 1", **CAREFUL), GROUNDS)
    assert "only on these wards" in compared.cautions[0]


@pytest.mark.parametrize(
    ("source", "says"),
    [(AnswerFrom.SELF_REPORT, "may answer otherwise"), (AnswerFrom.CLINIC, "draws attention")],
)
def test_who_said_so_is_said(source, says):
    found = evaluate(HALVED, came("Ward 1"), replace(GROUNDS, answer_from=source))
    assert any(says in one for one in found.cautions)


def test_short_series_leave_season_in_and_say_so():
    found = evaluate(HALVED[:-1], came("Ward 1"), GROUNDS)
    assert found.season_pairs == 0
    assert any("Season is not taken out" in one for one in found.cautions)
    assert evaluate(HALVED, came("Ward 1"), GROUNDS).season_pairs == 2


def test_months_that_resemble_the_month_before_are_said():
    drifting = [9, 9, 10, 14, 15, 14, 10, 6, 5, 5, 6, 9, 9, 13, 14, 15, 12, 9, 6, 5, 6, 8, 9, 13]
    found = evaluate(ward("Ward 1", drifting), came("Ward 1"), GROUNDS, season_pairs=0)
    assert found.carry_over > 0.5
    assert any("interval is too narrow" in one for one in found.cautions)


def test_few_cases_are_said():
    few = ward("Ward 1", [1, 0, 2, 0, 1, 0, 0, 1, 0, 1, 0, 1, 1, 0, 0, 1, 0, 0, 1, 0, 0, 0, 1, 0])
    assert any("Fewer than 10 cases" in one for one in evaluate(few, came("Ward 1"), GROUNDS).cautions)


@pytest.mark.parametrize(
    ("given", "change", "says"),
    [
        (HALVED, came("Ward 1", on=7), "7 months before the change were given; 8 or more are needed"),
        (HALVED, came("Ward 1", on=17), "7 months after the change were given; 8 or more are needed"),
        (HALVED, came("Ward 1", on=0), "outside the months given (2024-01 to 2025-12)"),
        (HALVED, came("Ward 1", on=24), "outside the months given"),
        (HALVED, came("Ward 2"), "No month was given for Ward 2"),
        (HALVED + HALVED[:1], came("Ward 1"), "named once"),
        (
            ward("Ward 1", [*wobble(8, 12), *[0] * 12]),
            came("Ward 1"),
            "no case after the change where it came",
        ),
        (
            ward("Ward 1", [*[0] * 12, *wobble(3, 12)]),
            came("Ward 1"),
            "no case before the change where it came",
        ),
        (
            HALVED + ward("Ward 9", [*wobble(8, 12), *[0] * 12]),
            came("Ward 1"),
            "no case after the change on comparison wards",
        ),
        (ward("Ward 1", [4] * 24), came("Ward 1"), "same count where it came (4)"),
        (HALVED + ward("Ward 9", [4] * 24), came("Ward 1"), "same count on comparison wards (4)"),
        (
            [*HALVED, WardMonth("Ward 1", date(2027, 1, 1), 3, 4.0)],
            came("Ward 1"),
            "2027-01 of Ward 1 lies outside the stated period",
        ),
    ],
)
def test_what_can_not_tell_is_refused_with_the_reason(given, change, says):
    with pytest.raises(BadInput, match=r"\. .*\. ") as refused:
        evaluate(given, change, GROUNDS)
    assert says in str(refused.value)


def test_more_quantities_than_months_are_refused():
    """Each month another ward: what differs between wards and what changed over time can't be told apart."""
    rows = [WardMonth(f"Ward {place}", month(place), 3 + place % 2, 4.0) for place in range(4, 20)]
    with pytest.raises(CannotEvaluate, match="can't keep"):
        evaluate(rows, came(*(row.ward for row in rows)), GROUNDS)


@pytest.mark.parametrize("pairs", [-1, 6, True])
def test_season_that_would_follow_every_month_is_refused(pairs):
    with pytest.raises(UnusableCount, match="season_pairs"):
        evaluate(HALVED, came("Ward 1"), GROUNDS, season_pairs=pairs)


@pytest.mark.parametrize(("cases", "years"), [(3, 0), (3, -1.0), (-1, 4.0), (2.5, 4.0), (3, float("nan"))])
def test_months_that_can_not_be_are_refused(cases, years):
    with pytest.raises(UnusableCount):
        WardMonth("Ward 1", month(0), cases, years)


def test_a_month_is_its_first_day():
    with pytest.raises(UnusableCount, match="first day of a month"):
        WardMonth("Ward 1", date(2025, 3, 2), 1, 4.0)


def test_a_change_without_name_or_ward_is_refused():
    with pytest.raises(CannotEvaluate):
        Change(what=" ", wards=frozenset({"Ward 1"}), on=month(12))
    with pytest.raises(CannotEvaluate):
        Change(what="Cream", wards=frozenset(), on=month(12))


RATES = Trial(outcome=Outcome.RATE, usual=0.05, with_change=0.03, per_ward=60)


def test_the_planned_wards_reach_the_power_and_one_fewer_does_not():
    plan = plan_trial(RATES, 0.9)
    assert plan.power >= 0.9
    assert judge_trial(RATES, plan.wards_per_arm - 1).power < 0.9


def test_without_differences_between_wards_the_design_effect_is_one_and_that_is_warned_of():
    alike = replace(RATES, spread=0.0)
    assert alike.design_effect == 1
    assert any("never so" in one for one in plan_trial(alike).cautions)


def test_design_effect_of_rates_by_hand():
    """Chance (0.05+0.03)/60 = 0.001333; between 0.25²·(0.0025+0.0009) = 0.0002125; 1 + 0.159375."""
    assert RATES.design_effect == pytest.approx(1.159375)


def test_two_wards_an_arm_are_warned_of_and_one_is_refused():
    assert any("Fewer than 4 wards" in one for one in judge_trial(RATES, 2).cautions)
    with pytest.raises(UnusableCount):
        judge_trial(RATES, 1)


def test_a_plan_has_two_wards_an_arm_at_least():
    assert plan_trial(RATES, 0.01).wards_per_arm == 2


@pytest.mark.parametrize(
    "changes",
    [
        {"usual": 0},
        {"with_change": 0.05},
        {"per_ward": 0},
        {"spread": -0.1},
        {"spread": float("nan")},
        {"significance": 1},
        {"outcome": Outcome.SHARE, "usual": 1.2},
    ],
)
def test_trials_that_can_not_be_are_refused(changes):
    with pytest.raises(UnusableCount):
        replace(RATES, **changes)


@pytest.mark.parametrize("power", [0, 1])
def test_a_power_lies_between_never_and_always(power):
    with pytest.raises(UnusableCount):
        wards_needed(RATES, power)


def test_correlation_and_spread_say_the_same_of_shares():
    """Within a ward of m people a share varies p(1-p)(1+(m-1)r)/m; to first order in 1/m both agree."""
    share, correlation = 0.2, 0.02
    spread = spread_of_correlation(correlation, share)
    assert (spread * share) ** 2 == pytest.approx(correlation * share * (1 - share))
    with pytest.raises(UnusableCount):
        spread_of_correlation(1.5, share)


def cases_of(clear=(), opened=(), left=(), lost=()):
    kinds = ((clear, Ending.CLEAR), (opened, Ending.OPEN), (left, Ending.LEFT), (lost, Ending.LOST))
    return [CaseSpan(day, ending) for days, ending in kinds for day in days]


def test_leaving_keeps_the_share_clear_below_what_the_curve_hopes():
    found = time_to_clear(cases_of(clear=(10, 20, 40), left=(15, 15), opened=(60,)))
    look = found.looks[0]
    hoped = 1 - next(step for step in reversed(found.curve) if step.day <= look.day).not_yet.estimate
    assert look.clear.estimate < hoped
    assert any("left or were lost" in one for one in found.cautions)


def test_without_competing_endings_the_looks_and_the_curve_agree():
    found = time_to_clear(cases_of(clear=(10, 20, 40), left=(15, 15), opened=(60,)), competing=frozenset())
    look, step = found.looks[0], found.curve[1]
    assert look.clear.estimate == pytest.approx(1 - step.not_yet.estimate)
    assert look.clear.lower == pytest.approx(1 - step.not_yet.upper)
    assert look.clear.upper == pytest.approx(1 - step.not_yet.lower)


def test_all_endings_and_still_open_make_a_whole():
    found = time_to_clear(
        cases_of(clear=(10, 20), left=(15,), lost=(25,)), competing=frozenset({Ending.LEFT, Ending.LOST})
    )
    assert not found.looks  # nobody was watched for thirty days
    longer = time_to_clear(
        cases_of(clear=(10, 20), left=(15,), lost=(31,)), competing=frozenset({Ending.LEFT, Ending.LOST})
    )
    look = longer.looks[0]
    assert look.clear.estimate + sum(share for _, share in look.otherwise) == pytest.approx(3 / 4)


def test_no_median_is_made_up_where_fewer_than_half_cleared():
    found = time_to_clear(cases_of(clear=(10,), opened=(20, 30, 40)))
    assert found.median is None
    assert "no median" in found.sentence


def test_where_nobody_cleared_there_is_no_time_to_tell():
    with pytest.raises(NothingEnded):
        time_to_clear(cases_of(opened=(20, 30)))
    with pytest.raises(NothingEnded):
        time_to_clear([])


def test_days_below_zero_are_refused():
    with pytest.raises(UnusableCount):
        CaseSpan(-1, Ending.CLEAR)


def test_clearing_can_not_compete_with_itself():
    with pytest.raises(UnusableCount):
        time_to_clear(cases_of(clear=(10,)), competing=frozenset({Ending.CLEAR}))


def test_few_cleared_and_lost_cases_are_said():
    found = time_to_clear(cases_of(clear=(10, 12), lost=(20,)))
    assert any("Fewer than 10 cases" in one for one in found.cautions)
    assert any("lost from sight" in one for one in found.cautions)


def test_who_left_no_longer_relapses_here():
    people = [Followed(100, (10, 50)), Followed(100), Followed(20, (), LastSeen.LEFT)]
    ended = count_relapses(people).counts[-1].relapses.estimate
    going_on = count_relapses(people, leaving_ends_it=False).counts[-1].relapses.estimate
    assert ended == pytest.approx(1 / 3 + 1 / 2 * 2 / 3)
    assert going_on == pytest.approx(1 / 3 + 1 / 2)


def test_before_the_first_relapse_the_mean_is_nothing_without_an_upper_end():
    first = count_relapses([Followed(100, (50,)), Followed(100)], at=(10, 60)).counts[0]
    assert first.relapses.estimate == 0
    assert first.relapses.upper == float("inf")


@pytest.mark.parametrize("relapses", [(0,), (101,), (50, 10)])
def test_relapses_that_can_not_be_are_refused_without_telling_the_days(relapses):
    with pytest.raises(ImpossibleCourse) as refused:
        Followed(100, relapses)
    assert str(relapses[0]) not in str(refused.value).replace("day 0", "")


def test_where_nobody_relapsed_there_is_nothing_to_tell():
    with pytest.raises(NothingEnded):
        count_relapses([Followed(100)])


def test_people_lost_from_sight_are_said():
    people = [Followed(100, (10,)), Followed(30, (), LastSeen.LOST)]
    assert any("lost from sight" in one for one in count_relapses(people).cautions)
