"""The course of a case: each examination with its band, and what each yardstick says of the change."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from thenar.knowledge import Book
from thenar.records.models import Examination
from thenar.records.queries.cases import CaseStory
from thenar.skin.severity import AreaSigns, HandSigns, Judgement, judge_change


@dataclass(frozen=True, slots=True)
class Yardstick:
    """A published measure of change, as the head of a column. `threshold` in points."""

    label: str
    threshold: Decimal


@dataclass(frozen=True, slots=True)
class Stage:
    """One examination in the course. `difference` is to the standing one before. [points]"""

    examination: Examination
    band: str
    difference: int | None
    judgements: tuple[Judgement, ...]
    corrected_by: Examination | None


def yardsticks(book: Book, on: date) -> tuple[Yardstick, ...]:
    """Every yardstick a change is judged by, in the order `judge_change` answers.

    Examples
    --------
    >>> from thenar.knowledge import load
    >>> [(one.label, str(one.threshold)) for one in yardsticks(load(), date(2026, 11, 25))]
    [('Oosterhaven and Schuttelaar, 2020', '41'), ('Yüksel, Agner and Ofenloch, 2021', '8.3')]
    """
    return tuple(Yardstick(one.citation.source.label, one.threshold) for one in judge_change(0, 0, book, on))


def course_of(story: CaseStory, book: Book, on: date) -> tuple[Stage, ...]:
    """Every examination, newest first; a corrected one is kept in its place and judged no more."""
    return tuple(stage_of(one, story, book, on) for one in reversed(story.examinations))


def stage_of(examination: Examination, story: CaseStory, book: Book, on: date) -> Stage:
    """One examination against the standing one before it, by the yardsticks in use on `on`."""
    corrected_by = getattr(examination, "corrected_by", None)
    before = None if corrected_by else story.before(examination)
    return Stage(
        examination=examination,
        band=band_words(examination.band),
        difference=examination.total - before.total if before else None,
        judgements=judge_change(before.total, examination.total, book, on) if before else (),
        corrected_by=corrected_by,
    )


def signs_of(examination: Examination) -> HandSigns:
    """What was seen, read back from the record."""
    return HandSigns(**{area: AreaSigns(**grades) for area, grades in examination.signs.items()})


def band_words(code: str) -> str:
    """A kept band in words.

    Examples
    --------
    >>> band_words("almost-clear")
    'almost clear'
    """
    return code.replace("-", " ")
