"""Which of the windows found are clusters apart from each other, and how is each said in words?"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from thenar.population.scan_ground import Numbers, ScanGround, Whole, Yes
from thenar.population.scan_windows import ANY, Found, Windows

SAME = 9  # decimals to which two windows with the same cases differ by rounding alone


@dataclass(frozen=True, slots=True)
class Cluster:
    """Cases gathered in an area with all in it, a role (None: all), a product in stock (None: any), and time.

    `chance` is that of a window at least so unlikely anywhere. `one_scan_in` is how many scans, were nothing
    going on, would show such a cluster once; None where windows don't last until now. `also` names other
    products: beside a product, those in stock in just the same places and days, which the cases can't tell
    from it; otherwise those in stock there throughout.
    """

    area: str
    role: str | None
    product: str | None
    first: date
    last: date
    until_now: bool
    cases: int
    expected: float
    times_expected: float
    log_ratio: float
    chance: float
    one_scan_in: float | None
    also: tuple[str, ...]
    in_words: str


def pick_clusters(
    ground: ScanGround, windows: Windows, largest: Numbers, worth: float, most: int
) -> tuple[Cluster | None, tuple[Cluster, ...]]:
    """The least likely window, and those with a chance of at most `worth` that share no people and days.

    Where windows hold the same people and days, the plainest is named: any product, all roles, the smallest
    area.
    """
    found = _ordered(ground, windows, _worth_a_look(ground, windows, largest, worth))
    clusters: list[Cluster] = []
    while len(found.ratio) and len(clusters) < most:
        best = _at(found, np.array([0]))
        clusters.append(_cluster(ground, windows, best, largest))
        found = _apart(ground, windows, found, best)
    nearest = clusters[0] if clusters else None
    return nearest, tuple(one for one in clusters if one.chance <= worth)


def _worth_a_look(ground: ScanGround, windows: Windows, largest: Numbers, worth: float) -> Found:
    """Windows unlikely enough to be named, or else the least likely."""
    cells = np.nonzero(ground.cases)
    area, role, period = (np.repeat(one, ground.cases[cells]) for one in cells)
    chunks = list(windows.found(np.zeros_like(area), area, role, period))
    top = max((float(one.ratio.max()) for one in chunks if len(one.ratio)), default=0.0)
    chances = np.arange(1, len(largest) + 1) / (len(largest) + 1)
    enough = np.sort(largest)[::-1][chances <= worth]
    bar = min(top, float(enough[-1]) if len(enough) else np.inf)
    return _joined([_at(one, np.flatnonzero(one.ratio >= bar - 10.0**-SAME)) for one in chunks])


def _joined(chunks: Iterable[Found]) -> Found:
    names = ("draw", "set", "first", "last", "cases", "expected", "ratio")
    return Found(*(np.concatenate([getattr(one, name) for one in chunks]) for name in names))


def _at(found: Found, places: Whole) -> Found:
    return Found(
        found.draw[places],
        found.set[places],
        found.first[places],
        found.last[places],
        found.cases[places],
        found.expected[places],
        found.ratio[places],
    )


def _ordered(ground: ScanGround, windows: Windows, found: Found) -> Found:
    """The least likely first, the plainest first among the same."""
    parts = np.array([windows.unpack(int(one)) for one in found.set], dtype=int).reshape(-1, 3)
    depth = np.array([len(line) for line in ground.within])[parts[:, 0]]
    named = (parts[:, 1] != ANY).astype(int) + (parts[:, 2] != windows.roles)
    return _at(found, np.lexsort((found.set, -found.first, -depth, named, -found.ratio.round(SAME))))


def _apart(ground: ScanGround, windows: Windows, found: Found, best: Found) -> Found:
    """Those that share no person-time with the best."""
    taken = _cells(ground, windows, int(best.set[0]))
    taken[:, :, : int(best.first[0])] = False
    taken[:, :, int(best.last[0]) + 1 :] = False
    sets, where = np.unique(found.set, return_inverse=True)
    shared = np.array([(_cells(ground, windows, int(one)) & taken).any(axis=(0, 1)) for one in sets])
    so_far = np.cumsum(np.pad(shared, ((0, 0), (1, 0))), axis=1)
    apart = so_far[where, found.last + 1] == so_far[where, found.first]
    return _at(found, np.flatnonzero(apart))


def _cells(ground: ScanGround, windows: Windows, one: int) -> Yes:
    """Which areas, roles and periods with person-time a set holds."""
    area, product, role = windows.unpack(one)
    held = _people(ground, area, role)
    return held if product == ANY else held & ground.stock[product - 1][:, None, :]


def _people(ground: ScanGround, area: int, role: int) -> Yes:
    """Where and when an area with all in it had people of a role, or of any."""
    inside = np.array([area in line for line in ground.within])
    roles = np.arange(len(ground.roles))
    people: Yes = ground.at_work & inside[:, None, None]
    return people & (roles == role)[:, None] if role in roles else people


def _cluster(ground: ScanGround, windows: Windows, best: Found, largest: Numbers) -> Cluster:
    area, product, role = windows.unpack(int(best.set[0]))
    first, last = int(best.first[0]), int(best.last[0])
    days = slice(first, last + 1)
    held = _cells(ground, windows, int(best.set[0]))[:, :, days]
    cases, expected, ratio = int(best.cases[0]), float(best.expected[0]), float(best.ratio[0])
    chance = (1 + int(np.sum(largest >= ratio - 10.0**-SAME))) / (len(largest) + 1)
    cluster = Cluster(
        area=ground.areas[area],
        role=None if role == windows.roles else ground.roles[role],
        product=None if product == ANY else ground.products[product - 1],
        first=ground.span.starts[first],
        last=ground.span.ends(last),
        until_now=last == windows.periods - 1,
        cases=cases,
        expected=expected,
        times_expected=cases / expected,
        log_ratio=ratio,
        chance=chance,
        one_scan_in=1 / chance if windows.reach.ending_now else None,
        also=_also(ground, days, held, _people(ground, area, role)[:, :, days], product),
        in_words="",
    )
    return replace(cluster, in_words=_in_words(cluster, whole=all(area in line for line in ground.within)))


def _also(ground: ScanGround, days: slice, held: Yes, people: Yes, product: int) -> tuple[str, ...]:
    """Other products there throughout; of those beside a product, only the ones that were nowhere else."""
    stock = ground.stock[:, :, days]
    there, around = np.any(held, axis=1), np.any(people, axis=1)
    fit = stock | ~there if product == ANY else (stock & around) == there
    fits = fit.all(axis=(1, 2))
    return tuple(name for at, name in enumerate(ground.products, 1) if at != product and fits[at - 1])


def _in_words(cluster: Cluster, *, whole: bool) -> str:
    when = f"Since {_day(cluster.first)}"
    if not cluster.until_now:
        when = f"From {_day(cluster.first)} to {_day(cluster.last)}"
    who = "" if cluster.role is None else f", {cluster.role}"
    said = (
        f"{when}, {_where(cluster, whole)}{who}: {cluster.cases} cases against {_few(cluster.expected)} "
        f"expected, chance of such a cluster anywhere {_percent(cluster.chance)} %."
    )
    if not cluster.also:
        return said
    named = " and ".join(
        (", ".join(cluster.also[:-1]), cluster.also[-1]) if cluster.also[1:] else cluster.also
    )
    if cluster.product is None:
        return f"{said} In stock there throughout: {named}."
    return f"{said} In stock in the same places at the same time, and so as likely: {named}."


def _where(cluster: Cluster, whole: bool) -> str:
    if cluster.product is None:
        return "everywhere" if whole else cluster.area
    return f"wards {'' if whole else f'of {cluster.area} '}stocking {cluster.product}"


def _day(day: date) -> str:
    return f"{day.day} {day:%B %Y}"


def _few(expected: float) -> str:
    return f"{expected:.1f}" if expected >= 0.95 else f"{expected:.2g}"


def _percent(chance: float) -> str:
    return f"{100 * chance:.1f}" if chance >= 0.001 else f"{100 * chance:.2g}"
