"""What `thenar calc rates` promises at its door."""

import json

import pytest
from click.testing import CliRunner

from thenar.cli import main

ON = "2026-11-20"
FIFTEEN = {"name": "fifteen", "quantity": "washes", "operator": ">=", "amount": 15}
SESSION = {"observer": "A", "shift_part": "early", "minutes": 40, "washes": 2, "rubs": 3}
GIVEN = {
    "area": "Ward 4",
    "role": "nurse",
    "unit_type": "medical-ward",
    "staff_group": "nurse",
    "patients_per_worker": 5,
    "sessions": [SESSION],
    "shift": [{"name": "early", "hours": 8, "night": False}],
    "limits": [FIFTEEN],
    "on": ON,
}


def calc(*arguments, given=None):
    text = json.dumps(given) if given is not None else None
    return CliRunner().invoke(main, ["calc", *arguments], input=text)


def answered(**changes):
    result = calc("rates", given={**GIVEN, **changes})
    assert result.exit_code == 0, result.stderr
    return json.loads(result.stdout)


def refused(**changes):
    """The first of the three lines of a refusal."""
    result = calc("rates", given={**GIVEN, **changes})
    assert result.exit_code == 2, result.output
    assert result.stdout == ""
    assert "Traceback" not in result.stderr
    lines = result.stderr.splitlines()
    assert len(lines) == 3
    return " ".join(lines)


def load_of(answer, quantity):
    return next(load for load in answer["loads"] if load["quantity"] == quantity)


def test_rates_is_listed_with_the_other_computations():
    assert "rates " in calc("--list").stdout


def test_rates_gives_the_load_and_the_chance_with_their_intervals():
    answer = answered()
    washes = load_of(answer, "washes")
    # (2.079 + 2) acts in (1 + 2/3) h, worked for 8 h
    assert washes["mean"] == pytest.approx(8 * 4.079 / (5 / 3))
    assert washes["lower"] < washes["mean"] < washes["upper"]
    (chance,) = washes["chances"]
    assert chance["lower"] < chance["chance"] < chance["upper"]
    assert chance["limit"] == {**FIFTEEN, "amount": 15.0}


def test_rates_shows_the_start_its_weight_and_its_sources():
    answer = answered()
    assert answer["start"]["covers"] == "daytime"
    assert answer["start"]["worth_hours"] == 1
    known_as = {source["rule"]: source["known_as"] for source in answer["sources"]}
    assert known_as["rates.opportunities.medical-ward"] == "published"
    assert known_as["rates.starting-weight"] == "our choice"
    assert known_as["rates.adherence.general"] == "secondary"


def test_rates_of_forty_minutes_and_of_thirty_hours_differ_in_certainty():
    brief = answered(sessions=[{**SESSION, "washes": 1}])
    long = answered(sessions=[{**SESSION, "minutes": 360, "washes": 9}] * 5)
    widths = []
    for answer in (brief, long):
        (chance,) = load_of(answer, "washes")["chances"]
        widths.append(chance["upper"] - chance["lower"])
    # Worked in tests/unit/test_rates.py: from 0.00 to 1.00, and from 0.04 to 0.6.
    assert widths[0] > 0.95
    assert widths[1] < 0.65


def test_rates_keeps_observers_apart_and_says_when_they_differ():
    other = {**SESSION, "observer": "B", "minutes": 60, "washes": 30}
    answer = answered(sessions=[SESSION, other])
    washes = next(rate for rate in answer["rates"] if rate["quantity"] == "washes")
    assert [one["rate"]["acts_seen"] for one in washes["observers"]] == [2, 30]
    assert washes["between_observers"]["by_chance"] < 0.05
    assert any("observers differ more than chance" in says for says in answer["cautions"])


def test_rates_says_which_part_was_never_watched_and_that_days_are_not_nights():
    answer = answered(shift=[*GIVEN["shift"], {"name": "night", "hours": 8, "night": True}])
    assert answer["unseen_parts"] == ["night"]
    assert any("night: no session was held" in says for says in answer["cautions"])
    assert any(
        "night: the published start may not fit its hours at night" in says for says in answer["cautions"]
    )


def test_rates_says_null_and_why_where_nothing_is_known():
    pairs = load_of(answered(), "pairs")
    assert pairs["mean"] is None
    assert "nobody counted pairs of gloves" in pairs["not_known"]


def test_rates_works_from_counts_alone_and_from_a_start_alone():
    counts = answered(unit_type=None, staff_group=None, patients_per_worker=None)
    assert counts["start"] is None
    assert any("counts stand alone" in says for says in counts["cautions"])
    start = answered(sessions=[])
    assert load_of(start, "washes")["share_of_start"] == 1


def test_rates_gives_the_same_answer_twice():
    assert answered(seed=4) == answered(seed=4)


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"unit_type": "dialysis"}, "No rate is known for the unit type 'dialysis'"),
        ({"unit_type": "dialysis"}, "medical-ward-round-the-clock"),
        ({"staff_group": "porter"}, "nurse, doctor, housekeeping, other"),
        ({"patients_per_worker": None}, "patients per worker are missing"),
        ({"patients_per_worker": 0}, "patients_per_worker is 0"),
        ({"unit_type": None}, "no unit_type"),
        ({"sessions": [{**SESSION, "minutes": 0}]}, "Session 1: The tally was kept over 0"),
        ({"sessions": [{**SESSION, "washes": -1}]}, "sessions.0.washes: must be at least 0, not -1."),
        ({"sessions": [{**SESSION, "washes": 300}]}, "Session 1: 300 washes"),
        ({"sessions": [{**SESSION, "washes": 2.5}]}, "sessions.0.washes"),
        ({"sessions": [{"observer": "A", "shift_part": "early"}]}, "sessions.0.minutes: is missing."),
        ({"sessions": [{**SESSION, "sneezes": 1}]}, "sessions.0.sneezes: is not a known field."),
        ({"shift": []}, "shift"),
        ({"shift": [{"name": "early", "hours": 30, "night": False}]}, "early has 30 hours."),
        ({"limits": [{**FIFTEEN, "amount": -1}]}, "'fifteen' is -1"),
        ({"limits": [{**FIFTEEN, "operator": "<"}]}, "limits.0.operator"),
        ({"on": "9999-01-01"}, "later than today"),
    ],
)
def test_rates_names_what_is_wrong(changes, says):
    assert says in refused(**changes)


def test_rates_lets_a_confirmed_count_stand():
    given = [{**SESSION, "minutes": 480, "washes": 300}]
    assert answered(sessions=given, counts_confirmed=True)["rates"][0]["together"]["acts_seen"] == 300


def test_rates_names_the_known_unit_types_in_its_schema():
    schema = json.loads(calc("rates", "--schema").stdout)
    assert "adult-intensive-care" in schema["input"]["properties"]["unit_type"]["enum"]
    assert "nurse" in schema["input"]["properties"]["staff_group"]["enum"]
    assert "loads" in schema["output"]["properties"]
