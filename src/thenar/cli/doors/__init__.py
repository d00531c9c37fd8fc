"""Doors: what each computation takes and gives on the command line."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Any, Generic, TypeVar

from thenar.errors import BadInput
from thenar.knowledge import Book, Citation

Given = TypeVar("Given")
Answer = TypeVar("Answer")
Schema = dict[str, Any]


def as_it_stands(schema: Schema, book: Book) -> Schema:  # noqa: ARG001
    """The input schema, unchanged."""
    return schema


@dataclass(frozen=True, slots=True)
class Door(Generic[Given, Answer]):
    """A computation: the checked type it is given, the type it answers with, and the step between.

    `compute` takes the input, the book in use and today. `explain` may add to the input's schema what only
    the book knows.
    """

    name: str
    given: type[Given]
    answer: type[Answer]
    compute: Callable[[Given, Book, date], Answer]
    explain: Callable[[Schema, Book], Schema] = as_it_stands


@dataclass(frozen=True, slots=True)
class Cited:
    """A source as printed beside a result."""

    rule: str
    source: str
    title: str
    locator: str
    known_as: str
    doi: str
    link: str


def cited(rule_id: str, citation: Citation) -> Cited:
    """A citation in the form every answer uses."""
    source = citation.source
    return Cited(
        rule=rule_id,
        source=source.label,
        title=source.title,
        locator=citation.locator,
        known_as=citation.known_as.value,
        doi=source.doi,
        link=source.link,
    )


def not_after(on: date | None, today: date) -> date:
    """The day asked for, or today; a day to come is refused.

    Raises
    ------
    BadInput
        `on` is later than today.
    """
    if on is not None and on > today:
        raise BadInput(
            what=f"on: {on} is later than today, {today}.",
            why="The rules that will be in force on a day to come are not known.",
            todo="Give the day of the examination, or leave `on` out for today.",
        )
    return on or today
