"""Finding allergens by name: what decides, what does not, and what is only suggested."""

from dataclasses import replace

import pytest

from thenar.allergy.declarations import read_declaration
from thenar.allergy.declared import Ingredient, ListKind
from thenar.allergy.names import Names
from thenar.allergy.normal_form import normal_form
from thenar.allergy.suggestions import suggest
from thenar.knowledge import load
from thenar.knowledge.allergens import Allergen, AllergenTable, Cited, SameName
from thenar.knowledge.entries import KnownAs

CITED = Cited("invented", "for this test", KnownAs.OUR_CHOICE)


def made_up(id_: str, inci: str = "", cas: str = "", synonyms: tuple[str, ...] = ()) -> Allergen:
    """An allergen of a table made by hand."""
    one = (inci,) if inci else ()
    return Allergen(id_, id_, one, (cas,) if cas else (), synonyms, "group", (), (), (), CITED)


# Two glucosides share a CAS number, as in the European inventory.
TABLE = AllergenTable(
    allergens={
        one.id: one
        for one in (
            made_up("lauryl_glucoside", "Lauryl Glucoside", "110615-47-9"),
            made_up("coco_glucoside", "Coco-Glucoside", "110615-47-9"),
            made_up("mi", "Methylisothiazolinone", "2682-20-4", ("MI", "MIT")),
            made_up("methylparaben", "Methylparaben", "99-76-3"),
            made_up("ethylparaben", "Ethylparaben", "120-47-8"),
            made_up("caprylyl_glucoside", "Caprylyl/Capryl Glucoside"),
            made_up("blend", "Linalool/Limonene Blend"),
            made_up("alcohol", "Alcohol", "64-17-5", ("ethanol",)),
            made_up("cetearyl_alcohol", "Cetearyl Alcohol"),
            made_up("tricresyl", "", "1330-78-5", ("TCP",)),
            made_up("linalool", "Linalool", "78-70-6"),
            made_up("limonene", "Limonene"),
        )
    },
    cross_reactions=(),
    umbrellas=(),
    impurities=(),
    findings=(),
    same_names=(
        SameName("water", ("Aqua", "Water", "Eau"), CITED),
        SameName("mi", ("Methylisothiazolinone", "Méthylisothiazolone"), CITED),
    ),
    materials={},
    breakthroughs=(),
    series={},
)
NAMES = Names(TABLE)


def found(text: str, kind: ListKind = ListKind.FULL) -> list[tuple[str, ...]]:
    """What each ingredient of a text matches."""
    return [NAMES.ingredient_matches(each) for each in read_declaration(text, kind).ingredients]


@pytest.mark.parametrize(
    "name",
    ["Methylisothiazolinone", "METHYLISOTHIAZOLINONE", "Methyl Isothiazolinone", "Méthylisothiazolinone",
     "mit", "Methyl-isothiazolinone", "Methylisothia\u00adzolinone", "Méthylisothiazolone", "MI",
     "CAS 2682-20-4",
     "Methylisothiazolinone/Méthylisothiazolinone", "Methylisothiazolinone (MIT)", "MIT 0.01 %"],
)  # fmt: skip
def test_an_allergen_is_found_under_every_spelling_of_its_names(name: str) -> None:
    assert found(name) == [("mi",)]


@pytest.mark.parametrize(
    "name", ["Methylisothiazolinon", "Methylisothiazo1inone", "MIX", "Mica", "Sodium Methylparaben"]
)
def test_nothing_near_a_name_is_a_match(name: str) -> None:
    assert found(name) == [()]


def test_a_label_name_silences_its_number_because_names_share_numbers() -> None:
    assert found("Coco-Glucoside (CAS 110615-47-9)") == [("coco_glucoside",)]
    assert found("An alkyl glucoside (CAS 110615-47-9)") == [("lauryl_glucoside", "coco_glucoside")]


def test_a_mere_synonym_does_not_silence_the_number() -> None:
    # TCP names several chemicals; the number beside it is that of linalool.
    assert found("TCP (CAS 78-70-6)") == [("tricresyl", "linalool")]


def test_a_whole_name_is_not_taken_apart() -> None:
    assert found("Cetearyl\nAlcohol, Caprylyl/Capryl Glucoside") == [
        ("cetearyl_alcohol",),
        ("caprylyl_glucoside",),
    ]
    assert found("Linalool / Limonene Blend") == [("blend",)]
    assert found("Behenyl\nAlcohol, Aqua, Citral") == [(), (), ()]


