"""What a verdict promises, rule by rule, on a small made-up table."""

from dataclasses import replace

import pytest

from tests.unit.small_allergens import (
    CITED,
    JUDGE,
    TABLE,
    delayed,
    glove,
    graded,
    immediate,
    product,
)
from thenar.allergy.allergies import Allergies, Strength
from thenar.allergy.declared import Declaration, ListKind, Unread
from thenar.allergy.excluded_links import UnknownAllergen
from thenar.allergy.names import Names
from thenar.allergy.product import Category, Product
from thenar.allergy.verdict import Judge
from thenar.allergy.verdict_terms import Answer, Link, Verdict
from thenar.knowledge import load
from thenar.knowledge.allergens import SameName
from thenar.knowledge.entries import KnownAs

AVOID, CANNOT_EXCLUDE, NO_MATCH = Answer.AVOID, Answer.CANNOT_EXCLUDE, Answer.NO_MATCH_FOUND
DECLARED, CLAIM, NOTHING = ListKind.GLOVE_DECLARED, ListKind.GLOVE_CLAIM, ListKind.NOTHING

COLOURS = [(True, CANNOT_EXCLUDE), (None, CANNOT_EXCLUDE), (False, NO_MATCH)]


def soap(text: str, allergies: Allergies) -> Answer:
    return JUDGE.judge(product(text), allergies).answer


def links(verdict: Verdict) -> list[Link]:
    return [step.link for step in verdict.reasons[0].steps]


def entries(verdict: Verdict) -> list[str]:
    return [step.entry for step in verdict.reasons[0].steps]


def test_a_declared_allergen_is_avoided_and_the_label_is_quoted():
    verdict = JUDGE.judge(product("Aqua, Plainol, Otherol"), delayed("plain"))
    assert verdict.answer is AVOID
    (reason,) = verdict.reasons
    assert reason.ingredient.written == "Plainol"
    assert "“Plainol”" in reason.steps[0].says
    assert entries(verdict) == ["", "allergen.plain"]


def test_a_full_list_without_a_match_gives_no_match_found():
    verdict = JUDGE.judge(product("Aqua, Otherol"), delayed("plain"))
    assert (verdict.answer, verdict.reasons) == (NO_MATCH, ())


@pytest.mark.parametrize(
    "text",
    [
        "Aqua, Pl\u0430inol",  # a Cyrillic а
        "Aqua, Plain\u03bfl",  # a Greek omicron
        "Aqua, Pl\u03b1inol",  # a Greek alpha, which stands for "alpha" only by itself
        "Aqua, Pl\u0251inol",  # a phonetic sign
        "Aqua, Plain\u3164ol",  # a letter that shows nothing
        "Aqua, Plain\u02bcol",  # a letter that looks like an apostrophe
        "Aqua, \u043f\u043b\u0430\u0438\u043d\u043e\u043b",  # another script altogether
        "Aqua (\u6c34, \u9999\u6599)",
        "Aqua, \u202elonialP\u202c",  # shown from right to left: Plainol
    ],
)
def test_letters_that_only_look_alike_clear_nothing(text):
    assert soap(text, delayed("plain")) is CANNOT_EXCLUDE


@pytest.mark.parametrize("text", ["Glycerin Plainolate, Sorbitol Plainolium", "Glycerin"])
def test_a_name_inside_another_word_is_no_match(text):
    assert soap(text, delayed("plain")) is NO_MATCH


SHIPPED = Judge(load().allergens, Names(load().allergens))


@pytest.mark.parametrize(
    "claim",
    [
        "without perfume Methylisothiazolinone",
        "No perfume Methylisothiazolinone Citric Acid",
        "ohne Zusatz von Parfum Methylisothiazolinone",
        "free from dyes/parabens Methylisothiazolinone",
    ],
)
@pytest.mark.parametrize("text", ["Aqua, Glycerin, {}", "{}, Aqua", "Aqua, {}. Glycerin"])
def test_a_claim_of_absence_that_lost_its_comma_clears_nobody_of_what_follows(claim: str, text: str):
    shown = product(text.format(claim))
    verdict = SHIPPED.judge(shown, delayed("methylisothiazolinone"))
    assert verdict.answer is CANNOT_EXCLUDE
    assert any("comma" in step.says for step in verdict.reasons[0].steps)
    assert SHIPPED.judge(shown, delayed("nickel_sulfate")).answer is NO_MATCH


