"""Which header of a first row means which field?"""

import unicodedata
from collections.abc import Mapping, Sequence

from thenar.exchange.delimited import tidy
from thenar.exchange.problems import Problem


class Headers:
    """The headers a kind of file may have.

    Parameters
    ----------
    called
        Our field → the header a file is best given.
    also
        Our field → further headers, folded, with spaces between.

    Examples
    --------
    >>> headers = Headers({"code": "product code", "name": "name"}, {"code": "article"})
    >>> headers.field_of("Article"), headers.count_known(["Product-Code", "Moon"])
    ('code', 1)
    """

    def __init__(self, called: Mapping[str, str], also: Mapping[str, str]) -> None:
        self._called = called
        self.means = {fold(header): field for field, header in called.items()} | {
            name: field for field, names in also.items() for name in names.split()
        }

    def field_of(self, header: str) -> str | None:
        """The field a header means, if any."""
        return self.means.get(fold(header))

    def count_known(self, cells: Sequence[str]) -> int:
        """Count the cells of a first row that mean a field."""
        return sum(self.field_of(cell) is not None for cell in cells)

    def find(
        self, headers: Sequence[str], line: int, needed: Sequence[str]
    ) -> tuple[dict[str, int], tuple[Problem, ...]]:
        """Our field → its column; and what is wrong: a field named twice, or a needed one not at all."""
        found: dict[str, list[int]] = {}
        for place, header in enumerate(headers):
            if field := self.field_of(header):
                found.setdefault(field, []).append(place)
        twice = [
            Problem(
                line, headers[places[1]], f"Two columns name the {self._called[field]}.", "Keep one.", True
            )
            for field, places in found.items()
            if len(places) > 1
        ]
        missing = [
            Problem(
                line, "", f"No column is headed '{self._called[field]}'.", "Add or rename the column.", True
            )
            for field in needed
            if field not in found
        ]
        return {field: places[0] for field, places in found.items()}, (*twice, *missing)


def fold(text: str) -> str:
    """A text as compared: its letters and digits, without case, accents or spaces.

    Examples
    --------
    >>> fold(" Wet minutés ")
    'wetminutes'
    """
    decomposed = unicodedata.normalize("NFKD", tidy(text)).casefold()
    return "".join(letter for letter in decomposed if letter.isalnum())
