"""A fault in what is known of allergens is refused with the file and the row or key."""

import pytest

from thenar.knowledge import KnowledgeError
from thenar.knowledge.book import shipped_digest

ROWS = "allergy/allergens.csv"
HEAD = "allergy/allergens.toml"
PAIRS = "allergy/cross_reactions.toml"
HIDDEN = "allergy/hidden.toml"
FINDINGS = "allergy/findings.toml"
GLOVES = "allergy/gloves.toml"
SERIES = "allergy/patch_series.toml"

COUMARIN = '[[shared_name]]\nname = "Coumarin"\nallergens = []\nwhy = ""\n\n[[shared_cas]]'

FAULTS = {
    "a wrong check digit": (ROWS, ",2682-20-4,", ",2682-20-5,", "methylisothiazolinone.cas has 2682-20-5"),
    "a number that is none": (ROWS, ",2682-20-4,", ",2682-20,", "methylisothiazolinone.cas has 2682-20"),
    "a row twice": (ROWS, "\nmethylchloroisothiazolinone,", "\nmethylisothiazolinone,", "stands twice"),
    "an unknown group": (ROWS, "Glyoxal,aldehyde_disinfectant", "Glyoxal,aldehyd", "glyoxal names the group"),
    "an unknown component": (
        ROWS,
        "tmtd|tetd|tmtm",
        "tmtd|tetd|tmtx",
        "thiuram_mix names the allergen 'tmtx'",
    ),
    "an unknown standing": (ROWS, ",published,", ",rumour,", "identity_known_as"),
    "a part without a source": (ROWS, ',cosing,"name of', ',,"name of', "mci_mi.components_source"),
    "an unknown source": (ROWS, ",cosing,INCI name", ",nobody,INCI name", "cites 'nobody'"),
    "an unknown material": (ROWS, ',yes,latex,"', ',yes,rubber,"', "the glove material 'rubber'"),
    "an empty name": (ROWS, "MI|MIT|", "MI||", "methylisothiazolinone has an empty name"),
    "an unknown column": (ROWS, "id,name,group", "id,nam,group", "nam"),
    "a cell too many": (ROWS, "2682-20-4,", "2682-20-4,x,", "cells too many"),
    "one name for two": (ROWS, "MCI|CMIT|", "MCI|MI|", "mi is a name of methylisothiazolinone"),
    "one number for two": (ROWS, ",26172-55-4,", ",2682-20-4,", "2682-20-4 is a name of"),
    "a shared name that is not": (
        HEAD,
        "[[shared_cas]]",
        COUMARIN,
        "Coumarin is listed as shared and is not",
    ),
    "an unknown allergen in a pair": (PAIRS, '["octylisothiazolinone"]', '["octyl"]', "allergen 'octyl'"),
    "an unknown group in a pair": (PAIRS, '["fragrance_botanical"]', '["plants"]', "the group 'plants'"),
    "an unknown grade": (PAIRS, 'grade = "avoid"', 'grade = "perhaps"', "grade"),
    "a pair of an unknown source": (PAIRS, 'source = "russo-2020"', 'source = "them"', "cites 'them'"),
    "an umbrella over nothing": (
        HIDDEN,
        '"fragrance_oxidised"',
        '"scents"',
        "umbrella.parfum names the group",
    ),
    "an umbrella of an allergen's name": (HIDDEN, '"Perfume"', '"Linalool"', "'linalool' with linalool"),
    "one name under two umbrellas": (HIDDEN, '"Fragrances"', '"Parfum"', "shares the name 'parfum'"),
    "an umbrella over no allergen": (HIDDEN, '"ascaridole"', '"scent"', "names the allergen 'scent'"),
    "an impurity of nothing": (HIDDEN, 'comes_with = "cocamide_dea"', 'comes_with = "soap"', "'soap'"),
    "a finding of nothing": (FINDINGS, '["bisphenol_a"]', '["bpa"]', "the allergen 'bpa'"),
    "a finding in no kind of product": (FINDINGS, 'category = "wipe"', 'category = "rag"', "category"),
    "a finding in no material": (FINDINGS, '["pvc"]', '["vinyl"]', "the glove material 'vinyl'"),
    "a material that holds nothing known": (
        GLOVES,
        '"rubber_thiazole"',
        '"thiazole"',
        "the group 'thiazole'",
    ),
    "a material that holds no allergen": (GLOVES, '["benzisothiazolinone"]', '["bit"]', "the allergen 'bit'"),
    "minutes through nothing": (GLOVES, 'material = "butyl"', 'material = "wool"', "material 'wool'"),
    "minutes the wrong way round": (
        GLOVES,
        "most_minutes = 7.6",
        "most_minutes = 1",
        "ends before it starts",
    ),
    "a series of nothing": (SERIES, 'allergen = "hema"', 'allergen = "glue"', "the allergen 'glue'"),
    "a series with one allergen twice": (
        SERIES,
        'allergen = "hema"',
        'allergen = "ppd"',
        "an allergen twice",
    ),
    "a series that ends before it starts": (
        SERIES,
        "in_force_from = 2019-01-01",
        "until = 2018-01-01\nin_force_from = 2019-01-01",
        "european-baseline-2019 ends before it starts",
    ),
    "an unknown key": (SERIES, "standing = ", "standng = ", "standng"),
}


@pytest.mark.parametrize(("name", "old", "new", "key"), FAULTS.values(), ids=FAULTS)
def test_it_refuses(shipped_copy, name, old, new, key):
    shipped_copy.change(name, old, new)
    with pytest.raises(KnowledgeError) as refusal:
        shipped_copy.load()
    assert name in refusal.value.what
    assert key in refusal.value.what


def test_it_refuses_a_pair_that_stands_twice(shipped_copy):
    shipped_copy.append(
        PAIRS,
        '[[cross_reaction]]\ntested = ["citral"]\nfound = ["geraniol"]\ngrade = "avoid"\nnumbers = ""\n'
        'cited = { source = "hagvall", locator = "opening", known_as = "published" }\n',
    )
    with pytest.raises(KnowledgeError, match=r"cross-reaction\.citral\.geraniol also stands in"):
        shipped_copy.load()


def test_it_refuses_a_table_that_is_missing(shipped_copy):
    (shipped_copy.folder / ROWS).unlink()
    with pytest.raises(KnowledgeError, match="cannot be read"):
        shipped_copy.load()


def test_it_refuses_a_table_without_its_head(shipped_copy):
    (shipped_copy.folder / HEAD).unlink()
    with pytest.raises(KnowledgeError, match=r'no file: kind "allergens" must stand once'):
        shipped_copy.load()


def test_the_table_of_allergens_counts_in_the_fingerprint(shipped_copy):
    before = shipped_digest()
    shipped_copy.change(ROWS, "MI|MIT|", "MI|MIT|MT|")
    assert shipped_digest() != before
