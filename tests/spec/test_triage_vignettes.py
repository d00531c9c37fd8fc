"""Stories of hospital staff are sorted as the published advice would have them sorted.

The stories and their labels are in ``triage_vignettes.toml``; its header says who labelled them and on what.
Aims set before the first run: no urgent story missed, at least 98 % of the same-day stories at same day or
above, at most 35 % of the self-care stories sent higher and at most 5 % of them to an emergency.
"""

import tomllib
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from itertools import combinations
from pathlib import Path
from typing import Self

import pytest

from thenar import knowledge
from thenar.skin.triage import Triage, sort_check

URGENCIES = ("self_care", "routine", "prompt", "same_day", "emergency")
URGENT = ("same_day", "emergency")
CONTACTS = ("continue", "adjust", "stop")
DANGER_SIGNS = (
    "breathing", "lip_throat_swelling", "faintness", "fever", "feeling_unwell", "growing_pain",
    "growing_heat", "growing_redness", "spread_beyond_hands", "swelling", "weeping", "straw_crust", "pus",
    "grouped_blisters", "wheals_within_minutes",
)  # fmt: skip
OTHER_SIGNS = (
    "known_allergy", "dryness", "flaking", "itch", "soreness", "cracks", "blisters", "colour_change",
    "night_itch_contacts", "one_hand_only", "work_affected", "sleep_affected",
)  # fmt: skip
COLOUR_SIGNS = ("growing_redness", "colour_change")
CHOICES = {
    "how_long": ("no_trouble", "under_week", "weeks", "over_3_months", "not_sure"),
    "patients": ("no_contact", "patients", "high_risk_patients", "not_sure"),
}
ALLOWED = dict.fromkeys(DANGER_SIGNS + OTHER_SIGNS, ("yes", "no", "not_sure")) | CHOICES
SKINS = ("white", "light brown", "brown", "black", "not said")


@dataclass(frozen=True, slots=True)
class Vignette:
    """One story, the answers it gives, and the outcome it should get."""

    id: str
    family: str
    base: bool
    story: str
    skin: str
    answers: Mapping[str, str]
    missing: tuple[str, ...]
    urgency: str
    urgency_at_most: str
    patient_contact: str
    because: str

    @classmethod
    def read(cls, row: dict) -> Self:
        """Fill the two fields a story may leave out; a wrong or absent field is a TypeError."""
        return cls(**{"urgency_at_most": row["urgency"], **row, "missing": tuple(row.get("missing", ()))})

    def full_answers(self) -> dict[str, str]:
        """Every question answered, "no" where the story is silent, less those left empty."""
        told = dict.fromkeys(DANGER_SIGNS + OTHER_SIGNS, "no") | dict(self.answers)
        return {question: answer for question, answer in told.items() if question not in self.missing}

    def with_colour(self, answer: str) -> Self:
        """The same story where the skin shows no colour, or where its colour cannot be judged."""
        return replace(self, answers={**self.answers, **dict.fromkeys(COLOUR_SIGNS, answer)})


VIGNETTES = [
    Vignette.read(row)
    for row in tomllib.loads(Path(__file__).with_name("triage_vignettes.toml").read_text("utf-8"))["vignette"]
]
FAMILIES = {v.family: [w for w in VIGNETTES if w.family == v.family] for v in VIGNETTES}
URGENT_STORIES = [v for v in VIGNETTES if v.urgency in URGENT]
SKIN_PAIRS = [
    (v, w)
    for v, w in combinations(VIGNETTES, 2)
    if v.family == w.family and v.full_answers() == w.full_answers() and v.skin != w.skin
]

every_story = pytest.mark.parametrize("story", VIGNETTES, ids=lambda v: v.id)
every_urgent_story = pytest.mark.parametrize("story", URGENT_STORIES, ids=lambda v: v.id)
every_family = pytest.mark.parametrize("family", FAMILIES)


@cache
def book() -> knowledge.Book:
    return knowledge.load()


def sort(story: Vignette) -> Triage:
    return sort_check(story.full_answers(), book())


def urgency_rank(story: Vignette) -> int:
    return URGENCIES.index(sort(story).urgency.code)


def ids(stories: list[Vignette]) -> list[str]:
    return [story.id for story in stories]


# The rules against the labels


@every_story
def test_a_story_is_seen_as_soon_as_the_advice_asks(story: Vignette) -> None:
    assert urgency_rank(story) >= URGENCIES.index(story.urgency), (story.story, story.because)


@every_story
def test_a_story_is_not_sent_higher_than_practitioners_would_accept(story: Vignette) -> None:
    assert urgency_rank(story) <= URGENCIES.index(story.urgency_at_most), (story.story, story.because)


@every_story
def test_a_story_keeps_patients_as_safe_as_the_advice_asks(story: Vignette) -> None:
    given = CONTACTS.index(sort(story).patient_contact.code)
    assert given >= CONTACTS.index(story.patient_contact), (story.story, story.because)


