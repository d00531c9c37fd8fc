"""What a product list may hold: the worker's own, the card for the wallet, and the one for supplies.

The list for supplies has no field for an allergen, a reason or an answer, so none can be printed in it.
"""

import json
from collections.abc import Mapping
from contextlib import suppress
from datetime import date
from enum import StrEnum
from typing import Annotated, Any

from pydantic import AfterValidator, Field, TypeAdapter, ValidationError
from pydantic.dataclasses import dataclass as checked

from thenar.allergy.verdict_terms import Answer
from thenar.documents.letters import STRICT, Code, Contact, Name, PersonalIdentity, Reference, line_up_to
from thenar.documents.typeset import LetterTooLong, set_pdf
from thenar.errors import BadInput

FORM = 1  # of the JSON below; a later form must still read this one
MOST_PRODUCTS = 200
MOST_AMOUNT = 9_999

# The list takes the largest type that keeps it on one page; with too many names it goes on over several.
LIST_POINTS = ("10", "9.5", "9", "8.5", "8")
GOES_ON_POINTS = "9"


def _legible(text: str) -> str:
    """Names from labels and catalogues: one line, not empty. They are broken where they are too wide."""
    if not text.strip() or len(text) > 400 or not text.isprintable():
        raise _unusable("A name on the list is empty, too long, or holds what has no shape on paper.")
    return text


Printed = Annotated[str, AfterValidator(_legible)]
Long = Annotated[str, line_up_to(600)]
Size = Annotated[str, line_up_to(6)]


class Word(StrEnum):
    """What a list says of a product. No word calls a product safe."""

    USE = "use"
    ASK = "ask first"
    DO_NOT_USE = "do not use"


WORD_FOR = {
    Answer.NO_MATCH_FOUND: Word.USE,
    Answer.CANNOT_EXCLUDE: Word.ASK,
    Answer.AVOID: Word.DO_NOT_USE,
}


@checked(frozen=True, slots=True, config=STRICT)
class ListedNames:
    """One thing to look for on labels, by every name and number it goes by."""

    name: Printed
    others: tuple[Printed, ...] = ()
    numbers: tuple[Printed, ...] = ()


@checked(frozen=True, slots=True, config=STRICT)
class ListedGroup:
    """Things to look for because of one allergy, under the reason that joins them to it."""

    heading: Name
    entries: tuple[ListedNames, ...]


@checked(frozen=True, slots=True, config=STRICT)
class ListedAllergy:
    """One allergy: its names, what is avoided along, what to ask about, and names that may hide it.

    `at_once` marks an immediate allergy; `to_confirm` one that rests on a reaction not yet confirmed.
    """

    itself: ListedNames
    at_once: bool
    to_confirm: bool
    avoid: tuple[ListedGroup, ...] = ()
    ask: tuple[ListedGroup, ...] = ()
    may_hide: tuple[Printed, ...] = ()
    materials: tuple[Printed, ...] = ()


@checked(frozen=True, slots=True, config=STRICT)
class ListedProduct:
    """A product and what the list says of it. `decided` is the practitioner's reason where they overruled."""

    code: Printed
    name: Printed
    word: Word
    decided: Long | None = None


@checked(frozen=True, slots=True, config=STRICT)
class ListedCategory:
    """The products of one kind."""

    name: Name
    products: tuple[ListedProduct, ...]


@checked(frozen=True, slots=True, config=STRICT)
class WorkerListContent:
    """All that the worker's list says. `area` is None for a worker without a post."""

    worker: PersonalIdentity
    area: Name | None
    emergency: Long | None
    allergies: tuple[ListedAllergy, ...]
    categories: tuple[ListedCategory, ...]
    issued_on: date
    valid_until: date | None
    contact: Contact
    reference: Reference
    edition: Code

    def __post_init__(self) -> None:
        if not self.allergies:
            raise _unusable("The list names nothing to avoid.", "Set down the allergy first.")


@checked(frozen=True, slots=True, config=STRICT)
class CardAllergy:
    """One allergy on the card: the names to look for, those that matter most first."""

    name: Printed
    at_once: bool
    names: tuple[Printed, ...]


@checked(frozen=True, slots=True, config=STRICT)
class WalletContent:
    """All that the card for the wallet says."""

    worker: PersonalIdentity
    emergency: Long | None
    allergies: tuple[CardAllergy, ...]
    issued_on: date
    valid_until: date | None
    contact: Contact
    reference: Reference
    edition: Code

    def __post_init__(self) -> None:
        if not self.allergies:
            raise _unusable("The card names nothing to avoid.", "Set down the allergy first.")


@checked(frozen=True, slots=True, config=STRICT)
class SuppliesContact:
    """Whom supplies ask."""

    service: Name
    telephone: Code
    email: Name


