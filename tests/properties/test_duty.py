"""What holds for every duty search that can be made, whatever the answer."""

from collections import Counter
from dataclasses import replace
from datetime import date
from decimal import Decimal

from hypothesis import given, settings
from hypothesis import strategies as st

from thenar.documents.clinical_words import clinical_words_in
from thenar.exposure.duty import find_duties
from thenar.exposure.duty_plan import DutyPlan
from thenar.exposure.duty_terms import (
    Assignment,
    Bound,
    Ceiling,
    Duties,
    Limits,
    Load,
    Measure,
    Most,
    Part,
    Person,
    Shift,
    Task,
    Within,
)
from thenar.exposure.duty_words import say_no_plan, say_plan

SHIFTS = (Shift(0, Part.EARLY), Shift(0, Part.LATE), Shift(8, Part.NIGHT))
TEAM = ("Ash", "Birch", "Cedar", "Elm")
ROLES = ("carer", "nurse")

some_roles = st.frozensets(st.sampled_from(ROLES), min_size=1)
loads = st.builds(
    Load,
    washes=st.integers(0, 8),
    wet_minutes=st.integers(0, 40),
    glove_minutes=st.integers(0, 40),
    pairs=st.integers(0, 4),
    soap=st.booleans(),
    latex=st.booleans(),
    patient_contact=st.booleans(),
)
mosts = st.builds(
    Most,
    washes=st.none() | st.integers(0, 12),
    wet_minutes=st.none() | st.integers(0, 60),
    glove_minutes=st.none() | st.integers(0, 60),
    wet_and_glove_minutes=st.none() | st.integers(0, 90),
)


@st.composite
def searches(draw):
    """A team of four with every role between them, up to five tasks, and one or two people with limits."""
    team = tuple(
        Person(
            name,
            draw(some_roles) | ({*ROLES} if name == "Ash" else set()),
            frozenset(draw(st.sets(st.sampled_from(SHIFTS)))),
        )
        for name in TEAM
    )
    tasks = tuple(
        Task(f"task {number}", f"Task {number}", draw(st.sampled_from(SHIFTS)), load, people, who)
        for number, (load, people, who) in enumerate(
            draw(st.lists(st.tuples(loads, st.integers(1, 2), some_roles), min_size=1, max_size=5))
        )
    )
    limits = tuple(
        Limits(name, draw(mosts), draw(st.just(Most()) | mosts), draw(st.booleans()), draw(st.booleans()))
        for name in draw(st.sets(st.sampled_from(TEAM), min_size=1, max_size=2))
    )
    ceiling = Ceiling(
        "the ceiling",
        washes=Bound(Decimal(draw(st.integers(1, 15))), draw(st.sampled_from(Within))),
        wet_minutes=draw(st.none() | st.just(Bound(Decimal("62.5"), Within.BELOW))),
        wet_and_glove_minutes=draw(st.none() | st.just(Bound(Decimal(80), Within.BELOW))),
    )
    possible = [
        Assignment(person.id, task.id)
        for task in tasks
        for person in team
        if task.shift in person.works and person.can_do(task)
    ]
    now = st.none() | st.lists(st.sampled_from(possible), unique=True).map(tuple) if possible else st.none()
    return Duties(date(2026, 11, 30), tasks, team, limits, ceiling, draw(now))


def load_of(load, measure):
    if measure is Measure.WET_AND_GLOVE_MINUTES:
        return load.wet_minutes + load.glove_minutes
    return getattr(load, measure)


def carried(assignments, duties, person, shift, measure):
    tasks = {task.id: task for task in duties.tasks}
    return sum(
        load_of(tasks[duty.task].load, measure)
        for duty in assignments
        if duty.person == person and shift in (None, tasks[duty.task].shift)
    )


