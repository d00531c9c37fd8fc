"""What every page of a patch test, and of a worker's allergies, is framed with."""

from collections.abc import Mapping

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from thenar.records.models import Post, Worker
from thenar.records.queries.patch_tests import PatchTestStory
from thenar.records.rights import Act, may
from thenar.screens import clock
from thenar.screens.keeping import new_form_key
from thenar.screens.people import person


def worker_page(
    request: HttpRequest, worker: Worker, post: Post | None, template: str, context: Mapping[str, object]
) -> HttpResponse:
    """A page about one worker: who it is, and a fresh key for its form."""
    by = person(request)
    return render(
        request,
        template,
        {
            "worker": worker,
            "post": post,
            "may_write": may(by, Act.WRITE_CLINICAL),
            "today": clock.today(),
            "form_key": new_form_key(by),
            **context,
        },
    )


def patch_page(
    request: HttpRequest, story: PatchTestStory, template: str, context: Mapping[str, object]
) -> HttpResponse:
    """A page of one patch test."""
    framed = {"story": story, "test": story.test, "case": story.test.case, **context}
    return worker_page(request, story.worker, story.post, template, framed)


def typed_pairs(request: HttpRequest) -> tuple[tuple[str, str], ...]:
    """What was typed, for hidden fields of a page on which it is looked over."""
    never = {"csrfmiddlewaretoken", "form_key", "do"}
    return tuple(
        (name, value) for name, values in request.POST.lists() if name not in never for value in values
    )
