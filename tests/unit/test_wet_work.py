"""How a shift is judged under all rule sets, and what is said when it can't be."""

from dataclasses import replace
from datetime import date
from textwrap import dedent

import pytest

from thenar.exposure.rule_matrix import Outcome, rule_matrix
from thenar.exposure.rule_sets import (
    RubPolicy,
    RuleSetNotInForce,
    UnknownJurisdiction,
    UnknownRuleSet,
    governing_rule_set,
)
from thenar.exposure.self_report import Reading, try_report
from thenar.exposure.shift import ShiftQuantities
from thenar.exposure.wet_work import CriterionState, judge_shift, judge_shift_by
from thenar.knowledge import KnowledgeError, book, load

BOOK = load()
DAY = date(2026, 11, 25)
GERMAN = "wet-work.de-trgs-401-2022"
QUIET = ShiftQuantities(
    whole_shift=True,
    washes=0,
    rubs=0,
    gel_rubs=0,
    wet_contacts=0,
    wet_minutes=0.0,
    pairs=0,
    glove_minutes=0.0,
    wet_glove_alternations=0,
    wet_glove_alternations_with_gels=0,
    wet_glove_alternations_with_rubs=0,
    wash_glove_alternations=0,
)


def verdict(rule_set, *, on=DAY, policy=RubPolicy.EXCLUDED, **quantities):
    shift = replace(QUIET, **quantities)
    return next(v for v in judge_shift(shift, BOOK, on, policy) if v.rule_set_id == f"wet-work.{rule_set}")


def criterion(judged, name):
    return next(result for result in judged.criteria if result.id == f"{judged.rule_set_id}.{name}")


def test_every_rule_set_of_the_book_has_a_verdict():
    assert [v.rule_set_id for v in judge_shift(QUIET, BOOK, DAY)] == list(BOOK.rule_sets)
    assert len(BOOK.rule_sets) == 14


def test_each_criterion_has_a_rule_page_with_its_source():
    for judged in judge_shift(QUIET, BOOK, DAY):
        for result in (*judged.criteria, *judged.cautions):
            assert BOOK.entry(result.id).citation == result.citation
        for each in judged.ready.rule_set.criterion:
            for tier in each.tier:
                assert BOOK.entry(tier.id).citation.source.title


# What can't be told is never fine


@pytest.mark.parametrize("rule_set", ["gb-hse", "ch-suva", "nl-nvab-2020"])
def test_a_rule_set_in_words_is_never_passed_or_failed_by_counts(rule_set):
    for washes in (0, 100):
        judged = verdict(rule_set, washes=washes)
        assert judged.outcome is Outcome.IN_WORDS
        assert judged.says.startswith("cannot be judged by numbers")
        assert {result.state for result in judged.criteria} == {CriterionState.IN_WORDS}


def test_numbers_not_seen_are_told_from_numbers_not_given():
    assert verdict("nl-nvab-2020").says == "cannot be judged by numbers (the source's numbers were not seen)"
    assert verdict("gb-hse").says == "cannot be judged by numbers (words only)"


def test_below_its_one_number_a_set_that_is_partly_words_clears_nothing():
    judged = verdict("no-labour-inspectorate", wet_minutes=120.0)
    assert judged.outcome is Outcome.IN_WORDS
    assert verdict("no-labour-inspectorate", wet_minutes=120.1).outcome is Outcome.WET_WORK


def test_missing_wet_minutes_are_named_and_never_zero():
    judged = verdict("de-trgs-401-2022", wet_minutes=None)
    assert judged.says == "not known: wet minutes are missing"
    assert (judged.tier, judged.tier_says) == (None, "not known")
    assert criterion(judged, "wet-hours").state is CriterionState.NOT_KNOWN
    assert criterion(judged, "wet-hours").measured is None
    assert criterion(judged, "washes").state is CriterionState.NOT_MET


def test_everything_missing_is_listed():
    judged = verdict("dk-lund-2020", wet_minutes=None, washes=None, glove_minutes=None)
    assert judged.says == "not known: wet minutes, washes and glove minutes are missing"


def test_what_is_known_can_meet_a_criterion_though_the_rest_is_missing():
    judged = verdict("de-trgs-401-2022", wet_minutes=None, washes=15)
    assert judged.says == "wet work"
    assert judged.tier_says == "at least offer"
    assert verdict("de-trgs-401-2022", wet_minutes=None, washes=25).tier_says == "mandatory"


