"""A proposal: the products, what they cost, whom they serve, and where nothing serves."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from thenar.allergy.formulary_words import CAUTION
from thenar.records.queries.formularies import proposal, workers_named
from thenar.records.rights import Act
from thenar.screens import clock
from thenar.screens.book import book
from thenar.screens.formulary.kept import answer_of, asked_of
from thenar.screens.formulary.needs import BY_ID
from thenar.screens.formulary.shown import reasons_for, shown
from thenar.screens.formulary.supplies import for_supplies
from thenar.screens.people import for_those_who, person


@require_safe
@for_those_who(Act.SEE_CLINICAL)
def formulary_proposal(request: HttpRequest, ref: str) -> HttpResponse:
    """A proposal as it was kept. Workers stand by name only where nothing serves them."""
    by, now = person(request), clock.now()
    kept = proposal(ref=ref, by=by, now=now)
    asked, answer = asked_of(kept.question), answer_of(kept.answer)
    members = {one for group in answer.groups for one in group.members}
    workers = workers_named(refs=members, target=kept.ref, by=by, now=now)
    return render(
        request,
        "formulary/proposal.html",
        {
            "kept": kept,
            "asked": asked,
            "everyone": tuple(BY_ID[kind] for kind in asked.everyone),
            "held": tuple(BY_ID[kind] for kind in asked.held),
            "stay": tuple(one for one in answer.products if one.code in asked.stay),
            "banned": tuple(one for one in answer.products if one.code in asked.banned),
            "shown": shown(answer, workers, book()),
            "reasons": reasons_for(asked, book(), kept.edition, clock.today()),
            "supplies": for_supplies(kept.areas, answer),
            "caution": CAUTION,
        },
    )


@require_safe
@for_those_who(Act.SEE_CLINICAL)
def formulary_supplies(request: HttpRequest, ref: str) -> HttpResponse:
    """The text for supplies by itself, to send on."""
    kept = proposal(ref=ref, by=person(request), now=clock.now())
    text = "\n".join(for_supplies(kept.areas, answer_of(kept.answer)))
    return HttpResponse(f"{text}\n", content_type="text/plain; charset=utf-8")
