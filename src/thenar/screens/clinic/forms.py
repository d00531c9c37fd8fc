"""What the practitioner fills in. Each message names what to do; the page names the field before it."""

from typing import Any

from django import forms

from thenar.knowledge import Line
from thenar.records.models import Case, SkinCheck
from thenar.records.models.cases import CLOSING_OUTCOMES, REVIEW_OUTCOMES
from thenar.screens.clinic.own_words import lines_of, refuse_telling
from thenar.screens.dates import DayField, in_words

LONGEST_NOTE = 4000
URGENT = {"prompt", "same_day", "emergency"}


class SortingForm(forms.Form):
    """What becomes of a skin check."""

    decision = forms.ChoiceField(
        label="What happens now",
        widget=forms.RadioSelect,
        error_messages={"required": "Choose what happens with this check."},
    )
    note = forms.CharField(
        label="Note", required=False, max_length=LONGEST_NOTE, widget=forms.Textarea(attrs={"rows": 3})
    )
    into = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, check: SkinCheck, open_case: Case | None, **rest: Any) -> None:
        super().__init__(*args, **rest)
        self.urgent = check.urgency in URGENT or check.patient_contact == "stop"
        goes_on = (
            f"Add it to the case open since {in_words(open_case.opened_on)}" if open_case else "Open a case"
        )
        self.fields["decision"].choices = [  # type: ignore[attr-defined]
            ("case", goes_on),
            ("advice", "Advice only, no case"),
            ("no_action", "Nothing needed"),
        ]
        if self.urgent:
            self.fields["note"].help_text = "Needed here if no case takes it, because the check is pressing."

    @property
    def opens_case(self) -> bool:
        """Whether the check goes into a case."""
        return bool(self.cleaned_data["decision"] == "case")

    def clean(self) -> dict[str, Any]:
        """A pressing check is never put aside without a word."""
        cleaned = super().clean() or {}
        if self.urgent and cleaned.get("decision") in ("advice", "no_action") and not cleaned.get("note"):
            self.add_error("note", "Say what you found, and why no case is needed.")
        return cleaned


class CloseForm(forms.Form):
    """How a case ended."""

    outcome = forms.ChoiceField(
        label="How it ended",
        choices=CLOSING_OUTCOMES,
        widget=forms.RadioSelect,
        error_messages={"required": "Choose how the case ended."},
    )
    closed_on = DayField(label="Closed on", when="past")
    note = forms.CharField(
        label="Note", required=False, max_length=LONGEST_NOTE, widget=forms.Textarea(attrs={"rows": 3})
    )


class ReviewForm(forms.Form):
    """The next look."""

    due_on = DayField(label="Due on", when="to_come")
    purpose = forms.CharField(
        label="What for",
        max_length=200,
        initial="Next look",
        help_text="Clerks read this when they make appointments. Nothing clinical.",
        error_messages={"required": "Say in a few words what the review is for."},
    )

    def clean_purpose(self) -> str:
        """Ask back words that say more than a clerk needs."""
        purpose = str(self.cleaned_data["purpose"])
        refuse_telling(purpose)
        return purpose


class ReviewOutcomeForm(forms.Form):
    """What became of a review."""

    outcome = forms.ChoiceField(
        label="What became of it",
        choices=REVIEW_OUTCOMES,
        widget=forms.RadioSelect,
        error_messages={"required": "Choose what became of the review."},
    )
    next_due_on = DayField(
        label="Next review on",
        when="to_come",
        required=False,
        help_text="Needed when the worker did not come or the day was moved. For example 3 March 2026.",
    )
    note = forms.CharField(
        label="Note", required=False, max_length=LONGEST_NOTE, widget=forms.Textarea(attrs={"rows": 3})
    )

    def clean(self) -> dict[str, Any]:
        """A worker who was not seen gets another day."""
        cleaned = super().clean() or {}
        not_seen = cleaned.get("outcome") in ("moved", "missed")
        if not_seen and not cleaned.get("next_due_on") and "next_due_on" not in self.errors:
            self.add_error("next_due_on", "Set the day of the next review, or the worker drops out of sight.")
        return cleaned


class PlanForm(forms.Form):
    """What the worker uses and does."""

    hand_rub = forms.CharField(label="Hand rub", required=False, max_length=120)
    soap_free_wash = forms.CharField(label="Soap-free wash", required=False, max_length=120)
    cream = forms.CharField(label="Cream", required=False, max_length=120)
    work_gloves = forms.CharField(label="Gloves at work", required=False, max_length=120)
    lines = forms.MultipleChoiceField(
        label="Advice",
        required=False,
        error_messages={"invalid_choice": "A line is no longer in the rules. Open the page again."},
    )
    own_words = forms.CharField(
        label="In your own words",
        required=False,
        max_length=LONGEST_NOTE,
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text="One line for each piece of advice. Marked on the plan as their practitioner's words.",
    )
    next_look_on = DayField(label="Next look on", when="to_come", required=False)
    sets_review = forms.BooleanField(
        label="Set the review for that day too",
        required=False,
        help_text="So that it comes up on Today.",
    )

    PRODUCTS = ("hand_rub", "soap_free_wash", "cream", "work_gloves")

    def __init__(self, *args: Any, lines: tuple[Line, ...], **rest: Any) -> None:
        super().__init__(*args, **rest)
        self.fields["lines"].choices = [(line.id, line.says) for line in lines]  # type: ignore[attr-defined]

    def clean_own_words(self) -> list[str]:
        """The lines typed."""
        return lines_of(self.cleaned_data["own_words"])

    def clean(self) -> dict[str, Any]:
        """A plan says something, and a review that is asked for has a day."""
        cleaned = super().clean() or {}
        wants_review = cleaned.get("sets_review") and "next_look_on" not in self.errors
        if wants_review and not cleaned.get("next_look_on"):
            self.add_error(
                "next_look_on",
                "Enter the day of the next look, or take away the tick that sets a review for it.",
            )
        if not self.errors and not cleaned.get("lines") and not cleaned.get("own_words"):
            self.add_error("lines", "Choose at least one line of advice, or write one.")
        return cleaned
