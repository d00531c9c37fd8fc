"""What the practitioner fills in. Each message names what to do; the page names the field before it."""

from typing import Any

from django import forms

from thenar.knowledge import Line
from thenar.records.actions.cases import CLEAR_BAND
from thenar.records.models import Case, Examination, SkinCheck
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
    along = forms.BooleanField(required=False)
    older = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(
        self,
        *args: Any,
        check: SkinCheck,
        open_case: Case | None,
        older: tuple[SkinCheck, ...] = (),
        **rest: Any,
    ) -> None:
        super().__init__(*args, **rest)
        self.urgent, self.urgent_along = _is_pressing(check), any(_is_pressing(one) for one in older)
        many = "s" if len(older) > 1 else ""
        self.fields["along"].label = f"The same for {len(older)} older check{many} of this worker"
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
        elif self.urgent_along:
            self.fields["along"].help_text = "One of them is pressing: if no case takes it, a note is needed."

    @property
    def opens_case(self) -> bool:
        """Whether the check goes into a case."""
        return bool(self.cleaned_data["decision"] == "case")

    def clean(self) -> dict[str, Any]:
        """A pressing check is never put aside without a word."""
        cleaned = super().clean() or {}
        pressing = self.urgent or (self.urgent_along and cleaned.get("along"))
        if pressing and cleaned.get("decision") in ("advice", "no_action") and not cleaned.get("note"):
            self.add_error("note", "Say what you found, and why no case is needed.")
        return cleaned


def _is_pressing(check: SkinCheck) -> bool:
    return check.urgency in URGENT or check.patient_contact == "stop"


class CloseForm(forms.Form):
    """How a case ended. `last`: the last standing examination, which clear skin must not contradict."""

    outcome = forms.ChoiceField(
        label="How it ended",
        choices=CLOSING_OUTCOMES,
        widget=forms.RadioSelect,
        error_messages={"required": "Choose how the case ended."},
    )
    closed_on = DayField(label="Closed on", when="past")
    all_the_same = forms.BooleanField(
        label="Close all the same", required=False, help_text="Say why in the note; it is kept."
    )
    note = forms.CharField(
        label="Note", required=False, max_length=LONGEST_NOTE, widget=forms.Textarea(attrs={"rows": 3})
    )

    def __init__(self, *args: Any, last: Examination | None, **rest: Any) -> None:
        super().__init__(*args, **rest)
        self.last = last

    def clean(self) -> dict[str, Any]:
        """Clear skin against the last score is asked back once."""
        cleaned = super().clean() or {}
        if cleaned.get("outcome") != "clear" or self.last is None or self.last.band == CLEAR_BAND:
            return cleaned
        scored = f"{self.last.total} points on {in_words(self.last.examined_on)}"
        if not cleaned.get("all_the_same"):
            self.add_error(
                "all_the_same",
                f"The last score was {scored}, which is not clear. Examine again, choose another ending, "
                "or tick this and say why in the note.",
            )
        elif not cleaned.get("note"):
            self.add_error("note", f"Say why the skin counts as clear: the last score was {scored}.")
        return cleaned

    @property
    def asks_back(self) -> bool:
        """Whether closing all the same has come up."""
        return bool(self["all_the_same"].errors or self["all_the_same"].value())


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
    """What became of a review. `last_one`: no other review of the case is to come."""

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
        help_text="Where it is left empty, the case needs another review, or a reason why there is none. "
        "For example 3 March 2026.",
    )
    no_next = forms.BooleanField(
        label="No next review",
        required=False,
        help_text="The case is to be closed, or another reason. Say which in the note.",
    )
    note = forms.CharField(
        label="Note", required=False, max_length=LONGEST_NOTE, widget=forms.Textarea(attrs={"rows": 3})
    )

    def __init__(self, *args: Any, last_one: bool, **rest: Any) -> None:
        super().__init__(*args, **rest)
        self.last_one = last_one

    def clean(self) -> dict[str, Any]:
        """A worker who was not seen gets another day; one who was, another day or a reason."""
        cleaned = super().clean() or {}
        outcome, no_next = cleaned.get("outcome"), cleaned.get("no_next")
        if cleaned.get("next_due_on"):
            if no_next:
                self.add_error(
                    "no_next", "A next review is set as well. Leave the day empty, or take this off."
                )
        elif "next_due_on" in self.errors:
            pass
        elif outcome in ("moved", "missed"):
            self.add_error("next_due_on", "Set the day of the next review, or the worker drops out of sight.")
        elif outcome == "done" and no_next and not cleaned.get("note"):
            self.add_error("note", "Say why there is no next review.")
        elif outcome == "done" and self.last_one and not no_next:
            self.add_error(
                "next_due_on",
                "Set the day of the next review, or tick “No next review” and say why in the note.",
            )
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
