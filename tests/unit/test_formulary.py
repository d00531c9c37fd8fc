"""What the formulary search promises in small cases worked by hand."""

import random
from dataclasses import replace
from decimal import Decimal

import pytest

from thenar.allergy import formulary_search
from thenar.allergy.formulary import find_formulary
from thenar.allergy.formulary_answer import Alternative, Cost, Formulary, Lacking, Nearly, NoFormulary, Serves
from thenar.allergy.formulary_programme import OutOfTime, Reached
from thenar.allergy.formulary_refusals import (
    Contradiction,
    CostNotKnown,
    EffortOutOfRange,
    NothingGiven,
    NotJudged,
    NumberNotUsable,
    SameTwice,
    UnknownName,
)
from thenar.allergy.formulary_terms import Goal, Group, Judged, Need, Offer, Question
from thenar.allergy.formulary_words import CAUTION, say_formulary, say_no_formulary
from thenar.allergy.product import Category
from thenar.allergy.verdict_terms import Answer, Link, Reason, Step, Verdict

SOAP = Need("soap", Category.SOAP)
GLOVE = Need("glove, size M", Category.GLOVE, frozenset({"size M"}))


def soap(name, cost, stock=0):
    return Offer(name, Category.SOAP, None if cost is None else Decimal(cost), Decimal(stock))


def glove(name, cost, *features):
    return Offer(name, Category.GLOVE, Decimal(cost), features=frozenset(features or {"size M"}))


def group(pattern, workers, **answers):
    """Answers by product: "" for no match found, else "avoid a b" or "unsure a" with the allergens."""
    judged = []
    for product, said in answers.items():
        kind, *allergens = said.split() or ["fine"]
        answer = {"fine": Answer.NO_MATCH_FOUND, "avoid": Answer.AVOID, "unsure": Answer.CANNOT_EXCLUDE}[kind]
        judged.append(Judged(product, answer, frozenset(allergens)))
    return Group(pattern, workers, tuple(judged))


EVERYONE = Group("none", 40)
TWO_SOAPS = Question(
    offers=(soap("S1", 4, 50), soap("S2", 6, 50), soap("S3", 7, 30)),
    groups=(EVERYONE, group("P", 2, S1="avoid isothiazolinone", S2="", S3="")),
    needs=(SOAP,),
)
NO_GLOVE = Question(
    offers=(glove("G1", 20), glove("G2", 22), glove("G3", 24), glove("G4", 9, "size L")),
    groups=(
        EVERYONE,
        group("P", 3, G1="avoid thiurams carbamates", G2="avoid thiurams", G3="unsure thiurams", G4=""),
    ),
    needs=(GLOVE,),
)


def found(question, goal=Goal.CHEAPEST):
    answer = find_formulary(question, goal, gap=0.0)
    assert isinstance(answer, Formulary)
    return answer


def not_found(question, goal=Goal.CHEAPEST):
    answer = find_formulary(question, goal, gap=0.0)
    assert isinstance(answer, NoFormulary)
    return answer


def test_the_cheapest_has_a_second_product_where_that_pays():
    # S1 and S3: 40 x 4 + 2 x 7 + 50 + 30 = 254. S1 and S2: 272. S2 alone: 302. S3 alone: 324.
    formulary = found(TWO_SOAPS)
    assert formulary.products == ("S1", "S3")
    assert formulary.cost == Cost(use=Decimal(174), stock=Decimal(80))
    assert formulary.at_least == Decimal(254)
    assert formulary.gap == 0


def test_the_fewest_are_the_cheapest_of_the_fewest():
    formulary = found(TWO_SOAPS, Goal.FEWEST)
    assert formulary.products == ("S2",)
    assert formulary.at_least == 1


def test_it_says_whom_each_product_serves_and_what_it_costs():
    first, second = found(TWO_SOAPS).chosen
    assert first.serves == (Serves("soap", 40, with_allergies=0),)
    assert second.serves == (Serves("soap", 2, with_allergies=2),)
    assert second.cost == Cost(Decimal(14), Decimal(30))


