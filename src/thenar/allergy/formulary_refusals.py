"""Can this formulary search be made at all? Every field is checked before anything is computed."""

from collections.abc import Iterable, Sequence
from decimal import Decimal

from thenar.allergy.formulary_terms import Goal, Group, Question
from thenar.allergy.verdict_terms import Answer
from thenar.errors import BadInput

MOST_DECIMALS = 3
MOST_COST_A_WORKER = Decimal(100_000)
MOST_COST_OF_STOCK = Decimal(1_000_000_000)
MOST_WORKERS = 10_000_000


class NothingGiven(BadInput):
    """A search without products, or without anything that anybody needs."""

    def __init__(self, field: str, says: str) -> None:
        super().__init__(
            what=f"{field}: {says}.",
            why="A formulary is chosen among products, for what workers need or the house must stock.",
            todo=f"Give at least one entry in {field} that counts.",
        )


class SameTwice(BadInput):
    """Two entries share what should tell them apart."""

    def __init__(self, field: str, first: int, again: int, id_name: str) -> None:
        super().__init__(
            what=f"{field}[{again}].{id_name} is the same as {field}[{first}].{id_name}.",
            why="Two entries that can't be told apart would be counted wrongly.",
            todo=f"Take one of them out of {field}, or give it another {id_name}.",
        )


class UnknownName(BadInput):
    """A product that is not offered, or a group that is not given."""

    def __init__(self, field: str, given: str, known: str) -> None:
        super().__init__(
            what=f"{field}: {given!r} is not among {known}.",
            why="It would be passed over in silence.",
            todo=f"Use a name from {known}, or add the missing entry there.",
        )


class NumberNotUsable(BadInput):
    """A cost or a count out of its range."""

    def __init__(self, field: str, number: object, says: str) -> None:
        super().__init__(
            what=f"{field}: is {number}; it must be {says}.",
            why="A wrong number would give a formulary that only looks right.",
            todo=f"Correct {field}.",
        )


class CostNotKnown(BadInput):
    """The cheapest formulary was asked for, but a product has no cost."""

    def __init__(self, field: str, product: str) -> None:
        super().__init__(
            what=f"{field}: the cost of {product!r} for a worker is not known.",
            why="Taken as nothing it would look cheapest; left out it might be missed.",
            todo="Give its cost, ban it from the search, or search for the fewest products.",
        )


class Contradiction(BadInput):
    """Two entries that can't both hold."""

    def __init__(self, field: str, says: str) -> None:
        super().__init__(
            what=f"{field}: {says}.",
            why="Whichever of the two were believed, the other would be broken.",
            todo=f"Correct {field}.",
        )


class NotJudged(BadInput):
    """A product that a group may come to use has no answer for that group."""

    def __init__(self, field: str, product: str) -> None:
        super().__init__(
            what=f"{field}: there is no answer for product {product!r}, which meets a need of this group.",
            why="A missing answer must not pass for a good one, nor hide a product that would serve.",
            todo="Judge the product for this group, or ban it from the search.",
        )


class EffortOutOfRange(BadInput):
    """A gap that is no share, or no time to search in."""

    def __init__(self, gap: float, seconds: float) -> None:
        super().__init__(
            what=f"gap is {gap!r} and seconds {seconds!r}.",
            why="The search must know when to stop.",
            todo="Give a gap from 0 to below 1 and a time above 0.",
        )


def refuse_unusable(question: Question, goal: Goal) -> None:
    """Refuse a formulary search that can't be made, naming the field.

    Parameters
    ----------
    question
        The search as given.
    goal
        What is to be made small.

    Raises
    ------
    NothingGiven
        No products, no needs, or needs that are nobody's.
    SameTwice
        Two offers, groups or needs share a name, or a group has two answers for a product.
    UnknownName
        An answer, a rule or the present stock names a product not offered; a need names a group not given.
    NumberNotUsable
        A cost or count is negative, absurd, or has too many decimals.
    Contradiction
        A product must stay and is banned, more must stay than there may be, or `no match found` has allergens
        beside it.
    NotJudged
        A product that meets a need of a group with allergies has no answer for it.
    CostNotKnown
        The cheapest is asked for, and the cost of a product that may be chosen is not known.

    Notes
    -----
    Groups are named by their place in the list: an error carries no person's data.

    Examples
    --------
    >>> refuse_unusable(Question((), (), ()), Goal.FEWEST)  # doctest: +ELLIPSIS
    Traceback (most recent call last):
    ...
    thenar.allergy.formulary_refusals.NothingGiven: offers: is empty. ...
    """
    _refuse_nothing(question)
    _refuse_twice("offers", [offer.product for offer in question.offers], "product")
    _refuse_twice("groups", [group.pattern for group in question.groups], "pattern")
    _refuse_twice("needs", [need.name for need in question.needs], "name")
    _refuse_numbers(question)
    _refuse_rules(question)
    _refuse_needs(question)
    for place, group in enumerate(question.groups):
        _refuse_group(f"groups[{place}].judged", group, question)
    if goal is Goal.CHEAPEST:
        _refuse_unknown_costs(question)


