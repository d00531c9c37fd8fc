"""`thenar import`: lists from other systems, shown first, then taken over whole or not at all."""

from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from thenar.cli.serve import refuse_old_database, start_django
from thenar.errors import BadInput

if TYPE_CHECKING:
    from thenar.exchange.observations_import import DryRun as SessionsDryRun
    from thenar.exchange.problems import Problem
    from thenar.exchange.products_import import DryRun as ProductsDryRun
    from thenar.exchange.staff_import import DryRun
    from thenar.records.models import User

_DELIMITERS = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "bars"}


@click.group("import")
def imports() -> None:
    """Read in lists from other systems."""


@imports.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--dry-run", "only_look", is_flag=True, help="Show what would change; change nothing.")
@click.option(
    "--day-first/--month-first", default=None, help="What 03/04/2026 means, where the list can't tell."
)
@click.option("--confirm-unusual", is_flag=True, help="Take it over though something about it is unusual.")
@click.option("--by", "username", required=True, help="Account name of the person who answers for it.")
def staff(file: Path, only_look: bool, day_first: bool | None, confirm_unusual: bool, username: str) -> None:
    """Read in the staff list FILE: everyone who works here now, as CSV.

    Whoever is not on it is recorded as having left. Leaves with 2 when something must be put right or
    confirmed first, in a dry run too; nothing is changed then.
    """
    start_django()
    refuse_old_database()
    from django.db import transaction

    from thenar.exchange.staff_import import dry_run, file_hash, take_over
    from thenar.records.actions.staff import keep_staff_list
    from thenar.records.rights import Act, require

    by = _account(username, "a clerk or administrator")
    require(by, Act.IMPORT_STAFF)
    raw, now = _read(file), datetime.now(UTC)
    run = dry_run(raw=raw, name=_name(file), day_first=day_first, by=by, now=now)
    click.echo("\n".join(_told(run, file)))
    _refuse_unready(run, confirm_unusual)
    if only_look:
        click.echo("Dry run: nothing was changed.")
        return
    with transaction.atomic():
        kept = keep_staff_list(
            raw=raw, file_name=_name(file), file_hash=file_hash(raw), day_first=day_first, by=by, now=now
        )
        take_over(waiting=kept, digest=run.digest, unusual_confirmed=True, by=by, now=now, listed=run.listed)
    click.echo(f"Taken over. Reference {kept.ref}.")


@imports.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--dry-run", "only_look", is_flag=True, help="Show what would be recorded; record nothing.")
@click.option(
    "--day-first/--month-first", default=None, help="What 03/04/2026 means, where the file can't tell."
)
@click.option("--confirm", "confirmed", is_flag=True, help="What is asked back was asked, and is right.")
@click.option("--by", "username", required=True, help="Account name of the person who answers for it.")
def observations(file: Path, only_look: bool, day_first: bool | None, confirmed: bool, username: str) -> None:
    """Read in FILE: sessions in which hands were watched at work, as CSV, one row for each.

    An empty cell is "not known", never 0. Leaves with 2 when something must be put right or confirmed
    first, in a dry run too; nothing is recorded then. The same file read in twice is recorded once.
    """
    start_django()
    refuse_old_database()
    from django.conf import settings

    from thenar.exchange.observations_import import dry_run, refuse_unready, take_over
    from thenar.knowledge import load
    from thenar.records.rights import Act, require

    by = _account(username, "someone who may observe")
    require(by, Act.OBSERVE)
    raw, now, book = _read(file), datetime.now(UTC), load(settings.SITE_KNOWLEDGE)
    run = dry_run(raw=raw, name=_name(file), day_first=day_first, by=by, now=now, book=book)
    click.echo("\n".join(_told_sessions(run, file)))
    if run.listed.undecided_dates:
        raise _undecided_dates()
    refuse_unready(run, confirmed=confirmed)
    if only_look:
        click.echo("Dry run: nothing was recorded.")
        return
    ref = take_over(run=run, raw=raw, confirmed=confirmed, by=by, now=now, book=book)
    click.echo(f"Recorded. Reference of the first session {ref}.")


@imports.command("products")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--dry-run", "only_look", is_flag=True, help="Show what would change; change nothing.")
@click.option("--by", "username", required=True, help="Account name of the person who answers for it.")
def products_(file: Path, only_look: bool, username: str) -> None:
    """Read in FILE: products, what they declare, what they cost and where they stand, as CSV or .xlsx.

    An empty cell leaves things as they are, and nothing is taken out of an area. Leaves with 2 when something
    must be put right first, in a dry run too; nothing is changed then. Workers whom a change concerns are on
    Today afterwards.
    """
    start_django()
    refuse_old_database()
    from django.conf import settings

    from thenar.exchange.products_import import dry_run, refuse_unready, take_over
    from thenar.knowledge import load
    from thenar.records.rights import Act, require

    by = _account(username, "a practitioner or lead")
    require(by, Act.WRITE_PRODUCTS)
    raw, now, book = _read(file), datetime.now(UTC), load(settings.SITE_KNOWLEDGE)
    run = dry_run(raw=raw, name=_name(file), by=by, now=now, book=book)
    click.echo("\n".join(_told_products(run, file)))
    refuse_unready(run)
    if only_look:
        click.echo("Dry run: nothing was changed.")
        return
    changed = take_over(run=run, by=by, now=now, book=book)
    click.echo(f"Taken over: {changed:,} {'product' if changed == 1 else 'products'} changed.")


