"""What the practitioner fills in about an adjustment and its letter: nothing in it tells why."""

from typing import Any

from django import forms

from thenar.documents.clinical_words import clinical_words_in
from thenar.documents.letters import MOST_MEASURES
from thenar.knowledge import Line
from thenar.records.letter_states import BY_WORKER, Step
from thenar.records.models import User
from thenar.screens.clinic.own_words import lines_of, refuse_telling, words_that_tell
from thenar.screens.dates import DayField, in_words


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
    besides = forms.BooleanField(
        label="Go on: this letter goes besides it",
        required=False,
        help_text="The manager will have two letters about this worker.",
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
        refuse_telling(self.cleaned_data["own_words"])
        return lines_of(self.cleaned_data["own_words"])

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
        elif review and end and review > end:
            self.add_error(
                "review_on",
                f"The review on {in_words(review)} comes after the end on {in_words(end)}. "
                "Choose an earlier review, or a later end.",
            )
        return cleaned

    def _check_measures(self, cleaned: dict[str, Any]) -> None:
        texts = self.texts(cleaned)
        if not texts:
            self.add_error("measures", "Choose at least one measure, or write one.")
        elif len(texts) > MOST_MEASURES:
            self.add_error("measures", f"A letter holds at most {MOST_MEASURES} measures. Choose fewer.")
        elif told := clinical_words_in(" ".join(texts)):
            self.add_error("measures", words_that_tell(told))

    def texts(self, cleaned: dict[str, Any] | None = None) -> tuple[str, ...]:
        """The measures as the letter says them."""
        given = self.cleaned_data if cleaned is None else cleaned
        return (*(self.lines[key] for key in given.get("measures", ())), *given.get("own_words", ()))


class LetterStepForm(forms.Form):
    """One step of a letter. A step of the worker's own needs to say how they told it."""

    step = forms.ChoiceField(
        label="What the worker said",
        choices=[(step.value, step.value) for step in Step],
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
