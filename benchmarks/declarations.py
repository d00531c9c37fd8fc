"""How fast ingredient texts are read and looked up in the full table of allergens.

    python benchmarks/declarations.py

Prints figures, passes or fails nothing. The aims: 20,000 declarations a second on one core, from the text to
the allergens matched; 20 times the speed of a rapidfuzz loop over the same noisy names in the same run, with
no worse recall; any text of 50,000 characters within a tenth of a second. The fuzzy loop takes, for each name
of a label, the nearest name of the table if it is at least 90 percent alike.
"""

import random
from collections.abc import Callable, Iterator
from time import process_time

from rapidfuzz import fuzz, process
from rapidfuzz.utils import default_process

from thenar.allergy.declarations import read_declaration
from thenar.allergy.declared import ListKind
from thenar.allergy.names import Names
from thenar.allergy.piece_reading import read_piece
from thenar.knowledge import load

DECLARATIONS = 20_000
FUZZY_DECLARATIONS = 200
SHARE_NOISY = 0.25
ROUNDS = 3
TIMES = 20
CUT = 90
# Common harmless label names.
OTHERS = (
    "Aqua/Water/Eau", "Glycerin", "Sodium Laureth Sulfate", "Caprylic/Capric Triglyceride", "Citric Acid",
    "PEG-7 Glyceryl Cocoate", "Carbomer", "Sodium Chloride", "Disodium EDTA", "Parfum (Fragrance)", "Urea",
    "Butyrospermum Parkii (Shea) Butter", "Dimethicone", "Titanium Dioxide (nano)", "1,2-Hexanediol",
    "CI 42090", "Sodium Hydroxide", "Polysorbate 20", "Glyceryl Stearate", "Xanthan Gum", "Petrolatum",
    "Sodium Cocoyl Isethionate", "Paraffinum Liquidum", "Zea Mays Starch", "Lactic Acid",
)  # fmt: skip
ACCENTS = str.maketrans("eaoEAO", "éàôÉÀÔ")
SLOW_TEXTS = (
    "(", "(,", ",", "a,", "/a", "1,", "N,N'", "acid, ", "\n ", "\t", "[+/- ", "\nIngredients ", " and a",
    "1 - ", "aaaa.", "1%", "0.0 - ", "a?", "\x00", "é,", "12-34-5,", "a (b, c) ", "(a) ", "[(",
    "Linalool", "EC 200-", "free from a, ", "free from a and b.", "[illegible]",
)  # fmt: skip

NOISES: tuple[Callable[[str], str], ...] = (
    str.upper,
    str.lower,
    str.title,
    lambda name: name.replace(" ", "  "),  # spacing
    lambda name: name.translate(ACCENTS),
    lambda name: f"{name}/{name.translate(ACCENTS)}",  # two languages
    lambda name: name.replace("-", "\u2011").replace(" ", "\xa0"),  # hyphens and spaces that don't break
    lambda name: name.replace(" ", "-"),
    lambda name: f"{name[: len(name) // 2]}\u00ad{name[len(name) // 2 :]}",  # a soft hyphen
)

Label = tuple[str, list[tuple[str, str]]]


def labels(count: int, table_names: dict[str, str], noise: float, draw: random.Random) -> list[Label]:
    """Texts of 20 to 30 ingredients, half of them allergens, some in noisy writing; and their ids."""
    made = []
    for _ in range(count):
        allergens = [
            (draw.choice(NOISES)(name) if draw.random() < noise else name, table_names[name])
            for name in draw.sample(sorted(table_names), 12)
        ]
        written = [name for name, _ in allergens] + draw.sample(OTHERS, draw.randint(8, 18))
        draw.shuffle(written)
        made.append((", ".join(written), allergens))
    return made


def best_seconds(run: Callable[[], object]) -> float:
    """The best of a few rounds, in time of this process alone: others may be busy on the machine."""
    best = float("inf")
    for _ in range(ROUNDS):
        started = process_time()
        run()
        best = min(best, process_time() - started)
    return best


def ours(made: list[Label], names: Names) -> Iterator[set[str]]:
    """The allergens found on each label."""
    for text, _ in made:
        found: set[str] = set()
        for ingredient in read_declaration(text).ingredients:
            found.update(names.ingredient_matches(ingredient))
        yield found


def fuzzy(made: list[Label], choices: dict[str, set[str]]) -> Iterator[set[str]]:
    """The allergens whose names are nearest, label by label, the text cut at ", "."""
    spellings = list(choices)
    for text, _ in made:
        found: set[str] = set()
        for name in text.split(", "):
            near = process.extractOne(
                name, spellings, scorer=fuzz.token_sort_ratio, processor=default_process, score_cutoff=CUT
            )
            if near:
                found |= choices[near[0]]
        yield found


def recall(made: list[Label], found: Iterator[set[str]]) -> float:
    """The share of allergens on the labels that were found."""
    pairs = [(id_, ids) for (_, allergens), ids in zip(made, found, strict=True) for _, id_ in allergens]
    return sum(id_ in ids for id_, ids in pairs) / len(pairs)


def slowest(names: Names) -> tuple[float, str]:
    """The longest time that one of the texts made to be slow takes, nothing remembered."""
    times = []
    for scrap in SLOW_TEXTS:
        for kind in (ListKind.FULL, ListKind.DATA_SHEET):
            read_piece.cache_clear()
            text = ",".join(f"{(scrap * 240)[:235]}{place}" for place in range(209))[:50_000]
            started = process_time()
            for ingredient in read_declaration(text, kind).ingredients:
                names.ingredient_matches(ingredient)
            times.append((process_time() - started, scrap))
    return max(times)


def main() -> None:
    """Print the figures."""
    table = load().allergens
    draw = random.Random(20261126)
    names = Names(table)
    choices: dict[str, set[str]] = {}
    for allergen in table.allergens.values():
        for name in (*allergen.inci, allergen.name, *allergen.synonyms):
            choices.setdefault(name, set()).add(allergen.id)
    table_names = {
        name: one.id for one in table.allergens.values() if not one.components for name in one.inci
    }
    made = labels(DECLARATIONS, table_names, SHARE_NOISY, draw)
    noisy = labels(FUZZY_DECLARATIONS, table_names, 1.0, draw)

    started = process_time()
    list(ours(made, Names(table)))
    first = process_time() - started
    again = best_seconds(lambda: list(ours(made, names)))
    quick = best_seconds(lambda: [list(ours(noisy, names)) for _ in range(TIMES)]) / TIMES
    loop = best_seconds(lambda: list(fuzzy(noisy, choices)))
    print(f"{len(table.allergens)} allergens, {len(names.spellings):,} names, {DECLARATIONS:,} declarations")
    print(f"read and looked up: {DECLARATIONS / again:,.0f} declarations a second; aim 20,000")
    print(f"  from a cold start: {DECLARATIONS / first:,.0f} a second")
    print(f"every allergen in noisy writing: {FUZZY_DECLARATIONS / quick:,.0f} declarations a second")
    print(f"  a rapidfuzz loop over the same names: {FUZZY_DECLARATIONS / loop:,.0f}")
    print(f"  ratio {loop / quick:,.0f} times; aim 20")
    found, nearest = recall(noisy, ours(noisy, names)), recall(noisy, fuzzy(noisy, choices))
    print(f"  recall {found:.2%}, of the loop {nearest:.2%}")
    seconds, scrap = slowest(names)
    print(f"slowest text of 50,000 characters: {seconds * 1000:,.0f} ms, of {scrap!r}; aim 100")


if __name__ == "__main__":
    main()
