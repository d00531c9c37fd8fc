"""What holds for every page: browsers keep nothing, quiet sessions end, every error is a page that helps."""

import logging
from collections.abc import Callable
from datetime import timedelta

from django.contrib import messages
from django.contrib.auth import logout
from django.db import DatabaseError, InterfaceError, OperationalError, transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string

from thenar.errors import Conflict, NotAllowed, ThenarError
from thenar.records.audit import note
from thenar.records.models import User
from thenar.records.rights import NotVisible
from thenar.screens import clock

Respond = Callable[[HttpRequest], HttpResponse]

QUIET_FOR = timedelta(minutes=15)
SIGNED_IN_FOR = timedelta(hours=8)
SEEN_EVERY = timedelta(minutes=1)  # a look is written down at most this often, so that pages stay cheap

log = logging.getLogger(__name__)


def never_cached(get_response: Respond) -> Respond:
    """A shared computer's back button must not show the last person's page."""

    def middleware(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        if not request.path.startswith("/static/"):
            response.headers.setdefault("Cache-Control", "no-store")
        return response

    return middleware


def signed_out_when_quiet(get_response: Respond) -> Respond:
    """Sign out whoever walked away from a shared computer; the page's guard keeps their typing."""

    def middleware(request: HttpRequest) -> HttpResponse:
        try:
            if request.user.is_authenticated:
                _see(request)
        except (OperationalError, InterfaceError):
            return no_database(request)
        return get_response(request)

    return middleware


def begin_session(request: HttpRequest) -> None:
    """Start both clocks of a session: the quiet one and the long one."""
    request.session["signed_in_at"] = request.session["seen_at"] = clock.now().timestamp()


def _see(request: HttpRequest) -> None:
    now = clock.now().timestamp()
    began, seen = request.session.get("signed_in_at"), request.session.get("seen_at")
    if began is None or seen is None:
        begin_session(request)
    elif now - seen > QUIET_FOR.total_seconds():
        _sign_out(request, "You were signed out after 15 quiet minutes.")
    elif now - began > SIGNED_IN_FOR.total_seconds():
        _sign_out(request, "You were signed out after 8 hours.")
    elif now - seen >= SEEN_EVERY.total_seconds():
        request.session["seen_at"] = now


def _sign_out(request: HttpRequest, why: str) -> None:
    logout(request)
    messages.info(request, f"{why} Sign in to go on where you were; anything you had typed is kept.")


class plain_errors:  # noqa: N801  (reads as a function in the settings list)
    """Turn errors meant for people into pages; a refused look is noted first."""

    def __init__(self, get_response: Respond) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        if response.status_code == 405:
            return _wrong_method(request, response)
        return response

    def process_exception(self, request: HttpRequest, problem: Exception) -> HttpResponse | None:
        """Answer ThenarErrors with their own words, and a silent database with a clear page."""
        if isinstance(problem, OperationalError | InterfaceError):
            return no_database(request, problem)
        if isinstance(problem, NotVisible):
            _note_refusal(problem.by, problem.target)
            return problem_page(request, problem, status=404)
        if isinstance(problem, NotAllowed):
            if isinstance(request.user, User):
                _note_refusal(request.user, request.resolver_match.url_name if request.resolver_match else "")
            return problem_page(request, problem, status=403)
        if isinstance(problem, ThenarError):
            return problem_page(request, problem, status=409 if isinstance(problem, Conflict) else 422)
        return None


def problem_page(request: HttpRequest, problem: ThenarError, *, status: int) -> HttpResponse:
    """What happened, why it matters, what to do, and a way on."""
    return render(request, "problem.html", {"problem": problem}, status=status)


def no_database(request: HttpRequest, problem: Exception | None = None) -> HttpResponse:
    """The page when the database is silent. It asks the database nothing, not even who is asking."""
    log.error("The database did not answer", exc_info=problem or True, extra={"request": request})
    said = ThenarError(
        what="Nothing was saved: the records can't be reached just now.",
        why="The database did not answer. What was saved before is safe.",
        todo="Wait a minute, go back, and send the page again; sending twice makes one record. "
        "If it goes on, tell whoever runs this computer. For an emergency, use the telephone.",
    )
    page = render_to_string("problem.html", {"problem": said})
    return HttpResponse(page, status=503, headers={"Retry-After": "60"})


def _wrong_method(request: HttpRequest, response: HttpResponse) -> HttpResponse:
    said = ThenarError(
        what="This address can't be opened that way.",
        why="It takes a form that is sent, or only a page that is looked at.",
        todo="Start again from the first page.",
    )
    page = problem_page(request, said, status=405)
    page.headers["Allow"] = response.headers["Allow"]
    return page


def _note_refusal(by: User, target: str | None) -> None:
    try:
        with transaction.atomic():
            note("refused", by=by, now=clock.now(), data_class="C6", why=(target or "")[:120])
    except DatabaseError:
        log.exception("A refusal could not be noted")  # the refusal itself stands
