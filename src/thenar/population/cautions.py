"""What must be said beside a figure?"""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from thenar.knowledge import Book, Citation

LOW_PARTICIPATION = "population.participation.low"
NON_RESPONSE = "population.caution.non-response"
ASKED_NOT_KNOWN = "population.caution.asked-not-known"


@dataclass(frozen=True, slots=True)
class Caution:
    """A sentence that stands beside a figure, with the rule it comes from."""

    says: str
    rule: str
    citation: Citation
    seen_otherwise: tuple[str, ...] = ()


def caution(rule: str, book: Book, on: date, *, more: str = "") -> Caution:
    """The caution of that rule, in its words of the day, with `more` that only this figure knows."""
    held = book.rule(rule)
    value = held.on(on)
    otherwise = tuple(view.says for view in held.other_view)
    return Caution(f"{value.text} {more}".strip(), rule, book.cite(value), otherwise)


def non_response(cases: int, answered: int, invited: int | None, book: Book, on: date) -> tuple[Caution, ...]:
    """What those who did not answer could change, where too few did or nobody knows how many were asked.

    Parameters
    ----------
    cases, answered, invited
        Cases among those who answered, and how many were asked; None where that is not known.
    book, on
        The knowledge, and the day whose values are used.

    Returns
    -------
    tuple of Caution
        None where participation is not low. The ends named hold whoever the others are: none of them a case,
        or all of them.

    Examples
    --------
    30 of 100 answered, 6 of them cases: from 6 of 100 to 76 of 100.

    >>> from thenar.knowledge import load
    >>> print(non_response(6, 30, 100, load(), date(2026, 11, 25))[0].says)
    Those who did not answer may differ from those who did. 30 of 100 answered (30.0 %). If none or all of the
    others had been cases, the share as counted would be 6.0 % or 76.0 %.
    """
    if invited is None:
        return (caution(ASKED_NOT_KNOWN, book, on),)
    share = Decimal(answered) / Decimal(invited)
    if not book.rule(LOW_PARTICIPATION).on(on).met_by(share):
        return ()
    least, most = cases / invited, (cases + invited - answered) / invited
    said = (
        f"{answered} of {invited} answered ({100 * float(share):.1f} %). "
        + f"If none or all of the others had been cases, the share as counted would be {100 * least:.1f} % "
        f"or {100 * most:.1f} %."
    )
    return (caution(NON_RESPONSE, book, on, more=said),)
