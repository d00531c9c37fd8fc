"""How often the scan for clusters is wrong when nothing happens, and how soon it sees a product that harms.

    python scripts/scan_study.py [YEARS_WITHOUT] [YEARS_WITH] [--out FILE]

Invented hospitals of 40 wards in 5 departments, 12 to 60 people a ward, three roles, about 60 new cases a
year, 13 products three of them in a ward. Each has three quiet years, then a year of monthly looks.
Without an effect, every look asks whether anything is a cluster. With one, a new product comes into 6 wards
on the first day of that year and triples the risk there. Beside the scan: a cumulative sum for each ward,
designed for one false alarm in 60 months in all wards together and given the true usual rate; a u-chart for
each ward; one u-chart for the hospital, both drawn from the quiet years. Prints the table of
docs/explanation/signals.md; passes or fails nothing.
"""

import argparse
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np

from thenar.population.charts import Against, chart_rates
from thenar.population.comparable import PeriodCount
from thenar.population.cusum_cases import CaseWatch, design_watch, watch_cases
from thenar.population.scan import Scan, ScanSettings, scan_for_clusters
from thenar.population.scan_ground import ScanGround, Span

WARDS, DEPARTMENTS, HARMED = 40, 5, 6
QUIET, LOOKS = 36, 12  # months
TIMES = 3.0
ROLES = {"carer": (0.25, 0.045), "cleaner": (0.15, 0.035), "nurse": (0.60, 0.045)}  # share, cases a year
OLD_PRODUCTS, NEW = 12, "product 31"
LOOKS_BETWEEN_ALARMS = 60
SETTINGS = {"replicates": 299, "worth": 1 / LOOKS_BETWEEN_ALARMS, "longest": 12, "most": 1}
METHODS = ("scan", "cumulative sums, 40 wards", "u-charts, 40 wards", "u-chart, hospital")


