"""What `thenar calc` promises to a person or a script at its doors."""

import json
import subprocess
import sys

import pytest
from click.testing import CliRunner

from thenar.cli import main
from thenar.cli.calc import DOORS

NOTHING = {
    "erythema": 0,
    "induration": 0,
    "vesicles": 0,
    "fissures": 0,
    "scaling": 0,
    "oedema": 0,
    "extent": 0,
}


def hands(**areas):
    """Clear hands but for the grades named, by area."""
    names = ("fingertips", "fingers", "palms", "backs", "wrists")
    return {"areas": {name: {**NOTHING, **areas.get(name, {})} for name in names}}


EARLY = hands(
    fingertips={"erythema": 1, "scaling": 1, "extent": 1},  # 2 x 1 = 2
    fingers={"erythema": 1, "fissures": 1, "scaling": 1, "extent": 1},  # 3 x 1 = 3
    backs={"erythema": 1, "scaling": 1, "extent": 2},  # 2 x 2 = 4; total 9
)


def calc(*arguments, given=None):
    text = given if isinstance(given, str | bytes) or given is None else json.dumps(given)
    return CliRunner().invoke(main, ["calc", *arguments], input=text)


def refused(result, code=2):
    """The three lines of a refusal: what happened, why it matters, what to do."""
    assert result.exit_code == code, result.output
    assert result.stdout == ""
    lines = result.stderr.splitlines()
    assert len(lines) == 3
    assert "Traceback" not in result.stderr
    return lines


def test_it_scores_hands_with_total_band_areas_sources_and_edition():
    result = calc("severity", given=EARLY)
    assert result.exit_code == 0
    answer = json.loads(result.stdout)
    assert answer["total"] == 9
    assert answer["band"] == "almost clear"
    assert [area["score"] for area in answer["areas"].values()] == [2, 3, 0, 4, 0]
    assert "10.1111/bjd.18295" in [source["doi"] for source in answer["sources"]]
    assert answer["edition"].startswith("20")


def test_the_order_of_areas_and_fields_does_not_matter():
    reversed_order = {
        "areas": {name: dict(reversed(area.items())) for name, area in reversed(list(EARLY["areas"].items()))}
    }
    assert calc("severity", given=reversed_order).stdout == calc("severity", given=EARLY).stdout


def test_hard_to_judge_and_the_day_come_back_with_the_score():
    answer = json.loads(calc("severity", given={**EARLY, "hard_to_judge": True, "on": "2024-02-29"}).stdout)
    assert answer["hard_to_judge"] is True
    assert answer["on"] == "2024-02-29"


def spoiled(area, field, value):
    given = json.loads(json.dumps(EARLY))
    given["areas"][area][field] = value
    return given


def without(area, field=None):
    given = json.loads(json.dumps(EARLY))
    if field:
        del given["areas"][area][field]
    else:
        del given["areas"][area]
    return given


