"""`thenar demo`: builds the invented hospital once, and serves it on this machine only."""

import os
import time
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from thenar.cli.serve import HOST, PORT, address, refuse_taken, run_server, start_django
from thenar.errors import Conflict

if TYPE_CHECKING:
    from thenar.records.models import Area, User

FOLDER = "data/demo"
SEED = 7
_WALK = (
    "Worker: open Check and answer as someone whose hands are cracked and wet. Read the advice.",
    "Practitioner: the report stands on Today, most urgent first. Open it and put it into a case.",
    "Practitioner: examine the hands on the hand map, score them, and make a plan.",
    "Practitioner: agree an adjustment and offer its letter. It says what changes, never why.",
    "Worker: one letter waits under Mine. Read it, and agree or don't. See who has looked at the record.",
    "Practitioner: release an agreed letter. Manager: the adjustment now stands on Team, and nothing else.",
    "Practitioner: on Today a patch test waits with all readings taken. Open it and set down what it shows.",
    "Practitioner: a soap's recipe changed yesterday. Three workers on Today should no longer use it.",
)
_OWN_WORDS = "Bathing and suction fall to the same nurses on most early shifts."
_ACTION = "Bathing of beds 1 to 4 and 5 to 8 goes round the team"


@click.command()
@click.option("--fresh", is_flag=True, help="Throw the demo's data away and build it anew.")
@click.option("--serve", "serving", is_flag=True, help="Then serve it on 127.0.0.1, until Ctrl-C.")
@click.option("--port", default=PORT, show_default=True, type=click.IntRange(1, 65535))
@click.option("--seed", default=SEED, show_default=True, help="Another seed gives another Saltmere.")
def demo(fresh: bool, serving: bool, port: int, seed: int) -> None:
    """Build Saltmere, an invented hospital, in the folder THENAR_DATA (data/demo)."""
    if serving:
        refuse_taken(HOST, port)
    folder = _choose_demo()
    start_django()
    _prepare(fresh)
    _build(seed, folder)
    _tell_ways_in(port, serving)
    if serving:
        run_server(HOST, port)


def _choose_demo() -> Path:
    """Set the environment before settings are read. The demo keeps to its own folder, whatever is set."""
    os.environ["THENAR_DEMO"] = "1"
    if os.environ.pop("THENAR_DATABASE_URL", ""):
        click.echo("The demo keeps to its own folder; THENAR_DATABASE_URL is not used.")
    return Path(os.environ.setdefault("THENAR_DATA", FOLDER))


def _prepare(fresh: bool) -> None:
    """An up-to-date database that holds Saltmere or nothing."""
    from django.core.management import call_command

    from thenar.demo.build import Holds, what_is_there

    there = what_is_there()
    if there is Holds.OTHER:
        raise Conflict(
            what="The data folder holds records that are not the demo's.",
            why="Invented people must never stand among real ones.",
            todo="Choose another folder for the demo with THENAR_DATA; nothing was changed.",
        )
    if fresh:
        _throw_away()
    call_command("migrate", interactive=False, verbosity=0)


def _throw_away() -> None:
    """Remove the database's files."""
    from django.db import connection

    connection.close()
    for ending in ("", "-wal", "-shm"):
        Path(f"{connection.settings_dict['NAME']}{ending}").unlink(missing_ok=True)


def _build(seed: int, folder: Path) -> None:
    """Build what is not there yet. A build is one transaction: one that was cut short has left nothing."""
    from django.conf import settings
    from django.utils import timezone

    from thenar.demo.build import Holds, build_saltmere, built_note, what_is_there
    from thenar.knowledge import load

    if what_is_there() is Holds.SALTMERE:
        click.echo(f"Saltmere stands ready in {folder} ({built_note()}). For a new one: --fresh.")
        return
    started = time.monotonic()
    book = load(settings.SITE_KNOWLEDGE)
    built = build_saltmere(seed, timezone.localdate(), book, click.echo, assessment_as_kept)
    count = built.counts
    click.echo(
        f"Built in {time.monotonic() - started:.0f} s: {count['Worker']:,} workers, {built.areas} areas, "
        f"{count['SkinCheck']:,} skin checks, {count['Case']} cases, {count['Product']} products."
    )


def assessment_as_kept(area: "Area", by: "User", on: date, review_on: date, number: int) -> dict[str, object]:
    """What an assessment of an area says on a day, as its page would keep it."""
    from django.conf import settings
    from django.http import QueryDict

    from thenar.demo.wording import CONTACT
    from thenar.documents.assessment import to_json
    from thenar.documents.letters import Contact
    from thenar.records.queries.workplace import area_story
    from thenar.screens.book import book
    from thenar.screens.workplace.findings import Action, assessment_content, assessor
    from thenar.screens.workplace.looking import look_at

    story = area_story(ref=area.ref, by=by, on=on)
    content = assessment_content(
        look_at(story.record, QueryDict(), on),
        area=area.name,
        controls=story.controls,
        actions=(Action("organisation", _ACTION, "Ward manager", review_on),),
        own_words=_OWN_WORDS,
        number=number,
        review_on=review_on,
        made_by=assessor(by, Contact(**CONTACT), on),
        book=book(),
        jurisdiction=settings.JURISDICTION,
    )
    return to_json(content)


def _tell_ways_in(port: int, serving: bool) -> None:
    """The address, the five doors, and a walk."""
    from thenar.screens.front.doors import DOORS

    here = address(HOST, port)
    widest = max(len(door.label) for door in DOORS)
    click.echo(f"\nSaltmere is invented. Nobody here is real.\n\n  {here}/\n\nEnter as one of five people:")
    for door in DOORS:
        click.echo(f"  {door.label:<{widest}}  {here}/demo/{door.who}/\n  {'':<{widest}}  sees {door.sees}")
    click.echo(f"\nA walk in {len(_WALK)} steps:")
    for number, step in enumerate(_WALK, start=1):
        click.echo(f"  {number}. {step}")
    click.echo("\nCtrl-C stops it." if serving else "\n`thenar demo --serve` serves it.")
