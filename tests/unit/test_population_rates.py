"""How much? One situation each: what a figure carries, what is said beside it, and what is refused."""

from dataclasses import replace
from datetime import date
from math import inf, isinf

import numpy as np
import pytest

from thenar.errors import BadInput
from thenar.knowledge import load
from thenar.population.capture_recapture import NobodyInBoth, TwoSources, unreported
from thenar.population.counts import UnusableCount
from thenar.population.intervals import CountMethod, Interval, ShareMethod, count_interval, share_interval
from thenar.population.prevalence import Asked, Recall, prevalence
from thenar.population.rates import Followed, NothingToCompare, incidence, rate_ratio
from thenar.population.self_report import (
    Accuracy,
    CannotCorrect,
    NoPublishedAccuracy,
    accuracy_of,
    choose_accuracy,
    corrected_prevalence,
    interval_with_errors,
    true_share,
)
from thenar.population.standardisation import (
    NoStrata,
    Reference,
    Stratum,
    expected_cases,
    standardised_rate,
    standardised_ratio,
)
from thenar.population.stated import (
    AnswerFrom,
    Denominator,
    Grounds,
    IncompleteFigure,
    Period,
    Stated,
    Unit,
)

BOOK = load()
DAY = date(2026, 11, 26)
YEAR = Period(date(2025, 1, 1), date(2025, 12, 31))
ASKED = Grounds("hand eczema now", AnswerFrom.SELF_REPORT, YEAR)
EXAMINED = Grounds("hand eczema found", AnswerFrom.EXAMINATION, YEAR)
CLINIC = Grounds("first visit for hand eczema", AnswerFrom.CLINIC, YEAR)
CLEANERS = accuracy_of(choose_accuracy("cleaner", Recall.NOW, "direct", BOOK))
NURSES = accuracy_of(choose_accuracy("nurse", Recall.NOW, "direct", BOOK))


def found(cases=12, answered=224, invited: int | None = 234, grounds=ASKED):
    return prevalence(Asked(cases, answered, invited), grounds, Recall.NOW, BOOK, DAY)


def corrected(cases=12, answered=224, invited: int | None = 234, accuracy=CLEANERS, **more):
    asked = Asked(cases, answered, invited)
    return corrected_prevalence(asked, ASKED, Recall.NOW, BOOK, DAY, accuracy=accuracy, **more)


def ratio_of(observed=15, expected=10.2, reference=Reference.STAFF):
    return standardised_ratio(observed, expected, EXAMINED, BOOK, DAY, reference=reference)


def in_all(first=10, second=15, both=5):
    sources = TwoSources(first, second, both)
    return unreported(sources, CLINIC, BOOK, DAY, first="clinic cases", second="sickness records")


def rules(stated):
    return [caution.rule.removeprefix("population.caution.") for caution in stated.cautions]


EVERY_FIGURE = {
    "prevalence": found(),
    "corrected prevalence": corrected(),
    "incidence": incidence(Followed(10, 400), CLINIC, BOOK, DAY),
    "rate ratio": rate_ratio(Followed(41, 28010), Followed(15, 19017), EXAMINED, BOOK, DAY).stated,
    "standardised rate": standardised_rate(
        [Stratum("nurse", Followed(10, 100), 50)], EXAMINED, BOOK, DAY
    ).stated,
    "standardised ratio": ratio_of().stated,
    "two sources": in_all().in_all,
}


# What every figure carries


@pytest.mark.parametrize("stated", EVERY_FIGURE.values(), ids=EVERY_FIGURE)
def test_every_figure_says_what_a_case_is_who_said_so_when_and_among_how_many(stated):
    for part in (
        stated.grounds.case_definition,
        str(stated.grounds.answer_from),
        "2025-01-01 to 2025-12-31",
        str(stated.denominators[0]),
        stated.interval.method,
        "95 % interval",
    ):
        assert part in stated.in_words
    assert stated.cautions
    for caution in stated.cautions:
        assert caution.says
        assert caution.citation.label


def test_a_figure_without_a_denominator_is_refused():
    bare = Interval(0.1, 0.05, 0.2, 0.95, "Wilson")
    with pytest.raises(IncompleteFigure, match="point prevalence: has no denominator"):
        Stated("point prevalence", Unit.SHARE, bare, ASKED, ())


@pytest.mark.parametrize("definition", ["", "  "])
def test_a_figure_without_a_case_definition_is_refused(definition):
    with pytest.raises(IncompleteFigure, match="case_definition"):
        replace(ASKED, case_definition=definition)


def test_reversed_dates_are_refused():
    with pytest.raises(BadInput, match="ends on 2025-01-01, before it starts on 2025-12-31"):
        Period(date(2025, 12, 31), date(2025, 1, 1))


