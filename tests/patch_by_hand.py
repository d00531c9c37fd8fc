"""Patch tests and reading rules written out by hand, so that no test depends on an edition.

That the shipped rules say the same is checked in tests/published/test_patch_quality.py.
"""

from datetime import date, timedelta
from decimal import Decimal

from thenar.allergy.patch_quality import Cutoff, QualityRules
from thenar.allergy.patch_rules import Caution, Known, MissRate, ReadingRules, Stage
from thenar.allergy.patch_test import Kind, OwnProduct, PatchTest, Position, Reading, read_grade
from thenar.allergy.product import Category
from thenar.knowledge.allergens import Allergen, Cited
from thenar.knowledge.entries import Citation, KnownAs, Source, Value

APPLIED = date(2026, 3, 2)


def cited(title: str = "By hand", known_as: KnownAs = KnownAs.PUBLISHED) -> Citation:
    return Citation("by-hand", Source(title=title, by="By hand"), "", known_as)


MEMORY = cited("Remembered", KnownAs.FROM_MEMORY)
RULES = ReadingRules(
    occlusion=Known(2, MEMORY),
    positive_from=Known(3, cited("Uter 2022")),
    positive_to=Known(5, cited("Uter 2022")),
    sensitised_from=Known(10, MEMORY),
    stages=(
        Stage("D2", 2, 2, MEMORY),
        Stage(
            "D3 or D4",
            3,
            4,
            MEMORY,
            (MissRate(Decimal("0.24"), "Positive on day 4 and not on day 2.", "993 of 4,210.", cited()),),
        ),
        Stage(
            "about D7",
            6,
            7,
            MEMORY,
            (
                MissRate(Decimal("0.128"), "New on day 7.", "26 of 203.", cited()),
                MissRate(Decimal("0.072"), "New after day 4.", "29 of 403.", cited()),
            ),
        ),
    ),
    late=Caution("Ask for late reactions.", (cited(),)),
    control_positive=Caution("Weak reactions are less certain.", (cited(),)),
    many_positives=Known(5, MEMORY),
)


def cutoff(amount: str, operator: str) -> Cutoff:
    value = {"from": date(2008, 1, 1), "amount": Decimal(amount), "operator": operator}
    return Cutoff(Value(**value, source="by-hand", locator="", known_as=KnownAs.PUBLISHED), cited())


# A problem above a positivity ratio of 55 % and up to a reaction index of 0.46: medians of 79 preparations.
QUALITY = QualityRules(cutoff("0.55", ">"), cutoff("0.46", "<="), Caution("Mirrors how a clinic reads."))


def on_day(day: int) -> date:
    return APPLIED + timedelta(day)


def allergen(number: int, hapten: str = "", series: str = "") -> Position:
    return Position(number, hapten or f"allergen-{number}", "1", "pet", series)


def control(number: int) -> Position:
    return Position(number, "sodium lauryl sulfate", "0.5", "aq", kind=Kind.IRRITANT_CONTROL)


def own(number: int, category: Category = Category.SOAP, dilution: str = "1 in 100 of water") -> Position:
    brought = OwnProduct(category, dilution)
    return Position(number, f"product-{number}", "", "aq", kind=Kind.OWN_PRODUCT, own=brought)


def marks(position: int, course: str) -> tuple[Reading, ...]:
    """`marks(1, "D2 - D4 ++")`: the readings of a position, day and grade in turn."""
    words = course.split()
    return tuple(
        Reading(position, on_day(int(day[1:])), read_grade(grade))
        for day, grade in zip(words[::2], words[1::2], strict=True)
    )


def patch_test(*read: tuple[Position, str]) -> PatchTest:
    """A test from its positions, each with its course."""
    positions = tuple(position for position, _ in read)
    readings = tuple(one for position, course in read for one in marks(position.number, course))
    return PatchTest(APPLIED, on_day(2), positions, readings)


def known(id_: str, components: tuple[str, ...] = (), *, irritates: bool = False) -> Allergen:
    here = Cited("by-hand", "", KnownAs.PUBLISHED)
    return Allergen(
        id=id_,
        name=id_,
        inci=(),
        cas=(),
        synonyms=(),
        group="rubber",
        components=components,
        releases=(),
        found_in=(),
        identity=here,
        irritant_preparation=here if irritates else None,
    )
