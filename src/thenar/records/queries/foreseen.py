"""Whom would a declaration concern, before it is kept?"""

from datetime import date, datetime

from django.db import transaction

from thenar.knowledge import Book
from thenar.records.actions.products import Declared, declare_product
from thenar.records.audit import note
from thenar.records.models import Product, ProductConcern, User
from thenar.records.rights import Act, require


@transaction.atomic
def concerned_by_declaring(
    *, product: Product, from_on: date, declared: Declared, book: Book, by: User, now: datetime
) -> int:
    """For how many workers keeping a declaration would raise a concern; never counts the asker.

    It is kept and taken back at once, so the answer is that of the action itself. The look is noted.

    Raises
    ------
    BadInput
        The declaration can't be used.
    """
    require(by, Act.SEE_CLINICAL)
    raised = ProductConcern.objects.filter(product=product).exclude(worker__user=by)
    before = raised.count()
    with transaction.atomic():
        declare_product(product=product, from_on=from_on, declared=declared, book=book, by=by, now=now)
        concerned = raised.count() - before
        transaction.set_rollback(True)
    note("avoiders looked at", by=by, now=now, target=product.ref, why=f"{concerned} workers, beforehand")
    return concerned