def _told_products(run: "ProductsDryRun", file: Path) -> list[str]:
    """The dry run in words: counts, and each change by the product's code."""
    counts = {
        "are new": len(run.added),
        "declare something else": len(run.declared),
        "have another price": len(run.priced),
        "come to an area": run.stocked,
        "stay as they are": run.unchanged,
    }
    lines = [f"{_name(file)}: {run.listed.read_as}."]
    lines += [f"Not read: {header}" for header in run.listed.unused_headers]
    lines += [f"{count:>9,} {words}" for words, count in counts.items()]
    lines += [f"New: {one.entry.code}" for one in run.added]
    lines += [f"Declares something else: {one.entry.code}" for one in run.declared]
    lines += [
        f"Stays in {', '.join(one.stays)}, which the list leaves out: {one.entry.code}"
        for one in run.changes
        if one.stays
    ]
    lines += _under("To put right", [problem for problem in run.problems if problem.serious])
    return [*lines, *_under("To look at", [problem for problem in run.problems if not problem.serious])]


def _told_sessions(run: "SessionsDryRun", file: Path) -> list[str]:
    """The dry run in words: counts and places in the file, no names."""
    listed = run.listed
    lines = [f"{_name(file)}: {listed.encoding}, cells divided by {_DELIMITERS[listed.delimiter]}."]
    lines += [f"Not read: {header}" for header in listed.unused_headers]
    sessions = "session" if len(run.seen) == 1 else "sessions"
    lines.append(f"{len(run.seen):>9,} {sessions}, {run.hours:.1f} hours watched")
    lines += _under("To put right", [problem for problem in run.problems if problem.serious])
    lines += _under("To look at", [problem for problem in run.problems if not problem.serious])
    return [*lines, *_under("Asked back", list(run.asked))]


def _account(username: str, whose: str) -> "User":
    from thenar.records.models import User

    by = User.objects.filter(username=username).first()
    if by is None:
        raise BadInput(
            what=f"There is no account {username!r}.",
            why="Every change is noted with the name of whoever made it.",
            todo=f"Give the account name of {whose} with --by.",
        )
    return by


def _read(file: Path) -> bytes:
    from thenar.exchange.delimited import refuse_too_large

    try:
        refuse_too_large(file.stat().st_size, name=_name(file))
        return file.read_bytes()
    except OSError as problem:
        raise BadInput(
            what=f"{click.format_filename(file)!r} can't be read: {problem.strerror or problem}.",
            why="Nothing was read in.",
            todo="Check the path, and that this account may read the file.",
        ) from None


def _name(file: Path) -> str:
    return click.format_filename(file, shorten=True)


def _told(run: "DryRun", file: Path) -> list[str]:
    """The dry run in words: counts and places in the file, nobody's name or number."""
    changes, listed = run.changes, run.listed
    counts = {
        "join": len(changes.joiners),
        "move": len(changes.movers),
        "are corrected": len(changes.corrected),
        "leave": len(changes.leavers),
        "stay as they are": changes.unchanged,
    }
    lines = [f"{_name(file)}: {listed.encoding}, cells divided by {_DELIMITERS[listed.delimiter]}."]
    lines += [f"Not read: {header}" for header in listed.unused_headers]
    lines += [f"{count:>9,} {word}" for word, count in counts.items()]
    if changes.undecided:
        lines.append(f"{changes.undecided:>9,} stand on rows that can't be read")
    lines += [f"New area: {name}" for name in changes.new_areas]
    lines += [f"New role: {name}" for name in changes.new_roles]
    lines += _under("To put right", [problem for problem in changes.problems if problem.serious])
    lines += _under("To look at", [problem for problem in changes.problems if not problem.serious])
    return [*lines, *(f"Unusual: {words}" for words in changes.unusual)]


def _under(title: str, problems: list["Problem"]) -> list[str]:
    return [f"{title}:", *(f"  {problem}" for problem in problems)] if problems else []


def _refuse_unready(run: "DryRun", confirm_unusual: bool) -> None:
    from thenar.exchange.staff_import import refuse_unready

    if run.listed.undecided_dates:
        raise _undecided_dates()
    refuse_unready(run.changes, unusual_confirmed=confirm_unusual)


def _undecided_dates() -> BadInput:
    return BadInput(
        what="Dates in the file can be read in two ways.",
        why="A wrong guess would put wrong dates into the records; nothing was changed.",
        todo="Say which comes first with --day-first or --month-first.",
    )
