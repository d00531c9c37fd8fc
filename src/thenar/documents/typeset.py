"""Typesets contents as tagged PDF: data goes in as data, and is never read as markup."""

import json
from collections.abc import Mapping
from contextlib import suppress
from functools import cache
from pathlib import Path

import typst

from thenar.documents.letters import AdjustmentContent, Content, PlanContent, to_json
from thenar.errors import BadInput, ThenarError

FOLDER = Path(__file__).parent
TEMPLATES = FOLDER / "templates"
FONTS = FOLDER / "fonts"

# A letter takes the largest type that keeps it on its page.
LETTER_POINTS = ("11.5", "11", "10.5", "10", "9.5", "9")

_MORE_THAN_ONE_PAGE = "more than one page"  # what letter.typ says when it stops
_ADDRESS_TOO_LONG = "address does not fit"  # likewise
_NO_SHAPE = "could not be displayed"


class LetterTooLong(BadInput):
    """A manager's letter does not fit on its one page."""


class AddressTooLong(BadInput):
    """The recipient's address does not fit in the window of the envelope."""


class NoShapeForCharacter(BadInput):
    """A character has no shape in any typeface that is shipped."""


class TypesettingFailed(ThenarError):
    """The document could not be set, and the reason is ours."""


def adjustment_letter_pdf(content: AdjustmentContent, *, demo: bool = False) -> bytes:
    """The letter that tells a manager what work should change, on one page.

    Parameters
    ----------
    content
        What the letter says.
    demo
        Whether to print in the foot that the hospital is invented.

    Returns
    -------
    bytes
        A tagged PDF (PDF/UA-1), A4, the recipient where the window of a long envelope is. The same
        content gives the same bytes.

    Raises
    ------
    LetterTooLong
        If the letter does not fit on one page.
    AddressTooLong
        If the recipient does not fit in the window of the envelope.
    NoShapeForCharacter
        If no shipped typeface has a shape for a character.
    """
    for points in LETTER_POINTS[:-1]:
        with suppress(LetterTooLong):
            return _set_pdf("letter.typ", content, demo=demo, points=points)
    return _set_pdf("letter.typ", content, demo=demo, points=LETTER_POINTS[-1])


def care_plan_pdf(content: PlanContent, *, demo: bool = False) -> bytes:
    """The worker's own plan, each line with its source in the margin.

    Parameters
    ----------
    content
        What the plan says. In large print nothing is under 16 pt, and the sources stand at the end.
    demo
        Whether to print in the foot that the hospital is invented.

    Returns
    -------
    bytes
        A tagged PDF (PDF/UA-1), A4, as many pages as it needs. The same content gives the same bytes.

    Raises
    ------
    NoShapeForCharacter
        If no shipped typeface has a shape for a character.
    """
    template = "plan-large.typ" if content.large_print else "plan.typ"
    return _set_pdf(template, content, demo=demo)


def _set_pdf(template: str, content: Content, *, demo: bool, points: str = "") -> bytes:
    return set_pdf(template, to_json(content), demo=demo, points=points)


def set_pdf(template: str, content: Mapping[str, object], *, demo: bool, points: str = "") -> bytes:
    """A content, as plain JSON, set by one of our templates as a tagged PDF (PDF/UA-1).

    Raises
    ------
    NoShapeForCharacter, TypesettingFailed
        The document can't be set; the message never quotes it.
    """
    inputs = {"content": json.dumps(content), "demo": json.dumps(demo), "points": points}
    try:
        pdf = typst.compile(
            str(TEMPLATES / template),
            root=str(TEMPLATES),
            font_paths=_fonts(),
            ignore_system_fonts=True,
            sys_inputs=inputs,
            format="pdf",
            pdf_standards=["ua-1"],
        )
    except typst.TypstError as problem:
        # The typesetter's message may quote a person's name, so it is read here and goes no further.
        raise _explained(problem.message) from None
    assert isinstance(pdf, bytes)
    return pdf


@cache
def _fonts() -> typst.Fonts:
    """Our typeface, and behind it the typesetter's own for names in Greek or Cyrillic letters."""
    return typst.Fonts(include_system_fonts=False, include_embedded_fonts=True, font_paths=[str(FONTS)])


def _explained(message: str) -> ThenarError:
    if _MORE_THAN_ONE_PAGE in message:
        return LetterTooLong(
            what="The letter does not fit on one page.",
            why="A second page gets lost, and with it part of what was agreed.",
            todo="Say the measures in fewer words, or join two of them.",
        )
    if _ADDRESS_TOO_LONG in message:
        return AddressTooLong(
            what="The recipient's name, position and address take too many lines.",
            why="The window of the envelope shows six lines; the rest would not be seen.",
            todo="Shorten the position or the address, or leave a line out.",
        )
    if _NO_SHAPE in message:
        return NoShapeForCharacter(
            what="The document holds a character that the shipped typefaces have no shape for.",
            why="It would print as an empty box, and a name must be right.",
            todo="Write that name or word in Latin, Greek or Cyrillic letters.",
        )
    return TypesettingFailed(
        what="The document could not be typeset.",
        why="Without it nothing can be printed or sent; the record itself is safe.",
        todo="Try again; if it fails again, tell the administrator which document it was.",
    )
