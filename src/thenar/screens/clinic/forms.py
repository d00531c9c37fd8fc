"""What the practitioner fills in. Each message names what to do; the page names the field before it."""

from typing import Any

from django import forms

from thenar.documents.clinical_words import clinical_words_in
from thenar.documents.letters import MOST_MEASURES
from thenar.knowledge import Line
from thenar.records.letter_states import BY_WORKER, Step
from thenar.records.models import Case, SkinCheck, User
from thenar.records.models.cases import CLOSING_OUTCOMES, REVIEW_OUTCOMES
from thenar.screens.dates import DayField, in_words

LONGEST_LINE = 240
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
            self.fields["note"].help_text = "Needed unless a case takes it: the check is pressing."

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
        _refuse_telling(purpose)
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
        return _lines_of(self.cleaned_data["own_words"])

    def clean(self) -> dict[str, Any]:
        """A plan says something."""
        cleaned = super().clean() or {}
        if not self.errors and not cleaned.get("lines") and not cleaned.get("own_words"):
            self.add_error("lines", "Choose at least one line of advice, or write one.")
        return cleaned


class AdjustmentForm(forms.Form):
    """What the workplace changes, from when to when, and who is told."""

    measures = forms.MultipleChoiceField(
        label="Measures",
        required=False,
        widget=forms.CheckboxSelectMultiple,
        error_messages={"invalid_choice": "A measure is no longer in the rules. Open the page again."},
    )
    own_words = forms.CharField(
        label="In your own words",
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="About tasks, one to a line. The manager reads what must change and never why.",
    )
    start_on = DayField(label="From")
    review_on = DayField(label="Review on", when="to_come")
    end_on = DayField(
        label="Until", required=False, help_text="Leave empty if it stays until you write again."
    )
    recipient = forms.ChoiceField(
        label="The letter goes to",
        widget=forms.RadioSelect,
        error_messages={"required": "Choose who the letter goes to."},
    )
    replaces = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, lines: tuple[Line, ...], managers: tuple[User, ...], **rest: Any) -> None:
        super().__init__(*args, **rest)
        self.lines = {line.id: line.says for line in lines}
        self.managers = {str(manager.pk): manager for manager in managers}
        self.fields["measures"].choices = list(self.lines.items())  # type: ignore[attr-defined]
        self.fields["recipient"].choices = [  # type: ignore[attr-defined]
            (key, f"{manager.called}, {manager.position or manager.get_access_display().lower()}")
            for key, manager in self.managers.items()
        ]

    def clean_own_words(self) -> list[str]:
        """The lines typed, once no word in them tells why."""
        _refuse_telling(self.cleaned_data["own_words"])
        return _lines_of(self.cleaned_data["own_words"])

    def clean(self) -> dict[str, Any]:
        """Something is asked for, and the days are in order."""
        cleaned = super().clean() or {}
        if "own_words" not in self.errors and "measures" not in self.errors:
            self._check_measures(cleaned)
        start, review, end = (cleaned.get(name) for name in ("start_on", "review_on", "end_on"))
        if start and review and review < start:
            self.add_error("review_on", "The review comes before the start. Choose a later day.")
        if start and end and end < start:
            self.add_error("end_on", "The end comes before the start. Choose a later day.")
        return cleaned

    def _check_measures(self, cleaned: dict[str, Any]) -> None:
        texts = self.texts(cleaned)
        if not texts:
            self.add_error("measures", "Choose at least one measure, or write one.")
        elif len(texts) > MOST_MEASURES:
            self.add_error("measures", f"A letter holds at most {MOST_MEASURES} measures. Choose fewer.")
        elif told := clinical_words_in(" ".join(texts)):
            self.add_error("measures", _told(told))

    def texts(self, cleaned: dict[str, Any] | None = None) -> tuple[str, ...]:
        """The measures as the letter says them."""
        given = self.cleaned_data if cleaned is None else cleaned
        return (*(self.lines[key] for key in given.get("measures", ())), *given.get("own_words", ()))


class LetterStepForm(forms.Form):
    """One step of a letter. A step of the worker's own needs to say how they told it."""

    step = forms.ChoiceField(
        label="What the worker said",
        choices=[
            (Step.SEEN, "They have read it"),
            (Step.SEE_DECLINED, "They do not want to read it first"),
            (Step.COMMENTED, "They have a comment"),
            (Step.CONSENTED, "They agree that it is sent"),
            (Step.REFUSED, "They do not agree"),
            (Step.WITHDRAWN, "Withdraw the letter"),
            (Step.CONTENT_AGREED, "The content is agreed"),
            (Step.OFFERED, "Offer it to the worker"),
            (Step.RELEASED, "Release it"),
        ],
        widget=forms.RadioSelect,
        error_messages={"required": "Choose what the worker said."},
    )
    how = forms.CharField(
        label="How they told you",
        max_length=120,
        help_text="In the room, by telephone, in writing. Kept with the step.",
        error_messages={"required": "Say how the worker told you."},
    )
    comment = forms.CharField(
        label="Their comment", required=False, max_length=1000, widget=forms.Textarea(attrs={"rows": 2})
    )

    def __init__(self, *args: Any, **rest: Any) -> None:
        super().__init__(*args, **rest)
        step = self.data.get("step", "")
        if step == Step.WITHDRAWN:
            self.fields["how"].label = "Why it is withdrawn"
            self.fields["how"].help_text = "Who asked for it, and how. Kept with the step."
            self.fields["how"].error_messages["required"] = "Say who asked for it, and how."
        elif step and step not in BY_WORKER:
            self.fields["how"].required = False

    def clean(self) -> dict[str, Any]:
        """A comment has words."""
        cleaned = super().clean() or {}
        if cleaned.get("step") == Step.COMMENTED and not cleaned.get("comment"):
            self.add_error("comment", "Write down what the worker said.")
        return cleaned


def _lines_of(text: str) -> list[str]:
    lines = [line.strip() for line in text.splitlines() if line.strip()]
    too_long = [number for number, line in enumerate(lines, 1) if len(line) > LONGEST_LINE]
    if too_long:
        raise forms.ValidationError(
            f"Line {too_long[0]} has {len(lines[too_long[0] - 1])} characters; {LONGEST_LINE} is the most. "
            "Say it in fewer words."
        )
    return lines


def _refuse_telling(text: str) -> None:
    if told := clinical_words_in(text):
        raise forms.ValidationError(_told(told))


def _told(words: tuple[str, ...]) -> str:
    shown = ", ".join(f"“{word}”" for word in words)
    return f"{shown} could tell why. Say what must change in the work, not the reason."