def test_it_says_what_each_alternative_adds():
    # Instead of S1: nothing 42 x 7 + 30 = 324, or S2 40 x 6 + 2 x 6 + 50 + 30 = 332. Instead of S3: S2, 272.
    first, second = found(TWO_SOAPS).chosen
    assert first.alternatives == (Alternative(None, Decimal(70)), Alternative("S2", Decimal(78)))
    assert second.alternatives == (Alternative("S2", Decimal(18)),)


def test_it_says_what_changes_against_the_present_stock():
    against = found(replace(TWO_SOAPS, present=frozenset({"S1", "S2"}))).against_present
    assert (against.keep, against.add, against.drop) == (("S1",), ("S3",), ("S2",))
    assert against.cost_now.total == Decimal(272)
    assert against.lacking_now == ()


def test_the_cost_now_is_not_told_where_somebody_lacks_a_product_now():
    against = found(replace(TWO_SOAPS, present=frozenset({"S1"}))).against_present
    assert against.cost_now is None
    assert against.lacking_now == (Lacking("soap", "P", 2),)


def test_of_equally_good_products_the_one_in_stock_is_kept():
    question = Question((soap("S1", 5), soap("S2", 5)), (EVERYONE,), (SOAP,))
    for product in ("S1", "S2"):
        assert found(replace(question, present=frozenset({product}))).products == (product,)


def test_of_equally_dear_products_at_hand_a_group_uses_the_one_it_has_now():
    question = Question((soap("S1", 5), soap("S2", 5)), (EVERYONE,), (SOAP,), stay=frozenset({"S1", "S2"}))
    for product in ("S1", "S2"):
        (use,) = found(replace(question, present=frozenset({product}))).uses
        assert use.product == product


def test_an_obligation_is_stocked_though_nobody_needs_it():
    sterile = Need("sterile", Category.GLOVE, frozenset({"sterile"}), groups=frozenset(), obligation=True)
    question = replace(
        TWO_SOAPS,
        offers=(*TWO_SOAPS.offers, glove("G1", 3, "sterile")),
        needs=(SOAP, sterile),
    )
    formulary = found(question)
    assert formulary.products == ("G1", "S1", "S3")
    assert formulary.chosen[0].obligations == ("sterile",)
    assert formulary.chosen[0].serves == ()


def test_an_obligation_nothing_meets_is_named():
    sterile = Need("sterile", Category.GLOVE, frozenset({"sterile"}), groups=frozenset(), obligation=True)
    answer = not_found(replace(TWO_SOAPS, needs=(SOAP, sterile)))
    assert [each.lacking for each in answer.sought] == [Lacking("sterile", None, 0)]
    assert answer.partial.products == ("S1", "S3")


def test_a_product_that_must_stay_stays_and_a_banned_one_is_not_chosen():
    formulary = found(replace(TWO_SOAPS, stay=frozenset({"S2"}), banned=frozenset({"S3"})))
    assert formulary.products == ("S1", "S2")
    assert [each.stays for each in formulary.chosen] == [False, True]
    assert formulary.chosen[1].alternatives == ()


def test_a_product_that_serves_nobody_stays_and_is_paid_for():
    question = replace(TWO_SOAPS, offers=(*TWO_SOAPS.offers, soap("S9", 90, 11)), stay=frozenset({"S9"}))
    groups = (EVERYONE, group("P", 2, S1="avoid isothiazolinone", S2="", S3="", S9="avoid dye"))
    assert found(replace(question, groups=groups)).cost.stock == Decimal(91)