def test_one_day_is_a_period():
    assert str(Period(DAY, DAY)) == "2026-11-26"


@pytest.mark.parametrize("amount", [0, -3, inf, float("nan")])
def test_a_denominator_of_nothing_is_refused(amount):
    with pytest.raises(UnusableCount):
        Denominator(amount, "people")


def test_an_endless_end_is_said_in_words():
    none_elsewhere = rate_ratio(Followed(3, 120), Followed(0, 400), EXAMINED, BOOK, DAY).stated
    assert isinf(none_elsewhere.interval.upper)
    assert "without limit (95 % interval 1.38 to without limit" in none_elsewhere.in_words


# What is said beside a figure


def test_who_is_missing_is_said_of_every_prevalence():
    assert "at-work-only" in rules(found())
    assert "at-work-only" in rules(corrected())
    assert "at-work-only" in rules(found(grounds=EXAMINED))


@pytest.mark.parametrize(
    ("answered", "said"),
    [
        (80, False),  # 80 of 100 is not below 80 %
        (79, True),
    ],
)
def test_low_participation_is_said_from_the_stated_share_down(answered, said):
    assert ("non-response" in rules(found(5, answered, 100))) is said
    assert ("non-response" in rules(corrected(5, answered, 100))) is said


def test_low_participation_comes_with_the_widest_range_that_the_others_allow():
    # 6 of 30 who answered, of 100 asked: 6/100 if none of the other 70, 76/100 if all of them
    (said,) = [caution.says for caution in found(6, 30, 100).cautions if "non-response" in caution.rule]
    assert "30 of 100 answered (30.0 %)" in said
    assert "6.0 % or 76.0 %" in said


def test_not_knowing_how_many_were_asked_never_reassures():
    assert "asked-not-known" in rules(found(invited=None))
    assert "asked-not-known" in rules(corrected(invited=None))


def test_uncorrected_self_report_is_said_and_examination_is_not():
    assert "self-report" in rules(found())
    assert "self-report" not in rules(found(grounds=EXAMINED))
    assert "self-report" not in rules(corrected())


def test_cases_that_came_to_somebody_are_not_taken_for_all():
    assert "seen-only" in rules(incidence(Followed(10, 400), CLINIC, BOOK, DAY))
    assert "seen-only" in rules(found(grounds=CLINIC))
    sickness = replace(CLINIC, answer_from=AnswerFrom.SICKNESS)
    assert "seen-only" in rules(incidence(Followed(10, 400), sickness, BOOK, DAY))
    assert "seen-only" not in rules(incidence(Followed(10, 400), EXAMINED, BOOK, DAY))


def test_the_healthy_worker_is_named_only_against_the_general_population():
    assert "general-population" in rules(ratio_of(reference=Reference.GENERAL_POPULATION).stated)
    assert "general-population" not in rules(ratio_of().stated)
    assert "expected-uncertain" in rules(ratio_of().stated)


def test_few_people_in_both_sources_are_said():
    assert "few-in-both" in rules(in_all(10, 15, 6).in_all)
    assert "few-in-both" not in rules(in_all(10, 15, 7).in_all)
    assert "two-sources" in rules(in_all(10, 15, 7).in_all)


def test_a_borrowed_accuracy_is_said():
    assert rules(corrected(borrowed=True))[:2] == ["borrowed", "transport"]
    assert rules(corrected())[0] == "transport"


# Shares and counts


@pytest.mark.parametrize(
    "counts",
    [(-1, 20), (1.5, 20), (True, 20), (21, 20), (0, 0), (0, -5), (3, 20.0)],
)
def test_counts_that_cannot_be_give_no_share(counts):
    with pytest.raises(UnusableCount):
        share_interval(*counts)


@pytest.mark.parametrize("events", [-1, 2.5, "3", None, True])
def test_events_that_cannot_be_give_no_interval(events):
    with pytest.raises(UnusableCount, match="whole number"):
        count_interval(events)


@pytest.mark.parametrize("confidence", [0, 1, 95, -0.5, float("nan")])
def test_a_level_outside_0_to_1_is_refused(confidence):
    for wrong in (
        lambda: share_interval(1, 20, confidence=confidence),
        lambda: count_interval(1, confidence=confidence),
        lambda: rate_ratio(Followed(1, 1), Followed(1, 1), EXAMINED, BOOK, DAY, confidence=confidence),
        lambda: interval_with_errors(0.1, 100, NURSES, confidence),
    ):
        with pytest.raises(UnusableCount, match="confidence"):
            wrong()


