"""The worker's list, the card for the wallet and the list for supplies: look at them, give them out."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from django import forms
from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from thenar.allergy.names_to_avoid import NamesToAvoid, names_to_avoid
from thenar.documents.product_list import Content, ListedAllergy, Word, from_json, list_pdf, to_json
from thenar.records.actions.product_lists import SUPPLIES, issue_list
from thenar.records.models import Product
from thenar.records.models.products import CATEGORIES
from thenar.records.queries.allergies import issued_list
from thenar.records.refs import new_ref
from thenar.records.rights import Act, require
from thenar.screens import clock
from thenar.screens.clinic.service import contact
from thenar.screens.clinic.taking import taken, typed
from thenar.screens.papers import pdf_page
from thenar.screens.people import for_those_who, person
from thenar.screens.usable.comparing import framed
from thenar.screens.usable.list_contents import (
    listed_allergy,
    listed_categories,
    name_tells,
    supplies_list,
    wallet_card,
    word_for,
)
from thenar.screens.usable.list_contents import worker_list as list_for_worker
from thenar.screens.usable.list_forms import GiveForm, SuppliesForm
from thenar.screens.usable.looking import Held, Usable, usable_for


@dataclass(frozen=True, slots=True)
class Offered:
    """A product supplies may be asked for: its box, its amount, where it stands, and how it is named."""

    product: Product
    ticked: bool
    amount: forms.BoundField
    here: bool
    areas: str
    by_code: bool
    code_tells: bool


@require_http_methods(["GET", "HEAD", "POST"])
@for_those_who(Act.SEE_CLINICAL)
def worker_list(request: HttpRequest, ref: str) -> HttpResponse:
    """What to avoid by all its names, product by product what to do; and the forms that give lists out."""
    if request.method == "POST":
        require(person(request), Act.WRITE_CLINICAL)
    usable = usable_for(request, ref)
    names = names_to_avoid(usable.allergies, usable.book.allergens)
    offered = _offerable(usable)
    sent = typed(request)
    to_supplies = sent is not None and sent.get("made_for") == SUPPLIES
    give = GiveForm(None if to_supplies else sent)
    supplies = SuppliesForm(
        sent if to_supplies else None,
        offered=[one.record.product for one in offered],
        initial=_first(usable, offered),
    )
    form = supplies if to_supplies else give
    if usable.knows_an_allergy and taken(
        request, f"worker_list {ref}", form, lambda: _given(request, usable, names, form)
    ):
        return redirect(f"{reverse('worker_list', args=[ref])}#given")
    return render(
        request,
        "usable/list.html",
        {
            **framed(request, usable),
            "listed": _listed(names),
            "categories": listed_categories(usable.here) if usable.knows_an_allergy else (),
            "give": give,
            "supplies": supplies,
            "form": form,
            "offered": tuple(_offered(one, supplies, usable) for one in offered),
            "issued": usable.story.issued,
            "today": clock.today(),
            "at": "list",
        },
    )


@require_safe
@for_those_who(Act.SEE_CLINICAL)
def issued_list_pdf(request: HttpRequest, ref: str) -> HttpResponse:
    """A list as it was given out."""
    kept = issued_list(ref=ref, by=person(request), now=clock.now())
    return pdf_page(list_pdf(from_json(kept.content, kept.made_for), demo=settings.DEMO), f"list-{kept.ref}")


def _given(request: HttpRequest, usable: Usable, names: tuple[NamesToAvoid, ...], form: forms.Form) -> str:
    given = form.cleaned_data
    content = (
        _for_supplies(usable, form) if isinstance(form, SuppliesForm) else _for_worker(usable, names, given)
    )
    list_pdf(content, demo=settings.DEMO)  # what can't be printed is not kept
    return issue_list(
        worker=usable.worker,
        made_for=given["made_for"],
        content=to_json(content),
        valid_until=given["valid_until"],
        edition=usable.book.edition,
        by=person(request),
        now=clock.now(),
    ).ref


def _for_worker(
    usable: Usable, names: tuple[NamesToAvoid, ...], given: Mapping[str, date | str | None]
) -> Content:
    until = given["valid_until"]
    assert until is None or isinstance(until, date)
    if given["made_for"] == "wallet":
        return wallet_card(
            worker=usable.worker,
            names=names,
            valid_until=until,
            contact=contact(),
            reference=new_ref(),
            edition=usable.book.edition,
            on=clock.today(),
        )
    return list_for_worker(
        worker=usable.worker,
        area=usable.area.name if usable.area else None,
        names=names,
        judged=usable.here,
        valid_until=until,
        contact=contact(),
        reference=new_ref(),
        edition=usable.book.edition,
        on=clock.today(),
    )


def _for_supplies(usable: Usable, form: SuppliesForm) -> Content:
    given = form.cleaned_data
    return supplies_list(
        request=new_ref(),
        area=usable.area.name if usable.area else "Ask the service",
        worker=usable.worker if given["worker_agreed"] else None,
        products=form.wanted(),
        glove_size=given["glove_size"],
        valid_until=given["valid_until"],
        contact=contact(),
        table=usable.book.allergens,
        on=clock.today(),
    )


def _offerable(usable: Usable) -> tuple[Held, ...]:
    """What supplies may be asked for: only what the list says to use, by kind, the nearest first."""
    if not usable.knows_an_allergy:
        return ()
    kinds = [code for code, _ in CATEGORIES]
    offered = [one for one in usable.held if word_for(one.judged) is Word.USE]
    return tuple(sorted(offered, key=lambda one: kinds.index(one.record.product.category)))


def _first(usable: Usable, offered: tuple[Held, ...]) -> dict[str, object]:
    """Ticked at first: all that stands in the area; where a kind has nothing there, the nearest."""
    ticked = [one for one in offered if one.here]
    kinds = {one.record.product.category for one in ticked}
    for one in offered:
        if one.record.areas and one.record.product.category not in kinds:
            ticked.append(one)
            kinds.add(one.record.product.category)
    return {
        "products": [one.record.product.ref for one in ticked],
        "glove_size": usable.story.glove_size,
    }


def _offered(held: Held, form: SuppliesForm, usable: Usable) -> Offered:
    product = held.record.product
    return Offered(
        product=product,
        ticked=product.ref in (form["products"].value() or ()),
        amount=form[f"amount-{product.ref}"],
        here=held.here,
        areas=", ".join(area.name for area in held.record.areas),
        by_code=name_tells(product.name, usable.book.allergens),
        code_tells=name_tells(product.code, usable.book.allergens),
    )


def _listed(names: tuple[NamesToAvoid, ...]) -> tuple[ListedAllergy, ...]:
    return tuple(listed_allergy(one) for one in names)
