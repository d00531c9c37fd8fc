"""What holds for whatever counts are compared, and how often chance alone gives an alarm."""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from thenar.population.charts import chart_rates
from thenar.population.comparable import AreaCount, PeriodCount
from thenar.population.cusum_cases import case_run_length, design_watch, watch_cases
from thenar.population.cusum_checks import design_check_watch, watch_checks
from thenar.population.ewma import average_run_length
from thenar.population.funnel import Place, compare_ratios
from thenar.population.multiple import NamedTest, judge_together
from thenar.population.rare_events import chart_number_between
from thenar.population.shrinkage import NoSpread, fit_gamma, shrink_by_moments, shrink_ratios

amounts = st.floats(0.2, 60)
counts = st.integers(0, 80)
hospitals = st.lists(st.tuples(counts, amounts), min_size=3, max_size=12).map(
    lambda rows: [AreaCount(f"Ward {place:02}", *row) for place, row in enumerate(rows)]
)
chances = st.lists(st.floats(0, 1), min_size=1, max_size=30)


@given(hospitals)
def test_wider_limits_hold_narrower_ones(areas):
    for area in compare_ratios(areas).areas:
        assert (
            area.outer_exact.lower
            <= area.inner_exact.lower
            <= area.inner_exact.upper
            <= area.outer_exact.upper
        )
        assert area.inner.lower <= area.inner_exact.lower <= area.inner_exact.upper <= area.inner.upper
        assert area.outer.lower <= area.inner.lower <= area.inner.upper <= area.outer.upper


@given(hospitals, st.randoms(use_true_random=False))
def test_the_order_in_which_areas_are_given_changes_nothing(areas, chance):
    shuffled = list(areas)
    chance.shuffle(shuffled)
    one, other = compare_ratios(areas), compare_ratios(shuffled)
    assert [(area.area, area.place) for area in one.areas] == [
        (area.area, area.place) for area in other.areas
    ]
    assert one.variance == pytest.approx(other.variance, abs=1e-9)


@given(hospitals)
def test_more_cases_never_look_better(areas):
    worse = [AreaCount(areas[0].area, areas[0].cases + 1, areas[0].expected), *areas[1:]]
    severity = [Place.FAR_BELOW, Place.BELOW, Place.WITHIN, Place.ABOVE, Place.FAR_ABOVE]
    before, after = (compare_ratios(given, widen=False).areas[0].place for given in (areas, worse))
    assert severity.index(before) <= severity.index(after)


@given(hospitals)
def test_a_steadied_ratio_lies_between_the_areas_own_and_the_mean(areas):
    assume(any(area.cases for area in areas))
    moments = shrink_by_moments(areas)
    try:
        fit = fit_gamma(areas)
    except NoSpread:
        fit = None
    for area, drawn_in in zip(areas, moments.ratios, strict=True):
        own = area.cases / area.expected
        assert min(own, moments.mean) - 1e-9 <= drawn_in <= max(own, moments.mean) + 1e-9
        if fit:
            assert min(own, fit.mean) - 1e-9 <= fit.mean_of(area) <= max(own, fit.mean) + 1e-9


@settings(max_examples=15)
@given(hospitals, st.integers(0, 2**32))
def test_places_are_ranges_within_the_number_of_areas(areas, seed):
    assume(any(area.cases for area in areas))
    for area in shrink_ratios(areas, seed=seed, draws=1_000).areas:
        assert 1 <= area.place_from <= area.place_to <= len(areas)
        assert area.lower <= area.upper
        assert 0 <= area.chance_above <= 1


@given(chances)
def test_judged_together_nothing_is_surer_than_alone(given_chances):
    tests = [NamedTest(f"{place:02}", chance) for place, chance in enumerate(given_chances)]
    for test in judge_together(tests).tests:
        assert test.chance - 1e-12 <= test.false_share <= test.chance_of_any + 1e-12
        assert test.false_share <= test.false_share_any + 1e-12


@given(chances)
def test_the_order_of_tests_stays_the_order_of_their_chances(given_chances):
    tests = [NamedTest(f"{place:02}", chance) for place, chance in enumerate(given_chances)]
    by_chance = sorted(judge_together(tests).tests, key=lambda test: test.chance)
    shares = [test.false_share for test in by_chance]
    assert shares == sorted(shares)


@given(st.lists(st.tuples(counts, amounts), min_size=2, max_size=30))
def test_a_period_of_more_person_time_has_narrower_limits(rows):
    assume(any(cases for cases, _ in rows))
    periods = [PeriodCount(f"{place:02}", *row) for place, row in enumerate(rows)]
    points = chart_rates(periods).points
    by_size = [point for _, point in sorted(zip(rows, points, strict=True), key=lambda pair: pair[0][1])]
    uppers = [point.upper for point in by_size]
    assert uppers == sorted(uppers, reverse=True)


@settings(max_examples=40, deadline=None)
@given(st.floats(0.1, 5), st.integers(1, 24), st.integers(1, 40))
def test_a_sum_waits_longer_for_a_higher_threshold_and_shorter_with_more_cases(mean, reference, threshold):
    waits = case_run_length(mean, reference / 4, threshold / 4, 4)
    assume(waits < 1e6)
    assert waits >= 1
    assert case_run_length(mean, reference / 4, (threshold + 1) / 4, 4) >= waits * (1 - 1e-9)
    assert case_run_length(mean * 1.5, reference / 4, threshold / 4, 4) <= waits * (1 + 1e-9)
    assert case_run_length(mean, reference / 4, threshold / 4, 4, head_start=True) <= waits * (1 + 1e-9)


