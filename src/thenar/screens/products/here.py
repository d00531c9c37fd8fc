"""Which products stand in an area, and how many who work there must avoid each?"""

from dataclasses import dataclass

from thenar.records.models import Area, Product, User
from thenar.records.queries.products import stock_in
from thenar.records.queries.stocked import avoiders_in
from thenar.records.rights import Act, may
from thenar.screens import clock
from thenar.screens.book import book


@dataclass(frozen=True, slots=True)
class StockedHere:
    """A product standing here. `must_avoid` counts workers; None for those who may not know."""

    product: Product
    declares: str
    must_avoid: int | None


def stocked_here(area: Area, by: User) -> tuple[StockedHere, ...]:
    """What stands in an area or above it today, by category and name."""
    declarations = stock_in((area,), clock.today())
    counted = (
        avoiders_in(
            area=area,
            products=[one.product_id for one in declarations],
            by=by,
            now=clock.now(),
            book=book(),
        )
        if declarations and may(by, Act.SEE_CLINICAL)
        else None
    )
    return tuple(
        StockedHere(
            one.product,
            one.get_list_kind_display(),
            None if counted is None else counted.get(one.product_id, 0),
        )
        for one in declarations
    )
