"""What a person looks for on labels is what verdicts go by: nothing that is avoided is missing from it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from thenar.allergy.allergies import Allergies, Delayed, Immediate, Strength
from thenar.allergy.declarations import read_declaration
from thenar.allergy.names import Names
from thenar.allergy.names_to_avoid import NamesOfOne, NamesToAvoid, names_to_avoid
from thenar.allergy.product import Category, Product
from thenar.allergy.verdict import Judge
from thenar.allergy.verdict_terms import Answer, Link
from thenar.knowledge import load

TABLE = load().allergens
JUDGE = Judge(TABLE, Names(TABLE))


def to(allergen: str, **facts: object) -> NamesToAvoid:
    (one,) = names_to_avoid(Allergies(frozenset({Delayed(allergen, **facts)})), TABLE)  # type: ignore[arg-type]
    return one


def labelled(name: str) -> Product:
    return Product("P", "P", Category.SOAP, read_declaration(f"Aqua, {name}"))


def every_name(one: NamesOfOne) -> set[str]:
    return {one.name, *one.others, *one.numbers}


def test_every_synonym_and_number_is_named() -> None:
    known = TABLE.allergens["methylisothiazolinone"]
    assert every_name(to("methylisothiazolinone").itself) >= {*known.inci, *known.synonyms, *known.cas}


def test_what_gives_it_off_is_avoided_along() -> None:
    # DMDM hydantoin and quaternium-15 release formaldehyde (Goossens and Aerts, 2022).
    along = {one.allergen: one for one in to("formaldehyde").along}
    assert along["dmdm_hydantoin"].answer is along["quaternium_15"].answer is Answer.AVOID
    assert along["quaternium_15"].link is Link.RELEASES


def test_the_parts_of_a_mix_are_avoided_along() -> None:
    parts = {one.allergen for one in to("thiuram_mix").along if one.link is Link.PART_OF}
    assert parts >= set(TABLE.allergens["thiuram_mix"].components)


def test_a_part_tested_negative_is_not_named_as_part() -> None:
    allergies = Allergies(frozenset({Delayed("fragrance_mix_i")}), tested_negative=frozenset({"geraniol"}))
    (one,) = names_to_avoid(allergies, TABLE)
    assert "geraniol" not in {each.allergen for each in one.along if each.link is Link.PART_OF}


def test_names_that_may_hide_it_are_told() -> None:
    assert {"Parfum", "Fragrance"} <= set(to("fragrance_mix_i").may_hide)


def test_latex_gloves_go_by_all_their_names() -> None:
    (one,) = names_to_avoid(Allergies(immediate=frozenset({Immediate("natural_rubber_latex")})), TABLE)
    assert one.immediate
    assert {"Natural rubber latex", "NRL", "natural rubber"} <= set(one.materials)


def test_what_two_allergies_ask_for_stands_once_with_the_stronger_answer() -> None:
    both = names_to_avoid(Allergies(frozenset({Delayed("thiuram_mix"), Delayed("zdbc")})), TABLE)
    said = [each.allergen for one in both for each in (one.itself, *one.along)]
    assert len(said) == len(set(said))


@pytest.mark.slow
@given(st.sets(st.sampled_from(sorted(TABLE.allergens)), min_size=2, max_size=5))
def test_nothing_that_one_allergy_asks_for_is_lost_beside_another(known: set[str]) -> None:
    together = names_to_avoid(Allergies(frozenset(map(Delayed, known))), TABLE)
    said: dict[str, Answer] = {}
    for one in together:
        for each in (one.itself, *one.along):
            assert said.setdefault(each.allergen, each.answer) is each.answer
    for allergen in known:
        alone = to(allergen)
        for each in (alone.itself, *alone.along):
            assert said[each.allergen] in {each.answer, Answer.AVOID}
        assert set(alone.may_hide) <= {name for one in together for name in one.may_hide}


def test_a_doubtful_reaction_asks_to_be_confirmed() -> None:
    doubtful = to("methylisothiazolinone", strength=Strength.DOUBTFUL)
    assert doubtful.itself.answer is Answer.CANNOT_EXCLUDE
    assert doubtful.confirm


@pytest.mark.slow
@pytest.mark.parametrize("allergen", TABLE.allergens)
def test_a_label_with_any_name_told_gets_the_answer_told(allergen: str) -> None:
    """The list and the verdict go by one knowledge: no name on the list is one the judge would overlook."""
    told = to(allergen)
    allergies = Allergies(frozenset({Delayed(allergen)}))
    for one in (told.itself, *told.along):
        for name in every_name(one):
            answer = JUDGE.judge(labelled(name), allergies).answer
            assert answer in {one.answer, Answer.AVOID}, (name, answer)


@pytest.mark.parametrize(("name", "allergen"), [("accelerator CZ", "cbs"), ("Accelerator ZDEC", "zdec")])
def test_a_name_that_begins_like_a_heading_is_read_as_a_name(name: str, allergen: str) -> None:
    allergies = Allergies(frozenset({Delayed(allergen)}))
    assert JUDGE.judge(labelled(name), allergies).answer is Answer.AVOID
