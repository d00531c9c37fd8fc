"""The assessment of an area: what it may hold, kept as JSON, and printed as a tagged PDF."""

import json
from datetime import date
from typing import Annotated, Any

from pydantic import Field, TypeAdapter, ValidationError
from pydantic.dataclasses import dataclass as checked

from thenar.documents.letters import STRICT, Code, Contact, Name, Text, line_up_to
from thenar.documents.typeset import set_pdf
from thenar.errors import BadInput

FORM = 1  # of the JSON below; a later form must still read this one
MOST_ACTIONS = 20
Long = Annotated[str, line_up_to(800)]


@checked(frozen=True, slots=True, config=STRICT)
class LoadLine:
    """One load of a shift: what is expected, where single shifts lie, and how likely each limit is passed."""

    what: Name
    shift: Name
    expected: Name
    between: str
    chances: tuple[Text, ...]


@checked(frozen=True, slots=True, config=STRICT)
class VerdictLine:
    """One rule set's verdict on a usual shift. `tier` and `nearest` are empty where there is none."""

    rule_set: Text
    verdict: Long
    tier: str
    nearest: str


@checked(frozen=True, slots=True, config=STRICT)
class RoleFinding:
    """What is known of one role, for its shift likeliest to pass a limit."""

    role: Name
    standing: Long
    loads: tuple[LoadLine, ...]
    shift: Name
    verdicts: tuple[VerdictLine, ...]
    trust: Long
    cautions: tuple[Long, ...]
    asked: tuple[Long, ...]
    both_reasons: tuple[Long, ...]


@checked(frozen=True, slots=True, config=STRICT)
class MeasureLine:
    """Something done, or to be done, at its place in the hierarchy of control."""

    kind: Name
    words: Text
    role: Name
    owner: Name
    day: date
    review_on: date | None


@checked(frozen=True, slots=True, config=STRICT)
class AssessmentContent:
    """All that an assessment says. `number` is None for a report that is not kept as one.

    Measures stand in the order of the hierarchy: stop it, milder, equipment, sharing, protection.
    """

    area: Name
    number: Annotated[int, Field(ge=1, le=9999)] | None
    assessed_on: date
    review_on: date | None
    assessed_by: Name
    position: Name
    contact: Contact
    rules_say: Long
    rubs_say: Text
    own_words: tuple[Long, ...]
    roles: tuple[RoleFinding, ...]
    never_watched: tuple[Long, ...]
    in_place: tuple[MeasureLine, ...]
    actions: tuple[MeasureLine, ...]
    cautions: tuple[Long, ...]
    sources: tuple[Long, ...]
    edition: Code

    def __post_init__(self) -> None:
        if self.review_on is not None and self.review_on < self.assessed_on:
            raise _unusable(
                f"The review on {self.review_on} is before the assessment on {self.assessed_on}.",
                "Correct the review day.",
            )
        if len(self.actions) > MOST_ACTIONS:
            raise _unusable(
                f"The assessment has {len(self.actions)} actions; {MOST_ACTIONS} is the most.",
                "Keep those that matter most.",
            )


_KEPT: TypeAdapter[AssessmentContent] = TypeAdapter(AssessmentContent)


def to_json(content: AssessmentContent) -> dict[str, Any]:
    """An assessment as plain JSON, to be kept and read again with `from_json`."""
    return {"kind": "assessment", "form": FORM, **_KEPT.dump_python(content, mode="json")}


def from_json(kept: dict[str, Any]) -> AssessmentContent:
    """The assessment that `to_json` gave.

    Raises
    ------
    BadInput
        For another kind or form, or a field that is missing, unknown or can't be. Fields are named, never
        what stood in them.

    Examples
    --------
    >>> from_json({"kind": "letter", "form": 1})  # doctest: +ELLIPSIS
    Traceback (most recent call last):
        ...
    thenar.errors.BadInput: The kept assessment is of kind 'letter', form 1; form 1 can be read. ...
    """
    kind, form = kept.get("kind"), kept.get("form")
    if kind != "assessment" or form != FORM:
        raise _unusable(
            f"The kept assessment is of kind {kind!r}, form {form!r}; form {FORM} can be read.",
            "Use the edition of the software that wrote it.",
        )
    fields = {name: value for name, value in kept.items() if name not in {"kind", "form"}}
    try:
        return _KEPT.validate_json(json.dumps(fields))
    except ValidationError as problem:
        wrong = "; ".join(".".join(map(str, one["loc"])) for one in problem.errors())
        raise _unusable(f"The kept assessment can't be read: {wrong}.", "Assess the area again.") from None


def assessment_pdf(content: AssessmentContent, *, demo: bool = False) -> bytes:
    """The assessment on paper.

    Parameters
    ----------
    content
        What it says.
    demo
        Whether to print in the foot that the hospital is invented.

    Returns
    -------
    bytes
        A tagged PDF (PDF/UA-1), A4, as many pages as it needs, each with its number and their count. The same
        content gives the same bytes.

    Raises
    ------
    NoShapeForCharacter
        If no shipped typeface has a shape for a character.
    """
    return set_pdf("assessment.typ", to_json(content), demo=demo)


def _unusable(what: str, todo: str) -> BadInput:
    return BadInput(what=what, why="An assessment is held against the day it was made on.", todo=todo)
