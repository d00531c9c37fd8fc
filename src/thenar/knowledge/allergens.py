"""What is known of contact allergens: names, releasers, graded cross-reactions, tests, glove chemistry."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum
from typing import Literal

from pydantic.dataclasses import dataclass as checked

from thenar.knowledge.entries import STRICT, KnownAs

KindOfProduct = Literal["soap", "rub", "cream", "glove", "wipe", "disinfectant"]


class Grade(StrEnum):
    """What a reaction to one allergen asks of products with another."""

    AVOID = "avoid"
    CANNOT_EXCLUDE = "cannot exclude"
    INFORMATION = "information only"


@checked(frozen=True, slots=True, config=STRICT)
class Cited:
    """Where one part of an entry comes from and how it is known."""

    source: str
    locator: str
    known_as: KnownAs


@checked(frozen=True, slots=True, config=STRICT)
class Preparation:
    """How an allergen is put on for a patch test. `concentration` is as published, perhaps a range."""

    concentration: str
    vehicle: str
    cited: Cited


@checked(frozen=True, slots=True, config=STRICT)
class Allergen:
    """One allergen, mix or material.

    `inci` holds label names and `synonyms` every other name; `components` the parts of a mix; `releases` what
    it gives off. `immediate` marks what can cause immediate allergy. `excludes_material` is the glove
    material that immediate allergy to it rules out.
    """

    id: str
    name: str
    inci: tuple[str, ...]
    cas: tuple[str, ...]
    synonyms: tuple[str, ...]
    group: str
    components: tuple[str, ...]
    releases: tuple[str, ...]
    found_in: tuple[str, ...]
    identity: Cited
    components_cited: Cited | None = None
    releases_cited: Cited | None = None
    preparation: Preparation | None = None
    irritant_preparation: Cited | None = None
    immediate: bool = False
    excludes_material: str = ""
    note: str = ""

    @property
    def entry(self) -> str:
        """The id of its page among the rules."""
        return f"allergen.{self.id}"


@checked(frozen=True, slots=True, config=STRICT)
class CrossReaction:
    """What a reaction to `tested` means for products that hold `found`. One direction only.

    `eased_by_negative_test`: `found` may be used once a test with it was negative. `avoid_if_extreme`: the
    grade becomes avoid after a +++ reaction to `tested`.
    """

    id: str
    tested: str
    found: str
    grade: Grade
    numbers: str
    cited: Cited
    eased_by_negative_test: bool = False
    avoid_if_extreme: bool = False
    note: str = ""


@checked(frozen=True, slots=True, config=STRICT)
class Umbrella:
    """A label name that may stand for many substances: `Parfum`."""

    id: str
    names: tuple[str, ...]
    hides_groups: tuple[str, ...]
    hides: tuple[str, ...]
    says: str
    cited: Cited


@checked(frozen=True, slots=True, config=STRICT)
class Impurity:
    """Something that comes along with an ingredient and never stands on a label."""

    id: str
    allergen: str
    comes_with: str
    says: str
    cited: Cited


@checked(frozen=True, slots=True, config=STRICT)
class Finding:
    """A published finding of an allergen in a kind of product whose label did not name it.

    `category` is a product category; `materials` narrows gloves to those materials, empty means all.
    """

    id: str
    allergens: tuple[str, ...]
    category: KindOfProduct
    materials: tuple[str, ...]
    says: str
    cited: Cited


@checked(frozen=True, slots=True, config=STRICT)
class SameName:
    """Label names that mean one ingredient: `Aqua`, `Water`, `Eau`."""

    id: str
    names: tuple[str, ...]
    cited: Cited


@checked(frozen=True, slots=True, config=STRICT)
class GloveMaterial:
    """A glove material, the groups of chemicals it may hold, and whether it is natural rubber latex.

    `from_memory_groups` are those of the groups that no source seen names.
    """

    id: str
    name: str
    other_names: tuple[str, ...]
    may_hold_groups: tuple[str, ...]
    may_hold: tuple[str, ...]
    natural_latex: bool
    says: str
    cited: Cited
    from_memory_groups: tuple[str, ...] = ()

    @property
    def entry(self) -> str:
        """The id of its page among the rules."""
        return f"glove-material.{self.id}"

    def known_to_hold(self, group: str) -> KnownAs:
        """How it is known that the material may hold chemicals of a group."""
        return KnownAs.FROM_MEMORY if group in self.from_memory_groups else self.cited.known_as


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class Breakthrough:
    """Published minutes until a chemical passes a glove material. None: not seen, or no end was reached."""

    id: str
    chemical: str
    other_names: tuple[str, ...]
    material: str
    least_minutes: Decimal | None = None
    most_minutes: Decimal | None = None
    says: str
    cited: Cited


@checked(frozen=True, slots=True, config=STRICT)
class SeriesItem:
    """One preparation of a test series."""

    allergen: str
    preparation: Preparation
    dose: str = ""


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class PatchSeries:
    """A dated series of patch-test preparations. `standing` says how far its membership is known."""

    id: str
    name: str
    in_force_from: date
    until: date | None = None
    items: tuple[SeriesItem, ...]
    standing: str
    cited: Cited

    @property
    def entry(self) -> str:
        """The id of its page among the rules."""
        return f"patch-series.{self.id}"


@dataclass(frozen=True, slots=True)
class AllergenTable:
    """Everything known of contact allergens in one edition."""

    allergens: dict[str, Allergen]
    cross_reactions: tuple[CrossReaction, ...]
    umbrellas: tuple[Umbrella, ...]
    impurities: tuple[Impurity, ...]
    findings: tuple[Finding, ...]
    same_names: tuple[SameName, ...]
    materials: dict[str, GloveMaterial]
    breakthroughs: tuple[Breakthrough, ...]
    series: dict[str, PatchSeries]
