"""Makes wet-work rule sets ready to judge by: limits in minutes and counts, and what each quantity adds."""

import operator
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum

from thenar.errors import BadInput
from thenar.knowledge import Book, Citation, Criterion, InWords, KnowledgeError, RuleSet, TierLimit

GOVERNING = "wet-work.governing."
RUB_WETS_FOR = "shift.rub-wets-for"
NOT_KNOWN = "not known"
_COMPARE: dict[str, Callable[[float, float], bool]] = {">": operator.gt, ">=": operator.ge}
_MINUTES_PER_HOUR = 60
_SECONDS_PER_MINUTE = 60


class RubPolicy(StrEnum):
    """Whether alcohol rubs are wet contact. Sources disagree, so it is a choice, printed with the verdict."""

    EXCLUDED = "excluded"
    GELS = "gels"
    ALL = "all"


@dataclass(frozen=True, slots=True)
class Term:
    """What one unit of a quantity adds to what is compared. `at_least` names a stand-in, never more."""

    quantity: str
    each: float = 1.0
    at_least: str | None = None


Measure = tuple[Term, ...]


@dataclass(frozen=True, slots=True)
class ReadyTier:
    """From where on a tier is reached; rank 1 is the lowest tier."""

    rank: int
    limit: TierLimit
    passes: Callable[[float, float], bool]
    bound: float
    citation: Citation


@dataclass(frozen=True, slots=True)
class ReadyCriterion:
    """A criterion with its bound in minutes or counts. `measure` is its place among the measures."""

    criterion: Criterion
    measure: int
    passes: Callable[[float, float], bool]
    bound: float
    tiers: tuple[ReadyTier, ...]
    citation: Citation
    in_minutes: bool


@dataclass(frozen=True, slots=True, eq=False)
class ReadyRuleSet:
    """A rule set of one day, with everything a verdict needs."""

    rule_set: RuleSet
    in_force: bool
    standing: str
    criteria: tuple[ReadyCriterion, ...]
    measures: tuple[Measure, ...]
    words: tuple[tuple[InWords, Citation], ...]
    decided_in_words: bool
    edition: str

    @property
    def id(self) -> str:
        """The rule set's id."""
        return self.rule_set.id


class UnknownRuleSet(BadInput):
    """No rule set has that id."""

    def __init__(self, rule_set_id: str, book: Book) -> None:
        super().__init__(
            what=f"There is no wet-work rule set {rule_set_id!r}.",
            why="Nothing was judged by it.",
            todo=f"Name one of: {', '.join(book.rule_sets)}.",
        )


class RuleSetNotInForce(BadInput):
    """A rule set was asked for by name on a day it is not in force."""

    def __init__(self, rule_set: RuleSet, on: date) -> None:
        super().__init__(
            what=f"{rule_set.name} is not in force on {_written(on)}: {_standing(rule_set, on)}.",
            why="A verdict by a rule that did not apply would be held against the wrong day.",
            todo="Use a day on which it was in force, or leave the name out to see all side by side.",
        )


class UnknownJurisdiction(BadInput):
    """No rule set is named as governing there, not even as not known."""

    def __init__(self, jurisdiction: str, book: Book) -> None:
        known = [rule_id.removeprefix(GOVERNING) for rule_id in book.rules if rule_id.startswith(GOVERNING)]
        super().__init__(
            what=f"There is no jurisdiction {jurisdiction!r}.",
            why="Which rule set governs could not be told.",
            todo=f"Name one of: {', '.join(known)}; `generic` where none fits.",
        )


def rule_set_in_force(rule_set_id: str, book: Book, on: date) -> RuleSet:
    """The rule set of that id; raise UnknownRuleSet, or RuleSetNotInForce on any other day."""
    if rule_set_id not in book.rule_sets:
        raise UnknownRuleSet(rule_set_id, book)
    rule_set = book.rule_sets[rule_set_id]
    if not rule_set.in_force_on(on):
        raise RuleSetNotInForce(rule_set, on)
    return rule_set


def governing_rule_set(jurisdiction: str, book: Book, on: date) -> RuleSet | None:
    """The rule set that governs in a jurisdiction; None is "not known", never "none".

    Parameters
    ----------
    jurisdiction
        A country's two letters, or `generic`.
    book
        The knowledge that says which set governs.
    on
        Day of the shift.

    Raises
    ------
    UnknownJurisdiction
        The knowledge doesn't have it.
    RuleNotInForce
        The day lies before the first rule set.

    Examples
    --------
    >>> from thenar.knowledge import load
    >>> governing_rule_set("DE", load(), date(2026, 11, 25)).name
    'TRGS 401 (2022)'
    >>> governing_rule_set("FR", load(), date(2026, 11, 25)) is None
    True
    """
    if GOVERNING + jurisdiction not in book.rules:
        raise UnknownJurisdiction(jurisdiction, book)
    named = book.rule(GOVERNING + jurisdiction).on(on).text
    if named == NOT_KNOWN:
        return None
    if named is None or named not in book.rule_sets:
        raise KnowledgeError(
            what=f"{GOVERNING}{jurisdiction} names {named!r}, which is no rule set.",
            why="A post there would be judged by nothing.",
            todo="Name a rule set's id, or `not known`.",
        )
    return rule_set_in_force(named, book, on)


