"""What is known of allergens keeps what its sources say: counts, sums, traps, and what is only remembered."""

from collections import Counter
from decimal import Decimal

import pytest

from thenar.allergy.normal_form import normal_form
from thenar.knowledge import KnownAs, load
from thenar.knowledge.allergens import Grade

BOOK = load()
TABLE = BOOK.allergens
GRADES = {(pair.tested, pair.found): pair for pair in TABLE.cross_reactions}
OF_GROUP = Counter(one.group for one in TABLE.allergens.values())
ALL_NAMES = {
    normal_form(name) for one in TABLE.allergens.values() for name in (one.name, *one.inci, *one.synonyms)
}


def share(concentration: str) -> Decimal:
    return Decimal(concentration.split(" %", maxsplit=1)[0])


def test_all_81_fragrances_that_must_be_declared_are_there():
    # Regulation (EU) 2023/1545: entries 45, 46, 67 to 92 less the deleted, and so on to 371: 81 groups.
    declared = [one for one in TABLE.allergens.values() if one.identity.source == "annex-iii"]
    assert len(declared) == 81
    assert len({one.identity.locator for one in declared}) == 81
    assert all(one.inci for one in declared)


def test_group_entries_of_the_regulation_keep_every_label_name():
    # The same regulation: ten names for rose, eight for lavender.
    assert len(TABLE.allergens["rose_flower_oil_extract"].inci) == 10
    assert len(TABLE.allergens["lavandula_oil_extract"].inci) == 8


def test_the_releasers_are_fewer_than_were_ever_inventoried():
    # de Groot and others 2009 list 35 releasers; the others are not met on hands. None is invented.
    releasers = [one.id for one in TABLE.allergens.values() if "formaldehyde" in one.releases]
    assert len(releasers) == OF_GROUP["formaldehyde_releaser"] == 15
    assert len(releasers) < 35


def test_mixes_add_up_to_their_published_concentration():
    # European Commission, tables 4-1 and 4-2; Uter and others 2010; Warshaw and others 2020.
    whole_of = {"fragrance_mix_i": 8, "fragrance_mix_ii": 14, "caine_mix_iii": 10}
    for mix, whole in whole_of.items():
        parts = [TABLE.allergens[part].preparation for part in TABLE.allergens[mix].components]
        in_mix = {"hicc": Decimal("2.5")}
        shares = [
            in_mix.get(part, share(prepared.concentration))
            for part, prepared in zip(TABLE.allergens[mix].components, parts, strict=True)
        ]
        assert sum(shares) == whole, mix
    assert len(TABLE.allergens["thiuram_mix"].components) * Decimal("0.25") == 1
    assert len(TABLE.allergens["carba_mix"].components) * 1 == 3
    # Six dyes at 1 % and Disperse Blue 106 and 124 at 0.3 % make 6.6 %.
    assert len(TABLE.allergens["textile_dye_mix"].components) == 8
    assert 6 * Decimal(1) + 2 * Decimal("0.3") == Decimal("6.6")


def test_doses_of_the_baseline_series_follow_its_rule():
    # 40 mg/cm2 of petrolatum, 30 uL/cm2 of water; seen for formaldehyde 0.60 (Goossens and Aerts 2022) and
    # tetraethylthiuram disulfide 0.40 (Kursawe Larsen and others 2025).
    items = TABLE.series["european-baseline-2019"].items
    assert len(items) == 30
    for item in items:
        per_percent = Decimal("0.4") if item.preparation.vehicle == "pet" else Decimal("0.3")
        dose = Decimal(item.dose.removesuffix(" mg/cm2"))
        assert abs(share(item.preparation.concentration) * per_percent - dose) <= Decimal("0.05"), (
            item.allergen
        )


def test_the_revision_of_2023_is_not_passed_off_as_known():
    series = TABLE.series["european-baseline-2019"]
    assert "not confirmed" in series.standing
    assert series.cited.known_as is KnownAs.FROM_MEMORY
    assert not any("2023" in id_ for id_ in TABLE.series)


@pytest.mark.parametrize("id_", ["potassium_dichromate", "nickel_sulfate", "mci_mi", "textile_dye_mix"])
def test_baseline_figures_that_were_only_remembered_say_so(id_):
    (item,) = [item for item in TABLE.series["european-baseline-2019"].items if item.allergen == id_]
    assert item.preparation.cited.known_as is KnownAs.FROM_MEMORY


@pytest.mark.parametrize(
    ("tested", "label"),
    [("linalool_hydroperoxides", "Linalool"), ("limonene_hydroperoxides", "Limonene")],
)
def test_what_forms_in_air_is_found_by_the_name_on_the_label(tested, label):
    assert label in TABLE.allergens[tested].inci


