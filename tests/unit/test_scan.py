"""What the scan for clusters promises, one situation each."""

from datetime import date, timedelta
from itertools import product
from math import log

import numpy as np
import pytest

from thenar.population.comparable import NothingToCompare
from thenar.population.counts import UnusableCount
from thenar.population.scan import Ending, ScanSettings, draw_largest, scan_for_clusters
from thenar.population.scan_delay import ReportingDelay, observed_delay
from thenar.population.scan_expected import By, expected_cases
from thenar.population.scan_ground import Counted, ScanArea, Span, Stocked, lay_ground
from thenar.population.scan_windows import Reach, lay_windows, log_ratio

HOSPITAL = [
    ScanArea("Hospital"),
    *(ScanArea(name, "Hospital") for name in ("Medicine", "Surgery")),
    *(ScanArea(f"Ward {number}", "Medicine" if number <= 4 else "Surgery") for number in range(1, 9)),
]
WARDS = [area.name for area in HOSPITAL[3:]]
SOME_STOCK = [Stocked("product 8", "Ward 8", date(2026, 1, 1), date(2026, 1, 31))]


def months(number, year=2026):
    starts = tuple(date(year + nth // 12, nth % 12 + 1, 1) for nth in range(number))
    return Span(starts, starts[-1] + timedelta(days=27))


def counted(cases, span, *, roles=("cleaner", "nurse"), time=2.0):
    """`cases` by (ward, role, month from 1); everywhere else the same person-time and no case."""
    return [
        Counted(ward, role, day, cases.get((ward, role, nth), 0), time)
        for ward, role, (nth, day) in product(WARDS, roles, enumerate(span.starts, 1))
    ]


def ground_of(cases, stock=SOME_STOCK, *, span=None, **more):
    span = span or months(6)
    return lay_ground(HOSPITAL, span, counted(cases, span, **more), stock)


def scattered(seed, number=40, span=None):
    """Cases anywhere and products anywhere, some areas and roles empty."""
    draw = np.random.default_rng(seed)
    span = span or months(6)
    rows = [
        Counted(area.name, role, day, 0, float(draw.gamma(2)))
        for area, role, day in product(HOSPITAL[1:], ("cleaner", "nurse", "porter"), span.starts)
        if draw.random() < 0.7
    ]
    cases = draw.multinomial(number, np.full(len(rows), 1 / len(rows)))
    rows = [
        Counted(row.area, row.role, row.starts, int(count), row.person_time)
        for row, count in zip(rows, cases, strict=True)
    ]
    stock = [
        Stocked(f"product {draw.integers(1, 4)}", ward, *sorted(draw.choice(span.starts, 2).tolist()))
        for ward in WARDS * 2
    ]
    return lay_ground(HOSPITAL, span, rows, stock)


# The statistic


def test_the_ratio_is_the_one_worked_by_hand():
    # 14 cases against 4.2 expected, of 100: 14 ln(14/4.2) + 86 ln(86/95.8)
    # = 14 x 1.20397 - 86 x 0.10792 = 16.8556 - 9.2811 = 7.5745.
    assert float(log_ratio(14, 4.2, 100)) == pytest.approx(7.5745, abs=1e-3)


def test_all_cases_inside_need_no_outside():
    assert float(log_ratio(5, 2.0, 5)) == pytest.approx(5 * log(2.5))
    assert float(log_ratio(5, 5.0, 5)) == 0


def by_enumeration(ground, expected, *, ending, longest, least, most):
    """Every window, one by one: its areas, product, role and periods, with cases, expected and ratio."""
    total, periods = ground.total, len(ground.span.starts)
    for area, stocked, role in product(
        range(len(ground.areas)), (None, *range(len(ground.products))), (None, *range(len(ground.roles)))
    ):
        for first in range(periods):
            for last in range(first, periods) if ending is Ending.ANY else [periods - 1]:
                if last - first + 1 > longest:
                    continue
                seen, usual = 0, 0.0
                for ward, line in enumerate(ground.within):
                    for period in range(first, last + 1):
                        if area not in line or (
                            stocked is not None and not ground.stock[stocked, ward, period]
                        ):
                            continue
                        roles = range(len(ground.roles)) if role is None else [role]
                        seen += sum(int(ground.cases[ward, one, period]) for one in roles)
                        usual += sum(float(expected[ward, one, period]) for one in roles)
                if seen >= least and seen > usual and usual <= most:
                    outside = (total - seen) * log((total - seen) / (total - usual)) if seen < total else 0
                    yield (area, stocked, role, first, last), seen, seen * log(seen / usual) + outside


@pytest.mark.parametrize(
    ("seed", "ending", "longest", "least", "share"),
    [
        (1, Ending.NOW, 6, 2, 0.5),
        (2, Ending.NOW, 3, 3, 0.2),
        (3, Ending.ANY, 6, 2, 0.5),
        (4, Ending.ANY, 3, 3, 0.9),
        (5, Ending.ANY, 1, 2, 0.1),
    ],
)
def test_no_window_is_missed_and_none_is_counted_wrong(seed, ending, longest, least, share):
    ground = scattered(seed)
    expected = expected_cases(ground)
    reach = Reach(ending is Ending.NOW, longest, share * ground.total, least)
    windows = lay_windows(ground, expected, reach)
    one_by_one = {
        key: (seen, ratio)
        for key, seen, ratio in by_enumeration(
            ground, expected, ending=ending, longest=longest, least=least, most=share * ground.total
        )
    }
    found = {}
    for chunk in windows.found(*cases_one_a_place(ground)):
        for one in range(len(chunk.ratio)):
            area, stocked, role = windows.unpack(int(chunk.set[one]))
            of = (area, stocked - 1 if stocked else None, role if role < windows.roles else None)
            key = (*of, int(chunk.first[one]), int(chunk.last[one]))
            count, ratio = found.get(key, (0, 0.0))
            found[key] = max(count, int(chunk.cases[one])), max(ratio, float(chunk.ratio[one]))
    for key, (count, ratio) in found.items():
        assert one_by_one[key] == (count, pytest.approx(ratio, rel=1e-9))
    # Windows left out begin or end in a period without a case: another with the same cases expects less.
    tightest = {}
    for (area, stocked, role, *_), _, ratio in by_enumeration(
        ground, expected, ending=ending, longest=longest, least=least, most=share * ground.total
    ):
        key = (area, stocked, role)
        tightest[key] = max(tightest.get(key, 0.0), ratio)
    for key, ratio in tightest.items():
        assert max(one for of, (_, one) in found.items() if of[:3] == key) == pytest.approx(ratio)


def cases_one_a_place(ground):
    cells = np.nonzero(ground.cases)
    area, role, period = (np.repeat(one, ground.cases[cells]) for one in cells)
    return np.zeros_like(area), area, role, period


@pytest.mark.parametrize("ending_now", [True, False])
def test_many_draws_at_once_give_what_each_gives_alone(ending_now):
    ground = scattered(7)
    expected = expected_cases(ground)
    windows = lay_windows(ground, expected, Reach(ending_now, 6, 20.0, 2))
    cells = np.flatnonzero(expected)
    draws = np.random.default_rng(7).choice(
        cells, (3, ground.total), p=expected.ravel()[cells] / ground.total
    )
    alone = []
    for drawn in draws:
        places = np.unravel_index(drawn, expected.shape)
        found = windows.found(np.zeros_like(drawn), *places)
        alone.append(max(one.ratio.max(initial=0) for one in found))
    largest = np.zeros(3)
    places = np.unravel_index(draws.ravel(), expected.shape)
    for found in windows.found(np.repeat([0, 1, 2], ground.total), *places):
        np.maximum.at(largest, found.draw, found.ratio)
    assert largest.tolist() == pytest.approx(alone)
    assert len(set(alone)) == 3


def test_draws_keep_the_number_of_cases_and_follow_what_is_expected():
    # Two wards, one with three times the person-time of the other: with one window each, the larger ratio is
    # that of whichever has more than its share. Its chance is binomial: 10 cases, three in four.
    span = months(1)
    rows = [
        Counted("Ward 1", "nurse", span.starts[0], 5, 3.0),
        Counted("Ward 2", "nurse", span.starts[0], 5, 1.0),
    ]
    ground = lay_ground(HOSPITAL, span, rows, SOME_STOCK)
    expected = expected_cases(ground)
    windows = lay_windows(ground, expected, Reach(True, 1, 9.0, 2))
    largest = draw_largest(windows, expected, 4_000, seed=3)
    five_or_more = float(np.mean(largest >= float(log_ratio(5, 2.5, 10)) - 1e-9))
    # P(5 or more in the small ward) = 0.0781; 10 of 10 in the large one, whose ratio is 2.877, has 0.0563.
    assert float(log_ratio(10, 7.5, 10)) > float(log_ratio(5, 2.5, 10))
    assert five_or_more == pytest.approx(0.0781 + 0.0563, abs=4 * np.sqrt(0.134 * 0.866 / 4_000))


# What is found


SPREAD = {(ward, "nurse", 1 + nth): 1 for nth, ward in enumerate(WARDS[:5])}
SPREAD |= {(ward, "cleaner", 5 - nth): 1 for nth, ward in enumerate(WARDS[:5])}
NEW_SOAP = [Stocked("product 31", ward, date(2026, 5, 14)) for ward in ("Ward 1", "Ward 6", "Ward 7")]
AFTER_SOAP = SPREAD | dict.fromkeys(product(("Ward 1", "Ward 6", "Ward 7"), ("cleaner", "nurse"), (5, 6)), 1)


def settings(**more):
    return ScanSettings(**{"seed": 1, "replicates": 199, **more})


def test_wards_that_share_a_product_are_named_by_it():
    first = scan_for_clusters(ground_of(AFTER_SOAP, NEW_SOAP + SOME_STOCK), settings()).clusters[0]
    assert (first.area, first.product, first.role) == ("Hospital", "product 31", None)
    assert (first.first, first.until_now, first.cases) == (date(2026, 5, 1), True, 12)
    assert first.in_words.startswith("Since 1 May 2026, wards stocking product 31: ")
    assert first.chance <= 0.02
    assert first.one_scan_in == pytest.approx(1 / first.chance)


def test_products_that_lay_in_the_same_places_are_named_together():
    twin = [Stocked("product 9", one.area, one.first) for one in NEW_SOAP]
    elsewhere_too = [Stocked("product 5", ward, date(2026, 1, 1)) for ward in WARDS]
    ground = ground_of(AFTER_SOAP, [*NEW_SOAP, *twin, *elsewhere_too])
    first = scan_for_clusters(ground, settings()).clusters[0]
    assert {first.product, *first.also} == {"product 31", "product 9"}
    assert "and so as likely: " in first.in_words


def test_one_ward_alone_is_named_as_itself_with_what_was_in_stock():
    cases = SPREAD | {("Ward 8", "nurse", month): 4 for month in (5, 6)}
    stock = [*SOME_STOCK, Stocked("product 3", "Ward 8", date(2026, 4, 20))]
    first = scan_for_clusters(ground_of(cases, stock), settings()).clusters[0]
    assert (first.area, first.product, first.role) == ("Ward 8", None, "nurse")
    assert first.in_words.endswith("In stock there throughout: product 3.")


def test_a_role_and_a_department_are_told_apart_from_their_neighbours():
    cases = SPREAD | {(ward, "cleaner", 6): 2 for ward in WARDS[4:]}
    first = scan_for_clusters(ground_of(cases), settings()).clusters[0]
    assert (first.area, first.product, first.role) == ("Surgery", None, "cleaner")
    assert "Since 1 June 2026, Surgery, cleaner: 8 cases against " in first.in_words


def test_a_cluster_that_is_over_is_seen_only_looking_back():
    cases = SPREAD | {("Ward 8", "nurse", 3): 7}
    now = scan_for_clusters(ground_of(cases), settings(longest=2))
    assert now.clusters == ()
    assert now.finding.startswith("No window looked at held more cases than expected")
    back = scan_for_clusters(ground_of(cases), settings(ending=Ending.ANY)).clusters[0]
    assert (back.area, back.first, back.last) == ("Ward 8", date(2026, 3, 1), date(2026, 3, 31))
    assert back.in_words.startswith("From 1 March 2026 to 31 March 2026, Ward 8, nurse: 7 cases")
    assert back.one_scan_in is None


def test_clusters_share_no_people_and_days():
    cases = SPREAD | {("Ward 8", "nurse", month): 5 for month in (5, 6)}
    cases |= {("Ward 2", "cleaner", month): 4 for month in (4, 5, 6)}
    ground = ground_of(cases)
    clusters = scan_for_clusters(ground, settings(worth=0.9)).clusters
    assert [(one.area, one.role) for one in clusters[:2]] == [("Ward 2", "cleaner"), ("Ward 8", "nurse")]
    ratios = [one.log_ratio for one in clusters]
    assert ratios == sorted(ratios, reverse=True)
    taken = [cells_of(ground, one) for one in clusters]
    assert len(set().union(*taken)) == sum(map(len, taken))


@pytest.mark.parametrize(("earlier", "later"), [(6, 8), (8, 6)])
def test_two_clusters_of_one_ward_are_told_apart_by_their_time(earlier, later):
    span = months(12)
    cases = SPREAD | {("Ward 8", "nurse", 2): earlier, ("Ward 8", "nurse", 9): later}
    cases |= {(ward, "nurse", month): 1 for ward in WARDS[:7] for month in (6, 7, 12)}
    clusters = scan_for_clusters(ground_of(cases, span=span), settings(ending=Ending.ANY)).clusters
    assert {(one.area, one.first.month, one.last.month) for one in clusters} == {
        ("Ward 8", 2, 2),
        ("Ward 8", 9, 9),
    }


def cells_of(ground, cluster):
    return {
        (ward, role, day)
        for at, (ward, line) in enumerate(zip(ground.areas, ground.within, strict=True))
        for nth, role in enumerate(ground.roles)
        for period, day in enumerate(ground.span.starts)
        if ground.areas.index(cluster.area) in line
        and cluster.role in (None, role)
        and cluster.first <= day <= cluster.last
        and ground.person_time[at, nth, period]
        and (cluster.product is None or ground.stock[ground.products.index(cluster.product), at, period])
    }


def test_where_nothing_stands_out_no_cluster_is_named_but_the_nearest_is_shown():
    scan = scan_for_clusters(ground_of(SPREAD), settings())
    assert scan.clusters == ()
    assert scan.nearest is None or scan.nearest.chance > 0.05
    even = dict.fromkeys(product(WARDS, ("cleaner", "nurse"), range(1, 7)), 1)
    assert scan_for_clusters(ground_of(even), settings()).finding.startswith("No window looked at held")


def test_no_window_is_wider_than_asked():
    wide = {(ward, "nurse", month): 1 for ward in WARDS[4:] for month in (4, 5, 6)}
    longest = scan_for_clusters(ground_of(SPREAD | wide), settings(longest=2)).nearest
    assert (longest.first, longest.cases) == (date(2026, 5, 1), 8 + (longest.area == "Hospital"))
    assert scan_for_clusters(ground_of({("Ward 1", "nurse", 6): 1}), settings()).nearest is None


# What is expected


def test_expected_cases_follow_person_time_and_keep_the_cases_of_each_role():
    span = months(1)
    day = span.starts[0]
    rows = [
        Counted("Ward 1", "nurse", day, 9, 3.0),
        Counted("Ward 2", "nurse", day, 3, 1.0),
        Counted("Ward 1", "cleaner", day, 0, 1.0),
        Counted("Ward 2", "cleaner", day, 4, 1.0),
    ]
    ground = lay_ground(HOSPITAL, span, rows, SOME_STOCK)
    wards = [ground.areas.index("Ward 1"), ground.areas.index("Ward 2")]
    # Nurses 12 cases in 4 years: 9 and 3. Cleaners 4 in 2: 2 each. Without roles 16 in 6.
    assert expected_cases(ground)[wards, :, 0].ravel().tolist() == pytest.approx([2, 9, 2, 3])
    assert expected_cases(ground, by=())[wards, :, 0].sum(axis=1).tolist() == pytest.approx([64 / 6, 32 / 6])
    by_area = expected_cases(ground, by=(By.AREA, By.ROLE))
    assert by_area[wards].sum(axis=(1, 2)).tolist() == pytest.approx([9, 7])
    assert by_area.sum(axis=(0, 2)).tolist() == pytest.approx([4, 12])


def test_a_winter_that_comes_every_year_is_no_cluster():
    span = months(25, year=2024)
    january = {
        (ward, "nurse", month): 3 if month in (1, 13, 25) else int(month % 4 == nth % 4)
        for nth, ward in enumerate(WARDS)
        for month in range(1, 26)
    }
    blind = scan_for_clusters(ground_of(january, span=span), settings())
    seasoned = scan_for_clusters(ground_of(january, span=span), settings(by=(By.ROLE, By.SEASON)))
    assert blind.clusters[0].first == date(2026, 1, 1)
    assert seasoned.clusters == ()


def test_an_area_that_was_always_high_is_no_cluster_when_areas_may_differ():
    cases = {(ward, "nurse", month): 1 for ward in WARDS for month in (1, 3, 5)}
    cases |= {("Ward 3", "nurse", month): 4 for month in range(1, 7)}
    assert scan_for_clusters(ground_of(cases), settings()).clusters[0].area == "Ward 3"
    assert scan_for_clusters(ground_of(cases), settings(by=(By.AREA, By.ROLE))).clusters == ()


# Late reports


def test_the_newest_period_is_held_to_what_could_be_reported_by_now():
    delay = ReportingDelay((0.25, 0.75, 1.0))
    cases = {(ward, "nurse", month): 2 for ward in WARDS for month in range(1, 5)}
    ground = ground_of(cases)
    in_full, lowered = expected_cases(ground), expected_cases(ground, delay=delay)
    by_month = lowered.sum(axis=(0, 1))
    assert by_month / by_month[0] == pytest.approx([1, 1, 1, 1, 0.75, 0.25])
    assert lowered.sum() == pytest.approx(in_full.sum())


def test_a_rise_half_reported_is_seen_sooner_with_the_delay():
    cases = {(ward, "nurse", month): 1 for ward in WARDS for month in range(1, 5)}
    cases |= {("Ward 8", "nurse", 6): 3}
    late = settings(delay=ReportingDelay((0.2, 0.6, 1.0)))
    with_delay, without = (scan_for_clusters(ground_of(cases), one).nearest for one in (late, settings()))
    assert with_delay.area == without.area == "Ward 8"
    assert with_delay.chance < without.chance
    assert with_delay.expected < without.expected


def test_the_delay_is_learned_from_cases_that_had_time_to_show_it():
    # Period 0: 5 at once, 3 one late, 2 two late. Period 1: 5 and 3 so far. Period 2: 5 so far.
    began = [0] * 10 + [1] * 8 + [2] * 5
    late = [0] * 5 + [1] * 3 + [2] * 2 + [0] * 5 + [1] * 3 + [0] * 5
    reported = [start + wait for start, wait in zip(began, late, strict=True)]
    assert observed_delay(began, reported, now=2, longest=2).reported == pytest.approx((0.5, 0.8, 1.0))
    # Taken at face value it would be 15 of 23 at once.


def test_what_is_assumed_of_reports_is_said():
    ground = ground_of(SPREAD)
    lowered = scan_for_clusters(ground, settings(delay=ReportingDelay((0.4, 0.9, 1.0)))).cautions[-1]
    assert "of the last 2 periods, newest first, are lowered" in lowered
    assert "(40 %, 90 %)" in lowered
    at_once = scan_for_clusters(ground, settings(delay=ReportingDelay((1.0,)))).cautions[-1]
    assert at_once.startswith("Cases were taken to be reported in the period they begin")
    assert scan_for_clusters(ground, settings()).cautions[-1].startswith("No allowance was made")


# What can't be


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: Counted("Ward 1", "nurse", date(2026, 1, 1), -1, 2.0), "cases of Ward 1, nurse, 2026-01-01"),
        (lambda: Counted("Ward 1", "nurse", date(2026, 1, 1), 1.5, 2.0), "a whole number"),
        (lambda: Counted("Ward 1", "nurse", date(2026, 1, 1), 1, 0.0), "above 0, since 1 cases"),
        (lambda: Counted("Ward 1", "nurse", date(2026, 1, 1), 0, -2.0), "a number, 0 or more"),
        (lambda: Counted("Ward 1", "nurse", date(2026, 1, 1), 0, float("nan")), "a number, 0 or more"),
        (lambda: ground_of(SPREAD, []), "No product was given."),
        (lambda: ground_of({}), "No case was given."),
        (lambda: ground_of(SPREAD, [Stocked("p", "Ward 99", date(2026, 1, 1))]), "'Ward 99'"),
        (
            lambda: ground_of(SPREAD, [Stocked("p", "Ward 1", date(2026, 2, 1), date(2026, 1, 1))]),
            "last of p in Ward 1",
        ),
        (
            lambda: lay_ground([ScanArea("A", "B"), ScanArea("B", "A")], months(1), [], SOME_STOCK),
            "not part of it in turn",
        ),
        (lambda: lay_ground([ScanArea("A", "B")], months(1), [], SOME_STOCK), "within of A: is 'B'"),
        (lambda: lay_ground([ScanArea("A")] * 2, months(1), [], SOME_STOCK), "named once"),
        (
            lambda: lay_ground(
                HOSPITAL, months(1), [Counted("Ward 1", "n", date(2026, 1, 1), 1, 2.0)] * 2, SOME_STOCK
            ),
            "given once",
        ),
        (lambda: Span((date(2026, 2, 1), date(2026, 1, 1)), date(2026, 3, 1)), "not in order of time"),
        (lambda: Span((date(2026, 2, 1),), date(2026, 1, 1)), "not in order of time"),
        (lambda: Span((), date(2026, 1, 1)), "No period was given."),
        (lambda: ReportingDelay((0.5, 0.4, 1.0)), "rise to 1"),
        (lambda: ReportingDelay((0.0, 1.0)), "above 0"),
        (lambda: ReportingDelay(()), "reported: is ()"),
        (lambda: observed_delay([1], [0], 2, 1), "or later"),
        (lambda: observed_delay([], [], 2, 1), "No case was given."),
        (lambda: observed_delay([0, 0], [1, 1], 1, 1), "ever reported in the period it began"),
        (lambda: observed_delay([1, 1], [1, 1], 1, 1), "old enough to show a delay of 1"),
        (lambda: settings(replicates=98), "replicates: is 98"),
        (lambda: settings(least_cases=1), "least_cases: is 1"),
        (lambda: settings(longest=0), "longest: is 0"),
        (lambda: settings(worth=0), "worth: is 0"),
        (lambda: settings(seed=-1), "seed: is -1"),
        (lambda: settings(largest_share=1.0), "largest_share: is 1.0"),
        (lambda: expected_cases(ground_of(SPREAD), by=(By.SEASON,)), "less than two years"),
    ],
)
def test_what_can_not_be_is_refused_with_the_reason(make, says):
    with pytest.raises((UnusableCount, NothingToCompare)) as refused:
        make()
    assert says in str(refused.value)
