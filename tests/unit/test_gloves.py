"""What the choice of gloves promises: every glove told, the best fit first, and the unknown never fine."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from tests.unit.small_allergens import CITED, TABLE, delayed, glove, immediate, product
from thenar.allergy.allergies import Allergies
from thenar.allergy.declared import Declaration, ListKind
from thenar.allergy.glove_passage import passage
from thenar.allergy.glove_terms import Contact, GloveChoice, GloveTask, Passing, Tier, Topic
from thenar.allergy.gloves import NotAGlove, choose_gloves
from thenar.allergy.names import Names
from thenar.allergy.verdict import Judge
from thenar.allergy.verdict_terms import Answer
from thenar.knowledge import load
from thenar.knowledge.allergens import Breakthrough

BOOK, DAY = load(), date(2026, 11, 25)
NOBODY = Allergies()


def times(
    material: str, least: int | None, most: int | None, says: str = "Measured.", chemical: str = "Spirit"
) -> Breakthrough:
    least_minutes, most_minutes = [None if each is None else Decimal(each) for each in (least, most)]
    return Breakthrough(
        id=f"breakthrough.spirit-{material}-{least}",
        chemical=chemical,
        other_names=("Ghost",) if chemical == "Spirit" else (),
        material=material,
        least_minutes=least_minutes,
        most_minutes=most_minutes,
        says=says,
        cited=CITED,
    )


WITH_TIMES = replace(
    TABLE,
    breakthroughs=(
        times("tree", 5, 8),
        times("tree", 20, 30),
        times("stretch", None, 10),
        times("stretch", 20, 30),
        times("film", 240, None),
        times("film", 300, 400),
        times("film", None, None, says="Not seen."),
        times("tree", None, None, says="Slower than spirit.", chemical="Ether"),
    ),
)
JUDGE = Judge(WITH_TIMES, Names(WITH_TIMES))


def named(id_: str, *parts: object, **more: object):
    return replace(glove(*parts, **more), id=id_)


def only(choices: tuple[GloveChoice, ...]) -> GloveChoice:
    (choice,) = choices
    return choice


def notes(choice: GloveChoice, topic: Topic) -> list[str]:
    return [note.says for note in choice.notes if note.topic is topic]


def told(task: GloveTask, each, person: Allergies = NOBODY) -> GloveChoice:
    return only(choose_gloves(task, [each], person, JUDGE, BOOK, on=DAY))


EXAMINATION = GloveTask(Tier.EXAMINATION)
STERILE = GloveTask(Tier.STERILE)


@pytest.mark.parametrize(("sterile", "met"), [(True, True), (False, False), (None, None)])
def test_only_a_glove_known_to_be_sterile_meets_a_sterile_task(sterile, met):
    choice = told(STERILE, glove("film", sterile=sterile))
    assert choice.tier_met is met
    assert bool(notes(choice, Topic.TIER)) is not bool(met)
    assert told(EXAMINATION, glove("film", sterile=sterile)).tier_met is True


def test_a_task_that_calls_for_no_gloves_says_so():
    assert "not indicated" in notes(told(GloveTask(Tier.NOT_INDICATED), glove("film")), Topic.TIER)[0]


def test_every_glove_is_told_and_the_best_fit_comes_first():
    declared = ("film", "Otherol", ListKind.GLOVE_DECLARED)
    offered = [
        named("not sterile", *declared, sterile=False),
        named("latex", "tree", sterile=True),
        named("claim", "stretch", "", ListKind.GLOVE_CLAIM, sterile=True),
        named("perhaps", *declared),
        named("well", *declared, sterile=True),
    ]
    person = Allergies(delayed("speeder").delayed, immediate("sap").immediate)
    choices = choose_gloves(STERILE, offered, person, JUDGE, BOOK, on=DAY)
    assert [each.product.id for each in choices] == ["well", "perhaps", "claim", "latex", "not sterile"]
    assert [each.verdict.answer for each in choices][2:4] == [Answer.CANNOT_EXCLUDE, Answer.AVOID]


def test_what_is_no_glove_is_refused():
    with pytest.raises(NotAGlove, match="is a soap, not a glove"):
        choose_gloves(EXAMINATION, [product("Plainol")], NOBODY, JUDGE, BOOK, on=DAY)


def test_a_claim_is_told_to_be_no_proof_and_a_list_is_quoted():
    claim = told(EXAMINATION, glove("stretch", "", ListKind.GLOVE_CLAIM))
    assert "no proof" in notes(claim, Topic.DECLARATION)[0]
    listed = told(EXAMINATION, glove("stretch", "Speederol, Slowerol", ListKind.GLOVE_DECLARED))
    assert "Speederol, Slowerol" in notes(listed, Topic.DECLARATION)[0]
    for kind in (ListKind.NOTHING, ListKind.DATA_SHEET, ListKind.GLOVE_DECLARED):
        unlisted = replace(glove("stretch"), declaration=Declaration(kind, "", ()))
        assert "No list" in notes(told(EXAMINATION, unlisted), Topic.DECLARATION)[0]


@pytest.mark.parametrize(("state", "said"), [(True, "Coloured"), (None, "Not known"), (False, None)])
def test_colour_is_noted_unless_known_to_be_absent(state, said):
    found = notes(told(EXAMINATION, glove("film", coloured=state)), Topic.COLOUR)
    assert [each.startswith(said) for each in found] == ([True] if said else [])


@pytest.mark.parametrize(("state", "said"), [(True, "Powdered"), (None, "Not known"), (False, None)])
def test_powder_is_noted_unless_known_to_be_absent(state, said):
    found = notes(told(EXAMINATION, glove("film", powdered=state)), Topic.POWDER)
    assert [each.startswith(said) for each in found] == ([True] if said else [])


@pytest.mark.parametrize(("long_or_wet", "prompted"), [(True, True), (None, True), (False, False)])
def test_a_liner_is_prompted_unless_wear_is_known_to_be_short_and_dry(long_or_wet, prompted):
    task = GloveTask(Tier.EXAMINATION, long_or_wet=long_or_wet)
    assert bool(notes(told(task, glove("film")), Topic.LINER)) is prompted


@pytest.mark.parametrize(
    ("material", "minutes", "passing"),
    [
        ("tree", "4.9", Passing.SHORTER),
        ("tree", "5", Passing.MAY_COME_THROUGH),
        ("stretch", "1", Passing.MAY_COME_THROUGH),
        ("film", "239", Passing.SHORTER),
        ("film", "240", Passing.MAY_COME_THROUGH),
    ],
)
def test_the_shortest_published_time_decides_what_may_pass(material, minutes, passing):
    assert passage(Contact("Ghost", Decimal(minutes)), material, WITH_TIMES).passing is passing


@pytest.mark.parametrize(
    ("contact", "material"),
    [
        (Contact("Acid", Decimal(1)), "tree"),
        (Contact("Spirit", Decimal(1)), ""),
        (Contact("Spirit", Decimal(1)), "new stuff"),
        (Contact("Spirit"), "tree"),
        (Contact("Ether", Decimal(1)), "tree"),
    ],
)
def test_what_is_not_published_or_not_said_is_not_known(contact, material):
    assert passage(contact, material, WITH_TIMES).passing is Passing.NOT_KNOWN


def test_published_ranges_are_told_with_their_standing_and_entry():
    found = passage(Contact("spirit", Decimal(1)), "tree", WITH_TIMES)
    assert (found.least, found.most) == (5, 30)
    assert found.entries == ("breakthrough.spirit-tree-5", "breakthrough.spirit-tree-20")
    assert "our choice" in found.says
    assert passage(Contact("spirit", Decimal(1)), "film", WITH_TIMES).most is None


def test_an_unknown_passage_ranks_below_a_contact_shorter_than_published():
    task = GloveTask(Tier.EXAMINATION, (Contact("Spirit", Decimal(2)),))
    offered = [named("a", "stretch"), named("b", ""), named("c", "film")]
    assert [each.product.id for each in choose_gloves(task, offered, NOBODY, JUDGE, BOOK, on=DAY)] == [
        "c",
        "b",
        "a",
    ]


def test_release_is_told_for_each_pair_of_the_shift_with_its_published_share():
    held = told(GloveTask(Tier.EXAMINATION, pairs_per_shift=14), glove(""))
    early, rub = notes(held, Topic.RELEASE)
    assert "84 %" in early, "Hamnerius and others 2019, abstract: 84 % of the release within 10 minutes"
    assert "within 10 minutes" in early
    assert "each of 14 pairs" in early
    assert "more diphenylguanidine" in rub


def test_release_is_told_only_where_the_material_may_hold_it_and_rub_only_unless_denied():
    assert notes(told(EXAMINATION, glove("film")), Topic.RELEASE) == []
    assert len(notes(told(GloveTask(Tier.EXAMINATION, rub_before=False), glove("")), Topic.RELEASE)) == 1
