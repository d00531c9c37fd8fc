"""How fast a hospital group is scanned: 200 areas, 12 roles, 120 months, 40 products, 999 draws.

    python benchmarks/scan.py [CASES]

Prints figures, passes or fails nothing. The aim: at most 20 s, and at least 50 times as fast as a plain NumPy
loop over the same windows: for each area, product and role, cut the cases out, add them up from now
backwards, take every start's likelihood ratio. The loop is timed on some of the sets of one draw and scaled
up; on these sets both must find the same largest ratio. A smarter loop, all roles at once, is timed too. Both
loops add up what is expected along with the cases; kept from draw to draw, that would at most halve them.
Areas are 200 wards in 20 departments in one hospital, all scanned; a ward stocks about 7 products in any
month. Times are of this process alone, since others may be busy on the machine.
"""

import sys
from datetime import date
from time import perf_counter, process_time

import numpy as np

from thenar.population.scan import ScanSettings, draw_largest, scan_for_clusters
from thenar.population.scan_expected import expected_cases
from thenar.population.scan_ground import ScanGround, Span
from thenar.population.scan_windows import Reach, lay_windows, log_ratio

WARDS, DEPARTMENTS, ROLES, MONTHS, PRODUCTS = 200, 20, 12, 120, 40
DRAWS = 999
SEED = 20261126
PART = 60  # areas and products of which the loop is timed
LEAST = 2


def a_group(cases: int) -> ScanGround:
    """Wards with one to six roles at work; each product is in a quarter of the wards, some come and go."""
    draw = np.random.default_rng(SEED)
    areas = ["Hospital", *(f"Department {nth}" for nth in range(DEPARTMENTS))]
    within: list[tuple[int, ...]] = [(0,), *((1 + nth, 0) for nth in range(DEPARTMENTS))]
    for ward in range(WARDS):
        areas.append(f"Ward {ward}")
        within.append((len(within), 1 + ward % DEPARTMENTS, 0))
    time = np.zeros((len(areas), ROLES, MONTHS))
    time[1 + DEPARTMENTS :] = draw.gamma(2.0, 0.6, (WARDS, ROLES, 1)) * (draw.random((WARDS, ROLES, 1)) < 0.5)
    counts = draw.multinomial(cases, (time / time.sum()).ravel()).reshape(time.shape)
    stock = np.zeros((PRODUCTS, len(areas), MONTHS), dtype=bool)
    for product in range(PRODUCTS):
        first, last = sorted(draw.integers(-60, MONTHS + 60, 2))
        wards = 1 + DEPARTMENTS + np.flatnonzero(draw.random(WARDS) < 0.4)
        stock[product, wards, max(first, 0) : max(last, 0)] = True
    span = Span(tuple(date(2017 + nth // 12, nth % 12 + 1, 1) for nth in range(MONTHS)), date(2026, 12, 31))
    names = tuple(f"role {nth}" for nth in range(ROLES)), tuple(f"product {nth}" for nth in range(PRODUCTS))
    return ScanGround(tuple(areas), tuple(within), names[0], span, names[1], counts, time, stock)


def inside(ground: ScanGround, area: int) -> np.ndarray:
    """Which areas are part of one."""
    return np.array([area in line for line in ground.within])


def plain_loop(ground: ScanGround, expected: np.ndarray, pairs: list[tuple[int, int]]) -> float:
    """The largest ratio in sets of those areas and products, one set at a time."""
    largest = 0.0
    for area, product in pairs:
        areas = inside(ground, area)
        there = ground.stock[product][areas]
        for role in range(ROLES + 1):
            roles = slice(None) if role == ROLES else slice(role, role + 1)
            seen = (ground.cases[areas, roles] * there[:, None]).sum(axis=(0, 1))
            usual = (expected[areas, roles] * there[:, None]).sum(axis=(0, 1))
            largest = max(largest, largest_since(seen, usual, ground.total))
    return largest


def roles_at_once(ground: ScanGround, expected: np.ndarray, pairs: list[tuple[int, int]]) -> float:
    """The same, all roles of an area and product at once."""
    largest = 0.0
    for area, product in pairs:
        areas = inside(ground, area)
        there = ground.stock[product][areas][:, None]
        seen, usual = (ground.cases[areas] * there).sum(axis=0), (expected[areas] * there).sum(axis=0)
        seen, usual = (np.vstack([one, one.sum(axis=0)]) for one in (seen, usual))
        largest = max(largest, largest_since(seen, usual, ground.total))
    return largest


def largest_since(seen: np.ndarray, usual: np.ndarray, total: int) -> float:
    """The largest ratio of windows until now."""
    seen, usual = np.cumsum(seen[..., ::-1], axis=-1), np.cumsum(usual[..., ::-1], axis=-1)
    counts = (seen > usual) & (seen >= LEAST) & (usual <= total / 2)
    return float(log_ratio(seen[counts], usual[counts], total).max()) if counts.any() else 0.0


def largest_in(ground: ScanGround, expected: np.ndarray, pairs: list[tuple[int, int]]) -> float:
    """The largest ratio of the same sets among those the scan finds."""
    reach = Reach(True, MONTHS, ground.total / 2, LEAST)
    windows = lay_windows(ground, expected, reach)
    cells = np.nonzero(ground.cases)
    area, role, period = (np.repeat(one, ground.cases[cells]) for one in cells)
    (found,) = windows.found(np.zeros_like(area), area, role, period)
    wanted = {(pair_area, product + 1) for pair_area, product in pairs}
    kept = [windows.unpack(int(one))[:2] in wanted for one in found.set]
    return float(found.ratio[kept].max(initial=0.0))


def main() -> None:
    cases = int(sys.argv[1]) if len(sys.argv) > 1 else 2_000
    ground = a_group(cases)
    expected = expected_cases(ground)
    started, clock = process_time(), perf_counter()
    scan = scan_for_clusters(ground, ScanSettings(seed=SEED, replicates=DRAWS))
    own, wall = process_time() - started, perf_counter() - clock
    draw = np.random.default_rng(SEED)
    areas, products = draw.integers(0, len(ground.areas), PART), draw.integers(0, PRODUCTS, PART)
    pairs = list(zip(areas.tolist(), products.tolist(), strict=True))
    whole = len(ground.areas) * (PRODUCTS + 1) / PART * DRAWS
    print(f"cases, sets, windows until now  {cases:,}, {scan.sets:,}, {scan.sets * MONTHS:,}")
    print(f"products in stock in a ward     {ground.stock[:, 1 + DEPARTMENTS :].sum() / WARDS / MONTHS:8.1f}")
    print(f"scan with {DRAWS} draws             {own:8.1f} s ({wall:.1f} s by the clock)")
    for name, loop in (("one set at a time", plain_loop), ("all roles at once", roles_at_once)):
        started = process_time()
        largest = loop(ground, expected, pairs)
        seconds = process_time() - started
        same = np.isclose(largest, largest_in(ground, expected, pairs))
        print(f"loop, {name:<22}    {seconds * whole:8,.0f} s, scaled from {PART} areas with a product")
        print(f"  times the scan                {seconds * whole / own:8,.0f}; same largest ratio: {same}")
    print(f"looking back, up to two years   {looking_back(ground, expected):8.2f} s a draw")


def looking_back(ground: ScanGround, expected: np.ndarray, draws: int = 10) -> float:
    """Seconds for a draw with windows of up to two years that end anywhere."""
    windows = lay_windows(ground, expected, Reach(False, 24, ground.total / 2, LEAST))
    started = process_time()
    draw_largest(windows, expected, draws, SEED)
    return (process_time() - started) / draws


if __name__ == "__main__":
    main()
