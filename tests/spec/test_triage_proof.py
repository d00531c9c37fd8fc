"""The triage rules are safe in every state a check can be in, not in the ones somebody thought of.

The proof has two stages. Within each group of questions every combination of answers is walked through;
then every combination of the groups' levels. As no question stands in two groups, the two together are every
state. This file reads the rule file by itself, and the first tests show that the software reads it the same
way; so a fault in the software can't hide in its own proof. The last tests break the rules on purpose and see
each check notice.
"""

import random
import tomllib
from collections.abc import Callable, Iterator
from copy import deepcopy
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise, product
from math import prod
from operator import gt
from typing import Any

import pytest
from pydantic import TypeAdapter

from thenar.knowledge import Book, DecisionTable, load
from thenar.knowledge.book import FOLDER
from thenar.skin.triage import Triage, UnknownQuestion, sort_check, triage_table

URGENCIES = ("self_care", "routine", "prompt", "same_day", "emergency")
CONTACTS = ("continue", "adjust", "stop")
SELF_CARE, ROUTINE, PROMPT, SAME_DAY, EMERGENCY = range(5)
CONTINUE, ADJUST, STOP = range(3)

# What a yes must lead to at the least, whatever else is answered. Emergency and same day: RCP and NHS Plus
# 2008 (immediate reactions up to anaphylaxis); NICE NG190, 1.1.3, NG141, and QS44 statement 7. Signs of
# infection or spread end patient contact (common practice). Weeping, crust, fever, swelling and wheals alone:
# our choice.
FLOORS = {
    "breathing": (EMERGENCY, STOP),
    "lip_throat_swelling": (EMERGENCY, STOP),
    "faintness": (EMERGENCY, STOP),
    "growing_heat": (SAME_DAY, STOP),
    "growing_pain": (SAME_DAY, STOP),
    "growing_redness": (SAME_DAY, STOP),
    "spread_beyond_hands": (SAME_DAY, STOP),
    "pus": (SAME_DAY, STOP),
    "grouped_blisters": (SAME_DAY, STOP),
    "weeping": (PROMPT, STOP),
    "straw_crust": (PROMPT, STOP),
    "fever": (PROMPT, STOP),
    "feeling_unwell": (PROMPT, STOP),
    "swelling": (PROMPT, ADJUST),
    "wheals_within_minutes": (PROMPT, ADJUST),
}

Raw = dict[str, Any]


@dataclass(frozen=True)
class Outcomes:
    """Urgency and patient contact of every combination of levels, the last group running fastest."""

    urgencies: bytearray
    contacts: bytearray


def shipped() -> Raw:
    return tomllib.loads((FOLDER / "skin" / "triage.toml").read_text("utf-8"))