@dataclass(frozen=True)
class Hospital:
    """One hospital over four years: cases and person-time by area, role and month; where products were."""

    areas: tuple[str, ...]
    within: tuple[tuple[int, ...], ...]
    cases: np.ndarray
    time: np.ndarray
    stock: np.ndarray
    usual: np.ndarray

    def ground(self, look: int) -> ScanGround:
        """The three years up to a look, counted from 1."""
        months = slice(look, look + QUIET)
        starts = tuple(date(2023 + nth // 12, nth % 12 + 1, 1) for nth in range(QUIET + LOOKS + 1))[look:]
        span = Span(starts[:QUIET], date.fromordinal(starts[QUIET].toordinal() - 1))
        products = (*(f"product {nth}" for nth in range(1, OLD_PRODUCTS + 1)), NEW)
        return ScanGround(
            self.areas,
            self.within,
            tuple(ROLES),
            span,
            products,
            self.cases[:, :, months],
            self.time[:, :, months],
            self.stock[:, :, months],
        )


def a_hospital(seed: int, *, times: float) -> Hospital:
    draw = np.random.default_rng(seed)
    areas = ["Hospital", *(f"Department {nth}" for nth in range(1, DEPARTMENTS + 1))]
    within: list[tuple[int, ...]] = [(0,), *((nth, 0) for nth in range(1, DEPARTMENTS + 1))]
    for ward in range(WARDS):
        areas.append(f"Ward {ward + 1}")
        within.append((len(within), 1 + ward % DEPARTMENTS, 0))
    first, months = 1 + DEPARTMENTS, QUIET + LOOKS
    shares, rates = np.array(list(ROLES.values())).T
    time = np.zeros((len(areas), len(ROLES), months))
    time[first:] = (draw.integers(12, 61, WARDS)[:, None] * shares / 12)[:, :, None]
    stock = np.zeros((OLD_PRODUCTS + 1, len(areas), months), dtype=bool)
    for product in range(OLD_PRODUCTS):
        come, go = sorted(draw.integers(-24, months + 24, 2))
        stock[product, first + draw.permutation(WARDS)[:20], max(come, 0) : max(go, 0)] = True
    harmed = first + draw.permutation(WARDS)[:HARMED]
    stock[OLD_PRODUCTS, harmed, QUIET:] = True
    usual = time * rates[None, :, None]
    risk = np.where(stock[OLD_PRODUCTS], times, 1.0)[:, None, :]
    return Hospital(tuple(areas), tuple(within), draw.poisson(usual * risk), time, stock, usual)


@dataclass(frozen=True)
class Year:
    """The first look with an alarm of each method, None without; looks at which the scan alarmed."""

    first: dict[str, int | None]
    scan_alarms: int
    product_named: int | None


def watch_a_year(seed: int, *, times: float) -> Year:
    hospital = a_hospital(seed, times=times)
    scans = [
        scan_for_clusters(hospital.ground(look), ScanSettings(seed=seed * LOOKS + look, **SETTINGS))
        for look in range(1, LOOKS + 1)
    ]
    alarms = [look for look, scan in enumerate(scans, 1) if scan.clusters]
    named = [look for look in alarms if names_the_product(scans[look - 1])]
    first = {
        METHODS[0]: min(alarms, default=None),
        METHODS[1]: first_of_sums(hospital),
        METHODS[2]: first_of_charts(hospital, range(1 + DEPARTMENTS, len(hospital.areas))),
        METHODS[3]: first_of_charts(hospital, [0]),
    }
    return Year(first, len(alarms), min(named, default=None))


def names_the_product(scan: Scan) -> bool:
    return any(one.product == NEW or NEW in one.also for one in scan.clusters)


WATCHES: dict[float, CaseWatch] = {}


def first_of_sums(hospital: Hospital) -> int | None:
    """The first look at which the sum of any ward passes its threshold."""
    alarms = []
    for ward in range(1 + DEPARTMENTS, len(hospital.areas)):
        usual = float(hospital.usual[ward, :, 0].sum())
        if usual not in WATCHES:
            WATCHES[usual] = design_watch([usual], TIMES, LOOKS_BETWEEN_ALARMS, areas=WARDS)
        counts = hospital.cases[ward].sum(axis=0)[QUIET:]
        months = [PeriodCount(str(look), int(count), usual) for look, count in enumerate(counts, 1)]
        found = watch_cases(months, WATCHES[usual]).first_alarm
        alarms += [int(found)] if found else []
    return min(alarms, default=None)


def first_of_charts(hospital: Hospital, areas: range | list[int]) -> int | None:
    """The first look at which any of the areas is above its limit."""
    alarms = []
    for area in areas:
        held = [area in line for line in hospital.within]
        counts, time = (each[held].sum(axis=(0, 1)) for each in (hospital.cases, hospital.time))
        figures = zip(counts.tolist(), time.tolist(), strict=True)
        months = [PeriodCount(str(nth), count, size) for nth, (count, size) in enumerate(figures)]
        if counts[:QUIET].any():
            points = chart_rates(months, usual=QUIET).points[QUIET:]
            alarms += [look for look, point in enumerate(points, 1) if point.against is Against.ABOVE]
    return min(alarms, default=None)


def summary(without: list[Year], with_product: list[Year]) -> str:
    """The table of docs/explanation/signals.md."""
    looks = len(without) * LOOKS
    rows = [
        "| method | years with a false alarm | seen within 12 months | median months until seen |",
        "| --- | --- | --- | --- |",
    ]
    for method in METHODS:
        false = told([year.first[method] for year in without]).split(" |")[0]
        rows.append(f"| {method} | {false} | {told([year.first[method] for year in with_product])} |")
    rows.append(f"| scan, product named | | {told([year.product_named for year in with_product])} |")
    alarms = sum(year.scan_alarms for year in without)
    spread = np.std([year.scan_alarms / LOOKS for year in without]) / np.sqrt(len(without))
    said = (
        f"Without an effect the scan alarmed at {alarms} of {looks:,} looks ({alarms / looks:.2%}, give or "
    )
    said += f"take {2 * spread:.2%} over years); stated: {1 / LOOKS_BETWEEN_ALARMS:.2%}. "
    said += f"{len(without):,} years without, {len(with_product):,} with."
    return "\n".join([*rows, "", said])


def told(first: list[int | None]) -> str:
    """Share seen, with two standard errors, and the median of all, unseen ones among them."""
    seen = np.mean([look is not None for look in first])
    error = 2 * np.sqrt(seen * (1 - seen) / len(first))
    middle = float(np.median([LOOKS + 1 if look is None else look for look in first]))
    return (
        f"{seen:.0%} ± {error:.0%} | {middle:.0f}"
        if middle <= LOOKS
        else f"{seen:.0%} ± {error:.0%} | not seen"
    )


def main() -> None:
    parse = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parse.add_argument("years_without", type=int, nargs="?", default=1000)
    parse.add_argument("years_with", type=int, nargs="?", default=300)
    parse.add_argument("--out", type=Path)
    asked = parse.parse_args()
    without: list[Year] = []
    with_product: list[Year] = []
    for nth in range(max(asked.years_without, asked.years_with)):
        if nth < asked.years_without:
            without.append(watch_a_year(nth, times=1.0))
        if nth < asked.years_with:
            with_product.append(watch_a_year(1_000_000 + nth, times=TIMES))
        if asked.out:
            asked.out.write_text(summary(without, with_product), encoding="utf-8")
    print(summary(without, with_product))


if __name__ == "__main__":
    main()
