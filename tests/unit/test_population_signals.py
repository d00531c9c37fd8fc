"""What telling signals from chance promises, one situation each."""

from dataclasses import fields

import numpy as np
import pytest

from thenar.population.charts import Against, chart_rates, chart_shares
from thenar.population.comparable import AreaCount, AreaShare, NothingToCompare, PeriodCount
from thenar.population.counts import UnusableCount
from thenar.population.cusum import SumSettings, sum_measures, threshold_for
from thenar.population.cusum_cases import Alarm, case_run_length, design_watch, reference_value, watch_cases
from thenar.population.cusum_checks import design_check_watch, watch_checks
from thenar.population.cusum_run_length import (
    Increment,
    measure_run_length,
    siegmund_run_length,
    steps_run_length,
)
from thenar.population.ewma import AverageSettings, average_over_time, width_for
from thenar.population.funnel import Place, compare_ratios, compare_shares
from thenar.population.funnel_limits import overdispersion
from thenar.population.multiple import NamedTest, judge_together
from thenar.population.rare_events import GapPlace, chart_number_between, chart_time_between
from thenar.population.shrinkage import NoSpread, ShrunkArea, fit_gamma, shrink_by_moments, shrink_ratios

EVEN = [AreaCount(f"Ward {letter}", 5, 5.0) for letter in "ABCDEFGHIJKLMNOPQRS"]
OUTLIER = AreaCount("Ward Z", 30, 5.0)


def months(*cases, at_risk=1.0):
    return [PeriodCount(f"month {place}", count, at_risk) for place, count in enumerate(cases, 1)]


# Areas against their limits


def test_an_area_far_above_is_named_and_the_others_are_not():
    funnel = compare_ratios([*EVEN, OUTLIER])
    assert {area.area for area in funnel.areas if area.place is not Place.WITHIN} == {"Ward Z"}
    assert "above the outer limit: Ward Z." in funnel.finding
    # 20 areas: a twentieth of them, 1, outside the inner limits by chance; 0.04 outside the outer.
    assert (
        "about 1 of 20 areas would lie outside the inner limits and 0.04 outside the outer" in funnel.finding
    )


def test_a_quiet_hospital_is_called_quiet():
    assert compare_ratios(EVEN).finding.startswith("No area differs from the target")


def test_areas_stand_by_name_and_never_by_their_figure():
    areas = [AreaCount("c", 9, 3.0), AreaCount("A", 1, 3.0), AreaCount("b", 5, 3.0)]
    assert [area.area for area in compare_ratios(areas).areas] == ["A", "b", "c"]
    assert [area.area for area in shrink_ratios(areas, seed=1).areas] == ["A", "b", "c"]


def test_one_outlier_does_not_widen_the_limits_it_lies_outside_of():
    assert compare_ratios([*EVEN, OUTLIER]).variance == 0
    spread = overdispersion([0.0] * 19 + [9.0], [0.3] * 20, winsorised=0)
    assert spread.variance > 0  # without drawing in, it would


def test_differences_usual_between_areas_widen_the_limits_and_are_said():
    areas = [AreaCount(f"Ward {place:02}", 4 + 24 * (place % 2), 16.0) for place in range(20)]
    narrow, wide = compare_ratios(areas, widen=False), compare_ratios(areas)
    assert all(area.place in (Place.FAR_BELOW, Place.BELOW, Place.ABOVE) for area in narrow.areas)
    assert all(area.place is Place.WITHIN for area in wide.areas)
    assert any("times as much as chance" in caution for caution in wide.cautions)
    assert not any("times as much" in caution for caution in narrow.cautions)


def test_limits_are_never_narrower_than_chance_alone():
    # Scattered a little more than chance. With 2 expected, none at all is chance (0.135), so the exact lower
    # limit is 0; the square-root scale alone would put it above.
    areas = [AreaCount(f"Ward {place:02}", cases, 2.0) for place, cases in enumerate([1, 4] * 10)]
    funnel = compare_ratios(areas)
    assert 0 < funnel.variance < 0.1
    for area in funnel.areas:
        assert area.inner.lower == area.inner_exact.lower == 0
        assert area.inner.upper >= area.inner_exact.upper
        assert area.outer.upper >= area.outer_exact.upper


