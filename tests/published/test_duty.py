"""The duty search against brute force: every allocation of 300 small random searches, tried one by one.

The comparison shares no code with the search: it walks through all ways to staff each task.
"""

import random
from dataclasses import replace
from datetime import date
from decimal import Decimal
from itertools import combinations, product

import pytest

from thenar.exposure.duty import find_duties
from thenar.exposure.duty_plan import DutyPlan
from thenar.exposure.duty_terms import (
    Assignment,
    Bound,
    Ceiling,
    Duties,
    Limits,
    Load,
    Most,
    Part,
    Person,
    Shift,
    Task,
    Within,
)

pytestmark = pytest.mark.slow

ADDED_UP = "wet_and_glove_minutes"
MEASURES = ("washes", "wet_minutes", "glove_minutes", "pairs", ADDED_UP)
SHIFTS = (Shift(0, Part.EARLY), Shift(0, Part.NIGHT), Shift(1, Part.LATE))
ROLES = ("carer", "nurse")
PERSON, WASH, PAIR, MINUTE = 100, 10, 10, 1  # what giving way weighs; over someone's own limits, twice that
WEIGHT = {"washes": WASH, "wet_minutes": MINUTE, "glove_minutes": MINUTE, "pairs": PAIR, ADDED_UP: MINUTE}
INSTANCES = 300
BATCHES = 10


def random_duties(seed):
    draw = random.Random(seed)
    shifts = SHIFTS[: draw.choice((1, 1, 2))]
    team = tuple(
        Person(
            f"P{number}",
            frozenset(draw.sample(ROLES, draw.choice((1, 2)))),
            frozenset(shift for shift in shifts if draw.random() < 0.9),
        )
        for number in range(draw.randint(2, 4))
    )
    tasks = tuple(
        random_task(f"T{number}", draw.choice(shifts), team, draw) for number in range(draw.randint(1, 4))
    )
    limited = draw.sample(team, draw.choice((1, 1, 2)))
    whole_time = draw.random() < 0.3
    return Duties(
        first_day=date(2026, 11, 30),
        tasks=tasks,
        team=team,
        limits=tuple(random_limits(person.id, whole_time, draw) for person in limited),
        ceiling=Ceiling(
            "the ceiling",
            washes=Bound(Decimal(draw.randint(8, 14)), draw.choice(list(Within))),
            wet_minutes=draw.choice((None, Bound(Decimal("45.5"), Within.BELOW))),
            pairs=draw.choice((None, Bound(Decimal(6), Within.AT_MOST))),
            wet_and_glove_minutes=draw.choice((None, Bound(Decimal(50), draw.choice(list(Within))))),
        ),
        current=random_current(tasks, team, draw),
        most_tasks=draw.choice((None, None, 2)),
    )


def random_task(name, shift, team, draw):
    load = Load(
        washes=draw.randint(0, 6),
        wet_minutes=draw.choice((0, 10, 25)),
        glove_minutes=draw.choice((0, 15)),
        pairs=draw.randint(0, 3),
        soap=draw.random() < 0.3,
        latex=draw.random() < 0.2,
        patient_contact=draw.random() < 0.5,
    )
    someone = draw.choice(team)
    who_can = draw.choice(
        (frozenset(someone.can), frozenset({someone.id, draw.choice(ROLES)}), frozenset(ROLES))
    )
    return Task(name, f"Task {name}", shift, load, draw.choice((1, 1, 2)), who_can)


def random_limits(person, whole_time, draw):
    return Limits(
        person,
        a_shift=Most(
            washes=draw.randint(2, 8),
            glove_minutes=draw.choice((None, 20)),
            wet_and_glove_minutes=draw.choice((None, None, 30)),
        ),
        whole_time=Most(washes=draw.randint(3, 9), wet_and_glove_minutes=draw.choice((None, 40)))
        if whole_time
        else Most(),
        no_soap=draw.random() < 0.3,
        no_latex=draw.random() < 0.2,
        no_patient_contact=draw.random() < 0.2,
    )


