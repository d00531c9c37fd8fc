"""Who is asking, and what they may open."""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.http import HttpRequest, HttpResponseBase

from thenar.records.models import User
from thenar.records.rights import Act, require
from thenar.screens.keeping import ask_to_sign_in

View = Callable[..., HttpResponseBase]


def person(request: HttpRequest) -> User:
    """The signed-in person."""
    assert isinstance(request.user, User)
    return request.user


def for_those_who(act: Act) -> Callable[[View], View]:
    """Only for people with this right. Someone signed out signs in first, and nothing typed is lost."""

    def guard(view: View) -> View:
        @wraps(view)
        def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
            if not request.user.is_authenticated:
                return ask_to_sign_in(request)
            require(person(request), act)
            return view(request, *args, **kwargs)

        guarded.act = act  # type: ignore[attr-defined]
        return guarded

    return guard