def test_few_areas_and_few_expected_cases_are_said():
    cautions = " ".join(compare_ratios([AreaCount("A", 0, 0.4), AreaCount("B", 3, 2.0)]).cautions)
    assert "With 2 areas" in cautions
    assert "Fewer than one case is expected in 1 of 2 areas" in cautions


def test_the_same_share_is_far_above_in_a_large_area_and_within_in_a_small_one():
    funnel = compare_shares([AreaShare("large", 60, 150), AreaShare("small", 4, 10)], 0.2, widen=False)
    assert [area.place for area in funnel.areas] == [Place.FAR_ABOVE, Place.WITHIN]


# Small areas steadied by the others


def test_a_small_area_is_drawn_in_further_than_a_large_one_with_the_same_ratio():
    areas = [AreaCount("small", 3, 1.0), AreaCount("large", 60, 20.0), *EVEN]
    found = {area.area: area for area in shrink_ratios(areas, seed=1).areas}
    assert found["small"].counted == found["large"].counted == 3
    assert found["small"].ratio < found["large"].ratio < 3
    assert found["small"].upper - found["small"].lower > found["large"].upper - found["large"].lower


def test_a_place_is_only_ever_a_range():
    assert [field.name for field in fields(ShrunkArea) if "place" in field.name or "rank" in field.name] == [
        "place_from",
        "place_to",
    ]
    [area] = [one for one in shrink_ratios([*EVEN, OUTLIER], seed=1).areas if one.area == "Ward A"]
    assert area.place_to - area.place_from > 10
    assert f"anywhere from {area.place_from} to {area.place_to}" in area.says


def test_the_area_that_stands_out_is_named_and_the_order_of_the_others_is_not_known():
    shrunk = shrink_ratios([*EVEN, OUTLIER], seed=1)
    assert shrunk.finding == (
        "More cases than expected, beyond chance: Ward Z. The order of areas is otherwise not known."
    )
    assert shrink_ratios(EVEN, seed=1).finding.startswith("No area can be told from what was expected")


def test_an_area_is_held_against_the_target_and_not_against_its_neighbours():
    # All twice what was expected: every one above, though none differs from the others.
    twice = [AreaCount(area.area, 40, 20.0) for area in EVEN]
    assert all(area.chance_above > 0.99 for area in shrink_ratios(twice, seed=1).areas)
    assert shrink_ratios(twice, seed=1, target=2.0).finding.startswith("No area can be told")


def test_the_same_seed_gives_the_same_answer_and_another_nearly_so():
    first, again, other = (shrink_ratios([*EVEN, OUTLIER], seed=seed) for seed in (1, 1, 2))
    assert first == again != other
    assert first.areas[-1].ratio == pytest.approx(other.areas[-1].ratio, rel=0.02)


def test_areas_that_differ_no_more_than_chance_have_no_single_best_fit():
    with pytest.raises(NoSpread):
        fit_gamma(EVEN)
    assert shrink_by_moments(EVEN).variance == 0
    assert shrink_ratios(EVEN, seed=1).spread.lower < 0.05


# Shares and rates, period by period


def test_a_month_far_above_is_named():
    chart = chart_rates(months(9, 11, 10, 9, 11, 10, 25))
    assert [point.period for point in chart.points if point.against is Against.ABOVE] == ["month 7"]
    assert "above: month 7" in chart.finding


def test_usual_months_keep_a_lasting_rise_from_hiding_itself():
    rising = months(4, 4, 4, 4, 14, 14, 14, 14)
    assert all(point.against is Against.WITHIN for point in chart_rates(rising).points)
    apart = chart_rates(rising, usual=4)
    assert [point.against for point in apart.points] == [Against.WITHIN] * 4 + [Against.ABOVE] * 4
    assert "same periods" in chart_rates(rising).cautions[0]
    assert "same periods" not in apart.cautions[0]