def ready_rule_sets(
    book: Book, on: date, policy: RubPolicy
) -> tuple[tuple[Measure, ...], tuple[ReadyRuleSet, ...]]:
    """Every rule set made ready for a day and a rub policy, after the measures that they compare."""
    rub_minutes = float(book.rule(RUB_WETS_FOR).on(on).amount or 0) / _SECONDS_PER_MINUTE
    adding = {"by policy": _terms(policy, rub_minutes), "never": _terms(RubPolicy.EXCLUDED, rub_minutes)}
    places: dict[Measure, int] = {}
    for rule_set in book.rule_sets.values():
        for criterion in rule_set.criterion:
            places.setdefault(_measure(criterion, adding[rule_set.rubs]), len(places))
    measures = tuple(places)
    ready = (
        _ready(rule_set, book, on, adding[rule_set.rubs], measures) for rule_set in book.rule_sets.values()
    )
    return measures, tuple(ready)


def _terms(policy: RubPolicy, rub_minutes: float) -> dict[str, Measure]:
    """What each quantity of a criterion adds under a policy."""
    plain: dict[str, Measure] = {
        name: (Term(name),) for name in ("washes", "glove_minutes", "wash_glove_alternations")
    }
    contacts, minutes, changes = Term("wet_contacts"), Term("wet_minutes"), "wet_glove_alternations"
    if policy is RubPolicy.EXCLUDED:
        return {**plain, "wet_contacts": (contacts,), "wet_minutes": (minutes,), changes: (Term(changes),)}
    rubs, suffix = ("gel_rubs", "gels") if policy is RubPolicy.GELS else ("rubs", "rubs")
    fewer = "gel_rubs" if policy is RubPolicy.ALL else None
    return {
        **plain,
        "wet_contacts": (contacts, Term(rubs, at_least=fewer)),
        "wet_minutes": (minutes, Term(rubs, rub_minutes, at_least=fewer)),
        changes: (Term(f"{changes}_with_{suffix}", at_least=changes),),
    }


def _measure(criterion: Criterion, terms: dict[str, Measure]) -> Measure:
    return tuple(term for quantity in criterion.adds for term in terms[quantity])


def _ready(
    rule_set: RuleSet, book: Book, on: date, terms: dict[str, Measure], measures: tuple[Measure, ...]
) -> ReadyRuleSet:
    return ReadyRuleSet(
        rule_set=rule_set,
        in_force=rule_set.in_force_on(on),
        standing=_standing(rule_set, on),
        criteria=tuple(
            _ready_criterion(criterion, rule_set, book, measures.index(_measure(criterion, terms)))
            for criterion in rule_set.criterion
        ),
        measures=measures,
        words=tuple((words, book.cite(words)) for words in rule_set.in_words),
        decided_in_words=any(words.decides for words in rule_set.in_words),
        edition=book.edition,
    )


def _ready_criterion(criterion: Criterion, rule_set: RuleSet, book: Book, measure: int) -> ReadyCriterion:
    in_minutes = criterion.unit.startswith("h/")
    scale = _MINUTES_PER_HOUR if in_minutes else 1
    return ReadyCriterion(
        criterion=criterion,
        measure=measure,
        passes=_COMPARE[criterion.operator],
        bound=_scaled(criterion.amount, scale),
        tiers=tuple(
            ReadyTier(
                rank=rule_set.tiers.index(tier.tier) + 1,
                limit=tier,
                passes=_COMPARE[tier.operator],
                bound=_scaled(tier.amount, scale),
                citation=book.cite(tier),
            )
            for tier in criterion.tier
        ),
        citation=book.cite(criterion),
        in_minutes=in_minutes,
    )


def _scaled(amount: Decimal, scale: int) -> float:
    return float(amount * scale)


def _standing(rule_set: RuleSet, on: date) -> str:
    if on < rule_set.in_force_from:
        return f"not yet in force: from {_written(rule_set.in_force_from)}"
    if rule_set.until is not None and on > rule_set.until:
        return f"no longer in force: until {_written(rule_set.until)}"
    return f"in force since {_written(rule_set.in_force_from)}"


def _written(day: date) -> str:
    return f"{day.day} {day:%B %Y}"
