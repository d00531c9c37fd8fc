"""Observation sessions, starting rates, the load of a shift and the hospital's draws."""

from datetime import date

import pytest

from thenar.errors import BadInput
from thenar.exposure.hospital_draws import ImpossibleHospital, Post, draw_hospital
from thenar.exposure.load_chances import ImpossibleLimit, Limit, acts_in, least_count
from thenar.exposure.opportunities import (
    Covers,
    NotAnAmount,
    NotTheseHours,
    opportunities_per_patient_day,
    opportunities_per_shift,
    rubs_per_patient_day,
)
from thenar.exposure.rates import Rate, estimate_rates, update_rate
from thenar.exposure.sessions import (
    CountsAskedBack,
    MixedSessions,
    ObservationSession,
    Quantity,
    Seen,
    Timed,
    UnusableSession,
)
from thenar.exposure.shift_load import ImpossibleShift, ShiftPart, predict_shift
from thenar.exposure.spread import spread_of
from thenar.exposure.starting_rates import (
    PatientsNeeded,
    UnknownShare,
    UnknownUnitType,
    staff_groups,
    starting_rate,
    unit_types,
)
from thenar.exposure.tally import Tally
from thenar.knowledge import load

BOOK = load()
DAY = date(2026, 11, 25)
EARLY = [ShiftPart("early", 8, night=False)]
FIFTEEN = Limit("fifteen washes", Quantity.WASHES, ">=", 15)


def session(minutes=60, *, observer="A", part="early", area="ward", role="nurse", **counts):
    tally = Tally(minutes_observed=minutes, whole_shift=False, **counts)
    return ObservationSession(observer=observer, area=area, role=role, shift_part=part, counts=tally)


def estimate(*sessions, start=None, **more):
    return estimate_rates(sessions, start, BOOK, DAY, area="ward", role="nurse", seed=1, **more)


def medical_ward(patients=5):
    return starting_rate("medical-ward", "nurse", patients, BOOK, DAY)


# Sessions


@pytest.mark.parametrize("minutes", [0, -5])
def test_a_session_of_no_minutes_is_refused_by_its_number(minutes):
    with pytest.raises(UnusableSession, match=r"Session 2: The tally was kept over"):
        estimate(session(washes=1), session(minutes, washes=1))


@pytest.mark.parametrize("field", ["washes", "rubs", "pairs", "wet_contacts", "wet_minutes", "glove_minutes"])
def test_a_negative_count_is_refused(field):
    with pytest.raises(UnusableSession, match="-1 is not a number from 0 up"):
        estimate(session(**{field: -1}))


def test_an_absurd_count_is_asked_back_and_stands_once_confirmed():
    absurd = session(480, washes=300)
    with pytest.raises(CountsAskedBack, match="Session 1: 300 washes"):
        estimate(absurd)
    assert estimate(absurd, counts_confirmed=True).rate(Quantity.WASHES, "early").seen == Seen(300, 8.0)


def test_a_pace_nobody_keeps_up_is_asked_back_in_a_short_session():
    # 61 rubs in 40 minutes are 91.5 an hour; 60 are 90.
    assert estimate(session(40, rubs=60)).rates
    with pytest.raises(CountsAskedBack, match="61 rubs in 40 minutes: more than 90 an hour"):
        estimate(session(40, rubs=61))


def test_every_count_to_ask_back_is_listed():
    with pytest.raises(CountsAskedBack) as asked:
        estimate(session(10, washes=40), session(10, rubs=50))
    assert len(asked.value.queries) == 2


def test_minutes_of_contact_without_a_contact_are_refused():
    with pytest.raises(UnusableSession, match="5 wet minutes but no wet contacts"):
        estimate(session(wet_contacts=0, wet_minutes=5))


@pytest.mark.parametrize(
    ("counts", "says"),
    [
        ({"minutes": 0.5, "washes": 1}, "1 wash in 0.5 minutes"),
        ({"minutes": 1, "washes": 2}, "2 washes in 1 minute:"),
        ({"wet_contacts": 0, "wet_minutes": 1}, "there is 1 wet minute but no wet contacts"),
        ({"pairs": 0, "glove_minutes": 1}, "there is 1 glove minute but no pairs of gloves"),
    ],
)
def test_one_of_a_thing_is_told_as_one(counts, says):
    with pytest.raises(BadInput, match=says):
        estimate(session(**counts))


