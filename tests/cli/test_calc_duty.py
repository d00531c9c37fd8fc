"""What `thenar calc duty` promises at its door."""

import json

import pytest
from click.testing import CliRunner

from thenar.cli import main

EARLY = {"day": 1, "part": "early"}
GIVEN = {
    "first_day": "2026-11-30",
    "tasks": [
        {"id": "baths", "name": "Bed baths", "shift": EARLY, "load": {"washes": 6}, "who_can": ["carer"]},
        {"id": "meals", "name": "Meals", "shift": EARLY, "load": {"washes": 3}, "who_can": ["carer"]},
    ],
    "team": [
        {"id": "Ash", "can": ["carer"], "works": [EARLY]},
        {"id": "Birch", "can": ["carer"], "works": [EARLY]},
    ],
    "limits": [{"person": "Ash", "a_shift": {"washes": 5}}],
    "ceiling": {"name": "fifteen washes", "washes": {"amount": 15, "within": "below"}},
    "current": [{"person": "Ash", "task": "baths"}, {"person": "Birch", "task": "meals"}],
}


def calc(given, *options):
    return CliRunner().invoke(main, ["calc", "duty", *options], input=json.dumps(given))


def with_entry(**entries):
    return {**GIVEN, **entries}


def test_it_finds_duties_and_says_what_changes():
    # Ash may wash 5 times and baths take 6; Birch comes to 6 + 3 = 9, below 15.
    result = calc(GIVEN)
    assert result.exit_code == 0, result.stderr
    answer = json.loads(result.stdout)
    assert answer["found"] is True
    assert answer["says"] == ["Tuesday early, Bed baths: Birch instead of Ash."]
    plan = answer["plan"]
    assert plan["changes"] == [{"shift": EARLY, "task": "baths", "off": "Ash", "on": "Birch"}]
    assert (plan["objective"], plan["gap"]) == (1, 0)
    assert [each["carries"]["washes"] for each in plan["loads"]] == [0, 9]


def test_it_says_what_must_give_way_where_there_is_no_plan():
    # Ash alone: 6 + 3 = 9 washes, four over, 4 x 10 x 2 = 80; or one more person who takes both or baths.
    result = calc(with_entry(team=GIVEN["team"][:1], current=None))
    assert result.exit_code == 0, result.stderr
    answer = json.loads(result.stdout)
    assert (answer["found"], answer["plan"]) == (False, None)
    assert answer["says"] == [
        "The tasks can't be shared out within everyone's limits: Tuesday early.",
        "Four washes over the limit on Tuesday early for Ash, or one more person on Tuesday early.",
    ]
    assert [way["cost"] for way in answer["ways_out"]] == [80, 100]


def test_it_keeps_to_a_limit_on_wet_and_glove_minutes_added_up():
    # Birch has 60 minutes in gloves; with the baths' 60 wet ones 120, not below 120: Cedar takes the baths.
    tasks = [
        {**GIVEN["tasks"][0], "load": {"wet_minutes": 60}},
        {**GIVEN["tasks"][1], "load": {"glove_minutes": 60}},
    ]
    given = with_entry(
        tasks=tasks,
        team=[*GIVEN["team"], {"id": "Cedar", "can": ["carer"], "works": [EARLY]}],
        limits=[{"person": "Ash", "a_shift": {"wet_and_glove_minutes": 10}}],
        ceiling={"name": "two hours", "wet_and_glove_minutes": {"amount": 120, "within": "below"}},
    )
    answer = json.loads(calc(given).stdout)
    assert answer["says"] == ["Tuesday early, Bed baths: Cedar instead of Ash."]
    loads = answer["plan"]["loads"]
    assert [load["carries"]["wet_and_glove_minutes"] for load in loads] == [0, 60, 60]
    fewer = json.loads(calc({**given, "team": GIVEN["team"]}).stdout)
    assert "One minute of wet work and gloves together over two hours" in fewer["says"][1]
    assert fewer["ways_out"][0]["overruns"][0]["measure"] == "wet_and_glove_minutes"


def test_its_schema_tells_of_the_sum_for_the_ceiling_and_for_own_limits():
    kinds = json.loads(calc({}, "--schema").stdout)["input"]["$defs"]
    for kind in ("CeilingGiven", "MostOfEach"):
        assert "added up" in kinds[kind]["properties"]["wet_and_glove_minutes"]["description"]
    assert "wet_and_glove_minutes" not in kinds["LoadGiven"]["properties"]


def test_it_prints_what_it_takes_and_gives():
    schemas = json.loads(calc({}, "--schema").stdout)
    assert {"tasks", "team", "limits", "ceiling"} <= set(schemas["input"]["required"])
    assert {"found", "says", "plan", "ways_out"} <= set(schemas["output"]["properties"])


FAULTS = {
    "nobody": (with_entry(team=[]), "team: is empty."),
    "an unknown person": (with_entry(limits=[{"person": "Zinnia"}]), "limits[0].person: is not among team."),
    "a negative load": (
        with_entry(tasks=[{**GIVEN["tasks"][0], "load": {"washes": -1}}]),
        "tasks.0.load.washes: must be at least 0, not -1.",
    ),
    "an unknown field": (with_entry(note="x"), "note: is not a known field."),
    "a part of no day": (
        with_entry(team=[{"id": "Ash", "can": [], "works": [{"day": 0, "part": "noon"}]}]),
        "team.0.works.0.part: ",
    ),
    "a ceiling without a number": (
        with_entry(ceiling={"name": "words"}),
        "ceiling: 'words' gives no number.",
    ),
}


@pytest.mark.parametrize(("given", "says"), FAULTS.values(), ids=FAULTS)
def test_it_names_the_field_of(given, says):
    result = calc(given)
    assert result.exit_code == 2
    assert says in result.stderr
    assert len(result.stderr.splitlines()) == 3
