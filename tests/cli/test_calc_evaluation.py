"""What the doors promise: whether a change worked, how to try one by ward, how long hands take to clear."""

import json

import pytest
from click.testing import CliRunner

from thenar.cli import main

GROUNDS = {
    "case_definition": "hand dermatitis, opened as a case",
    "answer_from": "cases seen by the service",
    "first": "2024-01-01",
    "last": "2025-12-31",
}


def months(ward, level_before, level_after):
    """A year before and a year after, around those levels."""
    return [
        {
            "ward": ward,
            "month": f"{2024 + place // 12}-{place % 12 + 1:02}-01",
            "cases": (level_before if place < 12 else level_after) + (1, 0, 2, 0, 1)[place % 5],
            "person_years": 4.0,
        }
        for place in range(24)
    ]


CHANGE = {"what": "Cream posts", "wards": ["Ward 1"], "on": "2025-01-01"}
EVALUATION = {
    "change": CHANGE,
    "grounds": GROUNDS,
    "months": [*months("Ward 1", 24, 9), *months("Ward 2", 20, 20)],
    "season_pairs": 0,
}
TRIAL = {"outcome": "share of people with a finding", "usual": 0.02, "with_change": 0.01, "per_ward": 500}
CASES = [
    {"days": days, "ending": ending}
    for days, ending in [
        (20, "clear"),
        (40, "clear"),
        (35, "left the job"),
        (50, "still open"),
        (60, "clear"),
    ]
]
CLEAR = {"grounds": GROUNDS, "cases": CASES}
PEOPLE = [
    {"days": 8},
    {"days": 1},
    {"days": 5, "last_seen": "left the job"},
    {"days": 8, "relapses": [2, 6, 7]},
    {"days": 3, "relapses": [3], "last_seen": "left the job"},
]
RELAPSE = {"grounds": GROUNDS, "people": PEOPLE, "at": [2, 3, 5, 6, 7]}
GIVEN = {"evaluation": EVALUATION, "trial-planner": TRIAL, "time-to-clear": CLEAR, "relapse": RELAPSE}


def calc(*arguments, given=None):
    text = json.dumps(given) if given is not None else None
    return CliRunner().invoke(main, ["calc", *arguments], input=text)


def answered(name, given):
    result = calc(name, given=given)
    assert result.exit_code == 0, result.stderr
    return json.loads(result.stdout)


@pytest.mark.parametrize("name", GIVEN)
def test_every_door_answers_with_cautions_method_and_edition(name):
    answer = answered(name, GIVEN[name])
    assert answer["edition"].startswith("20")
    told = answer.get("plan", answer)
    assert told["cautions"]
    assert told["method"]
    assert told["sentence"]


@pytest.mark.parametrize("name", GIVEN)
def test_every_door_prints_its_schemas(name):
    schemas = json.loads(calc(name, "--schema").stdout)
    assert set(schemas) == {"input", "output"}


@pytest.mark.parametrize("name", [name for name in GIVEN if name != "trial-planner"])
def test_every_answer_of_counted_cases_states_its_grounds(name):
    grounds = answered(name, GIVEN[name])["grounds"]
    assert grounds["case_definition"] == GROUNDS["case_definition"]
    assert grounds["answer_from"] == GROUNDS["answer_from"]


def test_an_evaluation_gives_the_sentence_and_the_months_for_a_plot():
    answer = answered("evaluation", EVALUATION)
    assert answer["sentence"].startswith("Cream posts (from 2025-01-01, 1 ward): ")
    assert answer["ratio"]["upper"] < 1
    assert len(answer["months"]) == 48
    assert sum(month["without"] is not None for month in answer["months"]) == 12


def test_a_trial_is_planned_for_a_power_or_judged_by_its_wards():
    """First row of table 5.6, Field Trials of Health Interventions: 9 wards in each arm."""
    assert answered("trial-planner", TRIAL)["plan"]["wards_per_arm"] == 9
    judged = answered("trial-planner", {**TRIAL, "wards_per_arm": 5})["plan"]
    assert judged["power"] < 0.8
    by_correlation = answered("trial-planner", {**TRIAL, "correlation": 0.02})
    assert by_correlation["spread"] == pytest.approx((0.02 * 0.98 / 0.02) ** 0.5)


