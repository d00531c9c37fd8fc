"""How good are a clinic's patch-test preparations: reaction index, positivity ratio, irritant control?"""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum

from thenar.allergy.patch_intervals import Share, share_of
from thenar.allergy.patch_reading import irritant_control_reacted
from thenar.allergy.patch_rules import Caution, ReadingRules
from thenar.allergy.patch_test import POSITIVE, Kind, PatchGrade, PatchTest
from thenar.errors import BadInput
from thenar.knowledge import Book
from thenar.knowledge.entries import Citation, Value

NAME = "patch-test.quality."


class ImpossibleReactions(BadInput):
    """Counts of reactions that contradict each other."""

    def __init__(self, what: str) -> None:
        super().__init__(
            what=what,
            why="An index from such counts would mean nothing.",
            todo="Check the counts of this preparation against their source.",
        )


class Quality(StrEnum):
    """What the published cut-offs say of a preparation."""

    ACCEPTABLE = "acceptable"
    PROBLEMATIC = "problematic"
    NEITHER = "neither acceptable nor problematic"
    TOO_FEW = "too few to say"
    NOT_KNOWN = "not known"


@dataclass(frozen=True, slots=True)
class Cutoff:
    """The published cut-off at which one index becomes a problem, with its operator."""

    value: Value
    citation: Citation

    def is_problem(self, measured: float) -> bool:
        """Whether an index is on the wrong side."""
        return self.value.met_by(Decimal(repr(measured)))


@dataclass(frozen=True, slots=True)
class QualityRules:
    """Cut-offs for preparations. Make one with `quality_rules`.

    A preparation is acceptable if neither index is a problem, and problematic if both are.
    """

    positivity_ratio: Cutoff
    reaction_index: Cutoff
    caution: Caution


@dataclass(frozen=True, slots=True)
class Preparation:
    """What was put on: allergen, concentration, vehicle."""

    hapten: str
    concentration: str
    vehicle: str


@dataclass(frozen=True, slots=True)
class Reactions:
    """How the tests with one preparation came out. None where nobody counted, never 0. [counts]

    `allergic` are all weak, strong and extreme reactions, `weak` those of them that are weak. `unsettled`
    tests were not read on a day that counts and are in no other count, nor in `tests`.

    Raises
    ------
    ImpossibleReactions
        A count below 0, more weak than allergic reactions, or more reactions than tests.
    """

    allergic: int
    doubtful: int | None = None
    irritant: int | None = None
    weak: int | None = None
    tests: int | None = None
    unsettled: int = 0

    def __post_init__(self) -> None:
        counts = (self.allergic, self.doubtful, self.irritant, self.weak, self.tests, self.unsettled)
        if any(count is not None and count < 0 for count in counts):
            raise ImpossibleReactions("A count of reactions is below 0.")
        if self.weak is not None and self.weak > self.allergic:
            raise ImpossibleReactions(f"{self.weak} weak of {self.allergic} allergic reactions can't be.")
        reactions = self.allergic + (self.doubtful or 0) + (self.irritant or 0)
        if self.tests is not None and reactions > self.tests:
            raise ImpossibleReactions(f"{reactions} reactions in {self.tests} tests can't be.")

    @property
    def all_kinds(self) -> int | None:
        """Allergic, doubtful and irritant reactions together; None where one kind was not counted."""
        if self.doubtful is None or self.irritant is None:
            return None
        return self.allergic + self.doubtful + self.irritant


@dataclass(frozen=True, slots=True)
class ReactionIndex:
    """Allergic less doubtful and irritant reactions, for each of all of them. [-1 to 1]"""

    estimate: float
    lower: float
    upper: float
    reactions: int


@dataclass(frozen=True, slots=True)
class PreparationQuality:
    """What is known of one preparation.

    `positivity_ratio` is a share of weak among allergic reactions [0 to 1]. `settled` says that both 95 %
    intervals lie on one side of their cut-offs: a verdict that is not may turn with more tests.
    """

    reactions: Reactions
    reaction_index: ReactionIndex | None
    positivity_ratio: Share | None
    positive: Share | None
    quality: Quality
    settled: bool


@dataclass(frozen=True, slots=True)
class ControlUse:
    """How often an irritant control was put on beside the series, and how often the skin reacted to it."""

    used: Share | None
    reacted: Share | None


