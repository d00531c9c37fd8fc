"""What does a plan cost and save? At the site's own prices only: a missing price makes it "not known"."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from thenar.exposure.controls import PlannedShift
from thenar.exposure.effects import Range
from thenar.exposure.floor import WorkedShift

# Load, and the price it is paid at. Sterile pairs are not among the plain ones.
PRICED = {
    "washes": "wash",
    "rubs": "rub",
    "plain_pairs": "pair",
    "sterile_pairs": "sterile_pair",
    "cream_uses": "cream_use",
}


@dataclass(frozen=True, slots=True)
class Prices:
    """The site's own prices for one wash, rub, pair, use of cream, and case. None is "not known"."""

    currency: str = ""
    wash: Decimal | None = None
    rub: Decimal | None = None
    pair: Decimal | None = None
    sterile_pair: Decimal | None = None
    cream_use: Decimal | None = None
    case: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Spending:
    """What a plan costs besides consumables. None is "not known"."""

    once: Decimal | None = None
    a_year: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Costs:
    """Money a year, and once. Below 0 is saved; None is "not known", for want of what `missing` names."""

    currency: str
    once: Decimal | None
    consumables_a_year: Decimal | None
    running_a_year: Decimal | None
    saved_on_cases_a_year: Range | None
    missing: tuple[str, ...]


def costs_of(
    shifts: Sequence[PlannedShift],
    *,
    people: int | None,
    shifts_a_year: int | None,
    avoided: Range | None,
    prices: Prices,
    spending: Spending,
) -> Costs:
    """A plan's cost and saving for everyone in the area and role.

    Parameters
    ----------
    shifts
        Shifts as worked and as planned.
    people
        People in the area and role.
    shifts_a_year
        Shifts that each works in a year.
    avoided
        Cases spared a year, with interval.
    prices, spending
        The site's own; no price is assumed.

    Notes
    -----
    Consumables are priced at the mean change over the shifts. What a case costs is the site's own figure:
    published ones come from selected patients and are much higher than most cases.

    Examples
    --------
    >>> from thenar.exposure.shift import ShiftQuantities
    >>> shift = lambda rubs: WorkedShift(ShiftQuantities(whole_shift=True, rubs=rubs))
    >>> planned = PlannedShift(shift(20), (), (), shift(30))
    >>> prices = Prices("EUR", rub=Decimal("0.01"))
    >>> costs = costs_of(
    ...     [planned], people=5, shifts_a_year=200, avoided=None, prices=prices, spending=Spending())
    >>> costs.consumables_a_year, costs.missing
    (Decimal('100.00'), ('once', 'a_year', 'cases avoided'))
    """
    consumables, missing = _consumables(shifts, people, shifts_a_year, prices)
    for name, known in (("once", spending.once), ("a_year", spending.a_year)):
        if known is None:
            missing.append(name)
    saved = None
    if avoided is None:
        missing.append("cases avoided")
    elif prices.case is None:
        missing.append("price of a case")
    else:
        price = float(prices.case)
        saved = Range(avoided.estimate * price, avoided.lower * price, avoided.upper * price)
    return Costs(
        currency=prices.currency,
        once=spending.once,
        consumables_a_year=consumables,
        running_a_year=spending.a_year,
        saved_on_cases_a_year=saved,
        missing=tuple(missing),
    )


def _consumables(
    shifts: Sequence[PlannedShift], people: int | None, shifts_a_year: int | None, prices: Prices
) -> tuple[Decimal | None, list[str]]:
    missing: list[str] = []
    total = Decimal(0)
    for load, price_name in PRICED.items():
        change = _mean_change(shifts, load)
        price: Decimal | None = getattr(prices, price_name)
        if change == 0:
            continue
        if change is None:
            missing.append(f"change in {load.replace('_', ' ')}")
        elif price is None:
            missing.append(f"price of a {price_name.replace('_', ' ')}")
        else:
            total += change * price
    if people is None or shifts_a_year is None:
        missing.append("people and shifts a year")
    if missing or people is None or shifts_a_year is None:
        return None, missing
    return round(total * people * shifts_a_year, 2), missing


def _mean_change(shifts: Sequence[PlannedShift], load: str) -> Decimal | None:
    """Mean change in a load over the shifts; 0 where it is the same before and after, counted or not."""
    total = 0
    for shift in shifts:
        before, after = _count(shift.before, load), _count(shift.after, load)
        if before == after:
            continue
        if before is None or after is None:
            return None
        total += after - before
    return Decimal(total) / len(shifts)


def _count(shift: WorkedShift, load: str) -> int | None:
    if load == "sterile_pairs":
        return shift.sterile_pairs
    if load == "plain_pairs":
        pairs = shift.load.pairs
        return None if pairs is None else pairs - (shift.sterile_pairs or 0)
    count: int | None = getattr(shift.load, load)
    return count
