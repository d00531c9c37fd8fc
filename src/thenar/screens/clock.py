"""The one place where screens read the clock."""

from datetime import date, datetime

from django.utils import timezone


def now() -> datetime:
    """This moment, with its zone."""
    return timezone.now()


def today() -> date:
    """The site's calendar day."""
    return timezone.localdate()
