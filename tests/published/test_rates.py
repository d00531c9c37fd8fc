"""Rates against published figures, scipy's distributions, and shifts drawn one by one.

The references are scipy 1.17.1 (scipy.stats.nbinom, gamma, poisson and binomtest; scipy.integrate.quad) and
shifts drawn with numpy 2.4.6. Figures from papers stand beside each test.
"""

from datetime import date

import numpy as np
import pytest
from scipy import stats
from scipy.integrate import quad

from thenar.exposure.hospital_draws import Post, draw_hospital
from thenar.exposure.load_chances import Limit, Minutes, acts_in
from thenar.exposure.opportunities import (
    Covers,
    NotTheseHours,
    opportunities_per_patient_day,
    opportunities_per_shift,
    rubs_per_patient_day,
)
from thenar.exposure.rates import ActLength, Rate
from thenar.exposure.sessions import Quantity, Seen, Timed
from thenar.exposure.spread import spread_of
from thenar.exposure.starting_rates import starting_rate, unit_types
from thenar.knowledge import load

BOOK = load()
DAY = date(2026, 11, 25)
SHIFTS = 1_000_000


def rate(shape, hours, part="early"):
    return Rate(Quantity.WASHES, part, Seen(0, 0), shape, hours)


def at_least(amount):
    return Limit("limit", Quantity.WASHES, ">=", amount)


# Published figures

GOODLIFFE = {
    # Goodliffe and others, Infect Control Hosp Epidemiol 2014;35:225, doi 10.1086/675286, abstract
    "adult-intensive-care": 13.2,
    "neonatal-intensive-care": 10.4,
    "emergency": 5.2,
    "medical-ward": 4.5,
    "surgical-ward": 4.2,
}


@pytest.mark.parametrize(("unit", "per_patient_hour"), GOODLIFFE.items())
def test_a_nurse_with_one_patient_has_three_quarters_of_the_units_opportunities(unit, per_patient_hour):
    # Nurses 77 %, same abstract.
    start = starting_rate(unit, "nurse", 1, BOOK, DAY)
    assert start.opportunities_per_hour == pytest.approx(per_patient_hour * 0.77)
    assert start.covers is Covers.DAYTIME


def test_shares_of_all_staff_add_up_to_one():
    # 77, 8, 11 and 4 %, same abstract.
    shares = [
        starting_rate("medical-ward", group, 1, BOOK, DAY).opportunities_per_hour / 4.5
        for group in ("nurse", "doctor", "other", "housekeeping")
    ]
    assert shares == pytest.approx([0.77, 0.08, 0.11, 0.04])


@pytest.mark.parametrize(
    ("per_patient_hour", "patients", "opportunities"),
    [
        (13.2, 1, 81),  # intensive care, one to one, 8 h by day: 13.2 x 0.77 x 8 = 81.3
        (4.5, 5, 139),  # medical ward, one to five: 4.5 x 0.77 x 5 x 8 = 138.6
    ],
)
def test_opportunities_of_a_nurse_in_a_day_shift(per_patient_hour, patients, opportunities):
    assert round(opportunities_per_shift(per_patient_hour, 0.77, patients, 8)) == opportunities


def test_a_daytime_rate_times_24_overshoots_what_was_counted_by_half():
    # 4.5 an hour by day (Goodliffe 2014) against 71.6 a patient-day round the clock on a medical ward
    # (Diller and others, Am J Infect Control 2014;42:602, doi 10.1016/j.ajic.2014.02.020): 108 / 71.6 = 1.51
    with pytest.raises(NotTheseHours):
        opportunities_per_patient_day(4.5, Covers.DAYTIME)
    scaled = opportunities_per_patient_day(4.5, Covers.DAYTIME, scale_anyway=True).opportunities
    assert scaled == 108
    assert scaled / 71.6 == pytest.approx(1.51, abs=0.005)


def test_the_round_the_clock_ward_starts_from_three_an_hour():
    # 71.6 / 24 = 2.98, Diller 2014; alone with one patient and all of a nurse's share: 2.98 x 0.77
    start = starting_rate("medical-ward-round-the-clock", "nurse", 1, BOOK, DAY)
    assert start.opportunities_per_hour / 0.77 == pytest.approx(2.98, abs=0.005)
    assert start.covers is Covers.ROUND_THE_CLOCK


