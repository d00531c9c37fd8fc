"""What the doors that tell signals from chance promise."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from thenar.cli import main

GROUNDS = {
    "case_definition": "hand dermatitis, opened as a case",
    "answer_from": "cases seen by the service",
    "first": "2026-01-01",
    "last": "2026-10-31",
}
WARDS = [
    {"area": "Ward 1", "cases": 5, "expected": 5.2},
    {"area": "Ward 2", "cases": 19, "expected": 4.2},
    {"area": "Ward 3", "cases": 3, "expected": 4.0},
]
MONTHS = [{"period": f"2026-{month:02}", "cases": 0, "expected": 0.4} for month in range(1, 7)]
RISING = [*MONTHS, *({"period": f"2026-{month:02}", "cases": 3, "expected": 0.4} for month in (7, 8))]
CASES = {"of": "cases", "grounds": GROUNDS, "periods": RISING, "rise": 3, "false_alarm_every": 500}
CHECKS = {
    "of": "checks",
    "grounds": GROUNDS,
    "findings": [False] * 6 + [True] * 5,
    "usual": 0.1,
    "raised": 0.4,
    "false_alarm_every": 200,
}
MEASURES = {"of": "measurements", "values": [5, 5, 9, 9, 9], "usual": 5, "slack": 1, "threshold": 6}
AVERAGE = {"values": [5, 5, 9], "usual": 5, "deviation": 1, "weight": 0.3}
CHART = [
    {"period": f"month {place}", "cases": cases, "at_risk": 40} for place, cases in enumerate([9, 11, 10, 30])
]
GIVEN = {
    "funnel": {"grounds": GROUNDS, "areas": WARDS, "widen": False},
    "empirical-bayes": {"grounds": GROUNDS, "areas": WARDS},
    "p-u-charts": {"grounds": GROUNDS, "of": "rates", "periods": CHART, "usual": 3},
    "cusum": {"watch": CASES},
    "ewma": {**AVERAGE, "width": 3},
    "rare-event-charts": {"grounds": GROUNDS, "days_between": [20, 35, 9, 28, 15, 22, 31, 12, 1500]},
    "multiple-testing": {"tests": [{"name": "Ward 1", "chance": 0.001}, {"name": "Ward 2", "chance": 0.04}]},
}
RESULT = {
    "funnel": "funnel",
    "empirical-bayes": "shrunk",
    "p-u-charts": "chart",
    "cusum": "watched",
    "ewma": "average",
    "rare-event-charts": "chart",
    "multiple-testing": "judged",
}
STATES_GROUNDS = [name for name, given in GIVEN.items() if "grounds" in str(given)]


def calc(*arguments, given=None):
    text = json.dumps(given) if given is not None else None
    return CliRunner().invoke(main, ["calc", *arguments], input=text)


def answered(name, given):
    result = calc(name, given=given)
    assert result.exit_code == 0, result.stderr
    return json.loads(result.stdout)


def refused(name, given):
    result = calc(name, given=given)
    assert result.exit_code == 2, result.output
    assert result.stdout == ""
    assert "Traceback" not in result.stderr
    assert len(result.stderr.splitlines()) == 3
    return result.stderr


@pytest.mark.parametrize("name", GIVEN)
def test_every_method_has_a_door_named_like_its_checks(name):
    listed = [line.split()[0] for line in calc("--list").stdout.splitlines()]
    assert name in listed
    checks = Path(__file__).parents[1] / "published" / "checks"
    assert (checks / f"{name.replace('-', '_')}.json").exists()


@pytest.mark.parametrize("name", GIVEN)
def test_every_answer_says_in_words_what_was_found_by_which_method(name):
    answer = answered(name, GIVEN[name])[RESULT[name]]
    assert answer["finding"].endswith(".")
    assert answer.get("method") or answer["watch"]["method"]


@pytest.mark.parametrize("name", STATES_GROUNDS)
def test_figures_of_cases_carry_their_case_definition_source_and_period(name):
    grounds = answered(name, GIVEN[name])["grounds"]
    assert grounds["case_definition"] == GROUNDS["case_definition"]
    assert grounds["answer_from"] == GROUNDS["answer_from"]
    assert grounds["period"] == {"first": GROUNDS["first"], "last": GROUNDS["last"]}
    given = json.loads(json.dumps(GIVEN[name]))
    (given.get("watch") or given).pop("grounds")
    assert "grounds: is missing" in refused(name, given)


def test_the_ward_outside_its_limits_is_named():
    funnel = answered("funnel", GIVEN["funnel"])["funnel"]
    assert "above the outer limit: Ward 2." in funnel["finding"]
    assert [area["area"] for area in funnel["areas"]] == ["Ward 1", "Ward 2", "Ward 3"]


def test_shares_are_held_against_a_share():
    shares = [{"area": "Ward 1", "cases": 60, "people": 150}, {"area": "Ward 2", "cases": 20, "people": 100}]
    given = {"grounds": GROUNDS, "shares": shares, "target": 0.2, "widen": False}
    assert "above the outer limit: Ward 1." in answered("funnel", given)["funnel"]["finding"]
    assert "target: is missing." in refused("funnel", {**given, "target": None})


def test_no_answer_ranks_areas():
    answer = answered("empirical-bayes", GIVEN["empirical-bayes"])
    for area in answer["shrunk"]["areas"]:
        assert area["place_from"] <= area["place_to"]
        assert "rank" not in area
    assert answer == answered("empirical-bayes", GIVEN["empirical-bayes"])
    assert answer["shrunk"]["seed"] == 1
    even = [{**ward, "cases": 4, "expected": 4.0} for ward in WARDS]
    assert answered("empirical-bayes", {"grounds": GROUNDS, "areas": even})["likeliest"] is None


def test_a_rise_is_told_with_its_start_and_its_false_alarms():
    watched = answered("cusum", {"watch": CASES})["watched"]
    assert (watched["since"], watched["first_alarm"]) == ("2026-07", "2026-08")
    assert watched["finding"].startswith("Since 2026-07: 6 cases against 0.8 expected;")
    assert watched["watch"]["false_alarm_every"] >= 500


def test_forty_wards_and_a_plan_of_their_own_are_taken():
    watch = {**CASES, "areas": 40, "false_alarm_every": 60, "plan_on": [0.4] * 12}
    watched = answered("cusum", {"watch": watch})["watched"]
    assert watched["watch"]["false_alarm_anywhere_every"] >= 60
    assert "in all 40 together" in watched["finding"] or watched["first_alarm"] is None


def test_checks_and_measurements_have_sums_too():
    assert answered("cusum", {"watch": CHECKS})["watched"]["since"] == 7
    found = answered("cusum", {"watch": MEASURES})
    assert (found["watched"]["first_alarm"], found["grounds"]) == (5, None)
    designed = {**MEASURES, "threshold": None, "false_alarm_every": 300, "deviation": 2}
    assert answered("cusum", {"watch": designed})["watched"]["false_alarm_every"] == pytest.approx(
        300, rel=1e-3
    )


def test_limits_of_the_running_average_are_designed_for_false_alarms():
    average = answered("ewma", {**AVERAGE, "false_alarm_every": 370})["average"]
    assert average["false_alarm_every"] == pytest.approx(370, rel=1e-3)
    assert average["first_alarm"] == 3


@pytest.mark.parametrize(
    ("name", "changes", "says"),
    [
        (
            "funnel",
            {"areas": [{**WARDS[0], "cases": -1}, WARDS[1]]},
            "areas.0.cases: must be at least 0, not -1.",
        ),
        (
            "funnel",
            {"areas": [{**WARDS[0], "cases": 2.5}, WARDS[1]]},
            "areas.0.cases: must be a whole number",
        ),
        ("funnel", {"areas": [{**WARDS[0], "expected": 0}, WARDS[1]]}, "expected of Ward 1: is 0"),
        ("funnel", {"areas": []}, "areas: give it, or shares, and not both."),
        ("empirical-bayes", {"areas": WARDS[:2]}, "2 areas were given"),
        (
            "p-u-charts",
            {"of": "shares", "periods": [{**CHART[0], "cases": 41}, CHART[1]]},
            "at most its people, 40",
        ),
        ("p-u-charts", {"periods": [{**CHART[0], "at_risk": 0}, CHART[1]]}, "at_risk of month 0: is 0"),
        ("cusum", {"watch": {**CASES, "rise": 1}}, "rise: is 1"),
        (
            "cusum",
            {"watch": {**MEASURES, "false_alarm_every": 300}},
            "threshold: give it, or false_alarm_every",
        ),
        ("cusum", {"watch": {**MEASURES, "threshold": None, "false_alarm_every": 300}}, "threshold: give it"),
        ("ewma", {"width": None}, "width: give it, or false_alarm_every, and not both."),
        ("rare-event-charts", {"number_between": [1, 2]}, "days_between: give it, or number_between"),
        ("rare-event-charts", {"days_between": [1, -2]}, "gaps: is -2"),
        ("multiple-testing", {"tests": [{"name": "Ward 1", "chance": 2}]}, "chance of Ward 1: is 2"),
    ],
)
def test_what_can_not_be_is_refused_by_name(name, changes, says):
    assert says in refused(name, {**GIVEN[name], **changes})
