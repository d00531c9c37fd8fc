"""What the door to the scan for clusters promises."""

import json

import pytest
from click.testing import CliRunner

from thenar.cli import main

MONTHS = [f"2026-{month:02}-01" for month in range(1, 7)]
WARDS = [f"Ward {number}" for number in range(1, 9)]
GIVEN = {
    "grounds": {
        "case_definition": "hand dermatitis, opened as a case",
        "answer_from": "cases seen by the service",
        "first": "2026-01-01",
        "last": "2026-06-30",
    },
    "areas": [{"area": "Hospital"}, *({"area": ward, "within": "Hospital"} for ward in WARDS)],
    "periods": MONTHS,
    "counts": [
        {
            "area": ward,
            "role": "nurse",
            "starts": month,
            "cases": 3
            if ward in WARDS[:2] and month >= "2026-05"
            else int(ward == f"Ward {int(month[5:7])}"),
            "person_time": 2.0,
        }
        for ward in WARDS
        for month in MONTHS
    ],
    "stock": [{"product": "product 31", "area": ward, "first": "2026-05-14"} for ward in WARDS[:2]],
}


def calc(given):
    return CliRunner().invoke(main, ["calc", "scan"], input=json.dumps(given))


def answered(given):
    result = calc(given)
    assert result.exit_code == 0, result.stderr
    return json.loads(result.stdout)


def test_the_product_and_the_day_are_named_with_what_was_expected_and_the_chance():
    answer = answered(GIVEN)
    assert answer["scan"]["finding"].startswith(
        "Since 1 May 2026, wards stocking product 31: 12 cases against "
    )
    assert answer["scan"]["clusters"][0]["one_scan_in"] == 1000
    assert answer["grounds"]["case_definition"] == GIVEN["grounds"]["case_definition"]
    assert "No allowance was made for cases that are not reported yet." in answer["scan"]["cautions"]


def test_the_same_seed_gives_the_same_answer():
    assert answered({**GIVEN, "ending": "any"}) == answered({**GIVEN, "ending": "any"})


def test_a_delay_given_or_learned_is_stated():
    given = answered({**GIVEN, "reported": [0.5, 1.0]})["scan"]
    assert any("lowered to the share reported by now (50 %)" in caution for caution in given["cautions"])
    seen = {"began": [0, 0, 0, 0, 1, 1], "reported": [0, 0, 1, 1, 1, 1], "now": 5, "longest": 1}
    learned = answered({**GIVEN, "delays": {**seen, "began": [0] * 4, "reported": [0, 0, 1, 1]}})["scan"]
    assert learned == given


def with_count(**changes):
    return {**GIVEN, "counts": [{**GIVEN["counts"][0], **changes}, *GIVEN["counts"][1:]]}


@pytest.mark.parametrize(
    ("given", "says"),
    [
        (with_count(cases=-1), "counts.0.cases: must be at least 0, not -1."),
        (with_count(cases=1.5), "counts.0.cases: must be a whole number"),
        (with_count(person_time=0), "person_time of Ward 1, nurse, 2026-01-01: is 0.0; it must be above 0"),
        (with_count(area="Ward 99"), "area of counts: is 'Ward 99'"),
        (with_count(starts="2026-01-02"), "the first day of a period given"),
        ({**GIVEN, "stock": []}, "No product was given."),
        ({**GIVEN, "by": ["role", "season"]}, "Season was asked of less than two years."),
        ({**GIVEN, "reported": [0.5, 0.4, 1.0]}, "reported: is (0.5, 0.4, 1.0)"),
        ({**GIVEN, "replicates": 10}, "replicates: is 10"),
        ({**GIVEN, "periods": MONTHS[::-1]}, "not in order of time"),
    ],
)
def test_what_can_not_be_is_refused_by_name(given, says):
    result = calc(given)
    assert result.exit_code == 2, result.output
    assert result.stdout == ""
    assert says in result.stderr
    assert len(result.stderr.splitlines()) == 3
