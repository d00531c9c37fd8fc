"""Reads JSON given to a computation strictly: a wrong field is named, and nothing unknown is passed over."""

import json
from collections.abc import Iterator, Sequence
from typing import Any, TypeVar

from pydantic import TypeAdapter, ValidationError
from pydantic_core import ErrorDetails

from thenar.errors import BadInput

Given = TypeVar("Given")
_LONGEST = 40
_A_DATE = "must be a date such as 2026-11-25, not {given}"
_A_NUMBER = "must be a number, not {given}"
_A_LIST = "must be a list, not {given}"
_WORDS = {
    "missing": "is missing",
    "unexpected_keyword_argument": "is not a known field",
    "dataclass_type": "must be an object, not {given}",
    "dict_type": "must be an object, not {given}",
    "int_type": "must be a whole number, not {given}",
    "float_type": _A_NUMBER,
    "decimal_type": _A_NUMBER,
    "decimal_parsing": _A_NUMBER,
    "finite_number": _A_NUMBER,
    "greater_than": "must be over {gt:g}, not {given}",
    "less_than": "must be under {lt:g}, not {given}",
    "greater_than_equal": "must be at least {ge}, not {given}",
    "less_than_equal": "must be at most {le}, not {given}",
    "bool_type": "must be true or false, not {given}",
    "string_type": "must be text, not {given}",
    "string_too_short": "must have {min_length} or more characters",
    "string_too_long": "must have at most {max_length} characters",
    "tuple_type": _A_LIST,
    "list_type": _A_LIST,
    "too_short": "must hold {min_length} or more, not {actual_length}",
    "too_long": "must hold at most {max_length}, not {actual_length}",
    "enum": "must be {expected}, not {given}",
    "literal_error": "must be {expected}, not {given}",
    "union_tag_not_found": "{discriminator} is missing",
    "union_tag_invalid": "{discriminator} must be one of {expected_tags}, not {tag!a:.40}",
    "date_type": _A_DATE,
    "date_parsing": _A_DATE,
    "date_from_datetime_parsing": _A_DATE,
    "date_from_datetime_inexact": _A_DATE,
}


def read_given(raw: bytes, given: type[Given], door: str) -> Given:
    """The input of a computation, checked field by field.

    Raises
    ------
    BadInput
        Nothing was given, it is not JSON, a key stands twice, or fields are missing, unknown or wrong; every
        such field is named.
    """
    text = _decoded(raw, door)
    _refuse_broken(text, door)
    try:
        return TypeAdapter(given).validate_json(text, strict=True)
    except ValidationError as problem:
        raise _unusable(" ".join(_fault(error) for error in _of_their_own(problem.errors())), door) from None


def _of_their_own(errors: Sequence[ErrorDetails]) -> Iterator[ErrorDetails]:
    """The errors without a list's being too short only because what stands in it could not be read."""
    places = [error["loc"] for error in errors]
    for error in errors:
        own = error["loc"]
        within = any(place[: len(own)] == own and len(place) > len(own) for place in places)
        if not (error["type"] == "too_short" and within):
            yield error


def _decoded(raw: bytes, door: str) -> str:
    if not raw.strip():
        raise _unusable("Standard input is empty.", door)
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        raise _unusable(f"Standard input is not UTF-8 text (byte {problem.start}).", door) from None


def _refuse_broken(text: str, door: str) -> None:
    try:
        json.loads(text, object_pairs_hook=_no_key_twice, parse_constant=_no_such_number)
    except json.JSONDecodeError as problem:
        where = f"line {problem.lineno}, column {problem.colno}"
        raise _unusable(f"Standard input is not JSON: {problem.msg} at {where}.", door) from None
    except RecursionError:
        raise _unusable("Standard input is nested too deeply.", door) from None
    except ValueError as problem:
        raise _unusable(f"Standard input is not usable JSON: {problem}.", door) from None


def _no_key_twice(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    read = dict(pairs)
    if len(read) < len(pairs):
        keys = [key for key, _ in pairs]
        raise ValueError(f"{next(key for key in keys if keys.count(key) > 1)!r} stands twice in one object")
    return read


def _no_such_number(word: str) -> None:
    raise ValueError(f"{word} is not a number")


def _fault(error: ErrorDetails) -> str:
    place = ".".join(map(_shown_key, error["loc"])) or "input"
    return f"{place}: {_said(error)}."


def _shown_key(step: int | str) -> str:
    return str(step) if isinstance(step, int) or step.replace("-", "_").isidentifier() else _short(step)


def _said(error: ErrorDetails) -> str:
    given = _short(error["input"])
    words = _WORDS.get(error["type"])
    return words.format(given=given, **error.get("ctx", {})) if words else f"{error['msg']}, not {given}"


def _short(given: object) -> str:
    shown = ascii(given)
    return shown if len(shown) <= _LONGEST else f"{shown[:_LONGEST]}..."


def _unusable(what: str, door: str) -> BadInput:
    return BadInput(
        what=what,
        why="A field misread or passed over would give a wrong result that looks right.",
        todo=f"Mend the input; `thenar calc {door} --schema` shows what is expected.",
    )
