"""Patch-test indices and miss rates against published counts, and intervals against scipy.

Each figure has its source beside it. The references for intervals are scipy 1.17.1 (scipy.stats.binomtest)
and the score equation itself.
"""

from datetime import date

import pytest
from scipy.stats import binomtest, norm

from tests.patch_by_hand import QUALITY, RULES, allergen, control, own, patch_test
from thenar.allergy.clinic_profile import PersonTested, clinic_profile, positive_to_series
from thenar.allergy.patch_intervals import share_of
from thenar.allergy.patch_quality import (
    ImpossibleReactions,
    Preparation,
    Quality,
    Reactions,
    control_use,
    count_reactions,
    judge_preparation,
    positivity_ratio,
    quality_rules,
    reaction_index,
)
from thenar.allergy.patch_rules import reading_rules
from thenar.errors import BadInput
from thenar.knowledge import load
from thenar.knowledge.entries import KnownAs

BOOK = load()
DAY = date(2026, 11, 25)

# Published counts


def test_propylene_glycol_twenty_percent_has_the_published_reaction_index() -> None:
    # Lessmann and others 2005 (German network): 1,044 allergic, 1,083 doubtful, 271 irritant: -310 of 2,398.
    index = reaction_index(1044, 1083, 271)
    assert index is not None
    assert index.reactions == 2398
    assert index.estimate == pytest.approx(-310 / 2398)
    assert round(index.estimate, 3) == -0.129


def test_propylene_glycol_is_not_acceptable_whatever_its_weak_reactions() -> None:
    # Named as problematic by the German network. Its index is far under 0.46 whatever the ratio.
    for weak in (0, 1044):
        judged = judge_preparation(Reactions(1044, 1083, 271, weak), QUALITY)
        assert judged.quality in (Quality.NEITHER, Quality.PROBLEMATIC)
    assert judged.quality is Quality.PROBLEMATIC
    assert judged.settled


def test_the_iodine_antiseptic_has_the_published_shares() -> None:
    # Povidone-iodine, peeref 21350506: 27 of 95 positive = 28.4 %, 31 of 95 irritant or doubtful = 32.6 %.
    positive, unclear = share_of(27, 95), share_of(31, 95)
    assert positive is not None
    assert unclear is not None
    assert (round(100 * positive.estimate, 1), round(100 * unclear.estimate, 1)) == (28.4, 32.6)


@pytest.mark.parametrize(
    ("rule", "missed", "of"),
    [
        ("day-2-only", 993, 4210),  # positive at D4, negative at D2: pubmed 2040153, 24 %
        ("without-day-7", 26, 203),  # Higgins and Collins, Dermatitis 2013, 12.8 %
        ("without-day-7-after-day-3", 62, 760),  # reading on D6 or D7, 2000: read.qxmd 10871096, 8.2 %
        ("without-day-7-after-day-4", 29, 403),  # D7 and D9, 1989: scilit, 7.2 %
    ],
)
def test_shipped_miss_rates_are_their_published_counts(rule: str, missed: int, of: int) -> None:
    value = BOOK.rule(f"patch-test.missed.{rule}").on(DAY)
    assert value.amount is not None
    places = -int(value.amount.as_tuple().exponent)
    assert float(value.amount) == round(missed / of, places)
    assert f"{missed:,} of {of:,}" in value.note


def test_the_shipped_rules_read_as_published() -> None:
    # Positive on one of D3 to D5: Uter 2022. D2, D3 or D4, about D7, two days under the patch: ESCD 2015, as
    # remembered. First reaction from D10: remembered.
    rules = reading_rules(BOOK, DAY)
    assert (rules.positive_from.amount, rules.positive_to.amount) == (3, 5)
    assert [(stage.name, stage.first_day, stage.last_day) for stage in rules.stages] == [
        ("D2", 2, 2),
        ("D3 or D4", 3, 4),
        ("about D7", 6, 7),
    ]
    assert (rules.occlusion.amount, rules.sensitised_from.amount) == (2, 10)
    remembered = (rules.sensitised_from.citation, *(stage.citation for stage in rules.stages))
    assert {citation.known_as for citation in remembered} == {KnownAs.FROM_MEMORY}


def test_the_shipped_cutoffs_are_those_published() -> None:
    # Acceptable to 55 and above 0.46; problematic above 55 and up to 0.46.
    rules = quality_rules(BOOK, DAY)
    ratio, index = rules.positivity_ratio, rules.reaction_index
    assert [ratio.is_problem(measured) for measured in (0.55, 0.550001)] == [False, True]
    assert [index.is_problem(measured) for measured in (0.46, 0.460001)] == [True, False]


