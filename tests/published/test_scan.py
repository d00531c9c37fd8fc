"""The scan for clusters against other people's numbers.

Leukaemia in an eight-county area of New York, 552 cases among 1,057,673 people: the data of Waller and others
1994 as given in Waller and Gotway, Applied Spatial Statistics for Public Health Data, Wiley 2004. Cases,
people, expected cases and log likelihood ratios of three clusters are those in the tests of smerc 1.8.3 (R),
tests/testthat/test-scan.test.R. Its zones are circles, so its chances can't be ours. Kulldorff 1997 gives the
formula; no worked example of areas, roles, products and time was found in print.
"""

from datetime import date

import pytest

from thenar.population.scan import Ending, ScanSettings, scan_for_clusters
from thenar.population.scan_expected import expected_cases
from thenar.population.scan_ground import Counted, ScanArea, Span, Stocked, lay_ground
from thenar.population.scan_windows import log_ratio

CASES, PEOPLE = 552, 1_057_673
CLUSTERS = [  # name, cases, people, expected, relative to expected, log likelihood ratio
    ("first", 85, 95_249, 49.71, 1.71, 11.577255),
    ("second", 38, 34_083, 17.79, 2.14, 9.019716),
    ("seventh", 11, 8_839, 4.61, 2.38, 3.209485),
]
DAY = date(1982, 12, 31)


def three_clusters_and_the_rest():
    rest = CASES - sum(row[1] for row in CLUSTERS), PEOPLE - sum(row[2] for row in CLUSTERS)
    rows = [(name, cases, people) for name, cases, people, *_ in CLUSTERS] + [("rest", *rest)]
    return lay_ground(
        [ScanArea("all"), *(ScanArea(name, within="all") for name, *_ in rows)],
        Span((DAY,), DAY),
        [Counted(name, "resident", DAY, cases, people) for name, cases, people in rows],
        [Stocked("none of these", "all", DAY)],
    )


@pytest.mark.parametrize("cluster", CLUSTERS)
def test_log_likelihood_ratios_agree_with_leukaemia_in_new_york(cluster):
    _, cases, people, expected, _, ratio = cluster
    usual = CASES * people / PEOPLE
    assert usual == pytest.approx(expected, abs=0.005)
    assert float(log_ratio(cases, usual, CASES)) == pytest.approx(ratio, abs=5e-7)


@pytest.mark.parametrize("ending", Ending)
def test_the_same_clusters_are_found_in_the_same_order(ending):
    ground = three_clusters_and_the_rest()
    assert expected_cases(ground).sum() == pytest.approx(CASES)
    scan = scan_for_clusters(ground, ScanSettings(seed=1, ending=ending, worth=0.5))
    found = [(one.area, one.cases, one.log_ratio) for one in scan.clusters]
    assert found == [(name, cases, pytest.approx(ratio, abs=5e-7)) for name, cases, *_, ratio in CLUSTERS]
    for one, (_, _, _, expected, times, _) in zip(scan.clusters, CLUSTERS, strict=True):
        assert one.expected == pytest.approx(expected, abs=0.005)
        assert one.times_expected == pytest.approx(times, abs=0.005)
