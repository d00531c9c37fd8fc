"""The door to judging a change between two scores."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Annotated

from pydantic import ConfigDict, Field
from pydantic.dataclasses import dataclass as checked

from thenar.cli.doors import Cited, Door, cited, not_after
from thenar.knowledge import Book
from thenar.skin.severity import YARDSTICK, Verdict, judge_change

Total = Annotated[int, Field(ge=0, le=360, description="total of one examination, in points")]


@checked(frozen=True, slots=True, config=ConfigDict(extra="forbid", strict=True))
class ChangeGiven:
    """Two totals, earlier first. `on` is the day of the later examination, today if left out."""

    before: Total
    after: Total
    on: date | None = None


@dataclass(frozen=True, slots=True)
class YardstickAnswer:
    """One yardstick's verdict; it counts from `threshold` points up."""

    yardstick: str
    threshold: Decimal
    verdict: Verdict
    note: str


@dataclass(frozen=True, slots=True)
class ChangeAnswer:
    """The difference, after minus before, and what each published yardstick says of it."""

    difference: int
    judgements: tuple[YardstickAnswer, ...]
    on: date
    sources: tuple[Cited, ...]
    edition: str


def _compute(given: ChangeGiven, book: Book, today: date) -> ChangeAnswer:
    on = not_after(given.on, today)
    judgements = judge_change(given.before, given.after, book, on)
    return ChangeAnswer(
        difference=given.after - given.before,
        judgements=tuple(YardstickAnswer(j.yardstick, j.threshold, j.verdict, j.note) for j in judgements),
        on=on,
        sources=tuple(cited(YARDSTICK + j.yardstick, j.citation) for j in judgements),
        edition=book.edition,
    )


DOOR = Door("severity-change", ChangeGiven, ChangeAnswer, _compute)
