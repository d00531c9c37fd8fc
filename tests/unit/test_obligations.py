"""What a shift's acts required, and what was done beside it."""

from dataclasses import replace
from datetime import date

import pytest

from thenar.exposure.care_acts import (
    CareAct,
    Cleansed,
    NothingLogged,
    Occasion,
    Pathogen,
    Tier,
    UnknownAct,
    UnusableAnswer,
)
from thenar.exposure.done import compare_done
from thenar.exposure.obligations import Method, needs_of, obligations
from thenar.knowledge import KnowledgeError, KnownAs, load

BOOK = load()
DAY = date(2026, 11, 25)


def act(kind="observations", occasion=Occasion.AFTER_PATIENT, **told):
    """An act of which everything is known: clean, dry hands, a patient without infection."""
    clear = {
        "visible_soil": False,
        "after_toilet": False,
        "hands_wet": False,
        "contaminated": False,
        "pathogen": Pathogen.NONE,
        "contact_precautions": False,
        "fluid_expected": False,
    }
    return CareAct(kind, occasion, **{**clear, **told})


def site_book(tmp_path, rule_id, text, unit="text"):
    site = tmp_path / "site.toml"
    site.write_text(
        f"""kind = "site"
title = "Local policy"
why_it_matters = "Local policy decides."
reviewed = {{ by = "The committee", on = 2026-11-01, due = 2027-10-31 }}
[sources.local]
title = "Policy on hands"
by = "The committee"
[[rule]]
id = "{rule_id}"
says = "Local policy."
unit = "{unit}"
[[rule.value]]
from = 2009-01-01
text = "{text}"
source = "local"
locator = "page 1"
known_as = "published"
"""
    )
    return load(site)


@pytest.mark.parametrize("occasion", [each for each in Occasion if each is not Occasion.NONE])
def test_at_every_occasion_clean_dry_hands_need_a_rub(occasion):
    required = obligations([act(occasion=occasion)], BOOK, DAY)
    assert (required.soap_acts, required.rub_or_wash_acts, required.held) == (0, 1, 0)


@pytest.mark.parametrize(
    "told",
    [
        {"visible_soil": True},
        {"after_toilet": True},
        {"hands_wet": True},
        {"contaminated": True},
        {"pathogen": Pathogen.NOROVIRUS},
        {"pathogen": Pathogen.C_DIFFICILE},
        {"pathogen": Pathogen.SPORE_FORMER},
    ],
)
def test_soap_is_obligatory(told):
    for occasion in (Occasion.AFTER_PATIENT, Occasion.NONE):
        required = obligations([act(occasion=occasion, **told)], BOOK, DAY)
        assert (required.soap_acts, required.rub_or_wash_acts) == (1, 0)


def test_another_infection_needs_no_soap():
    required = obligations([act(pathogen=Pathogen.OTHER)], BOOK, DAY)
    assert (required.soap_acts, required.rub_or_wash_acts) == (0, 1)


def test_without_an_occasion_clean_hands_need_nothing():
    assert obligations([act(occasion=Occasion.NONE)], BOOK, DAY).cleansings == 0


def test_two_reasons_for_soap_ask_for_one_wash():
    required = obligations([act(visible_soil=True, after_toilet=True, times=3)], BOOK, DAY)
    assert (required.soap_acts, required.cleansings) == (3, 3)


@pytest.mark.parametrize("field", ["visible_soil", "after_toilet", "hands_wet", "contaminated", "pathogen"])
def test_a_missing_answer_is_held_to_need_soap_and_says_so(field):
    required = obligations([act(**{field: None})], BOOK, DAY)
    assert (required.soap_acts, required.held) == (1, 1)
    assert any(reason.held and reason.asks == "soap and water" for reason in required.reasons)


@pytest.mark.parametrize("field", ["contact_precautions", "fluid_expected"])
def test_a_missing_answer_is_held_to_need_gloves(field):
    required = obligations([act(**{field: None})], BOOK, DAY)
    assert (required.gloves_examination, required.held) == (1, 1)


def test_an_unknown_occasion_is_held_to_need_cleaning():
    required = obligations([act(occasion=None)], BOOK, DAY)
    assert (required.cleansings, required.held) == (1, 1)


@pytest.mark.parametrize(
    ("kind", "tier"),
    [
        # Tiers of the WHO leaflet of 2009, as remembered
        ("surgery", Tier.STERILE),
        ("delivery", Tier.STERILE),
        ("central-line", Tier.STERILE),
        ("drawing-blood", Tier.EXAMINATION),
        ("suction", Tier.EXAMINATION),
        ("waste", Tier.EXAMINATION),
        ("observations", Tier.NONE),
        ("injection", Tier.NONE),
        ("washing-dressing", Tier.NONE),
        ("moving", Tier.NONE),
        ("eye-ear-care", Tier.NONE),
        ("linen", Tier.NONE),
        # Not in the leaflet: gloves against the agent
        ("disinfectants", Tier.EXAMINATION),
        # Nobody knows what it was
        ("other", Tier.EXAMINATION),
    ],
)
def test_gloves_are_indicated_by_tier(kind, tier):
    assert needs_of(act(kind), BOOK, DAY).gloves is tier


@pytest.mark.parametrize("why", ["contact_precautions", "fluid_expected"])
def test_precautions_and_body_fluid_ask_for_gloves_whatever_the_act(why):
    assert needs_of(act("observations", **{why: True}), BOOK, DAY).gloves is Tier.EXAMINATION
    assert needs_of(act("surgery", **{why: True}), BOOK, DAY).gloves is Tier.STERILE


