"""What holds for every set of observation sessions."""

from datetime import date

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from thenar.exposure.load_chances import Limit, Minutes, acts_in
from thenar.exposure.rates import ActLength, Rate, estimate_rates, update_rate
from thenar.exposure.sessions import ObservationSession, Quantity, Seen, Timed, seen_of
from thenar.exposure.shift_load import ShiftPart, predict_shift
from thenar.exposure.starting_rates import staff_groups, starting_rate, unit_types
from thenar.exposure.tally import Tally
from thenar.knowledge import load

BOOK = load()
DAY = date(2026, 11, 25)
UNITS = [(unit, group) for unit in unit_types(BOOK) for group in staff_groups(unit, BOOK)]


@st.composite
def any_session(draw):
    minutes = draw(st.integers(10, 480))
    most = min(minutes, 100)  # never asked back: at most 60 an hour
    counts = {
        name: draw(st.none() | st.integers(0, most)) for name in ("washes", "rubs", "pairs", "wet_contacts")
    }
    if counts["wet_contacts"]:
        counts["wet_minutes"] = draw(st.none() | st.floats(0, minutes / 2))
    return ObservationSession(
        observer=draw(st.sampled_from("ABC")),
        area="ward",
        role="nurse",
        shift_part=draw(st.sampled_from(["early", "late", "night"])),
        counts=Tally(minutes_observed=minutes, whole_shift=False, **counts),
    )


sessions_of_a_post = st.lists(any_session(), max_size=8)
starts = st.none() | st.builds(
    lambda unit, patients: starting_rate(unit[0], unit[1], patients, BOOK, DAY),
    st.sampled_from(UNITS),
    st.floats(0.5, 30),
)
rates = st.builds(
    lambda shape, hours: Rate(Quantity.WASHES, "early", Seen(0, 0), shape, hours),
    st.floats(0.1, 300),
    st.floats(0.25, 300),
)
worked = st.lists(st.tuples(rates, st.floats(0.25, 12)), min_size=1, max_size=3)


def estimate(sessions, start):
    return estimate_rates(sessions, start, BOOK, DAY, area="ward", role="nurse", seed=1)


@given(sessions_of_a_post, starts)
@settings(max_examples=50, deadline=None)
def test_the_order_of_sessions_changes_no_rate(sessions, start):
    for part in ("early", "late", "night"):
        for quantity in Quantity:
            one = estimate(sessions, start).rate(quantity, part)
            other = estimate(sessions[::-1], start).rate(quantity, part)
            assert (one is None) == (other is None)
            if one and other:
                assert (one.shape, one.hours) == pytest.approx((other.shape, other.hours))


@given(sessions_of_a_post, starts)
@settings(max_examples=50, deadline=None)
def test_no_session_of_one_part_moves_the_rate_of_another(sessions, start):
    rates = estimate(sessions, start)
    early = [one for one in sessions if one.shift_part == "early"]
    assert rates.rate(Quantity.WASHES, "early") == estimate(early, start).rate(Quantity.WASHES, "early")


@given(sessions_of_a_post)
@settings(max_examples=50, deadline=None)
def test_what_observers_saw_apart_adds_up_to_what_they_saw_together(sessions):
    for part in estimate(sessions, None).rates:
        assert sum(one.rate.seen.count for one in part.observers) == part.rate.seen.count
        assert sum(one.rate.seen.hours for one in part.observers) == pytest.approx(part.rate.seen.hours)


@given(st.floats(0.2, 5), st.floats(0.5, 40), st.floats(1.5, 20), starts)
@settings(max_examples=100, deadline=None)
def test_watching_longer_at_the_same_rate_makes_it_surer(per_hour, hours, times, start):
    """Relative width falls as the shape rises."""
    few = update_rate(Quantity.WASHES, "early", Seen(round(per_hour * hours), hours), start)
    more = Seen(round(per_hour * hours * times), hours * times)
    many = update_rate(Quantity.WASHES, "early", more, start)
    if more.count > round(per_hour * hours):
        assert many.shape > few.shape
        assert (many.upper - many.lower) / many.mean < (few.upper - few.lower) / few.mean


@given(worked)
@settings(max_examples=100, deadline=None)
def test_chances_of_counts_are_a_distribution_with_the_mean_they_should_have(stretches):
    acts = acts_in(stretches)
    assert (acts.chances >= 0).all()
    assert acts.chances.sum() == pytest.approx(1, abs=1e-9)
    assert acts.chances @ np.arange(len(acts.chances)) == pytest.approx(acts.mean, rel=1e-6)


@given(worked, st.floats(0, 60), st.floats(0, 60))
@settings(max_examples=100, deadline=None)
def test_a_higher_limit_is_never_likelier_to_be_passed(stretches, one, other):
    acts = acts_in(stretches)
    lower, higher = sorted((one, other))
    limits = [Limit("x", Quantity.WASHES, ">=", lower), Limit("x", Quantity.WASHES, ">=", higher)]
    first, second = (acts.chance(limit, seed=1) for limit in limits)
    assert first.chance >= second.chance - 1e-9
    assert 0 <= first.lower <= first.upper <= 1


@given(worked, st.integers(2, 200), st.floats(0.5, 600), st.floats(0.5, 600))
@settings(max_examples=50, deadline=None)
def test_the_chance_of_a_time_falls_from_any_act_to_nothing(stretches, acts_timed, minutes, amount):
    times = Minutes(acts_in(stretches), ActLength(Timed.WET_MINUTES, acts_timed, minutes))
    assert 1 - times.over(0) == pytest.approx(times.acts.chances[0], abs=1e-9)
    assert times.over(amount) >= times.over(2 * amount) - 1e-12
    chance = times.chance(Limit("x", Timed.WET_MINUTES, ">", amount), seed=1)
    assert 0 <= chance.lower <= chance.upper <= 1 + 1e-9


@given(sessions_of_a_post, starts, st.booleans())
@settings(max_examples=40, deadline=None)
def test_a_part_never_watched_is_always_named(sessions, start, night):
    seen = {one.shift_part for one in sessions}
    parts = [ShiftPart("early", 4, night), ShiftPart("late", 4, night)]
    shift = predict_shift(estimate(sessions, start), parts, seed=1)
    assert set(shift.unseen_parts) == {"early", "late"} - seen
    for name in shift.unseen_parts:
        assert any(says.startswith(f"{name}: no session was held") for says in shift.cautions)
    for load_ in shift.loads:
        assert (load_.mean is None) == bool(load_.not_known)


@given(sessions_of_a_post)
@settings(max_examples=50, deadline=None)
def test_a_quantity_nobody_counted_anywhere_stays_not_known(sessions):
    shift = predict_shift(estimate(sessions, None), [ShiftPart("early", 8, False)], seed=1)
    early = [one for one in sessions if one.shift_part == "early"]
    for quantity in Quantity:
        assert (shift.load(quantity).mean is None) == (seen_of(early, quantity).hours == 0)
