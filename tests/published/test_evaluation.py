"""Effects of a change, trials by ward, times to clear and relapses, against other tools and papers.

`evaluation_in_r.json` holds results of R 4.2.2 (stats::glm, survival 3.5.3, sandwich 3.0.2) and the data they
came from: the smoking ban in Sicily (Lopez Bernal, Cummins and Gasparrini 2017), remission of leukaemia
(Freireich 1963), recurrence of bladder tumours (survival::bladder1), and twelve made-up wards. Trial sizes:
Smith, Morrow and Ross, Field Trials of Health Interventions, 3rd edition 2015, table 5.6. Mean cumulative
count: the five people of Dong and others 2015, worked through by hand.
"""

import json
from datetime import date
from math import inf, log, sqrt
from pathlib import Path

import pytest
from scipy import stats

from thenar.population.evaluation import evaluate
from thenar.population.evaluation_fit import columns_of, fit
from thenar.population.evaluation_terms import Change, Shape, WardMonth
from thenar.population.relapse import Followed, LastSeen, count_relapses
from thenar.population.stated import AnswerFrom, Grounds, Period
from thenar.population.time_to_clear import CaseSpan, Ending, time_to_clear
from thenar.population.trial_planner import Outcome, Trial, plan_trial, wards_needed

R = json.loads(Path(__file__).with_name("evaluation_in_r.json").read_text("utf-8"))
GROUNDS = Grounds("the event", AnswerFrom.EXAMINATION, Period(date(2002, 1, 1), date(2006, 12, 31)))
BAN = date(2005, 1, 1)