@pytest.mark.parametrize(
    "claim",
    [
        "free from methylisothiazolinone",
        "without added Methylisothiazolinone",
        "free from perfume and methylisothiazolinone",
        "Free from perfume, parabens and methylisothiazolinone.",
        "without methylisothiazolinone (MIT)",
    ],
)
def test_a_whole_claim_of_absence_withholds_nothing(claim: str):
    label = product(f"Aqua, Glycerin, Citric Acid, Sodium Chloride.\n{claim}")
    assert SHIPPED.judge(label, delayed("methylisothiazolinone")).answer is NO_MATCH


@pytest.mark.parametrize("claim", ["without chemical accelerators", "made without natural rubber (latex)"])
def test_a_claim_in_several_words_is_no_lost_comma(claim: str):
    label = product(f"Aqua, Glycerin, {claim}")
    for allergen in ("mbt", "natural_rubber_latex"):
        assert SHIPPED.judge(label, delayed(allergen)).answer is NO_MATCH


@pytest.mark.parametrize("text", ["Glycerin Surfactinol", "GLYCERINSURFACTINOL", "Surfactinol Glycerin"])
def test_a_lost_comma_cannot_exclude_what_may_be_the_second_name(text):
    verdict = JUDGE.judge(product(text), delayed("surfactin"))
    assert verdict.answer is CANNOT_EXCLUDE
    assert links(verdict) == [Link.DECLARED, Link.NAMED]
    assert "comma" in verdict.reasons[0].steps[1].says
    assert verdict.reasons[0].ingredient.written == text


@pytest.mark.parametrize("text", ["No. 3 Surfactinol", "b) Surfactinol", "Surfactinol 5x", "of Surfactinol"])
def test_a_few_signs_beside_a_name_do_not_hide_it(text):
    assert soap(text, delayed("surfactin")) in (CANNOT_EXCLUDE, AVOID)


@pytest.mark.parametrize(
    ("text", "answer"),
    [
        ("Glycerin Smell", CANNOT_EXCLUDE),
        ("Natural smell", CANNOT_EXCLUDE),
        ("Unsmell", NO_MATCH),
        ("Aqua, no smell", NO_MATCH),
    ],
)
def test_an_unknown_name_that_ends_in_an_umbrella_name_may_hide_what_it_hides(text, answer):
    assert soap(text, delayed("scent")) is answer


def test_an_umbrella_name_counts_in_every_language_the_table_knows_it_in():
    same = SameName("smell", ("Smell", "Geruch"), CITED)
    table = replace(TABLE, same_names=(same,))
    judge = Judge(table, Names(table))
    assert judge.judge(product("Geruch"), delayed("scent")).answer is CANNOT_EXCLUDE
    assert soap("Geruch", delayed("scent")) is NO_MATCH


def test_an_umbrella_name_is_told_by_its_own_entry_before_those_of_its_same_names():
    two = (*TABLE.umbrellas, replace(TABLE.umbrellas[0], id="umbrella.geruch", names=("Geruch",)))
    table = replace(TABLE, umbrellas=two, same_names=(SameName("smell", ("Smell", "Geruch"), CITED),))
    (reason,) = Judge(table, Names(table)).judge(product("Geruch"), delayed("scent")).reasons
    assert reason.steps[1].entry == "umbrella.geruch"


def test_without_allergies_nothing_is_excluded_whatever_the_label():
    for each in (product("Plainol"), product("", NOTHING), glove("", "")):
        assert JUDGE.judge(each, Allergies()).answer is NO_MATCH
        assert JUDGE.judge(each, delayed(negative=("plain", "mix"))).reasons == ()


def test_an_allergen_the_table_does_not_hold_is_refused():
    with pytest.raises(UnknownAllergen, match="no allergen 'gone'"):
        JUDGE.judge(product("Plainol"), delayed("gone"))


def test_a_releaser_is_avoided_in_allergy_to_what_it_gives_off():
    verdict = JUDGE.judge(product("Giverol"), delayed("gas"))
    assert verdict.answer is AVOID
    assert links(verdict) == [Link.DECLARED, Link.NAMED, Link.RELEASES]
    assert entries(verdict)[-1] == "allergen.giver"


