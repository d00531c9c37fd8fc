"""The grades of one day: a row for each position, a column for each grade."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django import forms

from thenar.allergy.patch_test import PatchGrade, PatchTest, Position
from thenar.knowledge import Book
from thenar.records.models import PatchReading
from thenar.screens.clinic.forms import LONGEST_NOTE
from thenar.screens.dates import DayField
from thenar.screens.patch.wording import GRADES, ShownGrade, prepared, put_on

ASK, NEGATIVE, NOT_LOOKED_AT = "ask", "negative", "not looked at"
LEFT_OPEN = [
    (ASK, "There are none: ask me back if there are"),
    (NEGATIVE, "All I left open are negative"),
    (NOT_LOOKED_AT, "I did not look at them: they stay unread for this day"),
]


@dataclass(frozen=True, slots=True)
class Choice:
    """One grade to choose for one position."""

    value: str
    id: str
    says: str
    shown: ShownGrade | None
    chosen: bool


@dataclass(frozen=True, slots=True)
class Row:
    """One position with its earlier grades, and what can be chosen."""

    position: Position
    name: str
    prepared: str
    begins: str
    earlier: tuple[tuple[int, ShownGrade], ...]
    choices: tuple[Choice, ...]
    problems: tuple[str, ...]


class ReadForm(forms.Form):
    """Grades by position. `open_ones` are the positions left without one."""

    read_on = DayField(label="Read on", when="past")
    patches_off_on = DayField(
        label="Patches came off on", when="past", required=False, help_text="Leave empty if nobody knows."
    )
    open_positions = forms.ChoiceField(
        label="Positions left open",
        choices=LEFT_OPEN,
        widget=forms.RadioSelect,
        initial=ASK,
        error_messages={"required": "Say what the positions left open are."},
    )
    note = forms.CharField(
        label="Note", required=False, max_length=LONGEST_NOTE, widget=forms.Textarea(attrs={"rows": 2})
    )
    correction_reason = forms.CharField(
        label="Why it is corrected",
        max_length=200,
        help_text="The first entry stays, with this reason beside it.",
        error_messages={"required": "Say why: the first entry stays, and the reason tells which to believe."},
    )

    def __init__(self, *args: Any, test: PatchTest, book: Book, correcting: bool, **rest: Any) -> None:
        super().__init__(*args, **rest)
        self.test, self.book = test, book
        self.open_ones: tuple[Position, ...] = ()
        if not correcting:
            del self.fields["correction_reason"]
        grades = [("", ""), *((one.value, one.value) for one in PatchGrade)]
        for position in test.positions:
            self.fields[grade_name(position.number)] = forms.ChoiceField(
                label=f"Position {position.number}",
                choices=grades,
                required=False,
                widget=forms.RadioSelect,
                error_messages={"invalid_choice": "Choose one of the grades."},
            )

    def clean(self) -> dict[str, Any]:
        """Every position has a grade, or it is said what those without one are."""
        cleaned = super().clean() or {}
        names = {one: grade_name(one.number) for one in self.test.positions}
        self.open_ones = tuple(
            one for one, name in names.items() if not cleaned.get(name) and name not in self.errors
        )
        if self.open_ones and cleaned.get("open_positions") == ASK:
            listed = ", ".join(str(one.number) for one in self.open_ones)
            many = len(self.open_ones) > 1
            self.add_error(
                "open_positions",
                f"Position{'s' if many else ''} {listed} {'have' if many else 'has'} no grade. Grade "
                f"{'them' if many else 'it'}, or say here what {'they are' if many else 'it is'}.",
            )
        return cleaned

    @property
    def takes_open_as_negative(self) -> bool:
        """Whether positions without a grade are to be written down as negative."""
        return bool(self.open_ones) and self.cleaned_data["open_positions"] == NEGATIVE

    def grades(self) -> dict[int, PatchGrade]:
        """What is to be kept, by position."""
        given = {
            one.number: PatchGrade(grade)
            for one in self.test.positions
            if (grade := self.cleaned_data[grade_name(one.number)])
        }
        if self.takes_open_as_negative:
            given |= {one.number: PatchGrade.NEGATIVE for one in self.open_ones}
        return dict(sorted(given.items()))

    def table(self) -> list[Row]:
        """The grid, position by position. A row at which a series begins carries its id."""
        rows, series = [], None
        for position in self.test.positions:
            rows.append(self._row(position, position.series if position.series != series else ""))
            series = position.series
        return rows

    def _row(self, position: Position, begins: str) -> Row:
        field = self[grade_name(position.number)]
        name, chosen = put_on(position, self.book), field.value() or ""
        where = f"{position.number}, {name}"
        values = [
            ("", "left open", None),
            *((one.value, GRADES[one].word, GRADES[one]) for one in PatchGrade),
        ]
        return Row(
            position=position,
            name=name,
            prepared=prepared(position),
            begins=begins,
            earlier=tuple((day, GRADES[grade]) for day, grade in self.test.days_of(position.number)),
            choices=tuple(
                Choice(value, f"{field.auto_id}_{place}", f"{where}: {word}", shown, chosen == value)
                for place, (value, word, shown) in enumerate(values)
            ),
            problems=tuple(str(one) for one in field.errors),
        )


def grade_name(position: int) -> str:
    """Name of the field of a position.

    Examples
    --------
    >>> grade_name(7)
    'grade-7'
    """
    return f"grade-{position}"


def as_graded(grades: Mapping[int, PatchGrade], reading: PatchReading) -> dict[str, object]:
    """A kept reading as the form shows it, to be corrected."""
    return {
        "read_on": reading.read_on,
        "patches_off_on": reading.patches_off_on,
        "note": reading.note,
        **{grade_name(position): grade.value for position, grade in grades.items()},
    }
