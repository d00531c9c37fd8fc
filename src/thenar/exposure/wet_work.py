"""Is this shift wet work? Every published rule set side by side, with the margin to each limit."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from thenar.exposure.rule_matrix import Found, Outcome, RuleMatrix, Ruling, rule_matrix, rule_on
from thenar.exposure.rule_sets import (
    Measure,
    ReadyCriterion,
    ReadyRuleSet,
    ReadyTier,
    RubPolicy,
    rule_set_in_force,
)
from thenar.exposure.shift import ShiftQuantities
from thenar.exposure.tally import in_words
from thenar.knowledge import Book, Citation, InWords

NO_TIER = "none"


class CriterionState(StrEnum):
    """Whether one criterion is met."""

    MET = "met"
    NOT_MET = "not met"
    NOT_KNOWN = "not known"
    IN_WORDS = "words only"


@dataclass(frozen=True, slots=True)
class NextLimit:
    """The lowest limit not passed yet. `tier` is empty for a limit that opens no tier. [minutes or count]"""

    bound: float
    operator: str
    tier: str
    to_go: float


@dataclass(frozen=True, slots=True)
class CriterionResult:
    """One criterion against the shift.

    `measured`, `bound` and `margin` are in minutes or counts; `margin` is the room left, negative when over.
    With `at_least`, part of what is measured is missing. A criterion in words has no numbers.
    """

    id: str
    says: str
    state: CriterionState
    measured: float | None
    at_least: bool
    missing: tuple[str, ...]
    bound: float | None
    operator: str
    in_minutes: bool
    margin: float | None
    tier: str
    next_limit: NextLimit | None
    note: str
    citation: Citation
    other_views: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RuleSetVerdict:
    """One rule set's verdict on a shift. Details are worked out when they are read."""

    ruling: Ruling
    quantities: ShiftQuantities
    found: tuple[Found, ...]

    @property
    def ready(self) -> ReadyRuleSet:
        """The rule set, ready to judge by."""
        return self.ruling.ready

    @property
    def outcome(self) -> Outcome:
        """What the rule set says."""
        return self.ruling.outcome

    @property
    def tier_rank(self) -> int:
        """The tier reached by what is known: 0 none, 1 the lowest."""
        return self.ruling.tier_rank

    @property
    def tier_may_be_higher(self) -> bool:
        """Whether what is missing, or left to words, could raise the tier."""
        return self.ruling.tier_may_be_higher

    @property
    def rule_set_id(self) -> str:
        """The rule set's id."""
        return self.ready.rule_set.id

    @property
    def says(self) -> str:
        """The verdict in words."""
        calls_it = self.ready.rule_set.calls_it
        if self.outcome is Outcome.WET_WORK:
            return calls_it
        if self.outcome is Outcome.NOT_WET_WORK:
            return f"not {calls_it} by this rule set"
        if self.outcome is Outcome.NOT_KNOWN:
            return f"not known: {self._why_not_known()}"
        if self.ready.criteria:
            return "cannot be judged by numbers: no limit is passed, the rest is words only"
        if any(words.number == "not seen" for words, _ in self.ready.words):
            return "cannot be judged by numbers (the source's numbers were not seen)"
        return "cannot be judged by numbers (words only)"

    @property
    def tier(self) -> str | None:
        """The tier reached, the highest over all criteria; None if the set has none or it is not known."""
        if not self.ready.rule_set.tiers or (self.tier_may_be_higher and not self.tier_rank):
            return None
        return self._tier_name(self.tier_rank)

    @property
    def tier_says(self) -> str:
        """The tier in words; what is missing is said, and never read as no tier."""
        if not self.ready.rule_set.tiers:
            return "no tiers in this rule set"
        if not self.tier_may_be_higher:
            return self._tier_name(self.tier_rank)
        return f"at least {self._tier_name(self.tier_rank)}" if self.tier_rank else "not known"

    @property
    def criteria(self) -> tuple[CriterionResult, ...]:
        """Every criterion, those in numbers first, then those in words."""
        numbers = tuple(self._result(ready) for ready in self.ready.criteria)
        words = tuple(_words_result(words, by) for words, by in self.ready.words if words.decides)
        return numbers + words

    @property
    def cautions(self) -> tuple[CriterionResult, ...]:
        """What the rule set leaves to judgement beside its limits; to be shown with any verdict."""
        return tuple(_words_result(words, by) for words, by in self.ready.words if not words.decides)

    @property
    def missing(self) -> tuple[str, ...]:
        """Quantities the rule set asks for that are not known, in words."""
        named = [name for result in self.criteria for name in result.missing]
        return tuple(dict.fromkeys(named))

    def _why_not_known(self) -> str:
        if not self.missing:
            return "only part of the shift was observed"
        *most, last = self.missing
        listed = f"{', '.join(most)} and {last}" if most else last
        return f"{listed} are missing"

    def _tier_name(self, rank: int) -> str:
        return self.ready.rule_set.tiers[rank - 1] if rank else NO_TIER

    def _result(self, ready: ReadyCriterion) -> CriterionResult:
        amount, open_ended = self.found[ready.measure]
        missing = _missing(self.ready.measures[ready.measure], self.quantities)
        nothing_known = len(missing) == len(self.ready.measures[ready.measure])
        met = ready.passes(amount, ready.bound)
        return CriterionResult(
            id=ready.criterion.id,
            says=ready.criterion.says,
            state=_state(met, open_ended),
            measured=None if nothing_known and not amount else amount,
            at_least=open_ended,
            missing=tuple(in_words(name) for name in missing),
            bound=ready.bound,
            operator=ready.criterion.operator,
            in_minutes=ready.in_minutes,
            margin=ready.bound - amount if met or not open_ended else None,
            tier=self._tier_name(max((tier.rank for tier in _reached(ready, amount)), default=0)),
            next_limit=None if open_ended else _next_limit(ready, amount),
            note=ready.criterion.note,
            citation=ready.citation,
            other_views=tuple(view.says for view in ready.criterion.other_view),
        )


