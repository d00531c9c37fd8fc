"""`thenar extract`: the records without names, as files that the population methods read."""

import os
import secrets
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from thenar.cli.serve import refuse_old_database, start_django
from thenar.errors import BadInput, Conflict

if TYPE_CHECKING:
    from thenar.records.models import User


@click.command()
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@click.option("--by", "username", required=True, help="Account name of the person who answers for it.")
@click.option(
    "--names",
    "names_file",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Write what areas, roles and products are called to this CSV, outside DIR.",
)
@click.option(
    "--leave",
    "leave_file",
    type=click.Path(path_type=Path, dir_okay=False),
    help="CSV of leave: staff number, from, until. It goes into the extract, under its keys.",
)
def extract(folder: Path, username: str, names_file: Path | None, leave_file: Path | None) -> None:
    """Write all records into the new folder DIR: no names, staff numbers or free text; keys fresh each time.

    It still holds the days of posts and cases, from which someone who knows the staff could tell who is who:
    keep it as you keep clinical records. The secret that made its keys is thrown away.
    """
    start_django()
    refuse_old_database()
    from thenar.exchange.extract import LeaveList, write_extract

    if names_file is not None:
        _refuse_names_at(names_file, folder)
    written = write_extract(
        folder,
        secret=secrets.token_bytes(32),
        by=_account(username),
        now=datetime.now(UTC),
        leave=LeaveList(_read(leave_file), leave_file.name) if leave_file else None,
    )
    if names_file is not None:
        _write_names(names_file, written.names)
    click.echo("\n".join(f"{rows:>9,} {table}" for table, rows in written.rows.items()))
    click.echo(f"Written to {click.format_filename(folder)}.")


def _account(username: str) -> "User":
    from thenar.records.models import User

    by = User.objects.filter(username=username).first()
    if by is None:
        raise BadInput(
            what=f"There is no account {username!r}.",
            why="Every look at the records is noted with the name of whoever looked.",
            todo="Give the account name of a practitioner or lead with --by.",
        )
    return by


def _read(file: Path) -> bytes:
    try:
        return file.read_bytes()
    except OSError as problem:
        raise BadInput(
            what=f"{click.format_filename(file)!r} can't be read: {problem.strerror or problem}.",
            why="Without it, days of leave would count as time at risk; no extract was written.",
            todo="Check the path, and that this account may read the file.",
        ) from None


def _refuse_names_at(file: Path, folder: Path) -> None:
    if file.absolute().is_relative_to(folder.absolute()):
        raise BadInput(
            what="The names would stand inside the extract.",
            why="Whoever is given the extract would have them too.",
            todo="Name a file outside of the folder with --names.",
        )
    if file.exists():
        raise Conflict(
            what=f"{click.format_filename(file)!r} is there already.",
            why="The names of another extract have other keys, and can't be made again.",
            todo="Name a new file.",
        )


def _write_names(file: Path, names: bytes) -> None:
    try:
        with open(os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as sheet:
            sheet.write(names)
    except OSError as problem:
        raise BadInput(
            what=f"{click.format_filename(file)!r} can't be written: {problem.strerror or problem}.",
            why="The extract was written, but its keys can't be turned into names any more.",
            todo="Check the path, and write a new extract.",
        ) from None
