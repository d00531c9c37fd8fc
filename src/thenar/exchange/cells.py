"""What does a cell say, if it can be read at all?"""

from collections.abc import Mapping

from thenar.exchange.delimited import Row, tidy, unseen_character
from thenar.exchange.problems import Problems


def plain_text(row: Row, field: str, places: Mapping[str, int], problems: Problems, *, longest: int) -> str:
    """The text of a field in a row; empty where there is none, or where it is asked about."""
    place = places.get(field)
    if place is None or place >= len(row.cells):
        return ""
    cell = row.cells[place]
    if len(cell) > longest or unseen_character(cell):
        says = "The cell is too long, or holds a character that can't be seen."
        problems.ask(row.line, field, says, "Type the cell again by hand.")
        return ""
    return tidy(cell)