def test_whole_numbers_of_a_table_are_counts_too():
    assert share_interval(np.int64(81), np.int64(263)) == share_interval(81, 263)
    assert count_interval(np.int64(5)).upper == count_interval(5).upper


def test_byars_lower_end_never_falls_below_nothing():
    # One case, 99.9 %: 1 - 1/9 - 3.29/3 is below 0, and so would its cube be
    assert count_interval(1, CountMethod.BYAR, 0.999).lower == 0


@pytest.mark.parametrize("method", ShareMethod)
def test_nobody_and_everybody_end_at_0_and_1(method):
    assert share_interval(0, 20, method).lower == 0
    assert share_interval(20, 20, method).upper == 1


# Rates


@pytest.mark.parametrize("person_years", [0, -1, inf, float("nan")])
def test_no_time_at_risk_gives_no_rate(person_years):
    with pytest.raises(UnusableCount, match="person_years"):
        Followed(3, person_years)


@pytest.mark.parametrize("cases", [-1, 0.5])
def test_cases_that_cannot_be_give_no_rate(cases):
    with pytest.raises(UnusableCount, match="cases"):
        Followed(cases, 100)


def test_a_rate_is_for_each_thousand_person_years():
    # 10 cases in 400 person-years: 25 for each 1,000
    rate = incidence(Followed(10, 400), EXAMINED, BOOK, DAY)
    assert rate.interval.estimate == pytest.approx(25)
    assert rate.unit is Unit.PER_1000_PERSON_YEARS
    assert "25.0 per 1,000 person-years" in rate.in_words


def test_two_groups_without_a_case_are_not_compared():
    with pytest.raises(NothingToCompare):
        rate_ratio(Followed(0, 10), Followed(0, 10), EXAMINED, BOOK, DAY)


def test_equal_rates_leave_everything_to_chance():
    ratio = rate_ratio(Followed(5, 100), Followed(5, 100), EXAMINED, BOOK, DAY)
    assert (ratio.chance, ratio.chance_by_likelihood) == (1, pytest.approx(1))


# Standardised


def test_one_group_standardises_to_its_own_rate():
    only = standardised_rate([Stratum("nurse", Followed(10, 400), 7)], EXAMINED, BOOK, DAY)
    crude = incidence(Followed(10, 400), EXAMINED, BOOK, DAY).interval
    assert only.crude == pytest.approx(25)
    ends = only.stated.interval
    assert (ends.lower, ends.upper) == pytest.approx((crude.lower, crude.upper))


def test_groups_without_a_case_still_have_an_upper_end():
    none = standardised_rate([Stratum("nurse", Followed(0, 400), 7)], EXAMINED, BOOK, DAY).stated.interval
    # Nobody in 400 person-years: the exact upper end of 0 is 3.689 cases; 3.689 / 0.4
    assert (none.estimate, none.lower) == (0, 0)
    assert none.upper == pytest.approx(9.222, abs=0.001)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: standardised_rate([], EXAMINED, BOOK, DAY),
        lambda: expected_cases([], []),
    ],
)
def test_no_group_is_refused(wrong):
    with pytest.raises(NoStrata):
        wrong()


@pytest.mark.parametrize("standard", [0, -2])
def test_a_group_that_the_standard_lacks_is_refused(standard):
    with pytest.raises(UnusableCount, match="standard of nurse"):
        Stratum("nurse", Followed(1, 10), standard)


def test_groups_that_do_not_pair_are_refused():
    with pytest.raises(BadInput, match="2 here, 1 in the reference"):
        expected_cases([10, 20], [Followed(1, 10)])


@pytest.mark.parametrize("expected", [0, -1, float("nan")])
def test_nothing_expected_is_refused(expected):
    with pytest.raises(UnusableCount, match="expected"):
        ratio_of(expected=expected)


# Self-report


@pytest.mark.parametrize(("sensitivity", "specificity"), [(0.5, 0.5), (0.3, 0.6), (0, 1), (1, 0)])
def test_answers_no_better_than_a_coin_correct_nothing(sensitivity, specificity):
    with pytest.raises(CannotCorrect, match="together are not above 1"):
        true_share(0.2, sensitivity, specificity)
    with pytest.raises(CannotCorrect, match="together are not above 1"):
        Accuracy(sensitivity, specificity, 100, 100)


@pytest.mark.parametrize(("sensitivity", "specificity"), [(1.2, 0.9), (0.9, -0.1), (float("nan"), 0.9)])
def test_shares_that_cannot_be_correct_nothing(sensitivity, specificity):
    with pytest.raises(UnusableCount):
        true_share(0.2, sensitivity, specificity)