def test_false_alarms_are_counted_exactly_for_few_cases():
    # Mean 4: limits 4 -+ 3 x 2, so 0 to 10. Poisson tables: P(X <= 10 | 4) = 0.9972; two months, 0.0057.
    assert chart_rates(months(4, 4)).false_alarms == pytest.approx(2 * (1 - 0.9972), abs=0.0001)
    # Half of 16 people: limits 8 -+ 3 x 2, so 2 to 14. Beyond them 2 x (1 + 16) / 65536 in each month.
    shares = chart_shares(months(8, 8, at_risk=16))
    assert shares.false_alarms == pytest.approx(2 * 2 * 17 / 65536)


def test_scattered_months_widen_their_limits_and_even_ones_do_not_narrow_them():
    scattered, even = months(2, 30, 3, 28, 1, 31), months(15, 16, 15, 16, 15, 16)
    wide = chart_rates(scattered, widen=True)
    assert wide.spread > 1
    assert wide.points[0].upper > chart_rates(scattered).points[0].upper
    assert wide.false_alarms is None
    calm = chart_rates(even, widen=True)
    assert calm.spread < 1
    assert calm.points == chart_rates(even).points


def test_scatter_after_the_usual_months_does_not_widen_what_it_is_judged_by():
    apart = chart_rates(months(15, 16, 15, 16, 2, 40), usual=4, widen=True)
    assert apart.spread < 1
    assert [point.against for point in apart.points[4:]] == [Against.BELOW, Against.ABOVE]


def test_a_share_is_never_charted_below_0_or_above_1():
    chart = chart_shares(months(1, 0, 1, at_risk=3))
    assert all(0 <= point.lower <= point.upper <= 1 for point in chart.points)
    assert all(point.upper == 1 for point in chart_shares(months(2, 3, 3, at_risk=3)).points)


# Cumulative sums


def test_a_rise_is_dated_from_where_the_sum_was_last_nothing():
    watch = design_watch([1.0], rise=3, false_alarm_every=100)
    watched = watch_cases(months(1, 0, 2, 0, 3, 4, 4, 0), watch)
    assert (watched.since, watched.first_alarm) == ("month 5", "month 6")
    assert (watched.cases_since, watched.expected_since) == (7, 2.0)
    assert watched.finding.startswith(
        "Since month 5: 7 cases against 2.0 expected; the sum passed its threshold in month 6."
    )


def test_a_sum_at_its_threshold_has_not_passed_it():
    # 3.75 by the published design; in quarters 3 x 4 - 3 = 9, then 6, then 15 = 3.75 x 4.
    watch = design_watch([0.4], rise=3, false_alarm_every=500)
    watched = watch_cases(months(3, 0, 3, at_risk=0.4), watch)
    assert watched.periods[2].sum == watch.threshold == 3.75
    assert watched.first_alarm is None


def test_checks_at_their_threshold_have_not_passed_it():
    watch = design_check_watch(0.05, 0.2, false_alarm_every=500)
    gain, top = watch.steps_per_finding - 1, watch.threshold_steps
    whole, rest = divmod(top, gain)
    findings = [True] * whole + [False] * (gain - rest) + [True]
    watched = watch_checks(findings, watch)
    assert watched.sums[-1] == pytest.approx(watch.threshold)
    assert watched.first_alarm is None
    assert watch_checks([*findings, True], watch).first_alarm == len(findings) + 1


def test_a_sum_that_alarms_at_once_waits_one_period():
    assert steps_run_length([Increment((0.0, 1.0), 1)], steps_per_case=4, top=3) == 1


def test_a_quiet_area_is_told_how_soon_a_rise_would_have_been_found():
    watch = design_watch([1.0], rise=3, false_alarm_every=100)
    watched = watch_cases(months(1, 0, 2, 0), watch)
    assert watched.first_alarm is None
    assert f"found after {watch.found_after:.0f} periods" in watched.finding


