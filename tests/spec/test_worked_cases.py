"""Published cases of contact allergy to hand products and gloves, each with the answer it should get.

The numbers are those of the project's list of cases; the sources are named with each. Where a paper did not
print a label, the label here bears the names the paper found in the product.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import count

import pytest

from thenar.allergy.allergies import Allergies, Delayed, Immediate, Strength
from thenar.allergy.declarations import read_declaration
from thenar.allergy.declared import ListKind
from thenar.allergy.names import Names
from thenar.allergy.product import Category, GloveFacts, Product
from thenar.allergy.verdict import Judge
from thenar.allergy.verdict_terms import Answer, Link
from thenar.knowledge import load

AVOID, CANNOT_EXCLUDE, NO_MATCH = Answer.AVOID, Answer.CANNOT_EXCLUDE, Answer.NO_MATCH_FOUND
DECLARED, CLAIM, NOTHING = ListKind.GLOVE_DECLARED, ListKind.GLOVE_CLAIM, ListKind.NOTHING
TABLE = load().allergens
JUDGE = Judge(TABLE, Names(TABLE))
_CODES = count(1)


def delayed(*ids: str, negative: tuple[str, ...] = (), **strengths: Strength) -> Allergies:
    reactions = dict.fromkeys(ids, Strength.NOT_KNOWN) | strengths
    return Allergies(
        frozenset(Delayed(id_, strength) for id_, strength in reactions.items()),
        tested_negative=frozenset(negative),
    )


def glove(material: str, declared: str = "", kind: ListKind | None = None) -> Product:
    """A glove; its chemicals are declared if any are named, and nothing is declared otherwise."""
    kind = kind or (DECLARED if declared else NOTHING)
    facts = GloveFacts(material, coloured=False)
    return Product(f"G{next(_CODES)}", "Glove", Category.GLOVE, read_declaration(declared, kind), facts)


def made(category: Category, text: str, kind: ListKind = ListKind.FULL) -> Product:
    return Product(f"P{next(_CODES)}", str(category), category, read_declaration(text, kind))


def soap(text: str) -> Product:
    return made(Category.SOAP, text)


def disinfectant(text: str, kind: ListKind = ListKind.FULL) -> Product:
    return made(Category.DISINFECTANT, text, kind)


@dataclass(frozen=True)
class Case:
    """One published case: who reacted to what, and the answer each product should get."""

    number: int
    says: str
    source: str
    person: Allergies
    products: Mapping[str, tuple[Product, Answer]]


CASES = (
    Case(
        1,
        "Theatre staff, sterile gloves free of latex: avoid diphenylguanidine and cetylpyridinium chloride",
        "Pontén and others 2012, lup.lub.lu.se/record/3347687",
        delayed("dpg", "thiuram_mix", "cetylpyridinium_chloride"),
        {
            "declares DPG": (glove("polyisoprene", "1,3-Diphenylguanidine"), AVOID),
            "declares CPC": (glove("polyisoprene", "Cetylpyridinium chloride"), AVOID),
            "declares neither": (glove("polyisoprene", "Zinc oxide"), CANNOT_EXCLUDE),
        },
    ),
    Case(
        2,
        "Surgical gloves that give off triphenylguanidine: avoid guanidines",
        "Dahlin and others 2014, 10.1111/cod.12276",
        delayed("tpg"),
        {
            "triphenylguanidine": (glove("latex", "Triphenylguanidine"), AVOID),
            "diphenylguanidine": (glove("latex", "DPG"), AVOID),
            "ditolylguanidine": (glove("latex", "DOTG"), AVOID),
            "nothing declared": (glove("latex"), CANNOT_EXCLUDE),
        },
    ),
    Case(
        4,
        "Nitrile gloves with ZDBC and its by-products: a negative test with ZDBC alone does not clear them",
        "Case report of isothiocyanates from nitrile gloves; isothiocyanate-gloves in the bibliography",
        delayed(
            "carba_mix",
            "thiuram_mix",
            "zdec",
            "tetd",
            negative=("zdbc",),
            zdmc=Strength.WEAK,
            tmtm=Strength.WEAK,
        ),
        {"declares ZDBC": (glove("nitrile", "ZDBC"), CANNOT_EXCLUDE)},
    ),
    Case(
        6,
        "After a change to gloves free of latex: gloves chosen by what they declare cleared nine of nine",
        "Cao and others 2010, archderm 421910",
        delayed("carba_mix", "thiuram_mix", "mbt", "dpg"),
        {
            "declares MBT": (glove("nitrile", "2-Mercaptobenzothiazole"), AVOID),
            "declares ZDEC": (glove("nitrile", "ZDEC"), AVOID),
            "declares none of them": (glove("nitrile", "Zinc oxide"), NO_MATCH),
            "made without accelerators": (glove("polyethylene", "Polyethylene"), NO_MATCH),
            "made without accelerators, nothing declared": (glove("polyethylene"), CANNOT_EXCLUDE),
            "only claims it": (glove("nitrile", "", CLAIM), CANNOT_EXCLUDE),
        },
    ),
    Case(
        7,
        "Vinyl gloves held benzisothiazolinone: vinyl is not good by itself",
        "Aalto-Korte and others 2006, jamadermatology 408418",
        delayed("benzisothiazolinone"),
        {
            "nothing declared": (glove("pvc"), CANNOT_EXCLUDE),
            "accelerators declared": (glove("pvc", "Zinc oxide"), CANNOT_EXCLUDE),
            "claims to be free of accelerators": (glove("pvc", "", CLAIM), CANNOT_EXCLUDE),
            "declares it": (glove("pvc", "Benzisothiazolinone"), AVOID),
        },
    ),
    Case(
        9,
        "Vinyl gloves held bisphenol A: avoid them; nitrile cleared",
        "Case report 2003, pubmed 15025698",
        delayed(bisphenol_a=Strength.STRONG),
        {
            "vinyl that declares it": (glove("pvc", "Bisphenol A"), AVOID),
            "vinyl that declares nothing": (glove("pvc"), CANNOT_EXCLUDE),
            "nitrile": (glove("nitrile", "ZDEC"), NO_MATCH),
        },
    ),
    Case(
        11,
        "Hand gels in a child allergic to fragrances: only what is free of fragrance",
        "Burden-Teh and others 2021, PMC8239602",
        delayed(
            "myroxylon_pereirae", "linalool_hydroperoxides", "limonene_hydroperoxides", "santalum_album_oil"
        ),
        {
            "declares both": (made(Category.RUB, "Alcohol, Aqua, Parfum, Linalool, Limonene"), AVOID),
            "declares linalool": (made(Category.RUB, "Alcohol, Aqua, Linalool"), AVOID),
            "declares Parfum only": (made(Category.RUB, "Alcohol, Aqua, Parfum"), CANNOT_EXCLUDE),
            "free of fragrance": (made(Category.RUB, "Alcohol, Aqua, Glycerin, Carbomer"), NO_MATCH),
        },
    ),
    Case(
        12,
        "Didecyldimethylammonium chloride in a surface disinfectant, also airborne: avoid by its label name",
        "Geier and others 2013, 10.1111/cod.12013",
        delayed("didecyldimonium_chloride"),
        {
            "label": (disinfectant("Aqua, Didecyldimonium Chloride"), AVOID),
            "data sheet": (disinfectant("Didecyldimethylammonium chloride", ListKind.DATA_SHEET), AVOID),
        },
    ),
    Case(
        14,
        "Chlorhexidine in rubs and washes: avoid every salt",
        "Toholka and Nixon 2013, 10.1111/ajd.12087",
        delayed("chlorhexidine_digluconate", negative=("chlorhexidine_diacetate",)),
        {
            salt: (made(Category.RUB, f"Alcohol, {salt}"), AVOID)
            for salt in (
                "Chlorhexidine Digluconate",
                "Chlorhexidine Diacetate",
                "Chlorhexidine Dihydrochloride",
                "Chlorhexidine",
            )
        },
    ),
    Case(
        15,
        "Immediate allergy to chlorhexidine: avoid, and warn",
        "Toletone and others 2018",
        Allergies(immediate=frozenset({Immediate("chlorhexidine", severe=True)})),
        {
            "digluconate": (disinfectant("Aqua, Chlorhexidine Digluconate"), AVOID),
            "diacetate": (disinfectant("Aqua, Chlorhexidine Diacetate"), AVOID),
        },
    ),
    Case(
        17,
        "Cocamide DEA in hand cleansers: avoid it, flag diethanolamine and ethanolamine",
        "Aalto-Korte and others 2014, pmid 24588369",
        delayed("cocamide_dea"),
        {
            "cocamide DEA": (soap("Aqua, Cocamide DEA"), AVOID),
            "diethanolamine": (soap("Aqua, Diethanolamine"), CANNOT_EXCLUDE),
            "ethanolamine": (soap("Aqua, Ethanolamine"), CANNOT_EXCLUDE),
        },
    ),
    Case(
        18,
        "Disinfectant: avoid benzalkonium chloride and glutaraldehyde; formaldehyde was not involved",
        "Legoaster and others 1994",
        delayed("benzalkonium_chloride", "glutaral"),
        {
            "benzalkonium": (disinfectant("Aqua, Benzalkonium Chloride"), AVOID),
            "glutaral": (disinfectant("Aqua, Glutaral"), AVOID),
            "formaldehyde": (disinfectant("Aqua, Formaldehyde"), CANNOT_EXCLUDE),
            "formaldehyde releaser": (disinfectant("Aqua, DMDM Hydantoin"), NO_MATCH),
        },
    ),
    Case(
        20,
        "Cold sterilant in thirteen health-care workers: avoid glutaraldehyde",
        "Nethercott and others 1988",
        delayed("glutaral"),
        {"by its common name": (disinfectant("Aqua, Glutaraldehyde"), AVOID)},
    ),
    Case(
        22,
        "Shampoo and soap with cocamidopropyl betaine: avoid it, though they react to amidoamine",
        "Fowler and others 1997",
        delayed(
            "cocamidopropyl_dimethylamine", negative=("dimethylaminopropylamine", "cocamidopropyl_betaine")
        ),
        {"soap": (soap("Aqua, Cocamidopropyl Betaine, Sodium Chloride"), AVOID)},
    ),
    Case(
        24,
        "Reactors to povidone-iodine: nothing is inferred about iodine",
        "Nishioka and others 2000, 10.1034/j.1600-0536.2000.042002090.x",
        delayed("pvp_iodine"),
        {
            "povidone-iodine": (disinfectant("Aqua, PVP-Iodine"), AVOID),
            "iodine": (disinfectant("Alcohol, Iodine"), NO_MATCH),
        },
    ),
    Case(
        26,
        "An operating-room nurse whose hands burn in rubber gloves, nothing positive: nothing is excluded",
        "Case report 2024 of irritant dermatitis, abstract",
        Allergies(tested_negative=frozenset({"thiuram_mix", "carba_mix", "mercapto_mix"})),
        {
            "latex": (glove("latex", "ZDEC, DPG"), NO_MATCH),
            "nothing declared": (glove("nitrile"), NO_MATCH),
            "soap": (soap("Aqua, Parfum, Methylisothiazolinone"), NO_MATCH),
        },
    ),
)
EXPECTED = [
    pytest.param(case, *pair, id=f"{case.number} {name}")
    for case in CASES
    for name, pair in case.products.items()
]


@pytest.mark.parametrize(("case", "product", "answer"), EXPECTED)
def test_the_published_case_gets_its_answer(case, product, answer):
    assert JUDGE.judge(product, case.person).answer is answer, (case.says, case.source)


def of(number: int) -> Case:
    return next(case for case in CASES if case.number == number)


def test_case_4_the_class_is_what_speaks_against_the_glove():
    verdict = JUDGE.judge(*_first(4))
    assert {reason.steps[-1].link for reason in verdict.reasons if reason.answer is CANNOT_EXCLUDE} >= {
        Link.CROSS_REACTS
    }


def test_case_4_the_by_products_that_reacted_rule_out_what_gives_them_off():
    person = delayed("butyl_isothiocyanate", negative=("zdbc",))
    assert JUDGE.judge(glove("nitrile", "ZDBC"), person).answer is AVOID


def test_case_6_a_list_that_names_nothing_is_shown_with_its_caution():
    verdict = JUDGE.judge(of(6).products["declares none of them"][0], of(6).person)
    cautions = " ".join(step.says for reason in verdict.reasons for step in reason.steps)
    assert "37 %" in cautions, "Siegel and others 2009: about 37 % of patients without discordance"


def test_case_11_the_hydroperoxides_are_found_by_the_name_on_the_label():
    verdict = JUDGE.judge(*_first(11))
    assert {reason.allergen for reason in verdict.reasons if reason.answer is AVOID} == {
        "linalool_hydroperoxides",
        "limonene_hydroperoxides",
    }


def test_case_15_the_emergency_note_is_raised():
    assert "anaphylaxis" in JUDGE.judge(*_first(15)).emergency


def test_case_24_what_is_published_of_iodine_is_shown():
    product, _ = of(24).products["iodine"]
    verdict = JUDGE.judge(product, of(24).person)
    assert [reason.steps[-1].entry for reason in verdict.reasons] == ["cross-reaction.pvp_iodine.iodine"]


def test_case_26_there_is_not_one_reason():
    for product, _ in of(26).products.values():
        assert JUDGE.judge(product, of(26).person).reasons == ()


def _first(number: int) -> tuple[Product, Allergies]:
    product, _ = next(iter(of(number).products.values()))
    return product, of(number).person
