"""What holds for every shift that can be logged, and every verdict on it."""

from dataclasses import fields, replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from hypothesis import given
from hypothesis import strategies as st

from thenar.exposure.alternations import EACH_WAY, CountingConvention
from thenar.exposure.rule_matrix import Outcome, rule_matrix
from thenar.exposure.rule_sets import RubPolicy
from thenar.exposure.self_report import try_report
from thenar.exposure.shift import Event, EventKind, ShiftQuantities, measure_shift
from thenar.exposure.wet_work import CriterionState, judge_shift
from thenar.knowledge import load

BOOK = load()
DAY = date(2026, 11, 25)
START = datetime(2026, 3, 28, 20, tzinfo=UTC)  # a night shift in London over a change of the clocks
ORDER = (Outcome.NOT_WET_WORK, Outcome.IN_WORDS, Outcome.NOT_KNOWN, Outcome.WET_WORK)

counts, minutes = st.none() | st.integers(0, 60), st.none() | st.floats(0, 600)
policies = st.sampled_from(RubPolicy)
conventions = st.builds(
    CountingConvention,
    name=st.just("any"),
    round_trip=st.booleans(),
    gap_seconds=st.none() | st.integers(0, 1800),
    drying_seconds=st.none() | st.integers(0, 600),
)


@st.composite
def any_quantities(draw, known=False):
    """A shift in numbers; with `known`, nothing is missing."""
    numbers = {}
    for field in fields(ShiftQuantities):
        if field.name not in {"whole_shift", "convention"}:
            numbers[field.name] = draw(minutes if field.name.endswith("minutes") else counts)
    if known:
        numbers = {name: amount or 0 for name, amount in numbers.items()}
    _raise_to(numbers, "rubs", "gel_rubs")
    _raise_to(numbers, "wet_glove_alternations_with_gels", "wet_glove_alternations")
    _raise_to(numbers, "wet_glove_alternations_with_rubs", "wet_glove_alternations")
    _raise_to(numbers, "wet_glove_alternations_with_rubs", "wet_glove_alternations_with_gels")
    return ShiftQuantities(whole_shift=known or draw(st.booleans()), **numbers)


def _raise_to(numbers, whole, part):
    """A whole is never less than its part."""
    if numbers[whole] is not None and numbers[part] is not None:
        numbers[whole] = max(numbers[whole], numbers[part])


# A log is a row of acts, each with its length and the pause before it, in seconds.
acts = st.lists(
    st.tuples(
        st.sampled_from(["wash", "rub", "cream", "wet", "gloves"]), st.integers(0, 1200), st.integers(0, 900)
    ),
    min_size=1,
    max_size=25,
)


def events_of(row, zone=UTC):
    told, now = [], START
    for act, lasts, pause in row:
        now += timedelta(seconds=pause)
        if act in ("wash", "rub", "cream"):
            told.append((now, EventKind(act)))
            continue
        on, off = {"wet": ("wet_start", "wet_stop"), "gloves": ("gloves_on", "gloves_off")}[act]
        told.append((now, EventKind(on)))
        now += timedelta(seconds=lasts)
        told.append((now, EventKind(off)))
    return [Event(at.astimezone(zone), kind, line) for line, (at, kind) in enumerate(told, start=1)]


def measured(row, convention=EACH_WAY, zone=UTC):
    return measure_shift(events_of(row, zone), convention, whole_shift=True)


@given(acts, conventions)
def test_every_quantity_is_unknown_or_at_least_zero_and_agrees_with_the_row(row, convention):
    shift = measured(row, convention)
    for field in fields(shift):
        amount = getattr(shift, field.name)
        assert amount is None or isinstance(amount, str) or amount >= 0
    kinds = [act for act, _, _ in row]
    assert (shift.washes, shift.rubs, shift.cream_uses) == tuple(map(kinds.count, ("wash", "rub", "cream")))
    assert (shift.wet_contacts, shift.pairs) == (kinds.count("wet"), kinds.count("gloves"))
    assert round(shift.wet_minutes * 60) == sum(lasts for act, lasts, _ in row if act == "wet")
    assert round(shift.glove_minutes * 60) == sum(lasts for act, lasts, _ in row if act == "gloves")
    assert shift.longest_glove_wear_minutes <= shift.glove_minutes


@given(acts, conventions)
def test_the_shift_is_the_same_in_every_zone(row, convention):
    here = measured(row, convention)
    for zone in ("Europe/London", "Pacific/Auckland", "Asia/Kathmandu"):
        assert measured(row, convention, ZoneInfo(zone)) == here


@given(acts, st.data())
def test_a_spell_cut_in_two_keeps_its_minutes(row, data):
    long = [place for place, (act, _, _) in enumerate(row) if act in ("wet", "gloves")]
    if not long:
        return
    place = data.draw(st.sampled_from(long))
    act, lasts, pause = row[place]
    first = data.draw(st.integers(0, lasts))
    cut = [*row[:place], (act, first, pause), (act, lasts - first, 0), *row[place + 1 :]]
    whole, parts = measured(row), measured(cut)
    assert (parts.wet_minutes, parts.glove_minutes) == (whole.wet_minutes, whole.glove_minutes)
    assert parts.wet_glove_alternations == whole.wet_glove_alternations


