"""A new product, and what it costs."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from thenar.records.actions.products import add_product, price_product
from thenar.records.queries.products import product_story
from thenar.records.rights import Act
from thenar.screens import clock
from thenar.screens.clinic.taking import taken, typed
from thenar.screens.keeping import new_form_key
from thenar.screens.people import for_those_who, person
from thenar.screens.products.forms import PriceForm, ProductForm


@for_those_who(Act.WRITE_PRODUCTS)
@require_http_methods(["GET", "HEAD", "POST"])
def product_new(request: HttpRequest) -> HttpResponse:
    """Add a product; what it declares comes next."""
    form = ProductForm(typed(request))
    by = person(request)
    ref = taken(
        request,
        "add product",
        form,
        lambda: add_product(**form.cleaned_data, by=by, now=clock.now()).ref,
    )
    if ref:
        return redirect("product_declare", ref=ref)
    return render(request, "products/new.html", {"form": form, "form_key": new_form_key(by)})


@for_those_who(Act.WRITE_PRODUCTS)
@require_http_methods(["GET", "HEAD", "POST"])
def product_price(request: HttpRequest, ref: str) -> HttpResponse:
    """Say what a product costs here from a day on."""
    by = person(request)
    story = product_story(ref=ref, by=by, on=clock.today())
    form = PriceForm(typed(request), kept=story.price)
    kept = taken(
        request,
        f"price product {ref}",
        form,
        lambda: price_product(product=story.product, **form.cleaned_data, by=by, now=clock.now()).ref,
    )
    if kept:
        return redirect("product", ref=ref)
    return render(
        request,
        "products/price.html",
        {"product": story.product, "prices": story.prices, "form": form, "form_key": new_form_key(by)},
    )