@pytest.mark.parametrize(
    ("unit", "taken"),
    [
        # Lambe 2019, doi 10.1097/CCM.0000000000003868: adult 58.2 %, neonatal 67.0 %
        ("adult-intensive-care", 0.582),
        ("neonatal-intensive-care", 0.67),
        # Megeus, Antimicrob Resist Infect Control 2015;4:5: 8.1 % over an operation, 3.1 % at induction
        ("anaesthesia", 0.081),
        ("anaesthesia-induction", 0.031),
        # Erasmus 2010, doi 10.1086/650451, mean 40 %, for all others
        ("medical-ward", 0.40),
        ("emergency", 0.40),
    ],
)
def test_the_share_taken_is_the_units_own_where_one_is_published(unit, taken):
    start = starting_rate(unit, "nurse", 1, BOOK, DAY)
    assert start.acts_per_hour / start.opportunities_per_hour == pytest.approx(taken)


def test_no_unit_type_has_a_rate_that_was_not_found():
    # No rate was found for these.
    assert not {"dialysis", "outpatient", "paediatric-ward", "care-home"} & set(unit_types(BOOK))


@pytest.mark.parametrize(
    ("millilitres", "rubs"),
    [
        # German wards and intensive care 2018: BMC Infect Dis 2021, doi 10.1186/s12879-021-06427-7
        (137.4, 45.8),
        (32.6, 10.9),
        # 232 European hospitals, medians, PROHIBIT: intensive care and other wards
        (66, 22.0),
        (13, 4.3),
    ],
)
def test_rubs_from_consumption_at_3_ml(millilitres, rubs):
    # mL a patient-day are litres over 1000 patient-days.
    dose = float(BOOK.rule("rates.rub-dose").on(DAY).amount)
    assert round(rubs_per_patient_day(millilitres, 1000, dose), 1) == rubs


# scipy


@pytest.mark.parametrize(
    ("shape", "hours"), [(0.5, 2 / 3), (2.079, 1.0), (9.5, 3.0), (62.1, 31.0), (900.5, 300)]
)
def test_one_stretch_of_work_is_scipys_negative_binomial(shape, hours):
    acts = acts_in([(rate(shape, hours), 8.0)])
    reference = stats.nbinom(shape, hours / (hours + 8))
    assert acts.chances == pytest.approx(reference.pmf(np.arange(len(acts.chances))), abs=1e-12)
    assert acts.mean == pytest.approx(reference.mean())
    assert [acts.quantile(q) for q in (0.025, 0.5, 0.975)] == list(reference.ppf([0.025, 0.5, 0.975]))
    for amount in (1, 15, 20, 25):
        assert acts.chance(at_least(amount), seed=1).chance == pytest.approx(
            reference.sf(amount - 1), abs=1e-10
        )


def test_stretches_with_the_same_hours_behind_them_add_up_to_one_negative_binomial():
    # Gammas of equal scale add their shapes: 2.5 + 7.5 in 3 h, both worked 4 h.
    acts = acts_in([(rate(2.5, 3.0), 4.0), (rate(7.5, 3.0), 4.0)])
    reference = stats.nbinom(10, 3 / 7)
    assert acts.chances == pytest.approx(reference.pmf(np.arange(len(acts.chances))), abs=1e-12)


@pytest.mark.parametrize("share", [0.025, 0.5, 0.975])
def test_the_interval_of_a_rate_is_scipys_gamma(share):
    assert rate(9.5, 3.0).quantile(share) == pytest.approx(stats.gamma(9.5, scale=1 / 3).ppf(share))


def test_a_shift_passes_a_time_as_an_integral_over_length_and_count_says():
    """The closed form against quadrature over the mean length, scipy.integrate.quad."""
    worked, length = [(rate(9.5, 3.0), 8.0)], ActLength(Timed.WET_MINUTES, 12, 30.0)
    minutes = Minutes(acts_in(worked), length)
    counts = np.arange(1, 200)
    number = stats.nbinom(9.5, 3 / 11).pmf(counts)

    def over(ends_a_minute):
        lengths = stats.gamma(counts, scale=1 / ends_a_minute).sf(60)
        return float(number @ lengths) * stats.gamma(12, scale=1 / 30).pdf(ends_a_minute)

    expected, _ = quad(over, 0.01, 2.0, limit=200)
    assert minutes.over(60) == pytest.approx(expected, abs=1e-6)


def test_the_spread_of_two_observers_has_its_binomial_chance():
    # 2 of 12 acts in equal hours: two-sided exact binomial, scipy.stats.binomtest, 0.0386.
    # 4000 draws: standard error sqrt(0.0386 x 0.9614 / 4000) = 0.003; four of them.
    spread = spread_of([Seen(2, 1.0), Seen(10, 1.0)], seed=3)
    assert spread.by_chance == pytest.approx(stats.binomtest(2, 12).pvalue, abs=0.012)
    assert spread.index == pytest.approx((16 + 16) / 6)


# A million shifts drawn one by one

