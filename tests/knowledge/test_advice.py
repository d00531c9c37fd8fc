"""What the advice must say, and must never say."""

from datetime import date

import pytest

from thenar.knowledge import KnownAs, load

BOOK = load()
CARE = [line for line in BOOK.lines.values() if line.id.startswith("care.")]
PLAN_TOPICS = ("cleansing", "rub", "washing", "cream", "gloves", "home", "broken-skin", "when-to-come-back")
SAID = {line.id: line.says for line in CARE}


@pytest.mark.parametrize("topic", PLAN_TOPICS)
def test_a_plan_has_lines_on_every_topic(topic):
    assert len(BOOK.lines_about(topic)) >= 3


def test_no_line_claims_a_barrier_cream():
    assert not [line_id for line_id, says in SAID.items() if "barrier" in says.lower()]


def test_no_line_names_a_medicine_or_tells_a_worker_to_wash_less():
    for line_id, says in SAID.items():
        for word in ("steroid", "antibiotic", "hydrocortisone", "wash less", "fewer washes"):
            assert word not in says.lower(), line_id


def test_advice_defers_to_local_rules_and_to_the_workers_own_doctor():
    assert "Local rules decide" in SAID["care.washing.diarrhoea"]
    assert "your doctor" in SAID["care.when-to-come-back.treatment"]


def test_the_soap_substitute_never_stands_in_for_soap_that_is_asked_for():
    assert "Where the rules ask for soap, use soap." in SAID["care.washing.substitute-limit"]
    assert BOOK.lines["care.washing.substitute-limit"].known_as is KnownAs.FROM_MEMORY


def test_both_limits_for_gloves_at_home_are_printed_with_both_sources():
    line = BOOK.lines["care.home.glove-limits"]
    assert "30 minutes" in line.says
    assert "10 minutes" in line.says
    assert {line.source, *(view.source for view in line.other_view)} == {"clinic-leaflet", "fisker-2013"}


@pytest.mark.parametrize("entry_id", ["care.washing.diarrhoea", "hand-cleansing.with.c-difficile"])
def test_every_body_that_differs_on_soap_is_kept(entry_id):
    entry = BOOK.entry(entry_id)
    bodies = {entry.citation.source_id, *(citation.source_id for _, citation in entry.other_views)}
    assert bodies == {"scotland-hand-hygiene", "english-trust", "racgp-2024", "shea-compendium", "daz-2017"}


def test_the_five_moments_are_all_there():
    assert len([rule_id for rule_id in BOOK.rules if rule_id.startswith("hand-cleansing.moment.")]) == 5


@pytest.mark.parametrize(
    ("rule_id", "amount"),
    [
        # Scotland's manual: 20 to 30 seconds; WHO: 40 to 60 seconds for the whole wash
        ("hand-cleansing.rub.least", 20),
        ("hand-cleansing.rub.most", 30),
        ("hand-cleansing.wash.least", 40),
        ("hand-cleansing.wash.most", 60),
    ],
)
def test_times_for_cleaning_are_those_of_the_bodies_cited(rule_id, amount):
    assert BOOK.rule(rule_id).on(date(2026, 11, 25)).amount == amount


def test_no_line_leans_on_a_product_that_the_plan_may_not_name():
    for line_id, says in SAID.items():
        for word in ("in your plan", "your plan names", "your plan says"):
            assert word not in says.lower(), line_id


def test_help_is_called_by_one_phrase_everywhere():
    for line in BOOK.lines.values():
        assert "ambulance" not in line.says.lower(), line.id
        if "emergency number" in line.says:
            assert "your local emergency number" in line.says, line.id
    assert "your local emergency number" in SAID["care.when-to-come-back.emergency"]


def test_feeling_heat_is_named_where_redness_is_described():
    assert "Feel for heat" in SAID["care.looking.redness"]
    assert "brown and black skin" in SAID["care.looking.touch"]
