"""Days as the site counts them."""

from datetime import date, datetime

from django.utils import timezone

from thenar.errors import BadInput


def day_of(now: datetime) -> date:
    """The site's calendar day at a moment."""
    return timezone.localdate(now)


def in_words(day: date) -> str:
    """A day as people write it.

    Examples
    --------
    >>> in_words(date(2026, 4, 1))
    '1 April 2026'
    """
    return f"{day.day} {day:%B %Y}"


def not_after_today(day: date, now: datetime, *, field: str) -> None:
    """Refuse a day that has not come yet."""
    if day > day_of(now):
        raise BadInput(
            what=f"{field}: {day:%d %B %Y} is in the future.",
            why="A record tells what has happened.",
            todo="Enter today or an earlier day.",
        )
