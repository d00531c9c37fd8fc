"""A declaration: typed in, shown as it was read, and only then kept."""

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from thenar.allergy.declared import ListKind
from thenar.errors import BadInput
from thenar.records.actions.products import declare_product
from thenar.records.judging import as_product, possible_misprints
from thenar.records.models import Product, ProductDeclaration
from thenar.records.queries.foreseen import concerned_by_declaring
from thenar.records.queries.products import ProductStory, product_story
from thenar.records.rights import Act
from thenar.screens import clock
from thenar.screens.book import book
from thenar.screens.clinic.taking import taken, typed
from thenar.screens.keeping import new_form_key
from thenar.screens.people import for_those_who, person
from thenar.screens.products.differences import Difference, as_declared, difference
from thenar.screens.products.forms import DeclareForm
from thenar.screens.products.marking import Marked, mark
from thenar.screens.products.meant import Meant, may_be_meant
from thenar.screens.products.wording import CANNOT_TELL, WHAT_IT_IS


@dataclass(frozen=True, slots=True)
class Preview:
    """A declaration as it was read, before it is kept. `concerned` counts workers."""

    marked: Marked
    cannot_tell: str
    difference: Difference | None
    concerned: int
    meant: tuple[Meant, ...]


@for_those_who(Act.WRITE_PRODUCTS)
@require_http_methods(["GET", "HEAD", "POST"])
def product_declare(request: HttpRequest, ref: str) -> HttpResponse:
    """Type in what a product declares, look at how it was read, keep it."""
    by, step = person(request), request.POST.get("step", "")
    story = product_story(ref=ref, by=by, on=clock.today())
    form = DeclareForm(typed(request), product=story.product, book=book(), kept=story.in_force)
    if step == "keep":
        kept = taken(request, f"declare product {ref}", form, lambda: _kept(request, story.product, form))
        if kept:
            return redirect("product", ref=ref)
    preview = _preview(request, story, form) if step == "look" else None
    context = {
        "product": story.product,
        "form": form,
        "form_key": new_form_key(by),
        "preview": preview,
        "in_force": story.in_force,
        "kinds": tuple((option, WHAT_IT_IS[ListKind(option.data["value"])]) for option in form["list_kind"]),
        "may_write": False,
    }
    return render(request, "products/as_read.html" if preview else "products/declare.html", context)


def _kept(request: HttpRequest, product: Product, form: DeclareForm) -> str:
    return declare_product(
        product=product,
        from_on=form.cleaned_data["from_on"],
        declared=form.declared(),
        book=book(),
        by=person(request),
        now=clock.now(),
    ).ref


def _preview(request: HttpRequest, story: ProductStory, form: DeclareForm) -> Preview | None:
    """How it was read and whom it would concern; None where it can't be used, and the form says why."""
    if not form.is_valid():
        return None
    declared = form.declared()
    try:
        concerned = concerned_by_declaring(
            product=story.product,
            from_on=form.cleaned_data["from_on"],
            declared=declared,
            book=book(),
            by=person(request),
            now=clock.now(),
        )
    except BadInput as problem:
        form.add_error(None, str(problem))
        return None
    draft = ProductDeclaration(
        product=story.product,
        list_kind=declared.list_kind,
        text=declared.text,
        virucidal=declared.virucidal,
        leave_on=declared.leave_on,
    )
    marked = mark(as_product(draft, book()), book(), possible_misprints(draft, book()))
    before = story.in_force
    return Preview(
        marked,
        CANNOT_TELL[marked.read.kind],
        difference(as_declared(before), declared) if before else None,
        concerned,
        may_be_meant(marked.read.ingredients, book()),
    )
