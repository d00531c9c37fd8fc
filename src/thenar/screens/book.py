"""The knowledge in use at this site."""

from django.conf import settings

from thenar.knowledge import Book, load


def book() -> Book:
    """The shipped knowledge with the site's own file over it."""
    return load(settings.SITE_KNOWLEDGE)
