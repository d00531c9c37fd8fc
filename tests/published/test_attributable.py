"""Attributable and impact fractions, odds ratios and two groups, against published figures and other tools.

`attributable_in_r.json` holds results of graphPAF 2.0.0 and stats::glm in R 4.2.2, and formulas by hand,
each with its source. The figures from papers stand beside each test.
"""

import json
from pathlib import Path

import numpy as np
import pytest

from thenar.exposure.attributable import (
    UnusableFigure,
    bruzzi,
    draw_ratio,
    impact_fraction,
    levin,
    miettinen,
    odds_to_risk_ratio,
)
from thenar.exposure.effects import spared_fraction
from thenar.exposure.two_groups import (
    Group,
    ImpossibleCounts,
    compare_risks,
    most_risk_without_cases,
    number_needed,
)

IN_R = {
    case["id"]: case
    for case in json.loads(Path(__file__).with_name("attributable_in_r.json").read_text("utf-8"))["cases"]
}
COMPUTED = {
    "paf_levin": lambda given: levin(given["prev"], given["rr"]),
    "paf_miettinen": lambda given: miettinen(given["case_exposed_fraction"], given["rr"]),
    "paf_bruzzi": lambda given: bruzzi(given["case_fraction"], given["rr"]),
    "generalised_impact_fraction": lambda given: impact_fraction(given["prev0"], given["prev1"], given["rr"]),
}


@pytest.mark.parametrize("case", IN_R.values(), ids=IN_R)
def test_fractions_agree_with_other_tools(case):
    (expected,) = case["expected"].values()
    assert COMPUTED[case["method"]](case["input"]) == pytest.approx(expected, rel=1e-7, abs=1e-9)


@pytest.mark.parametrize(
    ("risk_ratio", "fraction"),
    [
        # Share washing > 20 times a day 0.30: Hamnerius 2018, doi 10.1111/bjd.15813.
        # RR 1.66 (1.51 to 1.83): Loh and Yew 2022, doi 10.1111/cod.14133.
        # 0.30 x 0.66 / (1 + 0.30 x 0.66) = 0.198 / 1.198; the ends alike
        (1.66, 0.165),
        (1.51, 0.133),
        (1.83, 0.199),
    ],
)
def test_levin_for_three_in_ten_who_wash_often(risk_ratio, fraction):
    assert round(levin(0.30, risk_ratio), 3) == fraction
    assert round(spared_fraction(0.30, 0.30, risk_ratio), 3) == fraction
    assert round(impact_fraction([0.70, 0.30], [1, 0], [1, risk_ratio]), 3) == fraction


@pytest.mark.parametrize(
    ("odds_ratio", "risk", "risk_ratio"),
    [
        # Danish hospital staff, aOR 1.73, one-year prevalence 14.7 %: doi 10.1111/cod.13990.
        # 1.73 / (0.853 + 0.147 x 1.73) = 1.73 / 1.10731
        (1.73, 0.147, 1.562),
        # Atopic dermatitis, aOR 4.31: Ruff 2018, doi 10.1111/bjd.16147; 21 %: doi 10.1111/bjd.15813.
        # 4.31 / (0.79 + 0.21 x 4.31) = 4.31 / 1.6951
        (4.31, 0.21, 2.543),
    ],
)
def test_odds_ratios_turn_into_risk_ratios_by_zhang_and_yu(odds_ratio, risk, risk_ratio):
    assert round(odds_to_risk_ratio(odds_ratio, risk), 3) == risk_ratio


@pytest.mark.parametrize(
    ("share", "odds_ratio", "risk", "fraction"),
    [
        # 9.1 % of Danish hospital staff wash > 20 times: 0.091 x 0.562 / (1 + 0.091 x 0.562)
        (0.091, 1.73, 0.147, 0.049),
        # 15.4 % with atopic dermatitis: Yüksel 2024, Contact Dermatitis 90:331.
        # 0.154 x 1.543 / (1 + 0.154 x 1.543)
        (0.154, 4.31, 0.21, 0.192),
    ],
)
def test_levin_after_zhang_and_yu(share, odds_ratio, risk, fraction):
    assert round(levin(share, odds_to_risk_ratio(odds_ratio, risk)), 3) == fraction