@pytest.mark.parametrize(
    ("tested", "found", "grade"),
    [
        # Aalto-Korte and others 2016: all 34 with a dithiocarbamate; 21, 20 and 1 of 155 with a thiuram.
        ("zdec", "tmtd", Grade.AVOID),
        ("thiuram_mix", "zdec", Grade.AVOID),
        ("thiuram_mix", "zdmc", Grade.AVOID),
        ("tetd", "zdbc", Grade.CANNOT_EXCLUDE),
        # Aalto-Korte and others 2017: 17 of 19; Russo and Aerts 2020: 6 of 7 and 1 of 7.
        ("octylisothiazolinone", "methylisothiazolinone", Grade.AVOID),
        ("methylisothiazolinone", "octylisothiazolinone", Grade.CANNOT_EXCLUDE),
        ("methylisothiazolinone", "benzisothiazolinone", Grade.INFORMATION),
        # Foti and others 2003; Fowler 1997.
        ("dimethylaminopropylamine", "cocamidopropyl_betaine", Grade.AVOID),
        ("cocamidopropyl_dimethylamine", "cocamidopropyl_betaine", Grade.AVOID),
        # Knijp and others 2019: the label says Lanolin.
        ("lanolin_alcohol", "lanolin", Grade.AVOID),
        # Opstrup and others 2016: one salt misses what another shows.
        ("chlorhexidine_digluconate", "chlorhexidine_diacetate", Grade.AVOID),
        # Shaffer and Belsito 2000.
        ("glutaral", "formaldehyde", Grade.CANNOT_EXCLUDE),
        # Hagvall: the declared name only.
        ("citral", "geraniol", Grade.INFORMATION),
        # Dahlin and others 2014: guanidines.
        ("tpg", "dpg", Grade.AVOID),
        # Yamano and others 2009, in guinea pigs.
        ("ippd", "6ppd", Grade.AVOID),
        ("ippd", "ppd", Grade.INFORMATION),
        # A review of 2002: about half have symptoms.
        ("natural_rubber_latex", "latex_fruit", Grade.INFORMATION),
        # Nishioka and others 2000: a reaction to the product says nothing of iodine.
        ("pvp_iodine", "iodine", Grade.INFORMATION),
    ],
)
def test_cross_reactions_are_graded_as_published(tested, found, grade):
    assert GRADES[tested, found].grade is grade
    assert GRADES[tested, found].cited.known_as is KnownAs.PUBLISHED


def test_only_bronopol_is_eased_by_a_negative_test():
    # Goossens and Aerts 2022.
    eased = [(pair.tested, pair.found) for pair in TABLE.cross_reactions if pair.eased_by_negative_test]
    assert eased == [("formaldehyde", "bronopol")]
    assert GRADES["formaldehyde", "bronopol"].grade is Grade.CANNOT_EXCLUDE


def test_formaldehyde_rules_out_every_other_releaser_and_no_releaser_rules_out_formaldehyde():
    # de Groot and others 2010; Goossens and Aerts 2022. Quaternium-15 differs: Jacobs and others 1995.
    for one in TABLE.allergens.values():
        if "formaldehyde" in one.releases and one.id != "bronopol":
            assert GRADES["formaldehyde", one.id].grade is Grade.AVOID
            back = GRADES[one.id, "formaldehyde"].grade
            assert back is (Grade.AVOID if one.id == "quaternium_15" else Grade.INFORMATION)


def test_no_cross_reaction_is_with_itself_or_stands_twice():
    assert len(GRADES) == len(TABLE.cross_reactions)
    assert all(tested != found for tested, found in GRADES)


def test_a_fragrance_name_hides_every_fragrance_and_every_marker():
    # Regulation (EC) No 1223/2009: below the amount to declare; Wohrl and others 2001: the markers.
    for id_ in ("umbrella.parfum", "umbrella.fragrance"):
        (umbrella,) = [one for one in TABLE.umbrellas if one.id == id_]
        hidden = {one.id for one in TABLE.allergens.values() if one.group in umbrella.hides_groups}
        hidden |= set(umbrella.hides)
        declared = {one.id for one in TABLE.allergens.values() if one.identity.source == "annex-iii"}
        assert declared <= hidden
        assert {
            "fragrance_mix_i",
            "fragrance_mix_ii",
            "myroxylon_pereirae",
            "colophonium",
            "propolis",
        } <= hidden


def test_no_collective_name_is_an_allergen_as_labels_are_read():
    collective = {normal_form(name): one.id for one in TABLE.umbrellas for name in one.names}
    assert not collective.keys() & ALL_NAMES
    assert {"parfum", "fragrance", "aroma", "flavor", "perfume"} <= collective.keys()


