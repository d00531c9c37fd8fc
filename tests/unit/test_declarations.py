"""Reading ingredient texts: one habit of labels each. Expected readings are worked by eye from the text."""

from decimal import Decimal

import pytest

from thenar.allergy.declarations import LONGEST_TEXT, MOST_INGREDIENTS, read_declaration
from thenar.allergy.declared import Declaration, ListKind
from thenar.errors import BadInput


@pytest.mark.parametrize(
    ("text", "written"),
    [
        ("Aqua, Glycerin,Citral ,Parfum.", ["Aqua", "Glycerin", "Citral", "Parfum"]),
        # Commas inside names.
        ("1,2-Hexanediol, Propane-1,3-Diol", ["1,2-Hexanediol", "Propane-1,3-Diol"]),
        ("Aqua, N,N'-Diethylthiourea, N,N-Dimethyl", ["Aqua", "N,N'-Diethylthiourea", "N,N-Dimethyl"]),
        ("2,2',2''-Nitrilotriethanol, Aqua", ["2,2',2''-Nitrilotriethanol", "Aqua"]),
        ("Aqua, 1, 2-Hexanediol, Citral", ["Aqua", "1, 2-Hexanediol", "Citral"]),
        ("Aqua, 2-bromo-2-nitropropane-1, 3-diol", ["Aqua", "2-bromo-2-nitropropane-1, 3-diol"]),
        ("Aqua, phosphorous acid, triphenyl ester", ["Aqua", "phosphorous acid, triphenyl ester"]),
        # A missing space after the comma, before a name that begins with a digit.
        ("Polysorbate 20,2-Phenoxyethanol", ["Polysorbate 20", "2-Phenoxyethanol"]),
        ("CI 42090,1,2-Hexanediol", ["CI 42090", "1,2-Hexanediol"]),
        ("Quaternium-15,1,2-Hexanediol", ["Quaternium-15", "1,2-Hexanediol"]),
        ("Laureth-4,1,2-Hexanediol", ["Laureth-4", "1,2-Hexanediol"]),
        # Other separators.
        ("Aqua; Citral; Parfum", ["Aqua", "Citral", "Parfum"]),
        ("Aqua • Citral • Parfum", ["Aqua", "Citral", "Parfum"]),
        ("• Aqua\n• Citral", ["Aqua", "Citral"]),
        ("Aqua · Citral·Parfum", ["Aqua", "Citral", "Parfum"]),
        ("Aqua、Citral，Parfum；Alcohol", ["Aqua", "Citral", "Parfum", "Alcohol"]),
        ("Aqua | Citral | Parfum", ["Aqua", "Citral", "Parfum"]),
        ("Aqua\nCitral\r\nParfum", ["Aqua", "Citral", "Parfum"]),
        ("- Aqua\n- Citral", ["Aqua", "Citral"]),
        ("1. Aqua\n2. Citral", ["1. Aqua", "2. Citral"]),
        ("Aqua - Citral - Coco-Glucoside", ["Aqua", "Citral", "Coco-Glucoside"]),
        ("Aqua\tCitral", ["Aqua", "Citral"]),
        ("Aqua / Citral / CI 74160 / ZDEC", ["Aqua", "Citral", "CI 74160", "ZDEC"]),
        ("Linalool. Limonene. Alcohol Denat., Citral", ["Linalool", "Limonene", "Alcohol Denat", "Citral"]),
        ("Linalool (and) Limonene & Citral et Eugenol", ["Linalool", "Limonene", "Citral", "Eugenol"]),
        ("Aqua*, Linalool†Limonene¹ Citral²", ["Aqua", "Linalool", "Limonene", "Citral"]),
        # A wrapped text.
        ("Aqua, Sodium\nBenzoate, Methylchloroiso-\nthiazolinone, Citral",
         ["Aqua", "Sodium\nBenzoate", "Methylchloroiso-\nthiazolinone", "Citral"]),
        # Separators inside brackets part names of one ingredient.
        ("Aqua (Water, Eau), Parfum", ["Aqua (Water, Eau)", "Parfum"]),
        ("Parfum (Fragrance, Aqua, Citral", ["Parfum (Fragrance", "Aqua", "Citral"]),
        ("", []),
        (" ,;\n\u200b ", []),
    ],
)  # fmt: skip
def test_a_label_falls_into_its_ingredients(text: str, written: list[str]) -> None:
    assert [each.written for each in read_declaration(text).ingredients] == written


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("Aqua/Water/Eau", {"aqua", "water", "eau"}),
        ("Parfum (Fragrance)", {"parfum", "fragrance"}),
        ("Parfum(Fragrance)", {"parfum", "fragrance"}),
        ("Parfum [Fragrance: Linalool, Citral]", {"parfum", "linalool", "citral"}),
        ("Parfum (contains Linalool)", {"parfum", "linalool"}),
        ("Butyrospermum Parkii (Shea) Butter", {"butyrospermumparkiibutter", "sheabutter"}),
        ("Titanium Dioxide (nano)", {"titaniumdioxide"}),
        ("Phenoxyethanol (preservative)", {"phenoxyethanol"}),
        ("Ethanol 70 % v/v", {"ethanol"}),
        ("4% w/v Chlorhexidine Gluconate", {"chlorhexidinegluconate"}),
        ("Methylisothiazolinone (CAS: 2682-20-4) 0,01 %", {"methylisothiazolinone", "2682-20-4"}),
        ("CAS-No. 2682-20-4", {"2682-20-4"}),
        ("Lino\u00adlène\ufeff", {"linolene"}),
        ("ＣＩ ４２０９０", {"ci42090"}),
        ("C.I. 42090", {"ci42090"}),
        ("Chlorhexidine gluconate solution 4.0% w/v", {"chlorhexidinegluconate"}),
        ("Panthenol USP", {"panthenol"}),
        ("Lavender Flower/Leaf Oil/Huile", {"lavenderflower/leafoil"}),
        ("Glycerin\nPropanol,", {"propanol"}),
    ],
)
def test_an_ingredient_goes_by_all_its_names(text: str, names: set[str]) -> None:
    (ingredient,) = read_declaration(text).ingredients
    assert names <= set(ingredient.names)


