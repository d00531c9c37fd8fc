"""What a possible misprint does to a verdict: it withholds a clearance, and does no more."""

import pytest

from thenar.allergy.allergies import Allergies, Delayed
from thenar.allergy.declarations import read_declaration
from thenar.allergy.misprints import misprints_in, say_misprints, with_misprints
from thenar.allergy.names import Names
from thenar.allergy.product import Category, Product
from thenar.allergy.verdict import Judge
from thenar.allergy.verdict_terms import Answer, Link
from thenar.knowledge import load

NAMES = Names(load().allergens)
JUDGE = Judge(load().allergens, NAMES)
MISPRINTED = "Aqua, Methylisothiazolinome, Glycerin"


def judged(text, allergen="methylisothiazolinone"):
    soap = Product("S1", "A soap", Category.SOAP, read_declaration(text))
    found = misprints_in(soap.declaration.ingredients, NAMES)
    verdict = JUDGE.judge(with_misprints(soap, found), Allergies(frozenset({Delayed(allergen)})))
    return say_misprints(verdict, found)


def test_what_may_be_a_misprint_withholds_the_clearance_and_never_says_avoid():
    verdict = judged(MISPRINTED)
    assert verdict.answer is Answer.CANNOT_EXCLUDE
    links = [step.link for step in verdict.reasons[0].steps]
    assert links[:2] == [Link.DECLARED, Link.MISPRINT]
    assert Link.NAMED not in links
    said = " ".join(step.says for step in verdict.reasons[0].steps)
    assert "may be a misprint of Methylisothiazolinone" in said
    assert "Nobody has settled it" in said
    assert "is a name of" not in said


def test_a_misprint_concerns_those_who_react_to_what_may_be_meant_or_what_it_may_be_taken_for():
    # The table lets an allergy to octylisothiazolinone cross with methylisothiazolinone.
    assert judged(MISPRINTED, "octylisothiazolinone").answer is Answer.CANNOT_EXCLUDE
    assert judged(MISPRINTED, "nickel_sulfate").answer is Answer.NO_MATCH_FOUND


@pytest.mark.parametrize("text", ["Aqua, Methylisothiazolinone", "Aqua, Glycerin", "Methylparaben"])
def test_a_name_that_is_known_is_no_misprint_and_keeps_its_answer(text):
    soap = Product("S1", "A soap", Category.SOAP, read_declaration(text))
    allergies = Allergies(frozenset({Delayed("methylisothiazolinone")}))
    assert judged(text) == JUDGE.judge(soap, allergies)


def test_a_misprint_beside_the_true_name_changes_nothing_of_avoid():
    verdict = judged("Aqua, Methylisothiazolinone, Methylisothiazolinome")
    assert verdict.answer is Answer.AVOID
    assert verdict.reasons[0].ingredient.written == "Methylisothiazolinone"
