"""One product: its declaration as read, its stock and price, and who must avoid it."""

from collections.abc import Callable
from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from thenar.allergy.product import GloveFacts
from thenar.allergy.verdict_terms import Answer
from thenar.errors import BadInput
from thenar.records.actions.products import accept_reading, refuse_reading
from thenar.records.judging import as_product, glove_of, open_misprints, undeclared
from thenar.records.models import ProductDeclaration, ReadingAccepted
from thenar.records.queries.products import (
    AreaAvoiders,
    ProductStory,
    declaration_named,
    product_story,
    who_must_avoid,
)
from thenar.records.rights import Act, may
from thenar.screens import clock
from thenar.screens.book import book
from thenar.screens.keeping import new_form_key, submitted_once
from thenar.screens.people import for_those_who, person
from thenar.screens.products.differences import chapters
from thenar.screens.products.marking import mark
from thenar.screens.products.meant import asked_of, refused_of
from thenar.screens.products.wording import CANNOT_TELL, yes_or_no
from thenar.screens.usable.shown import SHOWN


@dataclass(frozen=True, slots=True)
class Avoiders:
    """Who meets the product and must avoid it, or perhaps must, by area; how many of each."""

    areas: tuple[AreaAvoiders, ...]
    avoid: int
    cannot_exclude: int


@dataclass(frozen=True, slots=True)
class Accepted:
    """A reading somebody accepted, with the allergen's name."""

    reading: ReadingAccepted
    name: str


@for_those_who(Act.SEE_PRODUCTS)
@require_safe
def product(request: HttpRequest, ref: str) -> HttpResponse:
    """What a product declares and what that means. People stand here for the practitioner only."""
    by, on = person(request), clock.today()
    story = product_story(ref=ref, by=by, on=on)
    declaration = story.in_force or undeclared(story.product)
    marked = mark(as_product(declaration, book()), book(), open_misprints(declaration, book()))
    may_write = may(by, Act.WRITE_PRODUCTS)
    return render(
        request,
        "products/product.html",
        {
            "story": story,
            "product": story.product,
            "declaration": story.in_force,
            "marked": marked,
            "cannot_tell": CANNOT_TELL[marked.read.kind],
            "asked": asked_of(story.in_force, book()) if may_write and story.in_force else (),
            "accepted": tuple(_accepted(one) for one in story.accepted if one.allergen),
            "refused": refused_of(story.in_force, book()) if story.in_force else (),
            "facts": _facts(story.in_force),
            "chapters": chapters(story.declarations, story.in_force),
            "avoid": SHOWN[Answer.AVOID],
            "cannot_exclude": SHOWN[Answer.CANNOT_EXCLUDE],
            "avoiders": _avoiders(request, story) if may(by, Act.SEE_CLINICAL) else None,
            "today": on,
            "may_write": may_write,
            "form_key": new_form_key(by),
        },
    )


@for_those_who(Act.WRITE_PRODUCTS)
@require_POST
def product_accept(request: HttpRequest, ref: str) -> HttpResponse:
    """Accept that an ingredient means an allergen, for everyone."""
    return _settled(request, ref, _accept, "Accepted. From now on every answer counts it so.")


@for_those_who(Act.WRITE_PRODUCTS)
@require_POST
def product_refuse(request: HttpRequest, ref: str) -> HttpResponse:
    """Refuse that an ingredient is a misprint of an allergen, for everyone."""
    return _settled(request, ref, _refuse, "Refused. From now on these words count as no allergen.")


def _settled(
    request: HttpRequest, ref: str, settle: Callable[[HttpRequest, ProductDeclaration], str], says: str
) -> HttpResponse:
    by = person(request)
    story = product_story(ref=ref, by=by, on=clock.today())
    declaration = declaration_named(ref=request.POST.get("declaration", ""), by=by)
    try:
        if story.in_force != declaration:
            raise BadInput(
                what="The declaration has changed since the page was opened.",
                why="What you settled was said of another text.",
                todo="Look at the text that holds now.",
            )
        submitted_once(request, f"settle reading {ref}", lambda: settle(request, declaration))
        messages.success(request, says)
    except BadInput as problem:
        messages.error(request, str(problem))
    return redirect("product", ref=ref)


def _accept(request: HttpRequest, declaration: ProductDeclaration) -> str:
    return accept_reading(
        declaration=declaration,
        written=_written(request),
        allergen=request.POST.get("allergen", ""),
        book=book(),
        by=person(request),
        now=clock.now(),
    ).ref


def _refuse(request: HttpRequest, declaration: ProductDeclaration) -> str:
    return refuse_reading(
        declaration=declaration, written=_written(request), book=book(), by=person(request), now=clock.now()
    ).ref


def _written(request: HttpRequest) -> str:
    return request.POST.get("written", "").replace("\r\n", "\n")


def _accepted(reading: ReadingAccepted) -> Accepted:
    known = book().allergens.allergens.get(reading.allergen)
    return Accepted(reading, known.name if known else reading.allergen)


def _facts(declaration: ProductDeclaration | None) -> tuple[tuple[str, str], ...]:
    """What else is declared, label and value; what nobody knows is said."""
    if declaration is None:
        return ()
    if declaration.product.category == "glove":
        return _glove_facts(glove_of(declaration))
    return (
        ("Kills viruses too", yes_or_no(declaration.virucidal)),
        ("Stays on the skin", yes_or_no(declaration.leave_on)),
    )


def _glove_facts(glove: GloveFacts) -> tuple[tuple[str, str], ...]:
    material = book().allergens.materials.get(glove.material)
    return (
        ("Material", material.name if material else glove.material or "not known"),
        ("Sterile", yes_or_no(glove.sterile)),
        ("Coloured", yes_or_no(glove.coloured)),
        ("Powdered", yes_or_no(glove.powdered)),
        ("Sizes", ", ".join(glove.sizes) or "not known"),
    )


def _avoiders(request: HttpRequest, story: ProductStory) -> Avoiders:
    areas = who_must_avoid(product=story.product, by=person(request), now=clock.now(), book=book())
    return Avoiders(
        areas,
        sum(len(one.avoid) for one in areas),
        sum(len(one.cannot_exclude) for one in areas),
    )