@pytest.mark.parametrize(
    "name", ["Poly(propylene glycol)", "(benzyloxy)methanol", "bis(2-ethylhexyl)phthalate"]
)
def test_a_bracket_grown_into_a_word_is_no_alias(name: str) -> None:
    (ingredient,) = read_declaration(name).ingredients
    assert len(ingredient.names) == 1


@pytest.mark.parametrize(
    "text", ["Aqua, Aminomethyl\nPropanol, Citral", "Aqua, Aminomethyl \nPropanol, Citral"]
)
def test_a_word_that_ends_in_yl_goes_on_in_the_next_line(text: str) -> None:
    assert read_declaration(text).ingredients[1].names == ("aminomethylpropanol",)


@pytest.mark.parametrize(
    ("text", "share"),
    [
        ("Ethanol 70 %", "70"),
        ("Ethanol (70% v/v)", "70"),
        ("0,0015% Citral", "0.0015"),
        ("Ethanol 60 - 70 %", None),
        ("Citral < 0.1 %", None),
        ("Chlorhexidine 40 mg/ml", None),
        ("Polysorbate 20", None),
    ],
)
def test_a_share_is_kept_only_where_the_label_gives_one_percentage(text: str, share: str | None) -> None:
    (ingredient,) = read_declaration(text).ingredients
    assert ingredient.share == (Decimal(share) if share else None)


@pytest.mark.parametrize(
    "text",
    [
        "Aqua, Parfum [+/- CI 77891, CI 42090]",
        "Aqua, Parfum. May contain: CI 77891, CI 42090",
        "Aqua, Parfum\nPeut contenir / May contain (+/-): CI 77891, CI 42090",
        "Aqua, Parfum, ± CI 77891, CI 42090",
        "Aqua, Parfum (may contain CI 77891, CI 42090)",
    ],
)
def test_shades_are_marked_as_what_the_product_may_contain(text: str) -> None:
    read = read_declaration(text)
    assert [(each.names[0], each.may_contain) for each in read.ingredients] == [
        ("aqua", False),
        ("parfum", False),
        ("ci77891", True),
        ("ci42090", True),
    ]


