"""The examination grid as a form: for each area its extent first, then six signs; one key a cell."""

from dataclasses import dataclass
from typing import Any

from django import forms
from django.forms import BoundField

from thenar.skin.severity import (
    MOST_EXTENT,
    MOST_SIGN,
    Area,
    AreaSigns,
    HandSigns,
    Query,
    QueryKind,
    Sign,
    query_signs,
)

AREA_WORDS = {
    Area.FINGERTIPS: "Fingertips",
    Area.FINGERS: "Fingers, not the tips",
    Area.PALMS: "Palms",
    Area.BACKS: "Backs",
    Area.WRISTS: "Wrists",
}
SIGN_WORDS = {
    Sign.ERYTHEMA: "Redness",
    Sign.INDURATION: "Thickening",
    Sign.VESICLES: "Blisters",
    Sign.FISSURES: "Cracks",
    Sign.SCALING: "Flaking",
    Sign.OEDEMA: "Swelling",
}
TRADE_WORDS = {
    Sign.ERYTHEMA: "erythema",
    Sign.INDURATION: "induration, papules",
    Sign.VESICLES: "vesicles",
    Sign.FISSURES: "fissures",
    Sign.SCALING: "scaling",
    Sign.OEDEMA: "oedema",
}
EXTENT = "extent"
COLUMNS = (EXTENT, *Sign)  # extent first: a clear area takes one key
CELLS = tuple((area, column) for area in Area for column in COLUMNS)
CLEAR = AreaSigns(0, 0, 0, 0, 0, 0, 0)

QUERY_WORDS = {
    QueryKind.EXTENT_WITHOUT_SIGNS: "every sign here is 0. Grade a sign, or set the extent to 0.",
    QueryKind.SIGNS_WITHOUT_EXTENT: "signs are graded here, but the extent is 0. Correct one or the other.",
}


@dataclass(frozen=True, slots=True)
class Row:
    """One area of the grid, as the page lays it out."""

    area: Area
    label: str
    cells: tuple[BoundField, ...]
    problems: tuple[str, ...]


class GridForm(forms.Form):
    """Thirty-five grades. `signs` is what was seen, or None while a grade is missing or queried."""

    def __init__(self, *args: Any, last: HandSigns | None = None, **rest: Any) -> None:
        super().__init__(*args, **rest)
        cells = {cell_name(area, column): _cell(area, column, last) for area, column in CELLS}
        self.fields = {**cells, **self.fields}
        self.seen: dict[Area, AreaSigns | None] = {}
        self.queries: tuple[Query, ...] = ()
        self.whole = HandSigns(CLEAR, CLEAR, CLEAR, CLEAR, CLEAR)  # a missing area counts as clear here
        self.signs: HandSigns | None = None

    def clean(self) -> dict[str, Any]:
        """Ask back what is missing and what contradicts itself, area by area."""
        cleaned = super().clean() or {}
        self.seen = {area: self._seen_in(area, cleaned) for area in Area}
        self.whole = HandSigns(**{area.value: seen or CLEAR for area, seen in self.seen.items()})
        self.queries = query_signs(self.whole)
        if all(self.seen.values()) and not self.queries:
            self.signs = self.whole
        for query in self.queries:
            self.add_error(cell_name(query.area, EXTENT), QUERY_WORDS[query.kind])
        for area, seen in self.seen.items():
            if seen is None:
                self._ask_for_missing(area)
        return cleaned

    def rows(self) -> list[Row]:
        """The grid, area by area."""
        return [self._row(area) for area in Area]

    def graded(self) -> int:
        """How many of the thirty-five cells hold a grade. [0 to 35]"""
        names = (cell_name(area, column) for area, column in CELLS)
        return sum(self.cleaned_data.get(name) is not None for name in names)

    def _row(self, area: Area) -> Row:
        cells = tuple(self[cell_name(area, column)] for column in COLUMNS)
        problems = tuple(f"{cell.label}: {error}" for cell in cells for error in cell.errors)
        return Row(area, AREA_WORDS[area], cells, problems)

    def _seen_in(self, area: Area, cleaned: dict[str, Any]) -> AreaSigns | None:
        graded = {
            str(column): grade
            for column in COLUMNS
            if (grade := cleaned.get(cell_name(area, column))) is not None
        }
        return AreaSigns(**graded) if len(graded) == len(COLUMNS) else None

    def _ask_for_missing(self, area: Area) -> None:
        missing = [
            column
            for column in COLUMNS
            if (name := cell_name(area, column)) not in self.errors and self.cleaned_data.get(name) is None
        ]
        if missing:
            words = ", ".join(column_words(column).lower() for column in missing)
            what = "nothing is graded yet" if len(missing) == len(COLUMNS) else f"not graded: {words}"
            self.add_error(cell_name(area, missing[0]), f"{what}. Enter 0 where there is none.")


def cell_name(area: Area, column: str) -> str:
    """Name of a cell's field.

    Examples
    --------
    >>> cell_name(Area.PALMS, Sign.SCALING)
    'palms-scaling'
    """
    return f"{area}-{column}"


def column_words(column: str) -> str:
    """Heading of a column."""
    return "Extent" if column == EXTENT else SIGN_WORDS[Sign(column)]


def grades_of(signs: HandSigns) -> dict[str, int]:
    """What was seen, by cell: to fill the grid with.

    Examples
    --------
    >>> grades_of(HandSigns(CLEAR, CLEAR, CLEAR, CLEAR, CLEAR))["wrists-extent"]
    0
    """
    return {cell_name(area, column): getattr(signs.at(area), column) for area, column in CELLS}


def _cell(area: Area, column: str, last: HandSigns | None) -> forms.IntegerField:
    most = MOST_EXTENT if column == EXTENT else MOST_SIGN
    label = f"{AREA_WORDS[area].split(',')[0]}, {column_words(column).lower()}"
    attrs = {
        "inputmode": "numeric",
        "maxlength": 1,
        "autocomplete": "off",
        "aria-label": f"{label}, 0 to {most}",
        "data-area": area.value,
        "data-most": most,
    }
    if column == Sign.ERYTHEMA:
        attrs["aria-describedby"] = "judging"  # how redness looks on brown and black skin
    if last is not None:
        attrs["data-last"] = getattr(last.at(area), column)
    says = f"enter a whole number from 0 to {most}."
    return forms.IntegerField(
        label=label,
        required=False,
        min_value=0,
        max_value=most,
        widget=forms.TextInput(attrs=attrs),
        error_messages={"invalid": says, "min_value": says, "max_value": says},
    )
