"""An allergy set down by hand, one taken back, and the size of glove."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from thenar.knowledge import Book
from thenar.records.actions.allergies import FROM_TEST, LONGEST_SIZE
from thenar.records.models import PatchTest
from thenar.records.models.allergies import DELAYED_BASES, IMMEDIATE_BASES, STRENGTHS
from thenar.screens.clinic.forms import LONGEST_NOTE
from thenar.screens.dates import DayField, in_words
from thenar.screens.patch.meant import allergen_meant

LONGEST_NAME = 160


class AllergenField(forms.CharField):
    """An allergen by any of its names. The field's value is the allergen's id."""

    def __init__(self, *, book: Book, immediate: bool = False) -> None:
        super().__init__(
            label="Allergen",
            max_length=LONGEST_NAME,
            help_text="Its name, a name on labels, or its CAS number. The list opens as you type.",
            widget=forms.TextInput(attrs={"list": "allergens", "autocomplete": "off", "spellcheck": "false"}),
            error_messages={"required": "Name the allergen."},
        )
        self.book, self.immediate = book, immediate

    def clean(self, value: Any) -> str:
        """The allergen meant, exactly; a likeness is never taken for it."""
        meant = allergen_meant(str(super().clean(value)), self.book)
        if self.immediate and not meant.immediate:
            raise ValidationError(
                f"{meant.name} is not known here as a cause of immediate allergy. A delayed allergy "
                "goes on its own page; if it does act at once, whoever keeps the rules has to enter it first."
            )
        return meant.id


class DelayedForm(forms.Form):
    """A delayed contact allergy, by hand."""

    strength = forms.ChoiceField(
        label="Strength", choices=STRENGTHS, initial="not known", widget=forms.RadioSelect
    )
    confirmed = forms.BooleanField(
        label="Confirmed",
        required=False,
        help_text="A repeated or open test, or your own judgement, has settled it.",
    )
    basis = forms.ChoiceField(
        label="What it rests on",
        choices=DELAYED_BASES,
        widget=forms.RadioSelect,
        error_messages={"required": "Choose what it rests on."},
    )
    test = forms.ChoiceField(label="Patch test", required=False)
    found_on = DayField(label="Found on", when="past")
    note = forms.CharField(
        label="Note", required=False, max_length=LONGEST_NOTE, widget=forms.Textarea(attrs={"rows": 2})
    )

    def __init__(self, *args: Any, book: Book, tests: tuple[PatchTest, ...], **rest: Any) -> None:
        super().__init__(*args, **rest)
        self.tests = {one.ref: one for one in tests}
        self.fields = {"allergen": AllergenField(book=book), **self.fields}
        named = [(one.ref, f"Put on {in_words(one.applied_on)}") for one in tests]
        self.fields["test"].choices = [("", "none"), *named]  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        """A basis in a test here names the test; no other does."""
        cleaned = super().clean() or {}
        basis, test = cleaned.get("basis"), cleaned.get("test")
        if basis == FROM_TEST and not test and "test" not in self.errors:
            self.add_error("test", "Choose the patch test it was found by.")
        if basis and basis != FROM_TEST and test:
            self.add_error("test", "Take the test off, or say that it rests on a patch test here.")
        return cleaned


class ImmediateForm(forms.Form):
    """An immediate allergy, by hand."""

    severe = forms.TypedChoiceField(
        label="Was there ever a reaction of the whole body?",
        choices=[("yes", "Yes"), ("no", "No")],
        coerce=lambda answer: answer == "yes",
        widget=forms.RadioSelect,
        help_text="Collapse, trouble breathing, a swollen face or throat, hives where nothing touched.",
        error_messages={"required": "Choose yes or no. If nobody knows, choose yes: it asks for more care."},
    )
    basis = forms.ChoiceField(
        label="What it rests on",
        choices=IMMEDIATE_BASES,
        widget=forms.RadioSelect,
        error_messages={"required": "Choose what it rests on."},
    )
    found_on = DayField(label="Found on", when="past")
    note = forms.CharField(
        label="Note", required=False, max_length=LONGEST_NOTE, widget=forms.Textarea(attrs={"rows": 2})
    )

    def __init__(self, *args: Any, book: Book, **rest: Any) -> None:
        super().__init__(*args, **rest)
        self.fields = {"allergen": AllergenField(book=book, immediate=True), **self.fields}


class WithdrawForm(forms.Form):
    """Why an allergy no longer stands."""

    reason = forms.CharField(
        label="Why it no longer stands",
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": "Say why: products to be avoided will no longer be."},
    )


class SizeForm(forms.Form):
    """The size of glove."""

    size = forms.CharField(
        label="Glove size",
        max_length=LONGEST_SIZE,
        help_text="As on the box: 7.5, or M.",
        widget=forms.TextInput(attrs={"class": "short", "autocomplete": "off"}),
        error_messages={"required": "Give the size as on the box: 7.5, or M."},
    )
