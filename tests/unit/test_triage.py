"""Skin checks are sorted as the cited advice has it, say why, and refuse what they don't understand."""

import re
import tomllib
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from pydantic import TypeAdapter

from thenar.knowledge import Book, DecisionTable, KnowledgeError, load
from thenar.knowledge.book import FOLDER
from thenar.skin.triage import (
    PatientContact,
    UnknownAnswer,
    UnknownQuestion,
    Urgency,
    advice_for,
    before_all,
    red_flag_advice,
    sort_check,
    triage_table,
    what_would_raise,
)
from thenar.skin.triage_table import answers_to

CLEAN = {question.id: answers_to(question)[0] for question in triage_table(load()).questions}


def outcome(**answers: str) -> tuple[str, str]:
    """The outcome of a check in which everything else is answered at its best."""
    triage = sort_check({**CLEAN, **answers}, load())
    return triage.urgency.code, triage.patient_contact.code


# Outcomes, each with the advice it rests on


@pytest.mark.parametrize("sign", ["breathing", "lip_throat_swelling", "faintness"])
def test_a_sign_of_a_severe_reaction_is_an_emergency(sign: str) -> None:
    """RCP and NHS Plus 2008: immediate reactions reach anaphylaxis, also where no allergy was known."""
    assert outcome(**{sign: "yes"}) == ("emergency", "stop")


def test_spreading_infection_in_someone_ill_is_an_emergency() -> None:
    """NICE NG190 and NG141: refer to hospital where sepsis or a deep infection is suspected."""
    assert outcome(growing_pain="yes", growing_heat="yes", fever="yes") == ("emergency", "stop")
    assert outcome(growing_pain="yes", swelling="yes", feeling_unwell="yes") == ("emergency", "stop")


@pytest.mark.parametrize("sign", ["growing_heat", "growing_pain", "spread_beyond_hands", "pus"])
def test_one_sign_of_growing_infection_is_enough_for_today(sign: str) -> None:
    """NICE NG190, 1.1.3: pustules, rapid worsening; stopping patient contact is common practice."""
    assert outcome(**{sign: "yes"}) == ("same_day", "stop")


def test_heat_alone_is_as_urgent_as_a_change_of_colour_alone() -> None:
    """NICE NG190, rationale: redness may be less visible on darker skin."""
    assert outcome(growing_heat="yes") == outcome(growing_redness="yes")


def test_weeping_or_crust_alone_is_prompt_and_both_or_illness_make_it_today() -> None:
    """NICE NG190, rationale: weeping and crusts alone do not prove infection; fever or malaise tells more."""
    assert outcome(weeping="yes") == ("prompt", "stop")
    assert outcome(straw_crust="yes") == ("prompt", "stop")
    assert outcome(weeping="yes", straw_crust="yes") == ("same_day", "stop")
    assert outcome(weeping="yes", feeling_unwell="yes") == ("same_day", "stop")


def test_clustered_blisters_or_punched_out_sores_are_seen_today() -> None:
    """NICE QS44, statement 7: same-day specialist for eczema herpeticum."""
    assert outcome(grouped_blisters="yes") == ("same_day", "stop")


def test_wheals_within_minutes_are_prompt_and_the_contact_changes() -> None:
    """RCP and NHS Plus 2008: immediate reactions; the exposure is suspended."""
    assert outcome(wheals_within_minutes="yes") == ("prompt", "adjust")


def test_broken_skin_changes_the_work_and_is_sooner_with_patients_at_high_risk() -> None:
    """Smedley and others 2012: consider other work in acute dermatitis with patients at high risk."""
    assert outcome(cracks="yes", patients="patients") == ("routine", "adjust")
    assert outcome(cracks="yes", patients="high_risk_patients") == ("prompt", "adjust")


def test_trouble_of_more_than_three_months_is_looked_at() -> None:
    """Adisesh and others 2013, standard 8."""
    assert outcome(how_long="over_3_months") == ("routine", "continue")


def test_itch_at_night_shared_by_others_is_prompt() -> None:
    """White and others 2016: characteristically worst at night, spread by close contact."""
    assert outcome(night_itch_contacts="yes") == ("prompt", "adjust")


def test_trouble_on_one_hand_is_looked_at_before_a_cream_hides_it() -> None:
    """MSD Manual, hand and foot dermatitis."""
    assert outcome(one_hand_only="yes") == ("routine", "continue")


