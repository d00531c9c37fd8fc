"""Which column of a file of patch tests means what?"""

from collections.abc import Mapping, Sequence

from thenar.exchange.headers import Headers
from thenar.exchange.problems import Problem

CALLED = {  # field: the header a file is best given
    "test": "test",
    "applied_on": "put on",
    "occluded_until": "patches off",
    "position": "position",
    "kind": "kind",
    "hapten": "allergen",
    "concentration": "concentration",
    "vehicle": "vehicle",
    "series": "series",
    "category": "kind of product",
    "dilution": "how prepared",
    "read_on": "read on",
    "grade": "grade",
}
NEEDED = ("test", "applied_on", "position", "hapten", "read_on", "grade")
DATES = ("applied_on", "occluded_until", "read_on")
OF_TEST = ("applied_on", "occluded_until")
OF_POSITION = ("kind", "hapten", "concentration", "vehicle", "series", "category", "dilution")
_ALSO = {
    "test": "testid patchtest",
    "applied_on": "appliedon applied",
    "occluded_until": "occludeduntil removedon",
    "position": "site number",
    "hapten": "hapten substance",
    "category": "category",
    "dilution": "dilution",
    "read_on": "readingday date",
    "grade": "reaction reading",
}
HEADERS = Headers(CALLED, _ALSO)


def count_known_headers(cells: Sequence[str]) -> int:
    """Count the cells of a first row that name a column of patch tests.

    Examples
    --------
    >>> count_known_headers(["Test", "Put on", "Moon"])
    2
    """
    return HEADERS.count_known(cells)


def find_columns(headers: Sequence[str], line: int) -> tuple[Mapping[str, int], tuple[Problem, ...]]:
    """Our field → its column, and what is wrong with the first row.

    Examples
    --------
    >>> places, problems = find_columns(["test", "put on", "position", "allergen", "read on"], 1)
    >>> places["hapten"], problems[0].says
    (3, "No column is headed 'grade'.")
    """
    return HEADERS.find(headers, line, NEEDED)
