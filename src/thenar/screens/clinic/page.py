"""What every page of a case is framed with."""

from collections.abc import Mapping

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from thenar.records.queries.cases import CaseStory
from thenar.records.rights import Act, may
from thenar.screens import clock
from thenar.screens.keeping import new_form_key
from thenar.screens.people import person


def case_page(
    request: HttpRequest, story: CaseStory, template: str, context: Mapping[str, object]
) -> HttpResponse:
    """A page of a case: whose it is, whether it is open, and a fresh key for its form."""
    return render(
        request,
        template,
        {
            "story": story,
            "case": story.case,
            "worker": story.worker,
            "post": story.post,
            "may_write": may(person(request), Act.WRITE_CLINICAL) and story.is_open,
            "today": clock.today(),
            "form_key": new_form_key(person(request)),
            **context,
        },
    )