def test_the_list_goes_on_after_the_bracket_of_shades_and_after_a_heading() -> None:
    read = read_declaration("Aqua, [+/- CI 77891], Citral. May contain: CI 1. Other ingredients: Parfum")
    assert [each.may_contain for each in read.ingredients] == [False, True, False, True, False]


@pytest.mark.parametrize(
    "heading",
    ["Ingredients:", "INGREDIENTS", "Ingrédients :", "Ingredients/Ingrédients:", "INCI:", "Inhaltsstoffe\n",
     "Bestandteile:", "Active ingredient\n", "Inactive ingredients:", "Contains", "Medicinal ingredients:"],
)  # fmt: skip
def test_a_heading_is_no_ingredient(heading: str) -> None:
    read = read_declaration(f"{heading} Aqua, Citral")
    assert [each.written for each in read.ingredients] == ["Aqua", "Citral"]
    assert len(read.remarks) == 1


@pytest.mark.parametrize(
    "claim",
    [
        "Free from limonene",
        "FREE OF limonene",
        "Contains no limonene",
        "Ohne Parfum",
    ],
)
@pytest.mark.parametrize("between", [", ", ".\n", "\n", "\n\n"])
def test_what_a_label_says_is_absent_is_no_ingredient(claim: str, between: str) -> None:
    assert written(read_declaration(f"Aqua, Citral{between}{claim}.")) == ["Aqua", "Citral"]


@pytest.mark.parametrize("claim", ["No perfume", "Keine Farbstoffe", "not made with accelerators"])
@pytest.mark.parametrize("between", [", ", ". ", ".\n"])
def test_a_name_that_begins_with_no_is_no_ingredient(claim: str, between: str) -> None:
    assert written(read_declaration(f"Aqua, Citral{between}{claim}.")) == ["Aqua", "Citral"]
    assert written(read_declaration("Aqua, No 5 Citral")) == ["Aqua", "No 5 Citral"]


@pytest.mark.parametrize(
    "claim",
    [
        "Free from parabens, formaldehyde and perfume.",
        "This product is free from parabens, formaldehyde, and perfume",
        "Manufactured without thiurams or MBT.",
        "Sans parabènes, colorants ni parfum.",
        "Ohne Parabene, Farbstoffe und Parfum.",
    ],
)
def test_a_sentence_that_lists_what_is_absent_names_no_ingredient(claim: str) -> None:
    text = f"Aqua, Glycerin, Citral, Linalool.\n{claim}\nIngredients of the pump: Carbomer"
    read = read_declaration(text)
    assert [each.names[0] for each in read.ingredients][:4] == ["aqua", "glycerin", "citral", "linalool"]
    assert "carbomer" in read.ingredients[-1].names
    assert [text[one.start : one.end] for one in read.remarks if "absent" in one.says] == [claim]
    assert read.unread == ()


@pytest.mark.parametrize(
    "text",
    [
        "Free from parabens, Aqua, Glycerin and Linalool.",  # water is a list's first ingredient
        "Aqua, free from parabens, Glycerin and Linalool.",  # no sentence begins here
        "Free from parabens, Glycerin, Linalool",  # nothing ends the claim
    ],
)
def test_a_list_that_begins_with_a_claim_is_still_a_list(text: str) -> None:
    assert "Linalool" in written(read_declaration(text))


def test_words_that_stand_for_what_is_illegible_are_no_name() -> None:
    assert written(read_declaration("Aqua, [illegible], Citral (illisible)")) == [
        "Aqua",
        "Citral (illisible)",
    ]


def test_a_claim_that_may_be_the_list_itself_is_left_unread() -> None:
    text = "Free from parabens, Glycerin, Linalool and Citral.\nStore cool"
    (stretch,) = read_declaration(text).unread
    assert text[stretch.start : stretch.end] == "Free from parabens, Glycerin, Linalool and Citral."