@dataclass(frozen=True)
class Reading:
    """The rule file as this proof reads it: plainly, one clause and one rule at a time."""

    raw: Raw

    @cached_property
    def answers(self) -> dict[str, tuple[str, ...]]:
        """The answers to each question; those to a choice end with not sure."""
        return {
            question["id"]: (*question["answers"], "not_sure")
            if "answers" in question
            else ("no", "not_sure", "yes")
            for question in self.raw["question"]
        }

    @property
    def groups(self) -> list[Raw]:
        return self.raw["group"]

    @property
    def rules(self) -> list[Raw]:
        return self.raw["rule"]

    def with_role(self, role: str) -> list[str]:
        return [question["id"] for question in self.raw["question"] if question["role"] == role]

    def group_of(self, question: str) -> Raw:
        (group,) = (group for group in self.groups if question in group["questions"])
        return group

    def states_of(self, group: Raw) -> Iterator[dict[str, str]]:
        """Every combination of answers to a group's questions."""
        for given in product(*(self.answers[question] for question in group["questions"])):
            yield dict(zip(group["questions"], given, strict=True))

    def level(self, group: Raw, state: dict[str, str]) -> int:
        """The worst level of which a clause holds."""
        reached = [group["levels"].index(clause["name"]) for clause in group["level"] if holds(clause, state)]
        return max(reached, default=0)

    @cached_property
    def sizes(self) -> tuple[int, ...]:
        return tuple(len(group["levels"]) for group in self.groups)

    @cached_property
    def holding(self) -> list[int]:
        """For every combination of levels: the rules that hold, one bit each."""
        allowed = [
            [
                sum(
                    1 << place
                    for place, rule in enumerate(self.rules)
                    if group["id"] not in rule["when"]
                    or group["levels"].index(rule["when"][group["id"]]) <= rank
                )
                for rank in range(len(group["levels"]))
            ]
            for group in self.groups
        ]
        holding = [-1]
        for by_level in allowed:
            holding = [before & here for before in holding for here in by_level]
        return holding

    def outcome(self, holding: int, without: int = -1) -> tuple[int, int]:
        """The most serious urgency and patient contact over rules that hold."""
        rules = [rule for place, rule in enumerate(self.rules) if holding >> place & 1 and place != without]
        return (
            max((URGENCIES.index(rule.get("urgency", "self_care")) for rule in rules), default=0),
            max((CONTACTS.index(rule.get("patient_contact", "continue")) for rule in rules), default=0),
        )

    @cached_property
    def outcomes(self) -> "Outcomes":
        """The outcome of every combination of levels."""
        known = {holding: self.outcome(holding) for holding in set(self.holding)}
        return Outcomes(
            bytearray(known[holding][0] for holding in self.holding),
            bytearray(known[holding][1] for holding in self.holding),
        )

    def least(self, group: Raw, rank: int) -> tuple[int, int]:
        """The mildest urgency and contact over every state in which this group is at this level or worse."""
        runs = [run for level in range(rank, len(group["levels"])) for run in self.runs_at(group, level)]
        urgencies, contacts = self.outcomes.urgencies, self.outcomes.contacts
        return min(min(urgencies[run]) for run in runs), min(min(contacts[run]) for run in runs)

    def runs_at(self, group: Raw, rank: int) -> list[slice]:
        """Where among the outcomes this group is at this level; runs of two levels match one to one."""
        stride = prod(self.sizes[self.groups.index(group) + 1 :])
        starts = range(rank * stride, len(self.holding), stride * len(group["levels"]))
        return [slice(start, start + stride) for start in starts]

    def steps(self, question: str) -> list[tuple[str, str]]:
        """Neighbouring answers, the better one first. Not sure stands between the best and the worst."""
        *ranked, _ = self.answers[question] if self.is_choice(question) else ("no", "yes", "not_sure")
        return [*pairwise(ranked), (ranked[0], "not_sure"), ("not_sure", ranked[-1])]

    def is_choice(self, question: str) -> bool:
        return "yes" not in self.answers[question]


def holds(clause: Raw, state: dict[str, str]) -> bool:
    """Whether every condition a clause gives is met."""
    return (
        ("any_yes" not in clause or any(state[name] == "yes" for name in clause["any_yes"]))
        and ("all_yes" not in clause or all(state[name] == "yes" for name in clause["all_yes"]))
        and ("any_unknown" not in clause or any(state[name] == "not_sure" for name in clause["any_unknown"]))
        and ("any_possible" not in clause or any(state[name] != "no" for name in clause["any_possible"]))
        and all(state[name] in wanted for name, wanted in clause.get("choice_in", {}).items())
    )


# The checks. Each gives what it found wrong, so that a broken table can be shown to be noticed.


def questions_shared(reading: Reading) -> list[str]:
    """Questions in more than one group, or deciding ones in none: then the two stages prove nothing."""
    places = [question for group in reading.groups for question in group["questions"]]
    deciding = set(reading.with_role("red_flag") + reading.with_role("sign"))
    return [question for question in reading.answers if places.count(question) != (question in deciding)]


def steps_that_lower_a_level(reading: Reading) -> list[tuple[str, str, str]]:
    """Stage 1 of monotony: neighbouring answers of which the worse gives a lower level."""
    found = []
    for group in reading.groups:
        level = {tuple(state.values()): reading.level(group, state) for state in reading.states_of(group)}
        for place, question in enumerate(group["questions"]):
            for better, worse in reading.steps(question):
                lower = any(
                    level[(*state[:place], worse, *state[place + 1 :])] < rank
                    for state, rank in level.items()
                    if state[place] == better
                )
                found += [(question, better, worse)] if lower else []
    return found


