"""What is to be put on: series, single allergens, own products, a control; numbered in that order."""

from collections.abc import Iterator, Sequence
from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.forms import BoundField

from thenar.allergy.patch_rules import reading_rules
from thenar.allergy.patch_test import Kind, OwnProduct, Position
from thenar.allergy.product import Category
from thenar.errors import ThenarError
from thenar.exchange.delimited import tidy
from thenar.knowledge import Book
from thenar.knowledge.allergens import Allergen, Preparation
from thenar.records.models import Case
from thenar.records.models.products import CATEGORIES
from thenar.screens.clinic.forms import LONGEST_NOTE
from thenar.screens.dates import DayField, in_words
from thenar.screens.patch.meant import allergen_meant
from thenar.screens.patch.wording import CONTROL

LONGEST = 120  # characters of a name or a preparation
FIRST_ROWS, MORE_ROWS, MOST_ROWS = 4, 6, 60
_FORMULA_SIGNS = ("=", "+", "-", "@")  # a spreadsheet would take what begins so for a formula


class PlainText(forms.CharField):
    """A short text that a file of patch tests can hold too."""

    def __init__(self, **rest: Any) -> None:
        super().__init__(
            required=False,
            max_length=LONGEST,
            widget=forms.TextInput(attrs={"autocomplete": "off", **rest.pop("attrs", {})}),
            **rest,
        )

    def clean(self, value: Any) -> str:
        """One line, single spaces."""
        text = tidy(str(super().clean(value)))
        if text.startswith(_FORMULA_SIGNS):
            raise ValidationError(
                f"Write it without “{text[0]}” at the front: a file would take it for a formula."
            )
        return text


