"""Finding a worker, and a worker's story on one page."""

from datetime import date

from django import forms
from django.conf import settings
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from thenar.records.actions.letters import state_of
from thenar.records.letter_states import LetterState
from thenar.records.models import Letter, User
from thenar.records.queries.allergies import known_allergies
from thenar.records.queries.exposure_history import exposure_history
from thenar.records.queries.workers import (
    FOUND_AT_MOST,
    WorkerStory,
    find_workers,
    worker_story,
    workers_like,
)
from thenar.records.rights import Act, may
from thenar.screens import clock
from thenar.screens.book import book
from thenar.screens.keeping import new_form_key, typed_before
from thenar.screens.patch.allergies import shown_allergy
from thenar.screens.people import for_those_who, person
from thenar.screens.today.exposure_history import held_exposures
from thenar.screens.today.timeline import timeline_of
from thenar.screens.workplace.areas import reasons_for_limits
from thenar.screens.workplace.limits_here import limits_here

SEARCHED = "workers searched for"
URGENT = ("emergency", "same_day")


class Search(forms.Form):
    """Whom to look for."""

    words = forms.CharField(
        label="Name or staff number",
        help_text="The start of each name is enough: “mar oko” finds Marta Okonkwo.",
        max_length=120,
        widget=forms.TextInput(attrs={"type": "search", "autocomplete": "off", "spellcheck": "false"}),
        error_messages={"required": "Type the start of a name, or a staff number."},
    )


@require_http_methods(["GET", "HEAD", "POST"])
@for_those_who(Act.SEE_IDENTITY)
def workers(request: HttpRequest) -> HttpResponseBase:
    """Find a worker; a single match opens at once.

    The words travel in the form and rest in the session, never in an address: names in addresses end up in
    histories and logs.
    """
    if request.method == "POST":
        return _search(request)
    typed = typed_before(request)
    words = typed.get("words", "") if typed else request.session.get(SEARCHED, "")
    return _page(request, Search(initial={"words": words}), words)


def _search(request: HttpRequest) -> HttpResponseBase:
    form = Search(request.POST)
    if not form.is_valid():
        request.session.pop(SEARCHED, None)
        return _page(request, form, "")
    words = form.cleaned_data["words"]
    request.session[SEARCHED] = words
    found = find_workers(text=words, by=person(request), now=clock.now())
    if len(found) == 1:
        return redirect("worker", ref=found[0].worker.ref)
    return redirect("workers")


def _page(request: HttpRequest, form: Search, words: str) -> HttpResponse:
    found = find_workers(text=words, by=person(request), now=clock.now()) if words else ()
    context = {
        "form": form,
        "words": words,
        "found": found,
        "like": workers_like(text=words, by=person(request), now=clock.now()) if words and not found else (),
        "cut": len(found) == FOUND_AT_MOST,
        "form_key": new_form_key(person(request)),
    }
    return render(request, "workers/search.html", context)


@require_safe
@for_those_who(Act.SEE_IDENTITY)
def worker(request: HttpRequest, ref: str) -> HttpResponse:
    """Who this is, what happens next, and what happened; for a clerk, who this is."""
    story = worker_story(ref=ref, by=person(request), now=clock.now())
    today = clock.today()
    return render(
        request,
        "workers/worker.html",
        {
            "story": story,
            "posts_now": [post for post in story.posts if post.until_on is None or post.until_on >= today],
            "posts_before": [post for post in story.posts if post.until_on and post.until_on < today],
            "entries": timeline_of(story),
            "waiting": [check for check in story.checks if not hasattr(check, "sorting")],
            "letters": _letters_on_their_way(story),
            "pressing": any(
                check.urgency in URGENT for check in story.checks if not hasattr(check, "sorting")
            ),
            **_allergies_of(story),
            **_exposure_of(story, by=person(request), on=today),
            "today": today,
            "may_open": may(person(request), Act.WRITE_CLINICAL) and story.open_case is None,
            "may_invite": may(person(request), Act.INVITE) and story.worker.left_on is None,
        },
    )


def _exposure_of(story: WorkerStory, *, by: User, on: date) -> dict[str, object]:
    """What each post did to hands, for those who see more than who this is."""
    if not story.clinical:
        return {}
    limits = limits_here(settings.JURISDICTION, book(), on)
    return {
        "exposures": held_exposures(exposure_history(story, by=by), limits, book(), on),
        "limit_reasons": reasons_for_limits(limits),
    }


def _allergies_of(story: WorkerStory) -> dict[str, object]:
    """What the worker reacts to, in short, for those who see more than who this is."""
    if not story.clinical:
        return {}
    kept, known = known_allergies(story.worker), book()
    return {
        "delayed": [shown_allergy(one, known) for one in kept.sensitisations],
        "immediate": [shown_allergy(one, known) for one in kept.immediate],
        "patch_tests": kept.patch_tests,
    }


def _letters_on_their_way(story: WorkerStory) -> list[tuple[Letter, LetterState]]:
    states = [(letter, state_of(letter)) for letter in story.letters]
    return [(letter, state) for letter, state in states if not state.ended]
