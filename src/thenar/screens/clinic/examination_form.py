"""The examination as a form: when, the grid, the marks, and what one must know to read the score later."""

from datetime import date
from typing import Any

from django import forms
from django.http import QueryDict

from thenar.records.actions.examinations import Circumstances
from thenar.records.models import Examination
from thenar.records.models.cases import TREATED
from thenar.screens.clinic.course import signs_of
from thenar.screens.clinic.grid import CELLS, CLEAR, GridForm, cell_name, grades_of
from thenar.screens.dates import DayField, in_words
from thenar.skin.hand_map import REGIONS
from thenar.skin.severity import HandSigns

MOST_DAYS = 999
ALL_CLEAR = HandSigns(CLEAR, CLEAR, CLEAR, CLEAR, CLEAR)


class ExaminationForm(GridForm):
    """What the practitioner saw. A correction also asks why.

    Parameters
    ----------
    first_day
        The first day of the rules that score; before it nothing can be scored.
    opened_on
        The day the case opened. Hands may have been seen before it, so an earlier day is asked about once.
    """

    examined_on = DayField(label="Examined on", when="past")
    before_opening = forms.BooleanField(
        label="The day is right: the hands were seen before the case opened", required=False
    )
    hard_to_judge = forms.BooleanField(
        label="Hard to judge on this skin",
        required=False,
        help_text="Kept with the score. Tick it when redness can't be told from the skin's own colour.",
    )
    marks = forms.MultipleChoiceField(
        label="Hand map",
        required=False,
        choices=[(region.id, region.label) for region in REGIONS],
        error_messages={"invalid_choice": "a mark names no part of the hand. Mark it again."},
    )
    days_since_wet_shift = forms.IntegerField(
        label="Days since the last wet shift",
        required=False,
        min_value=0,
        max_value=MOST_DAYS,
        help_text="0 for today. Leave empty if not known. Skin looks better after days off.",
        widget=forms.TextInput(attrs={"inputmode": "numeric", "class": "short", "maxlength": 3}),
        error_messages={
            "invalid": "Enter a whole number of days, or leave it empty.",
            "min_value": "Enter 0 or more days, or leave it empty.",
            "max_value": f"Enter at most {MOST_DAYS} days, or leave it empty.",
        },
    )
    under_treatment = forms.ChoiceField(
        label="Under treatment now",
        choices=TREATED,
        widget=forms.RadioSelect,
        initial="unknown",
        error_messages={
            "required": "Choose yes, no or not known.",
            "invalid_choice": "Choose yes, no or not known.",
        },
    )
    note = forms.CharField(
        label="Note", required=False, max_length=4000, widget=forms.Textarea(attrs={"rows": 4})
    )

    def __init__(
        self, *args: Any, first_day: date, opened_on: date, correcting: bool = False, **rest: Any
    ) -> None:
        super().__init__(*args, **rest)
        self.first_day, self.opened_on = first_day, opened_on
        self.asks_about_day = bool(self["before_opening"].value())  # the tick shows once given or asked for
        if correcting:
            self.fields["correction_reason"] = forms.CharField(
                label="Why it is corrected",
                max_length=200,
                help_text="The first entry stays as it was. This says which one to believe.",
                error_messages={"required": "Say in a few words what was wrong."},
            )

    def clean_examined_on(self) -> date:
        """Ask back a day on which there were no scores."""
        day: date = self.cleaned_data["examined_on"]
        if day < self.first_day:
            raise forms.ValidationError("This day is before the scores began. Is the year right?")
        return day

    def clean(self) -> dict[str, Any]:
        """Ask once whether a day before the case opened is meant."""
        cleaned = super().clean()
        day = cleaned.get("examined_on")
        if day and day < self.opened_on and not cleaned.get("before_opening"):
            self.asks_about_day = True
            self.add_error(
                "examined_on",
                f"{in_words(day)} is before the case opened on {in_words(self.opened_on)}. "
                "Correct the day, or tick that it is right.",
            )
        return cleaned

    def circumstances(self) -> Circumstances:
        """What one must know to read the score later."""
        given = self.cleaned_data
        return Circumstances(
            hard_to_judge=given["hard_to_judge"],
            days_since_wet_shift=given["days_since_wet_shift"],
            under_treatment=given["under_treatment"],
            note=given["note"],
        )

    def marked(self) -> list[str]:
        """The marks to show on the map again: those that are on it."""
        known = {region.id for region in REGIONS}
        return [mark for mark in (self["marks"].value() or []) if mark in known]


def as_recorded(examination: Examination) -> dict[str, Any]:
    """An examination as a form's first values, for correcting it."""
    return {
        **grades_of(signs_of(examination)),
        "examined_on": examination.examined_on,
        "marks": examination.marks,
        "hard_to_judge": examination.hard_to_judge,
        "days_since_wet_shift": examination.days_since_wet_shift,
        "under_treatment": examination.under_treatment,
        "note": examination.note,
    }


def refilled(typed: QueryDict, signs: HandSigns) -> dict[str, Any]:
    """Everything typed so far, with the grid filled anew: the buttons of the grid without script."""
    cells = {cell_name(area, column) for area, column in CELLS}
    kept = {name: typed.get(name) for name in typed if name not in cells}
    return {**kept, "marks": typed.getlist("marks"), **grades_of(signs)}
