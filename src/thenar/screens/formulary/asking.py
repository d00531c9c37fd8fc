"""Asking for a formulary: areas, needs, and what is best."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from thenar.allergy.formulary import find_formulary
from thenar.errors import ThenarError
from thenar.records.actions.formularies import keep_proposal
from thenar.records.models import Area
from thenar.records.queries.formularies import earlier_proposals
from thenar.records.queries.judged import sensitised_groups
from thenar.records.queries.products import ProductRecord, products
from thenar.records.queries.stocked import areas_for_products
from thenar.records.rights import Act
from thenar.screens import clock
from thenar.screens.book import book
from thenar.screens.clinic.taking import taken, typed
from thenar.screens.formulary.forms import FormularyForm
from thenar.screens.formulary.kept import KeptAnswer, as_json, asked_as_json, keep
from thenar.screens.formulary.needs import KINDS
from thenar.screens.formulary.question import put
from thenar.screens.formulary.shown import rule_in_full
from thenar.screens.keeping import new_form_key
from thenar.screens.people import for_those_who, person

SECONDS = 15.0  # somebody waits at the screen


@dataclass(frozen=True, slots=True)
class Ticked:
    """One row with its two ticks."""

    row: object
    first: bool
    second: bool


@dataclass(frozen=True, slots=True)
class Place:
    """An area to tick, and how deep it lies in the tree."""

    area: Area
    depth: int
    ticked: bool


@require_http_methods(["GET", "HEAD", "POST"])
@for_those_who(Act.WRITE_PRODUCTS)
def formulary(request: HttpRequest) -> HttpResponse:
    """Ask, and be led to the proposal. Earlier ones are listed below."""
    by = person(request)
    records = products(by=by, on=clock.today())
    areas = areas_for_products(by=by)
    form = FormularyForm(
        typed(request), areas=areas, records=records, initial={"areas": request.GET.getlist("area")}
    )
    answer = _searched(request, form, records)
    kept = taken(request, "formulary", form, lambda: _kept(request, form, answer))
    if kept:
        return redirect("formulary_proposal", ref=kept)
    return render(
        request,
        "formulary/ask.html",
        {
            "form": form,
            "form_key": new_form_key(by),
            "tree": _places(form, areas),  # “places” is the band at the top
            "needs": _ticked(form, "everyone", "held", [(kind.id, kind) for kind in KINDS]),
            "shelves": _shelves(form, records),
            "any_ruled": bool(form["stay"].value() or form["banned"].value()),
            "reasons": [
                rule_in_full(entry, book(), clock.today()) for kind in KINDS for entry in kind.entries[:1]
            ],
            "earlier": earlier_proposals(by=by),
        },
    )


def _searched(
    request: HttpRequest, form: FormularyForm, records: Sequence[ProductRecord]
) -> KeptAnswer | None:
    """The answer to a form that was sent. Nothing is locked while it is searched for."""
    if request.method != "POST" or not form.is_valid():
        return None
    asked = form.asked()
    groups = sensitised_groups(
        areas=form.chosen_areas, on=clock.today(), book=book(), by=person(request), now=clock.now()
    )
    try:
        searched = put(asked, form.chosen_areas, records, groups, book())
        return keep(find_formulary(searched.question, asked.goal, seconds=SECONDS), searched, records)
    except ThenarError as problem:  # what can't be searched, and a search that ran out of time
        form.add_error(None, str(problem))
        return None


def _kept(request: HttpRequest, form: FormularyForm, answer: KeptAnswer | None) -> str:
    assert answer is not None
    return keep_proposal(
        areas=form.chosen_areas,
        question=asked_as_json(form.asked()),
        answer=as_json(answer),
        found=answer.found,
        edition=book().edition,
        by=person(request),
        now=clock.now(),
    ).ref


def _places(form: FormularyForm, areas: Sequence[Area]) -> tuple[Place, ...]:
    ticked = form["areas"].value() or ()
    return tuple(Place(one, min(one.path.count("/") - 2, 4), one.ref in ticked) for one in areas)


def _ticked(
    form: FormularyForm, first: str, second: str, rows: Sequence[tuple[str, object]]
) -> tuple[Ticked, ...]:
    firsts, seconds = form[first].value() or (), form[second].value() or ()
    return tuple(Ticked(row, key in firsts, key in seconds) for key, row in rows)


def _shelves(
    form: FormularyForm, records: Sequence[ProductRecord]
) -> tuple[tuple[str, tuple[Ticked, ...]], ...]:
    return tuple(
        (label, _ticked(form, "stay", "banned", [(one.product.code, one) for one in rows]))
        for label, rows in groupby(records, lambda one: one.product.get_category_display())
    )
