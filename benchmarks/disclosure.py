"""How fast tables of 2,000 cells in three levels are suppressed and audited.

    python benchmarks/disclosure.py

Prints figures, passes or fails nothing. The aim: 10 s to suppress. Beside it, in the same run, the plain way
to only look: two linear programmes for each cell that must be hidden, one after another, with nothing more
hidden; 50 are tried and the time of all is reckoned. Exact counts, which no rule here allows, are harder
to protect than rounded ones and are timed too. Times are of this process alone.
"""

import random
from dataclasses import replace
from datetime import date
from time import process_time

import numpy as np

from thenar.knowledge import load
from thenar.population.disclosure import audit, suppress
from thenar.population.disclosure_attack import push
from thenar.population.disclosure_knowledge import of_table
from thenar.population.disclosure_rule import DisclosureRule, rule_of
from thenar.population.disclosure_tables import ALL, Area, Cell, Table

ON = date(2026, 3, 1)
RULE = rule_of(load(), ON)
TRIED = 50


def a_table(departments: int, wards: int, roles: int, seed: int) -> Table:
    """A hospital in three levels; one in four has the finding, in some wards more."""
    draw = random.Random(seed)
    areas = [Area("Hospital"), *(Area(f"D{nth}", "Hospital") for nth in range(departments))]
    areas += [Area(f"D{nth}W{ward}", f"D{nth}") for nth in range(departments) for ward in range(wards)]
    counts: dict[tuple[str, ...], tuple[int, int]] = {}
    for area in areas[departments + 1 :]:
        for role in [f"role {nth}" for nth in range(roles)] or [None]:
            people = draw.randint(8, 60)
            risk = draw.betavariate(2, 6)
            cases = sum(draw.random() < risk for _ in range(people))
            for name in (area.name, area.within, "Hospital"):
                for value in (ALL, role) if role else (None,):
                    key = (str(name),) if value is None else (str(name), value)
                    before = counts.get(key, (0, 0))
                    counts[key] = before[0] + cases, before[1] + people
    cells = tuple(Cell(key[0], count, people, key[1:]) for key, (count, people) in counts.items())
    return Table("hand dermatitis", ON, tuple(areas), cells, ("role",) if roles else ())


def one_by_one(table: Table, rule: DisclosureRule) -> float:
    """Seconds to attack each cell that must be hidden by two programmes of its own, reckoned from 50."""
    known = of_table(table, rule)
    hidden = np.array([rule.hides(cell.count, cell.people) is not None for cell in table.cells])
    started = process_time()
    cells = np.flatnonzero(hidden)
    for at in cells[:TRIED]:
        row = known.cells[[at]].toarray()[0]
        push(known, hidden, row)
        push(known, hidden, -row)
    return (process_time() - started) * len(cells) / len(cells[:TRIED])


def report(name: str, table: Table, rule: DisclosureRule) -> None:
    started = process_time()
    release = suppress(table, rule)
    seconds = process_time() - started
    must = sum(rule.hides(cell.count, cell.people) is not None for cell in table.cells)
    plain = one_by_one(table, rule)
    print(
        f"{name:<36} {len(table.cells):5,} cells, {must:4} must be hidden, {len(release.hidden):4} are: "
        f"{seconds:6.2f} s; only looking, one by one {plain:6.2f} s ({seconds / plain:.2f} times)"
    )
    if rule == RULE:
        started = process_time()
        passed = audit(release, with_limits=not table.dimensions).passed
        what = "  audit" if table.dimensions else "  audit with all limits"
        print(f"{what:<36} {process_time() - started:6.2f} s, passed: {passed}")


def main() -> None:
    exact = replace(RULE, rounded_to=1)
    for seed in (1, 2):
        report(f"wards, seed {seed}", a_table(100, 19, 0, seed), RULE)
        report(f"wards by role, seed {seed}", a_table(10, 19, 9, seed), RULE)
    report("wards, exact counts", a_table(100, 19, 0, 1), exact)
    report("wards by role, exact counts", a_table(10, 19, 9, 1), exact)


if __name__ == "__main__":
    main()
