"""How much? Intervals, rates, standardisation and corrections against other tools and published figures.

Each file in `checks/` holds results of another tool, named there with its version, and where there is one the
figure its source printed. The figures from papers stand beside each test.
"""

import json
from datetime import date
from math import inf
from pathlib import Path

import pytest

from thenar.knowledge import load
from thenar.population.capture_recapture import TwoSources, people_interval
from thenar.population.intervals import CountMethod, ShareMethod, count_interval, share_interval
from thenar.population.rates import Followed, rate_ratio
from thenar.population.self_report import Accuracy, interval_if_known, interval_with_errors, true_share
from thenar.population.standardisation import (
    GammaEnd,
    Reference,
    Stratum,
    standardised_rate,
    standardised_ratio,
)
from thenar.population.stated import AnswerFrom, Grounds, Period

BOOK = load()
CHECKS = Path(__file__).with_name("checks")
DAY = date(2026, 11, 26)
YEAR = Period(date(2025, 1, 1), date(2025, 12, 31))
GROUNDS = Grounds("a case of the source", AnswerFrom.EXAMINATION, YEAR)


def ends(interval, name):
    return {name: interval.estimate, "lower": interval.lower, "upper": interval.upper}


def share(method):
    return lambda given: ends(share_interval(given["x"], given["n"], method, given["conf"]), "est")


def count(method):
    def computed(given):
        interval = count_interval(given["x"], method, given["conf"])
        return ends(interval.times(1 / given["persontime"]), "rate")

    return computed


def ratio(given):
    group, other = Followed(given["cases1"], given["pt1"]), Followed(given["cases0"], given["pt0"])
    found = rate_ratio(group, other, GROUNDS, BOOK, DAY, confidence=given["conf"])
    chances = {"p_central": found.chance, "p_minlike": found.chance_by_likelihood}
    return {**ends(found.stated.interval, "rr"), **chances}


def direct(given):
    groups = zip(given["count"], given["pop"], given["stdpop"], strict=True)
    strata = [Stratum("a", Followed(cases, years), standard) for cases, years, standard in groups]
    fay, tiwari = (
        standardised_rate(strata, GROUNDS, BOOK, DAY, end=end, confidence=given["conf"])
        for end in (GammaEnd.FAY_FEUER, GammaEnd.TIWARI)
    )
    scale = given["per"] / 1000
    lower = tiwari.stated.interval.times(scale)
    return {
        "crude": fay.crude * scale,
        **ends(fay.stated.interval.times(scale), "adj"),
        "lower_tcz": lower.lower,
        "upper_tcz": lower.upper,
    }


def against_expected(method):
    def computed(given):
        found = standardised_ratio(
            given["observed"],
            given["expected"],
            GROUNDS,
            BOOK,
            DAY,
            reference=Reference.STAFF,
            method=method,
            confidence=given["conf"],
        )
        return {**ends(found.stated.interval, "smr"), "p_two_sided_central": found.chance}

    return computed


def corrected_as_known(method):
    def computed(given):
        asked = (given["x"], given["n"], given["se"], given["sp"])
        return ends(interval_if_known(*asked, method=method, confidence=given["conf"]), "prev")

    return computed


def corrected(given):
    accuracy = Accuracy(given["se"], given["sp"], given["n_se"], given["n_sp"])
    return ends(interval_with_errors(given["apparent"], given["n"], accuracy, given["conf"]), "prev")


COMPUTED = {
    "wilson": share(ShareMethod.WILSON),
    "clopper_pearson": share(ShareMethod.EXACT),
    "jeffreys": share(ShareMethod.JEFFREYS),
    "poisson_exact": count(CountMethod.EXACT),
    "poisson_midp": count(CountMethod.MID_P),
    "rate_ratio_exact": ratio,
    "direct_standardised_rate": direct,
    "smr_exact": against_expected(CountMethod.EXACT),
    "smr_midp": against_expected(CountMethod.MID_P),
    "rogan_gladen_lang_reiczigel": corrected,
    "rogan_gladen_wilson": corrected_as_known(ShareMethod.WILSON),
    "rogan_gladen_cp": corrected_as_known(ShareMethod.EXACT),
}
FILES = (
    "proportion_intervals",
    "poisson_rate_intervals",
    "rate_ratio",
    "direct_standardisation",
    "smr_sir",
    "rogan_gladen",
)
CASES = {
    case["id"]: case for name in FILES for case in json.loads((CHECKS / f"{name}.json").read_text("utf-8"))
}


def number(figure):
    return inf if figure == "inf" else figure


@pytest.mark.parametrize("case", CASES.values(), ids=CASES)
def test_figures_agree_with_other_tools(case):
    found = COMPUTED[case["method"]](case["input"])
    for name, expected in case["expected"].items():
        within = case["tolerance"]
        assert found[name] == pytest.approx(number(expected), rel=within["rel"], abs=within["abs"]), name


@pytest.mark.parametrize(
    "case", [case for case in CASES.values() if "published" in case], ids=lambda c: c["id"]
)
def test_figures_agree_with_what_their_source_printed(case):
    found = COMPUTED[case["method"]](case["input"])
    for name, printed in case["published"].items():
        if name != "abs":
            assert found[name] == pytest.approx(printed, abs=case["published"].get("abs", 0.005)), name