def random_current(tasks, team, draw):
    if draw.random() < 0.2:
        return None
    current = []
    for task in tasks:
        can = [person.id for person in team if has_role(person, task) and task.shift in person.works]
        number = task.people_needed + draw.choice((-1, 0, 0, 0, 1))
        chosen = draw.sample(can, max(0, min(number, len(can))))
        current += [Assignment(person, task.id) for person in chosen]
    return tuple(current)


def has_role(person, task):
    return bool((person.can | {person.id}) & task.who_can)


def load_of(task, measure):
    load = task.load
    return load.wet_minutes + load.glove_minutes if measure == ADDED_UP else getattr(load, measure)


class Tried:
    """A search as the enumerator sees it, with some people more."""

    def __init__(self, duties, more=0, shift=None):
        self.duties = duties
        self.limits = {limits.person: limits for limits in duties.limits}
        self.now = {(duty.person, duty.task) for duty in duties.current or ()}
        added = [Person(f"+{place}", frozenset(ROLES) | {"*"}, frozenset({shift})) for place in range(more)]
        self.team = [*duties.team, *added]
        self.staffing = [self.ways_to_staff(task) for task in duties.tasks]

    def ways_to_staff(self, task):
        able = [person.id for person in self.team if task.shift in person.works and self.may(person, task)]
        now = sum(1 for _, name in self.now if name == task.id)
        return [
            people
            for number in range(task.people_needed, max(task.people_needed, now) + 1)
            for people in combinations(able, number)
        ]

    def may(self, person, task):
        limits = self.limits.get(person.id, Limits(person.id))
        load = task.load
        forbidden = [
            limits.no_soap and load.soap,
            limits.no_latex and load.latex,
            limits.no_patient_contact and load.patient_contact,
        ]
        return ("*" in person.can or has_role(person, task)) and not any(forbidden)

    def allocations(self):
        for choice in product(*self.staffing):
            yield {
                (person, task.id)
                for task, people in zip(self.duties.tasks, choice, strict=True)
                for person in people
            }

    def carried(self, allocation, person, shift, measure):
        return sum(
            load_of(task, measure)
            for task in self.duties.tasks
            if (person, task.id) in allocation and (shift is None or task.shift == shift)
        )

    def tasks_done(self, allocation, person, shift):
        return sum(1 for task in self.duties.tasks if task.shift == shift and (person, task.id) in allocation)

    def too_many_tasks(self, allocation):
        most = self.duties.most_tasks
        return most is not None and any(
            self.tasks_done(allocation, person.id, shift)
            > max(most, self.tasks_done(self.now, person.id, shift))
            for person in self.team
            for shift in person.works
        )

    def weight_over(self, allocation):
        """What all overruns of an allocation weigh; 0 if every bound is kept."""
        weight = 0
        for person in self.team:
            limits = self.limits.get(person.id, Limits(person.id))
            for measure in MEASURES:
                for shift in person.works:
                    amount = self.carried(allocation, person.id, shift, measure)
                    most, times = self.bound(person.id, limits, shift, measure)
                    weight += max(0, amount - most) * times * WEIGHT[measure]
                whole = getattr(limits.whole_time, measure)
                if whole is not None:
                    amount = self.carried(allocation, person.id, None, measure)
                    weight += max(0, amount - whole) * 2 * WEIGHT[measure]
        return weight

    def bound(self, person, limits, shift, measure):
        """The tighter of ceiling (or what is carried now, if more) and own limit, and how it counts."""
        bounds = [(10**9, 1)]
        if (own := getattr(limits.a_shift, measure)) is not None:
            bounds.append((own, 2))
        ceiling = getattr(self.duties.ceiling, measure)
        if ceiling is not None:
            now = self.carried(self.now, person, shift, measure)
            within = [
                amount
                for amount in range(60)
                if amount < ceiling.amount or (ceiling.within == "at most" and amount == ceiling.amount)
            ]
            bounds.append((max(*within, now), 1))
        return min(bounds, key=lambda bound: bound[0])

    def changes(self, allocation):
        """Hand-overs: in each task the larger of how many join and how many leave."""
        if self.duties.current is None:
            return 0
        joins, leaves = allocation - self.now, self.now - allocation
        return sum(
            max(sum(name == task.id for _, name in joins), sum(name == task.id for _, name in leaves))
            for task in self.duties.tasks
        )

    def unevenness(self, allocation):
        """The heaviest share of the ceiling of any colleague, added over shifts."""
        total = 0.0
        for shift in {task.shift for task in self.duties.tasks}:
            total += max(
                (
                    self.carried(allocation, person.id, shift, measure) / float(ceiling.amount)
                    for person in self.team
                    if person.id not in self.limits
                    for measure in MEASURES
                    if (ceiling := getattr(self.duties.ceiling, measure)) is not None
                ),
                default=0.0,
            )
        return total


