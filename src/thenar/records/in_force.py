"""Which declaration or price of a product holds on a day? The newest begun; the last written wins."""

from collections.abc import Iterable
from datetime import date
from typing import Protocol, TypeVar


class _FromADay(Protocol):
    pk: int
    from_on: date


Dated = TypeVar("Dated", bound=_FromADay)


def in_force_on(rows: Iterable[Dated], day: date) -> Dated | None:
    """The one that holds on a day; None where none has begun."""
    begun = [row for row in rows if row.from_on <= day]
    return max(begun, key=_order, default=None)


def in_force_during(rows: Iterable[Dated], first: date, last: date | None) -> tuple[Dated, ...]:
    """All that hold on some day from `first` to `last`, in order; without `last`, on any day to come."""
    of_day = {row.from_on: row for row in sorted(rows, key=_order)}
    begun = [day for day in of_day if day <= first]
    coming = [day for day in of_day if day > first and (last is None or day <= last)]
    return tuple(of_day[day] for day in (*begun[-1:], *coming))


def _order(row: _FromADay) -> tuple[date, int]:
    return row.from_on, row.pk or 0