def levels_that_lower_an_outcome(reading: Reading) -> list[str]:
    """Stage 2 of monotony: groups whose next worse level ever lowers urgency or loosens contact."""
    found = []
    for group in reading.groups:
        for milder, worse in pairwise(reading.runs_at(group, rank) for rank in range(len(group["levels"]))):
            for values in (reading.outcomes.urgencies, reading.outcomes.contacts):
                if any(any(map(gt, values[a], values[b])) for a, b in zip(milder, worse, strict=True)):
                    found.append(group["id"])
    return found


def least_after(reading: Reading, question: str, answer: str) -> tuple[int, int]:
    """The mildest outcome over every state in which a question has this answer."""
    group = reading.group_of(question)
    rank = min(reading.level(group, state) for state in reading.states_of(group) if state[question] == answer)
    return reading.least(group, rank)


def red_flags_under_their_floor(reading: Reading) -> list[str]:
    """Red flags whose yes can end milder than their floor, or that have no floor."""
    found = []
    for question in reading.with_role("red_flag"):
        urgency, contact = least_after(reading, question, "yes")
        wanted = FLOORS.get(question, (EMERGENCY + 1, STOP + 1))
        found += [question] if urgency < wanted[0] or contact < wanted[1] else []
    return found


def red_flags_that_reassure_when_missing(reading: Reading) -> list[str]:
    """Red flags that, not sure or left out, can end in self-care."""
    return [
        question
        for question in reading.with_role("red_flag")
        if least_after(reading, question, "not_sure")[0] == SELF_CARE
    ]


def rules_that_change_nothing(reading: Reading) -> list[str]:
    """Rules that never hold, or without which every state has the same outcome."""
    sets = set(reading.holding)
    return [
        rule["id"]
        for place, rule in enumerate(reading.rules)
        if all(
            reading.outcome(holding) == reading.outcome(holding, without=place)
            for holding in sets
            if holding >> place & 1
        )
    ]


def levels_never_reached_or_never_used(reading: Reading) -> list[str]:
    """Levels no combination of answers reaches, or that no rule tells from the level below."""
    found = []
    for group in reading.groups:
        reached = {reading.level(group, state) for state in reading.states_of(group)}
        used = {0} | {
            group["levels"].index(rule["when"][group["id"]])
            for rule in reading.rules
            if group["id"] in rule["when"]
        }
        found += [
            f"{group['id']}.{name}" for rank, name in enumerate(group["levels"]) if rank not in reached & used
        ]
    return found


def clauses_that_change_nothing(reading: Reading) -> list[str]:
    """Clauses without which every combination of answers has the same level."""
    found = []
    for group in reading.groups:
        for place, clause in enumerate(group["level"]):
            fewer = {**group, "level": group["level"][:place] + group["level"][place + 1 :]}
            if all(reading.level(group, s) == reading.level(fewer, s) for s in reading.states_of(group)):
                found.append(f"{group['id']}.{clause['name']}")
    return found


def answers_that_need_colour(reading: Reading, colour: str) -> list[str]:
    """Levels reached only when colour is answered yes; and any group that reads how the skin looks."""
    found = [
        question for group in reading.groups for question in group["questions"] if question == "colour_change"
    ]
    for group in reading.groups:
        states = list(reading.states_of(group))
        blind = [state for state in states if state.get("growing_redness", colour) == colour]
        worst = {reading.level(group, state) for state in states} - {0}
        found += [
            f"{group['id']}.{group['levels'][rank]}"
            for rank in worst - {reading.level(group, state) for state in blind}
        ]
    return found


CHECKS: dict[str, Callable[[Reading], list[Any]]] = {
    "no question stands in two groups": questions_shared,
    "a worse answer never lowers a level": steps_that_lower_a_level,
    "a worse level never lowers urgency nor loosens contact": levels_that_lower_an_outcome,
    "a red flag reaches its floor in every state": red_flags_under_their_floor,
    "a red flag not answered never ends in self-care": red_flags_that_reassure_when_missing,
    "no rule is dead or subsumed": rules_that_change_nothing,
    "no level is dead": levels_never_reached_or_never_used,
    "no clause is dead or subsumed": clauses_that_change_nothing,
    "every level is reached with colour answered no": lambda reading: answers_that_need_colour(reading, "no"),
    "every level is reached with colour not sure": lambda reading: answers_that_need_colour(
        reading, "not_sure"
    ),
}

READING = Reading(shipped())