@given(acts, conventions)
def test_a_round_trip_never_counts_more_than_each_way_and_a_gap_never_more_than_none(row, convention):
    most = measured(row, EACH_WAY)
    some = measured(row, convention)
    assert some.wet_glove_alternations <= most.wet_glove_alternations
    assert some.wash_glove_alternations <= most.wash_glove_alternations
    # Each change needs two spells next to each other
    assert most.wash_glove_alternations <= 2 * min(most.washes, most.pairs)
    assert most.wet_glove_alternations <= 2 * min(most.wet_contacts, most.pairs)
    assert some.wet_glove_alternations_with_rubs >= some.wet_glove_alternations


def ranks(shift, policy):
    return [(ORDER.index(v.outcome), v.tier_rank) for v in judge_shift(shift, BOOK, DAY, policy)]


def nowhere_lower(before, after):
    return all(b[0] <= a[0] and b[1] <= a[1] for b, a in zip(before, after, strict=True))


@given(acts, conventions, policies, st.integers(0, 25), st.integers(0, 900))
def test_an_added_wash_never_lowers_a_verdict_or_a_tier(row, convention, policy, place, pause):
    place = min(place, len(row))
    kept = [*row[:place], ("wash", 0, min(pause, row[place][2]) if place < len(row) else pause), *row[place:]]
    if place < len(row):  # the wash falls into the pause before the next act, which starts when it did
        act, lasts, was = row[place]
        kept[place + 1] = (act, lasts, was - kept[place][2])
    before, after = measured(row, convention), measured(kept, convention)
    assert after.washes == before.washes + 1
    assert after.wash_glove_alternations >= before.wash_glove_alternations
    assert after.wet_glove_alternations == before.wet_glove_alternations
    assert nowhere_lower(ranks(before, policy), ranks(after, policy))


@given(any_quantities(), policies, st.data())
def test_more_of_anything_never_lowers_a_verdict_or_a_tier(shift, policy, data):
    names = [f.name for f in fields(shift) if f.name not in {"whole_shift", "convention"}]
    known = [name for name in names if getattr(shift, name) is not None]
    if known:
        name = data.draw(st.sampled_from(known))
        more = replace(shift, **{name: getattr(shift, name) + 1})
        assert nowhere_lower(ranks(shift, policy), ranks(more, policy))


@given(any_quantities(known=True), policies, st.data())
def test_losing_a_number_never_turns_wet_work_or_not_known_into_fine(shift, policy, data):
    names = [f.name for f in fields(shift) if f.name not in {"whole_shift", "convention"}]
    lost = replace(shift, **dict.fromkeys(data.draw(st.sets(st.sampled_from(names), min_size=1))))
    for full, part in zip(
        judge_shift(shift, BOOK, DAY, policy), judge_shift(lost, BOOK, DAY, policy), strict=True
    ):
        if part.outcome is Outcome.NOT_WET_WORK:
            assert full.outcome is Outcome.NOT_WET_WORK
        if part.outcome is Outcome.WET_WORK:
            assert full.outcome is Outcome.WET_WORK
        assert part.tier_rank <= full.tier_rank


@given(any_quantities(), policies)
def test_part_of_a_shift_clears_nothing(shift, policy):
    for verdict in judge_shift(replace(shift, whole_shift=False), BOOK, DAY, policy):
        assert verdict.outcome is not Outcome.NOT_WET_WORK


@given(any_quantities())
def test_counting_rubs_never_turns_wet_work_into_less(shift):
    excluded, everything = (judge_shift(shift, BOOK, DAY, p) for p in (RubPolicy.EXCLUDED, RubPolicy.ALL))
    for before, after in zip(excluded, everything, strict=True):
        if before.outcome is Outcome.WET_WORK:
            assert after.outcome is Outcome.WET_WORK


@given(any_quantities(), policies)
def test_a_verdict_follows_from_its_criteria(shift, policy):
    for verdict in judge_shift(shift, BOOK, DAY, policy):
        states = {result.state for result in verdict.criteria}
        if CriterionState.MET in states:
            expected = Outcome.WET_WORK
        elif CriterionState.NOT_KNOWN in states:
            expected = Outcome.NOT_KNOWN
        elif CriterionState.IN_WORDS in states:
            expected = Outcome.IN_WORDS
        else:
            expected = Outcome.NOT_WET_WORK
        assert verdict.outcome is expected
        for result in verdict.criteria:
            if result.margin is not None:
                met = result.margin < 0 or (result.margin == 0 and result.operator == ">=")
                assert met == (result.state is CriterionState.MET)


@given(any_quantities(), policies)
def test_a_remembered_ruling_is_the_one_worked_out_afresh(shift, policy):
    remembered = judge_shift(shift, BOOK, DAY, policy)
    rule_matrix(BOOK, DAY, policy).rulings.clear()
    afresh = judge_shift(shift, BOOK, DAY, policy)
    assert [v.ruling for v in remembered] == [v.ruling for v in afresh]


@given(any_quantities(), st.sampled_from(["DE", "GB", "FR", "US", "generic"]), policies)
def test_a_flip_of_the_governing_verdict_always_asks_for_observation(shift, place, policy):
    band = try_report(shift, BOOK, DAY, place, policy)
    if any(flip.governing for flip in band.flips):
        assert band.observe
    assert band.observe == band.says.startswith("Observe")