def test_part_of_a_sum_can_meet_it_and_never_fail_it():
    # The Scottish service adds glove and wet time: 130 minutes of gloves are enough whatever the wet time
    over = verdict("gb-nhs-grampian", wet_minutes=None, glove_minutes=130.0)
    assert criterion(over, "glove-and-wet-hours").state is CriterionState.MET
    assert criterion(over, "glove-and-wet-hours").at_least
    under = verdict("gb-nhs-grampian", wet_minutes=None, glove_minutes=60.0)
    assert criterion(under, "glove-and-wet-hours").state is CriterionState.NOT_KNOWN
    assert criterion(under, "glove-and-wet-hours").margin is None


def test_a_shift_seen_in_part_keeps_no_limit():
    judged = verdict("de-trgs-401-2022", whole_shift=False, washes=3)
    assert judged.says == "not known: only part of the shift was observed"
    assert judged.tier_says == "not known"
    assert verdict("de-trgs-401-2022", whole_shift=False, washes=15).says == "wet work"


def test_the_german_cautions_stand_beside_every_verdict():
    for washes in (0, 30):
        ids = [result.id for result in verdict("de-trgs-401-2022", washes=washes).cautions]
        assert {f"{GERMAN}.combination", f"{GERMAN}.harsh-cleaners", f"{GERMAN}.wash-and-disinfect"} <= set(
            ids
        )


# Margins


def test_the_margin_is_the_room_left_and_the_next_limit_has_its_tier():
    # 14 of 15 washes: one more is the offer. 20: 5 over, 5 to go to 25. 25: nothing left to pass.
    below, offered, most = (
        criterion(verdict("de-trgs-401-2022", washes=washes), "washes") for washes in (14, 20, 25)
    )
    assert (below.margin, below.next_limit.to_go, below.next_limit.tier) == (1, 1, "offer")
    assert (offered.margin, offered.next_limit.to_go, offered.next_limit.tier) == (-5, 5, "mandatory")
    assert (most.margin, most.next_limit) == (-10, None)


def test_hours_are_compared_in_minutes():
    result = criterion(verdict("de-trgs-401-2022", wet_minutes=90.0), "wet-hours")
    assert (result.bound, result.margin, result.in_minutes) == (120, 30, True)


# Rule sets differ, and none hides another


def test_gloves_alone_are_wet_work_by_older_sets_and_not_by_the_german_one_of_2022():
    judged = {v.rule_set_id: v.outcome for v in judge_shift(replace(QUIET, glove_minutes=400.0), BOOK, DAY)}
    assert judged[GERMAN] is Outcome.NOT_WET_WORK
    for name in ("de-trgs-401-2008", "int-2-20-2", "dk-lund-2020", "dk-sector-council", "no-noa"):
        assert judged[f"wet-work.{name}"] is Outcome.WET_WORK


def test_fifteen_washes_are_wet_work_by_the_german_set_alone():
    judged = judge_shift(replace(QUIET, washes=15), BOOK, DAY)
    calls = {v.rule_set_id for v in judged if v.outcome is Outcome.WET_WORK}
    # The Stockholm survey counts from more than 10 contacts, and calls it something else
    assert calls == {GERMAN, "wet-work.se-stockholm"}
    assert verdict("se-stockholm", washes=15).says == "exposed to water above a survey cut-point"


# Alcohol rub


def test_rubs_are_left_out_unless_the_policy_counts_them():
    # 146 rubs x 49.4 s = 120.2 min; 145 x 49.4 s = 119.4 min (Rotter 2009, 3 mL)
    for policy, rubs, gels, outcome in (
        (RubPolicy.EXCLUDED, 146, 146, Outcome.NOT_WET_WORK),
        (RubPolicy.GELS, 146, 145, Outcome.NOT_WET_WORK),
        (RubPolicy.GELS, 146, 146, Outcome.WET_WORK),
        (RubPolicy.ALL, 145, 0, Outcome.NOT_WET_WORK),
        (RubPolicy.ALL, 146, 0, Outcome.WET_WORK),
    ):
        assert verdict("de-trgs-401-2022", policy=policy, rubs=rubs, gel_rubs=gels).outcome is outcome


