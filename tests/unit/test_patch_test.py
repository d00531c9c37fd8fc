"""A patch test: what can not have been, what counts, patterns, due and missed readings, proposals."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from tests.patch_by_hand import (
    APPLIED,
    RULES,
    allergen,
    control,
    known,
    marks,
    on_day,
    own,
    patch_test,
)
from thenar.allergy.allergies import Strength
from thenar.allergy.patch_days import Standing, missed_readings, occlusion_caution, readings_due
from thenar.allergy.patch_own_products import preparation_cautions, reactions_to_own_products
from thenar.allergy.patch_proposals import negative_allergens, proposed_sensitisations
from thenar.allergy.patch_reading import (
    Outcome,
    Pattern,
    irritant_control_reacted,
    pattern_of,
    read_position,
    skin_cautions,
)
from thenar.allergy.patch_relevance import Certainty, Judgement, Relevance
from thenar.allergy.patch_test import (
    ImpossibleTest,
    Kind,
    OwnProduct,
    PatchGrade,
    PatchTest,
    Position,
    Reading,
    UnknownGrade,
    read_grade,
    refuse_days_to_come,
)
from thenar.allergy.product import Category
from thenar.errors import BadInput
from thenar.knowledge import Book
from thenar.knowledge.entries import KnownAs

STRONG = PatchGrade.STRONG


def outcome(course: str) -> Outcome:
    return read_position(patch_test((allergen(1), course)), 1, RULES).outcome


def pattern(course: str) -> Pattern:
    return read_position(patch_test((allergen(1), course)), 1, RULES).pattern


# What can't have been


def read_again(test: PatchTest, *readings: Reading) -> PatchTest:
    return replace(test, readings=(*test.readings, *readings))


@pytest.mark.parametrize(
    ("reading", "says"),
    [
        (Reading(1, APPLIED - timedelta(1), STRONG), "before the test was put on"),
        (Reading(1, APPLIED, STRONG), "the day the test was put on"),
        (Reading(1, on_day(1), STRONG), "under a patch that came off on 2026-03-04"),
        (Reading(2, on_day(4), STRONG), "position 2, at which nothing was put on"),
        (Reading(1, on_day(369), STRONG), "369 days after the test was put on"),
    ],
)
def test_a_reading_that_can_not_be_is_refused_and_says_why(reading: Reading, says: str) -> None:
    with pytest.raises(ImpossibleTest, match=says):
        read_again(patch_test((allergen(1), "D4 -")), reading)


def test_two_grades_for_one_day_and_position_are_refused_with_both_grades_named() -> None:
    with pytest.raises(ImpossibleTest, match=r"Position 1 has two grades on 2026-03-06: - and \+\+"):
        read_again(patch_test((allergen(1), "D4 -")), Reading(1, on_day(4), STRONG))


def test_the_same_grade_twice_on_one_day_is_refused_too() -> None:
    with pytest.raises(ImpossibleTest, match="graded twice"):
        read_again(patch_test((allergen(1), "D4 -")), *marks(1, "D4 -"))


def test_a_day_to_come_is_refused_and_today_is_not() -> None:
    test = patch_test((allergen(1), "D4 -"))
    refuse_days_to_come(test, on_day(4))
    with pytest.raises(ImpossibleTest, match="was read on 2026-03-06, which is still to come"):
        refuse_days_to_come(test, on_day(3))
    with pytest.raises(ImpossibleTest, match="was put on on 2026-03-02"):
        refuse_days_to_come(test, APPLIED - timedelta(1))


@pytest.mark.parametrize(
    ("positions", "says"),
    [
        ((), "Nothing was put on"),
        ((allergen(1), allergen(1)), "Position 1 is used 2 times"),
    ],
)
def test_positions_are_there_and_each_has_its_own_number(positions: tuple[Position, ...], says: str) -> None:
    with pytest.raises(ImpossibleTest, match=says):
        PatchTest(APPLIED, None, positions)


@pytest.mark.parametrize("number", [0, -3])
def test_positions_are_numbered_from_one(number: int) -> None:
    with pytest.raises(ImpossibleTest, match="Number positions from 1"):
        allergen(number)


def test_patches_come_off_after_they_were_put_on() -> None:
    with pytest.raises(ImpossibleTest, match="came off on 2026-03-02"):
        PatchTest(APPLIED, APPLIED, (allergen(1),))


@pytest.mark.parametrize(
    ("kind", "brought"),
    [
        (Kind.OWN_PRODUCT, None),
        (Kind.OWN_PRODUCT, OwnProduct(Category.SOAP, " ")),
        (Kind.ALLERGEN, OwnProduct(Category.SOAP, "1 in 100")),
    ],
)
def test_an_own_product_and_only_an_own_product_says_how_it_was_prepared(
    kind: Kind, brought: OwnProduct | None
) -> None:
    with pytest.raises(ImpossibleTest, match="says how it was prepared"):
        Position(1, "soap", "1", "aq", kind=kind, own=brought)


@pytest.mark.parametrize("text", ["", "4", "++++", "positive", "+ +", "IRR"])
def test_an_unknown_grade_is_refused_and_the_known_ones_are_listed(text: str) -> None:
    with pytest.raises(UnknownGrade, match=r"\+\+\+ \(extreme\)"):
        read_grade(text)


@pytest.mark.parametrize(
    ("text", "grade"),
    [
        ("\u2212", PatchGrade.NEGATIVE),
        ("+?", PatchGrade.DOUBTFUL),
        (" nt ", PatchGrade.NOT_TESTED),
        ("Not  tested", PatchGrade.NOT_TESTED),
    ],
)
def test_grades_are_read_as_people_write_them(text: str, grade: PatchGrade) -> None:
    assert read_grade(text) is grade


# What counts


@pytest.mark.parametrize(
    ("course", "expected"),
    [
        ("D2 - D3 +", Outcome.POSITIVE),
        ("D2 - D5 +", Outcome.POSITIVE),
        ("D3 IR D4 ++", Outcome.POSITIVE),
        ("D4 - D6 +", Outcome.POSITIVE_LATER),
        ("D7 +++", Outcome.POSITIVE_LATER),
        ("D4 ?+", Outcome.DOUBTFUL),
        ("D4 - D7 ?+", Outcome.DOUBTFUL),
        ("D3 IR D4 ?+", Outcome.DOUBTFUL),
        ("D4 IR D7 -", Outcome.IRRITANT),
        ("D2 - D4 - D7 -", Outcome.NEGATIVE),
    ],
)
def test_weak_or_stronger_from_day_three_to_five_is_positive(course: str, expected: Outcome) -> None:
    # Weak or stronger on at least one of D3 to D5: Uter 2022.
    assert outcome(course) is expected


@pytest.mark.parametrize("course", ["", "D2 -", "D2 +++", "D7 -", "D2 - D7 -"])
def test_nothing_is_settled_without_a_reading_on_a_day_that_counts(course: str) -> None:
    assert outcome(course) is Outcome.NOT_SETTLED


def test_a_reaction_only_under_the_fresh_patch_is_no_positive() -> None:
    # 8.3 % of positives on D2 were lost by D3 (confirmatory analysis of the German network).
    read = read_position(patch_test((allergen(1), "D2 ++ D4 -")), 1, RULES)
    assert (read.outcome, read.strength) == (Outcome.NEGATIVE, None)
    assert read.pattern is Pattern.DECRESCENDO


def test_a_patch_that_could_not_be_read_is_not_tested_and_never_negative() -> None:
    assert outcome("D2 NT") is Outcome.NOT_TESTED
    assert outcome("D2 NT D4 NT") is Outcome.NOT_TESTED
    assert outcome("D2 - D4 NT") is Outcome.NOT_SETTLED


def test_the_strength_is_the_strongest_grade_from_the_days_that_count_on() -> None:
    read = read_position(patch_test((allergen(1), "D2 +++ D3 + D4 ++ D7 +")), 1, RULES)
    assert read.strength is STRONG


# Patterns


@pytest.mark.parametrize(
    ("course", "expected"),
    [
        ("D2 - D4 - D7 -", Pattern.NO_REACTION),
        ("D2 ?+ D4 +", Pattern.CRESCENDO),
        ("D2 + D3 + D4 ++", Pattern.CRESCENDO),
        ("D2 + D4 + D7 +", Pattern.PLATEAU),
        ("D2 ++ D4 + D7 -", Pattern.DECRESCENDO),
        ("D2 IR D4 -", Pattern.DECRESCENDO),
        ("D2 + D4 ++ D7 +", Pattern.UNEVEN),
        ("D4 - D5 +", Pattern.CRESCENDO),
        ("D4 - D6 +", Pattern.LATE),
        ("D2 - D4 ?+ D7 +", Pattern.LATE),
        ("D4 - D7 - D14 ++", Pattern.MAY_BE_SENSITISED),
        ("D4 - D7 - D10 ?+", Pattern.MAY_BE_SENSITISED),
        ("D4 ?+ D14 ++", Pattern.LATE),
        ("D4 ++", Pattern.NOT_KNOWN),
        ("D7 ++", Pattern.NOT_KNOWN),
        ("", Pattern.NOT_KNOWN),
    ],
)
def test_the_pattern_over_the_days_is_told(course: str, expected: Pattern) -> None:
    assert pattern(course) is expected


def test_a_first_reading_that_is_already_positive_is_never_called_late() -> None:
    assert pattern("D7 + D14 +") is Pattern.PLATEAU
    assert pattern("D10 + D14 +") is Pattern.PLATEAU


def test_a_patch_not_readable_on_one_day_is_no_step_of_the_pattern() -> None:
    assert pattern("D2 + D3 NT D4 ++") is Pattern.CRESCENDO
    assert pattern_of(((2, PatchGrade.WEAK),), RULES) is Pattern.NOT_KNOWN


# Due and missed


def standings(test: PatchTest, day: int) -> list[str]:
    return [due.standing.value for due in readings_due(test, RULES, on_day(day))]


@pytest.mark.parametrize(
    ("course", "day", "expected"),
    [
        ("", 1, ["to come", "to come", "to come"]),
        ("", 2, ["due", "to come", "to come"]),
        ("D2 -", 3, ["taken", "due", "to come"]),
        ("D2 -", 5, ["taken", "overdue, still worth taking", "to come"]),
        ("D2 -", 6, ["taken", "missed", "due"]),
        ("D2 - D5 -", 6, ["taken", "taken", "due"]),
        ("D2 - D4 -", 30, ["taken", "taken", "overdue, still worth taking"]),
        ("D2 - D4 - D9 -", 30, ["taken", "taken", "taken"]),
    ],
)
def test_each_reading_is_to_come_due_overdue_missed_or_taken(
    course: str, day: int, expected: list[str]
) -> None:
    assert standings(patch_test((allergen(1), course)), day) == expected


def test_a_reading_of_some_positions_leaves_the_others_due() -> None:
    test = patch_test((allergen(1), "D2 - D4 -"), (allergen(2), "D2 -"), (allergen(3), "D2 NT"))
    due = readings_due(test, RULES, on_day(4))[1]
    assert (due.standing, due.unread) == (Standing.DUE, (2,))


def test_the_days_of_a_due_reading_are_dates() -> None:
    due = readings_due(patch_test((allergen(1), "")), RULES, APPLIED)[1]
    assert (due.from_on, due.to_on) == (date(2026, 3, 5), date(2026, 3, 6))


def test_a_test_read_on_day_two_alone_is_warned_with_the_published_share() -> None:
    says = [one.says for one in missed_readings(patch_test((allergen(1), "D2 -")), RULES, on_day(20))]
    assert says == [
        "A reading was not taken: D3 or D4. Positive on day 4 and not on day 2: 24 % (993 of 4,210).",
        "A reading was not taken: about D7. New on day 7: 12.8 % (26 of 203). "
        "New after day 4: 7.2 % (29 of 403).",
    ]


def test_a_missed_reading_without_a_published_figure_says_so() -> None:
    (one,) = missed_readings(patch_test((allergen(1), "D4 - D7 -")), RULES, on_day(9))
    assert one.says == "A reading was not taken: D2. No figure is published for what that hides."
    assert one.is_from_memory


def test_a_reading_taken_of_some_positions_is_warned_for_the_others() -> None:
    test = patch_test((allergen(1), "D2 - D4 - D7 -"), (allergen(2), "D2 - D4 -"))
    (one,) = missed_readings(test, RULES, on_day(9))
    assert one.says.startswith("A reading was not taken: about D7, at 1 of 2 positions.")


def test_nothing_is_warned_while_readings_are_still_to_come() -> None:
    assert missed_readings(patch_test((allergen(1), "D2 -")), RULES, on_day(4)) == ()


# The skin as a whole


def test_a_control_that_reacted_and_one_that_did_not_and_none_are_told_apart() -> None:
    assert irritant_control_reacted(patch_test((control(1), "D2 - D3 IR"))) is True
    assert irritant_control_reacted(patch_test((control(1), "D2 - D3 -"))) is False
    assert irritant_control_reacted(patch_test((control(1), "D2 NT"))) is None
    assert irritant_control_reacted(patch_test((allergen(1), "D3 +++"))) is None


def test_many_positive_positions_bring_a_caution_and_one_fewer_none() -> None:
    five = [(allergen(number), "D4 +") for number in range(1, 6)]
    assert "5 positions are positive" in skin_cautions(patch_test(*five), RULES)[0].says
    assert skin_cautions(patch_test(*five[:4]), RULES) == ()


def test_a_reacting_control_is_no_positive_position() -> None:
    four = [(allergen(number), "D4 +") for number in range(1, 5)]
    says = [one.says for one in skin_cautions(patch_test(*four, (control(9), "D4 ++")), RULES)]
    assert says == ["The irritant control reacted. Weak reactions are less certain."]


def test_without_a_rule_of_how_many_no_number_of_positives_is_called_many() -> None:
    ten = patch_test(*((allergen(number), "D4 +") for number in range(1, 11)))
    assert skin_cautions(ten, replace(RULES, many_positives=None)) == ()


@pytest.mark.parametrize(("days", "says"), [(1, "for 1 day;"), (3, "for 3 days;")])
def test_another_time_under_the_patch_brings_a_caution(days: int, says: str) -> None:
    caution = occlusion_caution(PatchTest(APPLIED, on_day(days), (allergen(1),)), RULES)
    assert caution is not None
    assert says in caution.says


def test_the_usual_time_under_the_patch_and_one_not_written_down_bring_none() -> None:
    assert occlusion_caution(PatchTest(APPLIED, on_day(2), (allergen(1),)), RULES) is None
    assert occlusion_caution(PatchTest(APPLIED, None, (allergen(1),)), RULES) is None


# Proposals


def proposals(test: PatchTest, *allergens: object) -> dict[str, object]:
    table = {one.id: one for one in allergens}
    return {one.allergen: one for one in proposed_sensitisations(test, RULES, table)}


def test_a_strong_reaction_that_grows_is_proposed_without_asking_for_more() -> None:
    (one,) = proposed_sensitisations(patch_test((allergen(1, "nickel"), "D2 + D4 ++")), RULES, {})
    assert (one.allergen, one.strength, one.confirm) == ("nickel", Strength.STRONG, ())


def test_negative_irritant_and_unread_positions_are_no_proposals() -> None:
    test = patch_test(
        (allergen(1), "D4 - D7 -"), (allergen(2), "D4 IR"), (allergen(3), "D2 +++"), (allergen(4), "D2 NT")
    )
    assert proposed_sensitisations(test, RULES, {}) == ()


@pytest.mark.parametrize(("course", "asks"), [("D4 +", True), ("D4 ?+", True), ("D4 ++", False)])
def test_a_weak_reaction_to_an_irritant_preparation_asks_for_confirmation(course: str, asks: bool) -> None:
    one = proposals(patch_test((allergen(1, "capb"), course)), known("capb", irritates=True))["capb"]
    assert any("known to irritate" in says for says in one.confirm) is asks


def test_a_doubtful_reaction_is_proposed_only_for_confirming() -> None:
    one = proposals(patch_test((allergen(1, "nickel"), "D4 ?+")))["nickel"]
    assert one.is_doubtful
    assert one.confirm == ("The reaction is doubtful.",)


@pytest.mark.parametrize(
    ("course", "says"),
    [
        ("D2 ++ D4 +", "fades"),
        ("D4 - D14 +++", "the test itself may have sensitised"),
    ],
)
def test_a_fading_and_a_very_late_reaction_ask_for_confirmation(course: str, says: str) -> None:
    one = proposals(patch_test((allergen(1, "nickel"), course)))["nickel"]
    assert any(says in reason for reason in one.confirm)


def test_a_reacting_control_makes_weak_reactions_ask_and_strong_ones_not() -> None:
    test = patch_test((allergen(1, "weak"), "D4 +"), (allergen(2, "strong"), "D4 ++"), (control(3), "D4 IR"))
    found = proposals(test)
    assert found["weak"].confirm == ("The reaction is weak and the irritant control reacted too.",)
    assert found["strong"].confirm == ()


def test_two_positions_with_one_allergen_are_one_proposal_by_the_stronger() -> None:
    test = patch_test((allergen(1, "formaldehyde"), "D4 +"), (allergen(2, "formaldehyde"), "D4 ++"))
    (one,) = proposed_sensitisations(test, RULES, {})
    assert one.strength is Strength.STRONG
    assert [read.position for read in one.readings] == [1, 2]


THIURAMS = known("thiuram-mix", ("tmtd", "tetd", "tmtm"))


def test_a_positive_mix_says_how_its_parts_came_out() -> None:
    test = patch_test(
        (allergen(1, "thiuram-mix"), "D4 ++"), (allergen(2, "tmtd"), "D4 ++"), (allergen(3, "tetd"), "D4 -")
    )
    parts = proposals(test, THIURAMS, known("tmtd"), known("tetd"))["thiuram-mix"].components
    assert (parts.positive, parts.negative, parts.open) == (("tmtd",), ("tetd",), ("tmtm",))


def test_a_positive_mix_of_which_every_part_is_negative_asks_for_confirmation() -> None:
    test = patch_test(
        (allergen(1, "thiuram-mix"), "D4 ++"),
        (allergen(2, "tmtd"), "D4 -"),
        (allergen(3, "tetd"), "D4 -"),
        (allergen(4, "tmtm"), "D4 -"),
    )
    assert proposals(test, THIURAMS)["thiuram-mix"].confirm == ("The mix reacted and none of its parts did.",)
    one_part_open = replace(test, readings=test.readings[:-1])
    assert proposals(one_part_open, THIURAMS)["thiuram-mix"].confirm == ()


def test_a_part_is_proposed_though_its_mix_is_negative() -> None:
    # 24 patients had a negative thiuram mix and a positive thiuram: Aalto-Korte 2016.
    test = patch_test((allergen(1, "thiuram-mix"), "D4 -"), (allergen(2, "tmtd"), "D4 ++"))
    assert list(proposals(test, THIURAMS)) == ["tmtd"]


def test_a_negative_mix_clears_nothing() -> None:
    test = patch_test((allergen(1, "thiuram-mix"), "D2 - D4 - D7 -"))
    table = {one.id: one for one in (THIURAMS, known("tmtd"))}
    assert negative_allergens(test, RULES, table) == ()


def test_a_single_allergen_is_negative_only_if_read_when_it_counts_and_at_all_its_positions() -> None:
    table = {name: known(name) for name in ("bronopol", "nickel", "cobalt", "chromate")}
    test = patch_test(
        (allergen(1, "bronopol"), "D4 - D6 -"),
        (allergen(2, "nickel"), "D4 -"),
        (allergen(3, "cobalt"), "D2 -"),
        (allergen(4, "chromate"), "D4 - D7 -"),
        (allergen(5, "chromate"), "D4 ?+"),
    )
    assert [(one.allergen, one.complete) for one in negative_allergens(test, RULES, table)] == [
        ("bronopol", True),
        ("nickel", False),
    ]


def test_an_allergen_nobody_knows_is_proposed_but_never_cleared() -> None:
    test = patch_test((allergen(1, "new-thing"), "D4 +"), (allergen(2, "other-thing"), "D4 - D7 -"))
    assert list(proposals(test)) == ["new-thing"]
    assert negative_allergens(test, RULES, {}) == ()


# Own products


def test_an_own_product_that_reacts_is_no_sensitisation_and_asks_for_its_ingredients() -> None:
    test = patch_test((own(1), "D4 ++"), (own(2), "D4 -"))
    assert proposed_sensitisations(test, RULES, {}) == ()
    (one,) = reactions_to_own_products(test, RULES)
    assert one.product == "product-1"
    assert "ingredients one by one" in one.cautions[0]


@pytest.mark.parametrize("category", [Category.SOAP, Category.RUB, Category.WIPE, Category.DISINFECTANT])
def test_what_burns_is_warned_when_put_on_as_it_is(category: Category) -> None:
    assert "burns under a patch" in preparation_cautions(own(1, category, "As is"))[0]
    assert not any("burns" in says for says in preparation_cautions(own(1, category)))


def test_a_cream_may_be_put_on_as_it_is() -> None:
    assert not any("burns" in says for says in preparation_cautions(own(1, Category.CREAM, "as is")))


def test_no_reaction_to_a_diluted_product_is_never_a_clearance() -> None:
    assert any("does not clear" in says for says in preparation_cautions(own(1)))


# Relevance


def test_the_letters_of_relevance_are_those_in_use() -> None:
    # COADEX: C current, O old, A actively sensitised, D do not know, EX exposed (altmeyers.org).
    published = [each.letter for each in Relevance if Judgement(each).known_as is KnownAs.PUBLISHED]
    assert published == ["C", "O", "A", "D", "EX"]


@pytest.mark.parametrize("relevance", Relevance)
def test_letters_and_certainties_name_rules_that_are_shipped(relevance: Relevance, book: Book) -> None:
    certainties = Certainty if relevance is Relevance.CURRENT else (None,)
    named = {rule for certainty in certainties for rule in Judgement(relevance, certainty).rules}
    assert named <= book.rules.keys()
    assert bool(named) is (relevance is not Relevance.CROSS_REACTION)


def test_x_for_a_cross_reaction_is_from_memory() -> None:
    judgement = Judgement(Relevance.CROSS_REACTION)
    assert (judgement.relevance.letter, judgement.known_as) == ("X", KnownAs.FROM_MEMORY)


def test_only_what_is_current_can_be_definite() -> None:
    assert "C, definite" in str(Judgement(Relevance.CURRENT, Certainty.DEFINITE))
    with pytest.raises(BadInput, match="past"):
        Judgement(Relevance.PAST, Certainty.DEFINITE)
