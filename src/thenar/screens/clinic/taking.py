"""What every form of the clinic does: take it once, or show it again with what is wrong."""

from collections.abc import Callable

from django import forms
from django.http import HttpRequest, QueryDict

from thenar.errors import NotAllowed, ThenarError
from thenar.screens.keeping import submitted_once, typed_before


def typed(request: HttpRequest) -> QueryDict | None:
    """What was sent, or was typed before the session ended; None for a form opened afresh."""
    return request.POST if request.method == "POST" else typed_before(request)


def taken(request: HttpRequest, name: str, form: forms.Form, write: Callable[[], str]) -> str | None:
    """The reference of what was recorded, or None when the form has to be shown again.

    Whether a form is valid never depends on what its own sending changes; the action decides that, and is
    not asked twice when the same form comes twice.
    """
    if request.method != "POST" or not form.is_valid():
        return None
    try:
        return submitted_once(request, name, write)
    except NotAllowed:
        raise
    except ThenarError as problem:  # whatever stands in the way, what was typed stays on the page
        form.add_error(None, str(problem))
        return None
