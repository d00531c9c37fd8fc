"""What is filled in about products. Whether it can be used, the actions decide."""

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from thenar.allergy.declared import ListKind
from thenar.allergy.product import Category, GloveFacts
from thenar.knowledge import Book
from thenar.records.actions.products import (
    LONGEST_CODE,
    LONGEST_NAME,
    LONGEST_READ_FROM,
    Declared,
)
from thenar.records.judging import glove_of
from thenar.records.models import Area, Product, ProductDeclaration, ProductPrice
from thenar.records.models.products import CATEGORIES, LIST_KINDS
from thenar.screens import clock
from thenar.screens.dates import EXAMPLE, DayField
from thenar.screens.products.wording import GLOVE_ONLY

_FACT = [("", "not known"), ("yes", "yes"), ("no", "no")]
_KEPT_AS = {"": None, "yes": True, "no": False}


class ProductForm(forms.Form):
    """A new product."""

    code = forms.CharField(
        label="Code",
        max_length=LONGEST_CODE,
        help_text="Your own article number or another short name. No two products share one.",
        widget=forms.TextInput(attrs={"class": "short", "autocomplete": "off"}),
        error_messages={"required": "Give a code by which this product is told from others."},
    )
    name = forms.CharField(
        label="Name",
        max_length=LONGEST_NAME,
        help_text="As it stands on the bottle or box.",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
        error_messages={"required": "Give the name as it stands on the bottle or box."},
    )
    category = forms.ChoiceField(
        label="Kind of product",
        choices=CATEGORIES,
        widget=forms.RadioSelect,
        error_messages={"required": "Choose the kind of product."},
    )


class FactField(forms.ChoiceField):
    """Yes, no, or nobody knows."""

    def __init__(self, **rest: Any) -> None:
        super().__init__(choices=_FACT, required=False, widget=forms.Select(attrs={"class": "short"}), **rest)

    def prepare_value(self, value: Any) -> Any:
        """Show what is kept in the form's words."""
        return {None: "", True: "yes", False: "no"}.get(value, value)

    def clean(self, value: Any) -> Any:
        """True, False, or None where nobody knows."""
        return _KEPT_AS[super().clean(value)]


class LabelField(forms.Field):
    """A text as typed, letter for letter. What stands in its way, an empty one too, is said by the action."""

    widget = forms.Textarea

    def validate(self, value: object) -> None:
        """Any text is taken."""


