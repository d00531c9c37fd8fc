"""What `thenar calc formulary` promises at its door."""

import json

import pytest
from click.testing import CliRunner

from thenar.cli import main

GIVEN = {
    "offers": [
        {"product": "S1", "category": "soap", "cost_a_worker": 4, "cost_of_stock": 50},
        {"product": "S2", "category": "soap", "cost_a_worker": "6.50", "cost_of_stock": 50},
        {"product": "G1", "category": "glove", "cost_a_worker": 20, "features": ["size M"]},
    ],
    "groups": [
        {"pattern": "none", "workers": 40, "judged": None},
        {
            "pattern": "A",
            "workers": 2,
            "judged": [
                {"product": "S1", "answer": "avoid", "allergens": ["isothiazolinone"]},
                {"product": "S2", "answer": "no match found"},
                {"product": "G1", "answer": "no match found"},
            ],
        },
    ],
    "needs": [
        {"name": "soap", "category": "soap", "obligation": True},
        {"name": "glove", "category": "glove", "features": ["size M"]},
    ],
    "goal": "cheapest",
    "present": ["S1", "G1"],
}
GLOVE_TO_AVOID = {"product": "G1", "answer": "avoid", "allergens": ["thiurams"]}


def calc(given, *options):
    return CliRunner().invoke(main, ["calc", "formulary", *options], input=json.dumps(given))


def with_entry(**entries):
    return {**GIVEN, **entries}


def without_gloves_for_a():
    nobody, some = GIVEN["groups"]
    return with_entry(groups=[nobody, {**some, "judged": [*some["judged"][:2], GLOVE_TO_AVOID]}])


def test_it_finds_a_formulary_and_says_what_it_costs_and_whom_it_serves():
    # Both soaps: 40 x 4 + 2 x 6.50 + 2 x 50 = 273; S2 alone 42 x 6.50 + 50 = 323. Gloves: 42 x 20 = 840.
    result = calc(GIVEN)
    assert result.exit_code == 0, result.stderr
    answer = json.loads(result.stdout)
    assert answer["found"] is True
    assert answer["says"][:2] == ["3 products, 1,113.00 a year: G1, S1, S2.", "Add: S2."]
    formulary = answer["formulary"]
    assert float(formulary["cost"]["use"]) == 1013
    assert float(formulary["at_least"]) == 1113
    assert [each["serves"][0]["workers"] for each in formulary["chosen"]] == [42, 40, 2]
    assert formulary["against_present"]["lacking_now"] == [{"need": "soap", "pattern": "A", "workers": 2}]


def test_it_says_who_has_no_product_and_what_to_look_for():
    result = calc(without_gloves_for_a())
    assert result.exit_code == 0, result.stderr
    answer = json.loads(result.stdout)
    assert answer["found"] is False
    assert answer["says"][:2] == [
        "No product for glove: group A, 2 workers.",
        "For glove, look for a product without: thiurams.",
    ]
    assert answer["sought"][0]["nearest"] == [{"product": "G1", "allergens": ["thiurams"]}]
    assert [each["product"] for each in answer["formulary"]["chosen"]] == ["G1", "S1", "S2"]


def test_it_says_how_many_products_it_takes():
    answer = json.loads(calc(with_entry(at_most=1)).stdout)
    assert (answer["found"], answer["fewest"]) == (False, 2)


def test_the_same_question_prints_the_same_answer():
    turned = with_entry(
        offers=GIVEN["offers"][::-1], needs=GIVEN["needs"][::-1], groups=GIVEN["groups"][::-1]
    )
    assert calc(turned).stdout == calc(GIVEN).stdout


def test_it_prints_what_it_takes_and_gives():
    schemas = json.loads(calc({}, "--schema").stdout)
    assert {"offers", "groups", "needs", "goal"} == set(schemas["input"]["required"])
    assert {"found", "says", "formulary", "sought"} <= set(schemas["output"]["properties"])


FAULTS = {
    "no needs": (with_entry(needs=[]), "needs: is empty."),
    "a negative cost": (
        with_entry(offers=[{**GIVEN["offers"][0], "cost_a_worker": -4}]),
        "offers.0.cost_a_worker: must be at least 0, not -4.",
    ),
    "a cost not known": (
        with_entry(offers=[{**GIVEN["offers"][0], "cost_a_worker": None}, *GIVEN["offers"][1:]]),
        "offers[0].cost_a_worker: the cost of 'S1' for a worker is not known.",
    ),
    "a cost left out": (
        with_entry(offers=[{"product": "S1", "category": "soap"}]),
        "offers.0.cost_a_worker: is missing.",
    ),
    "a product in a group that is not offered": (
        with_entry(offers=GIVEN["offers"][:2], present=None),
        "groups[1].judged: 'G1' is not among offers.",
    ),
    "a product twice": (
        with_entry(offers=[*GIVEN["offers"], GIVEN["offers"][0]]),
        "offers[3].product is the same as offers[0].product.",
    ),
    "half a worker": (
        with_entry(groups=[{"pattern": "none", "workers": 0.5, "judged": None}]),
        "groups.0.workers: ",
    ),
    "an unknown goal": (with_entry(goal="greenest"), "goal: "),
    "an unknown answer": (
        with_entry(
            groups=[{"pattern": "A", "workers": 1, "judged": [{"product": "S1", "answer": "safe"}]}],
        ),
        "groups.0.judged.0.answer: ",
    ),
    "an unknown field": (with_entry(note="x"), "note: is not a known field."),
}


@pytest.mark.parametrize(("given", "says"), FAULTS.values(), ids=FAULTS)
def test_it_names_the_field_of(given, says):
    result = calc(given)
    assert result.exit_code == 2
    assert says in result.stderr
    assert len(result.stderr.splitlines()) == 3