def judge_shift(
    quantities: ShiftQuantities, book: Book, on: date, rub_policy: RubPolicy = RubPolicy.EXCLUDED
) -> tuple[RuleSetVerdict, ...]:
    """Judge one shift under every rule set, in force or not; each verdict says which.

    Parameters
    ----------
    quantities
        What the shift did to the hands. A limit per day is held against the shift as that day's work.
    book
        The knowledge that holds the rule sets.
    on
        Day of the shift.
    rub_policy
        Whether alcohol rubs are wet contact, and if so gels only or all.

    Returns
    -------
    tuple of RuleSetVerdict
        One for each rule set, in a fixed order.

    Notes
    -----
    What is not known never counts as zero: such a criterion is met if the known part alone passes it, and is
    otherwise not known. The same holds where only part of a shift was seen. "Regularly", which several sets
    ask for, can't be seen in one shift. A verdict is a reading of published limits, not a ruling of law.

    References
    ----------
    .. [1] TRGS 401 (2022), sections 3.3.6 and 7(2), GMBl 40/2022 p. 895; the other sources stand with each
       criterion.

    Examples
    --------
    14 washes and nothing else counted: nothing says that it is not wet work.

    >>> from thenar.knowledge import load
    >>> shift = ShiftQuantities(whole_shift=True, washes=14, glove_minutes=0, wet_minutes=30.0)
    >>> verdicts = {v.rule_set_id: v for v in judge_shift(shift, load(), date(2026, 11, 25))}
    >>> verdicts["wet-work.int-2-20-2"].says
    'not wet work by this rule set'
    >>> verdicts["wet-work.de-trgs-401-2022"].outcome
    <Outcome.NOT_KNOWN: 'not known'>
    >>> verdicts["wet-work.gb-hse"].says
    'cannot be judged by numbers (words only)'
    """
    return judge_by_matrix(quantities, rule_matrix(book, on, rub_policy))


def judge_by_matrix(quantities: ShiftQuantities, matrix: RuleMatrix) -> tuple[RuleSetVerdict, ...]:
    """As `judge_shift`, with the rule sets already made ready: for judging many shifts of one day."""
    found, rulings = rule_on(quantities, matrix)
    return tuple([RuleSetVerdict(ruling, quantities, found) for ruling in rulings])


def judge_shift_by(
    rule_set_id: str,
    quantities: ShiftQuantities,
    book: Book,
    on: date,
    rub_policy: RubPolicy = RubPolicy.EXCLUDED,
) -> RuleSetVerdict:
    """One named rule set's verdict; raise UnknownRuleSet, or RuleSetNotInForce if it did not apply."""
    rule_set_in_force(rule_set_id, book, on)
    return next(
        verdict
        for verdict in judge_shift(quantities, book, on, rub_policy)
        if verdict.rule_set_id == rule_set_id
    )


def _state(met: bool, open_ended: bool) -> CriterionState:
    if met:
        return CriterionState.MET
    return CriterionState.NOT_KNOWN if open_ended else CriterionState.NOT_MET


def _missing(measure: Measure, quantities: ShiftQuantities) -> tuple[str, ...]:
    return tuple(term.quantity for term in measure if getattr(quantities, term.quantity) is None)


def _reached(ready: ReadyCriterion, amount: float) -> list[ReadyTier]:
    return [tier for tier in ready.tiers if tier.passes(amount, tier.bound)]


def _next_limit(ready: ReadyCriterion, amount: float) -> NextLimit | None:
    """The lowest limit still ahead; where a tier starts at the criterion's own limit, that tier is named."""
    ahead = [
        NextLimit(tier.bound, tier.limit.operator, tier.limit.tier, tier.bound - amount)
        for tier in ready.tiers
        if not tier.passes(amount, tier.bound)
    ]
    if not ready.passes(amount, ready.bound):
        ahead.append(NextLimit(ready.bound, ready.criterion.operator, "", ready.bound - amount))
    return min(ahead, key=lambda limit: limit.bound, default=None)


def _words_result(words: InWords, citation: Citation) -> CriterionResult:
    return CriterionResult(
        id=words.id,
        says=words.says,
        state=CriterionState.IN_WORDS,
        measured=None,
        at_least=False,
        missing=(),
        bound=None,
        operator="",
        in_minutes=False,
        margin=None,
        tier="",
        next_limit=None,
        note=words.note,
        citation=citation,
        other_views=tuple(view.says for view in words.other_view),
    )