def test_dry_flaking_skin_of_a_few_days_is_self_care_and_of_weeks_is_routine() -> None:
    """Common practice: early dryness is cared for and reported, lasting dryness is looked at."""
    assert outcome(dryness="yes", flaking="yes", how_long="under_week") == ("self_care", "continue")
    assert outcome(dryness="yes", flaking="yes", how_long="weeks") == ("routine", "continue")


# Reasons


def test_reasons_come_most_serious_first_and_say_which_decide() -> None:
    """Heat: same day, stop. Cracks: routine, adjust. Itch: routine, continue."""
    triage = sort_check({**CLEAN, "growing_heat": "yes", "itch": "yes", "cracks": "yes"}, load())
    assert [(reason.rule_id, reason.decisive) for reason in triage.reasons] == [
        ("triage.infection", True),
        ("triage.broken", False),
        ("triage.sore", False),
    ]


def test_a_milder_rule_on_the_same_questions_is_not_told_once_a_worse_one_holds() -> None:
    """A hot hand is not told that its skin is wet, nor that it gave no sure answer."""
    assert reasons_for(growing_heat="yes") == ["triage.infection"]
    assert reasons_for(fever="yes", feeling_unwell="not_sure") == ["triage.unwell"]
    assert reasons_for(fever="not_sure") == ["triage.unwell-unknown"]


def test_a_milder_rule_is_told_where_it_asks_for_more() -> None:
    """Illness with wet skin is same day; that the skin is wet alone would be prompt."""
    assert reasons_for(fever="yes", weeping="yes")[0] == "triage.unwell-and-infection"


def reasons_for(**answers: str) -> list[str]:
    return [reason.rule_id for reason in sort_check({**CLEAN, **answers}, load()).reasons]


def test_a_rule_that_only_sets_patient_contact_decides_too() -> None:
    triage = sort_check({**CLEAN, "cracks": "yes", "work_affected": "yes"}, load())
    decisive = {reason.rule_id for reason in triage.reasons if reason.decisive}
    assert decisive == {"triage.affected", "triage.broken"}


def test_where_patients_may_be_touched_only_the_most_urgent_rule_decides() -> None:
    triage = sort_check({**CLEAN, "itch": "yes", "sleep_affected": "yes"}, load())
    assert [(reason.rule_id, reason.decisive) for reason in triage.reasons] == [
        ("triage.affected", True),
        ("triage.sore", False),
    ]


def test_a_milder_rule_is_still_told_where_a_worse_one_asks_less_of_patient_contact() -> None:
    book = changed_book(lambda raw: rule(raw, "triage.wet").update(patient_contact="continue"))
    reasons = sort_check({**CLEAN, "weeping": "yes"}, book).reasons
    assert {reason.rule_id for reason in reasons} == {"triage.wet", "triage.infection-unknown"}


def test_a_rule_is_still_told_where_another_is_worse_in_one_group_and_milder_in_the_other() -> None:
    def cross(raw: Raw) -> None:
        rule(raw, "triage.sores").update(urgency="prompt")
        rule(raw, "triage.unwell-and-broken").update(when={"illness": "unknown", "sores": "present"})

    triage = sort_check({**CLEAN, "fever": "yes", "grouped_blisters": "yes"}, changed_book(cross))
    told = {reason.rule_id for reason in triage.reasons}
    assert {"triage.unwell-and-broken", "triage.unwell-and-sores-unknown"} <= told


def test_every_reason_carries_its_source_and_how_it_is_known() -> None:
    yes_to_all = {name: "yes" for name, answer in CLEAN.items() if answer == "no"}
    reasons = sort_check(yes_to_all, load()).reasons
    assert len(reasons) > 10
    assert all(reason.citation.source.title and reason.citation.locator for reason in reasons)
    airway = next(reason for reason in reasons if reason.rule_id == "triage.airway")
    assert "from memory" in airway.citation.label


def test_a_clean_check_holds_no_rule_and_leaves_nothing_unanswered() -> None:
    triage = sort_check(CLEAN, load())
    assert (triage.urgency, triage.patient_contact) == (Urgency.SELF_CARE, PatientContact.CONTINUE)
    assert triage.reasons == ()
    assert triage.unanswered == ()


def test_what_is_left_out_or_not_sure_is_listed_in_the_order_asked() -> None:
    answers = {name: answer for name, answer in CLEAN.items() if name != "patients"} | {"fever": "not_sure"}
    assert sort_check(answers, load()).unanswered == ("fever", "patients")


def test_a_triage_names_the_edition_it_used() -> None:
    book = replace(load(), edition="1999.9")
    assert sort_check({}, book).edition == "1999.9"


