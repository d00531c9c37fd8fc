"""Which products should be stocked, so that everyone has one they may use for each need?"""

from thenar.allergy.formulary_answer import Formulary, NoFormulary, describe
from thenar.allergy.formulary_demand import cells_of, parts_of, put_up
from thenar.allergy.formulary_gaps import sought_for
from thenar.allergy.formulary_programme import Effort
from thenar.allergy.formulary_refusals import EffortOutOfRange, refuse_unusable
from thenar.allergy.formulary_search import STEPS, Search
from thenar.allergy.formulary_terms import Goal, Question


def find_formulary(
    question: Question, goal: Goal, gap: float = 0.0001, seconds: float = 30.0
) -> Formulary | NoFormulary:
    """Find the cheapest or the fewest products that serve everyone, or say who can't be served and why.

    Parameters
    ----------
    question
        Offers with costs, groups of workers with the answers for each product, needs and obligations.
    goal
        Cheapest: least cost of a year, then fewest products. Fewest: fewest products, then least cost. Of
        equally good ones, that which adds least to the present stock.
    gap
        How far from the best the search may stop. [share, 0 to below 1]
    seconds
        Time for the search, shared out among its parts. [seconds, above 0]

    Returns
    -------
    Formulary or NoFormulary
        A formulary gives each group, for each of its needs, a product with the answer `no match found`, and
        holds a product for each obligation. `NoFormulary` is a proof that there is none.

    Raises
    ------
    BadInput
        The search can't be made as given; the error names the field.
    OutOfTime
        Neither a formulary nor a proof was found in time.

    Notes
    -----
    `cannot exclude` is never taken for `no match found`. A product that a worker uses for two needs is paid
    for each: a year's use of one does not cover the other. Prices don't fall with quantity. `no match found`
    says that labels show no match, not that a product is harmless; what suits the skin is for the worker to
    find out. A pattern few workers share can give a person away: supplies need the products, not the groups.
    The same question gives the same answer unless time ran out.

    Examples
    --------
    Two soaps; the cheaper one is not for the two workers with pattern P.

    >>> from decimal import Decimal
    >>> from thenar.allergy.formulary_terms import *
    >>> from thenar.allergy.product import Category
    >>> from thenar.allergy.verdict_terms import Answer
    >>> found = find_formulary(Question(
    ...     offers=(
    ...         Offer("S1", Category.SOAP, Decimal(4), Decimal(50)),
    ...         Offer("S2", Category.SOAP, Decimal(6), Decimal(50)),
    ...     ),
    ...     groups=(
    ...         Group("none", 40),
    ...         Group("P", 2, (
    ...             Judged("S1", Answer.AVOID, frozenset({"methylisothiazolinone"})),
    ...             Judged("S2", Answer.NO_MATCH_FOUND),
    ...         )),
    ...     ),
    ...     needs=(Need("soap", Category.SOAP),),
    ... ), Goal.CHEAPEST)

    With both: 40 × 4 + 2 × 6 + 2 × 50 = 272; with S2 alone: 42 × 6 + 50 = 302.

    >>> found.products, found.cost.total
    (('S1', 'S2'), Decimal('272'))
    """
    if not 0 <= gap < 1 or not 0 < seconds < float("inf"):
        raise EffortOutOfRange(gap, seconds)
    refuse_unusable(question, goal)
    shelf = put_up(question)
    cells = cells_of(question, shelf)
    served = tuple(cell for cell in cells if cell.may_use)
    sought = tuple(sought_for(cell, question) for cell in cells if not cell.may_use)
    best = Search(shelf, parts_of(served), Effort(gap, seconds / STEPS)).best(goal, question.at_most)
    formulary = describe(question, served, shelf, best)
    if sought or best.too_many:
        return NoFormulary(sought, len(formulary.chosen) if best.too_many else None, formulary)
    return formulary
