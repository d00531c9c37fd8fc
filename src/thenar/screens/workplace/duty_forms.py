"""What is filled in about an area's tasks, and about the duties a worker needs."""

from datetime import date, timedelta
from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile

from thenar.exchange.task_list import DAYS, MAX_BYTES
from thenar.exposure.duty_terms import GIVEN
from thenar.records.models import TaskList
from thenar.screens import clock
from thenar.screens.dates import DayField, in_words
from thenar.screens.workplace.duty_ceilings import Ceilings
from thenar.screens.workplace.duty_question import FORBIDS

USUAL_DAYS = 7
MOST_LIMIT = 1440


class TaskListForm(forms.Form):
    """A fortnight's tasks, as a file or typed in."""

    first_day = DayField(label="First day of the fortnight")
    file = forms.FileField(
        label="File",
        required=False,
        max_length=200,
        help_text="A CSV file of at most 1 MB. It takes the place of what stands in the box.",
        error_messages={"empty": "The file is empty. Choose another."},
        widget=forms.FileInput(attrs={"accept": ".csv,.txt,text/csv,text/plain"}),
    )
    text = forms.CharField(
        label="Rows",
        required=False,
        strip=False,
        max_length=MAX_BYTES,
        widget=forms.Textarea(attrs={"rows": 12, "spellcheck": "false", "class": "rows"}),
        help_text="The same rows, to type or to put right here. The first row names the columns.",
    )

    def clean_file(self) -> "UploadedFile[bytes] | None":
        """Refuse by size before it is read."""
        sent: UploadedFile[bytes] | None = self.cleaned_data["file"]
        if sent is not None and (sent.size or 0) > MAX_BYTES:
            raise forms.ValidationError("The file is over 1 MB. Export only the tasks of this area.")
        return sent

    def clean(self) -> dict[str, Any]:
        """There is something to read."""
        cleaned = super().clean() or {}
        if not self.errors and not cleaned.get("file") and not cleaned.get("text", "").strip():
            self.add_error("file", "Choose a file, or type the rows into the box.")
        return cleaned


def _limit(label: str, hint: str = "") -> forms.IntegerField:
    says = f"Enter a whole number from 0 to {MOST_LIMIT}, or leave it empty."
    return forms.IntegerField(
        label=label,
        required=False,
        min_value=0,
        max_value=MOST_LIMIT,
        help_text=hint,
        error_messages=dict.fromkeys(("invalid", "min_value", "max_value"), says),
        widget=forms.NumberInput(attrs={"class": "short", "inputmode": "numeric"}),
    )


class DutyForm(forms.Form):
    """How light the worker's duties must be, whose numbers nobody goes over, and for which days."""

    washes = _limit("Washes with soap and water")
    wet_minutes = _limit("Minutes of wet work")
    glove_minutes = _limit("Minutes in gloves")
    pairs = _limit("Pairs of gloves")
    no_soap = forms.BooleanField(label="No task with soap", required=False)
    no_latex = forms.BooleanField(label="No task with latex", required=False)
    no_patient_contact = forms.BooleanField(label="No task with patient contact", required=False)
    ceiling = forms.ChoiceField(
        label="Nobody goes over",
        error_messages={"required": "Choose whose numbers count.", "invalid_choice": "Choose one of these."},
    )
    first_day = DayField(label="First day")
    days = forms.IntegerField(
        label="How many days",
        min_value=1,
        max_value=DAYS,
        error_messages=dict.fromkeys(
            ("required", "invalid", "min_value", "max_value"), f"Enter a whole number from 1 to {DAYS}."
        ),
        widget=forms.NumberInput(attrs={"class": "short", "inputmode": "numeric"}),
        help_text="A few days fit a letter whole; for many days the letter tells the answer in short.",
    )

    def __init__(self, *args: Any, task_list: TaskList, offered: Ceilings, **rest: Any) -> None:
        super().__init__(*args, **rest)
        self.first, self.last = task_list.first_day, task_list.first_day + timedelta(days=DAYS - 1)
        self.initial = {**first_values(task_list, offered, clock.today()), **self.initial}
        self.fields["ceiling"].choices = [  # type: ignore[attr-defined]
            (one.rule_set.id, one.rule_set.name) for one in offered.choices
        ]

    def clean(self) -> dict[str, Any]:
        """Something is asked for, and the days lie in the list."""
        cleaned = super().clean() or {}
        asked = [cleaned.get(measure.value) is not None for measure in GIVEN]
        if not any((*asked, *(cleaned.get(flag) for flag in FORBIDS))) and not self.errors:
            self.add_error("washes", "Set at least one limit, here or below.")
        first, days = cleaned.get("first_day"), cleaned.get("days")
        if first and not self.first <= first <= self.last:
            says = f"The task list runs from {in_words(self.first)} to {in_words(self.last)}."
            self.add_error("first_day", f"{says} Choose a day in it, or read in another list.")
        elif first and days and first + timedelta(days=days - 1) > self.last:
            left = (self.last - first).days + 1
            self.add_error("days", f"The task list ends on {in_words(self.last)}. Enter at most {left}.")
        return cleaned

    @property
    def limits(self) -> dict[str, Any]:
        """What was asked, as it is kept."""
        return {name: self.cleaned_data[name] for name in (*(m.value for m in GIVEN), *FORBIDS)}


def first_values(task_list: TaskList, offered: Ceilings, today: date) -> dict[str, Any]:
    """From tomorrow if the list has it, a week or what is left of it, under the first rule set offered."""
    last = task_list.first_day + timedelta(days=DAYS - 1)
    tomorrow = today + timedelta(days=1)
    first = max(task_list.first_day, tomorrow) if tomorrow <= last else task_list.first_day
    return {
        "first_day": first,
        "days": min(USUAL_DAYS, (last - first).days + 1),
        "ceiling": offered.choices[0].rule_set.id if offered.choices else "",
    }
