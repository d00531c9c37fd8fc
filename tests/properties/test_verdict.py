"""What holds for every verdict, whoever asks about whatever product."""

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from tests.unit.small_allergens import JUDGE, TABLE
from thenar.allergy.allergies import Allergies, Delayed, Immediate, Strength
from thenar.allergy.declared import Declaration, Ingredient, ListKind, Unread
from thenar.allergy.names import Names
from thenar.allergy.normal_form import normal_form
from thenar.allergy.product import Category, GloveFacts, Product
from thenar.allergy.verdict import Judge
from thenar.allergy.verdict_terms import Answer
from thenar.knowledge import load

WEIGHT = {Answer.NO_MATCH_FOUND: 0, Answer.CANNOT_EXCLUDE: 1, Answer.AVOID: 2}
IDS = sorted(TABLE.allergens)
MIXES = sorted(id_ for id_, each in TABLE.allergens.items() if each.components)
NAMES = sorted(
    {"Aqua", "Water-clear", "Smell"}
    | {name for each in TABLE.allergens.values() for name in (*each.inci, *each.synonyms)}
)

delayed = st.builds(Delayed, st.sampled_from(IDS), st.sampled_from(Strength), st.booleans())
immediate = st.builds(Immediate, st.sampled_from(IDS), st.booleans())
people = st.builds(
    Allergies,
    st.frozensets(delayed, max_size=4),
    st.frozensets(immediate, max_size=2),
    st.frozensets(st.sampled_from(IDS), max_size=4),
)
written = st.tuples(st.sampled_from(NAMES), st.booleans())


def declaration(kind: ListKind, names: list[tuple[str, bool]], *, unread: bool = False) -> Declaration:
    """A list with at least water on it: a list of nothing declares nothing."""
    ingredients = tuple(
        Ingredient(place, name, (normal_form(name),), 0, 0, may_contain)
        for place, (name, may_contain) in enumerate([("Aqua", False), *names], start=1)
    )
    return Declaration(kind, "", ingredients, (Unread(0, 1, "noise"),) if unread else ())


any_kind = st.sampled_from(ListKind)


@st.composite
def products(draw, kinds=any_kind):
    """Any product, gloves with any facts."""
    label = declaration(draw(kinds), draw(st.lists(written, max_size=5)), unread=draw(st.booleans()))
    category = draw(st.sampled_from(Category))
    facts = None
    if category is Category.GLOVE and draw(st.booleans()):
        material = draw(st.sampled_from(["", "unheard of", *TABLE.materials]))
        facts = GloveFacts(material, coloured=draw(st.sampled_from([None, True, False])))
    return Product("P1", "Product", category, label, facts)


def weight(product: Product, person: Allergies) -> int:
    return WEIGHT[JUDGE.judge(product, person).answer]


@given(products(), people)
def test_the_answer_is_one_of_three_and_the_strongest_of_its_reasons(product, person):
    verdict = JUDGE.judge(product, person)
    weights = [WEIGHT[reason.answer] for reason in verdict.reasons]
    assert verdict.answer in WEIGHT
    assert weights == sorted(weights, reverse=True)
    assert WEIGHT[verdict.answer] == max(weights, default=0)
    assert all(reason.steps for reason in verdict.reasons)


@given(products(), people, delayed)
def test_one_more_sensitisation_never_weakens_an_answer(product, person, more):
    assert weight(product, replace(person, delayed=person.delayed | {more})) >= weight(product, person)


@given(products(), people, immediate)
def test_one_more_immediate_allergy_never_weakens_an_answer(product, person, more):
    assert weight(product, replace(person, immediate=person.immediate | {more})) >= weight(product, person)


@given(products(), people, written)
def test_one_more_ingredient_never_weakens_an_answer(product, person, more):
    label = product.declaration
    names = [(each.written, each.may_contain) for each in label.ingredients[1:]]
    longer = declaration(label.kind, [*names, more], unread=bool(label.unread))
    assert weight(replace(product, declaration=longer), person) >= weight(product, person)


@given(products(), people, st.sampled_from(MIXES))
def test_a_negative_mix_changes_nothing(product, person, mix):
    cleared = replace(person, tested_negative=person.tested_negative | {mix})
    without = replace(person, tested_negative=person.tested_negative - {mix})
    assert JUDGE.judge(product, cleared) == JUDGE.judge(product, without)


