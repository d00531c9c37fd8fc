"""What is filled in to search for a formulary. Whether it can be searched for, the search says."""

from collections.abc import Iterable
from typing import Any

from django import forms

from thenar.allergy.formulary_terms import Goal
from thenar.records.models import Area
from thenar.records.queries.products import ProductRecord
from thenar.screens.formulary.needs import KINDS, size_word
from thenar.screens.formulary.question import Asked

MOST_PRODUCTS = 1_000
LONGEST_SIZES = 200


class FormularyForm(forms.Form):
    """For which areas, for which needs, to which end."""

    areas = forms.MultipleChoiceField(
        label="Areas",
        error_messages={
            "required": "Tick at least one area.",
            "invalid_choice": "Tick only areas of this list.",
        },
    )
    everyone = forms.MultipleChoiceField(
        label="Everyone has one",
        required=False,
        choices=[(kind.id, kind.label) for kind in KINDS],
    )
    held = forms.MultipleChoiceField(
        label="In stock in any case",
        required=False,
        choices=[(kind.id, kind.label) for kind in KINDS],
    )
    sizes = forms.CharField(
        label="Sizes of sterile gloves to hold in any case",
        required=False,
        max_length=LONGEST_SIZES,
        help_text="With commas between: 6, 6.5, 7. Sizes that workers wear are asked for anyway.",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    goal = forms.ChoiceField(
        label="What is best",
        choices=[
            (Goal.CHEAPEST, "The cheapest for a year; of those, the fewest products"),
            (Goal.FEWEST, "The fewest products; of those, the cheapest"),
        ],
        widget=forms.RadioSelect,
        error_messages={"required": "Choose what is best."},
    )
    at_most = forms.IntegerField(
        label="Products at most",
        required=False,
        min_value=1,
        max_value=MOST_PRODUCTS,
        help_text="Leave it empty if the number does not matter.",
        widget=forms.NumberInput(attrs={"class": "short", "inputmode": "numeric"}),
    )
    stay = forms.MultipleChoiceField(label="Must stay", required=False)
    banned = forms.MultipleChoiceField(label="Not to be chosen", required=False)

    def __init__(
        self, *args: Any, areas: Iterable[Area], records: Iterable[ProductRecord], **rest: Any
    ) -> None:
        rest.setdefault("initial", {})
        rest["initial"] = {
            "everyone": [kind.id for kind in KINDS if kind.everyone],
            "held": [kind.id for kind in KINDS if kind.held],
            "goal": Goal.CHEAPEST,
            **rest["initial"],
        }
        super().__init__(*args, **rest)
        self.places = {one.ref: one for one in areas}
        self.names = {one.product.code: one.product.name for one in records}
        self.fields["areas"].choices = [(ref, one.name) for ref, one in self.places.items()]  # type: ignore[attr-defined]
        for name in ("stay", "banned"):
            self.fields[name].choices = list(self.names.items())  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        """Something is asked for, and no product is both to stay and not to be chosen."""
        given: dict[str, Any] = super().clean() or {}
        if not given.get("everyone") and not given.get("held"):
            self.add_error("everyone", "Tick at least one need.")
        both = sorted(set(given.get("stay", ())) & set(given.get("banned", ())))
        if both:
            names = ", ".join(self.names[code] for code in both)
            self.add_error("stay", f"Ticked as to stay and as not to be chosen: {names}.")
        if given.get("sizes") and "sterile-glove" not in given.get("held", ()):
            self.add_error("sizes", "Tick sterile gloves as in stock in any case too, or leave this empty.")
        return given

    def clean_sizes(self) -> tuple[str, ...]:
        """The sizes, each once."""
        sizes = map(size_word, str(self.cleaned_data["sizes"]).replace(";", ",").split(","))
        return tuple(dict.fromkeys(size for size in sizes if size))

    @property
    def chosen_areas(self) -> tuple[Area, ...]:
        """The areas ticked."""
        return tuple(self.places[ref] for ref in self.cleaned_data["areas"])

    def asked(self) -> Asked:
        """What is asked for."""
        given = self.cleaned_data
        return Asked(
            everyone=tuple(given["everyone"]),
            held=tuple(given["held"]),
            goal=Goal(given["goal"]),
            sizes=given["sizes"],
            stay=tuple(given["stay"]),
            banned=tuple(given["banned"]),
            at_most=given["at_most"],
        )