def best_by_brute_force(duties):
    """The fewest changes and then the most even load of all allocations that keep every bound, or None."""
    tried = Tried(duties)
    return min(
        (
            (tried.changes(allocation), round(tried.unevenness(allocation), 9))
            for allocation in tried.allocations()
            if not tried.too_many_tasks(allocation) and tried.weight_over(allocation) == 0
        ),
        default=None,
    )


def without_the_sum(duties):
    """The same search with nothing asked of wet and glove minutes added up."""
    return replace(
        duties,
        ceiling=replace(duties.ceiling, wet_and_glove_minutes=None),
        limits=tuple(
            replace(
                each,
                a_shift=replace(each.a_shift, wet_and_glove_minutes=None),
                whole_time=replace(each.whole_time, wet_and_glove_minutes=None),
            )
            for each in duties.limits
        ),
    )


def least_weight_by_brute_force(duties, more, overruns):
    """The least that giving way can weigh with up to `more` people in a search of one shift, or None."""
    weights = []
    for people in range(more + 1):
        tried = Tried(duties, people, duties.tasks[0].shift)
        for allocation in tried.allocations():
            weight = 0 if tried.too_many_tasks(allocation) else tried.weight_over(allocation)
            if not tried.too_many_tasks(allocation) and (overruns or weight == 0):
                weights.append(people * PERSON + weight)
    return min(weights, default=None)


@pytest.mark.parametrize("batch", range(BATCHES))
def test_plans_are_as_good_as_the_best_of_all_allocations(batch):
    planned = decided_by_the_sum = 0
    for seed in range(batch, INSTANCES, BATCHES):
        duties = random_duties(seed)
        best = best_by_brute_force(duties)
        decided_by_the_sum += best != best_by_brute_force(without_the_sum(duties))
        answer = find_duties(duties, gap=0.0)
        assert isinstance(answer, DutyPlan) == (best is not None), seed
        if best is not None:
            planned += 1
            assert len(answer.changes) == best[0], seed
            assert answer.even_load.value == pytest.approx(best[1], abs=1e-6), seed
            assert answer.fewest_changes.gap == 0, seed
            chosen = {(duty.person, duty.task) for duty in answer.assignments}
            assert chosen in list(Tried(duties).allocations()), seed
            assert Tried(duties).weight_over(chosen) == 0, seed
            assert not Tried(duties).too_many_tasks(chosen), seed
    assert 5 <= planned <= 25  # both kinds of answer were met, of 30
    assert decided_by_the_sum  # and wet and glove minutes added up mattered


def one_shift_without_a_plan():
    """Small searches in one shift that have no plan."""
    found = 0
    for seed in range(10_000, 20_000):
        duties = random_duties(seed)
        people = sum(task.people_needed for task in duties.tasks)
        if len({task.shift for task in duties.tasks}) == 1 and people <= 4 and len(duties.team) <= 3:
            answer = find_duties(duties, gap=0.0)
            if not isinstance(answer, DutyPlan):
                found += 1
                yield seed, duties, answer, people
        if found == 25:
            return


def test_ways_out_are_the_least_of_all_ways():
    mixes = 0
    for seed, duties, answer, people in one_shift_without_a_plan():
        only_people = least_weight_by_brute_force(duties, people, overruns=False)
        only_overruns = least_weight_by_brute_force(duties, 0, overruns=True)
        least = least_weight_by_brute_force(duties, people, overruns=True)
        costs = [way.cost for way in answer.ways_out]
        assert [way.cost_at_least for way in answer.ways_out] == pytest.approx(costs), seed
        alone = [cost for cost in (only_people, only_overruns) if cost is not None]
        mixed = [] if least in alone else [least]
        mixes += len(mixed)
        assert costs == sorted([*alone, *mixed]), seed
    assert mixes