def test_names_differ_as_labels_are_read_unless_listed_as_shared():
    owners = Counter(
        name
        for one in TABLE.allergens.values()
        for name in {normal_form(each) for each in (one.name, *one.inci, *one.synonyms)}
    )
    shared = {name for name, times in owners.items() if times > 1}
    listed = ("Linalool", "Limonene", "Chamomilla Recutita Flower Extract", "Arnica Montana Flower Extract")
    assert shared == {normal_form(name) for name in listed}


def test_a_test_mix_is_found_by_its_parts_and_never_by_the_name_parfum():
    for mix in ("fragrance_mix_i", "fragrance_mix_ii", "paraben_mix", "mci_mi", "amerchol_l101"):
        assert TABLE.allergens[mix].inci == ()
        assert TABLE.allergens[mix].components


def test_latex_allergy_is_immediate_and_rules_out_the_material():
    latex = TABLE.allergens["natural_rubber_latex"]
    assert latex.immediate
    assert TABLE.materials[latex.excludes_material].natural_latex
    assert [one.id for one in TABLE.materials.values() if one.natural_latex] == ["latex"]
    assert latex.preparation is None


def test_every_chlorhexidine_salt_can_cause_both_kinds_of_allergy():
    salts = [one for one in TABLE.allergens.values() if one.name.startswith("Chlorhexidine")]
    assert len(salts) == 4
    assert all(one.immediate for one in salts)
    assert TABLE.allergens["chlorhexidine_digluconate"].preparation


@pytest.mark.parametrize(
    "id_",
    # Positivity ratio and reaction index (North American group); Lessmann and others 2005.
    [
        "cocamidopropyl_betaine",
        "benzalkonium_chloride",
        "iodopropynyl_butylcarbamate",
        "dpg",
        "propylene_glycol",
        "pvp_iodine",
        "bronopol",
        "mdbgn",
    ],
)
def test_irritant_preparations_are_marked(id_):
    assert TABLE.allergens[id_].irritant_preparation


@pytest.mark.parametrize(
    ("allergen", "category", "material"),
    [
        ("methylisothiazolinone", "wipe", None),
        ("benzisothiazolinone", "glove", "nitrile"),
        ("benzisothiazolinone", "glove", "pvc"),
        ("sodium_metabisulfite", "glove", "latex"),
        ("dpg", "glove", "polyisoprene"),
        ("cetylpyridinium_chloride", "glove", "chloroprene"),
        ("mbt", "glove", "nitrile"),
        ("bisphenol_a", "glove", "pvc"),
    ],
)
def test_what_was_found_undeclared_is_kept(allergen, category, material):
    found = [one for one in TABLE.findings if allergen in one.allergens and one.category == category]
    assert any(material is None or material in one.materials for one in found)


def test_plastic_gloves_are_not_said_to_hold_accelerators():
    # Hansen and others 2021, table 3.
    rubber = {"latex", "nitrile", "chloroprene", "polyisoprene", "butyl", "fluoroelastomer"}
    for one in TABLE.materials.values():
        assert ("rubber_dithiocarbamate" in one.may_hold_groups) is (one.id in rubber)


def test_a_bound_nobody_published_is_left_open():
    by_id = {one.id: one for one in TABLE.breakthroughs}
    # Makela and others 2003: 4.6 to 7.6 minutes. Jordan and others 1996: four hours or more.
    thin = by_id["breakthrough.isopropanol-70.latex"]
    assert (thin.least_minutes, thin.most_minutes) == (Decimal("4.6"), Decimal("7.6"))
    assert by_id["breakthrough.glutaraldehyde-2-to-3.4.nitrile"].most_minutes is None
    unknown = by_id["breakthrough.ethanol.latex"]
    assert (unknown.least_minutes, unknown.most_minutes) == (None, None)


def test_every_allergen_series_and_material_can_be_shown_with_its_sources():
    for one in (*TABLE.allergens.values(), *TABLE.series.values(), *TABLE.materials.values()):
        assert BOOK.entry(one.entry).file.startswith("allergy/")
    for one in (
        *TABLE.cross_reactions,
        *TABLE.umbrellas,
        *TABLE.impurities,
        *TABLE.findings,
        *TABLE.same_names,
        *TABLE.breakthroughs,
    ):
        assert BOOK.entry(one.id).citation.source.title


def test_an_entry_shows_each_part_of_an_allergen_with_its_own_standing():
    entry = BOOK.entry("allergen.bronidox")
    standing = {step.says.split(" ", maxsplit=1)[0]: step.citation.known_as for step in entry.history}
    assert standing["Gives"] is KnownAs.FROM_MEMORY
    assert entry.citation.known_as is KnownAs.PUBLISHED
