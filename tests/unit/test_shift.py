"""What a shift log or a tally says of the hands, and what it must not guess."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from thenar.exposure.alternations import EACH_WAY, ROUND_TRIP, CountingConvention
from thenar.exposure.shift import (
    EVERYTHING,
    Event,
    EventKind,
    GloveKind,
    ShiftQuantities,
    ShiftQueries,
    Watched,
    measure_shift,
)
from thenar.exposure.tally import NotACount, Tally, TallyWithoutMinutes, measure_tally, query_counts
from thenar.knowledge import load

LONDON = ZoneInfo("Europe/London")
DAY = date(2026, 11, 25)


def log(*told, day=25, zone=UTC, **more):
    """Events from pairs such as ("08:30", "wash"), numbered as lines from 1."""
    events = []
    for line, (clock, kind, *rest) in enumerate(told, start=1):
        hour, minute = map(int, clock.split(":"))
        at = datetime(2026, 11, day, hour, minute, tzinfo=zone)
        events.append(Event(at, EventKind(kind), line, **(rest[0] if rest else {})))
    return events


def measured(*told, convention=EACH_WAY, watched=EVERYTHING):
    return measure_shift(log(*told), convention, whole_shift=True, watched=watched)


def queries(*told, watched=EVERYTHING):
    with pytest.raises(ShiftQueries) as refusal:
        measured(*told, watched=watched)
    return {query.line: query.says for query in refusal.value.queries}


MORNING = (
    ("08:00", "wash"),
    ("08:05", "gloves_on", {"skin_wet": True}),
    ("08:25", "gloves_off"),  # 20 min
    ("08:26", "rub", {"gel": True}),
    ("08:30", "wet_start"),
    ("08:42", "wet_stop"),  # 12 min
    ("08:43", "gloves_on", {"skin_wet": False}),
    ("08:50", "gloves_off"),  # 7 min
    ("08:52", "wash"),
    ("09:00", "wet_start"),
    ("09:03", "wet_stop"),  # 3 min
    ("09:10", "cream"),
)


def test_a_morning_is_counted_as_by_hand():
    shift = measured(*MORNING)
    assert (shift.washes, shift.rubs, shift.gel_rubs, shift.cream_uses) == (2, 1, 1, 1)
    assert (shift.wet_contacts, shift.wet_minutes) == (2, 15)  # 12 + 3
    assert (shift.pairs, shift.glove_minutes, shift.longest_glove_wear_minutes) == (2, 27, 20)  # 20 + 7
    assert shift.gloves_on_wet_skin == 1
    # Wet and gloves in time: gloves, wet, gloves, wet: three changes
    assert shift.wet_glove_alternations == 3
    # Washes and gloves in time: wash, gloves, gloves, wash: two changes
    assert shift.wash_glove_alternations == 2
    # With the rub as wet contact: gloves, rub, wet, gloves, wet: still three
    assert shift.wet_glove_alternations_with_rubs == 3


def test_a_round_trip_is_two_changes():
    shift = measured(*MORNING, convention=ROUND_TRIP)
    assert shift.wet_glove_alternations == 1  # 3 // 2
    assert shift.wash_glove_alternations == 1  # 2 // 2
    assert "there and back is one change" in shift.convention


@pytest.mark.parametrize(
    ("gap_seconds", "changes"),
    # Between glove and wet spells lie 5, 1 and 10 minutes
    [(59, 0), (60, 1), (300, 2), (599, 2), (600, 3), (None, 3)],
)
def test_a_change_counts_only_within_the_gap(gap_seconds, changes):
    shift = measured(*MORNING, convention=CountingConvention("gap", gap_seconds=gap_seconds))
    assert shift.wet_glove_alternations == changes


def test_rubs_between_gloves_are_changes_only_where_rubs_count_as_wet():
    shift = measured(
        ("08:00", "gloves_on"),
        ("08:10", "gloves_off"),
        ("08:11", "rub", {"gel": False}),
        ("08:12", "gloves_on"),
        ("08:20", "gloves_off"),
    )
    assert shift.wet_glove_alternations == 0
    assert shift.wet_glove_alternations_with_gels == 0
    assert shift.wet_glove_alternations_with_rubs == 2


def test_one_rub_of_unknown_kind_leaves_the_number_of_gels_unknown():
    shift = measured(("08:00", "rub", {"gel": True}), ("08:05", "rub"))
    assert shift.rubs == 2
    assert shift.gel_rubs is None
    assert shift.wet_glove_alternations_with_gels is None
    assert shift.wet_glove_alternations_with_rubs == 0


def test_wet_skin_under_gloves_is_never_guessed():
    noted = measured(("08:00", "wash"), ("08:01", "gloves_on"), ("08:20", "gloves_off"))
    assert noted.gloves_on_wet_skin is None


@pytest.mark.parametrize(("drying_seconds", "wet"), [(59, 0), (60, 1)])
def test_wet_skin_is_told_from_the_time_where_a_convention_says_so(drying_seconds, wet):
    convention = CountingConvention("drying", drying_seconds=drying_seconds)
    told = (("08:00", "wash"), ("08:01", "gloves_on"), ("08:20", "gloves_off"))
    assert measured(*told, convention=convention).gloves_on_wet_skin == wet


def test_what_nobody_watched_is_not_known_and_never_zero():
    shift = measured(("08:00", "wash"), watched=frozenset({Watched.WASHES}))
    assert shift.washes == 1
    unknown = (
        shift.rubs,
        shift.gel_rubs,
        shift.wet_contacts,
        shift.wet_minutes,
        shift.pairs,
        shift.glove_minutes,
        shift.longest_glove_wear_minutes,
        shift.gloves_on_wet_skin,
        shift.wet_glove_alternations,
        shift.wet_glove_alternations_with_gels,
        shift.wet_glove_alternations_with_rubs,
        shift.wash_glove_alternations,
        shift.cream_uses,
    )
    assert set(unknown) == {None}


def test_minutes_are_right_over_midnight():
    night = [
        Event(datetime(2026, 11, 25, 23, 50, tzinfo=LONDON), EventKind.WET_START, 1),
        Event(datetime(2026, 11, 26, 0, 20, tzinfo=LONDON), EventKind.WET_STOP, 2),
    ]
    assert measure_shift(night, whole_shift=True).wet_minutes == 30


def test_minutes_are_right_when_the_clocks_go_forward():
    # London, 29 March 2026: 01:00 became 02:00. From 00:50 to 02:10 by the wall are 20 minutes.
    night = [
        Event(datetime(2026, 3, 29, 0, 50, tzinfo=LONDON), EventKind.GLOVES_ON, 1),
        Event(datetime(2026, 3, 29, 2, 10, tzinfo=LONDON), EventKind.GLOVES_OFF, 2),
    ]
    assert measure_shift(night, whole_shift=True).glove_minutes == 20


def test_minutes_are_right_when_the_clocks_go_back():
    # London, 25 October 2026: 02:00 became 01:00. From 00:50 to 02:10 by the wall are 140 minutes.
    night = [
        Event(datetime(2026, 10, 25, 0, 50, tzinfo=LONDON), EventKind.GLOVES_ON, 1),
        Event(datetime(2026, 10, 25, 2, 10, tzinfo=LONDON), EventKind.GLOVES_OFF, 2),
    ]
    assert measure_shift(night, whole_shift=True).glove_minutes == 140


def test_the_hour_that_comes_twice_is_not_backwards():
    # 01:40 in summer time, then 01:10 in winter time: half an hour later.
    night = [
        Event(datetime(2026, 10, 25, 1, 40, tzinfo=LONDON), EventKind.WET_START, 1),
        Event(datetime(2026, 10, 25, 1, 10, tzinfo=LONDON, fold=1), EventKind.WET_STOP, 2),
    ]
    assert measure_shift(night, whole_shift=True).wet_minutes == 30


def test_a_time_the_clocks_jumped_over_is_asked_back():
    night = [Event(datetime(2026, 3, 29, 1, 30, tzinfo=LONDON), EventKind.WASH, 1)]
    with pytest.raises(ShiftQueries, match=r"Line 1, 01:30: this time does not exist"):
        measure_shift(night, whole_shift=True)


FAULTS = {
    "wet contact without an end": (
        (("08:00", "wet_start"),),
        {1: "no end to the wet contact that starts here"},
    ),
    "gloves without an end": ((("08:00", "gloves_on"),), {1: "no end to the gloves that go on here"}),
    "wet contact without a start": ((("08:00", "wet_stop"),), {1: "none was running"}),
    "gloves off that were not on": ((("08:00", "gloves_off"),), {1: "none were on"}),
    "wet contact started twice": (
        (("08:00", "wet_start"), ("08:05", "wet_start"), ("08:10", "wet_stop")),
        {2: "from line 1 is still running"},
    ),
    "gloves over gloves": (
        (("08:00", "gloves_on"), ("08:05", "gloves_on"), ("08:10", "gloves_off")),
        {2: "from line 1 are still on"},
    ),
    "wet contact in gloves": (
        (("08:00", "gloves_on"), ("08:01", "wet_start"), ("08:02", "wet_stop"), ("08:03", "gloves_off")),
        {2: "is the skin wet?"},
    ),
    "gloves put on in water": (
        (("08:00", "wet_start"), ("08:01", "gloves_on"), ("08:02", "gloves_off"), ("08:03", "wet_stop")),
        {2: "while the wet contact from line 1"},
    ),
    "a wash in gloves": (
        (("08:00", "gloves_on"), ("08:01", "wash"), ("08:02", "gloves_off")),
        {2: "a wash while the gloves from line 1 are on"},
    ),
    "a rub in wet contact": (
        (("08:00", "wet_start"), ("08:01", "rub"), ("08:02", "wet_stop")),
        {2: "a rub while the wet contact"},
    ),
    "a log that runs backwards": (
        (("08:10", "wash"), ("08:00", "wash")),
        {2: "Line 2, 08:00: earlier than line 1, 08:10."},
    ),
    "gloves of another kind": (
        (
            ("08:00", "gloves_on", {"glove": GloveKind.STERILE}),
            ("08:10", "gloves_off", {"glove": GloveKind.HOUSEHOLD}),
        ),
        {2: "household gloves come off, but line 1 put on sterile gloves"},
    ),
    "an empty log": ((), {0: "empty"}),
}


@pytest.mark.parametrize(("told", "asked"), FAULTS.values(), ids=FAULTS)
def test_it_asks_back(told, asked):
    found = queries(*told)
    assert set(found) == set(asked)
    for line, says in asked.items():
        assert says in found[line]


def test_every_fault_is_asked_back_at_once_in_the_order_of_lines():
    found = queries(("08:00", "wet_start"), ("07:00", "wash"), ("08:10", "gloves_off"))
    assert list(found) == [1, 2, 3]


def test_a_time_without_a_zone_is_asked_back():
    naive = datetime(2026, 11, 25, 8, tzinfo=UTC).replace(tzinfo=None)
    with pytest.raises(ShiftQueries, match="Line 3, 08:00: the time has no zone"):
        measure_shift([Event(naive, EventKind.WASH, 3)], whole_shift=True)


def test_something_logged_that_nobody_watched_for_is_asked_back():
    found = queries(("08:00", "rub"), watched=frozenset({Watched.WASHES}))
    assert "nobody watched for rubs" in found[1]


# Tallies


def tally(**counts):
    return Tally(**{"minutes_observed": 480, "whole_shift": True, **counts})


def test_a_tally_gives_what_was_counted_and_leaves_the_rest_unknown():
    shift = measure_tally(tally(washes=14, wet_minutes=30.5))
    assert (shift.washes, shift.wet_minutes, shift.minutes_observed) == (14, 30.5, 480)
    assert shift.glove_minutes is None
    assert shift.wash_glove_alternations is None


@pytest.mark.parametrize("minutes", [None, 0, -5, "60", float("nan"), float("inf"), True])
def test_a_tally_without_minutes_is_refused(minutes):
    with pytest.raises(TallyWithoutMinutes):
        measure_tally(tally(minutes_observed=minutes))


@pytest.mark.parametrize(
    "counts", [{"washes": -1}, {"washes": 2.5}, {"rubs": True}, {"wet_minutes": -0.1}, {"wet_minutes": "9"}]
)
def test_a_number_that_is_no_count_is_refused_by_name(counts):
    with pytest.raises(NotACount) as refusal:
        measure_tally(tally(**counts))
    assert next(iter(counts)).replace("_", " ") in refusal.value.what


@pytest.mark.parametrize(
    "counts",
    [
        {"rubs": 3, "gel_rubs": 4},
        {"pairs": 3, "gloves_on_wet_skin": 4},
        {"glove_minutes": 10, "longest_glove_wear_minutes": 11},
        {"wet_minutes": 481},
        {"wet_minutes": 241, "glove_minutes": 240},  # 481 minutes in 480
        {"washes": 5, "wash_glove_alternations": 11},  # at most there and back for each wash
        {"pairs": 5, "wet_glove_alternations": 11},
    ],
)
def test_two_numbers_that_do_not_fit_are_asked_back(counts):
    with pytest.raises(ShiftQueries):
        measure_tally(tally(**counts))


def test_numbers_at_the_edge_of_fitting_are_taken():
    measure_tally(tally(washes=5, pairs=5, wash_glove_alternations=10, wet_minutes=240, glove_minutes=240))


def test_three_hundred_washes_are_asked_back_with_the_limit():
    asked = query_counts(ShiftQuantities(whole_shift=True, washes=300, rubs=20), load(), DAY)
    assert [query.says for query in asked] == ["300 washes in one shift: more than 150 are asked back."]


def test_a_busy_but_believable_shift_is_not_asked_back():
    # Intensive care, one nurse and one patient, 8 h: 13.2 x 0.77 x 8 = 81 occasions
    # (Goodliffe and others 2014, doi 10.1086/675286)
    busy = ShiftQuantities(whole_shift=True, minutes_observed=480, washes=40, rubs=81, pairs=81)
    assert query_counts(busy, load(), DAY) == ()


def test_every_limit_of_belief_is_called_our_own_choice():
    limits = [rule for rule in load().rules.values() if rule.id.startswith("shift.plausible.")]
    assert len(limits) == 8
    assert {rule.value[0].known_as.value for rule in limits} == {"our choice"}


def test_real_time_passed_is_the_same_in_any_zone():
    start = datetime(2026, 10, 24, 23, 30, tzinfo=UTC)
    for zone in (UTC, LONDON, ZoneInfo("Asia/Kolkata")):
        events = [
            Event(start.astimezone(zone), EventKind.WET_START, 1),
            Event((start + timedelta(minutes=185)).astimezone(zone), EventKind.WET_STOP, 2),
        ]
        assert measure_shift(events, whole_shift=True).wet_minutes == 185
