"""What `thenar calc shift` and `thenar calc wet-work` promise at their doors."""

import json

import pytest
from click.testing import CliRunner

from thenar.cli import main

ON = "2026-11-20"


def calc(*arguments, given=None):
    text = given if isinstance(given, str) or given is None else json.dumps(given)
    return CliRunner().invoke(main, ["calc", *arguments], input=text)


def answered(door, given):
    result = calc(door, given=given)
    assert result.exit_code == 0, result.stderr
    return json.loads(result.stdout)


def refused(result):
    """The three lines of a refusal."""
    assert result.exit_code == 2, result.output
    assert result.stdout == ""
    assert "Traceback" not in result.stderr
    lines = result.stderr.splitlines()
    assert len(lines) == 3
    return lines


def event(clock, kind, **more):
    return {"at": f"2026-11-20T{clock}:00+00:00", "kind": kind, **more}


NIGHT = {
    "whole_shift": True,
    "on": ON,
    "events": [
        event("06:00", "wash"),
        event("06:02", "gloves_on", glove="examination", skin_wet=True),
        event("06:12", "gloves_off"),
        event("06:15", "wet_start"),
        event("06:20", "wet_stop"),
        event("06:21", "rub", gel=False),
    ],
}


def tally(**counts):
    return {"whole_shift": True, "on": ON, "tally": {"minutes_observed": 480, **counts}}


FULL = {
    "washes": 14,
    "wet_minutes": 60,
    "glove_minutes": 30,
    "wet_contacts": 4,
    "wet_glove_alternations": 0,
    "wash_glove_alternations": 0,
}


def verdicts(given):
    return {one["rule_set"]: one for one in answered("wet-work", given)["verdicts"]}


def test_shift_counts_a_log():
    quantities = answered("shift", NIGHT)["quantities"]
    assert (quantities["washes"], quantities["rubs"], quantities["gel_rubs"]) == (1, 1, 0)
    assert (quantities["wet_minutes"], quantities["glove_minutes"]) == (5, 10)
    assert (quantities["wash_glove_alternations"], quantities["wet_glove_alternations"]) == (1, 1)
    assert quantities["gloves_on_wet_skin"] == 1
    assert "each way is one change" in quantities["convention"]


def test_shift_says_null_for_what_was_not_watched():
    quantities = answered("shift", {**NIGHT, "events": [event("06:00", "wash")], "watched": ["washes"]})
    assert quantities["quantities"]["washes"] == 1
    assert quantities["quantities"]["glove_minutes"] is None


def test_shift_takes_local_times_over_a_change_of_the_clocks():
    # Berlin, 25 October 2026: 02:30 summer time (+02:00) to 02:30 winter time (+01:00) is an hour
    events = [
        {"at": "2026-10-25T02:30:00+02:00", "kind": "wet_start"},
        {"at": "2026-10-25T02:30:00+01:00", "kind": "wet_stop"},
    ]
    given = {"whole_shift": True, "on": "2026-10-25", "events": events}
    assert answered("shift", given)["quantities"]["wet_minutes"] == 60


@pytest.mark.parametrize(
    ("given", "says"),
    [
        (
            {**NIGHT, "events": [event("06:00", "wet_start")]},
            "Line 1, 06:00: no end to the wet contact that starts here",
        ),
        (
            {**NIGHT, "events": [event("06:00", "wash"), event("05:00", "wash")]},
            "Line 2, 05:00: earlier than line 1",
        ),
        ({**NIGHT, "events": []}, "The log is empty"),
        ({**NIGHT, "tally": {"minutes_observed": 60}}, "events or a tally, and not both"),
        ({"whole_shift": True}, "events or a tally, and not both"),
        ({"events": []}, "whole_shift: is missing."),
        ({**NIGHT, "events": [{"at": "2026-11-20T06:00:00", "kind": "wash"}]}, "events.0.at: "),
        ({**NIGHT, "events": [event("06:00", "sneeze")]}, "events.0.kind: "),
        ({"whole_shift": True, "tally": {"washes": 3}}, "tally.minutes_observed: is missing."),
        (tally(washes=-1), "tally.washes: must be at least 0, not -1."),
        (tally(washes=300), "300 washes in one shift: more than 150 are asked back."),
        (tally(washes=3, wash_glove_alternations=7), "do not fit"),
        ({**NIGHT, "on": "9999-01-01"}, "on: 9999-01-01 is later than today"),
    ],
)
def test_shift_names_what_is_wrong(given, says):
    assert says in refused(calc("shift", given=given))[0]