def test_the_danish_council_never_counts_rubs():
    assert verdict("dk-sector-council", policy=RubPolicy.ALL, rubs=200).outcome is Outcome.NOT_WET_WORK


def test_changes_between_rub_and_gloves_count_where_rubs_do():
    changes = {"wet_glove_alternations": 2, "wet_glove_alternations_with_rubs": 11}
    assert verdict("de-trgs-401-2022", **changes).outcome is Outcome.NOT_WET_WORK
    assert verdict("de-trgs-401-2022", policy=RubPolicy.ALL, **changes).outcome is Outcome.WET_WORK


def test_unknown_rubs_are_missing_only_where_the_policy_asks_for_them():
    assert verdict("de-trgs-401-2022", gel_rubs=None).outcome is Outcome.NOT_WET_WORK
    judged = verdict("de-trgs-401-2022", policy=RubPolicy.GELS, gel_rubs=None)
    assert judged.says == "not known: gel rubs are missing"


# Dates and places


def test_a_set_no_longer_in_force_is_marked_and_refused_by_name():
    judged = verdict("de-trgs-401-2008")
    assert not judged.ready.in_force
    assert judged.ready.standing == "no longer in force: until 9 October 2022"
    with pytest.raises(RuleSetNotInForce, match=r"TRGS 401 \(2008\) is not in force on 25 November 2026"):
        judge_shift_by("wet-work.de-trgs-401-2008", QUIET, BOOK, DAY)


def test_a_set_not_yet_in_force_is_marked_and_refused_by_name():
    early = date(2022, 10, 9)
    assert verdict("de-trgs-401-2022", on=early).ready.standing == "not yet in force: from 10 October 2022"
    with pytest.raises(RuleSetNotInForce):
        judge_shift_by(GERMAN, QUIET, BOOK, early)
    assert judge_shift_by(GERMAN, QUIET, BOOK, date(2022, 10, 10)).outcome is Outcome.NOT_WET_WORK


def test_an_unknown_set_is_refused_with_those_there_are():
    with pytest.raises(UnknownRuleSet, match=r"wet-work\.int-2-20-2"):
        judge_shift_by("wet-work.moon", QUIET, BOOK, DAY)


@pytest.mark.parametrize(
    ("place", "on", "rule_set"),
    [
        ("DE", date(2022, 10, 9), "wet-work.de-trgs-401-2008"),
        ("DE", date(2022, 10, 10), GERMAN),
        ("GB", DAY, "wet-work.gb-hse"),
        ("FR", DAY, None),
        ("US", DAY, None),
        ("generic", DAY, None),
    ],
)
def test_which_set_governs_is_data_and_may_be_not_known(place, on, rule_set):
    governing = governing_rule_set(place, BOOK, on)
    assert (governing.id if governing else None) == rule_set


def test_an_unknown_jurisdiction_is_refused():
    with pytest.raises(UnknownJurisdiction, match="generic"):
        governing_rule_set("XX", BOOK, DAY)


def test_rules_are_compiled_once_for_book_day_and_policy():
    assert rule_matrix(BOOK, DAY) is rule_matrix(BOOK, DAY)
    assert rule_matrix(BOOK, DAY) is not rule_matrix(BOOK, DAY, RubPolicy.ALL)


# A new rule set is one data file

NEW = dedent("""\
    kind = "wet-work"
    title = "Wet work: a rule set made up for a test"
    why_it_matters = "Shows that one file is enough."
    reviewed = { by = "a test", on = 2026-11-25, due = 2027-11-25 }
    [rule_set]
    id = "wet-work.made-up"
    name = "Made up"
    jurisdiction = "international"
    from = 2026-01-01
    [[rule_set.criterion]]
    id = "wet-work.made-up.washes"
    says = "Seven washes or more."
    adds = ["washes"]
    operator = ">="
    amount = 7
    unit = "count/shift"
    source = "trade"
    locator = "made up"
    known_as = "our choice"
    """)


@pytest.fixture
def folder(tmp_path, monkeypatch):
    from shutil import copytree

    copy = tmp_path / "knowledge"
    copytree(book.FOLDER, copy)
    monkeypatch.setattr(book, "FOLDER", copy)
    return copy / "exposure" / "wet_work"