def test_an_end_without_limit_is_said_as_such():
    """Before the first relapse nothing bounds the mean from above; JSON has no infinity of its own."""
    unseen = answered("relapse", {**RELAPSE, "at": [1]})
    assert unseen["counts"][0]["relapses"]["upper"] == "inf"


def test_mean_counts_are_those_of_dong_2015():
    counts = answered("relapse", RELAPSE)["counts"]
    assert [count["relapses"]["estimate"] for count in counts] == pytest.approx([0.25, 0.5, 0.5, 0.75, 1])


def without(name, field):
    return {key: value for key, value in GIVEN[name].items() if key != field}


def with_month(**changes):
    first, *rest = EVALUATION["months"]
    return {**EVALUATION, "months": [{**first, **changes}, *rest]}


@pytest.mark.parametrize(
    ("name", "given", "says"),
    [
        ("evaluation", without("evaluation", "grounds"), "grounds: is missing"),
        ("evaluation", with_month(cases=-1), "months.0.cases: must be at least 0, not -1."),
        ("evaluation", with_month(cases=1.5), "months.0.cases: must be a whole number"),
        ("evaluation", with_month(person_years=0), "months.0: person_years of Ward 1 in 2024-01: is 0"),
        ("evaluation", with_month(month="2024-01-09"), "first day of a month"),
        ("evaluation", {**EVALUATION, "months": []}, "months: must hold 1 or more"),
        (
            "evaluation",
            {**EVALUATION, "change": {**CHANGE, "on": "2026-02-01"}},
            "outside the months given (2024-01 to 2025-12)",
        ),
        (
            "evaluation",
            {**EVALUATION, "change": {**CHANGE, "on": "2024-05-01"}},
            "4 months before the change",
        ),
        (
            "evaluation",
            {**EVALUATION, "change": {**CHANGE, "wards": ["Ward 3"]}},
            "No month was given for Ward 3",
        ),
        (
            "evaluation",
            {**EVALUATION, "grounds": {**GROUNDS, "last": "2999-12-31"}},
            "later than today",
        ),
        ("evaluation", {**EVALUATION, "season_pairs": 6}, "season_pairs: is 6"),
        ("evaluation", {**EVALUATION, "confidence": 1.0}, "confidence: is 1.0"),
        ("trial-planner", {**TRIAL, "power": 0.8, "wards_per_arm": 5}, "power: give it, or wards_per_arm"),
        ("trial-planner", {**TRIAL, "spread": 0.3, "correlation": 0.1}, "correlation: is for shares"),
        ("trial-planner", {**TRIAL, "with_change": 0.02}, "with_change: is 0.02"),
        ("trial-planner", {**TRIAL, "wards_per_arm": 1}, "wards_per_arm: is 1"),
        ("time-to-clear", {**CLEAR, "cases": CASES[2:4]}, "None of 2 cases cleared"),
        (
            "time-to-clear",
            {**CLEAR, "cases": [{"days": -1, "ending": "clear"}]},
            "cases.0.days: must be at least 0",
        ),
        ("time-to-clear", {**CLEAR, "competing": ["clear"]}, "competing: is"),
        (
            "relapse",
            {**RELAPSE, "people": [*PEOPLE, {"days": 4, "relapses": [5]}]},
            "people.5: relapses: are out",
        ),
        ("relapse", {**RELAPSE, "people": PEOPLE[:3]}, "None of 3 people relapsed"),
    ],
)
def test_what_can_not_be_is_refused_by_name(name, given, says):
    result = calc(name, given=given)
    assert result.exit_code == 2, result.output
    assert result.stdout == ""
    assert len(result.stderr.splitlines()) == 3
    assert says in result.stderr