def test_the_same_cases_are_an_alarm_in_a_small_ward_and_none_in_a_large_one():
    small, large = (design_watch([size], rise=2, false_alarm_every=100) for size in (0.5, 3.0))
    cases = (3, 3, 3)
    assert watch_cases(months(*cases, at_risk=0.5), small).first_alarm
    assert not watch_cases(months(*cases, at_risk=3.0), large).first_alarm


def test_a_month_of_little_person_time_is_held_to_less():
    watch = design_watch([2.0, 0.5], rise=2, false_alarm_every=60)
    busy = PeriodCount("May", 3, 2.0)
    assert watch_cases([busy, PeriodCount("June", 2, 2.0)], watch).periods[1].sum < (
        watch_cases([busy, PeriodCount("June", 2, 0.5)], watch).periods[1].sum
    )


@pytest.mark.parametrize("expected", [[0.4], [1.5], [0.3, 0.9, 0.6]])
def test_the_threshold_is_the_lowest_with_so_few_false_alarms(expected):
    watch = design_watch(expected, rise=2, false_alarm_every=200, steps_per_case=10)
    looser = design_watch(
        expected, rise=2, false_alarm_every=watch.false_alarm_every + 0.01, steps_per_case=10
    )
    assert watch.false_alarm_every >= 200
    assert looser.threshold > watch.threshold
    tighter = design_watch(expected, rise=2, false_alarm_every=150, steps_per_case=10)
    assert tighter.threshold <= watch.threshold


def test_forty_areas_together_keep_the_stated_false_alarms():
    alone, together = (design_watch([0.8], rise=2, false_alarm_every=60, areas=areas) for areas in (1, 40))
    assert together.false_alarm_every >= 2400
    assert together.false_alarm_anywhere_every >= 60
    assert together.threshold > alone.threshold
    assert together.found_after > alone.found_after


def test_a_head_start_finds_a_rise_sooner():
    plain = case_run_length(2.0, 1.5, 4, 2)
    assert case_run_length(2.0, 1.5, 4, 2, head_start=True) < plain
    watch = design_watch([0.4], rise=3, false_alarm_every=200, head_start=True)
    assert watch_cases(months(0, at_risk=0.4), watch).periods[0].sum > 0


def test_reaching_a_threshold_is_passing_the_one_a_step_below():
    reached = case_run_length(0.4, 0.75, 3, 4, alarm=Alarm.REACHED)
    assert reached == pytest.approx(case_run_length(0.4, 0.75, 2.75, 4, alarm=Alarm.PASSED))
    assert reached < case_run_length(0.4, 0.75, 3, 4, alarm=Alarm.PASSED)


def test_findings_that_crowd_together_raise_the_alarm_of_checks():
    watch = design_check_watch(0.05, 0.2, false_alarm_every=500)
    scattered = ([False] * 19 + [True]) * 5
    crowded = [False] * 40 + [True, False] * 10
    assert watch_checks(scattered, watch).first_alarm is None
    watched = watch_checks(crowded, watch)
    assert watched.since == 41
    assert (
        f"{(watched.first_alarm - 39) // 2} findings in {watched.first_alarm - 40} checks" in watched.finding
    )


def test_a_fall_of_a_measurement_is_told_as_a_fall():
    sums = sum_measures([10.0, 10.0, 5.0, 5.0], SumSettings(10.0, 1.0, 6.0), deviation=2.0)
    assert (sums.first_alarm, sums.since) == (4, 3)
    assert "The mean has fallen" in sums.finding
    assert sums.false_alarm_every == pytest.approx(measure_run_length(0.5, 3.0) / 2)


def test_watching_one_side_needs_a_lower_threshold_for_the_same_false_alarms():
    assert threshold_for(0.5, 300, both_sides=False) < threshold_for(0.5, 300)


def test_the_formula_by_hand_has_a_value_where_the_shift_equals_the_slack():
    # At no drift: (h + 1.166)²; 5.166² = 26.69
    assert siegmund_run_length(0.5, 4.0, shift=0.5) == pytest.approx(26.69, abs=0.01)
    assert siegmund_run_length(0.5, 4.0, shift=0.5 + 1e-4) == pytest.approx(26.69, abs=0.02)