def test_allergy_to_one_releaser_rules_out_neither_the_other_nor_what_they_give_off():
    assert soap("Giverol", delayed("giver")) is AVOID
    assert soap("Donorol, Gasol", delayed("giver")) is NO_MATCH


def test_a_graded_releaser_is_eased_by_its_own_negative_test_and_an_ungraded_one_is_not():
    assert soap("Donorol", delayed("gas")) is CANNOT_EXCLUDE
    assert soap("Donorol", delayed("gas", negative=("donor",))) is NO_MATCH
    assert soap("Giverol", delayed("gas", negative=("giver",))) is AVOID


def test_a_cross_reaction_is_told_with_its_numbers_and_standing():
    verdict = JUDGE.judge(product("Kinol"), delayed("plain"))
    assert verdict.answer is AVOID
    step = verdict.reasons[0].steps[-1]
    assert (step.link, step.entry) == (Link.CROSS_REACTS, "cross-reaction.plain.kin")
    assert "7 of 9" in step.says
    assert step.known_as == "our choice"


def test_cross_reactions_are_never_chained_nor_turned_round():
    assert soap("Cousinol", delayed("kin")) is AVOID
    assert soap("Cousinol", delayed("plain")) is NO_MATCH
    assert soap("Plainol", delayed("kin")) is NO_MATCH


def test_a_grade_that_rises_after_an_extreme_reaction_rises_only_then():
    assert soap("Brineol", graded("plain", Strength.EXTREME)) is AVOID
    assert soap("Brineol", graded("plain", Strength.STRONG)) is CANNOT_EXCLUDE


def test_information_on_a_cross_reaction_is_shown_and_changes_nothing():
    verdict = JUDGE.judge(product("Cousinol"), delayed("plain"))
    assert verdict.answer is NO_MATCH
    assert [reason.answer for reason in verdict.reasons] == [NO_MATCH]
    assert entries(verdict)[-1] == "cross-reaction.plain.cousin"


def test_a_mix_without_single_tests_rules_out_every_part():
    verdict = JUDGE.judge(product("Redol, Greenol, Blueol"), delayed("mix"))
    assert [reason.answer for reason in verdict.reasons] == [AVOID] * 3
    assert links(verdict)[-1] is Link.PART_OF


def test_a_part_tested_negative_is_not_ruled_out_by_its_mix_alone():
    person = delayed("mix", "red", negative=("green",))
    assert soap("Greenol", person) is NO_MATCH
    assert soap("Redol", person) is AVOID


def test_a_part_not_tested_stays_ruled_out_when_another_explains_the_mix():
    assert soap("Greenol", delayed("mix", "red")) is AVOID


def test_a_part_tested_negative_is_still_caught_by_a_graded_cross_reaction():
    person = delayed("mix", "red", negative=("blue", "green"))
    assert soap("Blueol", person) is CANNOT_EXCLUDE


def test_a_mix_that_reacted_while_all_its_parts_were_negative_clears_none_of_them():
    person = delayed("mix", negative=("red", "green", "blue"))
    assert soap("Greenol", person) is CANNOT_EXCLUDE


def test_a_negative_mix_clears_nothing():
    assert soap("Redol", delayed("red", negative=("mix",))) is AVOID
    assert soap("Redol, Greenol", delayed("mix", negative=("mix",))) is AVOID
    assert soap("Colour mix", delayed("gas", negative=("mix",))) is CANNOT_EXCLUDE


def test_a_positive_test_counts_where_the_same_thing_was_also_once_negative():
    assert soap("Redol", delayed("mix", "red", negative=("red",))) is AVOID


def test_what_all_parts_of_a_mix_cross_react_with_is_avoided_and_what_some_do_is_not_excluded():
    assert soap("Kinol", delayed("mix")) is AVOID
    assert soap("Cousinol", delayed("mix")) is CANNOT_EXCLUDE
    assert soap("Kinol", delayed("mix", negative=("kin",))) is CANNOT_EXCLUDE
    assert soap("Cousinol", delayed("mix", "green", negative=("red", "blue"))) is NO_MATCH


def test_a_label_that_names_a_mix_names_its_parts():
    assert soap("Colour mix", delayed("green")) is AVOID