def test_byars_ends_are_within_a_fifth_of_a_percent_of_the_exact_ones():
    # Public Health Data Science, Technical Guide: Confidence Intervals, 25 May 2018: for 95 % intervals
    # Byar's method is within 0.2 % of the exact ends for counts of 10 or more.
    for events in range(10, 500):
        byar, exact = count_interval(events, CountMethod.BYAR), count_interval(events)
        assert (byar.lower, byar.upper) == pytest.approx((exact.lower, exact.upper), rel=0.002), events


def test_byars_ends_by_hand_for_a_hundred():
    # 100 x (1 - 1/900 - 1.95996/30)^3 = 100 x 0.9335569^3; 101 x (1 - 1/909 + 1.95996/(3 sqrt 101))^3
    # = 101 x (0.9988999 + 0.0650080)^3 = 101 x 1.0639079^3
    byar = count_interval(100, CountMethod.BYAR)
    assert (byar.lower, byar.upper) == pytest.approx((81.362, 121.627), abs=0.002)


@pytest.mark.parametrize(
    ("yes", "truth", "sensitivity", "specificity"),
    [
        # Meding and Barregård 2001, abstract: 15 % said yes; 81 and 94 % of them were confirmed, and 10 and
        # 12 % of those who said no had hand eczema. 0.15 x 0.81 + 0.85 x 0.10 = 0.2065, printed as 21 %.
        (0.15, 0.21, 0.15 * 0.81 / 0.2065, 0.85 * 0.90 / 0.7935),
        # 0.15 x 0.94 + 0.85 x 0.12 = 0.243, printed as 24 %
        (0.15, 0.24, 0.15 * 0.94 / 0.243, 0.85 * 0.88 / 0.757),
    ],
)
def test_the_correction_gives_the_prevalence_that_examination_found(yes, truth, sensitivity, specificity):
    assert 0.53 <= round(sensitivity, 2) <= 0.59
    assert 0.96 <= round(specificity, 2) <= 0.99
    assert true_share(yes, sensitivity, specificity) == pytest.approx(truth, abs=0.005)


@pytest.mark.parametrize(
    ("accuracy_id", "printed"),
    [
        # Occup Med 2020, doi 10.1093/occmed/kqaa188: 52 and 86 %; predictive values 39 and 91 %.
        ("nurse.now.direct", (0.52, 0.86, None, None, 0.39, 0.91)),
        # Smit 1992: a list of symptoms, 100 and 64 %; 47.7 % by the list, 18.3 % by a dermatologist
        ("nurse.12-months.symptoms", (1.00, 0.64, 0.477, 0.183, None, None)),
        # Smit 1992: own diagnosis, 65 and 93 %; 17.4 % and 18.3 %
        ("nurse.12-months.direct", (0.65, 0.93, 0.174, 0.183, None, None)),
        # Barati Sedeh 2024, doi 10.1111/cod.14611: 28 and 100 %; 5.3 and 19.2 %; 100 and 85 %
        ("cleaner.now.direct", (0.28, 1.00, 0.053, 0.192, 1.00, 0.85)),
    ],
)
def test_the_counts_worked_out_give_back_every_printed_share(accuracy_id, printed):
    sensitivity, specificity, yes, truth, of_yes, of_no = printed
    found = BOOK.self_reports[f"self-report.{accuracy_id}"]
    people = found.with_trouble + found.without_trouble
    said_yes = found.right_yes + found.wrong_yes
    assert found.sensitivity == pytest.approx(sensitivity, abs=0.005)
    assert found.specificity == pytest.approx(specificity, abs=0.005)
    for computed, share_printed, within in (
        (said_yes / people, yes, 0.0006),
        (found.with_trouble / people, truth, 0.0006),
        (found.right_yes / said_yes, of_yes, 0.005),
        (found.right_no / (people - said_yes), of_no, 0.005),
    ):
        if share_printed is not None:
            assert computed == pytest.approx(share_printed, abs=within)


def test_the_counts_in_nurses_give_back_the_printed_intervals():
    # Occup Med 2020, doi 10.1093/occmed/kqaa188: sensitivity 46 to 59 %, specificity 84 to 88 %
    found = BOOK.self_reports["self-report.nurse.now.direct"]
    of_yes = share_interval(found.right_yes, found.with_trouble)
    of_no = share_interval(found.right_no, found.without_trouble)
    assert (of_yes.lower, of_yes.upper) == pytest.approx((0.46, 0.59), abs=0.01)
    assert (of_no.lower, of_no.upper) == pytest.approx((0.84, 0.88), abs=0.005)


def test_turtles_of_two_visits():
    # The worked example of the encyclopaedia article "Mark and recapture", from memory: 10 marked, 15 caught,
    # 5 of them marked; Chapman's estimate 28, the transformed logit interval 22 to 65. By hand:
    # 11 x 16 / 6 - 1 = 28.33; 19.5 + 10.5 exp(-+ 1.96 x sqrt(2/5.5 + 1/10.5 + 5.5/57.75))
    # = 19.5 + 10.5 x 0.2325 or 4.301.
    found = people_interval(TwoSources(10, 15, 5), 0.95)
    assert [round(figure) for figure in (found.estimate, found.lower, found.upper)] == [28, 22, 65]