# Running average, rare cases, many tests


def test_a_drift_is_seen_by_the_running_average_with_its_direction():
    settings = AverageSettings(10.0, 1.0, 0.2, width_for(0.2, 370))
    found = average_over_time([10.0, 9.0, 8.5, 8.5, 8.5, 8.5], settings)
    # Averages 10, 9.8, 9.54, 9.332, 9.166, 9.033. Width 2.86:
    # at 6, 10 - 2.86 / 3 x sqrt(1 - 0.8 ^ 12) = 9.08; at 5, 10 - 2.86 / 3 x sqrt(1 - 0.8 ^ 10) = 9.10.
    assert found.first_alarm == 6
    assert "At value 6 the running average went below what chance allows" in found.finding
    assert found.false_alarm_every == pytest.approx(370, rel=0.001)


def test_a_weight_of_one_is_the_plain_chart():
    # Every value alone against three standard deviations: one false alarm in 1 / 0.0027 = 370.4.
    assert average_over_time([0.0], AverageSettings(0.0, 1.0, 1.0, 3.0)).false_alarm_every == pytest.approx(
        370.4, abs=0.1
    )


def test_a_long_gap_is_improvement_and_a_rise_is_sent_to_the_sum():
    chart = chart_time_between([20, 35, 9, 28, 15, 22, 31, 12, 1500])
    assert [gap.place for gap in chart.gaps][-1] is GapPlace.LONGER
    blind = chart_number_between([9, 0, 30, 2])
    assert not blind.sees_a_rise
    assert any("cumulative sum" in caution for caution in blind.cautions)


def test_a_gap_can_be_too_short_where_cases_are_rarer_than_one_in_741():
    # One in 2,001: a gap below 2 has chance 2/2001 = 0.0010; below 3, 0.0015.
    chart = chart_number_between([4000, 1999, 1, 2000])
    assert chart.lower == 2
    assert chart.gaps[2].place is GapPlace.SHORTER


def test_what_passes_alone_may_not_stand_among_many():
    tests = [NamedTest(f"Ward {place:02}", 0.04 if place == 7 else 0.5) for place in range(40)]
    judged = judge_together(tests)
    assert judged.stand == 0
    assert "1 would have passed alone, and 2 would be expected to by chance" in judged.finding


# Bad input