def test_the_name_of_a_part_or_of_an_umbrella_is_no_name_of_the_mix():
    assert soap("Scentol", delayed("scent")) is AVOID
    assert soap("Scentol", delayed("other")) is NO_MATCH
    assert soap("Smell", delayed("other")) is NO_MATCH


def test_an_umbrella_name_cannot_exclude_what_it_may_hide():
    verdict = JUDGE.judge(product("Aqua, Smell"), delayed("scent"))
    assert verdict.answer is CANNOT_EXCLUDE
    assert (links(verdict)[-1], entries(verdict)[-1]) == (Link.MAY_HIDE, "umbrella.scents")
    assert soap("Smell", delayed("plain")) is NO_MATCH


def test_an_impurity_cannot_be_excluded_in_the_ingredient_it_comes_with():
    verdict = JUDGE.judge(product("Taintedol"), delayed("taint"))
    assert verdict.answer is CANNOT_EXCLUDE
    assert (links(verdict)[-1], entries(verdict)[-1]) == (Link.COMES_WITH, "impurity.taint")


def test_a_published_finding_stands_against_a_label_that_names_nothing():
    wipe = product("Aqua", category=Category.WIPE)
    assert JUDGE.judge(wipe, delayed("stowaway")).answer is CANNOT_EXCLUDE
    assert soap("Aqua", delayed("stowaway")) is NO_MATCH


@pytest.mark.parametrize("kind", [kind for kind in ListKind if kind is not ListKind.FULL])
def test_only_a_full_list_can_give_no_match(kind):
    verdict = JUDGE.judge(product("Aqua", kind), delayed("plain"))
    assert verdict.answer is CANNOT_EXCLUDE
    assert links(verdict) == [Link.LIST_INCOMPLETE]


def test_an_empty_full_list_declares_nothing():
    empty = Product("P1", "Soap", Category.SOAP, Declaration(ListKind.FULL, "", ()))
    assert JUDGE.judge(empty, delayed("plain")).answer is CANNOT_EXCLUDE
    assert soap("", delayed("plain")) is CANNOT_EXCLUDE


def test_a_stretch_that_could_not_be_read_cannot_exclude():
    declaration = product("Aqua").declaration
    unread = Declaration(declaration.kind, "Aqua ###", declaration.ingredients, (Unread(5, 8, "noise"),))
    verdict = JUDGE.judge(Product("P1", "Soap", Category.SOAP, unread), delayed("plain"))
    assert (verdict.answer, links(verdict)) == (CANNOT_EXCLUDE, [Link.UNREAD])


def test_may_contain_cannot_exclude():
    verdict = JUDGE.judge(product("Aqua, may contain: Plainol"), delayed("plain"))
    assert verdict.answer is CANNOT_EXCLUDE
    assert "may contain" in verdict.reasons[0].steps[0].says


def test_a_doubtful_reaction_asks_for_confirmation_and_does_not_avoid():
    verdict = JUDGE.judge(product("Plainol"), graded("plain", Strength.DOUBTFUL))
    assert verdict.answer is CANNOT_EXCLUDE
    assert "Confirm" in verdict.reasons[0].confirm
    assert JUDGE.judge(product("Plainol"), graded("plain", Strength.DOUBTFUL, confirmed=True)).answer is AVOID


def test_a_weak_reaction_to_an_irritant_preparation_avoids_and_asks_for_confirmation():
    verdict = JUDGE.judge(product("Pricklyol"), graded("prickly", Strength.WEAK))
    assert verdict.answer is AVOID
    assert "open application test" in verdict.reasons[0].confirm


@pytest.mark.parametrize(
    ("id_", "strength", "confirmed"),
    [("prickly", Strength.WEAK, True), ("prickly", Strength.STRONG, False), ("plain", Strength.WEAK, False)],
)
def test_no_confirmation_is_asked_of_a_settled_a_strong_or_a_plain_reaction(id_, strength, confirmed):
    verdict = JUDGE.judge(product("Pricklyol, Plainol"), graded(id_, strength, confirmed=confirmed))
    assert (verdict.answer, verdict.reasons[0].confirm) == (AVOID, "")


