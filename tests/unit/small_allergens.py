"""A small made-up table of allergens, one of each kind of link, and short ways to products and allergies."""

from thenar.allergy.allergies import Allergies, Delayed, Immediate, Strength
from thenar.allergy.declarations import read_declaration
from thenar.allergy.declared import ListKind
from thenar.allergy.names import Names
from thenar.allergy.product import Category, GloveFacts, Product
from thenar.allergy.verdict import Judge
from thenar.knowledge.allergens import (
    Allergen,
    AllergenTable,
    Cited,
    CrossReaction,
    Finding,
    GloveMaterial,
    Grade,
    Impurity,
    Umbrella,
)
from thenar.knowledge.entries import KnownAs

CITED = Cited(source="made-up", locator="for tests", known_as=KnownAs.OUR_CHOICE)


def allergen(id_: str, group: str = "preservative", **more: object) -> Allergen:
    parts = {
        "inci": (f"{id_.title()}ol",),
        "cas": (),
        "synonyms": (),
        "components": (),
        "releases": (),
        "found_in": (),
    }
    return Allergen(id=id_, name=id_.title(), group=group, identity=CITED, **{**parts, **more})


def cross(
    tested: str, found: str, grade: Grade, *, eased: bool = False, extreme: bool = False
) -> CrossReaction:
    return CrossReaction(
        id=f"cross-reaction.{tested}.{found}",
        tested=tested,
        found=found,
        grade=grade,
        numbers="7 of 9",
        cited=CITED,
        eased_by_negative_test=eased,
        avoid_if_extreme=extreme,
    )


def material(id_: str, *groups: str, latex: bool = False) -> GloveMaterial:
    return GloveMaterial(
        id=id_,
        name=id_.title(),
        other_names=(),
        may_hold_groups=groups,
        may_hold=(),
        natural_latex=latex,
        says="",
        cited=CITED,
    )


def umbrella(id_: str, name: str, *groups: str) -> Umbrella:
    says = f"{name} may hide it."
    return Umbrella(
        id=f"umbrella.{id_}", names=(name,), hides_groups=groups, hides=(), says=says, cited=CITED
    )


def impurity(allergen: str, comes_with: str) -> Impurity:
    says = f"{allergen} comes with {comes_with}."
    return Impurity(
        id=f"impurity.{allergen}", allergen=allergen, comes_with=comes_with, says=says, cited=CITED
    )


def finding(allergen: str, category: str, *materials: str) -> Finding:
    return Finding(
        id=f"finding.{allergen}",
        allergens=(allergen,),
        category=category,
        materials=materials,
        says="Found undeclared.",
        cited=CITED,
    )


ALLERGENS = (
    allergen("plain"),
    allergen("surfactin"),
    allergen("other"),
    allergen("gas", group="gas"),
    allergen("giver", releases=("gas",)),
    allergen("donor", releases=("gas",)),
    allergen("mix", components=("red", "green", "blue"), inci=(), synonyms=("Colour mix",)),
    allergen("red"),
    allergen("green"),
    allergen("blue"),
    allergen("kin"),
    allergen("cousin"),
    allergen("scent", group="fragrance"),
    allergen("bouquet", group="fragrance", components=("scent", "other"), inci=("Smell", "Scentol")),
    allergen("tainted"),
    allergen("taint"),
    allergen("prickly", irritant_preparation=CITED),
    allergen("salt", immediate=True),
    allergen("brine", immediate=True),
    allergen("soda"),
    allergen("speeder", group="rubber_thiazole"),
    allergen("slower", group="rubber_thiazole"),
    allergen("fume", group="rubber_byproduct"),
    allergen("ink", group="glove_colourant"),
    allergen("stain", found_in=("glove",)),
    allergen("stowaway"),
    allergen("lurker"),
    allergen("sap", group="latex", immediate=True, excludes_material="tree", found_in=("glove",)),
)
CROSS_REACTIONS = (
    cross("plain", "kin", Grade.AVOID),
    cross("kin", "cousin", Grade.AVOID),
    cross("plain", "cousin", Grade.INFORMATION),
    cross("plain", "brine", Grade.CANNOT_EXCLUDE, extreme=True),
    cross("gas", "donor", Grade.CANNOT_EXCLUDE, eased=True),
    cross("gas", "mix", Grade.CANNOT_EXCLUDE, eased=True),
    cross("mix", "green", Grade.CANNOT_EXCLUDE),
    cross("mix", "kin", Grade.INFORMATION),
    cross("green", "cousin", Grade.INFORMATION),
    cross("red", "kin", Grade.AVOID),
    cross("green", "kin", Grade.AVOID),
    cross("blue", "kin", Grade.AVOID),
    cross("red", "cousin", Grade.AVOID),
    cross("red", "blue", Grade.CANNOT_EXCLUDE),
    cross("salt", "brine", Grade.AVOID),
    cross("salt", "soda", Grade.AVOID),
)
TABLE = AllergenTable(
    allergens={each.id: each for each in ALLERGENS},
    cross_reactions=CROSS_REACTIONS,
    umbrellas=(umbrella("scents", "Smell", "fragrance"),),
    impurities=(impurity("taint", "tainted"),),
    findings=(
        finding("stowaway", "wipe"),
        finding("slower", "glove", "stretch"),
        finding("lurker", "glove", "film"),
        finding("speeder", "glove", "tree", "stretch"),
    ),
    same_names=(),
    materials={
        each.id: each
        for each in (
            material("tree", "rubber_thiazole", latex=True),
            material("stretch", "rubber_thiazole", "rubber_byproduct"),
            material("film"),
        )
    },
    breakthroughs=(),
    series={},
)
JUDGE = Judge(TABLE, Names(TABLE))


def product(text: str, kind: ListKind = ListKind.FULL, category: Category = Category.SOAP) -> Product:
    return Product("P1", "Product", category, read_declaration(text, kind))


def glove(material: str, text: str = "", kind: ListKind = ListKind.NOTHING, **more: object) -> Product:
    declaration = read_declaration(text, kind)
    return Product("G1", "Glove", Category.GLOVE, declaration, GloveFacts(material=material, **more))


def delayed(*ids: str, negative: tuple[str, ...] = ()) -> Allergies:
    return Allergies(frozenset(map(Delayed, ids)), tested_negative=frozenset(negative))


def graded(id_: str, strength: Strength, *, confirmed: bool = False) -> Allergies:
    return Allergies(frozenset({Delayed(id_, strength, confirmed)}))


def immediate(id_: str, *, severe: bool = False) -> Allergies:
    return Allergies(immediate=frozenset({Immediate(id_, severe)}))
