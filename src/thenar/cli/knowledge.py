"""`thenar knowledge`: every rule with its source, and whether the rules are fit to use."""

from datetime import datetime

import click

from thenar.cli.book import book, this_day
from thenar.knowledge import Citation, Entry, Source


@click.group()
def knowledge() -> None:
    """List, show and verify the rules and their sources."""


@knowledge.command("list")
@click.argument("beginning", default="")
def list_entries(beginning: str) -> None:
    """List every rule, or those whose key starts with BEGINNING."""
    entries = [entry for entry in book().entries.values() if entry.id.startswith(beginning)]
    widest = max((len(entry.id) for entry in entries), default=0)
    kind = max((len(entry.kind) for entry in entries), default=0)
    for entry in entries:
        click.echo(f"{entry.id:<{widest}}  {entry.kind:<{kind}}  {entry.history[-1].says}")
    click.echo(f"{len(entries)} entries, edition {book().edition}.")


@knowledge.command()
@click.argument("key")
def show(key: str) -> None:
    """Show what KEY says, since when, where it comes from, and who says otherwise."""
    entry = book().entry(key)
    click.echo("\n".join((entry.id, *_account(entry), f"Edition {book().edition}.")))


@knowledge.command()
@click.option("--today", type=click.DateTime(["%Y-%m-%d"]), help="Judge reviews as on this day.")
def verify(today: datetime | None) -> None:
    """Read every file and refuse overdue reviews, or content that differs from its edition."""
    day = today.date() if today else this_day()
    in_use = book()
    in_use.verify(day)
    click.echo(
        f"Edition {in_use.edition}: {len(in_use.files)} files, {len(in_use.entries)} entries, "
        f"{len(in_use.sources)} sources. No review is overdue on {day}."
    )


def _account(entry: Entry) -> list[str]:
    lines = [entry.says, ""]
    for step in entry.history:
        lines.append(f"From {step.in_force_from}: {step.says}")
        lines += _indented(_cited(step.citation), step.note)
    for says, citation in entry.other_views:
        lines.append(f"Others say: {says}")
        lines += _indented(_cited(citation))
    if entry.why_in_use:
        lines.append(f"Why this one is in use: {_one_line(entry.why_in_use)}")
    lines += [
        "",
        f"{entry.file}: {entry.file_title}",
        f"Why it matters: {_one_line(entry.why_it_matters)}",
        f"Reviewed on {entry.reviewed_on} by {entry.reviewed_by}; due again on {entry.review_due}.",
    ]
    return lines


def _cited(citation: Citation) -> str:
    return f"{citation.label}. {_whole(citation.source)}"


def _whole(source: Source) -> str:
    """The source as a bibliography prints it."""
    parts = (source.title, source.where, source.doi and f"doi {source.doi}", source.link)
    read = f" Read: {source.read}." if source.read else ""
    return ". ".join(part for part in parts if part) + "." + read


def _indented(*texts: str) -> list[str]:
    return [f"  {_one_line(text)}" for text in texts if text]


def _one_line(text: str) -> str:
    return " ".join(text.split())
