"""The knowledge the command line uses: the shipped one, with the site's own file over it."""

import os
from datetime import UTC, date, datetime
from pathlib import Path

from thenar.knowledge import Book, load


def book() -> Book:
    """The book in use; THENAR_SITE_KNOWLEDGE names the site's file, if it has one."""
    site = os.environ.get("THENAR_SITE_KNOWLEDGE")
    return load(Path(site) if site else None)


def this_day() -> date:
    """Today where this machine stands."""
    return datetime.now(UTC).astimezone().date()
