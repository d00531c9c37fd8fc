"""Which column of a list of products holds what?"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from thenar.exchange.delimited import LONGEST_HEADER, tidy
from thenar.exchange.headers import Headers
from thenar.exchange.problems import Problem

CALLED = {  # field: the header a file is best given
    "code": "code",
    "name": "name",
    "category": "kind of product",
    "list_kind": "kind of list",
    "text": "ingredients",
    "from_on": "from",
    "read_from": "read from",
    "virucidal": "virucidal",
    "leave_on": "leave on",
    "material": "glove material",
    "sterile": "sterile",
    "sizes": "sizes",
    "coloured": "coloured",
    "powdered": "powdered",
    "per_worker_year": "cost a worker",
    "per_year": "cost of keeping",
    "areas": "areas",
}
FIELDS = tuple(CALLED)
NEEDED = ("code", "name", "category")
GLOVE_FACTS = ("material", "sterile", "sizes", "coloured", "powdered")
_ALSO = {
    "code": "productcode articlenumber article itemcode item",
    "name": "productname product",
    "category": "category",
    "list_kind": "listkind",
    "text": "declaration ingredientlist inci",
    "from_on": "fromon validfrom date",
    "read_from": "source readin",
    "virucidal": "virucide",
    "leave_on": "stayson",
    "material": "material",
    "sizes": "size glovesizes",
    "coloured": "colored",
    "per_worker_year": "costperworker priceaworker",
    "per_year": "costayear priceofkeeping",
    "areas": "area stockedin wards",
}
HEADERS = Headers(CALLED, _ALSO)


@dataclass(frozen=True, slots=True)
class Heading:
    """Our field → its place and its header, what was not read, and what is wrong with the first row."""

    places: Mapping[str, int]
    columns: Mapping[str, str]
    unused: tuple[str, ...]
    problems: tuple[Problem, ...]


def count_known_headers(cells: Sequence[str]) -> int:
    """Count the cells of a first row that name a column of products.

    Examples
    --------
    >>> count_known_headers(["Code", "INCI", "Weather"])
    2
    """
    return HEADERS.count_known(cells)


def map_columns(cells: Sequence[str], line: int) -> Heading:
    """Find the column of each field by its header; code, name and kind of product must be there.

    Examples
    --------
    >>> heading = map_columns(["Code", "Product", "INCI"], 1)
    >>> heading.columns["text"], heading.problems[0].says
    ('INCI', "No column is headed 'kind of product'.")
    """
    places: dict[str, int] = {}
    problems: list[Problem] = []
    for place, cell in enumerate(cells):
        field = HEADERS.field_of(cell)
        if field in places:
            says = f"Two columns name the {CALLED[field]}."
            problems.append(
                Problem(line, tidy(cell)[:LONGEST_HEADER], says, "Keep one of them.", serious=True)
            )
        elif field is not None:
            places[field] = place
    for field in NEEDED:
        if field not in places:
            says = f"No column is headed '{CALLED[field]}'."
            problems.append(Problem(line, "", says, "Add or rename the column.", serious=True))
    columns = {field: tidy(cells[place])[:LONGEST_HEADER] for field, place in places.items()}
    read = set(places.values())
    unused = tuple(
        tidy(cell)[:LONGEST_HEADER] for place, cell in enumerate(cells) if cell.strip() and place not in read
    )
    return Heading(places, columns, unused, tuple(problems))
