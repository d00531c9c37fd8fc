"""What the duty search promises in small cases worked by hand."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from thenar.documents.clinical_words import clinical_words_in
from thenar.errors import BadInput
from thenar.exposure.duty import find_duties
from thenar.exposure.duty_bounds import AlreadyOver, Because
from thenar.exposure.duty_plan import Change, DutyPlan, MorePeople, NoPlan, Overrun, Relaxation
from thenar.exposure.duty_programme import OutOfTime
from thenar.exposure.duty_refusals import (
    CeilingWithoutNumber,
    EffortOutOfRange,
    ImpossibleNow,
    NobodyCan,
    NothingGiven,
    NumberOutOfRange,
    SameIdTwice,
    UnknownId,
)
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
from thenar.exposure.duty_words import say_no_plan, say_plan, say_way_out

MONDAY, TUESDAY, THURSDAY = (Shift(day, Part.EARLY) for day in (0, 1, 3))
CARER = frozenset({"carer"})
UNDER_15_WASHES = Ceiling("fifteen washes", washes=Bound(Decimal(15), Within.BELOW))


def task(name, shift=MONDAY, people=1, who=CARER, **load):
    return Task(name, name.capitalize(), shift, Load(**load), people, who)


def person(name, *shifts, can=CARER):
    return Person(name, can, frozenset(shifts or (MONDAY,)))


def search(tasks, team, limits, current=(), *, most_tasks=None):
    """A search from Monday 30 November 2026 on; `current` as "person task", None for nothing allocated."""
    now = None if current is None else tuple(Assignment(*words.split()) for words in current)
    return Duties(
        date(2026, 11, 30), tuple(tasks), tuple(team), tuple(limits), UNDER_15_WASHES, now, most_tasks
    )


def five_washes(who="A"):
    return Limits(who, a_shift=Most(washes=5))


BATHS, MEALS, ROUNDS = task("baths", washes=6), task("meals", washes=3), task("rounds", washes=2)
SMALL = search([BATHS, MEALS], [person("A"), person("B")], [five_washes()], ["A baths", "B meals"])


def plan_for(duties):
    plan = find_duties(duties, gap=0.0)
    assert isinstance(plan, DutyPlan)
    return plan


def no_plan_for(duties):
    answer = find_duties(duties, gap=0.0)
    assert isinstance(answer, NoPlan)
    return answer


def pairs(assignments):
    return {f"{duty.person} {duty.task}" for duty in assignments}


def test_a_task_over_the_limit_is_handed_to_a_colleague():
    # A may wash 5 times and baths take 6: B takes baths. B then has 6 + 3 = 9 washes, under 15: one change.
    plan = plan_for(SMALL)
    assert plan.changes == (Change(MONDAY, "baths", "A", "B"),)
    assert pairs(plan.assignments) == {"B baths", "B meals"}


def test_nothing_changes_when_everyone_is_within_bounds():
    plan = plan_for(replace(SMALL, current=(Assignment("B", "baths"), Assignment("A", "meals"))))
    assert plan.changes == ()
    assert say_plan(plan, SMALL) == ("Every task is covered. Nothing has to change.",)


def test_a_colleague_at_the_ceiling_gets_no_more_so_tasks_are_exchanged():
    # B has 10 washes; with baths 16, not below 15. Exchanged: A has rounds (2), B has 10 - 2 + 6 = 14.
    tasks = [BATHS, task("beds", washes=8), ROUNDS]
    plan = plan_for(
        search(tasks, [person("A"), person("B")], [five_washes()], ["A baths", "B beds", "B rounds"])
    )
    assert pairs(plan.assignments) == {"B baths", "B beds", "A rounds"}
    assert len(plan.changes) == 2


def test_below_and_at_most_differ_at_the_ceiling():
    # B would come to 9 + 6 = 15: at most 15 allows it, below 15 does not.
    tasks = [BATHS, task("beds", washes=9)]
    duties = search(tasks, [person("A"), person("B")], [five_washes()], ["A baths", "B beds"])
    at_most = Ceiling("fifteen washes", washes=Bound(Decimal(15), Within.AT_MOST))
    assert isinstance(find_duties(duties), NoPlan)
    assert isinstance(find_duties(replace(duties, ceiling=at_most)), DutyPlan)


def test_a_colleague_already_over_keeps_what_they_have_and_is_named():
    # B has 16 already. Meals (3) must leave A, who may do none: C takes them though B did nothing wrong.
    tasks = [task("beds", washes=16), MEALS]
    team = [person("A"), person("B"), person("C")]
    limits = [Limits("A", a_shift=Most(washes=0))]
    duties = search(tasks, team, limits, ["B beds", "A meals"])
    plan = plan_for(duties)
    assert pairs(plan.assignments) == {"B beds", "C meals"}
    assert plan.already_over == (AlreadyOver("B", MONDAY, Measure.WASHES, 16, 14),)
    assert say_plan(plan, duties) == (
        "Monday early, Meals: C instead of A.",
        "Monday early: B is over fifteen washes already, with 16 washes where 14 would be the most; "
        "it may not become more.",
    )


# As in a rule set that counts two hours of wet work and gloves together: 119 minutes are still below it.
TWO_HOURS = Ceiling("two hours", wet_and_glove_minutes=Bound(Decimal(120), Within.BELOW))
SOAKS = task("soaks", wet_minutes=60)
GOWNS = task("gowns", glove_minutes=60)
DESK = task("desk")


def test_wet_and_glove_minutes_are_added_up_where_the_ceiling_adds_them():
    # A must give up the soaks. B has 60 glove minutes: 60 + 60 = 120 is not below 120, though each alone is.
    # C, at the desk, has nothing: C takes the soaks.
    team = [person("A"), person("B"), person("C")]
    now = ["A soaks", "B gowns", "B desk"]
    limits = [Limits("A", a_shift=Most(wet_minutes=0, glove_minutes=0))]
    duties = replace(search([SOAKS, GOWNS, DESK], team, limits, now), ceiling=TWO_HOURS)
    plan = plan_for(duties)
    assert pairs(plan.assignments) == {"C soaks", "B gowns", "B desk"}
    assert {load.person: load.carries.wet_and_glove_minutes for load in plan.loads} == {
        "A": 0,
        "B": 60,
        "C": 60,
    }
    # Without C there is no plan, though each part alone would stay below the two hours.
    pair = replace(duties, team=(team[0], team[1]))
    apart = Ceiling(
        "two hours",
        wet_minutes=TWO_HOURS.wet_and_glove_minutes,
        glove_minutes=TWO_HOURS.wet_and_glove_minutes,
    )
    assert isinstance(find_duties(pair), NoPlan)
    assert isinstance(find_duties(replace(pair, ceiling=apart)), DutyPlan)


def test_a_sum_that_must_give_way_is_named():
    # B alone can do both: 61 + 60 = 121 minutes, two over the 119 that are below 120.
    tasks = [task("soaks", wet_minutes=61), task("gowns", glove_minutes=60)]
    limits = [Limits("A", a_shift=Most(wet_minutes=0, glove_minutes=0))]
    duties = replace(search(tasks, [person("A"), person("B")], limits, None), ceiling=TWO_HOURS)
    answer = no_plan_for(duties)
    assert answer.ways_out[0].overruns == (
        Overrun("B", MONDAY, Measure.WET_AND_GLOVE_MINUTES, 2, Because.CEILING, added=False),
    )
    assert answer.ways_out[0].cost == 2
    assert say_no_plan(answer, duties)[1].startswith(
        "Two minutes of wet work and gloves together over two hours on Monday early for B, or "
    )


def test_who_is_over_on_the_sum_already_is_named_and_gets_no_more_of_it():
    # B has 80 + 60 = 140 minutes now; the soaks' 60 must go to C.
    tasks = [SOAKS, task("shift round", wet_minutes=80, glove_minutes=60)]
    team = [person("A"), person("B"), person("C")]
    limits = [Limits("A", a_shift=Most(wet_minutes=0))]
    now = (Assignment("A", "soaks"), Assignment("B", "shift round"))
    duties = replace(search(tasks, team, limits, None), ceiling=TWO_HOURS, current=now)
    plan = plan_for(duties)
    assert pairs(plan.assignments) == {"C soaks", "B shift round"}
    assert plan.already_over == (AlreadyOver("B", MONDAY, Measure.WET_AND_GLOVE_MINUTES, 140, 119),)
    assert say_plan(plan, duties)[1] == (
        "Monday early: B is over two hours already, with 140 minutes of wet work and gloves together where "
        "119 would be the most; it may not become more."
    )


def test_one_person_s_own_limit_may_be_on_the_sum():
    # A may have 100 minutes of both together: 60 + 60 is too much, and one of the two goes to B.
    limits = [Limits("A", a_shift=Most(wet_and_glove_minutes=100))]
    duties = search([SOAKS, GOWNS], [person("A"), person("B")], limits, ["A soaks", "A gowns"])
    assert len(plan_for(duties).changes) == 1


def test_someone_with_limits_is_held_to_the_ceiling_as_well():
    # No limit on washes for A, but 9 + 6 = 15 is not below 15.
    tasks = [BATHS, task("beds", washes=9)]
    limits = [Limits("A", no_latex=True)]
    plan = plan_for(search(tasks, [person("A"), person("B")], limits, None))
    assert len({duty.person for duty in plan.assignments}) == 2


@pytest.mark.parametrize("what", ["soap", "latex", "patient_contact"])
def test_tasks_that_are_out_of_the_question_are_never_given(what):
    duties = search(
        [task("baths", **{what: True})],
        [person("A"), person("B")],
        [Limits("A", **{f"no_{what}": True})],
        ["A baths"],
    )
    assert pairs(plan_for(duties).assignments) == {"B baths"}
    alone = replace(duties, team=(duties.team[0],))
    (way,) = no_plan_for(alone).ways_out
    assert way.overruns == ()
    assert way.more_people == (MorePeople(MONDAY, 1, ("baths",)),)


def test_limits_over_the_whole_time_join_the_shifts():
    # Meals on both days, 3 washes each. A may wash 4 times in all: one of the two goes to B.
    both = (MONDAY, TUESDAY)
    tasks = [MEALS, task("supper", TUESDAY, washes=3)]
    limits = [Limits("A", whole_time=Most(washes=4))]
    duties = search(tasks, [person("A", *both), person("B", *both)], limits, ["A meals", "A supper"])
    assert len(plan_for(duties).changes) == 1
    alone = replace(duties, team=(duties.team[0],))
    answer = no_plan_for(alone)
    assert Overrun("A", None, Measure.WASHES, 2, Because.LIMIT, added=False) in [
        over for way in answer.ways_out for over in way.overruns
    ]
    says = say_no_plan(answer, alone)[1]
    assert says.startswith("Two washes over the limit on all shifts together for A, or one more person on ")


def test_two_people_on_a_task_are_two_different_people():
    turn = task("turning", people=2, washes=1)
    plan = plan_for(search([turn], [person("A"), person("B"), person("C")], [five_washes()], None))
    assert len({duty.person for duty in plan.assignments}) == 2


def test_a_person_named_by_a_task_can_do_it_without_the_role():
    duties = search(
        [task("keys", who=frozenset({"B"}))],
        [person("A"), person("B", can=frozenset())],
        [five_washes()],
        None,
    )
    assert pairs(plan_for(duties).assignments) == {"B keys"}


def test_ties_go_to_the_more_even_allocation():
    # B has 8 washes, C has 2; baths leave A. B would come to 14, C to 8: C takes them, heaviest 8 of 15.
    tasks = [BATHS, task("beds", washes=8), ROUNDS]
    team = [person("A"), person("B"), person("C")]
    plan = plan_for(search(tasks, team, [five_washes()], ["A baths", "B beds", "C rounds"]))
    assert plan.changes == (Change(MONDAY, "baths", "A", "C"),)
    assert plan.even_load.value == pytest.approx(8 / 15)


def test_a_missing_person_is_filled_and_a_spare_one_stays():
    tasks = [task("turning", people=2), task("talks")]
    team = [person("A"), person("B"), person("C")]
    duties = search(tasks, team, [five_washes()], ["A turning", "A talks", "B talks"])
    plan = plan_for(duties)
    assert [(change.task, change.off) for change in plan.changes] == [("turning", None)]
    assert {"A talks", "B talks", "A turning"} < pairs(plan.assignments)
    assert say_plan(plan, duties)[0].endswith("as well.")


def test_no_one_takes_on_more_tasks_than_allowed():
    tasks = [task(name) for name in ("talks", "post", "keys", "stores")]
    duties = search(tasks, [person("A"), person("B")], [five_washes()], None, most_tasks=2)
    counts = [duty.person for duty in plan_for(duties).assignments]
    assert (counts.count("A"), counts.count("B")) == (2, 2)


def test_loads_are_told_before_and_after():
    (a, b) = plan_for(SMALL).loads
    assert (a.person, a.before.washes, a.carries.washes, a.carries.tasks) == ("A", 6, 0, 0)
    assert (b.person, b.before.washes, b.carries.washes, b.carries.tasks) == ("B", 3, 9, 2)


NO_WAY_TWICE = search(
    # Tuesday: A (5) and B (14) have 6 + 14 = 20 washes to share: baths can't be A's and make B 20, six over.
    # Thursday: A has 7 washes alone, two over the limit of 5.
    [
        task("baths", TUESDAY, washes=6),
        task("beds", TUESDAY, washes=14),
        task("meals", THURSDAY, washes=7),
    ],
    [person("A", TUESDAY, THURSDAY), person("B", TUESDAY)],
    [five_washes()],
    ["A baths", "B beds", "A meals"],
)


def test_where_nothing_fits_the_least_that_must_give_way_is_named():
    # One over for A on Tuesday (6 - 5), two on Thursday (7 - 5): (1 + 2) x 10 x 2 = 60; two people are 200.
    answer = no_plan_for(NO_WAY_TWICE)
    overruns, people = answer.ways_out
    assert answer.shifts_without_plan == (TUESDAY, THURSDAY)
    assert [(over.person, over.shift, over.amount) for over in overruns.overruns] == [
        ("A", TUESDAY, 1),
        ("A", THURSDAY, 2),
    ]
    assert (overruns.cost, people.cost) == (60, 200)
    assert people.more_people == (MorePeople(TUESDAY, 1, ("baths",)), MorePeople(THURSDAY, 1, ("meals",)))
    assert say_no_plan(answer, NO_WAY_TWICE) == (
        "The tasks can't be shared out within everyone's limits: Tuesday early and Thursday early.",
        "One wash over the limit on Tuesday early for A and two washes over the limit on Thursday early "
        "for A, or one more person in each of two shifts (Tuesday early and Thursday early).",
    )


def test_a_mix_is_offered_when_it_is_cheaper_than_one_thing_alone():
    # Tuesday as above: one over for A, 20, or one person, 100. Thursday now has 12 + 13 = 25 washes, for A
    # alone: 20 over, 400; or two people more, 200, as 25 is too much for one; or one and A 7 over, 240.
    tasks = (*NO_WAY_TWICE.tasks[:2], task("meals", THURSDAY, washes=12), task("post", THURSDAY, washes=13))
    current = (*NO_WAY_TWICE.current, Assignment("A", "post"))
    duties = replace(NO_WAY_TWICE, tasks=tasks, current=current)
    answer = no_plan_for(duties)
    assert [way.cost for way in answer.ways_out] == [220, 300, 420]
    assert say_no_plan(answer, duties)[1].startswith(
        "Two more people on Thursday early and one wash over the limit on Tuesday early for A, or "
    )


def test_what_gives_way_alike_in_several_shifts_is_told_once():
    # Each day 7 washes and 30 wet minutes for A alone: 2 and 10 over in each shift. Whole time kept apart.
    over = [
        Overrun("A", shift, measure, amount, Because.LIMIT, added=False)
        for shift in (MONDAY, TUESDAY, THURSDAY)
        for measure, amount in ((Measure.WASHES, 2), (Measure.WET_MINUTES, 10))
    ]
    whole = Overrun("A", None, Measure.WASHES, 2, Because.LIMIT, added=False)
    people = tuple(MorePeople(shift, 1, ("baths",)) for shift in (MONDAY, TUESDAY))
    way = Relaxation(people, (*over, whole), 0, 0, ())
    assert say_way_out(way, SMALL) == (
        "one more person in each of two shifts (Monday early and Tuesday early), "
        "two washes and ten minutes of wet work over the limit in each of three shifts "
        "(Monday early, Tuesday early and Thursday early) for A and "
        "two washes over the limit on all shifts together for A"
    )


def test_overruns_of_several_people_in_a_shift_are_told_together():
    # 16 and 17 washes, each too much for anyone below 15: 2 + 3 = 5 over. More people are no help.
    tasks = [task("beds", washes=16, who=frozenset({"B"})), task("baths", washes=17, who=frozenset({"C"}))]
    duties = search(tasks, [person("A"), person("B"), person("C")], [five_washes()], None)
    assert say_no_plan(no_plan_for(duties), duties)[1] == (
        "Five washes over fifteen washes on Monday early (two for B and three for C)."
    )


def test_in_a_fortnight_shifts_carry_their_date():
    late = Shift(9, Part.NIGHT)  # Wednesday 9 December
    tasks = [BATHS, task("meals", late, washes=6)]
    duties = search(tasks, [person("A", MONDAY, late)], [five_washes()])
    assert (
        "Monday 30 November early and Wednesday 9 December night"
        in say_no_plan(no_plan_for(duties), duties)[0]
    )


@pytest.mark.parametrize("duties", [SMALL, NO_WAY_TWICE, replace(SMALL, current=None)])
def test_a_manager_reads_no_clinical_word(duties):
    answer = find_duties(duties)
    say = say_plan if isinstance(answer, DutyPlan) else say_no_plan
    assert clinical_words_in(" ".join(say(answer, duties))) == ()


def test_the_order_in_which_things_are_given_changes_nothing():
    turned = replace(
        NO_WAY_TWICE,
        tasks=NO_WAY_TWICE.tasks[::-1],
        team=NO_WAY_TWICE.team[::-1],
        current=NO_WAY_TWICE.current[::-1],
    )
    assert find_duties(turned) == find_duties(NO_WAY_TWICE)


FAULTS = {
    "no team": (replace(SMALL, team=()), NothingGiven, "team"),
    "no tasks": (replace(SMALL, tasks=()), NothingGiven, "tasks"),
    "nobody to find duties for": (replace(SMALL, limits=()), NothingGiven, "limits"),
    "two tasks with one id": (replace(SMALL, tasks=(BATHS, BATHS)), SameIdTwice, "tasks[1].id"),
    "two people with one id": (
        replace(SMALL, team=(person("A"), person("A"))),
        SameIdTwice,
        "team[1].id",
    ),
    "two sets of limits": (
        replace(SMALL, limits=(five_washes(), five_washes())),
        SameIdTwice,
        "limits[1].person",
    ),
    "a duty given twice": (
        replace(SMALL, current=(Assignment("A", "meals"),) * 2),
        SameIdTwice,
        "current[1]",
    ),
    "limits of a stranger": (replace(SMALL, limits=(five_washes("Z"),)), UnknownId, "limits[0].person"),
    "duties of a stranger": (
        replace(SMALL, current=(Assignment("Z", "meals"),)),
        UnknownId,
        "current[0].person",
    ),
    "a duty that is no task": (
        replace(SMALL, current=(Assignment("A", "naps"),)),
        UnknownId,
        "current[0].task",
    ),
    "a task nobody can do": (
        replace(SMALL, tasks=(BATHS, task("scan", who=frozenset({"radiographer"})))),
        NobodyCan,
        "tasks[1].who_can",
    ),
    "a negative load": (
        replace(SMALL, tasks=(task("baths", washes=-1),)),
        NumberOutOfRange,
        "tasks[0].load.washes",
    ),
    "half a minute": (
        replace(SMALL, tasks=(task("baths", wet_minutes=0.5),)),
        NumberOutOfRange,
        "tasks[0].load.wet_minutes",
    ),
    "more minutes than a day has": (
        replace(SMALL, tasks=(task("baths", glove_minutes=1441),)),
        NumberOutOfRange,
        "tasks[0].load.glove_minutes",
    ),
    "a task for nobody": (
        replace(SMALL, tasks=(task("baths", people=0),)),
        NumberOutOfRange,
        "tasks[0].people_needed",
    ),
    "a negative limit": (
        replace(SMALL, limits=(Limits("A", a_shift=Most(pairs=-1)),)),
        NumberOutOfRange,
        "limits[0].a_shift.pairs",
    ),
    "a negative limit on the sum": (
        replace(SMALL, limits=(Limits("A", a_shift=Most(wet_and_glove_minutes=-1)),)),
        NumberOutOfRange,
        "limits[0].a_shift.wet_and_glove_minutes",
    ),
    "a day before the first": (
        replace(SMALL, tasks=(task("baths", Shift(-1, Part.LATE)),)),
        NumberOutOfRange,
        "tasks[0].shift.day",
    ),
    "work before the first day": (
        replace(SMALL, team=(person("A", Shift(-1, Part.LATE)), person("B"))),
        NumberOutOfRange,
        "team[0].works.day",
    ),
    "no tasks allowed at all": (replace(SMALL, most_tasks=0), NumberOutOfRange, "most_tasks"),
    "a ceiling in words only": (replace(SMALL, ceiling=Ceiling("words")), CeilingWithoutNumber, "ceiling"),
    "a ceiling below nothing": (
        replace(SMALL, ceiling=Ceiling("none", pairs=Bound(Decimal(0), Within.BELOW))),
        CeilingWithoutNumber,
        "ceiling.pairs",
    ),
    "a ceiling that is no number": (
        replace(SMALL, ceiling=Ceiling("none", pairs=Bound(Decimal("NaN"), Within.BELOW))),
        CeilingWithoutNumber,
        "ceiling.pairs",
    ),
    "at a task when not at work": (
        replace(SMALL, team=(person("A", TUESDAY), person("B"))),
        ImpossibleNow,
        "current[0]",
    ),
    "at a task without the role": (
        replace(SMALL, team=(person("A", can=frozenset({"clerk"})), person("B"))),
        ImpossibleNow,
        "current[0]",
    ),
}


@pytest.mark.parametrize(("duties", "error", "field"), FAULTS.values(), ids=FAULTS)
def test_it_names_the_field_of(duties, error, field):
    with pytest.raises(error) as refused:
        find_duties(duties)
    assert isinstance(refused.value, BadInput)
    assert refused.value.what.startswith(field)


@pytest.mark.parametrize(("gap", "seconds"), [(-0.1, 30), (1, 30), (0.01, 0), (0.01, float("inf"))])
def test_a_search_without_an_end_is_refused(gap, seconds):
    with pytest.raises(EffortOutOfRange):
        find_duties(SMALL, gap=gap, seconds=seconds)


def test_running_out_of_time_is_said_and_nothing_is_claimed():
    shifts = [Shift(day, Part.EARLY) for day in range(10)]
    tasks = [task(f"t{shift.day}-{n}", shift, 2, washes=n % 5 + 1) for shift in shifts for n in range(10)]
    limits = [Limits(f"P{n}", whole_time=Most(washes=50)) for n in range(3)]
    duties = search(tasks, [person(f"P{n}", *shifts) for n in range(9)], limits, None)
    with pytest.raises(OutOfTime) as stopped:
        find_duties(duties, seconds=1e-6)
    assert "not known" in stopped.value.why