@pytest.mark.parametrize("people", [0, -1, 1.5])
def test_an_accuracy_found_in_nobody_is_refused(people):
    with pytest.raises(UnusableCount):
        Accuracy(0.9, 0.9, people, 100)
    with pytest.raises(UnusableCount):
        Accuracy(0.9, 0.9, 100, people)


def test_an_accuracy_found_in_too_few_is_refused():
    # 1 of 1 without trouble answered rightly: drawn to (1 + 1) / (1 + 2) = 0.67; with 0.1 it is below 1
    with pytest.raises(CannotCorrect, match="in 1: too few"):
        corrected(accuracy=Accuracy(0.1, 1.0, 1000, 1))


def test_an_estimate_outside_its_own_interval_is_refused():
    # Two and one person examined: at 50 % the interval of 1 in 8 ends below 1 in 8
    with pytest.raises(CannotCorrect, match="in 2 people and specificity in 1: too few"):
        corrected(1, 8, 8, accuracy=Accuracy(1.0, 1.0, 2, 1), confidence=0.5)


def test_fewer_yes_than_wrong_answers_alone_would_give_is_refused_with_the_reason():
    # 14 % of nurses without dermatitis say yes; 10 of 200 is 5 %
    with pytest.raises(CannotCorrect, match=r"10 of 200 answered yes: fewer than the 14 %"):
        corrected(10, 200, 200, accuracy=NURSES)


def test_more_yes_than_everyone_could_give_is_refused_with_the_reason():
    # At 28 % sensitivity 100 of 200 can't say yes
    with pytest.raises(CannotCorrect, match=r"100 of 200 answered yes: more than the 27\.9 %"):
        corrected(100, 200, 200)


def test_only_self_reports_are_corrected():
    asked = Asked(12, 224, 234)
    with pytest.raises(CannotCorrect, match="is examination, not self-report"):
        corrected_prevalence(asked, EXAMINED, Recall.NOW, BOOK, DAY, accuracy=CLEANERS)


def test_the_interval_carries_how_few_the_accuracy_was_found_in():
    few, many = Accuracy(0.5, 0.95, 20, 40), Accuracy(0.5, 0.95, 2000, 4000)
    narrow, wide = (corrected(accuracy=accuracy).interval for accuracy in (many, few))
    assert narrow.estimate == wide.estimate
    assert wide.upper - wide.lower > 1.5 * (narrow.upper - narrow.lower)


def test_the_accuracy_is_that_of_the_role_the_time_and_the_question():
    assert choose_accuracy("nurse", Recall.YEAR, "symptoms", BOOK).wrong_no == 0
    assert choose_accuracy("nurse", Recall.YEAR, "direct", BOOK).wrong_no == 7
    assert choose_accuracy(" Nurse ", Recall.NOW, "direct", BOOK).role == "nurse"


@pytest.mark.parametrize(
    "asked",
    [
        ("porter", Recall.NOW, "direct"),
        ("cleaner", Recall.YEAR, "direct"),
        ("nurse", Recall.NOW, "symptoms"),
        ("nurse", Recall.EVER, "direct"),
    ],
)
def test_no_other_roles_accuracy_is_taken_in_silence(asked):
    with pytest.raises(NoPublishedAccuracy, match=r"borrow one of: self-report\.nurse\.now\.direct"):
        choose_accuracy(*asked, BOOK)


def test_linked_sources_are_no_people_asked():
    with pytest.raises(BadInput, match="capture-recapture"):
        found(grounds=replace(ASKED, answer_from=AnswerFrom.LINKED))


@pytest.mark.parametrize("asked", [(5, 4, 10), (1, 11, 10), (0, 0, 10), (-1, 5, 10), (1, 5, 4.5)])
def test_people_asked_that_cannot_be_are_refused(asked):
    with pytest.raises(UnusableCount):
        Asked(*asked)


# Two sources


def test_people_known_to_neither_are_what_is_left():
    # 11 x 16 / 6 - 1 = 28.33 in all; 10 + 15 - 5 = 20 known
    found_in_all = in_all()
    assert found_in_all.known == 20
    assert found_in_all.known_to_neither == pytest.approx(28.333 - 20, abs=0.001)


def test_two_sources_with_nobody_in_common_are_refused():
    with pytest.raises(NobodyInBoth):
        TwoSources(10, 15, 0)


@pytest.mark.parametrize("counts", [(10, 15, 11), (3, 15, 4), (-1, 5, 1), (5, 5, 2.5)])
def test_sources_that_cannot_be_are_refused(counts):
    with pytest.raises(UnusableCount):
        TwoSources(*counts)


def test_sources_that_know_the_same_people_leave_none_out():
    same = in_all(8, 8, 8)
    assert same.known_to_neither == 0
    assert same.in_all.interval.lower == 8
