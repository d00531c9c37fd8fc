"""How is a choice of gloves asked and answered: the task, each glove's fit, what chemicals do?"""

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from thenar.allergy.product import Product
from thenar.allergy.verdict_terms import Verdict
from thenar.knowledge.entries import KnownAs


class Tier(StrEnum):
    """Which gloves a task calls for."""

    NOT_INDICATED = "not indicated"
    EXAMINATION = "examination"
    STERILE = "sterile"


@dataclass(frozen=True, slots=True)
class Contact:
    """A chemical the gloves meet, and for how long at a time. [minutes, > 0; None: not known]"""

    chemical: str
    minutes: Decimal | None = None


@dataclass(frozen=True, slots=True)
class GloveTask:
    """What gloves are wanted for. None means not known, and never reassures.

    `long_or_wet`: worn long, or over hands that sweat or work wet. `rub_before`: alcohol rub is used just
    before gloves go on.
    """

    tier: Tier
    contacts: tuple[Contact, ...] = ()
    long_or_wet: bool | None = None
    pairs_per_shift: int | None = None
    rub_before: bool | None = None


class Passing(StrEnum):
    """What publications say of a chemical passing a glove material during a contact. None of them is safe."""

    MAY_COME_THROUGH = "may pass during the contact"
    NOT_KNOWN = "not known"
    SHORTER = "contact shorter than the shortest time published"


@dataclass(frozen=True, slots=True)
class Passage:
    """One chemical through one glove material. `least` and `most` span every time published. [minutes]"""

    contact: Contact
    passing: Passing
    least: Decimal | None
    most: Decimal | None
    says: str
    entries: tuple[str, ...] = ()


class Topic(StrEnum):
    """What a note on a glove is about."""

    TIER = "tier"
    MATERIAL = "material"
    DECLARATION = "declaration"
    COLOUR = "colour"
    POWDER = "powder"
    LINER = "liner"
    RELEASE = "release"


@dataclass(frozen=True, slots=True)
class Note:
    """Something to know of one glove for one task, with the knowledge entry behind it where there is one."""

    topic: Topic
    says: str
    entry: str = ""
    known_as: KnownAs | None = None


@dataclass(frozen=True, slots=True)
class GloveChoice:
    """One glove for one task and one person. `tier_met` is None where sterility is not known."""

    product: Product
    verdict: Verdict
    tier_met: bool | None
    passages: tuple[Passage, ...]
    notes: tuple[Note, ...]
