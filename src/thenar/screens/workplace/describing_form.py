"""The form that describes a usual shift: its length, the unit, and one row for each act of care."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

from django import forms

from thenar.exposure.care_acts import ACT, CareAct, Cleansed, Occasion, Pathogen, Tier, kinds_of_act
from thenar.exposure.starting_rates import staff_groups, unit_types
from thenar.knowledge import Book
from thenar.records.actions.descriptions import LONGEST_SHIFT, DescribedWork

SPARE_ROWS, MORE_ROWS, MOST_ROWS = 3, 5, 80
MOST_TIMES = 1440

OCCASIONS = [
    ("", "Not known"),
    (Occasion.BEFORE_PATIENT, "Before patient"),
    (Occasion.BEFORE_CLEAN_TASK, "Before a clean task"),
    (Occasion.AFTER_BODY_FLUID, "After body fluid"),
    (Occasion.AFTER_PATIENT, "After patient"),
    (Occasion.AFTER_SURROUNDINGS, "After surroundings"),
    (Occasion.AFTER_GLOVES, "After gloves"),
    (Occasion.BEFORE_FOOD_OR_MEDICINE, "Before food, drugs"),
    (Occasion.NONE, "None"),
]
CLEANSED = [
    ("", "Not known"),
    (Cleansed.WASH, "Wash"),
    (Cleansed.RUB, "Rub"),
    (Cleansed.RUB_THEN_WASH, "Rub, then wash"),
    (Cleansed.NOT, "Not"),
]
GLOVES = [
    ("", "Not known"),
    (Tier.NONE, "None"),
    (Tier.EXAMINATION, "Examination"),
    (Tier.STERILE, "Sterile"),
]
_CLEAR = CareAct(
    "",
    visible_soil=False,
    after_toilet=False,
    hands_wet=False,
    contaminated=False,
    pathogen=Pathogen.NONE,
    contact_precautions=False,
    fluid_expected=False,
)
# What a rule asks of an act. With a germ, contact precautions stay "not known", which asks for the more.
CIRCUMSTANCES: dict[str, tuple[str, CareAct]] = {
    "": ("Not known", CareAct("")),
    "clear": ("Nothing special", _CLEAR),
    "soil": ("Visible soil", replace(_CLEAR, visible_soil=True)),
    "soiled": ("Soiled by body fluid", replace(_CLEAR, visible_soil=True, fluid_expected=True)),
    "touched": ("Touched body fluid", replace(_CLEAR, contaminated=True, fluid_expected=True)),
    "fluid": ("Body fluid likely", replace(_CLEAR, fluid_expected=True)),
    "wet": ("Hands wet", replace(_CLEAR, hands_wet=True)),
    "toilet": ("After the toilet", replace(_CLEAR, after_toilet=True)),
    "precautions": (
        "Contact precautions",
        replace(_CLEAR, contact_precautions=True, pathogen=Pathogen.OTHER),
    ),
    "norovirus": ("Norovirus", replace(_CLEAR, contact_precautions=None, pathogen=Pathogen.NOROVIRUS)),
    "difficile": ("C. difficile", replace(_CLEAR, contact_precautions=None, pathogen=Pathogen.C_DIFFICILE)),
    "spores": (
        "Another spore-former",
        replace(_CLEAR, contact_precautions=None, pathogen=Pathogen.SPORE_FORMER),
    ),
}
_ROW = ("kind", "times", "occasion", "cleansed", "gloves", "circumstances")


class ActRow(forms.Form):
    """One act of care, with one occasion for cleaning hands."""

    use_required_attribute = False
    kind = forms.ChoiceField(label="Act", required=False)
    times = forms.IntegerField(
        label="Times in a shift",
        required=False,
        min_value=1,
        max_value=MOST_TIMES,
        error_messages={
            "invalid": "Enter a whole number from 1 up.",
            "min_value": "Enter a whole number from 1 up, or empty the row.",
            "max_value": f"Enter at most {MOST_TIMES}.",
        },
    )
    occasion = forms.ChoiceField(label="Occasion", choices=OCCASIONS, required=False)
    cleansed = forms.ChoiceField(label="Hands cleaned by", choices=CLEANSED, required=False)
    gloves = forms.ChoiceField(label="Gloves worn", choices=GLOVES, required=False)
    circumstances = forms.ChoiceField(
        label="Circumstances",
        choices=[(code, words) for code, (words, _) in CIRCUMSTANCES.items()],
        required=False,
    )

    def __init__(self, *args: Any, kinds: list[tuple[str, str]], **rest: Any) -> None:
        super().__init__(*args, **rest)
        self.fields["kind"].choices = [("", "–"), *kinds]  # type: ignore[attr-defined]
        for name, field in self.fields.items():
            field.widget.attrs["aria-label"] = f"{field.label}, row {int((self.prefix or 'act-0')[4:]) + 1}"
            field.widget.attrs["class"] = f"cell-{name}"

    def clean(self) -> dict[str, Any]:
        """A row is filled or empty."""
        cleaned = super().clean() or {}
        filled = any(cleaned.get(name) for name in _ROW)
        if filled and not cleaned.get("kind"):
            self.add_error("kind", "Choose the act, or empty the row.")
        if cleaned.get("kind") and not cleaned.get("times") and "times" not in self.errors:
            self.add_error("times", "Enter how often in a shift.")
        return cleaned

    def act(self) -> CareAct | None:
        """The act, or None for an empty row."""
        given = self.cleaned_data
        if not given.get("kind"):
            return None
        return replace(
            CIRCUMSTANCES[given["circumstances"]][1],
            kind=given["kind"],
            times=given["times"],
            occasion=Occasion(given["occasion"]) if given["occasion"] else None,
            cleansed=Cleansed(given["cleansed"]) if given["cleansed"] else None,
            gloves=Tier(given["gloves"]) if given["gloves"] else None,
        )


class WorkForm(forms.Form):
    """A usual shift of one role in one area."""

    shift_hours = forms.DecimalField(
        label="Hours of a usual shift",
        min_value=Decimal("0.25"),
        max_value=LONGEST_SHIFT,
        max_digits=4,
        decimal_places=2,
        help_text="From start to end, breaks included.",
        error_messages={
            "required": "Enter the hours, like 8 or 12.5.",
            "invalid": "Enter the hours as a number, like 8.",
        },
    )
    unit_type = forms.ChoiceField(
        label="Kind of unit",
        required=False,
        help_text="An estimate may start from a published rate of such a unit, until enough is counted here.",
    )
    staff_group = forms.ChoiceField(
        label="Staff group in the published rate", required=False, help_text="The nearest one."
    )
    patients_per_worker = forms.FloatField(
        label="Patients to each worker of this role",
        required=False,
        min_value=0,
        max_value=200,
        help_text="Most published rates are by patient. No usual number is assumed.",
    )

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,
        *,
        book: Book,
        on: date,
        initial: dict[str, Any] | None = None,
    ) -> None:
        super().__init__(data, initial=initial)
        self.book, self.on = book, on
        units = unit_types(book)
        groups = dict.fromkeys(group for unit in units for group in staff_groups(unit, book))
        self.fields["unit_type"].choices = [("", "None of these: counts alone"), *map(_worded, units)]  # type: ignore[attr-defined]
        self.fields["staff_group"].choices = [("", "–"), *map(_worded, groups)]  # type: ignore[attr-defined]
        self.rows = self._rows(data, (initial or {}).get("acts", []))

    def _rows(self, data: Mapping[str, Any] | None, acts: list[dict[str, Any]]) -> list[ActRow]:
        kinds = [(kind, _act_in_words(kind, self.book)) for kind in kinds_of_act(self.book)]
        if data is None:
            filled = [*acts, *([{}] * SPARE_ROWS)]
            return [ActRow(kinds=kinds, prefix=f"act-{n}", initial=one) for n, one in enumerate(filled)]
        typed = sum(f"act-{n}-kind" in data for n in range(MOST_ROWS))
        wanted = min(MOST_ROWS, typed + (MORE_ROWS if "more_rows" in data else 0))
        return [ActRow(data, kinds=kinds, prefix=f"act-{n}") for n in range(wanted)]

    @property
    def row_errors(self) -> list[tuple[str, str]]:
        """What is wrong in the rows: where, and in words."""
        return [
            (row[name].auto_id, f"Row {number}, {row.fields[name].label}: {message}")
            for number, row in enumerate(self.rows, start=1)
            for name, found in row.errors.items()
            for message in found
        ]

    def is_valid(self) -> bool:
        """Whether the form and every row are."""
        rows = [row.is_valid() for row in self.rows]
        return super().is_valid() and all(rows)

    def work(self) -> DescribedWork:
        """The work described."""
        given = self.cleaned_data
        acts = (row.act() for row in self.rows)
        unit = given["unit_type"]
        return DescribedWork(
            shift_hours=given["shift_hours"],
            unit_type=unit,
            staff_group=given["staff_group"] if unit else "",
            patients_per_worker=given["patients_per_worker"] if unit else None,
            acts=tuple(act for act in acts if act is not None),
        )


def as_typed(work: DescribedWork) -> dict[str, Any]:
    """A description as the form shows it."""
    return {
        "shift_hours": work.shift_hours.normalize(),
        "unit_type": work.unit_type,
        "staff_group": work.staff_group,
        "patients_per_worker": work.patients_per_worker,
        "acts": [_row_of(act) for act in work.acts],
    }


def _row_of(act: CareAct) -> dict[str, Any]:
    # Circumstances that no choice has read as "not known", which asks for the more and never for the less.
    alike = replace(act, kind="", times=1, occasion=None, cleansed=None, gloves=None)
    found = (code for code, (_, circumstances) in CIRCUMSTANCES.items() if circumstances == alike)
    return {
        "kind": act.kind,
        "times": act.times,
        "occasion": act.occasion or "",
        "cleansed": act.cleansed or "",
        "gloves": act.gloves or "",
        "circumstances": next(found, ""),
    }


def _worded(code: str) -> tuple[str, str]:
    return code, code.replace("-", " ").capitalize()


def _act_in_words(kind: str, book: Book) -> str:
    return book.rule(ACT + kind).says.split(":")[0].rstrip(".")
