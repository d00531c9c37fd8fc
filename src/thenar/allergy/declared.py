"""What does a declaration say: ordered ingredients, what could not be read, and how complete is the list?"""

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from typing import NamedTuple


class ListKind(StrEnum):
    """How complete a declaration is. Only a full list can leave nothing unsaid."""

    FULL = "full ingredient list"
    PARTIAL = "partial list of a medicine or biocide"
    DATA_SHEET = "safety data sheet"
    GLOVE_DECLARED = "glove chemicals declared"
    GLOVE_CLAIM = "accelerator-free claim"
    NOTHING = "nothing declared"


class Ingredient(NamedTuple):
    """One ingredient as declared. A named tuple, because tens of thousands of labels are read a second.

    `names` are all normal forms it goes by: its own, its alias in parentheses, the parts of a bilingual name.
    `start` and `end` say where in the text it stands. `share` is its percentage where the label gives one.
    """

    position: int
    written: str
    names: tuple[str, ...]
    start: int
    end: int
    may_contain: bool = False
    share: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Unread:
    """A stretch of the text that could not be read as an ingredient, and why."""

    start: int
    end: int
    why: str


@dataclass(frozen=True, slots=True)
class Remark:
    """A stretch of the text that was read and is no ingredient: a heading, a joining word, a mere number."""

    start: int
    end: int
    says: str


@dataclass(frozen=True, slots=True)
class Declaration:
    """A declaration as read. `text` is as given; spans refer to it.

    Every letter and digit of the text lies in an ingredient, a remark or an unread stretch. An unread
    stretch may lie inside an ingredient: a character in it that could not be read.
    """

    kind: ListKind
    text: str
    ingredients: tuple[Ingredient, ...]
    unread: tuple[Unread, ...] = ()
    remarks: tuple[Remark, ...] = ()
