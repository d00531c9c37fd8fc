"""What the doors to rates and prevalences promise: `proportion-intervals`, `rogan-gladen` and their like."""

import json
from copy import deepcopy

import pytest
from click.testing import CliRunner

from thenar.cli import main

GROUNDS = {
    "case_definition": "hand eczema now",
    "answer_from": "self-report",
    "first": "2025-01-01",
    "last": "2025-12-31",
}
FOLLOWED = {"cases": 41, "person_years": 28010}
GIVEN = {
    "proportion-intervals": {"cases": 81, "answered": 263, "recall": "now", "grounds": GROUNDS},
    "poisson-rate-intervals": {"cases": 10, "person_years": 400, "grounds": GROUNDS},
    "rate-ratio": {"group": FOLLOWED, "other": {"cases": 15, "person_years": 19017}, "grounds": GROUNDS},
    "direct-standardisation": {
        "strata": [
            {"name": "nurse", "cases": 10, "person_years": 100, "standard": 50},
            {"name": "porter", "cases": 1, "person_years": 100, "standard": 50},
        ],
        "grounds": GROUNDS,
    },
    "smr-sir": {"observed": 15, "expected": 10.2, "reference": "other staff", "grounds": GROUNDS},
    "rogan-gladen": {
        "cases": 12,
        "answered": 224,
        "invited": 234,
        "role": "cleaner",
        "recall": "now",
        "grounds": GROUNDS,
    },
    "capture-recapture": {
        "first_source": "clinic cases",
        "second_source": "sickness records",
        "in_first": 10,
        "in_second": 15,
        "in_both": 5,
        "case_definition": "hand eczema in the year",
        "first": "2025-01-01",
        "last": "2025-12-31",
    },
}
STATED_IN = {
    "proportion-intervals": "prevalence",
    "poisson-rate-intervals": "incidence",
    "rate-ratio": "ratio",
    "direct-standardisation": "standardised",
    "smr-sir": "ratio",
    "rogan-gladen": "corrected",
    "capture-recapture": "in_all",
}


def calc(name, given):
    return CliRunner().invoke(main, ["calc", name], input=json.dumps(given))


def changed(name, *path, to):
    given = deepcopy(GIVEN[name])
    here = given
    for step in path[:-1]:
        here = here[step]
    here[path[-1]] = to
    return given


def answered(name, given=None):
    result = calc(name, given or GIVEN[name])
    assert result.exit_code == 0, result.stderr
    return json.loads(result.stdout)


def refused(name, given):
    """The first of the three lines of a refusal."""
    result = calc(name, given)
    assert result.exit_code == 2, result.output
    assert result.stdout == ""
    lines = result.stderr.splitlines()
    assert len(lines) == 3
    return lines[0]


@pytest.mark.parametrize("name", GIVEN)
def test_every_figure_comes_with_definition_source_period_denominator_and_cautions(name):
    answer = answered(name)
    stated = answer[STATED_IN[name]]
    assert stated["case_definition"].startswith("hand eczema")
    assert stated["answer_from"] in {"self-report", "linked sources"}
    assert stated["period"] == {"first": "2025-01-01", "last": "2025-12-31"}
    assert all(one["amount"] > 0 and one["of"] for one in stated["denominators"])
    assert stated["denominators"]
    assert stated["lower"] <= stated["value"] <= stated["upper"]
    assert stated["confidence"] == 0.95
    assert stated["method"]
    assert stated["unit"]
    assert stated["in_words"]
    assert stated["cautions"]
    for caution in stated["cautions"]:
        assert caution["says"]
        assert caution["source"]["rule"].startswith("population.")
        assert caution["source"]["known_as"]
    assert answer["edition"].startswith("20")


@pytest.mark.parametrize(
    ("name", "value", "lower", "upper"),
    [
        # Newcombe 1998, Statistics in Medicine 17:857, method 3: 81 of 263
        ("proportion-intervals", 0.3080, 0.2553, 0.3662),
        # Rothman and Greenland: breast cancer after fluoroscopy, 1.86; the ends by exactci 1.4.5 in R 4.2.2
        ("rate-ratio", 1.86, 1.0057, 3.6093),
        # 10 in 400; Garwood's ends of 10 are 4.795 and 18.390, divided by 0.4
        ("poisson-rate-intervals", 25, 11.989, 45.976),
        # stats::poisson.test in R 4.2.2
        ("smr-sir", 1.4706, 0.8231, 2.4255),
    ],
)
def test_the_door_gives_the_published_figures(name, value, lower, upper):
    stated = answered(name)[STATED_IN[name]]
    assert (stated["lower"], stated["upper"]) == pytest.approx((lower, upper), abs=0.0015)
    assert stated["value"] == pytest.approx(value, abs=0.005)


