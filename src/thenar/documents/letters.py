"""What a letter or a plan may hold: typed contents, frozen, and kept as JSON.

The manager's letter has no field for anything clinical, so nothing clinical can be printed in it.
"""

import json
import re
import unicodedata
from datetime import date
from typing import Annotated, Any

from pydantic import AfterValidator, ConfigDict, TypeAdapter, ValidationError, ValidationInfo
from pydantic.dataclasses import dataclass as checked

from thenar.errors import BadInput
from thenar.records import frozen

STRICT = ConfigDict(extra="forbid", strict=True, hide_input_in_errors=True)
MOST_MEASURES = 8
MOST_ADDRESS_LINES = 4
LONGEST_WORD = 45  # a longer one would run over the edge of its column
FORM = 1  # of the JSON below; a later form must still read this one

_TURNS_TEXT = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def line_up_to(longest: int) -> AfterValidator:
    """One line of text that can be printed, of at most `longest` characters."""

    def check(text: str, field: ValidationInfo) -> str:
        name = str(field.field_name).replace("_", " ")
        if not text.strip():
            raise _unusable(f"The {name} is empty.", "Fill it in.")
        if len(text) > longest:
            raise _unusable(
                f"The {name} has {len(text)} characters; {longest} is the most.", "Say it in fewer words."
            )
        if max(map(len, re.split(r"[\s-]+", text))) > LONGEST_WORD:
            raise _unusable(
                f"The {name} holds a word of more than {LONGEST_WORD} characters.",
                "Put a space or a hyphen in it.",
            )
        for character in text:
            if unicodedata.category(character) in {"Cc", "Cs", "Zl", "Zp"} or character in _TURNS_TEXT:
                raise _unusable(
                    f"The {name} holds the character U+{ord(character):04X}, which has no shape on paper.",
                    "Type that part again.",
                )
        return text

    return AfterValidator(check)


Name = Annotated[str, line_up_to(120)]
Text = Annotated[str, line_up_to(240)]
Code = Annotated[str, line_up_to(32)]
Reference = Annotated[str, line_up_to(20)]


@checked(frozen=True, slots=True, config=STRICT)
class Recipient:
    """Whom a letter is for, as it stands in the window of the envelope."""

    name: Name
    position: Name
    address_lines: tuple[Name, ...]

    def __post_init__(self) -> None:
        if len(self.address_lines) > MOST_ADDRESS_LINES:
            raise _unusable(
                f"The address has {len(self.address_lines)} lines; {MOST_ADDRESS_LINES} is the most.",
                "Join or shorten lines; the window of the envelope shows no more.",
            )


@checked(frozen=True, slots=True, config=STRICT)
class StaffIdentity:
    """A worker as their manager knows them: two identifiers, without the date of birth."""

    name: Name
    staff_number: Code


@checked(frozen=True, slots=True, config=STRICT)
class PersonalIdentity:
    """A worker as they know themselves: two identifiers."""

    name: Name
    born_on: date


@checked(frozen=True, slots=True, config=STRICT)
class Contact:
    """The service that wrote, how to reach it, and, where it is said, whose service it is."""

    service: Name
    telephone: Code
    email: Name
    organisation: Name | None = None


@checked(frozen=True, slots=True, config=STRICT)
class Measure:
    """One change to the work, worded about tasks."""

    text: Text


@checked(frozen=True, slots=True, config=STRICT)
class AdjustmentContent:
    """All that the manager's letter says.

    `end_on` is None for a change that stays until the service writes again.

    Examples
    --------
    >>> content = AdjustmentContent(
    ...     worker=StaffIdentity("Charlie Example", "204417"),
    ...     recipient=Recipient("Hannah Example", "Ward manager", ("Saltmere Hospital",)),
    ...     area="Ward 7",
    ...     measures=(Measure("Duties without direct patient contact."),),
    ...     start_on=date(2026, 12, 1),
    ...     end_on=None,
    ...     review_on=date(2027, 1, 5),
    ...     contact=Contact("Occupational health", "extension 4000", "oh@saltmere.example"),
    ...     reference="7K2M-9QX4",
    ...     dated_on=date(2026, 11, 25),
    ...     signed_by="Alice Example",
    ...     signed_position="Occupational health nurse",
    ... )
    >>> from_json(to_json(content)) == content
    True
    """

    worker: StaffIdentity
    recipient: Recipient
    area: Name
    measures: tuple[Measure, ...]
    start_on: date
    end_on: date | None
    review_on: date
    contact: Contact
    reference: Reference
    dated_on: date
    signed_by: Name
    signed_position: Name

    def __post_init__(self) -> None:
        if not 1 <= len(self.measures) <= MOST_MEASURES:
            raise _unusable(
                f"The letter has {len(self.measures)} measures; it takes 1 to {MOST_MEASURES}.",
                "Choose the measures that matter most, or say two in one.",
            )
        if self.end_on is not None and self.end_on < self.start_on:
            raise _unusable(
                f"The adjustment would end on {self.end_on}, before it starts on {self.start_on}.",
                "Correct one of the dates.",
            )
        if self.review_on < self.start_on:
            raise _unusable(
                f"The review on {self.review_on} is before the adjustment starts on {self.start_on}.",
                "Correct one of the dates.",
            )


