"""Which column of a task list holds what?"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from thenar.exchange.delimited import tidy
from thenar.exchange.problems import Problem

CALLED = {  # field: what a message calls it
    "day": "day",
    "part": "part",
    "task": "task",
    "washes": "washes",
    "wet_minutes": "wet minutes",
    "glove_minutes": "glove minutes",
    "pairs": "pairs",
    "soap": "soap",
    "latex": "latex",
    "patient_contact": "patient contact",
    "people": "people",
    "who_can": "who can",
    "now": "done by",
}
FIELDS = tuple(CALLED)
OPTIONAL = ("people", "now")
COUNTS = ("washes", "wet_minutes", "glove_minutes", "pairs")
FLAGS = ("soap", "latex", "patient_contact")

_NAMES = {
    "day": "day date",
    "part": "part shift partofday",
    "task": "task duty work",
    "washes": "washes handwashes",
    "wet_minutes": "wetminutes minuteswet minutesofwetwork",
    "glove_minutes": "gloveminutes glovesminutes minutesingloves",
    "pairs": "pairs glovepairs pairsofgloves",
    "soap": "soap",
    "latex": "latex",
    "patient_contact": "patientcontact patients contact",
    "people": "people peopleneeded number",
    "who_can": "whocan who roles whocandoit",
    "now": "doneby now donenowby doesitnow",
}
_MEANS = {name: field for field, names in _NAMES.items() for name in names.split()}


@dataclass(frozen=True, slots=True)
class Heading:
    """Our field → its place in a row and its header, and what is wrong with the first row."""

    places: Mapping[str, int]
    columns: Mapping[str, str]
    problems: tuple[Problem, ...]


def count_known_headers(cells: Sequence[str]) -> int:
    """Count the cells of a first row that name a column of a task list.

    Examples
    --------
    >>> count_known_headers(["Day", "Wet minutes", "Weather"])
    2
    """
    return sum(_folded(cell) in _MEANS for cell in cells)


def map_columns(cells: Sequence[str], line: int) -> Heading:
    """Find the column of each field by its header; every column but two must be there.

    Parameters
    ----------
    cells
        The first row of the list.
    line
        Where it stands in the file.

    Notes
    -----
    A column of loads that is missing is a problem and no row of zeros: what nobody wrote down is not nothing.

    Examples
    --------
    >>> heading = map_columns(["Day", "Shift", "Duty"], 1)
    >>> heading.columns["part"], len(heading.problems)
    ('Shift', 8)
    """
    places: dict[str, int] = {}
    problems: list[Problem] = []
    for place, cell in enumerate(cells):
        field = _MEANS.get(_folded(cell))
        if field in places:
            says = f"Two columns name the {CALLED[field]}."
            problems.append(Problem(line, tidy(cell)[:40], says, "Keep one of them.", True))
        elif field is not None:
            places[field] = place
    for field in FIELDS:
        if field not in places and field not in OPTIONAL:
            says = f"No column is headed “{CALLED[field]}”."
            problems.append(Problem(line, "", says, "Add the column to the first row.", True))
    columns = {field: tidy(cells[place])[:40] for field, place in places.items()}
    return Heading(places, columns, tuple(problems))


def _folded(header: str) -> str:
    return "".join(letter for letter in header.casefold() if letter.isalnum())