def test_words_of_a_heading_within_a_list_stand_for_ingredients_unnamed() -> None:
    assert written(read_declaration("Nitrile, accelerators, pigments")) == [
        "Nitrile",
        "accelerators",
        "pigments",
    ]
    assert written(read_declaration("Aqua, Parfum and other ingredients")) == [
        "Aqua",
        "Parfum",
        "and other ingredients",
    ]
    assert written(read_declaration("Accelerators\nZDEC\nZDBC")) == ["ZDEC", "ZDBC"]


def test_a_medicine_leaflet_gives_its_active_and_its_other_ingredients() -> None:
    read = read_declaration(
        "Active ingredient    Purpose\nBenzalkonium chloride 0.13%......Antiseptic\n"
        "Inactive ingredients\nwater, glycerin,\nfragrance",
        ListKind.PARTIAL,
    )
    assert written(read)[-4:] == ["Benzalkonium chloride 0.13%", "water", "glycerin", "fragrance"]
    assert read.kind is ListKind.PARTIAL


def test_each_row_of_a_data_sheet_is_one_ingredient_with_its_number() -> None:
    read = read_declaration(
        "Chemical name | CAS No | EC No | Conc. | Classification\n"
        "Methylisothiazolinone | 2682-20-4 | 220-239-6 | < 0.01 % | Acute Tox. 3, H301; Skin Corr. 1B H314\n"
        "Ethanol            64-17-5            60 %            Flam. Liq. 2\n"
        "64-17-5\tEthyl alcohol",
        ListKind.DATA_SHEET,
    )
    assert [each.names for each in read.ingredients] == [
        ("methylisothiazolinone", "2682-20-4"),
        ("ethanol", "64-17-5"),
        ("ethylalcohol", "64-17-5"),
    ]
    assert read.ingredients[1].share == 60
    assert read.unread == ()


@pytest.mark.parametrize(
    ("text", "unread"),
    [
        ("Aqua, ###, Citral", "###"),
        ("Aqua, 12345, Citral", "12345"),
        ("Aqua, M\ufffdthylparaben", "\ufffd"),
        ("Aqua, M?thylparaben", "?"),
        ("Aq\x00ua", "\x00"),
        ("Aqua (CAS 7732-18-6)", "7732-18-6"),  # water is 7732-18-5: 8*1+1*2+2*3+3*4+7*5+7*6 = 105
        ("Aqua, see carton", "see carton"),
        ("Aqua, [illegible], Citral", "[illegible]"),
        ("Aqua, illegible, Citral", "illegible"),
        ("Aqua, Sodium (not readable) Sulfate", "(not readable)"),
        ("Citral, " + "x" * 251, "x" * 251),
        ("Citral, " + "to be used with care " * 20, "to be used with care " * 20),
    ],
)
def test_what_cannot_be_read_is_kept_with_its_place_and_a_reason(text: str, unread: str) -> None:
    (stretch,) = read_declaration(text).unread
    assert text[stretch.start : stretch.end].strip() == unread.strip()
    assert stretch.why.endswith(".")


@pytest.mark.parametrize(
    "kind", [ListKind.FULL, ListKind.PARTIAL, ListKind.DATA_SHEET, ListKind.GLOVE_DECLARED]
)
@pytest.mark.parametrize(
    "text", ["", " \n", "\ufeff", "12345", "n/a", "Ingredients: see carton", "Ingredients: not available"]
)
def test_an_empty_label_or_a_picture_declares_nothing(text: str, kind: ListKind) -> None:
    read = read_declaration(text, kind)
    assert (read.kind, read.ingredients) == (ListKind.NOTHING, ())
    assert read.unread


def test_a_claim_stays_a_claim_without_ingredients() -> None:
    read = read_declaration("", ListKind.GLOVE_CLAIM)
    assert (read.kind, read.unread) == (ListKind.GLOVE_CLAIM, ())


def test_a_text_no_label_has_is_refused_with_what_to_do() -> None:
    read_declaration("a" * LONGEST_TEXT)
    with pytest.raises(BadInput, match="one product") as refused:
        read_declaration("a, " * 3_400_000)
    assert "10,200,000" in refused.value.what