@pytest.mark.parametrize(("other", "says"), [({"area": "theatre"}, "area"), ({"role": "doctor"}, "role")])
def test_sessions_of_other_work_are_refused(other, says):
    with pytest.raises(MixedSessions, match=f"Session 2 is of the {says}"):
        estimate(session(washes=1), session(washes=1, **other))


def test_an_error_never_names_the_observer():
    with pytest.raises(BadInput) as problem:
        estimate(session(0, observer="Wanda Hollis", washes=1))
    assert "Wanda" not in str(problem.value)


# Rates


def test_counts_alone_give_half_an_act_more_than_was_seen():
    rate = estimate(session(120, washes=5)).rate(Quantity.WASHES, "early")
    assert (rate.shape, rate.hours, rate.share_of_start) == (5.5, 2.0, 0.0)


def test_a_start_is_updated_by_adding_acts_and_hours():
    # Start: 4.5 x 0.77 x 5 x 0.40 x 0.3 = 2.079 washes an hour, worth 1 h. Seen: 6 in 3 h.
    rate = estimate(session(180, washes=6), start=medical_ward()).rate(Quantity.WASHES, "early")
    assert rate.shape == pytest.approx(8.079)
    assert rate.hours == 4.0
    assert rate.mean == pytest.approx(8.079 / 4)
    assert rate.share_of_start == 0.25


def test_a_low_start_never_passes_for_knowledge_that_there_is_no_load():
    # Housekeeping, one patient: 4.5 x 0.04 x 0.40 x 0.3 = 0.02 washes an hour; it starts at half an act.
    start = starting_rate("medical-ward", "housekeeping", 1, BOOK, DAY)
    assert start.per_hour("washes") == pytest.approx(0.0216)
    rate = estimate(start=start).rate(Quantity.WASHES, "early")
    assert (rate.shape, rate.hours) == (0.5, 1.0)
    assert rate.upper > 2


def test_washes_and_rubs_of_the_start_add_up_to_all_acts():
    start = medical_ward()
    assert start.per_hour("washes") + start.per_hour("rubs") == pytest.approx(start.acts_per_hour)
    assert start.per_hour("pairs") is None


def test_parts_of_the_shift_are_kept_apart():
    rates = estimate(session(washes=9, part="early"), session(washes=1, part="late"))
    assert rates.rate(Quantity.WASHES, "early").shape == 9.5
    assert rates.rate(Quantity.WASHES, "late").shape == 1.5
    assert rates.watched_hours == (("early", 1.0), ("late", 1.0))


def test_observers_are_shown_apart_and_taking_them_together_is_said():
    rates = estimate(session(observer="A", washes=2), session(observer="B", washes=3))
    (washes,) = rates.rates
    assert washes.rate.seen == Seen(5, 2.0)
    assert [(one.observer, one.rate.seen) for one in washes.observers] == [
        ("A", Seen(2, 1.0)),
        ("B", Seen(3, 1.0)),
    ]
    assert "early, washes: 2 observers taken together; each is also shown apart." in rates.cautions


def test_observers_who_differ_more_than_chance_are_called_out():
    alike = estimate(session(observer="A", washes=10), session(observer="B", washes=11))
    unlike = estimate(session(observer="A", washes=2), session(observer="B", washes=18))
    assert not any("differ" in says for says in alike.cautions)
    assert any("observers differ more than chance" in says for says in unlike.cautions)
    assert any("sessions differ more than chance" in says for says in unlike.cautions)


def test_a_session_that_did_not_count_something_adds_no_hours_to_it():
    rates = estimate(session(washes=4), session(rubs=7))
    assert rates.rate(Quantity.WASHES, "early").seen == Seen(4, 1.0)
    assert rates.rate(Quantity.RUBS, "early").seen == Seen(7, 1.0)


def test_zero_seen_is_a_count_and_not_counted_is_none():
    assert estimate(session(washes=0)).rate(Quantity.WASHES, "early").shape == 0.5
    assert estimate(session(rubs=1)).rate(Quantity.WASHES, "early") is None


@pytest.mark.parametrize("counts", [[Seen(5, 1.0)], [], [Seen(0, 1.0), Seen(0, 2.0)]])
def test_there_is_no_spread_where_there_is_nothing_to_compare(counts):
    assert spread_of(counts, seed=1) is None


def test_unequal_hours_do_not_pass_for_a_spread():
    # 4 in 1 h and 12 in 3 h are the same rate: every difference is 0.
    spread = spread_of([Seen(4, 1.0), Seen(12, 3.0)], seed=1)
    assert (spread.index, spread.by_chance) == (0.0, 1.0)