CASES = {
    "40 minutes watched": [((3.079, 5 / 3), 8.0)],
    "30 hours watched": [((47.079, 31.0), 8.0)],
    "two parts of a shift": [((9.5, 3.0), 3.0), ((2.079, 1.0), 5.0)],
    "three parts of a shift": [((9.5, 3.0), 3.0), ((30.0, 12.0), 4.0), ((0.5, 2.0), 1.0)],
}


@pytest.mark.parametrize("stretches", CASES.values(), ids=CASES)
def test_the_load_of_a_shift_agrees_with_a_million_shifts(stretches):
    """A share p of n draws has the standard error sqrt(p (1 - p) / n); at 10^6, at most 0.0005.

    Five of them: a slip of the method shows, and chance fails a test once in two million.
    """
    stream = np.random.default_rng(20261125)
    drawn = sum(
        stream.poisson(stream.gamma(shape, 1 / hours, SHIFTS) * worked)
        for (shape, hours), worked in stretches
    )
    acts = acts_in([(rate(*known), worked) for known, worked in stretches])
    for amount in (5, 15, 20, 25):
        chance = acts.chance(at_least(amount), seed=1).chance
        error = np.sqrt(chance * (1 - chance) / SHIFTS)
        assert abs((drawn >= amount).mean() - chance) <= 5 * error
    # The mean of n draws has the standard error sd / sqrt(n).
    assert abs(drawn.mean() - acts.mean) <= 5 * drawn.std() / np.sqrt(SHIFTS)


def test_wet_minutes_agree_with_a_million_shifts():
    """Acts drawn, then a mean length, then that many lengths. Same standard error, five of them."""
    stream = np.random.default_rng(20261126)
    number = stream.poisson(stream.gamma(9.5, 1 / 3, SHIFTS) * 8)
    ends_a_minute = stream.gamma(12, 1 / 30, SHIFTS)
    drawn = np.where(number > 0, stream.gamma(np.maximum(number, 1)) / ends_a_minute, 0)
    minutes = Minutes(acts_in([(rate(9.5, 3.0), 8.0)]), ActLength(Timed.WET_MINUTES, 12, 30.0))
    for amount in (30, 60, 120, 240):
        chance = minutes.chance(Limit("time", Timed.WET_MINUTES, ">", amount), seed=1).chance
        assert abs((drawn > amount).mean() - chance) <= 5 * np.sqrt(chance * (1 - chance) / SHIFTS)
    # Its lengths have 12 - 2 moments, so the mean has a standard error.
    assert abs(drawn.mean() - minutes.mean) <= 5 * drawn.std() / np.sqrt(SHIFTS)
    for share in (0.025, 0.5, 0.975):
        below = (drawn <= minutes.quantile(share)).mean()
        assert abs(below - share) <= 5 * np.sqrt(share * (1 - share) / SHIFTS)


def test_the_interval_of_a_chance_is_that_of_the_rate():
    """One stretch: the chance rises with the rate, so its ends are those at the ends of the gamma.

    4000 draws place the 2.5 % end at a share with standard error sqrt(0.025 x 0.975 / 4000) = 0.0025; so the
    end must lie between the gamma's values at 0.0125 and 0.0375, five of them either way but one.
    """
    found = acts_in([(rate(9.5, 3.0), 8.0)]).chance(at_least(15), seed=1)

    def at(share):
        return stats.poisson(stats.gamma(9.5, scale=8 / 3).ppf(share)).sf(14)

    assert at(0.0125) <= found.lower <= at(0.0375)
    assert at(0.9625) <= found.upper <= at(0.9875)
    assert found.lower < found.chance < found.upper


def test_the_hospitals_posts_agree_with_scipys_gamma():
    """20,000 draws: standard error of a share at most sqrt(0.25 / 20,000) = 0.0035; five of them."""
    known = [(3.0, 2.0), (40.0, 20.0), (62.1, 31.0)]
    posts = [Post(f"area {n}", "nurse", [(rate(*one), 8.0)]) for n, one in enumerate(known)]
    hospital = draw_hospital(posts, at_least(15), draws=20_000, seed=5)
    exact = [stats.gamma(shape, scale=8 / hours).sf(15) for shape, hours in known]
    for post, (shape, hours), chance in zip(hospital.posts, known, exact, strict=True):
        assert abs(post.chance - chance) < 0.0177
        for end, share in ((post.lower, 0.025), (post.upper, 0.975)):
            # A quantile's place in the distribution: sqrt(0.025 x 0.975 / 20,000) = 0.0011; five of them.
            assert abs(stats.gamma(shape, scale=8 / hours).cdf(end) - share) < 0.0056
    assert hospital.posts_over[0] == pytest.approx(sum(exact), abs=0.03)