@checked(frozen=True, slots=True, config=STRICT)
class PlanLine:
    """One thing to do or use, with the short name of its source."""

    text: Text
    source_label: Text


@checked(frozen=True, slots=True, config=STRICT)
class PlanSection:
    """Lines of a plan under one heading."""

    heading: Name
    lines: tuple[PlanLine, ...]

    def __post_init__(self) -> None:
        if not self.lines:
            raise _unusable("A section of the plan has no line.", "Add a line or leave the section out.")


@checked(frozen=True, slots=True, config=STRICT)
class PlanContent:
    """All that a worker's plan says. `next_look_on` is None while no next look is set."""

    worker: PersonalIdentity
    made_on: date
    sections: tuple[PlanSection, ...]
    next_look_on: date | None
    red_flags: tuple[Text, ...]
    contact: Contact
    reference: Reference
    edition: Code
    large_print: bool

    def __post_init__(self) -> None:
        if not self.sections:
            raise _unusable("The plan has no section.", "Choose at least one line of advice.")
        if not self.red_flags:
            raise _unusable(
                "The plan does not say when to get help at once.",
                "Give it the lines about when to get help; they are part of every plan.",
            )


Content = AdjustmentContent | PlanContent
_KINDS: dict[str, TypeAdapter[Any]] = {
    "adjustment": TypeAdapter(AdjustmentContent),
    "plan": TypeAdapter(PlanContent),
}


def to_json(content: Content) -> dict[str, Any]:
    """A content as plain JSON, to be kept with the record and read again with `from_json`.

    An organisation that is not named leaves no trace, so that contents kept before it could be named still
    give the hash they were agreed under.
    """
    kind = "adjustment" if isinstance(content, AdjustmentContent) else "plan"
    fields = _KINDS[kind].dump_python(content, mode="json")
    if content.contact.organisation is None:
        del fields["contact"]["organisation"]
    return {"kind": kind, "form": FORM, **fields}


def from_json(kept: dict[str, Any]) -> Content:
    """The content that `to_json` gave.

    Raises
    ------
    BadInput
        For another kind or form, a missing or unknown field, or a value that no letter can hold.
        The error names the fields, never what stood in them.

    Examples
    --------
    >>> from_json({"kind": "recipe", "form": 1})  # doctest: +ELLIPSIS
    Traceback (most recent call last):
        ...
    thenar.errors.BadInput: The kept letter is of kind 'recipe', form 1; form 1 can be read. ...
    """
    kind, form = kept.get("kind"), kept.get("form")
    if kind not in _KINDS or form != FORM:
        raise _unusable(
            f"The kept letter is of kind {kind!r}, form {form!r}; form {FORM} can be read.",
            "Use the edition of the software that wrote it.",
        )
    fields = {name: value for name, value in kept.items() if name not in {"kind", "form"}}
    try:
        content: Content = _KINDS[kind].validate_json(json.dumps(fields))
    except ValidationError as problem:
        wrong = "; ".join(f"{'.'.join(map(str, one['loc']))}: {one['msg']}" for one in problem.errors())
        raise _unusable(f"The kept letter can't be read: {wrong}.", "Make the letter again.") from None
    return content


def content_hash(content: Content) -> str:
    """Fingerprint of a content: equal for equal contents, another for any other wording.

    Returns
    -------
    str
        SHA-256 as 64 hexadecimal digits, over sorted, unspaced JSON in UTF-8.

    Notes
    -----
    Letters that look alike but are coded differently (é as one character or two) differ here.
    """
    return frozen.content_hash(to_json(content))


def _unusable(what: str, todo: str) -> BadInput:
    return BadInput(what=what, why="What is printed must be exactly what was agreed, and legible.", todo=todo)
