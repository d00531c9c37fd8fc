"""What `thenar calc controls` promises at its door."""

import json
from copy import deepcopy

import pytest
from click.testing import CliRunner

from thenar.cli import main

ASKED = ("visible_soil", "after_toilet", "hands_wet", "contaminated", "contact_precautions", "fluid_expected")
CLEAR = {**dict.fromkeys(ASKED, "no"), "pathogen": "none"}
GIVEN = {
    "shifts": [
        {
            "shift": {
                "whole_shift": True,
                "tally": {
                    "minutes_observed": 480,
                    "washes": 22,
                    "rubs": 20,
                    "wet_minutes": 60,
                    "pairs": 10,
                    "glove_minutes": 50,
                    "gloves_on_wet_skin": 3,
                    "cream_uses": 1,
                },
            },
            "acts": [
                {"kind": "own-needs", **CLEAR, "after_toilet": "yes", "occasion": "none", "times": 2},
                {"kind": "observations", **CLEAR, "occasion": "after-patient", "times": 20},
                {"kind": "washing-dressing", **CLEAR, "occasion": "after-patient", "times": 6},
                {"kind": "drawing-blood", **CLEAR, "occasion": "before-clean-task", "times": 4},
            ],
        }
    ],
    "plans": [
        {"name": "cream", "controls": [{"kind": "cream_at_breaks", "times": 2}]},
        {
            "name": "rub where it will do",
            "controls": [{"kind": "wash_to_rub", "share": 1}, {"kind": "gloves_off", "share": 0.5}],
            "once": "500",
            "a_year": "0",
        },
        {"name": "dry hands", "controls": [{"kind": "dry_before_gloves"}]},
    ],
    "baseline": {"cases": 6, "person_years": 60, "people": 40},
    "shifts_a_year": 200,
    "prices": {"currency": "EUR", "wash": "0.05", "rub": "0.02", "pair": "0.10", "case": "1000"},
}


def calc(*arguments, given=None):
    text = None if given is None else json.dumps(given)
    return CliRunner().invoke(main, ["calc", "controls", *arguments], input=text)


def answered(given):
    result = calc(given=given)
    assert result.exit_code == 0, result.output
    return json.loads(result.stdout)


def refused(given, code=2):
    result = calc(given=given)
    assert result.exit_code == code, result.output
    assert result.stdout == ""
    lines = result.stderr.splitlines()
    assert len(lines) == 3
    return lines[0]


def changed(*path, to):
    given = deepcopy(GIVEN)
    here = given
    for step in path[:-1]:
        here = here[step]
    here[path[-1]] = to
    return given


def option(answer, name):
    return next(each for each in answer["options"] if each["plan"] == name)


def test_it_ranks_plans_with_loads_effects_costs_verdicts_cautions_and_sources():
    answer = answered(GIVEN)
    rub = option(answer, "rub where it will do")
    after = rub["shifts"][0]["after"]
    # 2 washes needed soap: 20 become rubs. 10 pairs, 4 indicated: half of 6 come off
    assert (after["washes"], after["rubs"], after["pairs"]) == (2, 40, 7)
    # 20 x (0.02 - 0.05) - 3 x 0.10 = -0.90 a shift; x 40 people x 200 shifts
    assert float(rub["costs"]["consumables_a_year"]) == -7200
    # 4 cases a year x 0.66 / 1.66
    assert rub["cases_spared_a_year"]["estimate"] == pytest.approx(1.590, abs=1e-3)
    assert {"says", "source"} <= set(rub["cautions"][0])
    assert any(caution["source"]["rule"] == "controls.caution.association" for caution in rub["cautions"])
    assert any(verdict["wet_work_before"] > verdict["wet_work_after"] for verdict in rub["verdicts"])
    known = [effect for effect in rub["effects"] if effect["fraction_of_cases_spared"]]
    assert all(effect["source"]["doi"] for effect in known)
    assert "from memory" not in {effect["source"]["known_as"] for effect in known}
    assert answer["edition"].startswith("20")


def test_it_says_that_the_order_is_not_certain_and_lists_unknown_effects_last():
    answer = answered(GIVEN)
    assert not answer["certain"]
    assert "not certain" in answer["order"]
    # cream is used once already: more of it has an effect nobody published
    assert answer["options"][-1]["plan"] == "cream"
    assert answer["options"][-1]["cases_spared_a_year"] is None
    assert answer["options"][-1]["changes_of_unknown_effect"] == ["cream_uses"]


def test_both_reasons_for_gloves_are_shown_and_memory_is_called_memory():
    (required,) = answered(GIVEN)["obligations"]
    assert (required["soap_acts"], required["rub_or_wash_acts"]) == (2, 30)
    assert (required["gloves_sterile"], required["gloves_examination"]) == (0, 4)
    (both,) = required["both_reasons"]
    assert both["act"] == "washing-dressing"
    assert both["infection_control"] == "not indicated"
    assert both["infection_control_source"]["known_as"] == "from memory"
    assert "quarter" in both["skin"]


def test_answers_left_out_are_held_against_the_plan():
    acts = [{"kind": "observations", "occasion": "after-patient", "times": 25}]
    given = changed("shifts", 0, "acts", to=acts)
    answer = answered(given)
    assert answer["obligations"][0]["held_for_want_of_answers"] == 25
    # 25 acts held to need soap, 22 washes done: 3 are made good and none becomes a rub
    assert option(answer, "rub where it will do")["shifts"][0]["after"]["washes"] == 25