def test_counts_asked_back_stand_once_confirmed():
    given = {**tally(washes=300), "counts_confirmed": True}
    assert answered("shift", given)["quantities"]["washes"] == 300


def test_wet_work_judges_under_every_rule_set_with_sources():
    answer = answered("wet-work", {"shift": tally(**FULL), "jurisdiction": "DE"})
    assert len(answer["verdicts"]) >= 14
    assert answer["governing"] == "wet-work.de-trgs-401-2022"
    german = next(one for one in answer["verdicts"] if one["governing"])
    assert (german["verdict"], german["tier"]) == ("not wet work by this rule set", "none")
    washes = next(one for one in german["criteria"] if one["rule"].endswith(".washes"))
    # 14 washes, limit 15: one more is the offer
    assert (washes["state"], washes["margin"], washes["next_limit"]["tier"]) == ("not met", 1, "offer")
    assert german["cautions"]
    for one in answer["verdicts"]:
        for criterion in one["criteria"]:
            assert criterion["source"]["source"]
            assert criterion["source"]["known_as"]


def test_wet_work_says_what_is_missing():
    german = verdicts({"shift": tally(washes=3)})["wet-work.de-trgs-401-2022"]
    assert german["outcome"] == "not known"
    assert german["verdict"].startswith("not known: wet minutes, ")
    assert german["tier"] == "not known"


def test_wet_work_marks_what_is_not_in_force_and_refuses_it_by_name():
    assert not verdicts({"shift": tally(**FULL)})["wet-work.de-trgs-401-2008"]["in_force"]
    result = calc("wet-work", given={"shift": tally(**FULL), "rule_set": "wet-work.de-trgs-401-2008"})
    assert "is not in force on 20 November 2026" in refused(result)[0]


def test_wet_work_answers_by_one_name():
    given = {"shift": tally(**FULL), "rule_set": "wet-work.int-2-20-2"}
    assert list(verdicts(given)) == ["wet-work.int-2-20-2"]


def test_an_unknown_governing_set_is_said_to_be_not_known():
    for given in ({}, {"jurisdiction": "FR"}, {"jurisdiction": "US"}):
        assert answered("wet-work", {"shift": tally(**FULL), **given})["governing"] == "not known"


def test_wet_work_counts_rubs_only_by_policy():
    shift = tally(**FULL, rubs=150, gel_rubs=0)  # 150 x 49.4 s = 123.5 min
    default, everything = (
        verdicts({"shift": shift, **policy})["wet-work.int-2-20-2"]["outcome"]
        for policy in ({}, {"rub_policy": "all"})
    )
    assert (default, everything) == ("not wet work", "wet work")


def test_wet_work_tries_a_report():
    answer = answered("wet-work", {"shift": tally(**FULL), "jurisdiction": "DE", "self_reported": True})
    # 14 washes doubled are 28: wet work, and mandatory
    flips = [flip for flip in answer["self_report"]["flips"] if flip["governing"]]
    assert [(flip["reading"], flip["becomes"]) for flip in flips] == [
        ("twice the count", "wet work; tier mandatory")
    ]
    assert answer["self_report"]["observe"] is True
    assert answer["self_report"]["says"].startswith("Observe, don't ask")
    assert answered("wet-work", {"shift": tally(**FULL)})["self_report"] is None


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({"jurisdiction": "XX"}, "no jurisdiction 'XX'"),
        ({"rule_set": "moon"}, "no wet-work rule set 'moon'"),
        ({"rub_policy": "some"}, "rub_policy: "),
        ({"note": 1}, "note: is not a known field."),
    ],
)
def test_wet_work_names_what_is_wrong(more, says):
    assert says in refused(calc("wet-work", given={"shift": tally(**FULL), **more}))[0]


def test_the_schema_of_wet_work_names_jurisdictions_and_rule_sets():
    properties = json.loads(calc("wet-work", "--schema").stdout)["input"]["properties"]
    assert set(properties["jurisdiction"]["enum"]) >= {"GB", "DE", "FR", "US", "generic"}
    assert "wet-work.de-trgs-401-2022" in properties["rule_set"]["enum"]
