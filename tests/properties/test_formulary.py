"""The formulary search against brute force, and what holds for every search that can be made.

The brute force shares no code with the search: it tries every set of products of 300 small random questions.
"""

import random
from dataclasses import replace
from decimal import Decimal
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from thenar.allergy.formulary import find_formulary
from thenar.allergy.formulary_answer import Formulary, NoFormulary
from thenar.allergy.formulary_terms import Goal, Group, Judged, Need, Offer, Question
from thenar.allergy.product import Category
from thenar.allergy.verdict_terms import Answer

INSTANCES = 300
BATCHES = 10
ANSWERS = (*[Answer.NO_MATCH_FOUND] * 3, Answer.AVOID, Answer.CANNOT_EXCLUDE)
ALLERGENS = ("fragrance", "nickel", "thiurams")
KINDS = (
    Need("soap", Category.SOAP),
    Need("rub", Category.RUB),
    Need("virucidal rub", Category.RUB, frozenset({"virucidal"})),
    Need("glove", Category.GLOVE, frozenset({"size M"})),
)


def random_question(seed):
    """Up to nine products, four groups and three needs, with every rule there is in some of the questions."""
    draw = random.Random(seed)
    offered = tuple(random_offer(f"P{number}", draw) for number in range(draw.randint(6, 9)))
    names = [offer.product for offer in offered]
    groups = (
        Group("without allergies", draw.randint(1, 40)),
        *(random_group(f"group {number}", names, draw) for number in range(draw.randint(1, 3))),
    )
    first, *others = draw.sample(KINDS, draw.randint(1, 3))
    stay = frozenset(draw.sample(names, draw.choice((0, 0, 0, 1))))
    return Question(
        offered,
        groups,
        needs=(first, *(random_need(need, groups, draw) for need in others)),
        stay=stay,
        banned=frozenset(draw.sample(names, draw.choice((0, 0, 1)))) - stay,
        present=draw.choice((None, frozenset(draw.sample(names, 2)))),
        at_most=draw.choice((None, None, 1, 2, 3, 4)),
    )


def random_offer(name, draw):
    category = draw.choice((Category.SOAP, Category.RUB, Category.RUB, Category.GLOVE))
    features = frozenset(each for each in ("virucidal", "size M") if draw.random() < 0.7)
    cost = Decimal(draw.choice((1, 2, 2, 3, 5, 250, 475))) / draw.choice((1, 1, 100))
    return Offer(
        name, category, cost, Decimal(draw.choice((0, 0, 1, 5, 20, 35))) / draw.choice((1, 10)), features
    )


def random_group(pattern, names, draw):
    judged = []
    for name in names:
        answer = draw.choice(ANSWERS)
        some = () if answer is Answer.NO_MATCH_FOUND else draw.sample(ALLERGENS, draw.randint(1, 3))
        judged.append(Judged(name, answer, frozenset(some)))
    return Group(pattern, draw.randint(1, 9), tuple(judged))


def random_need(need, groups, draw):
    some = frozenset(group.pattern for group in groups if draw.random() < 0.6)
    return replace(need, groups=draw.choice((None, some)), obligation=draw.random() < 0.4)


def demands_of(question):
    """Each need of each group, and each obligation: workers, and the offers they may use by name."""
    demands = {}
    for need in question.needs:
        kind = {
            offer.product: offer
            for offer in question.offers
            if offer.category == need.category
            and need.features.issubset(offer.features)
            and offer.product not in question.banned
        }
        if need.obligation:
            demands[need.name, None] = 0, kind
        for group in question.groups:
            if need.groups is None or group.pattern in need.groups:
                fine = {each.product for each in group.judged or () if each.answer == "no match found"}
                usable = kind if group.judged is None else {name: kind[name] for name in kind if name in fine}
                demands[need.name, group.pattern] = group.workers, usable
    return demands


def by_brute_force(question, demands, goal, at_most):
    """The best value of cost, number and new products, in the order of the goal; None if nothing serves."""
    offers = {offer.product: offer for offer in question.offers if offer.product not in question.banned}
    best = None
    for number in range(len(offers) + 1 if at_most is None else min(at_most, len(offers)) + 1):
        for chosen in combinations(sorted(offers), number):
            if not question.stay.issubset(chosen):
                continue
            cost = sum((offers[name].cost_of_stock for name in chosen), Decimal(0))
            for workers, usable in demands.values():
                prices = [usable[name].cost_a_worker for name in chosen if name in usable]
                if not prices:
                    break
                cost += workers * min(prices)
            else:
                new = len(set(chosen) - (question.present or set()))
                value = (cost, number, new) if goal is Goal.CHEAPEST else (number, cost, new)
                best = value if best is None else min(best, value)
    return best


def value_of(formulary, question, goal):
    new = len(set(formulary.products) - (question.present or set()))
    number, cost = len(formulary.products), formulary.cost.total
    return (cost, number, new) if goal is Goal.CHEAPEST else (number, cost, new)


