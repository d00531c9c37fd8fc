"""Where a product stands: bring it to an area, or end a period."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from thenar.records.actions.stock import end_stock, stock_product
from thenar.records.models import Product, Stock
from thenar.records.queries.products import product_story
from thenar.records.queries.stocked import areas_for_products, stock_named
from thenar.records.rights import Act
from thenar.screens import clock
from thenar.screens.book import book
from thenar.screens.clinic.taking import taken, typed
from thenar.screens.keeping import new_form_key
from thenar.screens.people import for_those_who, person
from thenar.screens.products.forms import EndStockForm, StockForm


@for_those_who(Act.WRITE_PRODUCTS)
@require_http_methods(["GET", "HEAD", "POST"])
def product_stock(request: HttpRequest, ref: str) -> HttpResponse:
    """Bring a product to an area; with `end` in the address, end that period instead."""
    by = person(request)
    story = product_story(ref=ref, by=by, on=clock.today())
    ending = request.GET.get("end")
    stock = stock_named(ref=ending, product=story.product, by=by) if ending else None
    form = (
        EndStockForm(typed(request), initial={"until_on": clock.today()})
        if stock
        else StockForm(typed(request), areas=areas_for_products(by=by))
    )
    kept = taken(
        request,
        f"stock product {ref} {ending or ''}".strip(),
        form,
        lambda: _kept(request, story.product, stock, form),
    )
    if kept:
        return redirect("product", ref=ref)
    return render(
        request,
        "products/stock.html",
        {"product": story.product, "stock": stock, "form": form, "form_key": new_form_key(by)},
    )


def _kept(request: HttpRequest, product: Product, stock: Stock | None, form: StockForm | EndStockForm) -> str:
    given, by, now = form.cleaned_data, person(request), clock.now()
    if stock:
        return end_stock(stock=stock, until_on=given["until_on"], by=by, now=now).ref
    assert isinstance(form, StockForm)
    return stock_product(
        product=product,
        area=form.areas[given["area"]],
        from_on=given["from_on"],
        until_on=given["until_on"],
        book=book(),
        by=by,
        now=now,
    ).ref