def test_urgencies_and_contacts_are_in_order_and_have_the_codes_of_the_rules() -> None:
    assert [urgency.code for urgency in sorted(Urgency)] == [
        "self_care",
        "routine",
        "prompt",
        "same_day",
        "emergency",
    ]
    assert [contact.code for contact in sorted(PatientContact)] == ["continue", "adjust", "stop"]


# What would raise it


def test_what_would_raise_a_mild_check_starts_with_emergencies_and_holds_only_rises() -> None:
    answers = {**CLEAN, "itch": "yes"}
    raises = what_would_raise(answers, load())
    assert [each.question for each in raises[:3]] == ["breathing", "lip_throat_swelling", "faintness"]
    assert all(each.urgency > Urgency.ROUTINE for each in raises)
    named = {each.question for each in raises}
    assert "growing_heat" in named
    assert not named & {"colour_change", "itch", "dryness"}


def test_nothing_raises_an_emergency() -> None:
    assert what_would_raise({"breathing": "yes"}, load()) == ()


# Bad input


def test_an_unknown_question_is_named() -> None:
    with pytest.raises(UnknownQuestion, match="'rednes'"):
        sort_check({"rednes": "yes"}, load())


@pytest.mark.parametrize("answer", ["Yes", "ja", "", "true", None, True, 1, ["yes"], "weeks"])
def test_an_answer_a_question_does_not_take_is_refused_with_those_it_takes(answer: Any) -> None:
    with pytest.raises(UnknownAnswer, match=r"fever: .* it takes no, not_sure, yes"):
        sort_check({"fever": answer}, load())


def test_a_choice_takes_its_own_answers_and_not_yes() -> None:
    with pytest.raises(UnknownAnswer, match="how_long: 'yes' is not an answer; it takes no_trouble"):
        sort_check({"how_long": "yes"}, load())


def test_a_refusal_does_not_repeat_a_long_text_someone_typed() -> None:
    with pytest.raises(UnknownAnswer) as refused:
        sort_check({"fever": "x" * 500}, load())
    assert len(str(refused.value)) < 300


# Pages


def test_a_check_is_at_most_twelve_pages_with_a_heading_each_and_urgent_ones_first() -> None:
    pages = triage_table(load()).pages
    assert len(pages) <= 12
    assert all(page.asks.endswith("?") for page in pages)
    assert [page.id for page in pages[:3]] == ["now", "ill", "worse"]
    assert sum(len(page.questions) for page in pages) == len(CLEAN)


def test_pregnancy_is_not_asked() -> None:
    assert not [name for name in CLEAN if "pregnan" in name]


# Advice


@pytest.mark.parametrize("urgency", Urgency)
@pytest.mark.parametrize("contact", PatientContact)
def test_every_outcome_says_what_when_what_else_and_what_to_tell_work(
    urgency: Urgency, contact: PatientContact
) -> None:
    outcome = replace(sort_check(CLEAN, load()), urgency=urgency, patient_contact=contact)
    ids = [line.id for line in advice_for(outcome, load())]
    assert [f"urgency.{urgency.code}.{part}" in ids for part in ("do", "sooner", "work")] == [True] * 3
    assert f"contact.{contact.code}.do" in ids
    assert ids[-2:] == ["limits.not-a-diagnosis", "limits.worried"]


def test_every_urgency_gives_a_time() -> None:
    times = {
        "emergency": "now",
        "same_day": "today",
        "prompt": "two working days",
        "routine": "two weeks",
        "self_care": "two weeks",
    }
    for code, time in times.items():
        assert time in load().lines[f"urgency.{code}.do"].says


def test_who_must_be_told_at_work_is_told_without_the_reason() -> None:
    for line in ADVICE:
        if line["id"].endswith(".work") and line["id"] != "urgency.self_care.work":
            if line["id"] != "urgency.emergency.work":
                assert "You do not have to say why." in line["says"], line["id"]
            else:
                assert "They do not have to say why." in line["says"]


def test_a_reason_with_its_own_advice_brings_it() -> None:
    lines = advice_for(sort_check({**CLEAN, "wheals_within_minutes": "yes"}, load()), load())
    assert "because.immediate" in {line.id for line in lines}


def test_advice_for_a_reason_names_a_rule_there_is() -> None:
    rules = {rule.id for rule in load().tables["triage"].rule}
    reasons = {
        line["topic"].removeprefix("because.") for line in ADVICE if line["topic"].startswith("because.")
    }
    assert reasons <= rules


AIRWAY = ("breathing", "lip_throat_swelling", "faintness")