@given(products(st.just(ListKind.FULL)), people, st.sampled_from(ListKind))
def test_a_less_complete_list_never_weakens_an_answer(product, person, kind):
    less = replace(product, declaration=replace(product.declaration, kind=kind))
    assert weight(less, person) >= weight(product, person)


@given(products(st.sampled_from([kind for kind in ListKind if kind is not ListKind.FULL])), people)
def test_outside_gloves_only_a_full_list_gives_no_match_in_allergy_to_an_ingredient(product, person):
    ingredients = {each.allergen for each in (*person.delayed, *person.immediate)} - {"sap"}
    if product.category is not Category.GLOVE and ingredients:
        assert weight(product, person) > 0


@given(products(), people)
def test_a_reaction_made_doubtful_is_never_avoided_and_never_cleared(product, person):
    doubtful = frozenset(Delayed(each.allergen, Strength.DOUBTFUL) for each in person.delayed)
    settled = frozenset(Delayed(each.allergen, Strength.STRONG) for each in person.delayed)
    now = weight(product, Allergies(doubtful, frozenset(), person.tested_negative))
    then = weight(product, Allergies(settled, frozenset(), person.tested_negative))
    assert now == min(then, 1)


@given(st.lists(products(), max_size=4), st.lists(people, max_size=4))
def test_judging_many_is_judging_each(some, everyone):
    verdicts = JUDGE.judge_all(some, everyone)
    assert verdicts.keys() == set(everyone)
    for person in everyone:
        assert list(verdicts[person]) == [JUDGE.judge(each, person) for each in some]


SHIPPED = load().allergens
SHIPPED_JUDGE = Judge(SHIPPED, Names(SHIPPED))
SHIPPED_MIXES = frozenset(id_ for id_, each in SHIPPED.allergens.items() if each.components)
SHIPPED_NAMES = sorted(
    {name for each in SHIPPED.allergens.values() for name in (each.name, *each.inci, *each.synonyms)}
    | {name for each in SHIPPED.umbrellas for name in each.names}
)
shipped_ids = st.sampled_from(sorted(SHIPPED.allergens))
shipped_people = st.builds(
    Allergies,
    st.frozensets(st.builds(Delayed, shipped_ids, st.sampled_from(Strength)), max_size=3),
    st.frozensets(st.builds(Immediate, shipped_ids), max_size=1),
    st.frozensets(shipped_ids, max_size=5),
)
labels = st.lists(st.tuples(st.sampled_from(SHIPPED_NAMES), st.booleans()), max_size=6)


@given(labels, st.sampled_from(ListKind), st.sampled_from(Category), shipped_people, shipped_ids)
def test_what_holds_of_the_small_table_holds_of_the_shipped_one(names, kind, category, person, more):
    def shipped(names: list[tuple[str, bool]], person: Allergies) -> int:
        product = Product("P1", "Product", category, declaration(kind, names))
        return WEIGHT[SHIPPED_JUDGE.judge(product, person).answer]

    answer = shipped(names, person)
    one_more = replace(person, delayed=person.delayed | {Delayed(more)})
    assert shipped(names, one_more) >= answer
    assert shipped([*names, (SHIPPED.allergens[more].name, False)], person) >= answer
    cleared = replace(person, tested_negative=person.tested_negative | SHIPPED_MIXES)
    assert shipped(names, cleared) == answer


def test_every_allergen_of_the_shipped_table_is_avoided_by_every_name_of_its_own():
    for allergen in SHIPPED.allergens.values():
        delayed_to = Allergies(frozenset({Delayed(allergen.id)}))
        immediate_to = Allergies(immediate=frozenset({Immediate(allergen.id)}))
        for name in (allergen.name, *allergen.inci, *allergen.synonyms, *allergen.cas):
            cream = Product("P1", "Product", Category.CREAM, declaration(ListKind.FULL, [(name, False)]))
            for person in (delayed_to, immediate_to):
                assert SHIPPED_JUDGE.judge(cream, person).answer is Answer.AVOID, (allergen.id, name)
