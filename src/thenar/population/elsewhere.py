"""What have others found, to set one's own figure beside?"""

from datetime import date

from thenar.knowledge import Book
from thenar.population.cautions import Caution, caution

_RULES = {
    "point prevalence": "population.elsewhere.point-prevalence",
    "one-year prevalence": "population.elsewhere.one-year-prevalence",
    "lifetime prevalence": "population.elsewhere.lifetime-prevalence",
    "incidence": "population.elsewhere.incidence",
}


def found_elsewhere(measure: str, book: Book, on: date) -> Caution | None:
    """Published figures of a measure, each with its own case definition; None where there is none.

    Parameters
    ----------
    measure
        As a stated figure names it.
    book, on
        The knowledge, and the day whose values are used.

    Returns
    -------
    Caution or None
        One figure, with those that say otherwise. None of them is a target: each counts something else.

    Examples
    --------
    >>> from thenar.knowledge import load
    >>> print(found_elsewhere("incidence", load(), date(2026, 11, 26)).says)
    Health-care workers, one study found by a review: 34 for each 1,000 person-years.
    """
    # A corrected prevalence is set beside the same figures as an uncorrected one.
    rule = _RULES.get(measure.partition(",")[0])
    return caution(rule, book, on) if rule else None
