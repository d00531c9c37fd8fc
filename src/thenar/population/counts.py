"""Which counts, amounts and levels can a figure be made of?"""

from math import isfinite
from numbers import Integral, Real

from thenar.errors import BadInput


class UnusableCount(BadInput):
    """A count, an amount or a level that can't be one."""

    def __init__(self, field: str, figure: object, says: str) -> None:
        super().__init__(
            what=f"{field}: is {figure!r}; it must be {says}.",
            why="The formula would give a number that means nothing.",
            todo=f"Check {field} against the records it was counted from.",
        )


def check_count(field: str, count: int) -> None:
    """Refuse what is no whole number, or less than nothing."""
    if not isinstance(count, Integral) or isinstance(count, bool) or count < 0:
        raise UnusableCount(field, count, "a whole number, 0 or more")


def check_part(field: str, part: int, whole: int) -> None:
    """Refuse a part that is no count, or more than its whole."""
    check_count(field, part)
    if part > whole:
        raise UnusableCount(field, part, f"at most the whole, {whole}")


def check_amount(field: str, amount: float) -> None:
    """Refuse what is not a finite number above 0: without person-time there is no rate."""
    if not isinstance(amount, Real) or isinstance(amount, bool) or not isfinite(amount) or amount <= 0:
        raise UnusableCount(field, amount, "a number above 0")


def check_share(field: str, share: float) -> None:
    """Refuse what is not from 0 to 1."""
    if not 0 <= share <= 1:
        raise UnusableCount(field, share, "a share from 0 to 1")


def check_confidence(confidence: float) -> None:
    """Refuse a level that is not between 0 and 1."""
    if not 0 < confidence < 1:
        raise UnusableCount("confidence", confidence, "above 0 and below 1")
