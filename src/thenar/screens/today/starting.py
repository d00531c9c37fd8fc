"""The two things that begin on a worker's page: an invitation to a skin check, and a case."""

from django import forms
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from thenar.records.actions.cases import open_case as begin_case
from thenar.records.actions.checks import LINK_LASTS, make_check_link
from thenar.records.queries.workers import WorkerStory, worker_identity, worker_story
from thenar.records.rights import Act
from thenar.screens import clock
from thenar.screens.clinic.taking import taken, typed
from thenar.screens.keeping import new_form_key
from thenar.screens.people import for_those_who, person


class JustYes(forms.Form):
    """A form that asks for nothing but to be sent."""


@require_http_methods(["GET", "HEAD", "POST"])
@for_those_who(Act.INVITE)
def invite(request: HttpRequest, ref: str) -> HttpResponseBase:
    """Make a personal link to a skin check and show it once; only its hash is kept."""
    who, now = person(request), clock.now()
    story = worker_identity(ref=ref, by=who, now=now, why="invitation to a skin check")
    tokens: list[str] = []

    def write() -> str:
        tokens.append(make_check_link(worker=story.worker, by=who, now=now))
        return story.worker.ref

    form = JustYes(typed(request))
    if taken(request, f"invite {ref}", form, write):
        return _shown_once(request, story, tokens)
    return _ask(request, "workers/invite.html", story, form)


def _shown_once(request: HttpRequest, story: WorkerStory, tokens: list[str]) -> HttpResponse:
    link = request.build_absolute_uri(reverse("check_link", args=tokens)) if tokens else ""
    until = clock.today() + LINK_LASTS
    return render(request, "workers/invited.html", {"story": story, "link": link, "until": until})


@require_http_methods(["GET", "HEAD", "POST"])
@for_those_who(Act.WRITE_CLINICAL)
def open_case(request: HttpRequest, ref: str) -> HttpResponseBase:
    """Open a case that did not begin with a skin check."""
    who, now = person(request), clock.now()
    story = worker_story(ref=ref, by=who, now=now, why="opening a case")
    form = JustYes(typed(request))
    made = taken(
        request, f"open_case {ref}", form, lambda: begin_case(worker=story.worker, by=who, now=now).ref
    )
    if made:
        return redirect("case", ref=made)
    return _ask(request, "workers/open_case.html", story, form)


def _ask(request: HttpRequest, template: str, story: WorkerStory, form: forms.Form) -> HttpResponse:
    waiting = [check for check in story.checks if not hasattr(check, "sorting")]
    context = {
        "story": story,
        "form": form,
        "waiting": waiting,
        "form_key": new_form_key(person(request)),
        "lasts": LINK_LASTS.days,
    }
    return render(request, template, context)
