"""One writer at a time in a worker's record, and at what a product declares and where it stands."""

from collections.abc import Collection

from thenar.records.models import Product, Worker


def wait_turn(worker_id: int) -> None:
    """Wait until nobody else writes in this worker's record; the turn ends with the transaction.

    What is looked up next stays true until then: a case stays open, a letter stays where it is. Every writer
    takes the turn before anything else, so that no two ever wait for each other.
    """
    Worker.objects.select_for_update().get(pk=worker_id)


def wait_turn_at_products(product_ids: Collection[int]) -> None:
    """Wait until nobody else writes of these products; the turn ends with the transaction.

    They are taken in one order, so that no two lists ever wait for each other.
    """
    list(Product.objects.select_for_update().filter(pk__in=product_ids).order_by("pk"))
