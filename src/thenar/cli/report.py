"""`thenar report`: an area as it stands today, or an assessment as it was kept; as JSON or PDF."""

import json
import sys
from datetime import date
from difflib import get_close_matches
from pathlib import Path
from typing import TYPE_CHECKING

import click

from thenar.cli.serve import refuse_old_database, start_django
from thenar.errors import BadInput

if TYPE_CHECKING:
    from thenar.documents.assessment import AssessmentContent
    from thenar.records.queries.workplace import AreaStory


@click.group()
def report() -> None:
    """Print what is kept."""


@report.command()
@click.argument("name")
@click.option("--pdf", is_flag=True, help="A PDF instead of JSON.")
@click.option("-o", "file", type=click.Path(path_type=Path, dir_okay=False), help="Write it to FILE.")
@click.option("--number", type=click.IntRange(1), help="A kept assessment, as it was printed.")
def area(name: str, pdf: bool, file: Path | None, number: int | None) -> None:
    """What work in the area NAME does to hands, as it stands today. Nobody's health is in it."""
    start_django()
    refuse_old_database()
    from django.conf import settings
    from django.utils import timezone

    from thenar.documents.assessment import assessment_pdf, to_json

    story = _story(name, timezone.localdate())
    content = _kept(story, number) if number else _as_it_stands(story, timezone.localdate())
    if pdf:
        _write(assessment_pdf(content, demo=settings.DEMO), file)
    else:
        text = json.dumps(to_json(content), indent=2, ensure_ascii=False) + "\n"
        _write(text.encode(), file)


def _story(name: str, on: date) -> "AreaStory":
    from thenar.records.queries.workplace import area_names, area_story_named

    story = area_story_named(name=name, on=on)
    if story is None:
        names = area_names()
        near = [each for each in names if name.strip().lower() in each.lower()][:5]
        near = near or get_close_matches(name, names, n=3, cutoff=0.5)
        meant = f"Did you mean: {'; '.join(near)}?" if near else "Give the name as it stands on Areas."
        raise BadInput(what=f"There is no area {name!r}.", why="Nothing was written.", todo=meant)
    return story


def _kept(story: "AreaStory", number: int) -> "AssessmentContent":
    from thenar.documents.assessment import from_json

    for kept in story.assessments:
        if kept.version == number:
            return from_json(kept.content)
    there = ", ".join(str(kept.version) for kept in reversed(story.assessments)) or "none"
    raise BadInput(
        what=f"{story.area.name} has no assessment {number}.",
        why="Nothing was written.",
        todo=f"Kept assessments: {there}. Leave --number out for the area as it stands today.",
    )


def _as_it_stands(story: "AreaStory", on: date) -> "AssessmentContent":
    from django.conf import settings
    from django.http import QueryDict

    from thenar.screens.book import book
    from thenar.screens.clinic.service import contact
    from thenar.screens.workplace.findings import Assessor, assessment_content
    from thenar.screens.workplace.looking import look_at

    reached = contact()
    return assessment_content(
        look_at(story.record, QueryDict(), on),
        area=story.area.name,
        controls=story.controls,
        actions=(),
        own_words="",
        number=None,
        review_on=None,
        made_by=Assessor(name=reached.service, position="from the command line", contact=reached, on=on),
        book=book(),
        jurisdiction=settings.JURISDICTION,
    )


def _write(content: bytes, file: Path | None) -> None:
    if file is None:
        if sys.stdout.isatty() and content.startswith(b"%PDF"):
            raise BadInput(
                what="A PDF can't be shown on a terminal.",
                why="Nothing was written.",
                todo="Name a file with -o.",
            )
        click.echo(content, nl=False)
        return
    try:
        file.write_bytes(content)
    except OSError as problem:
        raise BadInput(
            what=f"{click.format_filename(file)!r} can't be written: {problem.strerror or problem}.",
            why="The report was not kept.",
            todo="Check the path, and that this account may write there.",
        ) from None
    click.echo(f"Written to {click.format_filename(file)}.", err=True)