@pytest.mark.parametrize("question", AIRWAY)
def test_who_cannot_tell_about_the_airway_first_reads_to_call_the_emergency_number(question: str) -> None:
    triage = sort_check({**CLEAN, question: "not_sure"}, load())
    assert triage.urgency is Urgency.PROMPT
    first = advice_for(triage, load())[0].says
    assert first.startswith(
        "If you can't tell if it is hard to breathe, call your local emergency number now."
    )
    assert "can't tell if your throat or face swells" in first


def test_it_stays_first_when_something_else_is_urgent_and_gives_way_to_an_emergency() -> None:
    today = sort_check({**CLEAN, "breathing": "not_sure", "growing_heat": "yes"}, load())
    assert today.urgency is Urgency.SAME_DAY
    assert advice_for(today, load())[0].id == "before-all.airway-unknown"
    worst = sort_check({**CLEAN, "breathing": "yes", "faintness": "not_sure"}, load())
    assert advice_for(worst, load())[0].id == "urgency.emergency.do"
    assert before_all("emergency", ["triage.airway-unknown"], load()) == ()


def test_advice_before_all_names_a_rule_there_is() -> None:
    rules = {rule.id for rule in load().tables["triage"].rule}
    topics = {line["topic"] for line in ADVICE if line["topic"].startswith("before-all.")}
    assert topics
    assert {topic.removeprefix("before-all.") for topic in topics} <= rules


def test_a_routine_outcome_asks_for_another_check_when_it_gets_worse_not_for_what_was_ticked() -> None:
    cracked = sort_check({**CLEAN, "cracks": "yes"}, load())
    assert cracked.urgency is Urgency.ROUTINE
    says = load().lines["urgency.routine.sooner"].says
    assert "if your skin gets worse: more cracks" in says
    assert "if your skin cracks" not in says


def test_red_flag_advice_covers_each_kind_of_danger_and_how_redness_looks_on_dark_skin() -> None:
    says = " ".join(line.says for line in red_flag_advice(load()))
    for word in ("breathe", "faint", "hotter", "painful", "pus", "fever", "ill", "blisters", "spreads"):
        assert word in says, word
    for word in ("purple", "grey", "darker", "brown or black skin", "heat, pain and swelling first"):
        assert word in says, word


# Words

ADVICE = tomllib.loads((FOLDER / "skin" / "triage_advice.toml").read_text("utf-8"))["line"]
TABLE = tomllib.loads((FOLDER / "skin" / "triage.toml").read_text("utf-8"))
TEXTS = (
    [(line["id"], line["says"]) for line in ADVICE]
    + [(rule["id"], rule["says"]) for rule in TABLE["rule"]]
    + [(item["id"], f"{item['asks']} {item.get('hint', '')}") for item in TABLE["question"]]
)
every_text = pytest.mark.parametrize(("name", "text"), TEXTS, ids=[name for name, _ in TEXTS])


@every_text
def test_a_text_has_short_sentences(name: str, text: str) -> None:
    for sentence in re.split(r"(?<=[.?!:])\s+", text):
        assert len(sentence.split()) <= 20, sentence


@every_text
def test_a_text_claims_nothing_a_check_cannot_know(name: str, text: str) -> None:
    low = text.lower()
    for claim in (
        "detects",
        "you have eczema",
        "you have an infection",
        "safe to work",
        "no need to",
        "rules out",
    ):
        assert claim not in low
    assert "diagnos" not in low or "not a diagnosis" in low
    assert not re.search(r"\b(999|112|911)\b", text), "the number differs from place to place"


@every_text
def test_a_text_names_no_medicine(name: str, text: str) -> None:
    medicines = "steroid|antibiotic|antiviral|antihistamine|adrenaline|aciclovir|cillin|permethrin|cortisone"
    assert not re.search(medicines, text.lower())


def test_redness_is_never_named_without_the_other_colours_it_takes() -> None:
    for name, text in TEXTS:
        if re.search(r"\bred(ness|der)?\b", text.lower()):
            assert "purple" in text.lower(), name
            assert "darker" in text.lower(), name


# Tables that do not fit together


Raw = dict[str, Any]


def group(raw: Raw, name: str) -> Raw:
    return next(each for each in raw["group"] if each["id"] == name)


def rule(raw: Raw, name: str) -> Raw:
    return next(each for each in raw["rule"] if each["id"] == name)


def question(raw: Raw, name: str) -> Raw:
    return next(each for each in raw["question"] if each["id"] == name)