def test_cleaners_corrected_are_what_examination_found():
    # Barati Sedeh 2024, doi 10.1111/cod.14611: 12 of 224 said so, examination found 43
    answer = answered("rogan-gladen")
    assert 224 * answer["corrected"]["value"] == pytest.approx(43)
    assert answer["as_counted"]["value"] == pytest.approx(12 / 224)
    assert answer["accuracy"]["source"]["doi"] == "10.1111/cod.14611"
    assert answer["accuracy"]["seen_otherwise"]


@pytest.mark.parametrize(
    ("name", "says"),
    [
        # Yüksel 2024, doi 10.1111/cod.14489: pooled, health-care workers
        ("proportion-intervals", "13.5 % now (9.3 to 18.4 %)"),
        ("rogan-gladen", "13.5 % now (9.3 to 18.4 %)"),
        ("poisson-rate-intervals", "34 for each 1,000 person-years"),
    ],
)
def test_what_others_found_stands_beside_with_those_who_differ(name, says):
    elsewhere = answered(name)["elsewhere"]
    assert says in elsewhere["says"]
    assert elsewhere["seen_otherwise"]
    assert elsewhere["source"]["doi"] == "10.1111/cod.14489"


def test_your_own_sample_corrects_instead():
    own = {"right_yes": 13, "wrong_yes": 6, "wrong_no": 7, "right_no": 83}
    answer = answered(
        "rogan-gladen", {**GIVEN["rogan-gladen"], "cases": 40, "role": "porter", "examined": own}
    )
    # (40/224 + 83/89 - 1) / (13/20 + 83/89 - 1) = 0.11116 / 0.58258
    assert answer["corrected"]["value"] == pytest.approx(0.1908, abs=0.0001)
    assert answer["accuracy"]["id"] is None
    assert answer["accuracy"]["found"] == "sensitivity 65 % of 20, specificity 93 % of 89"


def test_a_borrowed_accuracy_is_said_beside_the_figure():
    borrowed = {**GIVEN["rogan-gladen"], "role": "porter", "borrowed": "self-report.cleaner.now.direct"}
    said = [
        caution["source"]["rule"] for caution in answered("rogan-gladen", borrowed)["corrected"]["cautions"]
    ]
    assert "population.caution.borrowed" in said


def test_a_ratio_to_nobody_is_without_limit_in_json():
    stated = answered("rate-ratio", changed("rate-ratio", "other", "cases", to=0))["ratio"]
    assert (stated["value"], stated["upper"]) == ("inf", "inf")
    assert stated["lower"] > 0


def test_expected_cases_are_worked_out_from_groups():
    strata = [
        {"person_years": 200, "reference": {"cases": 10, "person_years": 1000}},
        {"person_years": 50, "reference": {"cases": 4, "person_years": 1000}},
    ]
    given = {**GIVEN["smr-sir"], "observed": 4, "strata": strata}
    del given["expected"]
    # 200 x 0.010 + 50 x 0.004 = 2.2
    answer = answered("smr-sir", given)["ratio"]
    assert answer["denominators"][0]["amount"] == pytest.approx(2.2)
    assert answer["value"] == pytest.approx(4 / 2.2)


@pytest.mark.parametrize(
    ("name", "path", "to", "says"),
    [
        ("proportion-intervals", ("cases",), -1, "cases: must be at least 0"),
        ("proportion-intervals", ("cases",), 1.5, "cases: must be a whole number"),
        ("proportion-intervals", ("cases",), 264, "cases: is 264"),
        ("proportion-intervals", ("answered",), 0, "answered: is 0"),
        ("proportion-intervals", ("confidence",), 95, "confidence: is 95"),
        ("proportion-intervals", ("grounds", "last"), "2024-12-31", "ends on 2024-12-31, before it starts"),
        ("proportion-intervals", ("grounds", "last"), "2999-12-31", "last: 2999-12-31 is later than today"),
        ("proportion-intervals", ("grounds", "case_definition"), " ", "case_definition: is empty"),
        ("proportion-intervals", ("grounds", "answer_from"), "linked sources", "linked sources"),
        ("poisson-rate-intervals", ("person_years",), 0, "person_years: is 0"),
        ("poisson-rate-intervals", ("person_years",), -4, "person_years: is -4"),
        ("poisson-rate-intervals", ("cases",), 2.5, "cases: must be a whole number"),
        ("rate-ratio", ("other", "person_years"), 0, "person_years: is 0"),
        ("direct-standardisation", ("strata",), [], "strata: there is none"),
        ("direct-standardisation", ("strata", 0, "standard"), 0, "standard of nurse: is 0"),
        ("direct-standardisation", ("strata", 0, "person_years"), 0, "person_years: is 0"),
        ("smr-sir", ("expected",), 0, "expected: is 0"),
        ("smr-sir", ("expected",), None, "expected: give it, or strata, and not both"),
        (
            "rogan-gladen",
            ("role",),
            "porter",
            "No published accuracy of self-report is known for role 'porter'",
        ),
        ("rogan-gladen", ("cases",), 100, "more than the 27.9 %"),
        ("rogan-gladen", ("borrowed",), "nose", "borrowed: there is no 'nose'"),
        ("rogan-gladen", ("grounds", "answer_from"), "examination", "answer_from: is examination"),
        (
            "rogan-gladen",
            ("examined",),
            {"right_yes": 5, "wrong_yes": 5, "wrong_no": 5, "right_no": 5},
            "Sensitivity 0.5 and specificity 0.5 together are not above 1",
        ),
        (
            "rogan-gladen",
            ("examined",),
            {"right_yes": 0, "wrong_yes": 0, "wrong_no": 0, "right_no": 5},
            "examined: people with hand trouble: is 0",
        ),
        ("capture-recapture", ("in_both",), 0, "in_both: is 0"),
        ("capture-recapture", ("in_both",), 11, "in_both: is 11"),
        ("capture-recapture", ("last",), "2024-12-31", "ends on 2024-12-31, before it starts"),
        ("capture-recapture", ("last",), "2999-12-31", "last: 2999-12-31 is later than today"),
    ],
)
def test_what_gives_no_figure_is_refused_with_the_reason(name, path, to, says):
    assert says in refused(name, changed(name, *path, to=to))


