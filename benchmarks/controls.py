"""How long ranking the controls of one area takes, beside the bare random numbers it needs.

    python benchmarks/controls.py

Prints figures, passes or fails nothing. The aim: one area, all its shifts and plans, within 1 s.
"""

from datetime import date
from random import Random
from time import perf_counter

import numpy as np

from thenar.exposure.controls import (
    CreamAtBreaks,
    DryBeforeGloves,
    GlovesOff,
    GlovesOn,
    Machine,
    Plan,
    SharedTask,
    WashToRub,
)
from thenar.exposure.floor import WorkedShift
from thenar.exposure.obligations import Obligations
from thenar.exposure.ranking import AreaRole, Baseline, rank_plans
from thenar.exposure.shift import ShiftQuantities
from thenar.knowledge import load

DRAWS = 20_000
SHIFTS = (1, 30, 200)
ROUNDS = 5
DAY = date(2026, 11, 25)
PLANS = (
    Plan("rub", (WashToRub(),)),
    Plan("half rub", (WashToRub(share=0.5),)),
    Plan("gloves off", (GlovesOff(),)),
    Plan("dry hands", (DryBeforeGloves(),)),
    Plan("gloves on", (GlovesOn(times=4, wet_minutes_spared=20, glove_minutes=25),)),
    Plan("cream", (CreamAtBreaks(times=2),)),
    Plan("washer", (Machine(wet_minutes_spared=20),)),
    Plan("shared", (SharedTask(wet_minutes=30),)),
    Plan("rub and dry", (WashToRub(), DryBeforeGloves())),
    Plan("all", (WashToRub(), GlovesOff(), DryBeforeGloves(), CreamAtBreaks(times=2))),
)


def random_shifts(count: int) -> tuple[WorkedShift, ...]:
    """Shifts of a busy ward, each with its own obligations."""
    draw = Random(20261125)
    shifts = []
    for _ in range(count):
        washes, rubs, pairs = draw.randint(8, 35), draw.randint(20, 70), draw.randint(8, 25)
        load_ = ShiftQuantities(
            whole_shift=True,
            washes=washes,
            rubs=rubs,
            pairs=pairs,
            wet_minutes=draw.uniform(10, 150),
            glove_minutes=draw.uniform(10, 150),
            gloves_on_wet_skin=draw.randint(0, 3),
            cream_uses=draw.randint(0, 2),
        )
        required = Obligations(
            draw.randint(3, 8), draw.randint(10, 40), 0, draw.randint(2, 8), 0, (), (), "x"
        )
        shifts.append(WorkedShift(load_, required))
    return tuple(shifts)


def best_of(work: object) -> float:
    """The quickest of a few rounds. [s]"""
    times = []
    for _ in range(ROUNDS):
        started = perf_counter()
        work()  # type: ignore[operator]
        times.append(perf_counter() - started)
    return min(times)


def bare_draws(shifts: int, ratios: int) -> None:
    """The random numbers one ranking can't do without: weights, rates, and one ratio each."""
    stream = np.random.default_rng(1)
    stream.standard_exponential((DRAWS, shifts))
    stream.standard_gamma(6.5, DRAWS)
    for _ in range(ratios):
        stream.standard_normal(DRAWS)


def main() -> None:
    book = load()
    print(f"{len(PLANS)} plans, {DRAWS:,} draws, best of {ROUNDS}")
    for count in SHIFTS:
        area_role = AreaRole(random_shifts(count), Baseline(12, 150.0, 60), 200)
        took = best_of(
            lambda area_role=area_role: rank_plans(area_role, PLANS, book, DAY, seed=1, draws=DRAWS)
        )
        bare = best_of(lambda count=count: bare_draws(count, len(book.risk_ratios)))
        print(f"{count:4} shifts: {took:6.3f} s, bare draws {bare:6.3f} s, ratio {took / bare:5.1f}")


if __name__ == "__main__":
    main()
