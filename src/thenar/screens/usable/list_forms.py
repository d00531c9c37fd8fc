"""Forms that give lists out: to the worker, and to supplies."""

from collections.abc import Sequence
from typing import Any

from django import forms

from thenar.documents.product_list import MOST_AMOUNT
from thenar.records.models import Product
from thenar.screens.dates import DayField

FOR_WORKER = (("worker", "The list, on a sheet"), ("wallet", "A card for the wallet"))


class GiveForm(forms.Form):
    """Which list the worker gets, and until when it is good."""

    made_for = forms.ChoiceField(
        label="What to give",
        choices=FOR_WORKER,
        widget=forms.RadioSelect,
        error_messages={"required": "Choose what to give.", "invalid_choice": "Choose what to give."},
    )
    valid_until = DayField(
        label="Good until", when="to_come", required=False, help_text="Empty: until you give a new one."
    )


class SuppliesForm(forms.Form):
    """What supplies are to send, how much, and whether they may know for whom."""

    made_for = forms.CharField(widget=forms.HiddenInput, initial="supplies")
    products = forms.MultipleChoiceField(
        label="Products to supply",
        widget=forms.CheckboxSelectMultiple,
        error_messages={
            "required": "Tick at least one product.",
            "invalid_choice": "One of these has another answer by now. Look again at what is offered.",
        },
    )
    glove_size = forms.CharField(
        label="Glove size",
        max_length=6,
        required=False,
        widget=forms.TextInput(attrs={"class": "short", "autocomplete": "off"}),
    )
    worker_agreed = forms.BooleanField(
        label="The worker agrees that supplies learn their name",
        required=False,
        help_text="Without that, supplies get the area and a number only.",
    )
    valid_until = DayField(
        label="Send until", when="to_come", required=False, help_text="Empty: until you write again."
    )

    def __init__(self, *args: Any, offered: Sequence[Product], **rest: Any) -> None:
        super().__init__(*args, **rest)
        self.offered = tuple(offered)
        self.fields["products"].choices = [  # type: ignore[attr-defined]
            (one.ref, one.name) for one in offered
        ]
        for one in offered:
            self.fields[f"amount-{one.ref}"] = forms.IntegerField(
                label=f"Amount of {one.name}",
                min_value=1,
                max_value=MOST_AMOUNT,
                required=False,
                widget=forms.NumberInput(attrs={"class": "short"}),
            )

    def clean(self) -> dict[str, Any]:
        """A glove is sent in a size, or it is not sent at all."""
        given: dict[str, Any] = super().clean() or {}
        ticked = set(given.get("products", ()))
        if not given.get("glove_size") and any(
            one.category == "glove" and one.ref in ticked for one in self.offered
        ):
            self.add_error("glove_size", "Give the size of the gloves.")
        return given

    def wanted(self) -> dict[Product, int | None]:
        """What was ticked, with the amount where one was given."""
        ticked = set(self.cleaned_data["products"])
        return {one: self.cleaned_data.get(f"amount-{one.ref}") for one in self.offered if one.ref in ticked}
