"""What holds for every page: nothing is kept by browsers, and every error is a page that helps."""

from collections.abc import Callable

from django.db import DatabaseError, transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from thenar.errors import Conflict, NotAllowed, ThenarError
from thenar.records.audit import note
from thenar.records.models import User
from thenar.records.rights import NotVisible
from thenar.screens import clock

Respond = Callable[[HttpRequest], HttpResponse]


def never_cached(get_response: Respond) -> Respond:
    """A shared computer's back button must not show the last person's page."""

    def middleware(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        if not request.path.startswith("/static/"):
            response.headers.setdefault("Cache-Control", "no-store")
        return response

    return middleware


class plain_errors:  # noqa: N801  (reads as a function in the settings list)
    """Turn errors meant for people into pages; a refused look is noted first."""

    def __init__(self, get_response: Respond) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, problem: Exception) -> HttpResponse | None:
        """Answer ThenarErrors with their own words."""
        if isinstance(problem, NotVisible):
            _note_refusal(problem.by, problem.target)
            return render(request, "problem.html", {"problem": problem}, status=404)
        if isinstance(problem, NotAllowed):
            if isinstance(request.user, User):
                _note_refusal(request.user, request.resolver_match.url_name if request.resolver_match else "")
            return render(request, "problem.html", {"problem": problem}, status=403)
        if isinstance(problem, ThenarError):
            status = 409 if isinstance(problem, Conflict) else 422
            return render(request, "problem.html", {"problem": problem}, status=status)
        return None


def _note_refusal(by: User, target: str | None) -> None:
    try:
        with transaction.atomic():
            note("refused", by=by, now=clock.now(), data_class="C6", why=(target or "")[:120])
    except DatabaseError:
        pass  # the refusal itself stands whatever becomes of its note