def test_cautions_that_always_apply_stand_beside_every_result():
    cautions = " ".join(estimate(session(washes=1)).cautions)
    assert "watched cleanse their hands more often" in cautions
    assert "no reason to skip an act that protects a patient" in cautions
    assert "the counts stand alone" in cautions


# Starting rates


def test_an_unknown_unit_type_lists_the_known_ones():
    with pytest.raises(UnknownUnitType) as unknown:
        starting_rate("dialysis", "nurse", 4, BOOK, DAY)
    assert "'dialysis'" in unknown.value.what
    assert all(unit in unknown.value.todo for unit in unit_types(BOOK))


def test_an_unknown_role_lists_the_known_ones():
    with pytest.raises(UnknownShare, match="nurse, doctor, housekeeping, other"):
        starting_rate("medical-ward", "porter", 4, BOOK, DAY)


def test_a_unit_with_shares_of_its_own_uses_only_those():
    assert set(staff_groups("emergency-ambulatory", BOOK)) == {"nurse", "doctor"}
    # 4.3 x 0.41 x 3
    start = starting_rate("emergency-ambulatory", "nurse", 3, BOOK, DAY)
    assert start.opportunities_per_hour == pytest.approx(5.289)


def test_patients_are_asked_for_and_never_assumed():
    with pytest.raises(PatientsNeeded):
        starting_rate("medical-ward", "nurse", None, BOOK, DAY)
    assert starting_rate("anaesthesia", "", None, BOOK, DAY).opportunities_per_hour == 10.9


def test_every_unit_type_says_which_hours_it_covers_and_what_its_weight_is():
    for unit in unit_types(BOOK):
        start = starting_rate(unit, staff_groups(unit, BOOK)[0], 4, BOOK, DAY)
        assert isinstance(start.covers, Covers)
        assert "weighs as much as 1 h of watching" in start.working
        cited = {rule for rule, _ in start.citations}
        assert {f"rates.opportunities.{unit}", "rates.starting-weight", "rates.wash-share"} <= cited


def test_the_weight_and_the_share_washed_are_shown_as_our_choice():
    labels = dict(medical_ward().citations)
    assert labels["rates.starting-weight"].known_as == "our choice"
    assert labels["rates.wash-share"].known_as == "our choice"


# The load of a shift


def test_forty_minutes_and_thirty_hours_at_the_same_rate_differ_in_certainty():
    """The same rate seen, 1.5 an hour: what is expected is alike, how sure it is is not."""
    start = medical_ward()
    short = estimate(session(40, washes=1), start=start)  # 1.5 an hour
    long = estimate(*[session(360, washes=9) for _ in range(5)], start=start)  # 45 in 30 h: 1.5 an hour
    loads = [predict_shift(rates, EARLY, [FIFTEEN], seed=1).load(Quantity.WASHES) for rates in (short, long)]
    brief, thorough = loads
    # 8 x (2.079 + 1) / (1 + 2/3) = 14.8; 8 x (2.079 + 45) / 31 = 12.1
    assert brief.mean == pytest.approx(14.779, abs=0.001)
    assert thorough.mean == pytest.approx(12.149, abs=0.001)
    assert brief.upper - brief.lower > 1.5 * (thorough.upper - thorough.lower)
    # The load on average lies about 1.96 / sqrt(shape) to either side: from 3 to 34 for a shape of 3.1 (which
    # is skewed), from 9 to 16 for one of 47. A Poisson count of such a mean is at least 15 with a chance from
    # 0.00 to 1.00, and from 0.04 to 0.6.
    assert brief.chances[0].upper - brief.chances[0].lower > 0.95
    assert thorough.chances[0].upper - thorough.chances[0].lower < 0.65
    assert brief.share_of_start == pytest.approx(0.6)  # 1 h of 1 h 40 min
    assert thorough.share_of_start == pytest.approx(1 / 31)


def test_a_part_never_watched_rests_on_the_start_and_says_so():
    rates = estimate(session(washes=2), start=medical_ward())
    shift = predict_shift(rates, [ShiftPart("early", 4, False), ShiftPart("late", 4, False)], seed=1)
    assert shift.unseen_parts == ("late",)
    assert any("late: no session was held" in says for says in shift.cautions)
    # early: 4 h at (2.079 + 2) / 2; late: 4 h at 2.079
    assert shift.load(Quantity.WASHES).mean == pytest.approx(4 * 2.0395 + 4 * 2.079)