FAULTS = {
    "a grade too high": (spoiled("palms", "extent", 5), "areas.palms.extent: must be at most 4, not 5."),
    "a grade below none": (spoiled("backs", "oedema", -1), "areas.backs.oedema: must be at least 0, not -1."),
    "a grade in words": (spoiled("backs", "oedema", "mild"), "areas.backs.oedema: must be a whole number"),
    "a grade between two": (spoiled("backs", "oedema", 1.5), "must be a whole number, not 1.5."),
    "a whole number as decimal": (spoiled("backs", "oedema", 1.0), "must be a whole number, not 1.0."),
    "true for one": (
        spoiled("backs", "oedema", True),
        "areas.backs.oedema: must be a whole number, not True.",
    ),
    "nothing for a grade": (spoiled("backs", "oedema", None), "must be a whole number, not None."),
    "an unknown sign": (spoiled("wrists", "redness", 1), "areas.wrists.redness: is not a known field."),
    "an area left out": (without("wrists"), "areas.wrists: is missing."),
    "a sign left out": (without("wrists", "scaling"), "areas.wrists.scaling: is missing."),
    "an unknown area": (
        {"areas": {**EARLY["areas"], "elbows": NOTHING}},
        "areas.elbows: is not a known field.",
    ),
    "an unknown key": ({**EARLY, "note": "x"}, "note: is not a known field."),
    "a list": ([], "input: must be an object, not []."),
    "an area that is a number": ({"areas": {**EARLY["areas"], "palms": 3}}, "areas.palms: must be an object"),
    "a flag that is a number": (
        {**EARLY, "hard_to_judge": 1},
        "hard_to_judge: must be true or false, not 1.",
    ),
    "a day in words": ({**EARLY, "on": "today"}, "on: must be a date such as 2026-11-25, not 'today'."),
    "a day that is none": ({**EARLY, "on": "2023-02-29"}, "on: must be a date"),
    "a day to come": ({**EARLY, "on": "9999-01-01"}, "on: 9999-01-01 is later than today"),
    "extent without signs": (hands(palms={"extent": 2}), "palms: extent is 2, but every sign is 0."),
    "signs without extent": (hands(palms={"scaling": 2}), "palms: scaling 2, but extent is 0."),
    "nothing at all": ("", "Standard input is empty."),
    "only spaces": (" \n", "Standard input is empty."),
    "broken JSON": ('{"areas": ', "Standard input is not JSON: "),
    "two values": ("{} {}", "Standard input is not JSON: Extra data at line 1, column 4."),
    "a key given twice": ('{"areas": {}, "areas": {}}', "'areas' stands twice in one object."),
    "not a number": ('{"areas": NaN}', "NaN is not a number."),
    "another encoding": ('{"note": "é"}'.encode("cp1252"), "not UTF-8 text (byte 10)."),
    "a bottomless list": ("[" * 100_000, "nested too deeply."),
    "an endless number": ('{"areas": ' + "9" * 5_000 + "}", "Standard input is not usable JSON"),
}


@pytest.mark.parametrize(("given", "says"), FAULTS.values(), ids=FAULTS)
def test_it_names_what_is_wrong_with(given, says):
    assert says in refused(calc("severity", given=given))[0]


def test_every_fault_is_named_at_once():
    given = spoiled("palms", "extent", 5)
    given["areas"]["nose"] = NOTHING
    del given["areas"]["wrists"]
    what = refused(calc("severity", given=given))[0]
    for fault in ("areas.palms.extent", "areas.nose", "areas.wrists"):
        assert fault in what


def test_control_characters_in_a_key_never_reach_the_terminal():
    result = calc("severity", given={**EARLY, "\x1b[31m": 1})
    assert "\x1b" not in result.stderr
    refused(result)


def test_a_byte_order_mark_is_read_past():
    assert calc("severity", given=b"\xef\xbb\xbf" + json.dumps(EARLY).encode()).exit_code == 0


def test_a_day_before_the_rules_is_refused():
    what = refused(calc("severity", given={**EARLY, "on": "2001-01-01"}), code=2)[0]
    assert "has no value on 2001-01-01" in what


def test_a_change_is_judged_by_both_yardsticks():
    answer = json.loads(calc("severity-change", given={"before": 30, "after": 18}).stdout)
    # 18 - 30 = -12: more than 8.3, less than 41
    assert answer["difference"] == -12
    assert [(one["yardstick"], one["verdict"]) for one in answer["judgements"]] == [
        ("oosterhaven-2020", "no change that can be told"),
        ("yuksel-2021", "improved"),
    ]


def test_a_total_that_no_hands_can_have_is_refused():
    assert "total of 359" in refused(calc("severity-change", given={"before": 359, "after": 0}))[0]


def test_it_sorts_a_skin_check_with_reasons_sources_and_advice():
    result = calc("triage", given={"answers": {"breathing": "yes"}})
    assert result.exit_code == 0
    answer = json.loads(result.stdout)
    assert answer["urgency"] == "emergency"
    assert answer["patient_contact"] == "stop"
    decisive = [reason for reason in answer["reasons"] if reason["decisive"]]
    assert decisive
    assert all(reason["source"]["source"] for reason in answer["reasons"])
    assert answer["advice"]
    assert answer["edition"].startswith("20")


