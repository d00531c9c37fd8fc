"""How fast skin checks are sorted, and how long walking through every state takes.

    python benchmarks/triage.py

Prints figures, passes or fails nothing. The aims: 50,000 checks a second on one core, every state in 60 s.
"""

import random
from itertools import product
from time import perf_counter

from thenar.knowledge import Book, load
from thenar.skin.triage import TriageTable, sort_check, triage_table
from thenar.skin.triage_table import answers_to

CHECKS = 20_000
ROUNDS = 5


def random_checks(table: TriageTable) -> list[dict[str, str]]:
    """Checks as they come: mostly no, some yes, some not sure, some left out."""
    draw = random.Random(20261125)
    return [
        {
            question.id: answers_to(question)[0] if draw.random() < 0.7 else draw.choice(answers_to(question))
            for question in table.questions
            if draw.random() < 0.97
        }
        for _ in range(CHECKS)
    ]


def checks_per_second(checks: list[dict[str, str]], book: Book) -> float:
    """The best of a few rounds, reasons and unanswered questions included."""
    best = float("inf")
    for _ in range(ROUNDS):
        started = perf_counter()
        for answers in checks:
            sort_check(answers, book)
        best = min(best, perf_counter() - started)
    return len(checks) / best


def seconds_for_every_state(table: TriageTable) -> tuple[int, int, float]:
    """Answer combinations within groups, combinations of levels, and the time for the latter."""
    within = sum(len(levelled.level_of) for levelled in table.groups)
    started = perf_counter()
    states = 0
    for levels in product(*(range(len(levelled.group.levels)) for levelled in table.groups)):
        table.rules_that_hold(levels)
        states += 1
    return within, states, perf_counter() - started


def main() -> None:
    book = load()
    started = perf_counter()
    table = triage_table(book)
    print(f"table made ready            {(perf_counter() - started) * 1000:8.0f} ms")
    checks = random_checks(table)
    started = perf_counter()
    for answers in checks:
        sort_check(answers, book)
    print(f"checks a second, first time {len(checks) / (perf_counter() - started):8,.0f}")
    print(f"checks a second, afterwards {checks_per_second(checks, book):8,.0f}")
    within, states, seconds = seconds_for_every_state(table)
    print(f"every state: {within:,} combinations of answers within groups,")
    print(f"             {states:,} combinations of levels in {seconds:.1f} s")


if __name__ == "__main__":
    main()