def test_one_product_may_serve_two_needs_and_is_kept_once():
    # A virucidal rub for both: 40 x 5 x 2 + 30 = 430. With the cheaper rub: 40 x 4 + 40 x 5 + 30 + 20 = 410.
    virucidal = Need("virucidal rub", Category.RUB, frozenset({"virucidal"}))
    plain = Offer("R1", Category.RUB, Decimal(4), Decimal(20))
    strong = Offer("R2", Category.RUB, Decimal(5), Decimal(30), frozenset({"virucidal"}))
    question = Question((plain, strong), (EVERYONE,), (Need("rub", Category.RUB), virucidal))
    assert found(question).cost.total == Decimal(410)
    formulary = found(question, Goal.FEWEST)
    assert formulary.products == ("R2",)
    assert formulary.cost == Cost(Decimal(400), Decimal(30))


def test_cannot_exclude_is_never_taken_for_no_match_found_but_named_as_a_question_to_the_maker():
    answer = not_found(NO_GLOVE)
    (sought,) = answer.sought
    assert sought.lacking == Lacking("glove, size M", "P", 3)
    assert sought.ask_maker == (Nearly("G3", frozenset({"thiurams"})),)


def test_it_says_what_to_look_for():
    # Thiurams stand in the way in three gloves, carbamates in one; G2 lacks only thiurams to serve.
    (sought,) = not_found(NO_GLOVE).sought
    assert sought.without == ("thiurams", "carbamates")
    assert sought.nearest == (
        Nearly("G2", frozenset({"thiurams"})),
        Nearly("G1", frozenset({"thiurams", "carbamates"})),
    )


def test_those_who_can_be_served_are():
    partial = not_found(NO_GLOVE).partial
    assert partial.products == ("G1",)
    assert [(use.pattern, use.product) for use in partial.uses] == [("none", "G1")]


def test_a_banned_product_that_would_serve_is_named():
    # Without S2 and S3 only S1 is left, which group P must avoid.
    (sought,) = not_found(replace(TWO_SOAPS, banned=frozenset({"S2", "S3"}))).sought
    assert sought.banned == ("S2", "S3")


def test_a_banned_product_is_not_what_to_look_for():
    (sought,) = not_found(replace(NO_GLOVE, banned=frozenset({"G2", "G3"}))).sought
    assert sought.nearest == (Nearly("G1", frozenset({"thiurams", "carbamates"})),)
    assert sought.ask_maker == ()


def test_where_nothing_of_the_kind_is_offered_the_allergens_of_other_products_are_named():
    cream = Need("cream", Category.CREAM, groups=frozenset({"P"}))
    answer = not_found(replace(TWO_SOAPS, needs=(SOAP, cream)))
    (sought,) = answer.sought
    assert sought.lacking.need == "cream"
    assert sought.without == ("isothiazolinone",)


def test_too_small_a_number_is_refused_with_the_number_it_takes():
    apart = replace(
        TWO_SOAPS,
        groups=(
            EVERYONE,
            group("P", 2, S1="avoid isothiazolinone", S2="", S3="avoid dye"),
            group("Q", 1, S1="", S2="avoid perfume", S3="avoid dye"),
        ),
        at_most=1,
    )
    answer = not_found(apart)
    assert answer.fewest == 2
    assert answer.sought == ()
    assert answer.partial.products == ("S1", "S2")
    assert say_no_formulary(answer)[0] == "It takes at least 2 products, more than there may be."


def test_a_number_that_is_enough_bounds_the_cheapest():
    # One product for both groups: S2, 302; S3, 324.
    formulary = found(replace(TWO_SOAPS, at_most=1))
    assert formulary.products == ("S2",)
    assert formulary.at_least == Decimal(302)


def test_unknown_costs_do_for_the_fewest_but_none_is_told():
    question = replace(TWO_SOAPS, offers=(soap("S1", None), soap("S2", 6), soap("S3", 7)))
    formulary = found(question, Goal.FEWEST)
    assert formulary.products == ("S2",)
    assert formulary.cost is None
    assert say_formulary(formulary)[0] == "1 product, cost not known: S2."


def test_a_cost_not_known_of_a_product_that_is_banned_is_no_hindrance():
    question = replace(TWO_SOAPS, offers=(*TWO_SOAPS.offers, soap("S4", None)), banned=frozenset({"S4"}))
    assert found(question).products == ("S1", "S3")