def test_more_ingredients_than_any_label_has_leave_the_rest_unread() -> None:
    text = ", ".join(["Citral"] * (MOST_INGREDIENTS + 2))
    read = read_declaration(text)
    assert len(read.ingredients) == MOST_INGREDIENTS
    assert text[read.unread[0].start :].strip() == "Citral, Citral"


@pytest.mark.parametrize(
    "repeated",
    ["(", "((((a)", "(,", ",", "/a", "1,", "N,N'", "acid, ", "\n ", "\t", "[+/- ", "\nIngredients ", " and a",
     "Ingredients/", "1 - ", "aaaa.", "1%", "0.0 - ", "a?", "\x00", "\ufffd,", "é,", "12-34-5,", "a (b, c) ",
     "(a) ", "[(", "free from a, ", "free from a and b.", "[illegible]"],
)  # fmt: skip
@pytest.mark.parametrize("kind", [ListKind.FULL, ListKind.DATA_SHEET])
def test_a_text_made_to_be_slow_is_read_all_the_same(repeated: str, kind: ListKind) -> None:
    # Were one pattern to take time by the square of the length, this would hang: 50,000 characters each.
    text = (repeated * 50_000)[:50_000]
    assert read_declaration(text, kind).text == text


def written(read: Declaration) -> list[str]:
    """The ingredients as the label writes them."""
    return [each.written for each in read.ingredients]


@pytest.mark.parametrize(
    ("text", "unread"),
    [
        ("Aqua, Citr\u0430l, Parfum", ["Citr\u0430l"]),
        ("Aqua, \u03b1-Isomethyl Ionone, \u03b5-Polylysine", []),
        ("Cr\u00e8me, Citral \u00c6ther\u00f8l, \u0141an\u0131l, Stra\u00dfe", []),
        ("Citral 10 \u00b5g/g, Aqua\u00ae, \uff23itral", []),
        ("Aqua, \u0421\u043e\u0441\u0442\u0430\u0432, Citral", ["\u0421\u043e\u0441\u0442\u0430\u0432"]),
    ],
)
def test_words_of_other_letters_than_latin_are_unread_and_accents_are_not(
    text: str, unread: list[str]
) -> None:
    assert [text[one.start : one.end] for one in read_declaration(text).unread] == unread


def test_a_sign_that_turns_the_writing_round_leaves_the_text_unread() -> None:
    read = read_declaration("Aqua, \u202elartiC\u202c")
    assert [(one.start, one.end) for one in read.unread] == [(6, 13)]
    assert read_declaration("Aqua, \u200eCitral\u200f").unread == ()


@pytest.mark.parametrize(
    "number",
    [
        "2682-20-4",
        "\uff12\uff16\uff18\uff12-\uff12\uff10-\uff14",
        "\u0662\u0666\u0668\u0662-\u0662\u0660-\u0664",
    ],
)
def test_a_cas_number_counts_in_whatever_digits_it_is_written(number: str) -> None:
    assert read_declaration(f"Aqua, {number}").ingredients[1].names == ("2682-20-4",)


@pytest.mark.parametrize(
    ("text", "unread"),
    [
        ("Aqua, Citral, etc.", ["etc"]),
        ("Aqua, Citral usw.", ["usw."]),
        ("Aqua, Citral and others", ["others"]),
        ("Aqua, Citral, among others", ["among others"]),
        ("Aqua, 3 further ingredients", ["3 further ingredients"]),
        ("Aqua, Citral, ...", ["..."]),
        ("Aqua, Citral\u2026", ["\u2026"]),
        ("Aqua, Ci<wbr>tral", ["<wbr>"]),
        ("Aqua, Ci&shy;tral", ["&shy"]),
        ("Aqua & Citral, Tea (Thea) <1 %", []),
    ],
)
def test_what_a_list_leaves_open_or_a_web_page_left_in_it_is_unread(text: str, unread: list[str]) -> None:
    assert [text[one.start : one.end] for one in read_declaration(text).unread] == unread