def test_a_daytime_start_is_never_used_at_night_without_saying_so():
    rates = estimate(session(washes=2), start=medical_ward())
    by_day = predict_shift(rates, EARLY, seed=1)
    at_night = predict_shift(rates, [ShiftPart("night", 8, True)], seed=1)
    all_round = predict_shift(rates, [ShiftPart("early", 24, False)], seed=1)
    assert not any("night" in says for says in by_day.cautions)
    for shift in (at_night, all_round):
        assert any("counted in: daytime. Nights had fewer" in says for says in shift.cautions)
    assert at_night.cautions[-1].startswith("night: the published start may not fit its hours at night;")
    assert all_round.cautions[-1].startswith("early: the published start may not fit its hours at night;")


def test_a_start_counted_round_the_clock_needs_no_word_on_nights():
    start = starting_rate("medical-ward-round-the-clock", "nurse", 5, BOOK, DAY)
    shift = predict_shift(estimate(start=start), [ShiftPart("night", 8, True)], seed=1)
    assert not any("at night" in says for says in shift.cautions)


def test_without_a_count_or_a_start_a_load_is_not_known_and_never_zero():
    shift = predict_shift(estimate(session(washes=1)), EARLY, [], seed=1)
    pairs = shift.load(Quantity.PAIRS)
    assert (pairs.mean, pairs.lower, pairs.chances) == (None, None, ())
    assert "nobody counted pairs of gloves in early" in pairs.not_known


def test_minutes_are_not_known_until_two_contacts_were_timed():
    once = predict_shift(estimate(session(wet_contacts=1, wet_minutes=2)), EARLY, seed=1)
    assert "fewer than two wet contacts were timed" in once.load(Timed.WET_MINUTES).not_known
    twice = predict_shift(estimate(session(wet_contacts=2, wet_minutes=2)), EARLY, seed=1)
    # 8 h x 2.5 contacts an hour x 2 / (2 - 1) minutes
    assert twice.load(Timed.WET_MINUTES).mean == pytest.approx(40)


def test_an_upper_end_longer_than_the_shift_is_pointed_out():
    shift = predict_shift(estimate(session(pairs=2, glove_minutes=40)), EARLY, seed=1)
    assert shift.load(Timed.GLOVE_MINUTES).upper > 480
    assert any("the upper end is longer than the shift" in says for says in shift.cautions)


def test_parts_never_watched_share_one_start_however_they_are_cut():
    rates = estimate(start=medical_ward())
    whole = predict_shift(rates, [ShiftPart("a", 8, False)], [FIFTEEN], seed=1)
    cut = predict_shift(rates, [ShiftPart("a", 4, False), ShiftPart("b", 4, False)], [FIFTEEN], seed=1)
    assert cut.load(Quantity.WASHES) == whole.load(Quantity.WASHES)


@pytest.mark.parametrize(
    ("operator", "amount", "least"),
    [(">=", 15, 15), (">", 20, 21), (">=", 14.5, 15), (">", 14.5, 15), (">=", 0, 0)],
)
def test_the_operator_decides_which_count_passes(operator, amount, least):
    assert least_count(Limit("any", Quantity.WASHES, operator, amount)) == least


def test_over_and_at_least_differ_by_the_chance_of_the_limit_itself():
    acts = acts_in([(Rate(Quantity.WASHES, "early", Seen(9, 3.0), 9.5, 3.0), 8.0)])
    over, at_least = (acts.chance(Limit("x", Quantity.WASHES, op, 20), seed=1).chance for op in (">", ">="))
    assert at_least - over == pytest.approx(acts.chances[20])


def test_a_limit_of_zero_is_passed_by_every_shift_or_by_any_act():
    shift = predict_shift(
        estimate(session(wet_contacts=2, wet_minutes=2)),
        EARLY,
        [Limit("none", Timed.WET_MINUTES, ">", 0), Limit("all", Timed.WET_MINUTES, ">=", 0)],
        seed=1,
    )
    over, at_least = shift.load(Timed.WET_MINUTES).chances
    # No contact in 8 h, by a shape of 2.5 in 1 h: (1/9)^2.5 = 0.0041
    assert over.chance == pytest.approx(1 - (1 / 9) ** 2.5)
    assert (at_least.chance, at_least.lower, at_least.upper) == (1.0, 1.0, 1.0)


