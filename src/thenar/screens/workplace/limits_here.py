"""Which rule set governs here, and which set's limits are drawn where that one has no number."""

from dataclasses import dataclass
from datetime import date

from thenar.exposure.rule_matrix import rule_matrix
from thenar.exposure.rule_sets import GOVERNING, ReadyCriterion, ReadyRuleSet, RubPolicy, governing_rule_set
from thenar.knowledge import Book, RuleSet

USUAL = "wet-work.int-2-20-2"
WORDS_OF_POLICY = {
    RubPolicy.EXCLUDED: "Alcohol rubs are not wet contact",
    RubPolicy.GELS: "Gels are wet contact, other rubs are not",
    RubPolicy.ALL: "All alcohol rubs are wet contact",
}


@dataclass(frozen=True, slots=True)
class Limits:
    """The rule set whose limits are drawn and weighed, and why it is that one.

    `governing` is None where it is not known which set governs.
    """

    drawn: ReadyRuleSet
    governing: RuleSet | None
    governing_rule: str
    says: str
    policy: RubPolicy


def limits_here(
    jurisdiction: str, book: Book, on: date, policy: RubPolicy = RubPolicy.EXCLUDED, chosen: str = ""
) -> Limits:
    """The limits to draw: of the set chosen by hand, or the governing one, or the nearest that has numbers.

    Parameters
    ----------
    jurisdiction
        Where the site is.
    book, on, policy
        As for `judge_shift`.
    chosen
        Id of a rule set in force with numbers; any other is passed over.

    Notes
    -----
    Where the governing set is in words only or not known, another set's numbers are a yardstick and no
    verdict of law: one of the same country first, then the international 2-20-2.

    Examples
    --------
    >>> from thenar.knowledge import load
    >>> limits_here("DE", load(), date(2026, 11, 25)).drawn.rule_set.name
    'TRGS 401 (2022)'
    >>> limits_here("FR", load(), date(2026, 11, 25)).says[:50]
    'Which rule set governs here is not known. The limi'
    """
    governing = governing_rule_set(jurisdiction, book, on)
    to_choose = {ready.id: ready for ready in with_numbers(book, on, policy)}
    own = governing.id if governing else ""
    of_country = [key for key, ready in to_choose.items() if ready.rule_set.jurisdiction == jurisdiction]
    near = next(iter(of_country), USUAL)
    drawn = to_choose.get(chosen) or to_choose.get(own) or to_choose[near]
    return Limits(drawn, governing, GOVERNING + jurisdiction, _why(governing, drawn, to_choose), policy)


def with_numbers(book: Book, on: date, policy: RubPolicy = RubPolicy.EXCLUDED) -> tuple[ReadyRuleSet, ...]:
    """Every rule set in force that has a limit in numbers."""
    matrix = rule_matrix(book, on, policy)
    return tuple(ready for ready in matrix.rule_sets if ready.in_force and ready.criteria)


def single_limits(drawn: ReadyRuleSet, quantity: str) -> tuple[ReadyCriterion, ...]:
    """The limits of a set on one quantity alone."""
    return tuple(
        ready
        for ready in drawn.criteria
        if [term.quantity for term in drawn.measures[ready.measure]] == [quantity]
    )


def _why(governing: RuleSet | None, drawn: ReadyRuleSet, to_choose: dict[str, ReadyRuleSet]) -> str:
    name = drawn.rule_set.name
    if governing is not None and governing.id == drawn.id:
        return f"{name} governs here."
    yardstick = f"The limits are those of {name}: a yardstick, not a ruling."
    if governing is None:
        return f"Which rule set governs here is not known. {yardstick}"
    if governing.id in to_choose:
        return f"{governing.name} governs here. {yardstick}"
    return f"{governing.name} governs here, in words only: it has no number. {yardstick}"
