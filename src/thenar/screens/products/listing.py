"""Every product: what kind of list it has, where it stands, what it costs."""

from dataclasses import dataclass
from itertools import groupby

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from thenar.records.models import Area
from thenar.records.models.products import CATEGORIES
from thenar.records.queries.products import ProductRecord
from thenar.records.queries.products import products as all_products
from thenar.records.queries.stocked import areas_for_products
from thenar.records.rights import Act, may
from thenar.screens import clock
from thenar.screens.people import for_those_who, person


@dataclass(frozen=True, slots=True)
class Shelf:
    """The products of one category."""

    label: str
    records: tuple[ProductRecord, ...]


@for_those_who(Act.SEE_PRODUCTS)
@require_safe
def products(request: HttpRequest) -> HttpResponse:
    """The products by category, all of them or those of one area or category."""
    by = person(request)
    records = all_products(by=by, on=clock.today())
    areas = areas_for_products(by=by)
    area = next((one for one in areas if one.ref == request.GET.get("area")), None)
    category = request.GET.get("category", "")
    shown = [one for one in records if _is_asked(one, area, category)]
    return render(
        request,
        "products/products.html",
        {
            "shelves": _shelves(shown),
            "shown": len(shown),
            "all_count": len(records),
            "areas": areas,
            "area": area,
            "categories": CATEGORIES,
            "category": category,
            "may_write": may(by, Act.WRITE_PRODUCTS),
        },
    )


def _is_asked(record: ProductRecord, area: Area | None, category: str) -> bool:
    """Whether it is of the category and stands in the area or above it; without a question, always."""
    if category in dict(CATEGORIES) and record.product.category != category:
        return False
    return area is None or any(area.path.startswith(stocked.path) for stocked in record.areas)


def _shelves(records: list[ProductRecord]) -> tuple[Shelf, ...]:
    by_category = {key: tuple(rows) for key, rows in groupby(records, lambda one: one.product.category)}
    return tuple(Shelf(label, by_category[key]) for key, label in CATEGORIES if key in by_category)