def _refuse_nothing(question: Question) -> None:
    if not question.offers:
        raise NothingGiven("offers", "is empty")
    if not question.needs:
        raise NothingGiven("needs", "is empty")
    if not any(need.obligation or any(map(need.of, question.groups)) for need in question.needs):
        raise NothingGiven("needs", "no group has any of them, and none is an obligation")


def _refuse_twice(field: str, entries: Sequence[str], id_name: str) -> None:
    first: dict[str, int] = {}
    for place, entry in enumerate(entries):
        if first.setdefault(entry, place) != place:
            raise SameTwice(field, first[entry], place, id_name)


def _refuse_numbers(question: Question) -> None:
    for place, offer in enumerate(question.offers):
        if offer.cost_a_worker is not None:
            _refuse_cost(f"offers[{place}].cost_a_worker", offer.cost_a_worker, MOST_COST_A_WORKER)
        _refuse_cost(f"offers[{place}].cost_of_stock", offer.cost_of_stock, MOST_COST_OF_STOCK)
    for place, group in enumerate(question.groups):
        _refuse_count(f"groups[{place}].workers", group.workers)
    if question.at_most is not None:
        _refuse_count("at_most", question.at_most)
    everyone = sum(group.workers for group in question.groups)
    if everyone > MOST_WORKERS:
        raise NumberNotUsable("groups", f"{everyone} workers in all", f"at most {MOST_WORKERS}")


def _refuse_cost(field: str, cost: Decimal, most: Decimal) -> None:
    if not cost.is_finite() or not 0 <= cost <= most or cost != round(cost, MOST_DECIMALS):
        raise NumberNotUsable(field, cost, f"from 0 to {most}, with at most {MOST_DECIMALS} decimals")


def _refuse_count(field: str, count: int) -> None:
    if type(count) is not int or not 1 <= count <= MOST_WORKERS:
        raise NumberNotUsable(field, count, f"a whole number from 1 to {MOST_WORKERS}")


def _refuse_rules(question: Question) -> None:
    offered = {offer.product for offer in question.offers}
    for field in ("stay", "banned", "present"):
        _refuse_unknown(field, sorted(getattr(question, field) or ()), offered, "offers")
    both = sorted(question.stay & question.banned)
    if both:
        raise Contradiction("stay", f"{both[0]!r} must stay and is banned")
    if question.at_most is not None and len(question.stay) > question.at_most:
        raise Contradiction(
            "at_most", f"{len(question.stay)} products must stay, more than {question.at_most}"
        )


def _refuse_needs(question: Question) -> None:
    patterns = {group.pattern for group in question.groups}
    for place, need in enumerate(question.needs):
        _refuse_unknown(f"needs[{place}].groups", sorted(need.groups or ()), patterns, "groups")


def _refuse_unknown(field: str, given: Iterable[str], known: set[str], where: str) -> None:
    for name in given:
        if name not in known:
            raise UnknownName(field, name, where)


def _refuse_group(field: str, group: Group, question: Question) -> None:
    if group.judged is None:
        return
    answered = [each.product for each in group.judged]
    _refuse_twice(field, answered, "product")
    _refuse_unknown(field, answered, {offer.product for offer in question.offers}, "offers")
    for place, each in enumerate(group.judged):
        if each.answer is Answer.NO_MATCH_FOUND and each.allergens:
            raise Contradiction(f"{field}[{place}]", f"{each.answer!s}, yet it names allergens")
    settled = question.banned.union(answered)
    for offer in question.offers:
        if offer.product not in settled and any(
            need.of(group) and need.met_by(offer) for need in question.needs
        ):
            raise NotJudged(field, offer.product)


def _refuse_unknown_costs(question: Question) -> None:
    for place, offer in enumerate(question.offers):
        may_be_used = offer.product not in question.banned and any(
            need.met_by(offer) for need in question.needs
        )
        if offer.cost_a_worker is None and may_be_used:
            raise CostNotKnown(f"offers[{place}].cost_a_worker", offer.product)
