"""Makes the published corpus of labels, each with the answers it should get: tests/spec/label_corpus/*.jsonl.

Run `python scripts/make_label_corpus.py`. Products are invented; ingredient names are real. The answers are
known by construction: the script puts allergens into a label, then spoils the label as printers, scanners and
typists do. The grading rules below are those of the literature cited in the README beside the corpus. Nothing
of `thenar.allergy` is used here, so that the corpus can test it.
"""

import csv
import json
import random
import re
import tomllib
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

CORPUS = Path(__file__).parents[1] / "tests" / "spec" / "label_corpus"
SEED = 20260101
PAIRS = 11  # allergens tried on each label, at most
# An answer and how far it is settled: the first letter is expected, the others are accepted as well.
AVOID, AVOID_OR_CAUTION, CAUTION_OR_AVOID, CAUTION = "A", "AC", "CA", "C"
CAUTION_OR_NONE, NONE_OR_CAUTION, NONE = "CN", "NC", "N"
STRONGEST_FIRST = (AVOID, AVOID_OR_CAUTION, CAUTION_OR_AVOID, CAUTION, CAUTION_OR_NONE, NONE_OR_CAUTION, NONE)
LEFT_OUT = "-"  # the literature does not settle it at all: no pair is made

RECIPE = tomllib.loads((CORPUS / "recipe.toml").read_text(encoding="utf-8"))
POOLS, WORDS, NEAR, DOUBTS = (RECIPE[part] for part in ("allergens", "words", "near", "doubts"))
GRADES = tomllib.loads((CORPUS / "grades.toml").read_text(encoding="utf-8"))
GRADED = {
    "parts": AVOID, "avoid": AVOID, "caution": CAUTION, "either": AVOID_OR_CAUTION, "hardly": NONE_OR_CAUTION,
    "unsettled": LEFT_OUT,
}  # fmt: skip
PARTS = GRADES["parts"]
CHLORHEXIDINES = {"chlorhexidine_digluconate", *GRADES["avoid"]["chlorhexidine_digluconate"]}
SULFITES = ("sodium_metabisulfite", "sodium_bisulfite", "sodium_sulfite", "potassium_metabisulfite")
PLASTICIZERS = ("bisphenol_a", "triphenyl_phosphate", "triphenyl_phosphite", "tricresyl_phosphate")
ISOTHIOCYANATES = ("ethyl_isothiocyanate", "butyl_isothiocyanate")
SELDOM_IN_GLOVES = ("rubber_amine", "rubber_byproduct")
FRAGRANCE_GROUPS = ("fragrance", "fragrance_botanical", "fragrance_oxidised", "fragrance_mix")
NEAR_FRAGRANCE = ("balsam_resin", "botanical")
COMPOSITAE = {
    "compositae_chamomile": ("compositae_mix", "sesquiterpene_lactone_mix"),
    "compositae_calendula": ("compositae_mix",),
}
AS_ONE_NAME = {"mci_mi": ("mci_mi", *PARTS["mci_mi"])}


@dataclass(frozen=True, slots=True)
class Allergen:
    """An allergen as the literature names it, with the allergens it is said to be linked to."""

    key: str
    group: str
    label_names: tuple[str, ...]
    other_names: tuple[str, ...]
    cas: tuple[str, ...]
    releases: tuple[str, ...]
    linked_to: tuple[str, ...]


@dataclass(slots=True)
class Item:
    """One thing put into a label: how it is written, and the allergens it is."""

    written: str
    keys: tuple[str, ...] = ()
    name: str = ""
    joined: bool = False
    may_contain: bool = False
    umbrella: bool = False


@dataclass(slots=True)
class Label:
    """A label in the making."""

    id: str
    category: str
    kind: str
    items: list[Item]
    material: str = ""
    sterile: bool | None = None
    text: str = ""
    unread: str = ""  # why something on it cannot be read
    free_from: tuple[str, ...] = ()
    noise: list[str] = field(default_factory=list)


def plain(name: str) -> Item:
    """A harmless name as it stands."""
    return Item(name, (), name)


Pair = tuple[str, str, str] | tuple[str, str, str, str]