def assert_covered(assignments, duties):
    """Every task has its people, all different, at work and with the role, and none on forbidden tasks."""
    team = {person.id: person for person in duties.team}
    limits = {each.person: each for each in duties.limits}
    assert len(set(assignments)) == len(assignments)
    staffed = Counter(duty.task for duty in assignments)
    now = Counter(duty.task for duty in duties.current or ())
    for task in duties.tasks:
        assert task.people_needed <= staffed[task.id] <= max(task.people_needed, now[task.id])
        for duty in assignments:
            if duty.task == task.id and duty.person in team:
                assert task.shift in team[duty.person].works
                assert team[duty.person].can_do(task)
                assert not (duty.person in limits and limits[duty.person].forbid(task.load))


def assert_kept(assignments, duties):
    """Own limits are kept; nobody passes the ceiling, or gets more of what they are over already."""
    for limits in duties.limits:
        for measure in Measure:
            whole = limits.whole_time.of(measure)
            assert whole is None or carried(assignments, duties, limits.person, None, measure) <= whole
            for shift in SHIFTS:
                most = limits.a_shift.of(measure)
                assert most is None or carried(assignments, duties, limits.person, shift, measure) <= most
    for person in duties.team:
        for shift in SHIFTS:
            for measure in Measure:
                bound = duties.ceiling.of(measure)
                amount = carried(assignments, duties, person.id, shift, measure)
                if bound is None or amount < bound.amount:
                    continue
                if amount == bound.amount and bound.within is Within.AT_MOST:
                    continue
                assert amount <= carried(duties.current or (), duties, person.id, shift, measure)


@settings(max_examples=60, deadline=None)
@given(searches())
def test_a_plan_covers_every_task_and_keeps_every_bound(duties):
    answer = find_duties(duties)
    if isinstance(answer, DutyPlan):
        assert_covered(answer.assignments, duties)
        assert_kept(answer.assignments, duties)
        assert clinical_words_in(" ".join(say_plan(answer, duties))) == ()


@settings(max_examples=60, deadline=None)
@given(searches())
def test_where_there_is_no_plan_there_is_always_a_way_out_that_covers_every_task(duties):
    answer = find_duties(duties)
    if not isinstance(answer, DutyPlan):
        assert answer.ways_out
        for way in answer.ways_out:
            assert_covered(way.assignments, duties)
            assert way.more_people or way.overruns
            assert way.cost > 0
        assert clinical_words_in(" ".join(say_no_plan(answer, duties))) == ()


@settings(max_examples=60, deadline=None)
@given(searches())
def test_a_limit_on_the_sum_only_makes_plans_harder_and_keeps_each_part_below_it(duties):
    free = replace(
        duties,
        limits=tuple(replace(each, a_shift=Most(), whole_time=Most()) for each in duties.limits),
        ceiling=replace(duties.ceiling, wet_and_glove_minutes=None),
        current=None,
    )
    bound = Bound(Decimal(60), Within.AT_MOST)
    summed = replace(free, ceiling=replace(free.ceiling, wet_and_glove_minutes=bound))
    answer = find_duties(summed)
    if isinstance(answer, DutyPlan):
        assert isinstance(find_duties(free), DutyPlan)
        for load in answer.loads:
            carries = load.carries
            assert carries.wet_and_glove_minutes == carries.wet_minutes + carries.glove_minutes <= 60


@settings(max_examples=40, deadline=None)
@given(searches())
def test_a_plan_taken_as_current_needs_no_further_change(duties):
    answer = find_duties(duties)
    if isinstance(answer, DutyPlan):
        again = find_duties(replace(duties, current=answer.assignments))
        assert isinstance(again, DutyPlan)
        assert again.changes == ()
        assert set(again.assignments) == set(answer.assignments)


@settings(max_examples=40, deadline=None)
@given(searches(), st.randoms(use_true_random=False))
def test_the_order_of_what_is_given_changes_nothing(duties, draw):
    def shuffled(entries):
        return tuple(draw.sample(entries, len(entries)))

    turned = replace(
        duties,
        tasks=shuffled(duties.tasks),
        team=shuffled(duties.team),
        limits=shuffled(duties.limits),
        current=None if duties.current is None else shuffled(duties.current),
    )
    assert find_duties(turned) == find_duties(duties)
