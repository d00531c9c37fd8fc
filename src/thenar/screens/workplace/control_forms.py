"""Forms that compare controls and record one."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django import forms
from django.http import QueryDict

from thenar.exposure.controls import Control, Plan
from thenar.exposure.plan_costs import Prices, Spending
from thenar.exposure.ranking import Baseline
from thenar.records.models.workplace import HIERARCHY
from thenar.screens.dates import DayField
from thenar.screens.workplace.ready_controls import BY_KIND, READY, FigureAsked

TOGETHER = "All of these together"
PRICES = {
    "wash": "One wash",
    "rub": "One rub",
    "pair": "A pair of gloves",
    "sterile_pair": "A sterile pair",
    "cream_use": "One use of cream",
    "case": "One case",
}


def name_of(kind: str, figure: str) -> str:
    """The name of a figure's field."""
    return f"{kind}-{figure}"


class CompareForm(forms.Form):
    """Which controls, with their figures; and the site's own cases and prices, if it wants to give them."""

    plan = forms.MultipleChoiceField(
        label="Controls to compare",
        choices=[(ready.kind, ready.label) for ready in READY],
        error_messages={"required": "Tick at least one control."},
    )
    own_words = forms.CharField(label="What the measure is", max_length=80, required=False)
    cases = forms.IntegerField(label="Cases in that time", min_value=0, max_value=10_000, required=False)
    person_years = forms.FloatField(
        label="Person-years watched", min_value=0.1, max_value=1_000_000, required=False
    )
    people = forms.IntegerField(label="People there now", min_value=1, max_value=100_000, required=False)
    shifts_a_year = forms.IntegerField(
        label="Shifts each works a year", min_value=1, max_value=366, required=False
    )
    currency = forms.CharField(label="Currency", max_length=8, required=False)

    def __init__(self, data: QueryDict | None, people: int) -> None:
        super().__init__(data)
        self.fields["people"].initial = people or None
        for ready in READY:
            for asked in ready.figures:
                self.fields[name_of(ready.kind, asked.name)] = _figure_field(asked)
            for once, label in (("once", "Costs once"), ("a_year", "Costs a year")):
                self.fields[name_of(ready.kind, once)] = _price_field(label)
        for name, label in PRICES.items():
            self.fields[f"price-{name}"] = _price_field(label)

    def clean(self) -> dict[str, Any]:
        """Each ticked control has its figures, and a baseline is whole or not given."""
        given: dict[str, Any] = super().clean() or {}
        for kind in given.get("plan", ()):
            for asked in BY_KIND[kind].figures:
                name = name_of(kind, asked.name)
                if asked.needed and given.get(name) is None and name not in self.errors:
                    self.add_error(name, f"Fill it in, or untick “{BY_KIND[kind].label}”.")
        if "own_measure" in given.get("plan", ()):
            self._refuse_empty_measure(given)
        if (given.get("cases") is None) != (given.get("person_years") is None):
            missing = "cases" if given.get("cases") is None else "person_years"
            self.add_error(missing, "Give cases and person-years together, or neither.")
        return given

    def _refuse_empty_measure(self, given: Mapping[str, Any]) -> None:
        if not (given.get("own_words") or "").strip():
            self.add_error("own_words", "Say what the measure is.")
        if not any(given.get(name_of("own_measure", asked.name)) for asked in BY_KIND["own_measure"].figures):
            self.add_error(name_of("own_measure", "washes"), "Say what the measure changes.")

    def chosen(self) -> dict[str, Control]:
        """The ticked controls, in the order in which they are taken."""
        ticked = self.cleaned_data["plan"]
        return {ready.kind: ready.build(self.figures(ready.kind)) for ready in READY if ready.kind in ticked}

    def figures(self, kind: str) -> dict[str, float]:
        """The figures given for a control."""
        names = [asked.name for asked in BY_KIND[kind].figures]
        given = {name: self.cleaned_data.get(name_of(kind, name)) for name in names}
        return {name: figure for name, figure in given.items() if figure is not None}

    def plans(self) -> list[Plan]:
        """Each control as a plan of its own, and all together where there are several."""
        chosen = self.chosen()
        plans = [Plan(self.words(kind), (control,)) for kind, control in chosen.items()]
        return [*plans, Plan(TOGETHER, tuple(chosen.values()))] if len(plans) > 1 else plans

    def words(self, kind: str) -> str:
        """What a control is called."""
        return str(self.cleaned_data["own_words"]) if kind == "own_measure" else BY_KIND[kind].label

    def baseline(self) -> Baseline | None:
        """The site's own cases, if it gave them."""
        given = self.cleaned_data
        if given["cases"] is None or given["person_years"] is None or not given["people"]:
            return None
        return Baseline(given["cases"], given["person_years"], given["people"])

    def prices(self) -> Prices:
        """The site's own prices; what is not given stays not known."""
        named = {name: self.cleaned_data[f"price-{name}"] for name in PRICES}
        return Prices(self.cleaned_data["currency"], **named)

    def spending(self) -> dict[str, Spending]:
        """What each control costs besides, by its plan's name."""
        given = self.cleaned_data
        return {
            self.words(kind): Spending(given[name_of(kind, "once")], given[name_of(kind, "a_year")])
            for kind in self.chosen()
        }


class RecordForm(forms.Form):
    """One of the compared controls, from a day, with an owner."""

    control = forms.ChoiceField(
        label="Which control",
        widget=forms.RadioSelect,
        error_messages={"required": "Choose one of those compared."},
    )
    hierarchy = forms.ChoiceField(
        label="What kind of measure it is",
        choices=[("", "Choose"), *HIERARCHY],
        help_text="Stopping comes first, then milder things, equipment, sharing; protection comes last.",
    )
    start_on = DayField(label="From")
    owner = forms.CharField(label="Owner", max_length=120, help_text="Who sees to it: a name or a position.")
    review_on = DayField(label="Review on")

    def __init__(self, data: QueryDict | None, compared: Mapping[str, str]) -> None:
        super().__init__(data)
        field = self.fields["control"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = list(compared.items())

    def clean(self) -> dict[str, Any]:
        """A review comes after the start."""
        given: dict[str, Any] = super().clean() or {}
        start, review = given.get("start_on"), given.get("review_on")
        if start and review and review < start:
            self.add_error("review_on", "The review is before the start.")
        return given


def _figure_field(asked: FigureAsked) -> forms.Field:
    if asked.whole:
        least, most = int(asked.least), int(asked.most)
        return forms.IntegerField(label=asked.label, min_value=least, max_value=most, required=False)
    return forms.FloatField(label=asked.label, min_value=asked.least, max_value=asked.most, required=False)


def _price_field(label: str) -> forms.DecimalField:
    return forms.DecimalField(
        label=label, min_value=Decimal(0), max_digits=12, decimal_places=4, required=False
    )