class ApplyForm(forms.Form):
    """A patch test as it is put on. `left_out` names what was chosen twice."""

    applied_on = DayField(label="Put on", when="past")
    case = forms.ChoiceField(label="Case", required=False)
    series = forms.MultipleChoiceField(label="Series", required=False)
    control = PlainText(
        label="Irritant control, strength",
        help_text=f"{CONTROL.capitalize()} in water, for example 0.25 %. Empty: none is put on.",
        attrs={"class": "short"},
    )
    note = forms.CharField(
        label="Note", required=False, max_length=LONGEST_NOTE, widget=forms.Textarea(attrs={"rows": 2})
    )
    rows = forms.IntegerField(required=False, widget=forms.HiddenInput, max_value=MOST_ROWS)

    def __init__(self, *args: Any, book: Book, cases: Sequence[Case], rows: int, **rest: Any) -> None:
        super().__init__(*args, **rest)
        self.book, self.row_count = book, max(FIRST_ROWS, min(rows, MOST_ROWS))
        self.positions: tuple[Position, ...] = ()
        self.left_out: tuple[str, ...] = ()
        none = ("", "None: before a case, or apart from one")
        opened = [(one.ref, f"Open since {in_words(one.opened_on)}") for one in cases]
        self.fields["case"].choices = [*opened, none]  # type: ignore[attr-defined]
        self.fields["series"].choices = [  # type: ignore[attr-defined]
            (one.id, one.name) for one in book.allergens.series.values()
        ]
        for row in range(1, self.row_count + 1):
            self.fields |= _row_fields(row)

    def single_rows(self) -> list[tuple[BoundField, BoundField, BoundField]]:
        """The boxes for single allergens, row by row."""
        return [
            (self[f"allergen-{row}"], self[f"strength-{row}"], self[f"vehicle-{row}"]) for row in self._rows
        ]

    def own_rows(self) -> list[tuple[BoundField, BoundField, BoundField]]:
        """The boxes for own products, row by row."""
        return [(self[f"product-{row}"], self[f"kind-{row}"], self[f"prepared-{row}"]) for row in self._rows]

    def clean_applied_on(self) -> date:
        """Refuse a day so far back that no rule says how to read the test."""
        on: date = self.cleaned_data["applied_on"]
        try:
            reading_rules(self.book, on)
        except ThenarError as problem:
            raise ValidationError(str(problem)) from problem
        return on

    def clean(self) -> dict[str, Any]:
        """Number what is to be put on, and ask back what can't be."""
        cleaned = super().clean() or {}
        wanted = [*self._of_series(), *self._singles(), *self._own_products(), *self._control()]
        kept: dict[tuple[str, ...], tuple[Any, ...]] = {}
        twice: list[str] = []
        for hapten, strength, vehicle, *more in wanted:
            key = (hapten, strength, vehicle, str(more[-1]))
            if key in kept:
                twice.append(hapten)
            kept.setdefault(key, (hapten, strength, vehicle, *more))
        self.left_out = tuple(twice)
        if not wanted and not self.errors:
            raise ValidationError(
                "Nothing is chosen. Choose a series, or write down a single allergen or product."
            )
        if not self.errors:
            self.positions = tuple(Position(number, *one) for number, one in enumerate(kept.values(), 1))
        return cleaned

    @property
    def _rows(self) -> range:
        return range(1, self.row_count + 1)

    def _of_series(self) -> Iterator[tuple[Any, ...]]:
        for chosen in self.cleaned_data.get("series", ()):
            for item in self.book.allergens.series[chosen].items:
                of = item.preparation
                yield item.allergen, of.concentration, of.vehicle, chosen, Kind.ALLERGEN, None

    def _singles(self) -> Iterator[tuple[Any, ...]]:
        for row in self._rows:
            name, strength, vehicle = (
                self.cleaned_data.get(f"{field}-{row}", "") for field in ("allergen", "strength", "vehicle")
            )
            if not name and (strength or vehicle):
                self.add_error(f"allergen-{row}", "Say which allergen this is, or empty the row.")
            if name and (found := self._meant(row, name)):
                usual = found.preparation
                if not strength and (asks := _unusable(usual)):
                    self.add_error(f"strength-{row}", asks)
                strength = strength or (usual.concentration if usual else "")
                vehicle = vehicle or (usual.vehicle if usual else "")
                yield found.id, strength, vehicle, "", Kind.ALLERGEN, None

    def _meant(self, row: int, name: str) -> Allergen | None:
        try:
            return allergen_meant(name, self.book)
        except ValidationError as asked:
            self.add_error(f"allergen-{row}", asked)
            return None

    def _own_products(self) -> Iterator[tuple[Any, ...]]:
        for row in self._rows:
            name, kind, how = (
                self.cleaned_data.get(f"{field}-{row}", "") for field in ("product", "kind", "prepared")
            )
            if not (name or kind or how):
                continue
            for field, given, asks in (
                ("product", name, "Say what the worker brought."),
                ("kind", kind, "Choose what kind of product it is."),
                ("prepared", how, "Say how it was prepared: 10 % in water, or as is."),
            ):
                if not given and f"{field}-{row}" not in self.errors:
                    self.add_error(f"{field}-{row}", asks)
            if name and kind and how:
                yield name, "", "", "", Kind.OWN_PRODUCT, OwnProduct(Category(kind), how)

    def _control(self) -> Iterator[tuple[Any, ...]]:
        if strength := self.cleaned_data.get("control"):
            yield CONTROL, strength, "aq", "", Kind.IRRITANT_CONTROL, None


def _row_fields(row: int) -> dict[str, forms.Field]:
    return {
        f"allergen-{row}": PlainText(
            label=f"Allergen {row}", attrs={"list": "allergens", "spellcheck": "false"}
        ),
        f"strength-{row}": PlainText(label=f"Allergen {row}, strength"),
        f"vehicle-{row}": PlainText(label=f"Allergen {row}, vehicle", attrs={"list": "vehicles"}),
        f"product-{row}": PlainText(label=f"Own product {row}"),
        f"kind-{row}": forms.ChoiceField(
            label=f"Own product {row}, kind", required=False, choices=[("", "kind"), *CATEGORIES]
        ),
        f"prepared-{row}": PlainText(label=f"Own product {row}, how prepared"),
    }


def _unusable(usual: Preparation | None) -> str:
    """What to ask where no single strength is known to be usual; empty where one is."""
    if usual is None:
        return "No usual strength is known. Write down what you put on."
    if gives_a_range(usual.concentration):
        return f"Published as {usual.concentration}. Write down which you put on."
    return ""


def gives_a_range(concentration: str) -> bool:
    """Whether a published strength leaves open which it was.

    Examples
    --------
    >>> gives_a_range("2.5 or 5 %"), gives_a_range("0.02 %")
    (True, False)
    """
    return any(sign in concentration for sign in ("–", " to ", "-", ",", " or "))
