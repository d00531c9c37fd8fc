"""Reading any text whatever: nothing lost, nothing raised, and never long."""

import random
from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from thenar.allergy.declarations import read_declaration
from thenar.allergy.declared import Declaration, ListKind
from thenar.allergy.names import Names
from thenar.allergy.normal_form import normal_form
from thenar.knowledge import load

NAMES = Names(load().allergens)
# Label names with everything that makes them hard: commas, slashes, primes, brackets, hyphens, digits.
HARD_NAMES = (
    "Aqua",
    "Glycerin",
    "1,2-Hexanediol",
    "2-Bromo-2-Nitropropane-1,3-Diol",
    "N,N'-Diethylthiourea",
    "2,2',2''-Nitrilotriethanol",
    "1,2-Benzisothiazol-3(2H)-one",
    "p-Mentha-1,4(8)-diene",
    "Caprylic/Capric Triglyceride",
    "PEG/PPG-18/18 Dimethicone",
    "Caprylyl/Capryl Glucoside",
    "Alcohol Denat.",
    "CI 42090",
    "Hydroxyisohexyl 3-Cyclohexene Carboxaldehyde",
    "Tris(N-Hydroxyethyl) Hexahydrotriazine",
    "Quaternium-15",
    "Cocamide DEA",
    "Lavandula Oil/Extract",
    "Methylisothiazolinone",
    "Polysorbate 20",
    "D-Limonene",
)
# What labels are made of, so that random texts meet every rule of reading.
SCRAPS = (
    *HARD_NAMES,
    *", ;|•·*†¹()[]/\n\t.:-–?%&+\u00ad\u200b\ufeff\xa0\x00\ufffd，、",
    "\r\n",
    "\n\n",
    " and ",
    " (and) ",
    "[+/-",
    "May contain",
    "Ingredients:",
    "INCI",
    "other ingredients",
    "Accelerators",
    "(nano)",
    "(preservative)",
    "CAS 2682-20-4",
    "2682-20-5",
    "0,01 %",
    "60 - 70 %",
    "< 0.1%",
    "40 mg/ml",
    "H317",
    "Skin Sens. 1A",
    "20,2",
    "acid, sodium salt",
    "...",
    "N,N",
    "1, 2-",
    "Free from ",
    ". Made without ",
    " No ",
    "[illegible]",
)
LABEL_LIKE = st.lists(st.sampled_from(SCRAPS), max_size=60).map("".join)
ANY_TEXT = st.one_of(LABEL_LIKE, st.text(max_size=300))
SEPARATORS = st.sampled_from([", ", ",", "; ", " • ", "\n", " | ", " · "])


@given(ANY_TEXT)
@settings(max_examples=500)
def test_the_normal_form_of_a_normal_form_is_itself(text: str) -> None:
    assert normal_form(normal_form(text)) == normal_form(text)


@given(ANY_TEXT, st.sampled_from(list(ListKind)))
@settings(max_examples=2000, deadline=None)
def test_no_letter_or_digit_of_any_text_is_lost(text: str, kind: ListKind) -> None:
    read = read_declaration(text, kind)
    seen = covered(read)
    lost = [
        sign
        for sign, place in zip(text, seen, strict=True)
        if (sign.isalpha() or sign.isdecimal()) and not place
    ]
    assert lost == []


@given(ANY_TEXT, st.sampled_from(list(ListKind)))
@settings(max_examples=1000, deadline=None)
def test_ingredients_stand_in_order_where_they_say_they_stand(text: str, kind: ListKind) -> None:
    ingredients = read_declaration(text, kind).ingredients
    assert [each.position for each in ingredients] == list(range(1, len(ingredients) + 1))
    assert all(text[each.start : each.end] == each.written for each in ingredients)
    assert all(one.end <= other.start for one, other in pairwise(ingredients))
    assert all(each.names and all(each.names) for each in ingredients)


@given(ANY_TEXT, st.sampled_from(list(ListKind)))
@settings(max_examples=500, deadline=None)
def test_what_reads_as_nothing_is_never_a_full_list(text: str, kind: ListKind) -> None:
    read = read_declaration(text, kind)
    assert read.ingredients or read.kind is not ListKind.FULL
    assert read.ingredients or read.unread or read.kind in (ListKind.GLOVE_CLAIM, ListKind.NOTHING)


@given(st.lists(st.sampled_from(HARD_NAMES), min_size=2, max_size=25), SEPARATORS)
@settings(max_examples=500, deadline=None)
def test_a_list_written_out_reads_back_name_by_name(names: list[str], separator: str) -> None:
    read = read_declaration(separator.join(names))
    assert [normal_form(each.written) for each in read.ingredients] == [normal_form(name) for name in names]


@given(st.lists(st.sampled_from(HARD_NAMES), min_size=2, max_size=25), st.randoms(use_true_random=False))
@settings(max_examples=500, deadline=None)
def test_case_accents_and_invisible_characters_change_no_match(names: list[str], draw: random.Random) -> None:
    plain = read_declaration(", ".join(names))
    noisy = read_declaration(", ".join(disturbed(name, draw) for name in names))
    assert matches(noisy) == matches(plain)


def covered(read: Declaration) -> list[bool]:
    """For each character of the text, whether some stretch holds it."""
    seen = [False] * len(read.text)
    for stretch in (*read.ingredients, *read.unread, *read.remarks):
        seen[stretch.start : stretch.end] = [True] * (stretch.end - stretch.start)
    return seen


def disturbed(name: str, draw: random.Random) -> str:
    """A name in another case, with an accent or an invisible character somewhere."""
    name = draw.choice([str.upper, str.lower, str.title, str])(name)
    place = draw.randrange(len(name))
    return name[:place] + draw.choice(["", "\u00ad", "\u200b", "\ufeff"]) + name[place:].replace("e", "é")


def matches(read: Declaration) -> list[tuple[str, ...]]:
    """What each ingredient matches."""
    return [NAMES.ingredient_matches(each) for each in read.ingredients]
