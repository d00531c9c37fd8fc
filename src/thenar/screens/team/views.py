"""A manager's pages: released adjustments of their own staff, and the letters that told of them."""

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from thenar.documents.typeset import adjustment_letter_pdf
from thenar.records.queries.team import released_letter, team_of
from thenar.records.rights import Act
from thenar.screens import clock
from thenar.screens.papers import letter_content, pdf_page
from thenar.screens.people import for_those_who, person


@require_safe
@for_those_who(Act.SEE_TEAM)
def team(request: HttpRequest) -> HttpResponse:
    """What changes at work, for whom, from when to when."""
    mine = team_of(by=person(request), now=clock.now())
    context = {
        "areas": mine.areas,
        "running": [one for one in mine.adjustments if one.running],
        "ended": [one for one in mine.adjustments if not one.running],
    }
    return render(request, "team/team.html", context)


@require_safe
@for_those_who(Act.SEE_TEAM)
def team_letter(request: HttpRequest, ref: str) -> HttpResponse:
    """One letter that was sent to this manager."""
    letter = released_letter(ref=ref, by=person(request), now=clock.now())
    return render(request, "team/letter.html", {"letter": letter, "content": letter_content(letter)})


@require_safe
@for_those_who(Act.SEE_TEAM)
def team_letter_pdf(request: HttpRequest, ref: str) -> HttpResponse:
    """The letter on paper."""
    letter = released_letter(ref=ref, by=person(request), now=clock.now())
    pdf = adjustment_letter_pdf(letter_content(letter), demo=settings.DEMO)
    return pdf_page(pdf, f"letter-{letter.ref}")