def read_stock() -> tuple[dict[str, Allergen], list[str]]:
    """The allergens and the harmless names the labels are made of."""
    with (CORPUS / "allergen_names.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))[1:]
    lists = [[tuple(filter(None, cell.split("|"))) for cell in row[2:]] for row in rows]
    known = {row[0]: Allergen(row[0], row[1], *cells) for row, cells in zip(rows, lists, strict=True)}
    return known, (CORPUS / "harmless.txt").read_text(encoding="utf-8").split("\n")[:-1]


KNOWN, HARMLESS = read_stock()
BOTANICAL = [key for key, one in KNOWN.items() if one.group == "fragrance_botanical"]
PERFUMES = [key for key, one in KNOWN.items() if one.group == "fragrance"]
RELEASERS = frozenset(key for key, one in KNOWN.items() if "formaldehyde" in one.releases)
RUBBER = [key for key, one in KNOWN.items() if one.group.startswith("rubber_")]


# --- What a label should be answered with ---


def grade(tested: str, declared: str) -> str:
    """What `declared` on a label means for someone who reacts to `tested`."""
    if tested == declared:
        return AVOID
    for part, answer in GRADED.items():
        if declared in GRADES[part].get(tested, ()):
            return answer
    if tested == "formaldehyde" and declared in RELEASERS:
        return AVOID
    if tested in RELEASERS and declared in RELEASERS | {"formaldehyde"}:
        return LEFT_OUT if declared == "formaldehyde" else NONE_OR_CAUTION
    if tested in KNOWN[declared].releases or declared in KNOWN[tested].linked_to:
        return AVOID_OR_CAUTION
    return LEFT_OUT if tested in KNOWN[declared].linked_to else NONE


def item_answers(tested: str, item: Item) -> Iterable[tuple[str, str]]:
    """Every answer one item calls for, with why."""
    group = KNOWN[tested].group
    for declared in item.keys:
        answer = grade(tested, declared)
        if answer == AVOID and (item.joined or item.may_contain):
            answer = CAUTION_OR_AVOID if item.joined else AVOID_OR_CAUTION
        if answer != NONE:
            yield answer, because(tested, declared, item, answer)
        if KNOWN[declared].group == "fragrance_botanical" and group in (*FRAGRANCE_GROUPS, *NEAR_FRAGRANCE):
            yield NONE_OR_CAUTION, f"{item.name} is an oil of many parts"
    if item.umbrella and (group in FRAGRANCE_GROUPS or tested in ("benzyl_alcohol", "myroxylon_pereirae")):
        yield CAUTION, f"{item.name} may hide it"
    elif item.umbrella and group in NEAR_FRAGRANCE:
        yield CAUTION_OR_NONE, f"{item.name} may hide something related"
    if tested in DOUBTS.get(item.name, ()):
        yield NONE_OR_CAUTION, f"{item.name} is a relative not listed as linked"


def because(tested: str, declared: str, item: Item, answer: str) -> str:
    """One line on why a declared allergen leads to an answer."""
    if tested == declared:
        return f"declared as {item.name}" + (", joined to its neighbour" if item.joined else "")
    if declared in PARTS.get(tested, ()):
        return f"{item.name} is part of what was tested"
    if tested in KNOWN[declared].releases:
        return f"{item.name} releases or brings it"
    return f"{item.name}: {'graded reaction' if answer in (AVOID, CAUTION) else 'related, grade not settled'}"


def label_answers(tested: str, label: Label) -> Iterable[tuple[str, str]]:
    """Every answer the label as a whole calls for, whatever it names."""
    if label.category == "glove":
        yield from glove_answers(tested, label)
    elif label.kind != "FULL":
        yield CAUTION, "the list is not complete"
    if label.unread:  # rubber chemicals have no place in an ingredient list, read or not
        yield CAUTION_OR_NONE if KNOWN[tested].group.startswith("rubber_") else CAUTION, label.unread
    if any(item.joined for item in label.items):
        yield NONE_OR_CAUTION, "two names are joined"
    if tested in label.free_from:
        yield NONE_OR_CAUTION, "named only as not contained"
    if label.category == "wipe" and tested in ("methylisothiazolinone", "mci_mi"):
        yield CAUTION_OR_NONE, "found undeclared in wipes"


def glove_answers(tested: str, label: Label) -> Iterable[tuple[str, str]]:
    """What the declaration of a glove and published measurements of gloves call for."""
    group = KNOWN[tested].group
    rubber = label.material != "pvc"
    yield NONE_OR_CAUTION, "declared chemicals are not all that is in a glove"
    if label.kind != "GLOVE_DECLARED" and group.startswith("rubber_"):
        usual = rubber and group not in SELDOM_IN_GLOVES and tested != "ethylenethiourea"
        yield CAUTION if usual else CAUTION_OR_NONE, "a claim or silence is no proof"
    if tested == "benzisothiazolinone" and label.material in ("nitrile", "latex", "pvc"):
        yield CAUTION, "found undeclared in gloves"
    if tested in SULFITES:
        yield CAUTION if rubber else CAUTION_OR_NONE, "sulfites found undeclared in gloves"
    if tested in PLASTICIZERS and not rubber:
        yield CAUTION, "found undeclared in vinyl gloves"
    if tested == "cetylpyridinium_chloride" and label.sterile and label.material not in ("latex", "pvc"):
        yield CAUTION, "found in the coating of sterile synthetic gloves"
    if tested in ISOTHIOCYANATES and label.material == "nitrile":
        yield CAUTION, "by-product found in nitrile gloves"


def expected(tested: str, label: Label) -> tuple[str, str] | None:
    """The answer due for a delayed allergy to `tested`, or None where the literature leaves it open."""
    answers = [each for item in label.items for each in item_answers(tested, item)]
    answers += label_answers(tested, label)
    due = [each for each in answers if each[0] != LEFT_OUT]
    best = min(
        due,
        key=lambda each: STRONGEST_FIRST.index(each[0]),
        default=(NONE, "nothing on it is this or related"),
    )
    unsettled = len(due) < len(answers) and best[0] not in (AVOID, AVOID_OR_CAUTION)
    return None if unsettled else best


# --- What goes into a label ---


class Press:
    """Makes labels, spoils them and says what they should be answered with; the same every time."""

    def __init__(self, seed: int) -> None:
        self.chance = random.Random(seed)
        self.queues: dict[str, list[str]] = {}

    def likely(self, share: float) -> bool:
        return self.chance.random() < share

    def take(self, pool: Sequence[str], count: int, name: str) -> list[str]:
        """The next few of a pool, so that every one has its turn."""
        taken: list[str] = []
        while len(taken) < count:
            queue = self.queues.setdefault(name, [])
            if not queue:
                queue.extend(self.chance.sample(pool, len(pool)))
            one = queue.pop()
            if one not in taken:
                taken.append(one)
        return taken

    def allergen(self, key: str, sheet: bool = False) -> Item:
        """An allergen written by one of its names; on a data sheet by any of its names and numbers."""
        if key in COMPOSITAE:
            name = self.chance.choice(RECIPE["plants"][key])
            return Item(name, COMPOSITAE[key], name)
        one = KNOWN[key]
        names = one.label_names if one.label_names and not (sheet and self.likely(0.5)) else one.other_names
        name = self.chance.choice(names or one.label_names)
        written = name
        if sheet and one.cas and self.likely(0.6):
            form = self.chance.choice(("{} (CAS {})", "{} ; CAS {}", "{} CAS-No. {}", "CAS {1}"))
            written = form.format(name, self.chance.choice(one.cas))
        return Item(written, AS_ONE_NAME.get(key, (key,)), name)

    def cosmetic(self, category: str, harmless: int, allergens: int, perfumed: float) -> list[Item]:
        """The items of a full cosmetic list, water first and perfume last."""
        near = self.chance.sample(NEAR_HARMLESS, 2)
        items = [plain(each) for each in (*self.take(HARMLESS_BASE, harmless, "harmless"), *near)]
        items += [self.allergen(each) for each in self.take(POOLS[category], allergens, category)]
        self.chance.shuffle(items)
        if self.likely(perfumed):
            name = self.chance.choice(WORDS["perfumes"])
            items.append(Item(name, (), name, umbrella=True))
            fragrances = self.take(PERFUMES, self.chance.randint(0, 4), "perfumes")
            items += [self.allergen(each) for each in fragrances]
        if self.likely(perfumed / 4):
            items.append(self.allergen(self.take(BOTANICAL, 1, "botanical")[0]))
        colours = self.chance.sample(COLOURS, self.chance.choice((0, 0, 1, 2)))
        return [plain(self.chance.choice(WORDS["waters"])), *items, *map(plain, colours)]

    # --- How it is spoiled ---

    def print_list(self, label: Label) -> None:
        """The text of a full list, with whatever happened to it on the way."""
        clean = self.likely(0.18)
        if not clean:
            self.spoil_items(label)
        parts = [each.written for each in label.items if not each.may_contain]
        separator = ", " if clean else self.chance.choice(SEPARATORS)
        if separator != ", ":
            label.noise.append("separators")
        if separator == "mixed":
            text = parts[0] + "".join(self.chance.choice(MIXED) + part for part in parts[1:])
        else:
            text = separator.join(parts)
        if not clean:
            text = self.spoil_text(label, text, wraps="\n" not in text)
        label.text = self.dress(label, text, clean)

    def spoil_items(self, label: Label) -> None:
        """Marks, percentages, invisible characters and accents inside names; two names run together."""
        for name, share, spoiling in (
            ("footnote marks", 0.2, lambda written: written + self.chance.choice(("*", "**", "†", "¹"))),
            ("percentages", 0.15, lambda written: f"{written} {self.percentage()}"),
            ("invisible characters", 0.2, self.invisible),
            ("accents", 0.12, self.accented),
            ("hyphens as spaces", 0.15, lambda written: re.sub(r"(?<=[a-z])-(?=[\dA-Z])", " ", written)),
            ("aliases in parentheses", 0.15, self.alias),
            ("nano", 0.05, lambda written: re.sub("^(Titanium Dioxide|Zinc Oxide)$", r"\1 (nano)", written)),
        ):
            if self.likely(share):
                self.on_some(label, name, spoiling)
        if self.likely(0.08):
            self.join_two(label)

    def on_some(self, label: Label, name: str, spoiling: Callable[[str], str]) -> None:
        for item in label.items[1:]:
            spoiled = spoiling(item.written) if self.likely(0.5) else item.written
            if spoiled != item.written:
                item.written = spoiled
                label.noise.append(name)

    def percentage(self) -> str:
        number = self.chance.choice(("0.1", "0,5", "1", "2.0", "0.05", "3"))
        return self.chance.choice(("{} %", "{}%", "({}%)", "({} % w/w)")).format(number)

    def invisible(self, written: str) -> str:
        if self.likely(0.4):
            return written.replace(" ", "\u00a0")
        place = self.chance.randint(1, len(written) - 1)
        return written[:place] + self.chance.choice("\u200b\u00ad\ufeff\u2060") + written[place:]

    def accented(self, written: str) -> str:
        for plain_form, accented in WORDS["accents"]:
            written = written.replace(plain_form, accented)
        return written

    def alias(self, written: str) -> str:
        one = next(
            (each for each in KNOWN.values() if written in each.label_names and each.other_names), None
        )
        return f"{written} ({self.chance.choice(one.other_names)})" if one and "(" not in written else written

    def join_two(self, label: Label) -> None:
        """A comma is lost between a harmless name and an allergen; a careful reader still sees both."""
        for before, item in zip(label.items[1:], label.items[2:], strict=False):
            letters = re.fullmatch(r"[A-Za-z ]+", before.written + item.written)
            if letters and item.keys and not before.keys and not before.umbrella:
                item.written = before.written + self.chance.choice((" ", " ", "")) + item.written
                item.joined = True
                label.items.remove(before)
                label.noise.append("joined names")
                return

    def spoil_text(self, label: Label, text: str, wraps: bool) -> str:
        """Letter case and line ends."""
        case = self.chance.choice(("as is", "as is", "upper", "lower", "lower"))
        if case != "as is":
            text = text.upper() if case == "upper" else text.lower()
            label.noise.append(f"{case} case")
        if wraps and self.likely(0.5):
            label.noise.append("line ends")
            text = self.wrap(text, hyphenates=self.likely(0.6), label=label)
        return text

    def wrap(self, text: str, hyphenates: bool, label: Label) -> str:
        """Breaks lines at spaces, and inside long words with a hyphen where asked."""
        width, lines, line = self.chance.randint(34, 60), [], ""
        for word in text.split(" "):
            if line and len(line) + len(word) >= width:
                room = width - len(line) - 2
                if hyphenates and 4 <= room <= len(word) - 4 and word[: room + 3].isalpha():
                    lines.append(f"{line} {word[:room]}-")
                    label.noise.append("hyphenation")
                    line = word[room:]
                    continue
                lines.append(line)
                line = word
            else:
                line = f"{line} {word}" if line else word
        return "\n".join([*lines, line])

    def dress(self, label: Label, text: str, clean: bool) -> str:
        """The heading before the list and what stands after it."""
        heading = "Ingredients: " if clean else self.chance.choice(WORDS["headings"])
        if heading not in ("", "Ingredients: "):
            label.noise.append("heading")
        shades = [each.written for each in label.items if each.may_contain]
        if shades:
            form = self.chance.choice((" [+/- {}]", ". May contain: {}", " (+/- {})", " +/- {}"))
            text += form.format(", ".join(shades))
            label.noise.append("may contain")
        if clean:
            return f"{heading}{text}."
        if self.likely(0.06):
            text += self.chance.choice((", and other ingredients", ", [illegible]", ", ???"))
            label.unread = "something on the label is not said or cannot be read"
            label.noise.append("unread")
        text += self.chance.choice((".", ".", ""))
        if self.likely(0.35):
            text += "\n" + self.chance.choice(WORDS["sentences"])
            label.noise.append("sentence after the list")
        if self.likely(0.08):
            named = self.chance.choice(("methylisothiazolinone", "formaldehyde", "triclosan", "limonene"))
            label.free_from = (named,)
            text += f"\nFree from {named}."
            label.noise.append("free-from claim")
        return heading + text

    # --- Other kinds of list ---

    def partial(self, label: Label) -> None:
        """Active substances of a medicine or biocide, as the front of the pack gives them."""
        actives = [f"{each.written} {self.chance.choice(WORDS['strengths'])}" for each in label.items]
        text = self.chance.choice(("; ", ", ", "\n")).join(actives)
        label.text = self.chance.choice(WORDS["partial_heads"]) + text
        label.noise.append("partial list")

    def data_sheet(self, label: Label) -> None:
        """Section 3 of a safety data sheet."""
        rows = [
            f"{item.written} ; {self.chance.choice(WORDS['ranges'])}{self.chance.choice(WORDS['hazards'])}"
            for item in label.items
        ]
        label.text = self.chance.choice(WORDS["sheet_heads"]) + "\n".join(rows)
        label.noise.append("data sheet")

    def glove_sheet(self, label: Label) -> None:
        """What a glove's data sheet says of its chemicals."""
        names = [each.written for each in label.items]
        self.chance.shuffle(names)
        separators = (", ", "; ", "\n", *([] if any("/" in name for name in names) else [" / "]))
        label.text = self.chance.choice(WORDS["glove_heads"]) + self.chance.choice(separators).join(names)
        label.noise.append("glove data sheet")

    # --- Which allergens are tried on it ---

    def pairs(self, label: Label) -> list[Pair]:
        """The allergens tried: those in it, their relatives, near names, others."""
        inside = [key for item in label.items for key in item.keys]
        near = [key for item in label.items for key in NEAR.get(item.name, ())]
        related = sorted(
            tested for tested in KNOWN if any(grade(tested, key) != NONE for key in inside if key != tested)
        )
        wanted = self.some(inside, 5) + self.some(related, 4) + self.some(near, 3) + list(label.free_from)
        if label.category != "glove":
            wanted += self.some([*PERFUMES, *PERFUME_MARKERS], 2)
        wanted += self.some(self.others(label), PAIRS)
        made: list[Pair] = []
        for tested in dict.fromkeys(wanted):
            answer = expected(tested, label)
            if answer and len(made) < PAIRS:
                made.append((tested, *answer))
        return made + self.special(label, inside)

    def others(self, label: Label) -> list[str]:
        if label.category == "glove":
            found = [
                *SULFITES,
                *PLASTICIZERS,
                *ISOTHIOCYANATES,
                "benzisothiazolinone",
                "cetylpyridinium_chloride",
            ]
            return [*RUBBER, *found]
        pools = (*POOLS[label.category], *POOLS["bystanders"], *POOLS["soap"])
        return [key for key in pools if key in KNOWN]

    def some(self, keys: Sequence[str], count: int) -> list[str]:
        unique = list(dict.fromkeys(keys))
        return self.chance.sample(unique, min(count, len(unique)))

    def special(self, label: Label, inside: Sequence[str]) -> list[Pair]:
        """Immediate allergy, and a very strong reaction where the grade depends on it."""
        made: list[Pair] = []
        if label.category == "glove" and label.kind != "NOTHING":
            latex = label.material == "latex"
            why = "the material is natural rubber" if latex else "another material"
            made.append(("natural_rubber_latex", AVOID if latex else NONE_OR_CAUTION, why, "immediate"))
        if CHLORHEXIDINES & set(inside):
            why = "immediate allergy to what is declared"
            made.append(("chlorhexidine_digluconate", AVOID, why, "immediate"))
        if "octylisothiazolinone" in inside and "methylisothiazolinone" not in inside:
            made.append(("methylisothiazolinone", AVOID, "strongly allergic patients react to it too", "+++"))
        return made


COLOURS = [each for each in HARMLESS if each.startswith("CI ")]
NEAR_HARMLESS = [each for each in HARMLESS if each in NEAR]
HARMLESS_BASE = [each for each in HARMLESS if each not in NEAR and each not in COLOURS]
PERFUME_MARKERS = ("fragrance_mix_i", "fragrance_mix_ii", "myroxylon_pereirae")
SEPARATORS = (", ", ", ", ", ", ",", "; ", " • ", " · ", "\n", ",\n", "mixed")
MIXED = (", ", "; ", " • ", ",", " , ", ",\n")
MATERIALS = ("nitrile", "latex", "chloroprene", "polyisoprene", "pvc")


def make_labels(press: Press) -> Iterable[Label]:
    """Every label of the corpus, in the order of the files."""
    for number in range(1, 116):
        items = press.cosmetic("soap", press.chance.randint(6, 13), press.chance.randint(2, 5), 0.6)
        yield listed(press, f"soap-{number:03}", "soap", items)
    for number in range(1, 96):
        items = press.cosmetic("cream", press.chance.randint(8, 16), press.chance.randint(3, 6), 0.5)
        if press.likely(0.15):
            items.append(Item("CI 74160", ("pigment_blue_15",), "CI 74160", may_contain=True))
        yield listed(press, f"cream-{number:03}", "cream", items)
    for number in range(1, 31):
        items = press.cosmetic("rub", press.chance.randint(2, 6), press.chance.randint(2, 5), 0.4)
        yield listed(press, f"rub-{number:03}", "rub", items)
    for number in range(1, 41):
        items = press.cosmetic("wipe", press.chance.randint(4, 9), press.chance.randint(2, 5), 0.4)
        yield listed(press, f"wipe-{number:03}", "wipe", items)
    yield from incomplete_labels(press)
    yield from glove_labels(press)


def listed(press: Press, id_: str, category: str, items: list[Item]) -> Label:
    label = Label(id_, category, "FULL", items)
    press.print_list(label)
    return label


def incomplete_labels(press: Press) -> Iterable[Label]:
    for number in range(1, 31):
        keys = press.take(POOLS["partial_rub"], press.chance.randint(1, 3), "partial rub")
        items = [press.allergen(each) for each in keys]
        label = Label(f"rub-{number + 30:03}", "rub", "PARTIAL", items)
        press.partial(label)
        yield label
    for number in range(1, 71):
        sheet = number % 2 == 1
        keys = press.take(POOLS["disinfectant"], press.chance.randint(1, 4), "disinfectant")
        items = [press.allergen(each, sheet) for each in keys]
        items += map(plain, press.chance.sample(HARMLESS_BASE[:9], sheet * 2))
        kind = "DATA_SHEET" if sheet else "PARTIAL"
        label = Label(f"disinfectant-{number:03}", "disinfectant", kind, items)
        (press.data_sheet if sheet else press.partial)(label)
        yield label


def glove_labels(press: Press) -> Iterable[Label]:
    for number in range(1, 53):
        material, sterile = press.chance.choice(MATERIALS), press.likely(0.4)
        label = Label(f"glove-{number:03}", "glove", "GLOVE_DECLARED", [], material, sterile)
        if number > 44:
            label.kind, label.text = "NOTHING", press.chance.choice(WORDS["not_said"])
        elif number > 32:
            label.kind = "GLOVE_CLAIM"
            claim = press.chance.choice(RECIPE["claim"])
            label.text, label.free_from = claim["text"], tuple(claim["names"])
        else:
            keys = press.take(POOLS["glove"], press.chance.randint(1, 4), "glove")
            label.items = [press.allergen(each, sheet=True) for each in keys]
            label.items += map(plain, press.chance.sample(WORDS["glove_harmless"], 2))
            press.glove_sheet(label)
        yield label


def as_line(label: Label, pairs: list[Pair]) -> str:
    said_of_it = {"id": label.id, "category": label.category, "kind": label.kind, "material": label.material,
                  "sterile": label.sterile, "noise": sorted(set(label.noise)), "text": label.text,
                  "pairs": pairs}  # fmt: skip
    told = {key: value for key, value in said_of_it.items() if key == "text" or value not in ("", None)}
    return json.dumps(told)


def make_corpus() -> dict[str, str]:
    """The corpus files by name."""
    press, files = Press(SEED), {}
    for label in make_labels(press):
        lines = files.setdefault(f"{label.id.partition('-')[0]}.jsonl", [])
        lines.append(as_line(label, press.pairs(label)))
    return {name: "\n".join(lines) + "\n" for name, lines in files.items()}


if __name__ == "__main__":
    for name, text in make_corpus().items():
        (CORPUS / name).write_text(text, encoding="utf-8")