def test_answers_left_out_never_reassure():
    answer = json.loads(calc("triage", given={"answers": {}}).stdout)
    assert answer["urgency"] != "self_care"
    assert answer["unanswered"]


def test_red_flag_advice_is_there_whatever_was_answered():
    worst = json.loads(calc("triage", given={"answers": {"breathing": "yes"}}).stdout)
    least = json.loads(calc("triage", given={"answers": {"breathing": "no"}}).stdout)
    assert worst["red_flags"] == least["red_flags"] != []


def test_what_would_raise_names_questions_that_do_raise():
    order = ["self_care", "routine", "prompt", "same_day", "emergency"]
    answers = {"breathing": "no"}
    before = json.loads(calc("triage", given={"answers": answers}).stdout)
    for each in before["what_would_raise"]:
        after = json.loads(calc("triage", given={"answers": {**answers, each["question"]: "yes"}}).stdout)
        assert after["urgency"] == each["urgency"]
        assert order.index(after["urgency"]) > order.index(before["urgency"])


@pytest.mark.parametrize(
    ("answers", "says"),
    [
        ({"nose": "yes"}, "no question 'nose'"),
        ({"fever": "maybe"}, "fever: 'maybe' is not an answer"),
        ({"fever": True}, "answers.fever: must be text, not True."),
        ("yes", "answers: must be an object, not 'yes'."),
    ],
)
def test_a_wrong_answer_is_named(answers, says):
    assert says in refused(calc("triage", given={"answers": answers}))[0]


def test_list_names_every_door_with_what_it_does():
    lines = calc("--list").stdout.splitlines()
    assert [line.split()[0] for line in lines] == list(DOORS)
    assert {"severity", "triage"} <= set(DOORS)


@pytest.mark.parametrize("name", DOORS)
def test_schema_describes_input_and_output_of(name):
    result = calc(name, "--schema")
    assert result.exit_code == 0
    schemas = json.loads(result.stdout)
    assert list(schemas) == ["input", "output"]
    assert schemas["input"]["additionalProperties"] is False
    assert "edition" in schemas["output"]["properties"]


def test_the_schema_of_severity_holds_the_limits_of_the_scale():
    area = json.loads(calc("severity", "--schema").stdout)["input"]["$defs"]["AreaGiven"]
    assert (area["properties"]["erythema"]["minimum"], area["properties"]["erythema"]["maximum"]) == (0, 3)
    assert (area["properties"]["extent"]["minimum"], area["properties"]["extent"]["maximum"]) == (0, 4)
    assert set(area["required"]) == set(NOTHING)


def test_the_schema_of_triage_names_every_question_and_its_answers():
    answers = json.loads(calc("triage", "--schema").stdout)["input"]["properties"]["answers"]
    assert set(answers["properties"]["fever"]["enum"]) == {"yes", "no", "not_sure"}
    everything = {question: allowed["enum"][0] for question, allowed in answers["properties"].items()}
    assert calc("triage", given={"answers": everything}).exit_code == 0


@pytest.mark.parametrize("arguments", [[], ["--schema"], ["nose"]])
def test_a_door_that_is_not_there_is_refused_with_those_that_are(arguments):
    lines = refused(calc(*arguments, given=EARLY))
    assert "severity" in lines[2]


def test_a_broken_site_file_is_refused_without_traceback(tmp_path, monkeypatch):
    site = tmp_path / "site.toml"
    site.write_text("kind = 3")
    monkeypatch.setenv("THENAR_SITE_KNOWLEDGE", str(site))
    assert "site.toml" in refused(calc("severity", given=EARLY))[0]


def test_help_imports_neither_the_rules_nor_the_checking_of_input():
    code = (
        "import sys\n"
        "from thenar.cli import main\n"
        "main(['--help'], standalone_mode=False)\n"
        "slow = {'django', 'pydantic', 'thenar.knowledge', 'thenar.cli.calc'} & set(sys.modules)\n"
        "sys.exit(f'imported {slow}' if slow else 0)\n"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert run.returncode == 0, run.stderr
    assert "knowledge" in run.stdout