def month_of(place):
    return date(2002 + place // 12, place % 12 + 1, 1)


def sicily():
    rows = zip(R["sicily"]["cases"], R["sicily"]["population"], strict=True)
    return [WardMonth("Sicily", month_of(place), *row) for place, row in enumerate(rows)]


def ban(shape=Shape.AT_ONCE):
    return Change(what="Ban", wards=frozenset({"Sicily"}), on=BAN, shape=shape)


def wards():
    given = R["wards"]
    rows = zip(given["ward"], given["time"], given["cases"], given["person_years"], strict=True)
    return [WardMonth(ward, month_of(time - 1), cases, years) for ward, time, cases, years in rows]


def cream(shape=Shape.AT_ONCE):
    return Change(what="Cream", wards=frozenset(R["wards"]["changed"]), on=month_of(20), shape=shape)


def error_of(interval, freedom):
    """The standard error behind an interval of Student's t on the log scale."""
    return log(interval.upper / interval.estimate) / stats.t.ppf(0.975, freedom)


@pytest.mark.parametrize(("named", "pairs"), [("step", 0), ("step_and_season", 2)])
def test_step_at_the_ban_agrees_with_quasi_poisson_of_r(named, pairs):
    expected = R["sicily"][named]
    found = evaluate(sicily(), ban(), GROUNDS, season_pairs=pairs)
    assert log(found.level.estimate) == pytest.approx(expected["log_ratio"], abs=1e-8)
    assert error_of(found.level, expected["freedom"]) == pytest.approx(expected["error"], rel=1e-6)
    assert found.spread == pytest.approx(expected["spread"], rel=1e-7)


def test_what_would_have_been_agrees_with_predict_of_r():
    expected = R["sicily"]["step_and_season"]
    found = evaluate(sicily(), ban(), GROUNDS)
    assert found.without_change == pytest.approx(expected["cases_without_ban"], rel=1e-7)
    first = next(month.without for month in found.months if month.month == BAN)
    assert error_of(first, expected["freedom"]) == pytest.approx(
        expected["log_error_without_2005_01"], rel=1e-6
    )


def test_change_of_slope_agrees_with_r():
    expected = R["sicily"]["slope_and_season"]
    found = evaluate(sicily(), ban(Shape.AT_ONCE_AND_GROWING), GROUNDS)
    assert log(found.level.estimate) == pytest.approx(expected["log_ratio"], abs=1e-8)
    assert log(found.slope.estimate) == pytest.approx(12 * expected["log_slope_per_month"], abs=1e-7)
    assert error_of(found.slope, expected["freedom"]) == pytest.approx(12 * expected["slope_error"], rel=1e-6)


@pytest.mark.parametrize(("shape", "named"), [(Shape.AT_ONCE, "step"), (Shape.AT_ONCE_AND_GROWING, "slope")])
def test_difference_of_steps_and_errors_by_ward_agree_with_r(shape, named):
    expected = R["wards"][named]
    rows = sorted(wards(), key=lambda row: (row.ward, row.month))
    columns = columns_of(rows, cream(shape), month_of(20).year * 12 + month_of(20).month - 1, 2)
    fitted = fit(columns, by_ward=True, arms=2, confidence=0.95)
    place = columns.effect[0]
    chance, by_ward = fitted.errors
    assert fitted.estimates[place] == pytest.approx(expected["log_ratio"], abs=1e-8)
    assert sqrt(chance.variances[place, place]) == pytest.approx(expected["error"], rel=1e-6)
    assert sqrt(by_ward.variances[place, place]) == pytest.approx(expected["error_by_ward"], rel=1e-6)
    assert by_ward.freedom == 12 - 2
    if named == "slope":
        place = columns.effect[1]
        assert fitted.estimates[place] == pytest.approx(12 * expected["log_slope_per_month"], abs=1e-7)
        assert sqrt(by_ward.variances[place, place]) == pytest.approx(
            12 * expected["slope_error_by_ward"], rel=1e-6
        )


@pytest.mark.parametrize(
    ("usual", "people", "power", "printed"),
    [
        (0.02, 500, 0.8, 8.08),
        (0.03, 500, 0.8, 6.51),
        (0.04, 500, 0.8, 5.73),
        (0.02, 500, 0.9, 10.48),
        (0.03, 500, 0.9, 8.38),
        (0.04, 500, 0.9, 7.33),
        (0.02, 250, 0.8, 12.71),
        (0.03, 250, 0.8, 9.57),
        (0.02, 250, 0.9, 16.68),
        (0.03, 250, 0.9, 12.48),
    ],
)
def test_wards_of_a_trial_agree_with_table_5_6(usual, people, power, printed):
    """Part (a), halving a share, spread 0.25. Part (b) puts shares' variances to rates, so it is not used."""
    trial = Trial(outcome=Outcome.SHARE, usual=usual, with_change=usual / 2, per_ward=people, spread=0.25)
    assert wards_needed(trial, power) == pytest.approx(printed, abs=0.006)
    assert plan_trial(trial, power).wards_per_arm == int(printed) + 1


def test_curve_and_median_agree_with_r_and_the_leukaemia_trial():
    given = R["leukaemia"]
    cases = [
        CaseSpan(weeks, Ending.CLEAR if relapsed else Ending.OPEN)
        for weeks, relapsed in zip(given["weeks"], given["relapsed"], strict=True)
    ]
    found = time_to_clear(cases)
    expected = given["curve"]
    assert [step.day for step in found.curve] == expected["time"]
    assert [step.watched for step in found.curve] == expected["at_risk"]
    assert [step.not_yet.estimate for step in found.curve] == pytest.approx(expected["still"])
    assert [step.not_yet.lower for step in found.curve] == pytest.approx(expected["lower"])
    assert [step.not_yet.upper for step in found.curve] == pytest.approx(expected["upper"])
    assert (found.median.estimate, found.median.lower, found.median.upper) == (23, 13, inf)


@pytest.mark.parametrize(("place", "stretch"), [(0, 30 / 6), (1, 30 / 12), (2, 90 / 24), (4, 180 / 48)])
def test_shares_among_competing_endings_agree_with_r(place, stretch):
    """Looks are at fixed days, so months are stretched until the month asked for falls on one."""
    given = R["bladder_first"]
    endings = (Ending.OPEN, Ending.CLEAR, Ending.LEFT)
    cases = [
        CaseSpan(time * stretch, endings[status])
        for time, status in zip(given["time"], given["status"], strict=True)
    ]
    at = given["at"][place] * stretch
    look = next(look for look in time_to_clear(cases).looks if look.day == pytest.approx(at))
    assert look.clear.estimate == pytest.approx(given["share"][place])
    assert look.otherwise[0][1] == pytest.approx(given["died"][place])
    still = 1 - look.clear.estimate
    reach = log(log(1 - look.clear.upper) / log(still)) / stats.norm.ppf(0.975)
    assert reach * still * -log(still) == pytest.approx(given["error"][place])


def bladder():
    given, people = R["bladder_all"], {}
    for person, time, status in zip(given["person"], given["time"], given["status"], strict=True):
        people.setdefault(person, []).append((time, status))
    return [
        Followed(
            max(time for time, _ in rows),
            tuple(time for time, status in rows if status == 1),
            LastSeen.LEFT if any(status > 1 for _, status in rows) else LastSeen.WATCHED,
        )
        for rows in people.values()
    ]


def test_mean_count_and_its_error_agree_with_r():
    """R censors at death here, so leaving is taken as being lost from sight."""
    given = R["bladder_all"]
    found = count_relapses(bladder(), leaving_ends_it=False, at=given["at"])
    assert [count.relapses.estimate for count in found.counts] == pytest.approx(given["mean"])
    errors = [
        log(count.relapses.upper / count.relapses.estimate) / stats.norm.ppf(0.975) * count.relapses.estimate
        for count in found.counts
    ]
    assert errors == pytest.approx(given["error"])


def test_mean_count_where_people_leave_agrees_with_the_paper_of_dong():
    """Persons 1 to 5: watched to 8; to 1; left at 5; relapsed at 2, 6, 7; relapsed and left at 3.

    By hand: 1/4 at 2; +1/4 at 3, after which 3/4 stay; 2/3 of them stay after 5; +1/2·1/2 at 6 and at 7.
    """
    five = [
        Followed(8),
        Followed(1),
        Followed(5, (), LastSeen.LEFT),
        Followed(8, (2, 6, 7)),
        Followed(3, (3,), LastSeen.LEFT),
    ]
    found = count_relapses(five, at=range(1, 9))
    assert [count.relapses.estimate for count in found.counts] == pytest.approx(
        [0, 0.25, 0.5, 0.5, 0.5, 0.75, 1, 1]
    )


def test_error_of_the_mean_count_where_people_leave_agrees_with_leaving_each_out_in_turn():
    people, at = bladder(), (36,)
    interval = count_relapses(people, at=at).counts[0].relapses
    error = log(interval.upper / interval.estimate) / stats.norm.ppf(0.975) * interval.estimate
    without = [
        count_relapses(people[:place] + people[place + 1 :], at=at).counts[0].relapses.estimate
        for place in range(len(people))
    ]
    middle, many = sum(without) / len(without), len(people)
    jackknife = sqrt((many - 1) / many * sum((one - middle) ** 2 for one in without))
    assert error == pytest.approx(jackknife, rel=0.03)