def test_without_acts_nothing_is_taken_away():
    given = deepcopy(GIVEN)
    del given["shifts"][0]["acts"]
    shift = option(answered(given), "rub where it will do")["shifts"][0]
    assert shift["after"] == shift["before"]
    assert any("not known" in says for says in shift["held_back"])


def test_without_baseline_and_prices_cases_and_costs_are_not_known():
    given = {key: GIVEN[key] for key in ("shifts", "plans")}
    rub = option(answered(given), "rub where it will do")
    assert rub["cases_spared_a_year"] is None
    assert rub["costs"]["consumables_a_year"] is None
    assert "price of a rub" in rub["costs"]["missing"]


def test_the_sites_own_measure_cannot_go_below_the_floor():
    plan = {"name": "own", "controls": [{"kind": "own_measure", "washes": -100, "rubs": -100, "pairs": -100}]}
    shift = answered(changed("plans", to=[plan]))["options"][0]["shifts"][0]
    assert shift["after"]["washes"] + shift["after"]["rubs"] == 32
    assert shift["after"]["washes"] >= 2
    assert shift["after"]["pairs"] == 4
    assert shift["held_back"]


def test_the_same_seed_gives_the_same_answer_and_is_printed():
    first = answered({**GIVEN, "seed": 7})
    assert first == answered({**GIVEN, "seed": 7})
    assert first["seed"] == 7
    assert first != answered({**GIVEN, "seed": 8})


PLAN = ("plans", 1, "controls", 0)
ACT = ("shifts", 0, "acts", 0)
TALLY = ("shifts", 0, "shift", "tally")
FAULTS = {
    "a negative count": (changed(*TALLY, "washes", to=-1), "washes: must be at least 0, not -1."),
    "an absurd count": (changed(*TALLY, "washes", to=300), "300 washes in one shift"),
    "no minutes": (changed(*TALLY, "minutes_observed", to=0), "kept over 0"),
    "a share of nothing": (changed(*PLAN, "share", to=0), "share: must be over 0, not 0."),
    "a share above all": (changed(*PLAN, "share", to=1.5), "share: must be at most 1"),
    "an unknown control": (
        changed(*PLAN, "kind", to="prayer"),
        "plans.1.controls.0: 'kind' must be one of 'wash_to_rub'",
    ),
    "an unknown field": (changed(*PLAN, "speed", to=1), "speed: is not a known field."),
    "an unknown act": (changed(*ACT, "kind", to="juggling"), "acts[0].kind: 'juggling' is not known."),
    "a negative number of acts": (changed(*ACT, "times", to=-2), "times: must be at least 1, not -2."),
    "an answer that is none": (changed(*ACT, "visible_soil", to="perhaps"), "visible_soil: must be 'yes'"),
    "no acts": (changed("shifts", 0, "acts", to=[]), "acts: is empty."),
    "no shifts": (changed("shifts", to=[]), "shifts: must hold 1 or more, not 0."),
    "no plans": (changed("plans", to=[]), "plans: must hold 1 or more, not 0."),
    "a plan without controls": (
        changed("plans", 0, "controls", to=[]),
        "plans.0.controls: must hold 1 or more, not 0.",
    ),
    "two plans of one name": (changed("plans", 0, "name", to="dry hands"), "'dry hands' stands twice"),
    "a negative price": (changed("prices", "rub", to="-1"), "prices.rub: must be at least 0"),
    "negative cases": (changed("baseline", "cases", to=-1), "baseline.cases: must be at least 0, not -1."),
    "no person-years": (
        changed("baseline", "person_years", to=0),
        "baseline.person_years: must be over 0, not 0.",
    ),
    "more sterile pairs than pairs": (changed("shifts", 0, "sterile_pairs", to=11), "sterile_pairs: is 11"),
    "too many people": (
        changed("plans", 0, "controls", to=[{"kind": "shared_task", "wet_minutes": 9, "people": 99}]),
        "people: must be at most 20, not 99.",
    ),
    "a day to come": (changed("on", to="9999-01-01"), "on: 9999-01-01 is later than today"),
}


def test_an_unknown_kind_is_told_without_the_words_of_the_library_or_all_that_was_given_with_it():
    says = refused(changed(*PLAN, "kind", to="prayer"))
    assert says.count("prayer") == 1
    for word in ("tag", "Input", "validation", "'share':"):
        assert word not in says


@pytest.mark.parametrize(("given", "says"), FAULTS.values(), ids=FAULTS)
def test_it_names_what_is_wrong_with(given, says):
    assert says in refused(given)


def test_a_count_that_a_person_confirms_stands():
    given = changed("shifts", 0, "shift", "counts_confirmed", to=True)
    given["shifts"][0]["shift"]["tally"]["washes"] = 300
    assert answered(given)["options"]


def test_the_schema_names_every_kind_of_act_and_control():
    schemas = json.loads(calc("--schema").stdout)
    definitions = schemas["input"]["$defs"]
    assert "drawing-blood" in definitions["CareActGiven"]["properties"]["kind"]["enum"]
    assert {"WashToRubGiven", "SharedTaskGiven", "OwnMeasureGiven"} <= set(definitions)
    assert "certain" in schemas["output"]["properties"]
