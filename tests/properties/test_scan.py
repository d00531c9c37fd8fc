"""Order, bounds and chance of the scan for clusters."""

from dataclasses import replace
from datetime import date
from itertools import product

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from thenar.population.scan import Ending, ScanSettings, scan_for_clusters
from thenar.population.scan_expected import By
from thenar.population.scan_ground import Counted, ScanArea, Span, Stocked, lay_ground
from thenar.population.scan_windows import log_ratio

WARDS = [f"Ward {number}" for number in range(1, 7)]
AREAS = [ScanArea("Hospital"), *(ScanArea(ward, "Hospital") for ward in WARDS)]
SPAN = Span(tuple(date(2026, month, 1) for month in range(1, 6)), date(2026, 5, 31))
CELLS = list(product(WARDS, ("cleaner", "nurse"), SPAN.starts))
STOCK = [Stocked("A", ward, SPAN.starts[2]) for ward in WARDS[:3]] + [Stocked("B", "Ward 4", SPAN.starts[0])]
counts = st.lists(st.integers(0, 3), min_size=len(CELLS), max_size=len(CELLS))
endings = st.sampled_from(Ending)


def rows(cases, time=2.0):
    return [Counted(*cell, count, time) for cell, count in zip(CELLS, cases, strict=True)]


def scan(cases, *, areas=AREAS, order=None, time=2.0, **more):
    given_rows = rows(cases, time)
    if order is not None:
        given_rows = [given_rows[place] for place in order]
    chosen = ScanSettings(**{"seed": 1, "replicates": 99, "worth": 0.9, **more})
    return scan_for_clusters(lay_ground(areas, SPAN, given_rows, STOCK), chosen)


@given(st.integers(2, 60), st.floats(0.1, 59), st.integers(60, 200))
def test_more_cases_are_less_likely_and_more_expected_more(cases, expected, total):
    assume(cases > expected * 1.01)
    here = float(log_ratio(cases, expected, total))
    assert here > 0
    if cases < total:
        assert float(log_ratio(cases + 1, expected, total)) > here
    assert float(log_ratio(cases, expected * 0.99, total)) > here


@settings(max_examples=25, deadline=None)
@given(counts, st.permutations(range(len(CELLS))), st.permutations(AREAS[1:]), endings)
def test_the_order_of_lines_and_areas_makes_no_difference(cases, order, areas, ending):
    assume(any(cases))
    one, other = scan(cases, ending=ending), scan(cases, areas=[AREAS[0], *areas], order=order, ending=ending)
    assert (one.nearest is None) == (other.nearest is None)
    if one.nearest:
        assert one.nearest.log_ratio == pytest.approx(other.nearest.log_ratio)


@settings(max_examples=25, deadline=None)
@given(counts, st.floats(0.01, 1000), endings)
def test_the_unit_of_person_time_makes_no_difference(cases, unit, ending):
    assume(any(cases))
    one, other = scan(cases, ending=ending), scan(cases, time=2.0 * unit, ending=ending)
    assert [found.log_ratio for found in one.clusters] == pytest.approx(
        [found.log_ratio for found in other.clusters]
    )
    assert [found.chance for found in one.clusters] == [found.chance for found in other.clusters]


@settings(max_examples=40, deadline=None)
@given(counts, endings)
def test_clusters_come_by_their_chance_and_hold_more_than_expected(cases, ending):
    assume(any(cases))
    found = scan(cases, ending=ending)
    chances = [one.chance for one in found.clusters]
    assert chances == sorted(chances)
    for one in found.clusters:
        assert 1 / 100 <= one.chance <= 0.9
        assert one.cases > one.expected
        assert one.expected <= found.cases / 2
    assert sum(one.cases for one in found.clusters) <= found.cases


@settings(max_examples=25, deadline=None)
@given(counts)
def test_looking_at_more_windows_finds_nothing_likelier(cases):
    assume(any(cases))
    now, back = scan(cases), scan(cases, ending=Ending.ANY)
    assume(now.nearest is not None)
    assert back.nearest.log_ratio >= now.nearest.log_ratio - 1e-9


# How often chance alone makes a cluster.

RUNS = 400


def chances_under_no_effect(**more):
    draw = np.random.default_rng(20261126)
    time = draw.gamma(2, 1, len(CELLS))
    chances = []
    for run in range(RUNS):
        cases = draw.multinomial(40, time / time.sum())
        given_rows = [
            replace(row, cases=int(count), person_time=float(size))
            for row, count, size in zip(rows([0] * len(CELLS)), cases, time, strict=True)
        ]
        ground = lay_ground(AREAS, SPAN, given_rows, STOCK)
        nearest = scan_for_clusters(ground, ScanSettings(seed=run, replicates=99, **more)).nearest
        chances.append(1.0 if nearest is None else nearest.chance)
    return np.array(chances)


@pytest.mark.parametrize("ending", Ending)
def test_without_an_effect_every_chance_is_as_frequent_as_it_says(ending):
    # Within four standard errors of 400 scans: false once in 16,000 times for each level.
    chances = chances_under_no_effect(by=(), ending=ending)
    for level in (0.05, 0.1, 0.2, 0.4, 0.6, 0.8):
        assert np.mean(chances <= level) == pytest.approx(level, abs=4 * np.sqrt(level * (1 - level) / RUNS))


def test_rates_learned_from_the_cases_themselves_make_no_more_false_alarms():
    chances = chances_under_no_effect(by=(By.ROLE, By.AREA))
    for level in (0.05, 0.1, 0.2):
        assert np.mean(chances <= level) <= level + 4 * np.sqrt(level * (1 - level) / RUNS)
