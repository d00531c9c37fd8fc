"""Rules on a shift by all rule sets at once, made ready once for a book, a day and a rub policy."""

from bisect import bisect_right
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from functools import lru_cache
from math import inf, nextafter

from thenar.exposure.rule_sets import (
    Measure,
    ReadyCriterion,
    ReadyRuleSet,
    ReadyTier,
    RubPolicy,
    ready_rule_sets,
)
from thenar.exposure.shift import ShiftQuantities
from thenar.knowledge import Book


class Outcome(StrEnum):
    """What a rule set says of a shift. Only `NOT_WET_WORK` says that every limit was looked at and kept."""

    WET_WORK = "wet work"
    NOT_WET_WORK = "not wet work"
    IN_WORDS = "in words only"
    NOT_KNOWN = "not known"


# What was found for one measure: the part that is known, and whether some is missing.
Found = tuple[float, bool]
# For each measure, how many steps are passed, and whether some of it is missing.
Place = tuple[tuple[int, bool], ...]


@dataclass(frozen=True, slots=True)
class Ruling:
    """What one rule set says of every shift that passes the same limits."""

    ready: ReadyRuleSet
    outcome: Outcome
    tier_rank: int
    tier_may_be_higher: bool


@dataclass(frozen=True, slots=True, eq=False)
class RuleMatrix:
    """All rule sets of one book, day and rub policy. Make one with `rule_matrix`.

    `steps` are, for each measure, the amounts at which any limit starts to be passed: between two steps no
    ruling changes, so `rulings` remembers those already worked out.
    """

    measures: tuple[Measure, ...]
    steps: tuple[tuple[float, ...], ...]
    rule_sets: tuple[ReadyRuleSet, ...]
    policy: RubPolicy
    rulings: dict[Place, tuple[Ruling, ...]] = field(default_factory=dict)


def rule_matrix(book: Book, on: date, policy: RubPolicy = RubPolicy.EXCLUDED) -> RuleMatrix:
    """Every rule set of a book, compiled once for a day and a rub policy.

    Parameters
    ----------
    book
        The knowledge that holds the rule sets.
    on
        Day of the shift: marks which sets are in force.
    policy
        Whether alcohol rubs are wet contact.

    Examples
    --------
    >>> from thenar.knowledge import load
    >>> matrix = rule_matrix(load(), date(2026, 11, 25))
    >>> [ready.standing for ready in matrix.rule_sets if ready.id.startswith("wet-work.de-")]
    ['no longer in force: until 9 October 2022', 'in force since 10 October 2022']
    """
    return _compiled(_Same(book), on, policy)


def rule_on(quantities: ShiftQuantities, matrix: RuleMatrix) -> tuple[tuple[Found, ...], tuple[Ruling, ...]]:
    """What was found for each measure, and every rule set's ruling on it."""
    found = tuple([_find(measure, quantities) for measure in matrix.measures])
    return found, _rulings(matrix, found)


class _Same:
    """A book as a key: equal only to itself, for a book holds dicts and has no hash of its own."""

    __slots__ = ("book",)

    def __init__(self, book: Book) -> None:
        self.book = book

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and other.book is self.book

    def __hash__(self) -> int:
        return id(self.book)


@lru_cache(maxsize=64)
def _compiled(key: _Same, on: date, policy: RubPolicy) -> RuleMatrix:
    measures, ready = ready_rule_sets(key.book, on, policy)
    return RuleMatrix(measures, _steps(ready, len(measures)), ready, policy)


def _steps(rule_sets: tuple[ReadyRuleSet, ...], measures: int) -> tuple[tuple[float, ...], ...]:
    """The lowest amount that passes each limit: for ">" the next number above its bound."""
    steps: list[set[float]] = [set() for _ in range(measures)]
    for criterion in (criterion for ready in rule_sets for criterion in ready.criteria):
        limits: tuple[ReadyCriterion | ReadyTier, ...] = (criterion, *criterion.tiers)
        for limit in limits:
            lowest = limit.bound if limit.passes(limit.bound, limit.bound) else nextafter(limit.bound, inf)
            steps[criterion.measure].add(lowest)
    return tuple(tuple(sorted(each)) for each in steps)


def _find(measure: Measure, quantities: ShiftQuantities) -> Found:
    """The known part of a measure, and whether more may come: a part missing, or the shift not seen whole."""
    total, open_ended = 0.0, not quantities.whole_shift
    for term in measure:
        amount = getattr(quantities, term.quantity)
        if amount is None:
            open_ended = True
            amount = (getattr(quantities, term.at_least) if term.at_least else None) or 0
        total += amount * term.each
    return total, open_ended


def _rulings(matrix: RuleMatrix, found: tuple[Found, ...]) -> tuple[Ruling, ...]:
    """Every set's ruling. Shifts that pass the same limits share it, so it is worked out once for them."""
    place = tuple(
        [
            (bisect_right(steps, amount), open_ended)
            for steps, (amount, open_ended) in zip(matrix.steps, found, strict=True)
        ]
    )
    known = matrix.rulings.get(place)
    if known is None:
        known = matrix.rulings[place] = tuple([_rule(ready, found) for ready in matrix.rule_sets])
    return known


def _rule(ready: ReadyRuleSet, found: tuple[Found, ...]) -> Ruling:
    met = unknown = tier_open = False
    rank = 0
    for criterion in ready.criteria:
        amount, open_ended = found[criterion.measure]
        if criterion.passes(amount, criterion.bound):
            met = True
        elif open_ended:
            unknown = True
        for tier in criterion.tiers:
            if tier.rank > rank and tier.passes(amount, tier.bound):
                rank = tier.rank
        tier_open = tier_open or open_ended
    if met:
        outcome = Outcome.WET_WORK
    elif unknown:
        outcome = Outcome.NOT_KNOWN
    else:
        outcome = Outcome.IN_WORDS if ready.decided_in_words else Outcome.NOT_WET_WORK
    may_be_higher = (tier_open or ready.decided_in_words) and rank < len(ready.rule_set.tiers)
    return Ruling(ready, outcome, rank, may_be_higher)
