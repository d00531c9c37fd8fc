"""Funnels, shrinkage, charts over time, cumulative sums and multiple tests, against other tools and papers.

`checks/*.json` hold results of R 4.2.2 (stats), FunnelPlotR 0.6.0, SpatialEpi 1.2.8 and MASS, spdep 1.2.7,
qcc 2.7, qicharts2 0.8.1, spc 0.6.7 and surveillance 1.20.3, with figures from papers and books named there.
"""

import json
from pathlib import Path

import pytest
from scipy import stats

from thenar.population.charts import chart_rates, chart_shares
from thenar.population.comparable import AreaCount, PeriodCount
from thenar.population.cusum import SumSettings, sum_measures, threshold_for
from thenar.population.cusum_cases import Alarm, case_run_length, design_watch, reference_value
from thenar.population.cusum_checks import design_check_watch
from thenar.population.cusum_run_length import (
    Increment,
    measure_run_length,
    siegmund_run_length,
    steps_run_length,
)
from thenar.population.ewma import AverageSettings, average_over_time, average_run_length, width_for
from thenar.population.funnel import spread_of_ratios
from thenar.population.funnel_limits import binomial_limits, poisson_limits
from thenar.population.multiple import NamedTest, judge_together
from thenar.population.rare_events import chart_number_between, chart_time_between
from thenar.population.shrinkage import fit_gamma, shrink_by_moments

FILES = ("funnel", "empirical_bayes", "p_u_charts", "cusum", "ewma", "rare_event_charts", "multiple_testing")
CHECKS = [
    case
    for name in FILES
    for case in json.loads(Path(__file__).with_name("checks").joinpath(f"{name}.json").read_text("utf-8"))
]

PRINTED_OTHERWISE = {("t_chart_valves", "ucl")}


def areas(given):
    names = given.get("area") or [f"area {place}" for place in range(len(given["observed"]))]
    return [AreaCount(*row) for row in zip(names, given["observed"], given["expected"], strict=True)]


def periods(given):
    rows = enumerate(zip(given["x"], given["n"], strict=True))
    return [PeriodCount(f"period {place}", cases, at_risk) for place, (cases, at_risk) in rows]


def funnel_poisson(given):
    limits = poisson_limits(given["expected"], given["p"], given["target"])
    return {"count_limits": limits, "ratio_limits": [max(one, 0) / given["expected"] for one in limits]}


def funnel_binomial(given):
    limits = binomial_limits(given["n"], given["p"], given["target"])
    return {"count_limits": limits, "prop_limits": [max(one, 0) / given["n"] for one in limits]}


def funnel_spread(given):
    found = spread_of_ratios(areas(given), winsorised=given["winsor"])
    return {
        "z": found.z,
        "z_winsor": found.drawn_in,
        "phi": found.factor,
        "phi_raw": found.factor_raw,
        "tau2": found.variance,
    }


def gamma(given):
    fit = fit_gamma(areas(given))
    spans = [fit.interval_of(area) for area in areas(given)]
    return {
        "shape_alpha": fit.shape,
        "rate_nu": fit.rate,
        "mean": fit.mean,
        "loglik": fit.log_likelihood,
        "rr": [fit.mean_of(area) for area in areas(given)],
        "post_median": [span.middle for span in spans],
        "post_lower95": [span.lower for span in spans],
        "post_upper95": [span.upper for span in spans],
    }


def marshall(given):
    found = shrink_by_moments(areas(given))
    return {"a": found.variance, "b": found.mean, "rate": found.ratios}


def chart(drawn):
    def checked(given):
        found = drawn(periods(given))
        lower, upper = [one.lower for one in found.points], [one.upper for one in found.points]
        if len(set(given["n"])) == 1:  # the tool gives one limit where every period has the same size
            lower, upper = lower[:1], upper[:1]
        outside = [place for place, one in enumerate(found.points, 1) if one.against.value != "within"]
        return {
            "center": found.center,
            "sigma_z": found.spread,
            "lcl": lower,
            "ucl": upper,
            "out": outside,
        }

    return checked


def sums(given):
    found = sum_measures(given["x"], SumSettings(given["target"], given["k"], given["h"]))
    return {"upper": found.upper, "lower": found.lower, "first_alarm_index1": found.first_alarm}


def sum_length(given):
    asked = (given["k"], given["h"], given["mu"])
    return {"arl": measure_run_length(*asked), "siegmund": siegmund_run_length(*asked)}


def case_length(given):
    asked = (given["mu"], given["k"], given["h"], given["denominator"])
    return {
        "arl_alarm_ge_h": case_run_length(*asked, alarm=Alarm.REACHED),
        "arl_alarm_gt_h": case_run_length(*asked, alarm=Alarm.PASSED),
        "arl_fir_ge_h": case_run_length(*asked, alarm=Alarm.REACHED, head_start=True),
    }


def case_design(given):
    # A threefold rise of 0.4 has its reference value at 0.728: on quarters that is the 0.75 of the check.
    watch = design_watch([given["mu0"]], 3, given["target_arl0"], steps_per_case=given["denominator"])
    return {"h_alarm_gt": watch.threshold, "arl0": watch.false_alarm_every}


def average(given):
    settings = AverageSettings(given["target"], given["sigma"], given["lambda"], given["L"])
    found = average_over_time(given["x"], settings)
    return {
        "ewma": [one.average for one in found.points],
        "lcl_t": [one.lower for one in found.points],
        "ucl_t": [one.upper for one in found.points],
        "lcl_inf": found.lower_at_last,
        "ucl_inf": found.upper_at_last,
    }