@pytest.mark.parametrize("name", sorted(GIVEN))
def test_a_figure_without_its_grounds_is_refused(name):
    given = deepcopy(GIVEN[name])
    missing = "case_definition" if name == "capture-recapture" else "grounds"
    del given[missing]
    assert f"{missing}: is missing" in refused(name, given)


def test_a_case_definition_is_asked_for_by_name():
    given = deepcopy(GIVEN["rate-ratio"])
    del given["grounds"]["case_definition"]
    assert "case_definition: is missing" in refused("rate-ratio", given)


def test_fewer_yes_than_wrong_answers_give_is_refused():
    given = {**GIVEN["rogan-gladen"], "role": "nurse"}
    assert "12 of 224 answered yes: fewer than the 14 %" in refused("rogan-gladen", given)


def test_your_own_sample_and_a_borrowed_one_are_not_mixed():
    own = {"right_yes": 13, "wrong_yes": 6, "wrong_no": 7, "right_no": 83}
    both = {**GIVEN["rogan-gladen"], "examined": own, "borrowed": "self-report.cleaner.now.direct"}
    assert "borrowed: stands beside examined" in refused("rogan-gladen", both)


@pytest.mark.parametrize(
    ("figures", "fraction"),
    [
        # 0.30 x 0.66 / (1 + 0.30 x 0.66): Hamnerius 2018, doi 10.1111/bjd.15813; Loh and Yew 2022
        ({"method": "levin", "exposed_share": 0.30, "risk_ratio": 1.66}, 0.1653),
        # 0.6 x 1.5 / 2.5
        ({"method": "miettinen", "exposed_share_of_cases": 0.6, "risk_ratio": 2.5}, 0.36),
        # 1 - (0.4 / 1 + 0.6 / 2.5)
        ({"method": "bruzzi", "shares_of_cases": [0.4, 0.6], "risk_ratios": [1, 2.5]}, 0.36),
        # (1.84 - 1.54) / 1.84
        (
            {
                "method": "impact",
                "before": [0.3, 0.5, 0.2],
                "after": [0.5, 0.4, 0.1],
                "risk_ratios": [1, 1.8, 3.2],
            },
            0.1630,
        ),
    ],
)
def test_the_share_of_cases_that_goes_with_an_exposure_comes_with_its_cautions(figures, fraction):
    answer = answered("paf-gif", {"figures": figures})
    assert answer["fraction_of_cases"] == pytest.approx(fraction, abs=0.0001)
    assert any("association" in caution for caution in answer["cautions"])
    assert any("do not add up" in caution for caution in answer["cautions"])


@pytest.mark.parametrize(
    ("figures", "says"),
    [
        ({"method": "levin", "exposed_share": 1.2, "risk_ratio": 1.66}, "exposed_share: is 1.2"),
        ({"method": "levin", "exposed_share": 0.2, "risk_ratio": 0}, "above 0"),
        (
            {"method": "miettinen", "exposed_share": 0.2, "risk_ratio": 2},
            "exposed_share_of_cases: is missing",
        ),
        ({"method": "bruzzi", "shares_of_cases": [0.4], "risk_ratios": [1, 2.5]}, "as many shares as"),
    ],
)
def test_an_exposure_that_cannot_be_is_refused(figures, says):
    assert says in refused("paf-gif", {"figures": figures})
