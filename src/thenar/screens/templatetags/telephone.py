"""Telephone numbers a phone can dial."""

import re

from django import template

register = template.Library()
_DIALLED = re.compile(r"\+?[0-9][0-9 ()/.-]{2,24}")


@register.filter
def dialled(number: str) -> str:
    """The number as a phone dials it; empty for words such as "extension 4000".

    Examples
    --------
    >>> dialled("+44 1632 960-123")
    '+441632960123'
    >>> dialled("extension 4000")
    ''
    """
    text = str(number or "").strip()
    return "".join(sign for sign in text if sign in "+0123456789") if _DIALLED.fullmatch(text) else ""