def quality_rules(book: Book, on: date) -> QualityRules:
    """The cut-offs in force on a day.

    Examples
    --------
    >>> from thenar.knowledge import load
    >>> rules = quality_rules(load(), date(2026, 11, 25))
    >>> rules.positivity_ratio.is_problem(0.55), rules.reaction_index.is_problem(0.46)
    (False, True)
    """
    ratio, index, caution = (
        book.rule(NAME + name).on(on) for name in ("positivity-ratio", "reaction-index", "caution")
    )
    return QualityRules(
        Cutoff(ratio, book.cite(ratio)),
        Cutoff(index, book.cite(index)),
        Caution(caution.text or "", (book.cite(caution),)),
    )


def reaction_index(
    allergic: int, doubtful: int, irritant: int, confidence: float = 0.95
) -> ReactionIndex | None:
    """How far a preparation's reactions are clearly allergic; None without a reaction.

    Parameters
    ----------
    allergic, doubtful, irritant
        Reactions of each kind. [counts]
    confidence
        Level of the interval. [above 0, below 1]

    Returns
    -------
    ReactionIndex or None
        From -1, none allergic, to 1, all allergic.

    Notes
    -----
    (a - q - i) / (a + q + i) is 2 p - 1 with p = a / (a + q + i), so the interval is that of the share p
    (Wilson), stretched. It shows chance alone: the index mostly mirrors how one clinic grades.

    References
    ----------
    .. [1] Reaction index: pubmed 8706393.
    .. [2] Mirrors reading habits: Andersen 2008, pubmed 18154555.

    Examples
    --------
    Propylene glycol 20 % in water: 1,044 allergic, 1,083 doubtful, 271 irritant.

    >>> index = reaction_index(1044, 1083, 271)
    >>> round(index.estimate, 3), round(index.lower, 3), round(index.upper, 3)
    (-0.129, -0.169, -0.089)
    """
    share = share_of(allergic, allergic + doubtful + irritant, confidence)
    if share is None:
        return None
    # From the counts: a rounded share would stand between them and the cut-off.
    estimate = (2 * share.part - share.whole) / share.whole
    return ReactionIndex(estimate, 2 * share.lower - 1, 2 * share.upper - 1, share.whole)


def positivity_ratio(weak: int, allergic: int) -> Share | None:
    """The share of weak reactions among all allergic ones; None without an allergic reaction. [0 to 1]

    Notes
    -----
    Weak over weak, strong and extreme, with a Wilson interval. The formula is from memory (Geier 2003,
    pubmed 12868978); the idea is in use by the North American group.

    Examples
    --------
    >>> positivity_ratio(11, 20).estimate
    0.55
    """
    return share_of(weak, allergic)


def judge_preparation(reactions: Reactions, rules: QualityRules) -> PreparationQuality:
    """Both indices of a preparation with their intervals, and what the published cut-offs make of them.

    Parameters
    ----------
    reactions
        How its tests came out.
    rules
        Hold the cut-offs.

    Returns
    -------
    PreparationQuality
        "Neither" where the two indices disagree; "not known" where a kind of reaction was not counted; "too
        few to say" where even the best result from so few would not be settled: were all reactions allergic
        and none weak, an interval would still reach over its cut-off.

    Notes
    -----
    The cut-offs are the medians of 79 preparations in one network, so half of any set lies beyond each.

    References
    ----------
    The cut-offs name theirs: `rules.positivity_ratio`, `rules.reaction_index`.

    Examples
    --------
    >>> from thenar.knowledge import load
    >>> quality = judge_preparation(Reactions(allergic=60, doubtful=15, irritant=5, weak=24, tests=900),
    ...     quality_rules(load(), date(2026, 11, 25)))
    >>> quality.quality.value, quality.settled
    ('acceptable', False)
    """
    index = _index_of(reactions)
    ratio = positivity_ratio(reactions.weak, reactions.allergic) if reactions.weak is not None else None
    quality = _quality(reactions, index, ratio, rules)
    return PreparationQuality(
        reactions,
        index,
        ratio,
        share_of(reactions.allergic, reactions.tests) if reactions.tests is not None else None,
        quality,
        quality not in (Quality.TOO_FEW, Quality.NOT_KNOWN) and _is_settled(index, ratio, rules),
    )