def test_what_the_shipped_rules_say_of_the_control_is_what_was_published() -> None:
    # 5,971 patients, 23 of 29 allergens (0.25 %); +22 % in 26,879 patients.
    says = reading_rules(BOOK, DAY).control_positive.says
    assert all(figure in says for figure in ("5,971", "23 of 29", "22 %", "26,879"))


# Intervals


@pytest.mark.parametrize("whole", [1, 2, 7, 20, 95, 2398])
@pytest.mark.parametrize("confidence", [0.8, 0.95, 0.99])
def test_shares_have_scipys_wilson_interval(whole: int, confidence: float) -> None:
    for part in sorted({0, 1, whole // 3, whole // 2, whole - 1, whole}):
        ours = share_of(part, whole, confidence)
        theirs = binomtest(part, whole).proportion_ci(confidence, method="wilson")
        assert ours is not None
        assert (ours.lower, ours.upper) == pytest.approx((theirs.low, theirs.high), abs=1e-12)


def test_the_interval_of_a_reaction_index_solves_the_score_equation_of_the_index_itself() -> None:
    # The index is a mean of +1 (allergic) and -1 (doubtful, irritant). At an end e of the interval the mean's
    # distance from e is z standard errors, and a mean of ±1 with expectation e has variance (1 - e²) / n.
    index = reaction_index(30, 8, 4)
    assert index is not None
    z = norm.ppf(0.975)
    for end in (index.lower, index.upper):
        assert abs(index.estimate - end) / ((1 - end**2) / 42) ** 0.5 == pytest.approx(z)


def test_nothing_of_nothing_has_no_share_and_no_index() -> None:
    assert share_of(0, 0) is None
    assert reaction_index(0, 0, 0) is None
    assert positivity_ratio(0, 0) is None


@pytest.mark.parametrize(("part", "whole"), [(-1, 3), (4, 3)])
def test_a_share_that_can_not_be_is_refused(part: int, whole: int) -> None:
    with pytest.raises(BadInput, match=f"{part} of {whole} can't be"):
        share_of(part, whole)


# Cut-offs: acceptable to 55 and above 0.46 (medians of 79 preparations, n = 26,479)


def judged(weak: int, stronger: int, not_allergic: int) -> Quality:
    return judge_preparation(Reactions(weak + stronger, not_allergic, 0, weak), QUALITY).quality


@pytest.mark.parametrize(
    ("weak", "stronger", "not_allergic", "expected"),
    [
        # (146 - 54) / 200 = 0.46 exactly, which is not above it, and neither is (365 - 135) / 500; 0.47 is.
        (165, 200, 135, Quality.NEITHER),
        (66, 80, 54, Quality.NEITHER),
        (67, 80, 53, Quality.ACCEPTABLE),
        # 55 of 100 weak is still acceptable; 56 is not.
        (55, 45, 10, Quality.ACCEPTABLE),
        (56, 44, 10, Quality.NEITHER),
        (56, 44, 50, Quality.PROBLEMATIC),
    ],
)
def test_the_cutoffs_count_themselves_in_as_published(
    weak: int, stronger: int, not_allergic: int, expected: Quality
) -> None:
    assert judged(weak, stronger, not_allergic) is expected


def test_so_few_that_not_even_the_best_result_would_be_settled_are_too_few_to_say() -> None:
    # All n allergic: scipy's lower end p must pass 2 p - 1 > 0.46, which takes 11. None of n weak: the upper
    # end must stay up to 0.55, which takes 4.
    def lowest(n: int) -> float:
        return 2 * binomtest(n, n).proportion_ci(method="wilson").low - 1

    def highest(n: int) -> float:
        return binomtest(0, n).proportion_ci(method="wilson").high

    assert lowest(10) <= 0.46 < lowest(11)
    assert highest(4) <= 0.55 < highest(3)
    assert judged(0, 10, 0) is Quality.TOO_FEW
    assert judged(0, 11, 0) is Quality.ACCEPTABLE
    assert judged(3, 0, 50) is Quality.TOO_FEW
    assert judged(4, 0, 50) is Quality.PROBLEMATIC
    assert judged(0, 0, 50) is Quality.TOO_FEW


def test_what_nobody_counted_is_not_known_and_never_zero() -> None:
    no_irritant = judge_preparation(Reactions(60, 15, None, 20, 900), QUALITY)
    assert (no_irritant.quality, no_irritant.reaction_index) == (Quality.NOT_KNOWN, None)
    no_grades = judge_preparation(Reactions(60, 15, 5), QUALITY)
    assert (no_grades.quality, no_grades.positivity_ratio, no_grades.positive) == (
        Quality.NOT_KNOWN,
        None,
        None,
    )
    assert no_grades.reaction_index is not None


def test_a_verdict_near_a_cutoff_is_not_settled_and_one_far_away_is() -> None:
    near = judge_preparation(Reactions(100, 10, 0, 54), QUALITY)
    far = judge_preparation(Reactions(1000, 50, 0, 200), QUALITY)
    assert (near.quality, near.settled) == (Quality.ACCEPTABLE, False)
    assert (far.quality, far.settled) == (Quality.ACCEPTABLE, True)


@pytest.mark.parametrize(
    "counts",
    [
        {"allergic": -1},
        {"allergic": 3, "weak": 4},
        {"allergic": 3, "doubtful": 2, "irritant": 1, "tests": 5},
        {"allergic": 3, "unsettled": -1},
    ],
)
def test_counts_that_contradict_each_other_are_refused(counts: dict[str, int]) -> None:
    with pytest.raises(ImpossibleReactions):
        Reactions(**counts)


# From tests


def test_each_position_counts_once_by_its_strongest_grade_on_the_days_that_count() -> None:
    tests = [
        patch_test((allergen(1, "capb"), "D2 +++ D3 + D4 ?+")),
        patch_test((allergen(1, "capb"), "D3 IR D4 ?+")),
        patch_test((allergen(1, "capb"), "D3 IR D4 -")),
        patch_test((allergen(1, "capb"), "D4 - D7 ++")),
        patch_test((allergen(1, "capb"), "D2 ++")),
        patch_test((allergen(1, "capb"), "D2 - D4 NT")),
    ]
    counted = count_reactions(tests, RULES)
    assert counted == {
        Preparation("capb", "1", "pet"): Reactions(
            allergic=1, doubtful=1, irritant=1, weak=1, tests=4, unsettled=2
        )
    }


def test_controls_and_own_products_are_no_preparations() -> None:
    assert count_reactions([patch_test((control(1), "D4 IR"), (own(2), "D4 ++"))], RULES) == {}


def test_the_use_of_the_irritant_control_is_counted_where_it_was_read() -> None:
    tests = [
        patch_test((control(1), "D3 IR")),
        patch_test((control(1), "D3 -")),
        patch_test((control(1), "D3 NT")),
        patch_test((allergen(1), "D3 ++")),
    ]
    use = control_use(tests)
    assert use.used is not None
    assert use.reacted is not None
    assert (use.used.part, use.used.whole) == (2, 4)
    assert (use.reacted.part, use.reacted.whole) == (1, 2)


# The clinic's profile


def test_the_profile_has_the_letters_of_the_index_in_order() -> None:
    assert "".join(line.letter for line in clinic_profile([]).lines) == "MOAHLFAP"


def test_who_is_not_known_is_in_no_share_and_counted() -> None:
    people = [PersonTested(hand=True), PersonTested(hand=True), PersonTested(hand=False), PersonTested()]
    line = clinic_profile(people).lines[3]
    theirs = binomtest(2, 3).proportion_ci(method="wilson")
    assert line.share is not None
    assert (line.share.part, line.share.whole, line.not_known) == (2, 3, 1)
    assert (line.share.lower, line.share.upper) == pytest.approx((theirs.low, theirs.high))


def test_nobody_known_gives_no_share() -> None:
    line = clinic_profile([PersonTested()]).lines[0]
    assert (line.share, line.not_known) == (None, 1)


@pytest.mark.parametrize(("age", "older"), [(39, False), (40, True), (None, None)])
def test_forty_years_are_older(age: int | None, older: bool | None) -> None:
    assert PersonTested(age=age).older is older


@pytest.mark.parametrize("age", [-1, 121])
def test_an_age_that_can_not_be_is_refused(age: int) -> None:
    with pytest.raises(BadInput, match="can't be"):
        PersonTested(age=age)


@pytest.mark.parametrize(
    ("first", "second", "expected"),
    [
        ("D4 -", "D4 +", True),
        ("D4 -", "D4 -", False),
        ("D4 -", "D2 -", None),
        ("D4 NT", "D4 -", None),
        ("D4 +", "D2 -", True),
    ],
)
def test_positive_to_a_series_is_yes_no_or_not_known(first: str, second: str, expected: bool | None) -> None:
    test = patch_test(
        (allergen(1, series="baseline"), first),
        (allergen(2, series="baseline"), second),
        (allergen(3, series="rubber"), "D4 +++"),
    )
    assert positive_to_series(test, "baseline", RULES) is expected
    assert positive_to_series(test, "plants", RULES) is None