class DeclareForm(forms.Form):
    """What a product declares."""

    use_required_attribute = False  # a text may be missing, where nothing is declared

    text = LabelField(
        label="Ingredient text",
        help_text="As it stands on the label or sheet, in its order. Copy it whole; nothing need be tidied.",
        widget=forms.Textarea(attrs={"rows": 8, "spellcheck": "false", "autocomplete": "off"}),
    )
    list_kind = forms.ChoiceField(
        label="What kind of list it is",
        widget=forms.RadioSelect,
        error_messages={"required": "Choose what kind of list it is: only a full one leaves little out."},
    )
    material = forms.ChoiceField(label="Material", required=False)
    sterile = FactField(label="Sterile")
    coloured = FactField(label="Coloured")
    powdered = FactField(label="Powdered")
    sizes = forms.CharField(
        label="Sizes",
        required=False,
        max_length=400,
        help_text="With commas between: 6, 6.5, 7",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    virucidal = FactField(label="Kills viruses too, by its maker’s account")
    leave_on = FactField(label="Stays on the skin")
    from_on = DayField(label="Holds from", help_text=f"The first day with this label. {EXAMPLE}")
    read_from = forms.CharField(
        label="Where it was read",
        required=False,
        max_length=LONGEST_READ_FROM,
        help_text="Label on the bottle, the maker’s page, data sheet of 2 May 2026.",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )

    GLOVE = ("material", "sterile", "coloured", "powdered", "sizes")

    def __init__(
        self, *args: Any, product: Product, book: Book, kept: ProductDeclaration | None, **rest: Any
    ) -> None:
        rest.setdefault("initial", _as_typed(kept))
        super().__init__(*args, **rest)
        self.is_glove = product.category == Category.GLOVE
        self.fields["list_kind"].choices = [  # type: ignore[attr-defined]
            (kind, label) for kind, label in LIST_KINDS if self.is_glove or ListKind(kind) not in GLOVE_ONLY
        ]
        materials = [(one.id, one.name) for one in book.allergens.materials.values()]
        self.fields["material"].choices = [("", "not known"), *materials]  # type: ignore[attr-defined]
        for name in ("virucidal", "leave_on") if self.is_glove else self.GLOVE:
            del self.fields[name]

    @property
    def glove_fields(self) -> tuple[forms.BoundField, ...]:
        """The facts of a glove itself; none for anything else."""
        return tuple(self[name] for name in self.GLOVE) if self.is_glove else ()

    def clean_text(self) -> str:
        """Line ends as everywhere; else letter for letter."""
        return str(self.cleaned_data["text"] or "").replace("\r\n", "\n").replace("\r", "\n")

    def declared(self) -> Declared:
        """What the product declares."""
        given = self.cleaned_data
        return Declared(
            list_kind=given["list_kind"],
            text=given["text"],
            glove=self._glove() if self.is_glove else None,
            virucidal=given.get("virucidal"),
            leave_on=given.get("leave_on"),
            read_from=given["read_from"],
        )

    def _glove(self) -> GloveFacts:
        given = self.cleaned_data
        sizes = (" ".join(size.split()) for size in given["sizes"].replace(";", ",").split(","))
        return GloveFacts(
            material=given["material"],
            sterile=given["sterile"],
            sizes=tuple(dict.fromkeys(size for size in sizes if size)),
            coloured=given["coloured"],
            powdered=given["powdered"],
        )


def _as_typed(kept: ProductDeclaration | None) -> dict[str, Any]:
    """The form as it stands before anything is typed: the declaration in force, from today on."""
    if kept is None:
        return {"from_on": clock.today()}
    glove = glove_of(kept)
    return {
        "text": kept.text,
        "list_kind": kept.list_kind,
        "material": glove.material,
        "sterile": glove.sterile,
        "coloured": glove.coloured,
        "powdered": glove.powdered,
        "sizes": ", ".join(glove.sizes),
        "virucidal": kept.virucidal,
        "leave_on": kept.leave_on,
        "from_on": clock.today(),
    }


class StockForm(forms.Form):
    """A product comes to an area."""

    area = forms.ChoiceField(
        label="Area",
        help_text="It serves every area beneath this one too.",
        error_messages={"required": "Choose the area.", "invalid_choice": "Choose one of the areas."},
    )
    from_on = DayField(label="From")
    until_on = DayField(label="Last day", required=False, help_text="Leave it empty if it is there for good.")

    def __init__(self, *args: Any, areas: Iterable[Area], **rest: Any) -> None:
        rest.setdefault("initial", {"from_on": clock.today()})
        super().__init__(*args, **rest)
        self.areas = {one.ref: one for one in areas}
        self.fields["area"].choices = [  # type: ignore[attr-defined]
            ("", "Choose"),
            *((one.ref, f"{'– ' * (one.path.count('/') - 2)}{one.name}") for one in self.areas.values()),
        ]


class EndStockForm(forms.Form):
    """A product leaves an area."""

    until_on = DayField(label="Last day there")


class PriceForm(forms.Form):
    """What a product costs here, in the site's own currency."""

    per_worker_year = forms.CharField(
        label="For each worker who uses it, a year",
        max_length=20,
        help_text="For example 12.50. Your own figure, in your own currency; 0 if it costs nothing.",
        widget=forms.TextInput(attrs={"class": "short", "inputmode": "decimal", "autocomplete": "off"}),
        error_messages={"required": "Give the cost for each worker, or 0."},
    )
    per_year = forms.CharField(
        label="For keeping it at all, a year",
        required=False,
        max_length=20,
        help_text="What it costs whoever uses it: dispensers, a second line of stock. Empty counts as 0.",
        widget=forms.TextInput(attrs={"class": "short", "inputmode": "decimal", "autocomplete": "off"}),
    )
    from_on = DayField(label="From")

    def __init__(self, *args: Any, kept: ProductPrice | None, **rest: Any) -> None:
        figures = {"per_worker_year": kept.per_worker_year, "per_year": kept.per_year} if kept else {}
        rest.setdefault("initial", {"from_on": clock.today(), **figures})
        super().__init__(*args, **rest)

    def clean_per_worker_year(self) -> Decimal:
        """The amount typed."""
        return _amount(self.cleaned_data["per_worker_year"])

    def clean_per_year(self) -> Decimal:
        """The amount typed; nothing is nought."""
        return _amount(self.cleaned_data["per_year"] or "0")


def _amount(text: str) -> Decimal:
    figures = text.strip().replace(",", ".")
    if not figures.replace(".", "", 1).isdecimal() or not figures.isascii():
        raise ValidationError("Write figures with at most two decimals and no currency, like 12.50.")
    return Decimal(figures)
