"""What `thenar calc patch-test-quality` promises at its door."""

import json

import pytest
from click.testing import CliRunner

from thenar.cli import main

ON = "2026-11-20"
# Lessmann and others 2005: propylene glycol 20 % in water, German network.
GLYCOL = {
    "hapten": "propylene_glycol",
    "concentration": "20",
    "vehicle": "aq",
    "allergic": 1044,
    "doubtful": 1083,
    "irritant": 271,
}
NICKEL = {"position": 1, "hapten": "nickel_sulfate", "concentration": "5", "vehicle": "pet", "series": "base"}
CONTROL = {
    "position": 2,
    "hapten": "sodium lauryl sulfate",
    "concentration": "0.5",
    "vehicle": "aq",
    "kind": "irritant control",
}


def a_test(grade="++", control="-", **more):
    positions = [
        {**NICKEL, "grades": {"2026-03-04": "-", "2026-03-06": grade}},
        {**CONTROL, "grades": {"2026-03-05": control}},
    ]
    return {"applied_on": "2026-03-02", "occluded_until": "2026-03-04", "positions": positions, **more}


def calc(*arguments, given=None):
    text = json.dumps(given) if given is not None else None
    return CliRunner().invoke(main, ["calc", *arguments], input=text)


def answered(**given):
    result = calc("patch-test-quality", given={"on": ON, **given})
    assert result.exit_code == 0, result.stderr
    return json.loads(result.stdout)


def refused(**given):
    result = calc("patch-test-quality", given={"on": ON, **given})
    assert result.exit_code == 2, result.output
    assert result.stdout == ""
    assert "Traceback" not in result.stderr
    lines = result.stderr.splitlines()
    assert len(lines) == 3
    return " ".join(lines)


def test_it_is_listed_and_has_schemas():
    assert "patch-test-quality " in calc("--list").stdout
    schemas = json.loads(calc("patch-test-quality", "--schema").stdout)
    assert set(schemas["input"]["properties"]) == {"preparations", "tests", "people", "baseline", "on"}
    assert "profile" in schemas["output"]["properties"]


def test_published_counts_give_the_published_index_with_its_interval():
    (one,) = answered(preparations=[GLYCOL])["preparations"]
    index = one["reaction_index"]
    assert index["estimate"] == pytest.approx(-310 / 2398)
    assert index["lower"] < index["estimate"] < index["upper"]
    assert index["reactions"] == 2398
    assert one["counted_from"] == "counts"


def test_what_was_not_counted_is_null_and_the_verdict_not_known():
    (one,) = answered(preparations=[GLYCOL])["preparations"]
    assert (one["weak"], one["positivity_ratio"], one["tests"], one["positive"]) == (None, None, None, None)
    assert (one["quality"], one["settled"]) == ("not known", False)


def test_the_verdict_shows_both_indices_and_their_sources():
    answer = answered(preparations=[{**GLYCOL, "weak": 800}])
    (one,) = answer["preparations"]
    assert one["quality"] == "problematic"
    assert one["positivity_ratio"]["estimate"] == pytest.approx(800 / 1044)
    known_as = {source["rule"]: source["known_as"] for source in answer["sources"]}
    assert known_as["patch-test.quality.reaction-index"] == "published"
    assert any("how a clinic reads" in says for says in answer["cautions"])
    assert "Wilson" in answer["methods"]


def test_tests_are_counted_and_the_control_told():
    answer = answered(tests=[a_test(), a_test("+", "IR"), a_test("NT")])
    (one,) = answer["preparations"]
    assert (one["hapten"], one["counted_from"]) == ("nickel_sulfate", "tests")
    assert (one["tests"], one["allergic"], one["weak"], one["unsettled"]) == (2, 2, 1, 1)
    assert one["quality"] == "too few to say"
    assert answer["tests"] == 3
    assert (answer["control"]["used"]["part"], answer["control"]["reacted"]["part"]) == (3, 1)
    assert any("23 of 29" in says for says in answer["cautions"])


def test_without_a_control_the_answer_says_what_can_not_be_told():
    bare = a_test()
    bare["positions"] = bare["positions"][:1]
    answer = answered(tests=[bare])
    assert any("No irritant control was read" in says for says in answer["cautions"])
    assert answer["control"]["reacted"] is None


def test_the_profile_counts_who_is_not_known():
    people = [{"male": True, "age": 52}, {"male": False, "age": 31}, {"hand": True}]
    profile = answered(people=people)["profile"]
    assert profile["people"] == 3
    male = profile["lines"][0]
    assert (male["share"]["part"], male["share"]["whole"], male["not_known"]) == (1, 2, 1)


def test_positive_is_worked_out_from_the_baseline_series_where_it_is_not_given():
    tests = [
        a_test(person={"hand": True}),
        a_test("-", person={}),
        a_test("NT", person={}),
        a_test("-", person={"positive": True}),
    ]
    last = answered(tests=tests, baseline="base")["profile"]["lines"][-1]
    assert (last["letter"], last["share"]["part"], last["share"]["whole"], last["not_known"]) == (
        "P",
        2,
        3,
        1,
    )
    last = answered(tests=tests)["profile"]["lines"][-1]
    assert (last["share"]["part"], last["not_known"]) == (1, 3)


def test_there_is_no_profile_of_nobody():
    assert answered(preparations=[GLYCOL])["profile"] is None


def graded(day, grade="+"):
    return a_test(positions=[{**NICKEL, "grades": {day: grade}}])


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ({}, "Neither preparations nor tests nor people"),
        ({"preparations": [GLYCOL, GLYCOL]}, "Preparation 2 stands earlier"),
        ({"preparations": [{**GLYCOL, "weak": 2000}]}, "2000 weak of 1044"),
        ({"preparations": [{**GLYCOL, "tests": 9}]}, "2398 reactions in 9 tests"),
        ({"preparations": [{**GLYCOL, "doubtful": -1}]}, "preparations.0.doubtful"),
        ({"preparations": [{**GLYCOL, "brand": "x"}]}, "brand"),
        (
            {"tests": [a_test(), graded("2026-03-01")]},
            "Test 2: Position 1 has a reading on 2026-03-01, before",
        ),
        ({"tests": [graded("2026-03-02")]}, "the day the test was put on"),
        ({"tests": [graded("2026-03-06", "NT"), graded("2026-05-01")], "on": "2026-04-30"}, "still to come"),
        ({"tests": [graded("2026-03-06", "4+")]}, "Test 1: A grade is none of those in use"),
        (
            {"tests": [a_test(), graded("2026-06-09")]},
            "Test 2: Position 1 has a reading on 2026-06-09, 99 days",
        ),
        ({"tests": [a_test(positions=[NICKEL, NICKEL])]}, "Position 1 is used 2 times"),
        ({"tests": [a_test(positions=[])]}, "tests.0.positions"),
        ({"people": [{"age": 130}]}, "130 years"),
        ({"people": [{"male": "yes"}]}, "people.0.male"),
        ({"preparations": [GLYCOL], "on": "2999-01-01"}, "later than today"),
    ],
)
def test_what_can_not_be_is_refused_in_three_lines(given, says):
    assert says in refused(**given)


def test_a_list_whose_parts_can_not_be_read_is_not_called_too_short_as_well():
    said = refused(tests=[a_test(positions=[{**NICKEL, "position": "one"}])])
    assert "tests.0.positions.0.position" in said
    assert "must hold" not in said
