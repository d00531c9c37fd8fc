"""Which named rule set may nobody's shift go over, and what of it does a duty search keep to?"""

from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from thenar.exposure.duty_terms import Bound, Ceiling, Measure, Within
from thenar.exposure.rule_sets import governing_rule_set
from thenar.knowledge import Book, Criterion, RuleSet

USUAL = "wet-work.int-2-20-2"
_ADDS_UP_TO = {frozenset(part.value for part in measure.adds): measure for measure in Measure}
_WITHIN = {">": Within.AT_MOST, ">=": Within.BELOW}  # a limit that is passed above it may itself be reached
_MINUTES_PER_HOUR = 60


@dataclass(frozen=True, slots=True)
class CeilingChoice:
    """A rule set in force with at least one number that the search can keep to.

    `kept` are the criteria the search keeps to, `not_checked` those that tasks say nothing about.
    """

    rule_set: RuleSet
    ceiling: Ceiling
    kept: tuple[Criterion, ...]
    not_checked: tuple[Criterion, ...]

    @property
    def kept_whole(self) -> bool:
        """Whether the search keeps to all of its numbers."""
        return not self.not_checked


@dataclass(frozen=True, slots=True)
class Ceilings:
    """The rule sets to choose from, the one that comes first by right first, and what is said of it."""

    choices: tuple[CeilingChoice, ...]
    says: str

    def chosen(self, rule_set_id: str) -> CeilingChoice | None:
        """The choice of that id."""
        return next((one for one in self.choices if one.rule_set.id == rule_set_id), None)


def ceilings(jurisdiction: str, book: Book, on: date) -> Ceilings:
    """The rule sets of a day that can bound a shift: the governing one, then those that are kept to whole.

    Examples
    --------
    >>> from thenar.knowledge import load
    >>> offered = ceilings("GB", load(), date(2026, 11, 25))
    >>> offered.choices[0].rule_set.name, offered.choices[0].ceiling.wet_and_glove_minutes.most
    ('UK health service (NHS Grampian)', 119)
    >>> offered.says
    'UK regulator (HSE) governs here and gives no number a search could keep to; choose whose numbers count.'
    """
    governing = governing_rule_set(jurisdiction, book, on)
    found = [
        choice
        for one in book.rule_sets.values()
        if one.in_force_on(on) and (choice := _choice(one)) is not None
    ]

    def place(choice: CeilingChoice) -> tuple[bool, bool, bool, bool, str]:
        own = choice.rule_set
        governs = governing is not None and own.id == governing.id
        elsewhere = own.jurisdiction != jurisdiction
        return not governs, not choice.kept_whole, elsewhere, own.id != USUAL, own.name

    return Ceilings(tuple(sorted(found, key=place)), _says(governing, found))


def _says(governing: RuleSet | None, found: list[CeilingChoice]) -> str:
    if governing is None:
        return "Which rule set governs here is not known; choose whose numbers count."
    if any(choice.rule_set.id == governing.id for choice in found):
        return f"{governing.name} governs here."
    return (
        f"{governing.name} governs here and gives no number a search could keep to; "
        "choose whose numbers count."
    )


def _choice(rule_set: RuleSet) -> CeilingChoice | None:
    ceiling = Ceiling(rule_set.name)
    kept: list[Criterion] = []
    not_checked: list[Criterion] = []
    for criterion in rule_set.criterion:
        measure = _ADDS_UP_TO.get(frozenset(criterion.adds))
        if measure is None:
            not_checked.append(criterion)
            continue
        kept.append(criterion)
        ceiling = _tightened(ceiling, measure, _bound(criterion))
    return CeilingChoice(rule_set, ceiling, tuple(kept), tuple(not_checked)) if kept else None


def _tightened(ceiling: Ceiling, measure: Measure, bound: Bound) -> Ceiling:
    now = ceiling.of(measure)
    if now is not None and now.most <= bound.most:
        return ceiling
    return replace(ceiling, **{measure.value: bound})  # type: ignore[arg-type]


def _bound(criterion: Criterion) -> Bound:
    scale = _MINUTES_PER_HOUR if criterion.unit.startswith("h/") else 1
    return Bound(Decimal(criterion.amount) * scale, _WITHIN[criterion.operator])