@settings(max_examples=20, deadline=None)
@given(st.floats(0.05, 3), st.integers(1, 12), st.sampled_from([1.5, 2, 3]), st.integers(20, 2_000))
def test_a_round_of_equal_periods_is_one_period(expected, periods, rise, every):
    one, many = (design_watch([expected] * number, rise, every) for number in (1, periods))
    assert one.threshold == many.threshold
    assert one.false_alarm_every == pytest.approx(many.false_alarm_every, rel=1e-6)
    assert one.false_alarm_every >= every
    assert one.found_after < one.false_alarm_every


@given(st.lists(st.integers(0, 5_000), min_size=2, max_size=30))
def test_limits_between_rare_cases_hold_the_mean_gap(gaps):
    assume(any(gaps))
    chart = chart_number_between(gaps)
    assert chart.lower <= chart.center <= chart.upper


# How often chance alone gives an alarm. Counts are drawn, apart from the chain that designed the watch.

RNG_SEED = 20261126
RUNS = 4_000


def first_alarms(draw_run):
    """Periods until the alarm, over many runs."""
    rng = np.random.default_rng(RNG_SEED)
    return np.array([draw_run(rng) for _ in range(RUNS)])


def is_near(waits, expected):
    """Within four standard errors: false once in 16,000 times."""
    return abs(waits.mean() - expected) < 4 * waits.std() / np.sqrt(len(waits))


@pytest.mark.parametrize("times", [1, 2])
def test_wards_of_changing_size_give_false_alarms_and_find_rises_as_often_as_stated(times):
    expected = [0.2, 0.5, 1.1, 0.8, 0.3, 0.6]
    watch = design_watch(expected, rise=2, false_alarm_every=40)
    length = 1_200  # 30 times the mean wait

    def run(rng):
        cases = rng.poisson(np.resize(expected, length) * times)
        # `watch_cases` itself, on ever longer stretches: most runs end early.
        for until in (60, 240, length):
            months = [
                PeriodCount(str(month), int(cases[month]), expected[month % 6]) for month in range(until)
            ]
            watched = watch_cases(months, watch)
            if watched.first_alarm is not None:
                return int(watched.first_alarm) + 1
        raise AssertionError("no alarm in 30 times the mean wait")

    assert is_near(first_alarms(run), watch.false_alarm_every if times == 1 else watch.found_after)


@pytest.mark.parametrize("share", [0.1, 0.3])
def test_checks_give_false_alarms_and_find_rises_as_often_as_stated(share):
    watch = design_check_watch(0.1, 0.3, false_alarm_every=60)

    def run(rng):
        first = watch_checks((rng.random(2_500) < share).tolist(), watch).first_alarm
        assert first is not None
        return first

    assert is_near(first_alarms(run), watch.false_alarm_every if share == 0.1 else watch.found_after)


def test_a_running_average_gives_false_alarms_as_often_as_stated():
    weight, width = 0.2, 2.0
    limit = width * np.sqrt(weight / (2 - weight))

    def run(rng):
        average = 0.0
        for place, value in enumerate(rng.standard_normal(1_000), 1):
            average += weight * (value - average)
            if abs(average) > limit:
                return place
        raise AssertionError("no alarm in 1,000 values")

    assert is_near(first_alarms(run), average_run_length(weight, width))


def test_exact_limits_are_passed_by_chance_as_seldom_as_they_say():
    # Interpolated limits pass at most as often as the nearest whole number, whose chance depends on the size:
    # averaged over many sizes, near 5 % and 0.2 %.
    rng = np.random.default_rng(RNG_SEED)
    expected = rng.uniform(4, 60, size=2_000)
    drawn = zip(rng.poisson(expected).tolist(), expected.tolist(), strict=True)
    areas = [AreaCount(str(place), *row) for place, row in enumerate(drawn)]
    places = [area.place for area in compare_ratios(areas, widen=False).areas]
    outside = sum(place is not Place.WITHIN for place in places) / len(places)
    far = sum(place in (Place.FAR_ABOVE, Place.FAR_BELOW) for place in places) / len(places)
    assert 0.04 < outside < 0.06
    assert 0 < far < 0.006


@pytest.mark.parametrize(("number", "shape"), [(6, 5.0), (40, 5.0), (40, 20.0)])
def test_intervals_of_steadied_areas_hold_the_truth_as_often_as_they_say(number, shape):
    # True ratios are drawn, then cases; 95 % intervals must hold the ratios in 95 % of areas, give or take
    # the runs. Taking the best single fit as known holds far fewer.
    rng = np.random.default_rng(RNG_SEED)
    held = areas_seen = held_by_fit = 0
    for run in range(30 if number == 40 else 120):
        expected = rng.uniform(0.5, 8, number)
        true = rng.gamma(shape, 1 / shape, number)
        cases = rng.poisson(expected * true)
        if not cases.sum():
            continue
        areas = [
            AreaCount(f"{place:03}", int(count), float(size))
            for place, (count, size) in enumerate(zip(cases, expected, strict=True))
        ]
        found = shrink_ratios(areas, seed=run, draws=1_000).areas
        held += sum(area.lower <= ratio <= area.upper for area, ratio in zip(found, true, strict=True))
        held_by_fit += _held_by_the_best_fit(areas, true)
        areas_seen += number
    assert 0.92 <= held / areas_seen <= 0.985
    assert held_by_fit < held


def _held_by_the_best_fit(areas, true):
    try:
        spans = [fit_gamma(areas).interval_of(area) for area in areas]
    except NoSpread:
        return 0
    return sum(span.lower <= ratio <= span.upper for span, ratio in zip(spans, true, strict=True))
