"""How long verdicts take for a hospital: 500 products and 2,000 sensitised workers of 200 patterns.

    python benchmarks/verdicts.py

Prints figures, passes or fails nothing. The aim: 2 s for all verdicts with their reasons, beside a bare loop
that only asks whether two sets of names have anything in common.
"""

from collections import Counter
from collections.abc import Callable
from random import Random
from time import perf_counter

from thenar.allergy.allergies import Allergies, Delayed, Immediate, Strength
from thenar.allergy.declarations import read_declaration
from thenar.allergy.declared import ListKind
from thenar.allergy.names import Names
from thenar.allergy.product import Category, GloveFacts, Product
from thenar.allergy.verdict import Judge
from thenar.knowledge import load
from thenar.knowledge.allergens import AllergenTable

PRODUCTS, WORKERS, PATTERNS, ROUNDS = 500, 2_000, 200, 3
FILLERS = ("Aqua", "Glycerin", "Sodium Chloride", "Citric Acid", "Disodium EDTA", "Carbomer", "Squalane")


def random_products(table: AllergenTable, draw: Random) -> list[Product]:
    """Labels of 8 to 25 names, and gloves with a list, a claim or nothing."""
    inci = [name for each in table.allergens.values() for name in each.inci]
    chemicals = [each.synonyms[0] for each in table.allergens.values() if each.group.startswith("rubber")]
    products = []
    for number in range(PRODUCTS):
        category = draw.choice(list(Category))
        if category is Category.GLOVE:
            kind = draw.choice((ListKind.GLOVE_DECLARED, ListKind.GLOVE_CLAIM, ListKind.NOTHING))
            names = draw.sample(chemicals, 3) if kind is ListKind.GLOVE_DECLARED else []
            facts = GloveFacts(draw.choice(["", *table.materials]))
        else:
            kind = draw.choices(list(ListKind)[:3], (6, 2, 2))[0]
            names = draw.sample(inci, draw.randint(3, 12)) + draw.sample(FILLERS, 5)
            facts = None
        declaration = read_declaration(", ".join(names), kind)
        products.append(Product(f"P{number}", "Product", category, declaration, facts))
    return products


def random_people(table: AllergenTable, draw: Random) -> list[Allergies]:
    """Workers of 200 patterns: one to four sensitisations, some with single tests, some with latex."""
    ids = sorted(table.allergens)

    def pattern() -> Allergies:
        delayed = {Delayed(id_, draw.choice(list(Strength))) for id_ in draw.sample(ids, draw.randint(1, 4))}
        immediate = {Immediate("natural_rubber_latex")} if draw.random() < 0.1 else set()
        return Allergies(frozenset(delayed), frozenset(immediate), frozenset(draw.sample(ids, 25)))

    patterns = [pattern() for _ in range(PATTERNS)]
    return [*patterns, *draw.choices(patterns, k=WORKERS - PATTERNS)]


def bare_intersections(products: list[Product], people: list[Allergies]) -> int:
    """Whether anything declared is among what each pattern names, and no more."""
    labels = [
        {name for each in product.declaration.ingredients for name in each.names} for product in products
    ]
    reacts = [{each.allergen for each in pattern.delayed} for pattern in set(people)]
    return sum(bool(label & each) for each in reacts for label in labels)


def best_of(work: Callable[[], object]) -> float:
    """The quickest of a few rounds. [s]"""
    times = []
    for _ in range(ROUNDS):
        started = perf_counter()
        work()
        times.append(perf_counter() - started)
    return min(times)


def main() -> None:
    table, draw = load().allergens, Random(20261125)
    names = Names(table)
    products, people = random_products(table, draw), random_people(table, draw)
    took = best_of(lambda: Judge(table, names).judge_all(products, people))
    bare = best_of(lambda: bare_intersections(products, people))
    verdicts = Judge(table, names).judge_all(products, people)
    answers = Counter(each.answer.value for row in verdicts.values() for each in row)
    reasons = sum(len(each.reasons) for row in verdicts.values() for each in row)
    print(f"{PRODUCTS} products × {WORKERS:,} workers of {len(verdicts)} patterns, best of {ROUNDS}")
    print(f"verdicts with reasons {took:6.3f} s, bare intersections {bare:6.3f} s, ratio {took / bare:5.1f}")
    print(f"{reasons:,} reasons; " + ", ".join(f"{count:,} {answer}" for answer, count in answers.items()))


if __name__ == "__main__":
    main()