@pytest.fixture(scope="module")
def book() -> Book:
    return load()


def with_rules(book: Book, raw: Raw) -> Book:
    """A book in which only the triage table differs."""
    table = TypeAdapter(DecisionTable).validate_python(
        {key: raw[key] for key in ("question", "group", "rule")}
    )
    return replace(book, tables={**book.tables, "triage": table})


def random_answers(draw: random.Random) -> dict[str, str]:
    """A check in any state, some questions left out."""
    return {name: draw.choice(answers) for name, answers in READING.answers.items() if draw.random() < 0.9}


# The software reads the rules as this proof does


def test_every_combination_of_answers_in_a_group_is_read_as_the_rule_file_says(book: Book) -> None:
    for group, levelled in zip(READING.groups, triage_table(book).groups, strict=True):
        expected = [READING.level(group, state) for state in READING.states_of(group)]
        assert list(levelled.level_of) == expected, group["id"]


def test_every_combination_of_levels_makes_hold_the_rules_the_file_says(book: Book) -> None:
    table = triage_table(book)
    for levels, expected in zip(
        product(*(range(size) for size in READING.sizes)), READING.holding, strict=True
    ):
        assert table.rules_that_hold(levels) == expected, levels


def test_a_check_comes_to_the_outcome_and_the_reasons_the_file_says(book: Book) -> None:
    draw = random.Random(1)
    for _ in range(1000):
        answers = random_answers(draw)
        held = rules_holding({name: answers.get(name, "not_sure") for name in READING.answers})
        triage = sort_check(answers, book)
        assert (triage.urgency, triage.patient_contact) == outcome_of(held)
        told = [rule["id"] for rule in held if not any(outdone(rule, other) for other in held)]
        assert {reason.rule_id for reason in triage.reasons} == set(told)
        assert outcome_of([rule for rule in held if rule["id"] in told]) == outcome_of(held)


def rules_holding(state: dict[str, str]) -> list[Raw]:
    levels = {group["id"]: READING.level(group, state) for group in READING.groups}
    return [
        rule
        for rule in READING.rules
        if all(levels[group] >= rank_of(group, level) for group, level in rule["when"].items())
    ]


def rank_of(group_id: str, level: str) -> int:
    return group(READING.raw, group_id)["levels"].index(level)


def outcome_of(rules: list[Raw]) -> tuple[int, int]:
    return (
        max((URGENCIES.index(rule.get("urgency", "self_care")) for rule in rules), default=SELF_CARE),
        max((CONTACTS.index(rule.get("patient_contact", "continue")) for rule in rules), default=CONTINUE),
    )


def outdone(rule: Raw, other: Raw) -> bool:
    """Whether another rule says no less of a worse level, so that this one is not worth telling."""
    urgency, contact = outcome_of([rule])
    other_urgency, other_contact = outcome_of([other])
    shared = set(other["when"]) & set(rule["when"])
    steps = [rank_of(name, other["when"][name]) - rank_of(name, rule["when"][name]) for name in shared]
    return (
        len(shared) == len(other["when"])
        and min(steps) >= 0
        and max(steps) > 0
        and (other_urgency >= urgency and other_contact >= contact)
    )


# Every state


@pytest.mark.parametrize("check", CHECKS.values(), ids=CHECKS.keys())
def test_in_every_state(check: Callable[[Reading], list[Any]]) -> None:
    assert check(READING) == []


def test_every_combination_of_levels_has_one_outcome_and_every_outcome_is_reached() -> None:
    assert len(READING.outcomes.urgencies) == len(READING.outcomes.contacts) == prod(READING.sizes)
    assert set(READING.outcomes.urgencies) == set(range(len(URGENCIES)))
    assert set(READING.outcomes.contacts) == set(range(len(CONTACTS)))


def test_every_combination_of_answers_within_a_group_is_sorted(book: Book) -> None:
    """The whole way through the software, with everything outside the group answered at its best."""
    best = {name: answers[0] for name, answers in READING.answers.items()}
    for group in READING.groups:
        for state in READING.states_of(group):
            assert isinstance(sort_check({**best, **state}, book), Triage)