def test_a_new_rule_set_is_one_data_file(folder):
    (folder / "made_up.toml").write_text(NEW)
    with_new = load.__wrapped__()
    judged = [judge_shift_by("wet-work.made-up", replace(QUIET, washes=n), with_new, DAY) for n in (6, 7)]
    assert [v.says for v in judged] == ["not wet work by this rule set", "wet work"]
    assert with_new.entry("wet-work.made-up.washes").history[0].says == ">= 7 count/shift"


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('operator = ">="', 'operator = "<="', "operator"),
        ('unit = "count/shift"', 'unit = "litres"', "unit"),
        ('adds = ["washes"]', 'adds = ["sneezes"]', "adds"),
        ('adds = ["washes"]', "adds = []", "adds"),
        ('source = "trade"', 'source = "nobody"', "cites 'nobody'"),
        ("from = 2026-01-01", "from = 2026-01-01\nuntil = 2025-01-01", "ends before it starts"),
        ('id = "wet-work.made-up.washes"', 'id = "washes"', "is not named after"),
        ("made-up", "int-2-20-2", "also stands in"),
    ],
)
def test_a_rule_set_that_does_not_fit_is_refused_by_file_and_key(folder, old, new, says):
    assert old in NEW
    (folder / "made_up.toml").write_text(NEW.replace(old, new))
    with pytest.raises(KnowledgeError) as refusal:
        load.__wrapped__()
    assert "made_up.toml" in refusal.value.what
    assert says in refusal.value.what


def test_a_rule_set_with_nothing_to_judge_by_is_refused(folder):
    (folder / "made_up.toml").write_text(NEW.split("[[rule_set.criterion]]")[0])
    with pytest.raises(KnowledgeError, match="nothing to judge by"):
        load.__wrapped__()


# Self-report


def test_twice_the_count_flips_ten_washes_in_germany():
    band = try_report(replace(QUIET, washes=10, wet_minutes=30.0), BOOK, DAY, "DE")
    flips = [flip for flip in band.flips if flip.governing]
    assert [(flip.reading, flip.was, flip.becomes) for flip in flips] == [
        (
            Reading.TWICE_THE_COUNT,
            "not wet work by this rule set; tier none",
            "wet work; tier offer",
        )  # 20 washes
    ]
    assert band.observe
    assert band.says.startswith("Observe, don't ask")


def test_half_the_time_flips_three_wet_hours():
    band = try_report(replace(QUIET, wet_minutes=180.0), BOOK, DAY, "DE")  # 90 min when halved
    assert {flip.reading for flip in band.flips if flip.governing} == {Reading.HALF_THE_TIME}
    assert band.observe


def test_a_change_of_tier_alone_is_a_flip():
    # 13 washes doubled are 26; 15 doubled are 30: wet work both times, mandatory instead of offer
    band = try_report(replace(QUIET, washes=15), BOOK, DAY, "DE")
    assert [flip.becomes for flip in band.flips if flip.governing] == ["wet work; tier mandatory"]
    assert band.observe


def test_a_verdict_that_stands_is_said_to_stand_and_not_to_be_right():
    band = try_report(replace(QUIET, washes=5, wet_minutes=20.0), BOOK, DAY, "DE")
    assert not band.observe
    assert band.says.endswith("It may still be wrong.")


def test_a_report_that_leaves_out_what_is_needed_asks_for_observation():
    band = try_report(replace(QUIET, wet_minutes=None), BOOK, DAY, "DE")
    assert band.observe
    assert "leaves out" in band.says


@pytest.mark.parametrize("place", ["GB", "FR", "generic"])
def test_where_no_number_governs_any_set_in_force_that_flips_asks_for_observation(place):
    band = try_report(replace(QUIET, washes=10), BOOK, DAY, place)
    assert not [flip for flip in band.flips if flip.governing]
    assert band.observe


def test_a_flip_of_a_set_no_longer_in_force_is_shown_but_asks_for_nothing():
    # Only glove time: 200 minutes; the German set in force does not count it
    band = try_report(replace(QUIET, glove_minutes=200.0), BOOK, DAY, "DE")
    assert "wet-work.de-trgs-401-2008" in {flip.rule_set_id for flip in band.flips}
    assert not band.observe


def test_the_two_factors_are_called_our_own_choice():
    band = try_report(QUIET, BOOK, DAY)
    assert {citation.known_as.value for _, citation in band.citations} == {"our choice"}