UNFIT: list[tuple[Callable[[Raw], Any], str]] = [
    (
        lambda raw: group(raw, "sores")["questions"].append("fever"),
        "'fever' stands in two groups, 'illness' and 'sores'",
    ),
    (
        lambda raw: group(raw, "sores")["questions"].append("fevre"),
        "'sores' names the unknown question 'fevre'",
    ),
    (
        lambda raw: group(raw, "night")["questions"].append("colour_change"),
        "'colour_change', which is only kept",
    ),
    (lambda raw: raw["group"].remove(group(raw, "sores")), "'grouped_blisters' stands in no group"),
    (
        lambda raw: group(raw, "sores")["level"][0].update(any_yes=["fever"]),
        "'fever', which is not in this group",
    ),
    (
        lambda raw: group(raw, "sores")["level"][0].update(any_yes=["fevre"]),
        "'fevre', which is not in this group",
    ),
    (
        lambda raw: group(raw, "sores")["level"][0].update(name="many"),
        "level 'many': the group has no such level",
    ),
    (lambda raw: group(raw, "sores")["level"][0].update(name="none"), "lowest level needs no clause"),
    (lambda raw: group(raw, "sores")["level"].pop(), "no clause leads to level 'present'"),
    (
        lambda raw: group(raw, "sores")["level"][0].pop("any_unknown"),
        "a clause without a condition always holds",
    ),
    (
        lambda raw: group(raw, "duration")["level"].append({"name": "lasting", "any_yes": ["how_long"]}),
        "'how_long' the wrong way",
    ),
    (
        lambda raw: group(raw, "sores")["level"][0].update(choice_in={"grouped_blisters": ["yes"]}),
        "the wrong way",
    ),
    (
        lambda raw: group(raw, "duration")["level"][0].update(choice_in={"how_long": ["ages"]}),
        "'how_long' has no answer 'ages'",
    ),
    (lambda raw: group(raw, "sores")["levels"].append("none"), "level 'none' stands there twice"),
    (lambda raw: rule(raw, "triage.sores").update(when={"sore": "present"}), "unknown group 'sore'"),
    (lambda raw: rule(raw, "triage.sores").update(when={"sores": "many"}), "'sores' has no level 'many'"),
    (
        lambda raw: rule(raw, "triage.sores").update(when={"sores": "none"}),
        "every answer is at least at level 'none'",
    ),
    (lambda raw: rule(raw, "triage.sores").update(when={}), "'triage.sores' has no condition"),
    (
        lambda raw: rule(raw, "triage.sore").update(urgency="self_care"),
        "'triage.sore' asks for nothing",
    ),
    (lambda raw: raw["rule"].append(rule(raw, "triage.sore")), "rule 'triage.sore' stands there twice"),
    (lambda raw: raw["question"].append(question(raw, "fever")), "question 'fever' stands there twice"),
    (lambda raw: raw["group"].append(group(raw, "sores")), "group 'sores' stands there twice"),
    (lambda raw: question(raw, "how_long")["labels"].pop(), "'how_long' has not one label for each answer"),
    (lambda raw: question(raw, "how_long")["answers"].__setitem__(0, "not_sure"), "lists 'not_sure'"),
    (lambda raw: question(raw, "fever").update(page="heat"), "page 'heat' has no heading"),
]


@pytest.mark.parametrize(("change", "named"), UNFIT, ids=[named for _, named in UNFIT])
def test_a_table_that_does_not_fit_together_is_refused_by_name(
    change: Callable[[Raw], Any], named: str
) -> None:
    with pytest.raises(KnowledgeError, match=re.escape(named)):
        triage_table(changed_book(change))


def test_a_table_left_as_shipped_is_taken() -> None:
    assert triage_table(changed_book(lambda raw: None)).pages == triage_table(load()).pages


def test_two_books_of_one_edition_are_not_mixed_up() -> None:
    """A book with other rules is compiled by itself, whatever its edition says."""
    milder = changed_book(lambda raw: rule(raw, "triage.sores").update(urgency="prompt"))
    assert sort_check({**CLEAN, "grouped_blisters": "yes"}, milder).urgency == Urgency.PROMPT
    assert sort_check({**CLEAN, "grouped_blisters": "yes"}, load()).urgency == Urgency.SAME_DAY


def changed_book(change: Callable[[Raw], Any]) -> Book:
    raw = tomllib.loads((FOLDER / "skin" / "triage.toml").read_text("utf-8"))
    change(raw)
    table = TypeAdapter(DecisionTable).validate_python(
        {key: raw[key] for key in ("question", "group", "rule")}
    )
    return replace(load(), tables={"triage": table})
