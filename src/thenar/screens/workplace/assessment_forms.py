"""The form that assesses an area: words, actions with owners, and a day to look again."""

from typing import Any

from django import forms
from django.http import QueryDict

from thenar.records.models.workplace import HIERARCHY
from thenar.screens.dates import DayField
from thenar.screens.workplace.findings import Action

ROWS = 5
_NEEDED = {
    "words": "Say what is to be done.",
    "kind": "Choose its kind.",
    "owner": "Name an owner.",
    "due_on": "Give a day.",
}


class AssessForm(forms.Form):
    """What the assessor adds to the findings."""

    own_words = forms.CharField(
        label="In your words",
        widget=forms.Textarea({"rows": 5}),
        max_length=4000,
        required=False,
        help_text="What the figures don’t show: how work is arranged, what was seen. Name no one.",
    )
    review_on = DayField(label="Review on", when="to_come")

    def __init__(self, data: QueryDict | None) -> None:
        super().__init__(data)
        for row in range(1, ROWS + 1):
            self.fields[f"words-{row}"] = forms.CharField(
                label=f"Action {row}", max_length=240, required=False
            )
            self.fields[f"kind-{row}"] = forms.ChoiceField(
                label=f"Kind of action {row}", choices=[("", "Choose"), *HIERARCHY], required=False
            )
            self.fields[f"owner-{row}"] = forms.CharField(
                label=f"Owner of action {row}", max_length=120, required=False
            )
            self.fields[f"due_on-{row}"] = DayField(
                label=f"Due day of action {row}", when="to_come", required=False, help_text=""
            )

    def rows(self) -> tuple[tuple[forms.BoundField, ...], ...]:
        """The fields of each action."""
        return tuple(tuple(self[f"{name}-{row}"] for name in _NEEDED) for row in range(1, ROWS + 1))

    def clean(self) -> dict[str, Any]:
        """An action is whole or not there."""
        given: dict[str, Any] = super().clean() or {}
        for row in range(1, ROWS + 1):
            if any(given.get(f"{name}-{row}") for name in _NEEDED):
                for name, says in _NEEDED.items():
                    if not given.get(f"{name}-{row}") and f"{name}-{row}" not in self.errors:
                        self.add_error(f"{name}-{row}", says)
        return given

    def actions(self) -> tuple[Action, ...]:
        """The actions agreed."""
        given = self.cleaned_data
        return tuple(
            Action(*(given[f"{name}-{row}"] for name in ("kind", "words", "owner", "due_on")))
            for row in range(1, ROWS + 1)
            if given[f"words-{row}"]
        )