def test_names_that_ran_together_are_told_apart_only_if_every_part_is_known() -> None:
    assert found("Aqua Linalool Limonene") == [("linalool", "limonene")]
    assert found("LinaloolLimonene") == [("linalool", "limonene")]
    assert found("Linalool Oxide") == [()]


@pytest.mark.parametrize(
    "text", ["Glycerin Methylparaben", "GLYCERINMETHYLPARABEN", "Methylparaben Glycerin"]
)
def test_a_known_name_grown_to_an_unknown_one_is_no_match_but_may_be_two_names(text: str) -> None:
    (ingredient,) = read_declaration(text).ingredients
    assert NAMES.ingredient_matches(ingredient) == ()
    assert NAMES.run_together(ingredient) == ("methylparaben",)


@pytest.mark.parametrize("text", ["Methylparaben", "Aqua", "Linalool Citrate", "N-Linalool", "Citral"])
def test_a_known_name_and_a_chemical_made_of_one_are_not_two_names(text: str) -> None:
    (ingredient,) = read_declaration(text).ingredients
    assert NAMES.run_together(ingredient) == ()


def test_a_synonym_of_what_shares_a_label_name_finds_all_that_share_it() -> None:
    # Reacting to oxidised limonene, one avoids Limonene under any of its names.
    limonene = made_up("limonene", "Limonene", "", ("d-limonene",))
    table = replace(TABLE, allergens={"limonene": limonene, "oxidised": made_up("oxidised", "Limonene")})
    (ingredient,) = read_declaration("D-Limonene").ingredients
    assert Names(table).ingredient_matches(ingredient) == ("limonene", "oxidised")


def test_a_name_that_lost_its_comma_at_a_line_end_is_found() -> None:
    assert found("Glycerin, Linalool\nStore in a cool place, Aqua") == [(), ("linalool",), ()]


def test_a_slash_lies_inside_names_made_of_what_it_parts() -> None:
    assert found("Alcohol/Linalool Copolymer, Linalool/Limonene") == [(), ("linalool", "limonene")]


def test_same_names_are_known_by_each_other() -> None:
    (water,) = read_declaration("Eau").ingredients
    assert set(NAMES.known_names(water)) == {"eau", "aqua", "water"}
    assert NAMES.alias("aqua") == ("water", "eau")
    assert NAMES.alias("citral") == ()


def test_what_is_remembered_never_depends_on_what_was_asked_before() -> None:
    one = Ingredient(1, "x", ("alcohol",), 0, 1)
    assert NAMES.ingredient_matches(one) == ("alcohol",)
    assert NAMES.ingredient_matches(one._replace(names=("x", "alcohol"))) == ("alcohol",)
    assert Names(replace(TABLE, allergens={})).ingredient_matches(one) == ()


def test_a_misprint_brings_a_suggestion_and_no_match() -> None:
    (misprint,) = read_declaration("Methylisothiazo1inone").ingredients
    (suggestion,) = suggest(misprint, NAMES)
    assert (suggestion.name, suggestion.allergens) == ("Methylisothiazolinone", ("mi",))


@pytest.mark.parametrize("name", ["Ethylparaben", "Methylparaben", "Glycerin", "MIX", "Eau"])
def test_known_names_short_names_and_far_names_bring_no_suggestion(name: str) -> None:
    (ingredient,) = read_declaration(name).ingredients
    assert suggest(ingredient, NAMES) == ()


def test_every_name_and_number_of_the_table_finds_its_allergen() -> None:
    table = load().allergens
    names = Names(table)
    lost = [
        (allergen.id, name)
        for allergen in table.allergens.values()
        for name in (*allergen.inci, *allergen.cas, *allergen.synonyms)
        if allergen.id not in names.allergens_named(normal_form(name))
    ]
    # A synonym that is another allergen's label name belongs to that one.
    label_names = {normal_form(name) for one in table.allergens.values() for name in one.inci}
    assert [each for each in lost if normal_form(each[1]) not in label_names] == []


def test_every_label_name_of_the_table_is_read_back_whole_from_a_list() -> None:
    table = load().allergens
    names = Names(table)
    missed = [
        (allergen.id, name)
        for allergen in table.allergens.values()
        for name in allergen.inci
        for text in (f"Aqua, {name}, Glycerin", f"Aqua,{name},Glycerin", f"Aqua\n{name}\nGlycerin")
        if (read := read_declaration(text).ingredients)
        and (len(read) != 3 or allergen.id not in names.ingredient_matches(read[1]))
    ]
    assert missed == []