def assert_is_best(question, goal):
    demands = demands_of(question)
    stuck = {key for key, (_, usable) in demands.items() if not usable}
    served = {key: demand for key, demand in demands.items() if key not in stuck}
    best = by_brute_force(question, served, goal, question.at_most)
    answer = find_formulary(question, goal, gap=0.0)
    if best is not None and not stuck:
        assert isinstance(answer, Formulary)
        assert value_of(answer, question, goal) == best
        assert answer.at_least == best[0]
        return "found"
    assert isinstance(answer, NoFormulary)
    assert {(each.lacking.need, each.lacking.pattern) for each in answer.sought} == stuck
    if best is None:
        fewest = by_brute_force(question, served, Goal.FEWEST, None)
        assert answer.fewest == fewest[0]
        assert value_of(answer.partial, question, Goal.FEWEST) == fewest
        return "too many"
    assert answer.fewest is None
    assert value_of(answer.partial, question, goal) == best
    return "lacking"


@pytest.mark.parametrize("goal", Goal)
@pytest.mark.parametrize("batch", range(BATCHES))
def test_the_best_equals_brute_force(batch, goal):
    for seed in range(batch, INSTANCES, BATCHES):
        assert_is_best(random_question(seed), goal)


def test_the_best_equals_brute_force_however_few_products_there_may_be():
    # Keeping a product costs nothing here: without a bound many are chosen, so each bound must be shared out.
    for seed in range(60):
        question = random_question(seed)
        free = tuple(replace(offer, cost_of_stock=Decimal(0)) for offer in question.offers)
        for at_most in range(max(1, len(question.stay)), 6):
            assert_is_best(replace(question, offers=free, at_most=at_most), Goal.CHEAPEST)


def test_the_questions_tried_have_every_kind_of_answer():
    kinds = [assert_is_best(random_question(seed), Goal.CHEAPEST) for seed in range(INSTANCES)]
    assert min(kinds.count(kind) for kind in ("found", "lacking", "too many")) >= 20


questions = st.integers(0, 10**6).map(random_question)
goals = st.sampled_from(Goal)


def formulary_in(answer):
    return answer.partial if isinstance(answer, NoFormulary) else answer


@settings(max_examples=100, deadline=None)
@given(questions, goals)
def test_nobody_is_given_a_product_that_is_not_free_of_matches(question, goal):
    formulary = formulary_in(find_formulary(question, goal))
    groups = {group.pattern: group for group in question.groups}
    for use in formulary.uses:
        judged = groups[use.pattern].judged
        if judged is not None:
            assert Judged(use.product, Answer.NO_MATCH_FOUND) in judged
        assert use.product in formulary.products
    assert question.stay <= set(formulary.products)
    assert question.banned.isdisjoint(formulary.products)


@settings(max_examples=100, deadline=None)
@given(questions, goals)
def test_every_need_of_every_group_is_served_or_named(question, goal):
    answer = find_formulary(question, goal)
    lacking = () if isinstance(answer, Formulary) else answer.sought
    named = {(each.lacking.need, each.lacking.pattern) for each in lacking}
    served = {(use.need, use.pattern) for use in formulary_in(answer).uses}
    served |= {(name, None) for each in formulary_in(answer).chosen for name in each.obligations}
    assert named | served == set(demands_of(question))
    assert named.isdisjoint(served)


@settings(max_examples=100, deadline=None)
@given(questions, goals, st.randoms(use_true_random=False))
def test_the_order_of_what_is_given_changes_nothing(question, goal, draw):
    def shuffled(entries):
        return tuple(draw.sample(entries, len(entries)))

    groups = tuple(replace(each, judged=each.judged and shuffled(each.judged)) for each in question.groups)
    turned = replace(
        question, offers=shuffled(question.offers), groups=shuffled(groups), needs=shuffled(question.needs)
    )
    assert find_formulary(turned, goal) == find_formulary(question, goal)


@settings(max_examples=60, deadline=None)
@given(questions)
def test_costs_and_uses_add_up(question):
    formulary = formulary_in(find_formulary(question, Goal.CHEAPEST))
    assert sum(use.cost for use in formulary.uses) == formulary.cost.use
    assert sum(each.cost.total for each in formulary.chosen) == formulary.cost.total
    for each in formulary.chosen:
        assert sum(serves.workers for serves in each.serves) == sum(
            use.workers for use in formulary.uses if use.product == each.product
        )


@settings(max_examples=60, deadline=None)
@given(questions)
def test_each_alternative_adds_what_it_says(question):
    # Counted again from scratch for the set with the one product exchanged.
    question = replace(question, at_most=None)
    formulary = formulary_in(find_formulary(question, Goal.CHEAPEST, gap=0.0))
    demands = {key: demand for key, demand in demands_of(question).items() if demand[1]}
    offers = {offer.product: offer for offer in question.offers}
    for each in formulary.chosen:
        for other in each.alternatives:
            products = {*formulary.products, other.product} - {each.product, None}
            cost = sum((offers[name].cost_of_stock for name in products), Decimal(0)) + sum(
                workers * min(usable[name].cost_a_worker for name in products if name in usable)
                for workers, usable in demands.values()
            )
            assert cost == formulary.cost.total + other.adds
            assert other.adds >= 0


@settings(max_examples=60, deadline=None)
@given(questions, goals)
def test_a_formulary_taken_as_present_stock_is_kept(question, goal):
    question = replace(question, at_most=None)
    formulary = formulary_in(find_formulary(question, goal, gap=0.0))
    again = formulary_in(
        find_formulary(replace(question, present=frozenset(formulary.products)), goal, gap=0.0)
    )
    assert again.against_present.add == ()
    assert again.against_present.drop == ()
