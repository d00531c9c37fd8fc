"""One way to type a day, everywhere: 2026-03-03, 3 Mar 2026 or 3 March 2026; nobody guesses 03/04/2026."""

from datetime import date, timedelta
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from thenar.exchange.written_dates import read_date
from thenar.screens import clock

EXAMPLE = "For example 3 March 2026."
FURTHEST = timedelta(days=731)
LONGEST = 30


class DayField(forms.Field):
    """A day, typed in words or as numbers.

    Parameters
    ----------
    when
        `past` refuses a day that has not come; `to_come` refuses one that has passed, or that is so far off
        that a slip in the year would put the worker out of sight; `any` takes both.
    """

    widget = forms.TextInput

    def __init__(self, *, when: str = "any", **rest: Any) -> None:
        rest.setdefault("help_text", EXAMPLE)
        super().__init__(**rest)
        self.when = when

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        """A short box; browsers offer no earlier entries."""
        return {**super().widget_attrs(widget), "class": "short", "autocomplete": "off", "maxlength": LONGEST}

    def prepare_value(self, value: Any) -> Any:
        """Show a day in words; what was typed stays as it was typed."""
        return in_words(value) if isinstance(value, date) else value

    def to_python(self, value: Any) -> date | None:
        """The day that was meant, or a message that says what to do."""
        text = str(value or "").strip()
        if not text:
            return None
        meant = read_date(text[:LONGEST])
        if meant.is_ambiguous:
            raise ValidationError("This could be two days. Write the month as a word: 3 April 2026.")
        day = meant.day_first or meant.month_first
        if day is None:
            raise ValidationError("This is not a day in the calendar. Write it like 3 March 2026.")
        return day

    def validate(self, value: date | None) -> None:
        """Refuse a day on the wrong side of today."""
        if value is None:
            if self.required:
                raise ValidationError("Enter the day, like 3 March 2026.")
            return
        today = clock.today()
        if self.when == "past" and value > today:
            raise ValidationError(f"{in_words(value)} has not come yet. Enter today or an earlier day.")
        if self.when == "to_come" and value < today:
            raise ValidationError(f"{in_words(value)} has passed. Enter today or a later day.")
        if self.when == "to_come" and value > today + FURTHEST:
            raise ValidationError(f"{in_words(value)} is more than two years off. Is the year right?")


def in_words(day: date) -> str:
    """A day as people write it, the month as a word.

    Examples
    --------
    >>> in_words(date(2026, 3, 3))
    '3 March 2026'
    """
    return f"{day.day} {day:%B %Y}"