@checked(frozen=True, slots=True, config=STRICT)
class SuppliesProduct:
    """A product to supply. `name` is None where the name itself could tell why: the code is enough."""

    category: Name
    code: Printed
    name: Printed | None
    size: Size | None
    amount: Annotated[int, Field(ge=1, le=MOST_AMOUNT)] | None


@checked(frozen=True, slots=True, config=STRICT)
class SuppliesContent:
    """All that supplies are told: what to send where. `worker` is named only after a yes.

    Examples
    --------
    >>> content = SuppliesContent(
    ...     request="7k2m9qx4tb3c",
    ...     area="Ward 7",
    ...     worker=None,
    ...     worker_agreed=False,
    ...     issued_on=date(2026, 11, 26),
    ...     valid_until=None,
    ...     contact=SuppliesContact("Occupational health", "extension 4000", "oh@saltmere.example"),
    ...     products=(SuppliesProduct("Soap", "S-014", "Tern Mild", None, 2),),
    ... )
    >>> from_json(to_json(content), "supplies") == content
    True
    """

    request: Reference
    area: Name
    worker: Name | None
    worker_agreed: bool
    issued_on: date
    valid_until: date | None
    contact: SuppliesContact
    products: tuple[SuppliesProduct, ...]

    def __post_init__(self) -> None:
        if self.worker is not None and not self.worker_agreed:
            raise _unusable("The list names the worker, who has not agreed to that.", "Leave the name out.")
        if not 1 <= len(self.products) <= MOST_PRODUCTS:
            raise _unusable(
                f"The list has {len(self.products)} products; it takes 1 to {MOST_PRODUCTS}.",
                "Choose what is to be supplied.",
            )


Content = WorkerListContent | WalletContent | SuppliesContent
_MADE_FOR: dict[str, TypeAdapter[Any]] = {
    "worker": TypeAdapter(WorkerListContent),
    "wallet": TypeAdapter(WalletContent),
    "supplies": TypeAdapter(SuppliesContent),
}


def to_json(content: Content) -> dict[str, Any]:
    """A list as plain JSON, to be kept with the record and read again with `from_json`."""
    fields: dict[str, Any] = TypeAdapter(type(content)).dump_python(content, mode="json")
    return {"form": FORM, **fields}


def from_json(kept: Mapping[str, Any], made_for: str) -> Content:
    """The list that `to_json` gave.

    Parameters
    ----------
    kept
        The list as plain JSON.
    made_for
        Whom it was made for: `worker`, `wallet` or `supplies`.

    Raises
    ------
    BadInput
        For another form, or a field that is missing, unknown or can't be. Fields are named, never what stood
        in them.

    Examples
    --------
    >>> from_json({"form": 9}, "wallet")  # doctest: +ELLIPSIS
    Traceback (most recent call last):
        ...
    thenar.errors.BadInput: The kept list is for 'wallet', form 9; form 1 can be read. ...
    """
    if made_for not in _MADE_FOR or kept.get("form") != FORM:
        raise _unusable(
            f"The kept list is for {made_for!r}, form {kept.get('form')!r}; form {FORM} can be read."
        )
    fields = {name: value for name, value in kept.items() if name != "form"}
    try:
        content: Content = _MADE_FOR[made_for].validate_json(json.dumps(fields))
    except ValidationError as problem:
        wrong = "; ".join(".".join(map(str, one["loc"])) for one in problem.errors())
        raise _unusable(f"The kept list can't be read: {wrong}.") from None
    return content


def list_pdf(content: Content, *, demo: bool = False) -> bytes:
    """A list on paper: the worker's, the card, or the one for supplies.

    Parameters
    ----------
    content
        What it says.
    demo
        Whether to print in the foot that the hospital is invented.

    Returns
    -------
    bytes
        A tagged PDF (PDF/UA-1), A4. The worker's list stands on one page as long as type of 8 points holds
        it; else it goes on and says so. The card is 85.6 by 54 mm, two sides with marks to cut along. The
        same content gives the same bytes.

    Raises
    ------
    NoShapeForCharacter
        If no shipped typeface has a shape for a character.
    """
    if isinstance(content, SuppliesContent):
        return set_pdf("supplies-list.typ", to_json(content), demo=demo)
    if isinstance(content, WalletContent):
        return set_pdf("wallet-card.typ", to_json(content), demo=demo)
    kept = to_json(content)
    for points in LIST_POINTS:
        with suppress(LetterTooLong):
            return set_pdf("product-list.typ", {**kept, "goes_on": False}, demo=demo, points=points)
    return set_pdf("product-list.typ", {**kept, "goes_on": True}, demo=demo, points=GOES_ON_POINTS)


def _unusable(what: str, todo: str = "Make the list again.") -> BadInput:
    return BadInput(
        what=what, why="A list is relied on as it stands, by people who can't ask back.", todo=todo
    )
