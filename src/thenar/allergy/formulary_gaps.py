"""A group has no product for a need: what should be looked for, and whom should be asked?"""

from collections import Counter
from collections.abc import Iterable

from thenar.allergy.formulary_answer import Nearly, Sought, lacking_of
from thenar.allergy.formulary_demand import Cell
from thenar.allergy.formulary_terms import Judged, Question
from thenar.allergy.verdict_terms import Answer

NEAREST = 3


def sought_for(cell: Cell, question: Question) -> Sought:
    """What to look for, for a cell that no product serves.

    Parameters
    ----------
    cell
        A need and the group that lacks a product for it, or an obligation nothing meets.
    question
        The search.

    Returns
    -------
    Sought
        Allergens to look out for and products that come near.

    Notes
    -----
    A product free of the allergens that are in the way today may hold another one the group reacts to: it
    must be judged before anyone uses it.
    """
    kind = frozenset(offer.product for offer in question.offers if cell.need.met_by(offer))
    judged = () if cell.group is None else cell.group.judged or ()
    of_kind = [each for each in judged if each.product in kind]
    open_to_choice = [each for each in of_kind if each.product not in question.banned]
    return Sought(
        lacking=lacking_of(cell),
        without=_most_frequent_first(open_to_choice) or _most_frequent_first(judged),
        nearest=_nearest(each for each in open_to_choice if each.answer is Answer.AVOID and each.allergens)[
            :NEAREST
        ],
        ask_maker=_nearest(each for each in open_to_choice if each.answer is Answer.CANNOT_EXCLUDE),
        banned=_banned_that_would_serve(cell, question, kind, of_kind),
    )


def _banned_that_would_serve(
    cell: Cell, question: Question, kind: frozenset[str], judged: Iterable[Judged]
) -> tuple[str, ...]:
    serve = kind
    if cell.group is not None and cell.group.judged is not None:
        serve = frozenset(each.product for each in judged if each.answer is Answer.NO_MATCH_FOUND)
    return tuple(sorted(serve & question.banned))


def _most_frequent_first(judged: Iterable[Judged]) -> tuple[str, ...]:
    counts = Counter(allergen for each in judged for allergen in each.allergens)
    return tuple(sorted(counts, key=lambda allergen: (-counts[allergen], allergen)))


def _nearest(judged: Iterable[Judged]) -> tuple[Nearly, ...]:
    ordered = sorted(judged, key=lambda each: (len(each.allergens), each.product))
    return tuple(Nearly(each.product, each.allergens) for each in ordered)