def time_between(given):
    found = chart_time_between(given["t"], given["exponent"])
    return {
        "center": found.center,
        "mrbar": found.mean_range,
        "lcl": found.lower,
        "ucl": found.upper,
        "out": list(found.outside),
    }


def together(given):
    tests = [NamedTest(f"{place:02}", chance) for place, chance in enumerate(given["p"])]
    found = judge_together(tests, given["q"])
    return {
        "adjusted": [one.false_share for one in found.tests],
        "by_adjusted": [one.false_share_any for one in found.tests],
        "rejected": found.stand,
        "bonferroni_rejected": found.stand_by_bonferroni,
    }


COMPUTED = {
    "funnel_limits_poisson": funnel_poisson,
    "funnel_limits_binomial": funnel_binomial,
    "funnel_overdispersion": funnel_spread,
    "empirical_bayes_gamma_ml": gamma,
    "empirical_bayes_marshall": marshall,
    "p_chart": chart(chart_shares),
    "u_chart": chart(chart_rates),
    "laney_u": chart(lambda given: chart_rates(given, widen=True)),
    "cusum_tabular": sums,
    "cusum_arl_normal": sum_length,
    "poisson_cusum_k": lambda given: {"k": reference_value(given["mu0"], given["mu1"])},
    "poisson_cusum_arl": case_length,
    "poisson_cusum_design": case_design,
    "ewma": average,
    "ewma_arl": lambda given: {"arl": average_run_length(given["lambda"], given["L"], given["mu"])},
    "t_chart": time_between,
    "benjamini_hochberg": together,
}


@pytest.mark.parametrize("case", CHECKS, ids=[case["id"] for case in CHECKS])
def test_it_agrees_with_other_tools_and_with_what_was_published(case):
    found = COMPUTED[case["method"]](case["input"])
    within = case["tolerance"]
    for key, expected in case["expected"].items():
        assert found[key] == pytest.approx(expected, rel=within["rel"], abs=within["abs"]), key
    published = dict(case.get("published", {}))
    near = published.pop("abs", 0) + 1e-12
    for key, expected in published.items():
        if (case["id"], key) not in PRINTED_OTHERWISE:
            first_only = isinstance(found[key], list) and not isinstance(expected, list)
            assert (found[key][0] if first_only else found[key]) == pytest.approx(expected, abs=near), key


def test_the_one_printed_limit_that_differs_does_so_by_little():
    # The check's own reference tool gives 11.661 from the printed gaps; why the book has 11.62 is not known.
    [case] = [case for case in CHECKS if case["id"] == "t_chart_valves"]
    assert time_between(case["input"])["ucl"] == pytest.approx(case["published"]["ucl"], rel=0.004)


def test_no_check_is_passed_over():
    assert len(CHECKS) == 24
    assert {case["method"] for case in CHECKS} == set(COMPUTED)


@pytest.mark.parametrize(("threshold", "every"), [(4, 168), (5, 465)])
def test_false_alarms_of_the_sum_watched_on_both_sides(threshold, every):
    # Montgomery, Introduction to Statistical Quality Control, table of run lengths for k = 1/2: 168 and 465.
    assert measure_run_length(0.5, threshold) / 2 == pytest.approx(every, rel=0.005)
    assert threshold_for(0.5, every) == pytest.approx(threshold, abs=0.01)


@pytest.mark.parametrize(
    ("weight", "width"), [(0.4, 3.054), (0.25, 2.998), (0.2, 2.962), (0.1, 2.814), (0.05, 2.615)]
)
def test_averages_with_one_false_alarm_in_500(weight, width):
    # Lucas and Saccucci 1990, table 3 (as in Montgomery's table for the EWMA): each pair has run length 500.
    assert average_run_length(weight, width) == pytest.approx(500, rel=0.01)
    assert width_for(weight, 500) == pytest.approx(width, abs=0.005)


@pytest.mark.parametrize("share", [0.01, 0.1, 0.5])
def test_a_sum_that_needs_two_findings_in_a_row_waits_as_long_as_two_successes_do(share):
    # Feller, An Introduction to Probability Theory I, XIII.7: mean wait for two in a row (1 + p) / p².
    found = steps_run_length([Increment((1 - share, share), 1)], steps_per_case=2, top=2)
    assert found == pytest.approx((1 + share) / share**2)


@pytest.mark.parametrize("share", [0.01, 0.1, 0.5])
def test_a_sum_that_alarms_at_the_first_finding_waits_geometrically(share):
    found = steps_run_length([Increment((1 - share, share), 1)], steps_per_case=5, top=4)
    assert found == pytest.approx(1 / share)


def test_a_check_watch_takes_the_published_reference_value():
    # Reynolds and Stoumbos 1999: r1 = -ln((1 - p1) / (1 - p0)), r2 = ln(p1 (1 - p0) / (p0 (1 - p1))), and the
    # reference value r1 / r2 as one over a whole number. p0 = 0.01, p1 = 0.025: r1 = 0.015267, r2 = 0.931558,
    # r2 / r1 = 61.02.
    assert design_check_watch(0.01, 0.025, 500).steps_per_finding == 61


@pytest.mark.parametrize("chance", [0.5, 0.1, 0.02, 0.001])
def test_limits_between_rare_cases_are_quantiles_of_the_geometric_distribution(chance):
    # scipy.stats.geom counts the case itself, so the number that went without is one less.
    found = chart_number_between([round((1 - chance) / chance)] * 5)
    usual = stats.geom(1 / (1 + found.center), loc=-1)
    assert usual.sf(found.upper) <= 0.00135 < usual.sf(found.upper - 1)
    assert usual.cdf(found.lower - 1) <= 0.00135 < usual.cdf(found.lower)
