"""Which tests are counted, and which file is read."""

from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile

from thenar.exchange.delimited import MAX_BYTES
from thenar.knowledge import Book
from thenar.screens.dates import DayField

DAY_FIRST = {"": None, "day": True, "month": False}


class FileForm(forms.Form):
    """A file of patch tests."""

    file = forms.FileField(
        label="File of patch tests",
        help_text="A CSV file with one row for each reading, as the file written here.",
        max_length=200,
        widget=forms.FileInput(attrs={"accept": ".csv,.txt,text/csv,text/plain"}),
        error_messages={
            "required": "Choose the file first.",
            "empty": "The file is empty. Export it again, and choose the new one.",
            "max_length": "The file's name is too long. Shorten it.",
        },
    )
    dates = forms.ChoiceField(
        label="Dates like 03/04/2026 mean",
        required=False,
        choices=[("", "what the other dates show"), ("day", "3 April"), ("month", "March 4")],
        widget=forms.Select(attrs={"class": "short"}),
    )

    def clean_file(self) -> bytes:
        """What was sent; too much is refused before it is read."""
        sent: UploadedFile[bytes] = self.cleaned_data["file"]
        if (sent.size or 0) > MAX_BYTES:
            raise forms.ValidationError(
                f"The file is larger than {MAX_BYTES // 1_000_000} MB. Export one year."
            )
        return bytes(sent.read())


class PeriodForm(forms.Form):
    """Which tests are counted, and which series is the baseline."""

    from_on = DayField(label="Put on from", help_text="")
    until_on = DayField(label="until", help_text="")
    baseline = forms.ChoiceField(label="Baseline series")

    def __init__(self, *args: Any, book: Book, **rest: Any) -> None:
        super().__init__(*args, **rest)
        self.fields["baseline"].choices = [  # type: ignore[attr-defined]
            (one.id, one.name) for one in book.allergens.series.values()
        ]

    def clean(self) -> dict[str, Any]:
        """A period has its days in order."""
        cleaned = super().clean() or {}
        first, last = cleaned.get("from_on"), cleaned.get("until_on")
        if first and last and last < first:
            self.add_error("until_on", "The last day lies before the first. Change one of them.")
        return cleaned