def test_zhang_and_yu_is_exact_for_a_two_by_two_table():
    # 30 of 100 exposed, 10 of 100 unexposed: RR = 3; OR = (30 x 90) / (70 x 10) = 27/7
    assert odds_to_risk_ratio(27 / 7, 0.10) == pytest.approx(3)


def test_number_needed_to_treat_of_teaching_and_free_products():
    # Symanzik 2022, doi 10.1111/cod.14206: 0 of 115 against 12 of 136 new cases; 136 / 12 = 11.33
    assert round(number_needed(Group(0, 115), Group(12, 136)), 1) == 11.3


def test_no_case_among_115_still_allows_a_risk_of_3_percent():
    # Symanzik 2022: 0 of 115. 1 - 0.025 ^ (1/115) = 0.0316, the upper end of Clopper and Pearson's interval
    assert round(most_risk_without_cases(115), 3) == 0.032


def test_unneeded_gloves_after_a_campaign():
    # Australian surgical wards, doi 10.1016/j.idh.2025.07.003: 152 of 252 before, 13 of 56 after.
    # (13/56) / (152/252) = 0.385; ln 0.385 -+ 1.96 x sqrt(1/13 - 1/56 + 1/152 - 1/252) = -0.9548 -+ 0.4868
    ratio = compare_risks(Group(13, 56), Group(152, 252))
    assert [round(end, 3) for end in (ratio.estimate, ratio.lower, ratio.upper)] == [0.385, 0.237, 0.626]


def test_icu_against_ward_in_lampels_counts():
    # Lampel 2007: 35 of 54 in intensive care, 57 of 113 on wards; RR 1.285 (0.982 to 1.680)
    ratio = compare_risks(Group(35, 54), Group(57, 113))
    assert ratio.estimate == pytest.approx(1.285, abs=0.0005)
    assert (ratio.lower, ratio.upper) == pytest.approx((0.982, 1.680), abs=0.001)


def test_draws_of_a_ratio_give_its_interval_back():
    # Loh and Yew 2022: 1.66 (1.51 to 1.83). With 200 000 draws a quantile is off by less than 0.002.
    drawn = draw_ratio(1.66, 1.51, 1.83, confidence=0.95, draws=200_000, seed=3, name="a")
    assert np.quantile(drawn, [0.025, 0.5, 0.975]) == pytest.approx([1.51, 1.66, 1.83], abs=0.008)


def test_draws_of_a_ninety_percent_interval_are_not_taken_for_95():
    # Visser 2014, doi 10.1111/cod.12131: OR 1.5, 90 % interval 1.0 to 2.3
    drawn = draw_ratio(1.5, 1.0, 2.3, confidence=0.90, draws=200_000, seed=3, name="a")
    assert np.quantile(drawn, [0.05, 0.95]) == pytest.approx([1.0, 2.3], abs=0.03)


def test_draws_of_one_ratio_are_the_same_wherever_it_is_used_and_of_two_are_not():
    def drawn(name: str, seed: int = 1):
        return draw_ratio(1.66, 1.51, 1.83, confidence=0.95, draws=2_000, seed=seed, name=name)

    assert (drawn("a") == drawn("a")).all()
    assert abs(np.corrcoef(drawn("a"), drawn("b"))[0, 1]) < 0.1
    assert not (drawn("a") == drawn("a", seed=2)).all()


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: levin(1.2, 1.66),
        lambda: levin(0.3, 0),
        lambda: levin(0.3, float("nan")),
        lambda: miettinen(-0.1, 2),
        lambda: bruzzi([0.5, 0.6], [1, 2]),
        lambda: bruzzi([1.0], [1, 2]),
        lambda: impact_fraction([0.5, 0.5], [0.5, 0.4], [1, 2]),
        lambda: odds_to_risk_ratio(2, 0),
        lambda: draw_ratio(2, 2.1, 3, confidence=0.95, draws=10, seed=1, name="a"),
    ],
)
def test_figures_that_cannot_be_are_refused(wrong):
    with pytest.raises(UnusableFigure):
        wrong()


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: Group(5, 4),
        lambda: Group(0, 0),
        lambda: compare_risks(Group(0, 115), Group(12, 136)),
        lambda: number_needed(Group(12, 136), Group(0, 115)),
    ],
)
def test_counts_that_give_no_figure_are_refused(wrong):
    with pytest.raises(ImpossibleCounts):
        wrong()