WATCH = design_watch([1.0], rise=2, false_alarm_every=50)


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        (lambda: AreaCount("Ward A", 3, 0.0), "expected of Ward A: is 0.0; it must be a number above 0"),
        (lambda: AreaCount("Ward A", -1, 2.0), "cases of Ward A: is -1; it must be a whole number"),
        (lambda: AreaCount("Ward A", 2.5, 2.0), "cases of Ward A: is 2.5; it must be a whole number"),
        (lambda: AreaCount("Ward A", True, 2.0), "cases of Ward A: is True"),
        (lambda: AreaCount("Ward A", 2, float("nan")), "expected of Ward A: is nan"),
        (lambda: AreaShare("Ward A", 3, 2), "cases of Ward A: is 3; it must be at most its people, 2"),
        (lambda: AreaShare("Ward A", 0, 0), "people of Ward A: is 0"),
        (lambda: PeriodCount("May", 1, 0), "at_risk of May: is 0"),
        (lambda: PeriodCount("May", 1, float("inf")), "at_risk of May: is inf"),
        (lambda: compare_ratios([EVEN[0], EVEN[0]]), "areas: is 'Ward A'; it must be named once"),
        (lambda: compare_ratios(EVEN, target=0), "target: is 0"),
        (lambda: compare_ratios(EVEN, target=-1), "target: is -1"),
        (lambda: compare_shares([AreaShare("A", 1, 2), AreaShare("B", 1, 2)], 1.0), "target: is 1.0"),
        (lambda: shrink_ratios(EVEN, seed=1, level=1.0), "level: is 1.0"),
        (lambda: shrink_ratios(EVEN, seed=1, draws=10), "draws: is 10"),
        (lambda: shrink_ratios(EVEN, seed=1, target=0.0), "target: is 0.0"),
        (lambda: chart_shares(months(1, 2, at_risk=2.5)), "people of month 1: is 2.5"),
        (
            lambda: chart_rates(months(1, 2), usual=3),
            "usual: is 3; it must be from 2 to the number of periods, 2",
        ),
        (lambda: chart_rates([*months(1), *months(2)]), "periods: is 'month 1'; it must be named once"),
        (lambda: reference_value(2.0, 1.0), "raised: is 1.0; it must be above the usual, 2"),
        (
            lambda: case_run_length(1.0, 0.3, 3, 4),
            "reference: is 0.3; it must be a whole number of steps of 1/4",
        ),
        (lambda: case_run_length(1.0, 1e-12, 3, 4), "reference: is 1e-12"),
        (lambda: design_watch([1.0, 0.0], 2, 50), "expected: is 0.0"),
        (lambda: design_watch([1.0], 1.0, 50), "rise: is 1.0"),
        (lambda: design_watch([1.0], 2, 50, areas=0), "areas: is 0"),
        (lambda: design_watch([1e-6], 2, 50), "so few cases to expect"),
        (lambda: watch_cases(months(1, at_risk=1e-6), WATCH), "enough for one step of the sum"),
        (lambda: design_check_watch(0.2, 0.1, 50), "raised: is 0.1"),
        (lambda: SumSettings(0.0, 1.0, 0.0), "threshold: is 0.0"),
        (lambda: sum_measures([float("nan")], SumSettings(0.0, 1.0, 1.0)), "values: is nan"),
        (lambda: AverageSettings(0.0, 0.0, 0.2, 3.0), "deviation: is 0.0"),
        (lambda: AverageSettings(0.0, 1.0, 1.5, 3.0), "weight: is 1.5"),
        (lambda: chart_time_between([-1, 2]), "gaps: is -1"),
        (lambda: chart_time_between([1, 2], exponent=0), "exponent: is 0"),
        (lambda: chart_number_between([1, 2.5]), "gaps: is 2.5"),
        (lambda: NamedTest("Ward A", 1.2), "chance of Ward A: is 1.2"),
        (lambda: judge_together([NamedTest("A", 0.1), NamedTest("A", 0.2)]), "tests: is 'A'"),
    ],
)
def test_figures_that_cannot_be_are_refused_by_name(wrong, says):
    with pytest.raises(UnusableCount) as refused:
        wrong()
    assert says in refused.value.what


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        (lambda: compare_ratios(EVEN[:1]), "Fewer than two areas"),
        (lambda: shrink_ratios(EVEN[:2], seed=1), "2 areas were given"),
        (lambda: fit_gamma([AreaCount(name, 0, 1.0) for name in "abc"]), "no case in any area"),
        (lambda: chart_rates(months(1)), "Fewer than two periods"),
        (lambda: chart_rates(months(0, 0, 3), usual=2), "The usual periods have no case"),
        (lambda: chart_shares(months(3, 3, at_risk=3)), "Everybody is a case"),
        (lambda: design_watch([], 2, 50), "No period was given"),
        (lambda: watch_cases([], WATCH), "No period was given"),
        (lambda: watch_checks([], design_check_watch(0.1, 0.3, 50)), "No check was given"),
        (lambda: sum_measures([], SumSettings(0.0, 1.0, 1.0)), "No value was given"),
        (lambda: average_over_time([], AverageSettings(0.0, 1.0, 0.2, 3.0)), "No value was given"),
        (lambda: chart_time_between([3.0]), "Fewer than two gaps"),
        (lambda: chart_number_between([0, 0]), "Every one was a case"),
        (lambda: judge_together([]), "No test was given"),
    ],
)
def test_too_little_to_compare_is_refused_with_what_to_do(wrong, says):
    with pytest.raises(NothingToCompare) as refused:
        wrong()
    assert says in refused.value.what
    assert refused.value.todo


def test_counts_read_from_arrays_are_taken():
    assert compare_ratios([AreaCount(name, np.int64(3), np.float64(2.0)) for name in "ab"]).target == 1
