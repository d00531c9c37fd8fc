"""Which day does a written date mean? Where 03/04/2025 could be two days, both are given; nobody guesses."""

import re
import unicodedata
from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

_TIME = r"(?:[T ][0-9]{1,2}:[0-9]{2}(?::[0-9]{2}(?:\.[0-9]{1,9})?)?Z?)?"
_YEAR_FIRST = re.compile(r"([0-9]{4})([-/.])([0-9]{1,2})\2([0-9]{1,2})" + _TIME)
_COMPACT = re.compile(r"((?:18|19|20|21)[0-9]{2})([0-9]{2})([0-9]{2})")
_YEAR_LAST = re.compile(r"([0-9]{1,2})([-/.]) ?([0-9]{1,2})\2 ?([0-9]{4})" + _TIME)
_DAY_MONTH_NAME = re.compile(r"([0-9]{1,2})(?:\.|er|st|nd|rd|th)?[ -]?([a-z]{3,10})\.?,?[ -]?([0-9]{4})")
_MONTH_NAME_DAY = re.compile(r"([a-z]{3,10})\.? ([0-9]{1,2})(?:st|nd|rd|th)?,? ([0-9]{4})")
_SHORT_YEAR = re.compile(r"[0-9]{1,2}[-/.][0-9]{1,2}[-/.][0-9]{2}")
_DAY_NUMBER = re.compile(r"[0-9]{4,6}(?:[.,][0-9]+)?")
_DATE_SHAPE = re.compile(r"[0-9][0-9 ./:T-]{0,29}")

_MONTHS = (  # English, German, French; without accents
    "january jan januar janner janvier janv",
    "february feb februar feber fevrier fevr fev",
    "march mar marz maerz mrz mars",
    "april apr avril avr",
    "may mai",
    "june jun juni juin",
    "july jul juli juillet juil",
    "august aug aout",
    "september sep sept septembre",
    "october oct oktober okt octobre",
    "november nov novembre",
    "december dec dezember dez decembre",
)
_MONTH_NUMBERS = {name: number for number, names in enumerate(_MONTHS, 1) for name in names.split()}


@dataclass(frozen=True, slots=True)
class Readings:
    """The day a written date means if the day stands first, and if the month does; None for no day."""

    day_first: date | None
    month_first: date | None

    @property
    def is_ambiguous(self) -> bool:
        """Whether both orders give a day, and not the same one."""
        return None not in (self.day_first, self.month_first) and self.day_first != self.month_first


def read_date(text: str) -> Readings:
    """Read a written date both ways.

    Parameters
    ----------
    text
        2025-12-31 or 20251231, 31/12/2025, 31.12.2025, 31-12-2025, 31 Dec 2025, Dec 31, 2025, also with a
        time of day, which is dropped. Month names in English, German or French.

    Notes
    -----
    Years need four digits. A spreadsheet's day number is not read: there are two calendars of those.

    Examples
    --------
    >>> read_date("31 Dec 2025").day_first, read_date("03/04/2025").is_ambiguous
    (datetime.date(2025, 12, 31), True)
    """
    if found := _YEAR_FIRST.fullmatch(text):
        return _certain(found[1], found[3], found[4])
    if found := _YEAR_LAST.fullmatch(text):
        day_first = _day(found[4], found[3], found[1])
        return Readings(day_first, _day(found[4], found[1], found[3]))
    if found := _COMPACT.fullmatch(text):
        return _certain(found[1], found[2], found[3])
    folded = _fold(text)
    if found := _DAY_MONTH_NAME.fullmatch(folded):
        return _certain(found[3], _MONTH_NUMBERS.get(found[2], 0), found[1])
    if found := _MONTH_NAME_DAY.fullmatch(folded):
        return _certain(found[3], _MONTH_NUMBERS.get(found[1], 0), found[2])
    return Readings(None, None)


def orders_shown(readings: Collection[Readings]) -> frozenset[bool]:
    """Tell which orders the dates of a column prove: True for day first, False for month first.

    Examples
    --------
    >>> orders_shown([read_date("03/04/2025"), read_date("31/12/2025")])
    frozenset({True})
    """
    return frozenset(
        each.day_first is not None
        for each in readings
        if (each.day_first is None) != (each.month_first is None)
    )


def say_why_no_date(text: str) -> tuple[str, str]:
    """Say what is wrong with something that isn't a date, and what to do; shows it only if it looks like one.

    Examples
    --------
    >>> say_why_no_date("31/02/2025")[0]
    '31/02/2025 is not in the calendar.'
    """
    if _SHORT_YEAR.fullmatch(text):
        return f"{text} has only two digits for the year.", "Write the year with four digits."
    if _DAY_NUMBER.fullmatch(text):
        return (
            f"{text} is a number, not a date.",
            "Format the column as dates and save it again.",
        )
    if _DATE_SHAPE.fullmatch(text) or _names_a_month(text):
        return f"{text} is not in the calendar.", "Correct the date; 2025-12-31 is always understood."
    return "This is not a date.", "Write it like 2025-12-31, or leave the cell empty."


def _names_a_month(text: str) -> bool:
    found = _DAY_MONTH_NAME.fullmatch(_fold(text))
    return found is not None and found[2] in _MONTH_NUMBERS


def _certain(year: str, month: str | int, day: str) -> Readings:
    known = _day(year, month, day)
    return Readings(known, known)


def _day(year: str, month: str | int, day: str) -> date | None:
    try:
        return date(int(year), int(month), int(day))
    except ValueError:
        return None


def _fold(text: str) -> str:
    decomposed = unicodedata.normalize("NFKD", text)
    return "".join(letter for letter in decomposed if not unicodedata.combining(letter)).casefold()