def test_tiers_from_memory_say_so():
    required = obligations([act("observations")], BOOK, DAY)
    gloves = [reason for reason in required.reasons if reason.rule_id == "gloves.act.observations"]
    assert [reason.citation.known_as for reason in gloves] == [KnownAs.FROM_MEMORY]


def test_both_reasons_stand_side_by_side_for_gloves_when_washing_patients():
    required = obligations([act("washing-dressing", times=6), act("observations")], BOOK, DAY)
    (both,) = required.both_reasons
    assert (both.kind, both.acts, both.infection_control) == ("washing-dressing", 6, "not indicated")
    assert "quarter" in both.skin
    assert both.skin_citation.source_id == "jungbauer-2005"
    assert both.infection_control_citation.source_id == "who-gloves-2009"
    assert required.gloves == 0


def test_bodies_that_see_it_otherwise_stand_with_the_reason():
    required = obligations([act(pathogen=Pathogen.C_DIFFICILE)], BOOK, DAY)
    (reason,) = [each for each in required.reasons if each.rule_id.endswith("c-difficile")]
    assert {citation.source_id for _, citation in reason.other_views} == {
        "english-trust",
        "racgp-2024",
        "shea-compendium",
        "daz-2017",
    }
    assert reason.why_in_use


@pytest.mark.parametrize(
    ("text", "soap", "either"),
    [("rub", 0, 1), ("soap and water", 1, 0), ("rub, then soap and water", 1, 1)],
)
def test_the_sites_own_policy_decides_what_an_infection_needs(tmp_path, text, soap, either):
    book = site_book(tmp_path, "hand-cleansing.with.c-difficile", text)
    required = obligations([act(pathogen=Pathogen.C_DIFFICILE)], book, DAY)
    assert (required.soap_acts, required.rub_or_wash_acts) == (soap, either)
    assert "site" in required.edition
    assert any(reason.citation.source_id == "local" for reason in required.reasons)


def test_a_policy_nobody_can_read_is_refused(tmp_path):
    book = site_book(tmp_path, "hand-cleansing.with.c-difficile", "wipes")
    with pytest.raises(KnowledgeError, match="wipes"):
        obligations([act(pathogen=Pathogen.C_DIFFICILE)], book, DAY)


def test_a_tier_nobody_can_read_is_refused(tmp_path):
    book = site_book(tmp_path, "gloves.act.observations", "mittens")
    with pytest.raises(KnowledgeError, match="mittens"):
        obligations([act("observations")], book, DAY)


def test_reasons_count_their_acts():
    required = obligations([act(times=4), act(occasion=Occasion.BEFORE_PATIENT, times=3)], BOOK, DAY)
    counted = {reason.rule_id: reason.acts for reason in required.reasons}
    assert counted["hand-cleansing.moment.after-patient"] == 4
    assert counted["hand-cleansing.moment.before-patient"] == 3
    assert counted["hand-cleansing.with.routine"] == 7


def test_methods_ask_for_washes_and_cleansings():
    assert [(method.washes, method.cleansings) for method in Method] == [(0, 0), (0, 1), (1, 1), (1, 2)]


def test_what_was_done_is_set_beside_what_was_required():
    log = [
        act(cleansed=Cleansed.WASH, gloves=Tier.EXAMINATION, times=5),  # a rub would do; no gloves needed
        act(visible_soil=True, cleansed=Cleansed.RUB, gloves=Tier.NONE, times=2),  # soap missed
        act("drawing-blood", cleansed=Cleansed.NOT, gloves=Tier.NONE, times=3),  # both missed
        act("surgery", cleansed=Cleansed.RUB, gloves=Tier.EXAMINATION),  # sterile gloves missed
        act("observations"),  # nothing recorded
    ]
    done = compare_done(log, BOOK, DAY)
    assert (done.washes, done.rubs, done.pairs, done.sterile_pairs) == (5, 3, 6, 0)
    assert (done.washes_not_required, done.pairs_not_indicated) == (5, 5)
    assert (done.soap_missed, done.cleansings_missed, done.gloves_missed) == (2, 3, 4)
    assert (done.cleansing_not_known, done.gloves_not_known) == (1, 1)


def test_an_empty_log_is_refused_because_nothing_would_seem_required():
    with pytest.raises(NothingLogged):
        obligations([], BOOK, DAY)


def test_an_unknown_act_is_refused_with_those_that_are_known():
    with pytest.raises(UnknownAct, match=r"acts\[1\].*juggling") as refusal:
        obligations([act(), act("juggling")], BOOK, DAY)
    assert "observations" in refusal.value.todo


@pytest.mark.parametrize(
    ("field", "wrong"),
    [
        ("times", 0),
        ("times", -3),
        ("times", 2.5),
        ("times", True),
        ("times", 1441),
        ("visible_soil", "no"),
        ("pathogen", "c-diff"),
        ("occasion", 3),
        ("gloves", "two"),
        ("cleansed", "yes"),
    ],
)
def test_an_answer_that_cannot_be_is_refused_by_name(field, wrong):
    with pytest.raises(UnusableAnswer, match=f"acts\\[0\\].{field}: is"):
        obligations([replace(act(), **{field: wrong})], BOOK, DAY)