@pytest.mark.parametrize(
    "parts",
    [
        [],
        [ShiftPart("a", 0, False)],
        [ShiftPart("a", -1, False)],
        [ShiftPart("a", 25, False)],
        [ShiftPart("a", 13, False), ShiftPart("b", 12, True)],
        [ShiftPart("a", 4, False), ShiftPart("a", 4, True)],
    ],
)
def test_a_shift_nobody_can_work_is_refused(parts):
    with pytest.raises(ImpossibleShift):
        predict_shift(estimate(session(washes=1)), parts, seed=1)


@pytest.mark.parametrize("amount", [-1, float("inf"), float("nan")])
def test_a_limit_that_is_no_amount_is_refused(amount):
    with pytest.raises(ImpossibleLimit):
        predict_shift(estimate(session(washes=1)), EARLY, [Limit("x", Quantity.WASHES, ">", amount)], seed=1)


# Opportunities


def test_a_daytime_rate_is_scaled_to_a_day_only_by_name_and_with_its_caution():
    with pytest.raises(NotTheseHours, match="daytime"):
        opportunities_per_patient_day(4.5, Covers.DAYTIME)
    with pytest.raises(NotTheseHours, match="not known"):
        opportunities_per_patient_day(4.5, Covers.NOT_KNOWN)
    scaled = opportunities_per_patient_day(4.5, Covers.DAYTIME, scale_anyway=True)
    assert "likely too much" in scaled.caution
    assert opportunities_per_patient_day(71.6 / 24, Covers.ROUND_THE_CLOCK).caution == ""


@pytest.mark.parametrize(
    "numbers", [(-1, 0.5, 1, 8), (4, 1.1, 1, 8), (4, 0.5, 0, 8), (4, 0.5, 1, 25), (float("nan"), 0.5, 1, 8)]
)
def test_opportunities_refuse_what_cannot_be(numbers):
    with pytest.raises(NotAnAmount):
        opportunities_per_shift(*numbers)


@pytest.mark.parametrize("numbers", [(-1, 10, 3), (1, 0, 3), (1, 10, 0)])
def test_consumption_refuses_what_cannot_be(numbers):
    with pytest.raises(NotAnAmount):
        rubs_per_patient_day(*numbers)


# The hospital


def post(area, role, per_hour, hours=30.0):
    seen = Seen(round(per_hour * hours), hours)
    return Post(area, role, [(update_rate(Quantity.WASHES, "early", seen, None), 8.0)])


def test_the_hospital_is_ordered_by_the_chance_of_passing():
    posts = [post("a", "nurse", 1), post("b", "nurse", 1.9), post("b", "doctor", 0.5), post("c", "nurse", 3)]
    hospital = draw_hospital(posts, FIFTEEN, draws=4000, seed=1)
    assert [area.area for area in hospital.areas] == ["c", "b", "a"]
    assert [(one.area, one.role) for one in hospital.posts] == [(one.area, one.role) for one in posts]
    assert sum(area.highest for area in hospital.areas) == pytest.approx(1)


def test_the_hospital_is_drawn_alike_from_the_same_seed_and_in_any_order():
    posts = [post(f"area {n}", role, 1 + n / 4) for n in range(5) for role in ("nurse", "doctor")]
    hospital = draw_hospital(posts, FIFTEEN, draws=1000, seed=7)
    again = draw_hospital(posts[::-1], FIFTEEN, draws=1000, seed=7)
    assert hospital.areas == again.areas
    assert hospital.posts == again.posts[::-1]
    assert hospital != draw_hospital(posts, FIFTEEN, draws=1000, seed=8)


def test_posts_over_the_limit_add_up_over_posts():
    posts = [post("a", "nurse", 1.9), post("b", "nurse", 2.0)]
    hospital = draw_hospital(posts, FIFTEEN, draws=2000, seed=1)
    assert hospital.posts_over[0] == pytest.approx(sum(one.chance for one in hospital.posts))


@pytest.mark.parametrize(
    ("posts", "draws"),
    [
        ([], 1000),
        ([post("a", "nurse", 1), post("a", "nurse", 2)], 1000),
        ([Post("a", "nurse", [])], 1000),
        ([Post("a", "nurse", [(Rate(Quantity.RUBS, "early", Seen(1, 1.0), 1.5, 1.0), 8.0)])], 1000),
        ([post("a", "nurse", 1)], 99),
    ],
)
def test_a_hospital_that_cannot_be_drawn_is_refused(posts, draws):
    with pytest.raises(ImpossibleHospital):
        draw_hospital(posts, FIFTEEN, draws=draws, seed=1)