def test_every_question_that_may_decide_does_decide_somewhere(book: Book) -> None:
    """Answered at its worst, each changes a check that is otherwise at its best but for one answer."""
    best = {name: answers[0] for name, answers in READING.answers.items()}
    others: list[dict[str, str]] = [{}, {"cracks": "yes"}, {"swelling": "yes"}, {"fever": "yes"}]
    for question in READING.with_role("red_flag") + READING.with_role("sign"):
        worst = READING.answers[question][-2 if READING.is_choice(question) else -1]
        assert any(
            shape(sort_check({**best, **other}, book))
            != shape(sort_check({**best, **other, question: worst}, book))
            for other in others
            if question not in other
        ), question


def shape(triage: Triage) -> tuple[int, int]:
    return triage.urgency, triage.patient_contact


# Colour


def test_colour_change_never_changes_anything(book: Book) -> None:
    draw = random.Random(2)
    for _ in range(500):
        answers = random_answers(draw)
        results = [
            sort_check({**answers, "colour_change": answer}, book) for answer in ("no", "not_sure", "yes")
        ]
        assert results[0] == results[1] == results[2]


@pytest.mark.parametrize("colour", ["no", "not_sure"])
def test_every_rule_is_still_a_reason_somewhere_when_colour_cannot_be_seen(book: Book, colour: str) -> None:
    """Each rule is told as a reason without colour, through the whole of the software."""
    best = {name: answers[0] for name, answers in READING.answers.items()}
    blind = {"growing_redness": colour, "colour_change": colour}
    for rule in READING.rules:
        answers = {**best, **blind}
        for group in READING.groups:
            if group["id"] in rule["when"]:
                answers |= blind_state(group, group["levels"].index(rule["when"][group["id"]]), colour)
        assert rule["id"] in {reason.rule_id for reason in sort_check(answers, book).reasons}, rule["id"]


def blind_state(group: Raw, rank: int, colour: str) -> dict[str, str]:
    """Answers, with colour as given, that bring a group to this very level."""
    return next(
        state
        for state in READING.states_of(group)
        if state.get("growing_redness", colour) == colour and READING.level(group, state) == rank
    )


def test_feeling_is_asked_before_colour_and_colour_last() -> None:
    order = list(READING.answers)
    page = [question["id"] for question in READING.raw["question"] if question["page"] == "worse"]
    assert page[0] == "growing_heat"
    assert page[-1] == "growing_redness"
    feel = [question["id"] for question in READING.raw["question"] if question["page"] == "feel"]
    assert feel[-1] == "colour_change"
    assert order.index("growing_redness") < order.index("colour_change")


# Missing answers


def test_an_empty_check_does_not_reassure(book: Book) -> None:
    triage = sort_check({}, book)
    assert triage.urgency >= PROMPT
    assert triage.patient_contact >= ADJUST


def test_leaving_a_question_out_is_the_same_as_not_sure(book: Book) -> None:
    draw = random.Random(3)
    for _ in range(500):
        answers = random_answers(draw)
        filled = {name: answers.get(name, "not_sure") for name in READING.answers}
        assert sort_check(answers, book) == sort_check(filled, book)


def test_no_deciding_question_can_be_left_out_of_a_clean_check_and_end_in_self_care(book: Book) -> None:
    """Stronger than asked: so for signs that are not red flags too, save who is touched, which only adds."""
    best = {name: answers[0] for name, answers in READING.answers.items()}
    assert sort_check(best, book).urgency == SELF_CARE
    reassured = [
        question
        for question in READING.with_role("red_flag") + READING.with_role("sign")
        if sort_check({name: a for name, a in best.items() if name != question}, book).urgency == SELF_CARE
    ]
    assert reassured == ["patients"]


# Order and irrelevance


def test_the_order_of_answers_does_not_matter(book: Book) -> None:
    draw = random.Random(4)
    for _ in range(500):
        answers = random_answers(draw)
        shuffled = draw.sample(sorted(answers.items()), len(answers))
        assert sort_check(dict(shuffled), book) == sort_check(answers, book)


def test_the_order_of_rules_groups_and_clauses_does_not_matter(book: Book) -> None:
    raw = shipped()
    raw["rule"].reverse()
    raw["group"].reverse()
    for group in raw["group"]:
        group["level"].reverse()
        group["questions"].reverse()
    turned = with_rules(book, raw)
    draw = random.Random(5)
    for _ in range(2000):
        answers = random_answers(draw)
        assert sort_check(answers, turned) == sort_check(answers, book)