def count_reactions(tests: Iterable[PatchTest], rules: ReadingRules) -> dict[Preparation, Reactions]:
    """How the tests with each preparation came out on the days that count.

    Parameters
    ----------
    tests
        Any number of tests; controls and own products are left aside.
    rules
        Say which days count.

    Returns
    -------
    dict
        In the order in which preparations first occur. Each position counts once, by its strongest grade on
        the days that count: allergic before doubtful before irritant. A reaction after those days is not
        counted, as in the published indices; a position not read on them is unsettled.

    Examples
    --------
    >>> from datetime import date
    >>> from thenar.allergy.patch_test import Position, Reading
    >>> test = PatchTest(date(2026, 3, 2), None, (Position(1, "nickel-sulfate", "5", "pet"),),
    ...     (Reading(1, date(2026, 3, 6), PatchGrade.WEAK),))
    >>> from thenar.allergy.patch_rules import reading_rules
    >>> from thenar.knowledge import load
    >>> rules = reading_rules(load(), date(2026, 11, 25))
    >>> count_reactions([test], rules)[Preparation("nickel-sulfate", "5", "pet")]
    Reactions(allergic=1, doubtful=0, irritant=0, weak=1, tests=1, unsettled=0)
    """
    seen: dict[Preparation, Counter[PatchGrade | None]] = {}
    for test in tests:
        for position in test.of_kind(Kind.ALLERGEN):
            preparation = Preparation(position.hapten, position.concentration, position.vehicle)
            seen.setdefault(preparation, Counter())[_grade_that_counts(test, position.number, rules)] += 1
    return {preparation: _reactions(grades) for preparation, grades in seen.items()}


def control_use(tests: Sequence[PatchTest]) -> ControlUse:
    """How often the irritant control was used, and how often it reacted.

    Notes
    -----
    People who react to it show more doubtful and weak reactions, so a clinic without one can't tell those
    apart. A control that was put on and never read is in neither share.

    Examples
    --------
    >>> control_use([]).used is None
    True
    """
    answers = [irritant_control_reacted(test) for test in tests]
    read = [answer for answer in answers if answer is not None]
    return ControlUse(share_of(len(read), len(answers)), share_of(sum(read), len(read)))


def _index_of(reactions: Reactions) -> ReactionIndex | None:
    if reactions.doubtful is None or reactions.irritant is None:
        return None
    return reaction_index(reactions.allergic, reactions.doubtful, reactions.irritant)


def _quality(
    reactions: Reactions, index: ReactionIndex | None, ratio: Share | None, rules: QualityRules
) -> Quality:
    if index is None or reactions.weak is None:
        return Quality.NOT_KNOWN
    if ratio is None or _are_too_few(index.reactions, reactions.allergic, rules):
        return Quality.TOO_FEW
    many_weak = rules.positivity_ratio.is_problem(ratio.estimate)
    unclear = rules.reaction_index.is_problem(index.estimate)
    if many_weak and unclear:
        return Quality.PROBLEMATIC
    return Quality.NEITHER if many_weak or unclear else Quality.ACCEPTABLE


def _are_too_few(reactions: int, allergic: int, rules: QualityRules) -> bool:
    """Whether not even the best result from so few could be told from a problem."""
    best_index, best_ratio = reaction_index(reactions, 0, 0), positivity_ratio(0, allergic)
    return (
        best_index is None
        or best_ratio is None
        or rules.reaction_index.is_problem(best_index.lower)
        or rules.positivity_ratio.is_problem(best_ratio.upper)
    )


def _is_settled(index: ReactionIndex | None, ratio: Share | None, rules: QualityRules) -> bool:
    if index is None or ratio is None:
        return False
    return all(
        cutoff.is_problem(measured.lower) == cutoff.is_problem(measured.upper)
        for cutoff, measured in ((rules.reaction_index, index), (rules.positivity_ratio, ratio))
    )


def _grade_that_counts(test: PatchTest, position: int, rules: ReadingRules) -> PatchGrade | None:
    first, last = rules.positive_from.amount, rules.positive_to.amount
    grades = {grade for day, grade in test.days_of(position) if first <= day <= last}
    order = (*reversed(POSITIVE), PatchGrade.DOUBTFUL, PatchGrade.IRRITANT, PatchGrade.NEGATIVE)
    return next((grade for grade in order if grade in grades), None)


def _reactions(grades: Counter[PatchGrade | None]) -> Reactions:
    return Reactions(
        allergic=sum(grades[grade] for grade in POSITIVE),
        doubtful=grades[PatchGrade.DOUBTFUL],
        irritant=grades[PatchGrade.IRRITANT],
        weak=grades[PatchGrade.WEAK],
        tests=grades.total() - grades[None],
        unsettled=grades[None],
    )
