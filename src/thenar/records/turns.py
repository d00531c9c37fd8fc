"""One writer at a time in a worker's record."""

from thenar.records.models import Worker


def wait_turn(worker_id: int) -> None:
    """Wait until nobody else writes in this worker's record; the turn ends with the transaction.

    What is looked up next stays true until then: a case stays open, a letter stays where it is. Every writer
    takes the turn before anything else, so that no two ever wait for each other.
    """
    Worker.objects.select_for_update().get(pk=worker_id)
