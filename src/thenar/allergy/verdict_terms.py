"""How is a verdict said: an answer, and every reason as a chain from the declared name to the allergy?"""

from dataclasses import dataclass
from enum import StrEnum

from thenar.allergy.declared import Ingredient
from thenar.knowledge.entries import KnownAs


class Answer(StrEnum):
    """What may be said of a product for a person. There is no answer that calls a product safe."""

    AVOID = "avoid"
    CANNOT_EXCLUDE = "cannot exclude"
    NO_MATCH_FOUND = "no match found"


RANK = {answer: rank for rank, answer in enumerate(Answer)}  # what asks for most comes first


class Link(StrEnum):
    """What joins one step of a chain to the next."""

    DECLARED = "declared"
    NAMED = "goes by this name"
    MISPRINT = "may be a misprint"
    PART_OF = "part of"
    RELEASES = "releases"
    CROSS_REACTS = "cross-reacts"
    MAY_HIDE = "may hide"
    COMES_WITH = "comes with"
    FOUND_UNDECLARED = "found undeclared"
    LIST_INCOMPLETE = "list incomplete"
    UNREAD = "not read"
    MATERIAL = "material"


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a chain in words, with the knowledge entry behind it (empty: the label itself)."""

    link: Link
    says: str
    entry: str = ""
    known_as: KnownAs | None = None


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a product gets its answer. `allergen` is what the person reacts to.

    A reason that answers `no match found` is a caution: it is shown and changes nothing.

    `confirm` asks for a confirming test where the sensitisation rests on a weak reaction to an irritant
    preparation; it is empty otherwise.
    """

    answer: Answer
    allergen: str
    steps: tuple[Step, ...]
    ingredient: Ingredient | None = None
    immediate: bool = False
    confirm: str = ""


@dataclass(frozen=True, slots=True)
class Verdict:
    """The answer for one product and one person, the strongest reasons first.

    `emergency` is shown with immediate allergy, whatever the answer.
    """

    product: str
    answer: Answer
    reasons: tuple[Reason, ...]
    emergency: str = ""