def test_immediate_allergy_avoids_what_is_declared_and_always_shows_the_emergency_note():
    verdict = JUDGE.judge(product("Saltol"), immediate("salt"))
    assert verdict.answer is AVOID
    assert verdict.reasons[0].immediate
    for text in ("Saltol", "Aqua"):
        note = JUDGE.judge(product(text), immediate("salt")).emergency
        assert "anaphylaxis" in note
        assert "local emergency plan" in note
        assert "clinician" in note
    assert JUDGE.judge(product("Saltol"), delayed("salt")).emergency == ""


def test_a_severe_reaction_on_record_is_said():
    mild = JUDGE.judge(product("Aqua"), immediate("salt")).emergency
    assert JUDGE.judge(product("Aqua"), immediate("salt", severe=True)).emergency != mild


def test_delayed_cross_reactions_do_not_reach_immediate_allergy_unless_both_ends_cause_it():
    assert soap("Brineol", immediate("salt")) is AVOID
    assert soap("Sodaol", immediate("salt")) is NO_MATCH
    assert soap("Sodaol", delayed("salt")) is AVOID
    assert soap("Kinol", immediate("plain")) is NO_MATCH


def test_a_negative_patch_test_eases_no_immediate_allergy():
    person = Allergies(immediate=immediate("mix").immediate, tested_negative=frozenset({"red"}))
    assert soap("Redol", person) is AVOID


def test_immediate_latex_allergy_excludes_the_material_and_not_others():
    verdict = JUDGE.judge(glove("tree", "Speederol", DECLARED), immediate("sap"))
    assert verdict.answer is AVOID
    assert (links(verdict), entries(verdict)) == ([Link.MATERIAL], ["glove-material.tree"])
    assert verdict.emergency
    assert JUDGE.judge(glove("stretch"), immediate("sap")).answer is NO_MATCH


@pytest.mark.parametrize("unknown", ["", "something new"])
def test_immediate_latex_allergy_cannot_exclude_a_glove_of_unknown_material(unknown):
    assert JUDGE.judge(glove(unknown), immediate("sap")).answer is CANNOT_EXCLUDE


def test_outside_gloves_latex_is_looked_for_by_name_and_a_gap_is_only_a_caution():
    verdict = JUDGE.judge(product("Aqua", ListKind.DATA_SHEET), immediate("sap"))
    assert verdict.answer is NO_MATCH
    assert links(verdict) == [Link.LIST_INCOMPLETE]
    assert soap("Sapol", immediate("sap")) is AVOID


def test_declared_glove_chemicals_are_avoided_or_give_no_match_with_a_caution():
    assert JUDGE.judge(glove("stretch", "Speederol", DECLARED), delayed("speeder")).answer is AVOID
    verdict = JUDGE.judge(glove("stretch", "Slowerol", DECLARED), delayed("speeder"))
    assert verdict.answer is NO_MATCH
    assert any("not always the same" in reason.steps[0].says for reason in verdict.reasons)


def test_a_finding_stands_against_declared_glove_chemicals_of_that_material_only():
    assert JUDGE.judge(glove("stretch", "Speederol", DECLARED), delayed("slower")).answer is CANNOT_EXCLUDE
    assert JUDGE.judge(glove("tree", "Speederol", DECLARED), delayed("slower")).answer is NO_MATCH
    assert JUDGE.judge(glove("", "Speederol", DECLARED), delayed("slower")).answer is CANNOT_EXCLUDE


@pytest.mark.parametrize("kind", [CLAIM, NOTHING, ListKind.DATA_SHEET, ListKind.PARTIAL])
def test_a_claim_or_nothing_cannot_exclude_what_the_material_may_hold(kind):
    person = delayed("speeder")
    assert JUDGE.judge(glove("stretch", "Otherol", kind), person).answer is CANNOT_EXCLUDE
    assert JUDGE.judge(glove("", "Otherol", kind), person).answer is CANNOT_EXCLUDE


@pytest.mark.parametrize("kind", [CLAIM, NOTHING, ListKind.DATA_SHEET, ListKind.PARTIAL])
@pytest.mark.parametrize("material", ["film", "stretch", ""])
def test_a_glove_that_lists_nothing_excludes_no_allergen(material, kind):
    for each in (delayed("plain"), delayed("speeder"), immediate("plain")):
        for text in ("", "Otherol"):
            assert JUDGE.judge(glove(material, text, kind), each).answer is CANNOT_EXCLUDE


