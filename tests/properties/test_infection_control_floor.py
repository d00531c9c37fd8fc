"""No plan ever takes away a required act of hand hygiene or an indicated glove, whatever the log or the plan.

The floor is recounted here from each act's own needs, not read from the plan.
"""

from dataclasses import asdict
from datetime import date

from hypothesis import example, given, settings
from hypothesis import strategies as st

from thenar.exposure.care_acts import CareAct, Cleansed, Occasion, Pathogen, Tier, kinds_of_act
from thenar.exposure.controls import (
    CreamAtBreaks,
    DryBeforeGloves,
    GlovesOff,
    GlovesOn,
    Machine,
    OwnMeasure,
    Plan,
    SharedTask,
    WashToRub,
    plan_shift,
)
from thenar.exposure.done import compare_done
from thenar.exposure.floor import WorkedShift
from thenar.exposure.obligations import needs_of, obligations
from thenar.exposure.shift import ShiftQuantities
from thenar.knowledge import load

BOOK = load()
DAY = date(2026, 11, 25)

answers = st.sampled_from([True, False, False, False, None])
any_act = st.builds(
    CareAct,
    kind=st.sampled_from(kinds_of_act(BOOK)),
    occasion=st.sampled_from([*Occasion, None]),
    visible_soil=answers,
    after_toilet=answers,
    hands_wet=answers,
    contaminated=answers,
    pathogen=st.sampled_from([Pathogen.NONE, *Pathogen, None]),
    contact_precautions=answers,
    fluid_expected=answers,
    cleansed=st.sampled_from([*Cleansed, None]),
    gloves=st.sampled_from([*Tier, None]),
    times=st.integers(1, 12),
)
any_log = st.lists(any_act, min_size=1, max_size=8)

counts = st.none() | st.integers(0, 120) | st.integers(0, 15)
minutes = st.none() | st.floats(0, 480)
any_load = st.builds(
    ShiftQuantities,
    whole_shift=st.booleans(),
    washes=counts,
    rubs=counts,
    wet_minutes=minutes,
    pairs=counts,
    glove_minutes=minutes,
    gloves_on_wet_skin=counts,
    wet_glove_alternations=counts,
    wash_glove_alternations=counts,
    cream_uses=counts,
)
shares = st.floats(0.01, 1)
takes = st.integers(-200, 200) | st.integers(-15, 15)
spans = st.floats(-480, 480)
any_control = st.one_of(
    st.builds(WashToRub, shares),
    st.builds(GlovesOff, shares),
    st.builds(GlovesOn, st.integers(0, 30), st.floats(0, 480), st.floats(0, 480)),
    st.builds(CreamAtBreaks, st.integers(0, 30)),
    st.builds(Machine, st.floats(0, 480)),
    st.builds(SharedTask, st.floats(0, 480), st.integers(2, 6)),
    st.builds(OwnMeasure, takes, takes, spans, takes, spans, takes),
    st.just(DryBeforeGloves()),
)
any_plan = st.builds(Plan, st.just("plan"), st.lists(any_control, min_size=1, max_size=6).map(tuple))


def load_of(log, by_count: ShiftQuantities | None) -> WorkedShift:
    """The shift with its load counted from the log itself, or from an unrelated tally."""
    required = obligations(log, BOOK, DAY)
    if by_count is not None:
        sterile = None if by_count.pairs is None else min(by_count.pairs, 3)
        return WorkedShift(by_count, required, sterile)
    done = compare_done(log, BOOK, DAY)
    load = ShiftQuantities(whole_shift=True, washes=done.washes, rubs=done.rubs, pairs=done.pairs)
    return WorkedShift(load, required, done.sterile_pairs)


def assert_not_below(log, after: WorkedShift) -> None:
    needs = [(needs_of(act, BOOK, DAY), act.times) for act in log]
    soap = sum(times for need, times in needs if "soap" in need.method)
    either = sum(times for need, times in needs if need.method == "rub")
    both = sum(times for need, times in needs if need.method == "rub, then soap and water")
    sterile = sum(times for need, times in needs if need.gloves is Tier.STERILE)
    gloves = sum(times for need, times in needs if need.gloves is not Tier.NONE)
    load = after.load
    if load.washes is not None:
        assert load.washes >= soap
    if load.washes is not None and load.rubs is not None:
        assert load.washes + load.rubs >= soap + either + both
    if load.pairs is not None:
        assert load.pairs >= gloves
    if after.sterile_pairs is not None:
        assert after.sterile_pairs >= sterile


EIGHT_ROUTINE_ACTS = CareAct(
    "observations",
    Occasion.BEFORE_PATIENT,
    visible_soil=False,
    after_toilet=False,
    hands_wet=False,
    contaminated=False,
    pathogen=Pathogen.NONE,
    contact_precautions=False,
    fluid_expected=False,
    times=8,
)


@settings(max_examples=600, deadline=None)
@given(any_log, any_plan, st.none() | any_load)
@example(  # washes go down and no rub comes in their place, though none of them needed soap
    [EIGHT_ROUTINE_ACTS],
    Plan("plan", (OwnMeasure(washes=-8),)),
    ShiftQuantities(whole_shift=True, washes=8, rubs=2),
)
def test_no_plan_goes_below_what_the_acts_required(log, plan, tally):
    planned = plan_shift(load_of(log, tally), plan)
    assert_not_below(log, planned.after)


@settings(max_examples=200, deadline=None)
@given(any_load, any_plan)
def test_where_nobody_logged_the_acts_nothing_protective_is_taken_away(tally, plan):
    after = plan_shift(WorkedShift(tally), plan).after.load
    for quantity in ("washes", "rubs", "pairs"):
        before, left = getattr(tally, quantity), getattr(after, quantity)
        assert before is None or left >= before


@settings(max_examples=200, deadline=None)
@given(any_log, any_plan, any_load)
def test_what_is_not_known_is_never_made_up_and_no_load_is_negative(log, plan, tally):
    after = asdict(plan_shift(load_of(log, tally), plan).after.load)
    for quantity, before in asdict(tally).items():
        left = after[quantity]
        if before is None:
            assert left is None
        if isinstance(left, int | float):
            assert left >= 0


@settings(max_examples=200, deadline=None)
@given(any_log, any_plan, st.none() | any_load)
def test_whatever_the_floor_held_back_is_said(log, plan, tally):
    shift = load_of(log, tally)
    planned = plan_shift(shift, plan)
    for control, step in zip(plan.controls, planned.steps, strict=True):
        if not isinstance(control, OwnMeasure):
            continue
        asked = (control.washes, control.rubs, control.pairs)
        let_through = (step.change.washes, step.change.rubs, step.change.pairs)
        assert asked == let_through or step.held


@settings(max_examples=200, deadline=None)
@given(any_log, st.integers(0, 7), st.sampled_from(["visible_soil", "after_toilet", "fluid_expected"]))
def test_a_missing_answer_never_lowers_the_floor(log, place, field):
    place %= len(log)
    unknown = [*log]
    unknown[place] = CareAct(**{**asdict(log[place]), field: None})
    known, not_known = obligations(log, BOOK, DAY), obligations(unknown, BOOK, DAY)
    if getattr(log[place], field) is not True:
        assert not_known.soap_acts >= known.soap_acts
        assert not_known.gloves >= known.gloves
    else:
        assert not_known.soap_acts == known.soap_acts
        assert not_known.gloves == known.gloves
    assert not_known.cleansings >= known.cleansings