def test_small_change_is_counted_exactly():
    question = Question((soap("S1", "0.125", "0.1"),), (Group("none", 3),), (SOAP,))
    assert found(question).cost.total == Decimal("0.475")


def test_a_verdict_comes_to_an_answer_with_the_allergens_behind_it():
    steps = (Step(Link.DECLARED, "declared"),)
    verdict = Verdict(
        "S1",
        Answer.AVOID,
        (
            Reason(Answer.AVOID, "limonene", steps),
            Reason(Answer.CANNOT_EXCLUDE, "linalool", steps),
            Reason(Answer.NO_MATCH_FOUND, "nickel", steps),
        ),
    )
    assert Judged.by(verdict) == Judged("S1", Answer.AVOID, frozenset({"limonene", "linalool"}))


def test_the_words_name_who_lacks_what_and_end_with_a_caution():
    lines = say_no_formulary(not_found(NO_GLOVE), named=lambda name: {"P": "pattern 7"}.get(name, name))
    assert lines == (
        "No product for glove, size M: group pattern 7, 3 workers.",
        "For glove, size M, look for a product without: thiurams, carbamates.",
        "G2 would serve if it were free of thiurams.",
        "G1 would serve if it were free of carbamates, thiurams.",
        "Ask the maker of G3 whether it is free of thiurams.",
        "For all the others: 1 product, 800.00 a year: G1.",
        CAUTION,
    )


def test_the_words_say_what_to_add_and_drop():
    lines = say_formulary(found(replace(TWO_SOAPS, present=frozenset({"S1", "S2"}))))
    assert lines == (
        "2 products, 254.00 a year: S1, S3.",
        "Add: S3.",
        "Drop: S2.",
        "The present stock costs 272.00 a year.",
        CAUTION,
    )


UNUSABLE = {
    "no products": (replace(TWO_SOAPS, offers=()), NothingGiven, "offers: is empty"),
    "no needs": (replace(TWO_SOAPS, needs=()), NothingGiven, "needs: is empty"),
    "needs of nobody": (
        replace(TWO_SOAPS, needs=(replace(SOAP, groups=frozenset()),)),
        NothingGiven,
        "needs: no group has any of them",
    ),
    "a product twice": (
        replace(TWO_SOAPS, offers=(*TWO_SOAPS.offers, soap("S1", 3))),
        SameTwice,
        "offers[3].product is the same as offers[0].product",
    ),
    "a need twice": (replace(TWO_SOAPS, needs=(SOAP, SOAP)), SameTwice, "needs[1].name"),
    "a group twice": (replace(TWO_SOAPS, groups=(EVERYONE, EVERYONE)), SameTwice, "groups[1].pattern"),
    "two answers for a product": (
        replace(TWO_SOAPS, groups=(Group("P", 1, (Judged("S1", Answer.AVOID),) * 2),)),
        SameTwice,
        "groups[0].judged[1].product",
    ),
    "an answer for an unknown product": (
        replace(TWO_SOAPS, groups=(group("P", 1, S1="", S2="", S3="", X=""),)),
        UnknownName,
        "groups[0].judged: 'X' is not among offers",
    ),
    "an unknown product that must stay": (
        replace(TWO_SOAPS, stay=frozenset({"X"})),
        UnknownName,
        "stay: 'X' is not among offers",
    ),
    "an unknown product in stock": (
        replace(TWO_SOAPS, present=frozenset({"X"})),
        UnknownName,
        "present: 'X' is not among offers",
    ),
    "a need of an unknown group": (
        replace(TWO_SOAPS, needs=(SOAP, replace(GLOVE, groups=frozenset({"Z"})))),
        UnknownName,
        "needs[1].groups: 'Z' is not among groups",
    ),
    "a negative cost": (
        replace(TWO_SOAPS, offers=(soap("S1", -1),)),
        NumberNotUsable,
        "offers[0].cost_a_worker: is -1",
    ),
    "a cost that is no number": (
        replace(TWO_SOAPS, offers=(soap("S1", "NaN"),)),
        NumberNotUsable,
        "offers[0].cost_a_worker: is NaN",
    ),
    "too many decimals": (
        replace(TWO_SOAPS, offers=(soap("S1", 1, "0.0001"),)),
        NumberNotUsable,
        "offers[0].cost_of_stock: is 0.0001",
    ),
    "no workers": (replace(TWO_SOAPS, groups=(Group("P", 0),)), NumberNotUsable, "groups[0].workers: is 0"),
    "no products at most": (replace(TWO_SOAPS, at_most=0), NumberNotUsable, "at_most: is 0"),
    "stay and banned": (
        replace(TWO_SOAPS, stay=frozenset({"S1"}), banned=frozenset({"S1"})),
        Contradiction,
        "stay: 'S1' must stay and is banned",
    ),
    "more must stay than may be": (
        replace(TWO_SOAPS, stay=frozenset({"S1", "S2"}), at_most=1),
        Contradiction,
        "at_most: 2 products must stay, more than 1",
    ),
    "no match found beside allergens": (
        replace(TWO_SOAPS, groups=(Group("P", 1, (Judged("S1", Answer.NO_MATCH_FOUND, frozenset({"a"})),)),)),
        Contradiction,
        "groups[0].judged[0]: no match found, yet it names allergens",
    ),
    "a product without an answer": (
        replace(TWO_SOAPS, groups=(group("P", 1, S1="", S2=""),)),
        NotJudged,
        "groups[0].judged: there is no answer for product 'S3'",
    ),
    "a cost not known": (
        replace(TWO_SOAPS, offers=(soap("S1", 1), soap("S2", None), soap("S3", 1))),
        CostNotKnown,
        "offers[1].cost_a_worker: the cost of 'S2' for a worker is not known",
    ),
}