@every_urgent_story
@pytest.mark.parametrize("colour", ["no", "not_sure"])
def test_an_urgent_story_is_as_urgent_where_the_skin_hides_its_colour(story: Vignette, colour: str) -> None:
    assert urgency_rank(story.with_colour(colour)) >= URGENCIES.index(story.urgency), story.story


# The rules against the aims


def test_no_urgent_story_is_missed() -> None:
    assert ids([v for v in URGENT_STORIES if urgency_rank(v) < URGENCIES.index("same_day")]) == []


def test_at_least_98_percent_of_same_day_stories_are_seen_the_same_day() -> None:
    same_day = [v for v in VIGNETTES if v.urgency == "same_day"]
    missed = [v for v in same_day if urgency_rank(v) < URGENCIES.index("same_day")]
    assert 1 - len(missed) / len(same_day) >= 0.98, ids(missed)


def test_at_most_35_percent_of_self_care_stories_are_sent_higher() -> None:
    self_care = [v for v in VIGNETTES if v.urgency == "self_care"]
    higher = [v for v in self_care if urgency_rank(v) > URGENCIES.index("self_care")]
    assert len(higher) / len(self_care) <= 0.35, ids(higher)


def test_at_most_5_percent_of_self_care_stories_are_sent_to_an_emergency() -> None:
    self_care = [v for v in VIGNETTES if v.urgency == "self_care"]
    emergencies = [v for v in self_care if urgency_rank(v) == URGENCIES.index("emergency")]
    assert len(emergencies) / len(self_care) <= 0.05, ids(emergencies)


@pytest.mark.parametrize(("one", "other"), SKIN_PAIRS, ids=[f"{v.id}/{w.skin}" for v, w in SKIN_PAIRS])
def test_two_stories_that_differ_only_in_skin_tone_are_labelled_and_sorted_alike(
    one: Vignette, other: Vignette
) -> None:
    assert (one.urgency, one.urgency_at_most, one.patient_contact) == (
        other.urgency, other.urgency_at_most, other.patient_contact,
    )  # fmt: skip
    # The check is never told the skin, so this only fails if sorting depends on something beside the answers;
    # what can differ by skin is the label above, and the colour answers, which have their own test.
    assert sort(one) == sort(other)


# The stories themselves


def test_there_are_enough_stories_of_each_urgency() -> None:
    count = Counter(v.urgency for v in VIGNETTES)
    assert len(VIGNETTES) >= 150
    assert count["same_day"] + count["emergency"] >= 75
    assert count["prompt"] >= 30
    assert count["routine"] >= 25
    assert count["self_care"] >= 20


def test_at_least_40_percent_of_stories_are_on_brown_or_black_skin() -> None:
    assert sum(v.skin in ("brown", "black") for v in VIGNETTES) / len(VIGNETTES) >= 0.40
    assert sum(v.skin in ("brown", "black") for v in URGENT_STORIES) / len(URGENT_STORIES) >= 0.40


def test_every_story_has_its_own_id() -> None:
    assert [i for i, n in Counter(ids(VIGNETTES)).items() if n > 1] == []


@every_story
def test_a_story_uses_only_known_questions_answers_and_outcomes(story: Vignette) -> None:
    assert {q: a for q, a in story.answers.items() if a not in ALLOWED.get(q, ())} == {}
    assert set(story.missing) <= set(ALLOWED) - set(story.answers)
    assert set(CHOICES) <= set(story.answers) | set(story.missing)
    assert story.skin in SKINS
    assert URGENCIES.index(story.urgency) <= URGENCIES.index(story.urgency_at_most)
    assert story.patient_contact in CONTACTS


@every_story
def test_a_story_is_two_to_four_sentences_and_gives_its_reason(story: Vignette) -> None:
    assert 2 <= story.story.count(". ") + 1 <= 4
    assert story.story.endswith(".")
    assert story.because.endswith(".")


@every_story
def test_a_danger_sign_in_doubt_or_left_empty_is_never_labelled_self_care(story: Vignette) -> None:
    doubtful = [s for s in DANGER_SIGNS if s in story.missing or story.answers.get(s) == "not_sure"]
    assert not doubtful or story.urgency != "self_care", doubtful


@every_family
def test_a_family_has_one_base_and_two_to_five_variants(family: str) -> None:
    assert 3 <= len(FAMILIES[family]) <= 6
    assert sum(v.base for v in FAMILIES[family]) == 1


@every_family
def test_a_variant_differs_from_its_base_in_one_answer_or_in_the_skin_alone(family: str) -> None:
    (base,) = (v for v in FAMILIES[family] if v.base)
    for variant in (v for v in FAMILIES[family] if not v.base):
        here, there = base.full_answers(), variant.full_answers()
        changed = [q for q in ALLOWED if here.get(q) != there.get(q)]
        assert len(changed) + (base.skin != variant.skin) == 1, (variant.id, changed)
