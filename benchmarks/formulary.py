"""How fast a formulary is found: 500 products, 20,000 workers, 1,500 of them with 200 sets of allergies.

    python benchmarks/formulary.py

Prints figures, passes or fails nothing. The aim: 10 s. Beside it, in the same run, how long it takes to solve
the same programme with fractions of products allowed, all parts together, and how near its cost comes.
"""

import random
from decimal import Decimal
from time import perf_counter

from scipy.optimize import linprog

from thenar.allergy.formulary import find_formulary
from thenar.allergy.formulary_answer import Formulary, NoFormulary
from thenar.allergy.formulary_demand import Part, cells_of, put_up
from thenar.allergy.formulary_programme import write_model
from thenar.allergy.formulary_terms import Goal, Group, Judged, Need, Offer, Question
from thenar.allergy.product import Category
from thenar.allergy.verdict_terms import Answer

SEEDS = (1, 2, 3)
SENSITISED = 1_500
WITHOUT = 18_500
PATTERNS = 200
ALLERGENS = [f"allergen {number}" for number in range(40)]
FREQUENCY = [1 / (1 + number) for number in range(40)]
SIZES = ("size S", "size M", "size L", "size 6.5", "size 7", "size 7.5", "size 8")
MADE = {
    Category.SOAP: 80,
    Category.RUB: 90,
    Category.CREAM: 110,
    Category.GLOVE: 180,
    Category.DISINFECTANT: 40,
}


def a_hospital(seed: int) -> Question:
    """Products with a few of 40 allergens, and workers whose rarest combinations are alone with them."""
    draw = random.Random(seed)
    kinds = [category for category, number in MADE.items() for _ in range(number)]
    offers = tuple(_offer(f"P{number:03}", category, draw) for number, category in enumerate(kinds))
    holds = {offer.product: frozenset(_some(draw, draw.choice((1, 2, 3, 5, 8)))) for offer in offers}
    unsure = {offer.product for offer in offers if draw.random() < 0.1}
    patterns = tuple(
        _pattern(f"A{number:03}", workers, holds, unsure, draw) for number, workers in _sizes(draw)
    )
    without = tuple(Group(f"none {number}", WITHOUT // 7 + (number < WITHOUT % 7)) for number in range(7))
    return Question(
        offers,
        patterns + without,
        _needs(patterns + without, draw),
        present=frozenset(draw.sample(sorted(holds), 40)),
    )


def _offer(product: str, category: Category, draw: random.Random) -> Offer:
    features = {"virucidal"} if category is Category.RUB and draw.random() < 0.4 else set()
    if category is Category.GLOVE:
        sterile = draw.random() < 0.4
        features = {"sterile", *SIZES[3:]} if sterile else set(SIZES[:3])
        features -= {draw.choice(SIZES)} if draw.random() < 0.3 else set()
    cost, stock = Decimal(draw.randint(1500, 3000)) / 100, Decimal(draw.randint(10_000, 200_000)) / 100
    return Offer(product, category, cost, stock, frozenset(features))


def _some(draw: random.Random, number: int) -> list[str]:
    return draw.choices(ALLERGENS, FREQUENCY, k=number)


def _sizes(draw: random.Random) -> list[tuple[int, int]]:
    """How many workers have each pattern: one at least, 1,500 in all."""
    at = draw.choices(
        range(PATTERNS), [1 / (1 + number) for number in range(PATTERNS)], k=SENSITISED - PATTERNS
    )
    return [(number, 1 + at.count(number)) for number in range(PATTERNS)]


def _pattern(
    name: str,
    workers: int,
    holds: dict[str, frozenset[str]],
    unsure: set[str],
    draw: random.Random,
) -> Group:
    allergens = frozenset(_some(draw, draw.choice((1, 1, 2, 3))))
    judged = []
    for product, contents in holds.items():
        answer, blocking = Answer.NO_MATCH_FOUND, contents & allergens
        if blocking:
            answer = Answer.AVOID
        elif product in unsure:
            answer, blocking = Answer.CANNOT_EXCLUDE, allergens
        judged.append(Judged(product, answer, blocking))
    return Group(name, workers, tuple(judged))


def _needs(groups: tuple[Group, ...], draw: random.Random) -> tuple[Need, ...]:
    """Soap, rub, cream and a glove by size for all; sterile gloves, virucidal rub, disinfectant for some."""
    hands: dict[str, set[str]] = {size: set() for size in SIZES}
    for group in groups:
        hands[draw.choice(SIZES[:3])].add(group.pattern)
        if draw.random() < 0.4:
            hands[draw.choice(SIZES[3:])].add(group.pattern)
    some = [frozenset(group.pattern for group in groups if draw.random() < 0.4) for _ in range(2)]
    return (
        Need("soap", Category.SOAP, obligation=True),
        Need("rub", Category.RUB),
        Need("virucidal rub", Category.RUB, frozenset({"virucidal"}), some[0], obligation=True),
        Need("cream", Category.CREAM),
        Need("disinfectant", Category.DISINFECTANT, groups=some[1]),
        *(
            Need(f"glove, {size}", Category.GLOVE, frozenset({size}), frozenset(who), obligation=True)
            for size, who in hands.items()
        ),
    )


def with_fractions(question: Question) -> tuple[float, Decimal, str]:
    """Seconds for the same programme with fractions of products, its cost, and its size."""
    shelf = put_up(question)
    cells = tuple(cell for cell in cells_of(question, shelf) if cell.may_use)
    products = tuple(sorted({place for cell in cells for place in cell.may_use}))
    model = write_model(Part(cells, products), shelf)
    started = perf_counter()
    answer = linprog(model.cost, A_ub=-model.rows, b_ub=-model.least, bounds=(0, 1), method="highs")
    seconds = perf_counter() - started
    size = f"{len(cells):,} cells, {model.rows.shape[1]:,} columns, {model.rows.shape[0]:,} rows"
    return seconds, shelf.money(answer.fun + model.always), size


def report(name: str, question: Question, goal: Goal) -> tuple[float, Formulary]:
    """One search: seconds, products, cost and gap."""
    started = perf_counter()
    answer = find_formulary(question, goal)
    seconds = perf_counter() - started
    formulary = answer.partial if isinstance(answer, NoFormulary) else answer
    lacking = len(answer.sought) if isinstance(answer, NoFormulary) else 0
    assert formulary.cost is not None
    print(
        f"{name:<34} {seconds:6.2f} s  {len(formulary.chosen)} products, cost {formulary.cost.total:,.2f}, "
        f"gap {formulary.gap:.3%}, of the cost {formulary.cost_gap:.3%}, {lacking} needs without a product"
    )
    return seconds, formulary


def main() -> None:
    for seed in SEEDS:
        question = a_hospital(seed)
        relaxed, least, size = with_fractions(question)
        seconds, cheapest = report(f"seed {seed}, cheapest", question, Goal.CHEAPEST)
        assert cheapest.cost is not None
        print(
            f"{'  beside fractions':<34} {relaxed:6.2f} s  ({size}); the search takes "
            f"{seconds / relaxed:.1f} times as long and costs {cheapest.cost.total / least:.5f} times as much"
        )
        report(f"seed {seed}, fewest", question, Goal.FEWEST)


if __name__ == "__main__":
    main()
