"""How fast shifts are judged under all wet-work rule sets.

    python benchmarks/wet_work.py

Prints figures, passes or fails nothing. The aim: 20,000 logs a second on one core. The bare loop makes the
same comparisons in the same run, with the limits written out as Python and no verdicts kept.
"""

import random
from collections.abc import Callable
from datetime import date
from time import perf_counter, process_time

from thenar.exposure.rule_matrix import rule_matrix
from thenar.exposure.shift import ShiftQuantities
from thenar.exposure.wet_work import judge_by_matrix, judge_shift
from thenar.knowledge import load

SHIFTS = 20_000
ROUNDS = 5
DAY = date(2026, 11, 25)


def random_shifts() -> list[ShiftQuantities]:
    """Shifts on both sides of every limit; one in ten lacks its wet minutes."""
    draw = random.Random(20261125)
    return [
        ShiftQuantities(
            whole_shift=True,
            washes=draw.randrange(40),
            rubs=draw.randrange(80),
            gel_rubs=0,
            wet_contacts=draw.randrange(20),
            wet_minutes=None if draw.random() < 0.1 else draw.uniform(0, 300),
            glove_minutes=draw.uniform(0, 300),
            wet_glove_alternations=draw.randrange(30),
            wash_glove_alternations=draw.randrange(15),
        )
        for _ in range(SHIFTS)
    ]


def best_seconds(run: Callable[[], object]) -> float:
    """The best of a few rounds, in time of this process alone: others may be busy on the machine."""
    best = float("inf")
    for _ in range(ROUNDS):
        started = process_time()
        run()
        best = min(best, process_time() - started)
    return best


def bare_loop(shifts: list[ShiftQuantities]) -> int:  # noqa: PLR0915
    """Every comparison the rule sets make, tiers included."""
    met = 0
    for shift in shifts:
        wet = shift.wet_minutes or 0.0
        washes = shift.washes or 0
        gloves = shift.glove_minutes or 0.0
        wet_glove = shift.wet_glove_alternations or 0
        wash_glove = shift.wash_glove_alternations or 0
        contacts = washes + (shift.wet_contacts or 0)
        met += wet > 120  # German rule set of 2022, with its tiers
        met += wet > 120
        met += wet >= 240
        met += wet_glove > 10
        met += wet_glove > 10
        met += wet_glove > 20
        met += washes >= 15
        met += washes >= 15
        met += washes >= 25
        met += wash_glove > 5
        met += wash_glove > 5
        met += wash_glove > 10
        met += wet > 120  # of 2008
        met += wet > 120
        met += wet >= 240
        met += gloves > 120
        met += gloves > 120
        met += gloves > 240
        met += wet > 120  # 2-20-2
        met += washes > 20
        met += gloves > 120
        met += wet >= 120  # Danish epidemiology
        met += washes >= 20
        met += gloves >= 120
        met += wet > 120  # Danish sector council
        met += washes > 20
        met += gloves > 120
        met += wet >= 120  # Danish job-exposure matrix
        met += gloves >= 120
        met += wet > 120  # Norway: surveillance, labour inspectorate
        met += washes > 20
        met += gloves > 120
        met += wet > 120
        met += wet >= 120  # a UK health service
        met += washes > 20
        met += wet + gloves >= 120
        met += wet > 120  # Australia
        met += washes > 20
        met += wet >= 30  # Stockholm, with its two cut-points
        met += wet >= 30
        met += wet > 120
        met += contacts > 10
        met += contacts > 10
        met += contacts > 20
    return met


def main() -> None:
    book = load()
    shifts = random_shifts()
    started = perf_counter()
    matrix = rule_matrix(book, DAY)
    print(f"rule sets made ready         {(perf_counter() - started) * 1000:8.1f} ms")
    judged = best_seconds(lambda: [judge_by_matrix(shift, matrix) for shift in shifts])
    asked = best_seconds(lambda: [judge_shift(shift, book, DAY) for shift in shifts])
    read = best_seconds(
        lambda: [verdict.criteria for shift in shifts[:500] for verdict in judge_by_matrix(shift, matrix)]
    )
    bare = best_seconds(lambda: bare_loop(shifts))
    print(f"rule sets                    {len(matrix.rule_sets):8}")
    print(f"logs a second, matrix at hand{SHIFTS / judged:8,.0f}")
    print(f"logs a second, by day        {SHIFTS / asked:8,.0f}")
    print(f"logs a second, details read  {500 / read:8,.0f}")
    print(f"logs a second, bare loop     {SHIFTS / bare:8,.0f}")
    print(f"bare loop is faster by       {judged / bare:8.1f} times")


if __name__ == "__main__":
    main()
