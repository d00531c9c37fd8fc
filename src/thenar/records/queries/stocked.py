"""Where can a product stand, and how many workers of an area must avoid what stands there?"""

from collections import Counter
from collections.abc import Collection
from datetime import datetime

from django.db import transaction

from thenar.allergy.verdict_terms import Answer
from thenar.knowledge import Book
from thenar.records.actions.concerns import Scope, meetings
from thenar.records.audit import note
from thenar.records.days import day_of
from thenar.records.models import Area, Post, Product, Stock, User, Worker
from thenar.records.rights import Act, NotVisible, require


def areas_for_products(*, by: User) -> tuple[Area, ...]:
    """Every area, the organisation first."""
    require(by, Act.SEE_PRODUCTS)
    return tuple(Area.objects.all())


def stock_named(*, ref: str, product: Product, by: User) -> Stock:
    """The period of stock of that reference, if it is of this product."""
    require(by, Act.SEE_PRODUCTS)
    stock = Stock.objects.select_related("product", "area").filter(ref=ref, product=product).first()
    if stock is None:
        raise NotVisible(by=by, target="stock")
    return stock


@transaction.atomic
def avoiders_in(
    *, area: Area, products: Collection[int], by: User, now: datetime, book: Book
) -> dict[int, int]:
    """Product's id → how many workers of an area, or beneath it, must avoid it; never counts the asker.

    The look is noted.
    """
    require(by, Act.SEE_CLINICAL)
    today = day_of(now)
    here = Post.objects.running_on(today).filter(area__path__startswith=area.path)
    workers = Worker.objects.visible_to(by, today).filter(posts__in=here).distinct()
    scope = Scope(frozenset(products), frozenset(workers.values_list("pk", flat=True)))
    met = meetings(scope, book=book, on=today).met
    counted = Counter(
        product
        for (_, product), one in met.items()
        if one.answer is Answer.AVOID and one.area.path.startswith(area.path)
    )
    note("avoiders looked at", by=by, now=now, target=area.ref, why=f"{len(met)} meetings")
    return dict(counted)
