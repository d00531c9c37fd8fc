"""Which lines of advice a plan can take, under which headings, and which are ticked to begin with."""

from collections.abc import Collection
from dataclasses import dataclass

from thenar.documents.compose import plan_section
from thenar.documents.letters import PlanSection
from thenar.knowledge import Book, Line
from thenar.records.models import Examination
from thenar.screens.clinic.course import signs_of
from thenar.screens.clinic.reasons import Reason, reason_for_line, short_source
from thenar.skin.severity import Area

HEADINGS = {
    "cleansing": "Cleaning your hands",
    "rub": "Hand rub",
    "washing": "Washing",
    "cream": "Cream",
    "gloves": "Gloves at work",
    "home": "At home",
    "broken-skin": "Broken skin",
    "when-to-come-back": "From here on",
}
USED = "What you use"
OWN = "From your practitioner"
OWN_SOURCE = "Your practitioner's words"
PRODUCT_WORDS = {
    "hand_rub": "Hand rub",
    "soap_free_wash": "Soap-free wash",
    "cream": "Cream",
    "work_gloves": "Gloves at work",
}

# Every plan says when to get help at once; these lines are not a choice.
RED_FLAGS = ("care.when-to-come-back.emergency", "care.when-to-come-back.same-day")

# Ticked to begin with, short enough to be read. The practitioner takes away and adds. Our choice.
FOR_EVERYONE = frozenset(
    {
        "care.cleansing.never-skip",
        "care.cleansing.rub-first",
        "care.rub.how",
        "care.washing.when",
        "care.washing.diarrhoea",
        "care.washing.lukewarm",
        "care.washing.rinse-and-dry",
        "care.cream.when",
        "care.cream.how-much",
        "care.cream.pump",
        "care.gloves.when-needed",
        "care.gloves.not-instead",
        "care.gloves.dry",
        "care.home.irritants",
        "care.home.gloves",
        "care.when-to-come-back.no-better",
    }
)
FOR_SORE_HANDS = frozenset(
    {
        "care.rub.eczema",
        "care.rub.sting",
        "care.washing.substitute-limit",
        "care.when-to-come-back.keep-going",
    }
)
FOR_BROKEN_SKIN = frozenset({"care.broken-skin.tell", "care.broken-skin.cover", "care.broken-skin.infected"})


@dataclass(frozen=True, slots=True)
class Choice:
    """One line to tick, with its reason for the margin."""

    line: Line
    ticked: bool
    reason: Reason


@dataclass(frozen=True, slots=True)
class ChoiceGroup:
    """The lines of one heading."""

    topic: str
    heading: str
    choices: tuple[Choice, ...]


def lines_to_choose(book: Book) -> tuple[Line, ...]:
    """Every line a plan can take, as the site words it."""
    return tuple(line for topic in HEADINGS for line in book.lines_about(topic) if line.id not in RED_FLAGS)


def ticked_at_first(last: Examination | None) -> frozenset[str]:
    """The lines that fit what was last seen; more when there were signs, and more when skin was broken."""
    if last is None or last.total == 0:
        return FOR_EVERYONE
    seen = [signs_of(last).at(area) for area in Area]
    broken = any(area.fissures or area.vesicles for area in seen)
    return FOR_EVERYONE | FOR_SORE_HANDS | (FOR_BROKEN_SKIN if broken else frozenset())


def choice_groups(book: Book, ticked: Collection[str]) -> list[ChoiceGroup]:
    """The lines as the page lays them out."""
    groups = []
    for topic, heading in HEADINGS.items():
        lines = [line for line in book.lines_about(topic) if line.id not in RED_FLAGS]
        choices = tuple(Choice(line, line.id in ticked, reason_for_line(line, book)) for line in lines)
        if choices:
            groups.append(ChoiceGroup(topic, heading, choices))
    return groups


def sections(
    book: Book, ticked: Collection[str], products: dict[str, str], own_words: Collection[str]
) -> list[PlanSection]:
    """The plan's sections: what to use first, then advice in the order of the headings, then own words."""
    used = [
        (f"{PRODUCT_WORDS[name]}: {product}", OWN_SOURCE) for name, product in products.items() if product
    ]
    made = [plan_section(USED, used)]
    for topic, heading in HEADINGS.items():
        lines = [line for line in book.lines_about(topic) if line.id in ticked and line.id not in RED_FLAGS]
        made.append(plan_section(heading, [(line.says, short_source(book.cite(line))) for line in lines]))
    made.append(plan_section(OWN, [(text, OWN_SOURCE) for text in own_words]))
    return [section for section in made if section is not None]
