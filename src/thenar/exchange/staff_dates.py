"""Which days do the dates of one column mean? The column's own dates settle whether the day stands first."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from thenar.exchange.problems import Problems
from thenar.exchange.written_dates import Readings, orders_shown, read_date, say_why_no_date

EARLIEST = date(1900, 1, 1)

_SAY_ORDER = "Say whether the day or the month comes first, or export dates like 2025-12-31."


@dataclass(frozen=True, slots=True)
class WrittenDate:
    """The text of a date cell that isn't empty, and its line."""

    line: int
    text: str


@dataclass(frozen=True, slots=True)
class DateColumn:
    """The days of a column by their text, and whether someone has to say in which order they are written."""

    days: Mapping[str, date]
    is_undecided: bool


def read_date_column(
    field: str, written: Sequence[WrittenDate], *, day_first: bool | None, problems: Problems
) -> DateColumn:
    """Read a column of dates in one order, and ask about each that isn't a day.

    Parameters
    ----------
    field
        Our field that the column holds.
    written
        Its cells, in the order of the file.
    day_first
        The order somebody chose; None leaves it to the column's own dates.
    problems
        Takes what must be asked.

    Notes
    -----
    One date such as 31/12/2025 settles a column. Without one, an ambiguous date is asked about once for the
    whole column; a column that shows both orders is asked about too, for either may be the mistake.

    Examples
    --------
    >>> column = [WrittenDate(2, "03/04/2025"), WrittenDate(3, "31/12/2025")]
    >>> read_date_column("starts_on", column, day_first=None, problems=Problems({})).days["03/04/2025"]
    datetime.date(2025, 4, 3)
    """
    readings = {each.text: read_date(each.text) for each in written}
    order = day_first if day_first is not None else _order_shown(readings)
    is_undecided = order is None and _ask_order(field, written, readings, problems)
    days = {text: day for text, each in readings.items() if (day := _day_in_order(each, order))}
    for each in written:
        if each.text not in days and not (is_undecided and readings[each.text].is_ambiguous):
            problems.ask(each.line, field, *say_why_no_date(each.text))
        elif each.text in days and days[each.text] < EARLIEST:
            says = f"{each.text} is before {EARLIEST.year}."
            problems.ask(each.line, field, says, "Correct the year, or leave the cell empty.")
    return DateColumn({text: day for text, day in days.items() if day >= EARLIEST}, is_undecided)


def _order_shown(readings: Mapping[str, Readings]) -> bool | None:
    shown = orders_shown(readings.values())
    return next(iter(shown)) if len(shown) == 1 else None


def _day_in_order(readings: Readings, order: bool | None) -> date | None:
    if order is None:
        return None if readings.is_ambiguous else readings.day_first or readings.month_first
    return readings.day_first if order else readings.month_first


def _ask_order(
    field: str, written: Sequence[WrittenDate], readings: Mapping[str, Readings], problems: Problems
) -> bool:
    """Ask for the order if the column needs one; answers whether it does."""
    day_leads = next((each for each in written if _shows(readings[each.text], True)), None)
    month_leads = next((each for each in written if _shows(readings[each.text], False)), None)
    if day_leads and month_leads:
        says = (
            f"{day_leads.text} on line {day_leads.line} has the day first, "
            f"{month_leads.text} on line {month_leads.line} the month."
        )
        problems.ask(max(day_leads.line, month_leads.line), field, says, _SAY_ORDER)
        return True
    waiting = [each for each in written if readings[each.text].is_ambiguous]
    if not waiting:
        return False
    first, count = readings[waiting[0].text], len(waiting)
    says = (
        f"{waiting[0].text} can be {_say_day(first.day_first)} or {_say_day(first.month_first)}, "
        f"and no other date in the column decides. "
        f"{'One date waits' if count == 1 else f'{count:,} dates wait'} for the answer."
    )
    problems.ask(waiting[0].line, field, says, _SAY_ORDER)
    return True


def _shows(readings: Readings, order: bool) -> bool:
    return orders_shown([readings]) == {order}


def _say_day(day: date | None) -> str:
    return f"{day.day} {day:%B}" if day else ""