@pytest.mark.parametrize("fact", ["name", "sex", "age", "ward", "job", "language", "skin_tone", "pregnant"])
def test_nothing_about_the_person_can_enter(book: Book, fact: str) -> None:
    with pytest.raises(UnknownQuestion, match=fact):
        sort_check({fact: "yes"}, book)


# The checks notice. Each entry breaks the rules in one way and names the check that must see it.


def share_a_question(raw: Raw) -> None:
    group(raw, "sores")["questions"].append("fever")


def let_unknown_be_worse_than_yes(raw: Raw) -> None:
    clause(raw, "sores", "present")["any_unknown"] = clause(raw, "sores", "present").pop("any_yes")


def turn_levels_round(raw: Raw) -> None:
    group(raw, "duration")["level"][0]["choice_in"]["how_long"] = ["under_week"]


def drop_a_rule(name: str) -> Callable[[Raw], None]:
    def change(raw: Raw) -> None:
        raw["rule"] = [rule for rule in raw["rule"] if rule["id"] != name]

    return change


def forget_heat(raw: Raw) -> None:
    clause(raw, "infection", "signs")["any_yes"].remove("growing_heat")


def forget_unknown_fever(raw: Raw) -> None:
    clause(raw, "illness", "unknown")["any_unknown"].remove("fever")


def add_a_subsumed_rule(raw: Raw) -> None:
    raw["rule"].append({"id": "extra", "when": {"airway": "present"}, "urgency": "prompt"})


def add_a_level_no_rule_uses(raw: Raw) -> None:
    group(raw, "night")["levels"].append("every_night")
    group(raw, "night")["level"].append({"name": "every_night", "any_yes": ["night_itch_contacts"]})


def add_a_subsumed_clause(raw: Raw) -> None:
    group(raw, "infection")["level"].append({"name": "signs", "all_yes": ["pus", "growing_heat"]})


def need_colour_to_be_spreading(raw: Raw) -> None:
    clause(raw, "infection", "spreading")["any_yes"] = ["growing_redness"]


def use_colour_change(raw: Raw) -> None:
    group(raw, "irritation")["questions"].append("colour_change")


def group(raw: Raw, name: str) -> Raw:
    return next(group for group in raw["group"] if group["id"] == name)


def clause(raw: Raw, group_id: str, level: str) -> Raw:
    return next(clause for clause in group(raw, group_id)["level"] if clause["name"] == level)


BREAKS = [
    (share_a_question, "no question stands in two groups"),
    (let_unknown_be_worse_than_yes, "a worse answer never lowers a level"),
    (turn_levels_round, "a worse answer never lowers a level"),
    (forget_heat, "a red flag reaches its floor in every state"),
    (drop_a_rule("triage.airway"), "a red flag reaches its floor in every state"),
    (drop_a_rule("triage.sores"), "a red flag reaches its floor in every state"),
    (drop_a_rule("triage.immediate-unknown"), "a red flag not answered never ends in self-care"),
    (forget_unknown_fever, "a red flag not answered never ends in self-care"),
    (add_a_subsumed_rule, "no rule is dead or subsumed"),
    (add_a_level_no_rule_uses, "no level is dead"),
    (drop_a_rule("triage.night"), "no level is dead"),
    (add_a_subsumed_clause, "no clause is dead or subsumed"),
    (need_colour_to_be_spreading, "every level is reached with colour answered no"),
    (need_colour_to_be_spreading, "every level is reached with colour not sure"),
    (use_colour_change, "every level is reached with colour answered no"),
]


@pytest.mark.slow
@pytest.mark.parametrize(("change", "check"), BREAKS)
def test_a_broken_table_is_noticed(change: Callable[[Raw], None], check: str) -> None:
    raw = deepcopy(READING.raw)
    change(raw)
    assert CHECKS[check](Reading(raw)) != []


def test_an_outcome_that_falls_as_a_level_rises_is_noticed() -> None:
    """Rules of this form can't do it, for they only raise; so the outcomes themselves are tampered with."""
    reading = Reading(deepcopy(READING.raw))
    reading.outcomes.contacts[-1] = CONTINUE
    assert levels_that_lower_an_outcome(reading) != []