def test_a_finding_in_every_material_that_may_hold_it_is_only_a_caution_beside_a_list():
    verdict = JUDGE.judge(glove("stretch", "Slowerol", DECLARED), delayed("speeder"))
    assert "finding.speeder" in [reason.steps[0].entry for reason in verdict.reasons]
    assert verdict.answer is NO_MATCH


def test_a_finding_of_anything_but_accelerators_stands_against_a_list_of_accelerators():
    assert JUDGE.judge(glove("film", "Slowerol", DECLARED), delayed("lurker")).answer is CANNOT_EXCLUDE


def test_a_list_of_accelerators_says_nothing_of_by_products():
    assert JUDGE.judge(glove("stretch", "Slowerol", DECLARED), delayed("fume")).answer is CANNOT_EXCLUDE
    assert JUDGE.judge(glove("film", "Slowerol", DECLARED), delayed("fume")).answer is NO_MATCH


@pytest.mark.parametrize(("coloured", "answer"), COLOURS)
def test_a_colourant_cannot_be_excluded_unless_the_glove_is_known_to_be_uncoloured(coloured, answer):
    assert JUDGE.judge(glove("film", "Otherol", DECLARED, coloured=coloured), delayed("ink")).answer is answer


@pytest.mark.parametrize(
    "material", ["latex", "nitrile", "chloroprene", "polyisoprene", "butyl", "fluoroelastomer"]
)
@pytest.mark.parametrize("kind", [CLAIM, NOTHING])
def test_no_rubber_chemical_is_excluded_from_a_rubber_glove_by_a_claim_or_by_silence(material, kind):
    table = load().allergens
    judge = Judge(table, Names(table))
    rubber = [each.id for each in table.allergens.values() if each.group.startswith("rubber_")]
    assert len(rubber) > 30
    cleared = [
        id_
        for id_ in rubber
        if judge.judge(glove(material, "", kind), delayed(id_)).answer is not CANNOT_EXCLUDE
    ]
    assert cleared == []


def test_what_a_material_may_hold_is_told_with_how_it_is_known():
    # Hansen and others 2021, table 3, names thiurams; thioureas in nitrile are from memory.
    table = load().allergens
    judge = Judge(table, Names(table))
    for id_, known_as in (("tmtd", KnownAs.PUBLISHED), ("diethylthiourea", KnownAs.FROM_MEMORY)):
        reasons = judge.judge(glove("nitrile", "", NOTHING), delayed(id_)).reasons
        assert {step.known_as for each in reasons for step in each.steps if "may hold" in step.says} == {
            known_as
        }
    for each in table.materials.values():
        assert set(each.from_memory_groups) <= set(each.may_hold_groups)


def test_an_empty_declaration_of_glove_chemicals_declares_nothing():
    assert JUDGE.judge(glove("stretch", "", DECLARED), delayed("speeder")).answer is CANNOT_EXCLUDE


def test_what_is_found_in_gloves_but_no_material_accounts_for_cannot_be_excluded():
    for each in (glove("film", "Speederol", DECLARED), glove("tree", "", NOTHING)):
        assert JUDGE.judge(each, delayed("stain")).answer is CANNOT_EXCLUDE


def test_reasons_come_strongest_first_then_by_place_on_the_label():
    person = Allergies(delayed("scent", "plain", "cousin").delayed, immediate("salt").immediate)
    verdict = JUDGE.judge(product("Smell, Cousinol, Plainol, Saltol"), person)
    assert [(reason.answer, reason.allergen) for reason in verdict.reasons] == [
        (AVOID, "salt"),
        (AVOID, "cousin"),
        (AVOID, "plain"),
        (CANNOT_EXCLUDE, "scent"),
        (NO_MATCH, "plain"),
    ]


def test_many_are_judged_as_one_is_and_people_with_the_same_allergies_once():
    products = [product("Plainol"), product("Smell"), glove("stretch"), product("Aqua", ListKind.PARTIAL)]
    people = [delayed("plain"), delayed("scent", "mix"), delayed("plain"), immediate("sap"), Allergies()]
    verdicts = JUDGE.judge_all(products, people)
    assert len(verdicts) == 4
    for person in people:
        assert list(verdicts[person]) == [JUDGE.judge(each, person) for each in products]