@pytest.mark.parametrize(("question", "error", "says"), UNUSABLE.values(), ids=UNUSABLE)
def test_it_refuses(question, error, says):
    with pytest.raises(error) as refused:
        find_formulary(question, Goal.CHEAPEST)
    assert refused.value.what.startswith(says)


@pytest.mark.parametrize(
    ("gap", "seconds"), [(-0.1, 5), (1, 5), (0.1, 0), (0.1, float("inf")), (float("nan"), 5)]
)
def test_it_refuses_an_effort_out_of_range(gap, seconds):
    with pytest.raises(EffortOutOfRange):
        find_formulary(TWO_SOAPS, Goal.CHEAPEST, gap=gap, seconds=seconds)


def test_it_says_so_when_time_runs_out():
    draw = random.Random(1)
    offers = tuple(soap(f"S{number}", draw.randint(10, 30), draw.randint(10, 90)) for number in range(40))
    groups = tuple(
        group(f"P{number}", 3, **{each.product: draw.choice(("", "avoid dye")) for each in offers})
        for number in range(60)
    )
    with pytest.raises(OutOfTime):
        find_formulary(Question(offers, groups, (SOAP,)), Goal.CHEAPEST, seconds=1e-6)


def test_a_number_that_is_neither_found_nor_ruled_out_is_not_called_impossible(monkeypatch):
    # As if time had run out with three products found and one not ruled out; two are allowed.
    monkeypatch.setattr(formulary_search, "fewest_products", lambda *_: Reached(3, 1))
    with pytest.raises(OutOfTime):
        find_formulary(replace(TWO_SOAPS, at_most=2), Goal.CHEAPEST)


def test_a_product_of_no_use_to_a_group_need_not_be_judged():
    # Group P needs no glove, so gloves have no answer for it.
    question = replace(
        TWO_SOAPS,
        offers=(*TWO_SOAPS.offers, glove("G1", 3)),
        needs=(SOAP, replace(GLOVE, groups=frozenset({"none"}))),
    )
    assert found(question).products == ("G1", "S1", "S3")
