"""The door to judging a shift under every wet-work rule set."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from pydantic import ConfigDict
from pydantic.dataclasses import dataclass as checked

from thenar.cli.doors import Cited, Door, Schema, cited, not_after
from thenar.cli.doors.shift import ShiftGiven, quantities_of
from thenar.exposure.rule_sets import (
    GOVERNING,
    RUB_WETS_FOR,
    RubPolicy,
    governing_rule_set,
    rule_set_in_force,
)
from thenar.exposure.self_report import Flip, try_report
from thenar.exposure.shift import ShiftQuantities
from thenar.exposure.wet_work import CriterionResult, NextLimit, RuleSetVerdict, judge_shift
from thenar.knowledge import Book


@checked(frozen=True, slots=True, kw_only=True, config=ConfigDict(extra="forbid", strict=True))
class WetWorkGiven:
    """A shift to judge. The day is the shift's `on`.

    `rule_set` asks for one by name, which must be in force. `self_reported` also tries the verdict with half
    the time and twice the count.
    """

    shift: ShiftGiven
    jurisdiction: str = "generic"
    rub_policy: RubPolicy = RubPolicy.EXCLUDED
    rule_set: str | None = None
    self_reported: bool = False


@dataclass(frozen=True, slots=True)
class CriterionAnswer:
    """One criterion. Amounts are in `unit`: minutes or count. `margin` is room left, negative when over."""

    rule: str
    says: str
    state: str
    measured: float | None
    at_least: bool
    missing: tuple[str, ...]
    operator: str
    limit: float | None
    unit: str
    margin: float | None
    tier: str
    next_limit: NextLimit | None
    note: str
    other_views: tuple[str, ...]
    source: Cited


@dataclass(frozen=True, slots=True)
class VerdictAnswer:
    """One rule set's verdict. `cautions` belong beside it whatever it says."""

    rule_set: str
    name: str
    jurisdiction: str
    in_force: bool
    standing: str
    governing: bool
    outcome: str
    verdict: str
    tier: str
    criteria: tuple[CriterionAnswer, ...]
    cautions: tuple[CriterionAnswer, ...]
    note: str
    dates: str


@dataclass(frozen=True, slots=True)
class ReportAnswer:
    """Which verdicts would not stand if the report is off, and whether to observe instead."""

    observe: bool
    says: str
    flips: tuple[Flip, ...]
    sources: tuple[Cited, ...]


@dataclass(frozen=True, slots=True)
class WetWorkAnswer:
    """Every rule set's verdict on one shift. "Not known" and "in words only" never mean that all is well."""

    quantities: ShiftQuantities
    jurisdiction: str
    governing: str
    governing_source: Cited
    rub_policy: str
    rub_source: Cited
    verdicts: tuple[VerdictAnswer, ...]
    self_report: ReportAnswer | None
    on: date
    edition: str


def _compute(given: WetWorkGiven, book: Book, today: date) -> WetWorkAnswer:
    on = not_after(given.shift.on, today)
    governing = governing_rule_set(given.jurisdiction, book, on)
    if given.rule_set is not None:
        rule_set_in_force(given.rule_set, book, on)
    quantities = quantities_of(given.shift, book, on)
    verdicts = judge_shift(quantities, book, on, given.rub_policy)
    named_by = GOVERNING + given.jurisdiction
    return WetWorkAnswer(
        quantities=quantities,
        jurisdiction=given.jurisdiction,
        governing=governing.id if governing else "not known",
        governing_source=cited(named_by, book.cite(book.rule(named_by).on(on))),
        rub_policy=given.rub_policy.value,
        rub_source=cited(RUB_WETS_FOR, book.cite(book.rule(RUB_WETS_FOR).on(on))),
        verdicts=tuple(
            _verdict(verdict, governing.id if governing else None)
            for verdict in verdicts
            if given.rule_set in (None, verdict.rule_set_id)
        ),
        self_report=_report(given, quantities, book, on) if given.self_reported else None,
        on=on,
        edition=book.edition,
    )


def _verdict(verdict: RuleSetVerdict, governing: str | None) -> VerdictAnswer:
    rule_set = verdict.ready.rule_set
    return VerdictAnswer(
        rule_set=rule_set.id,
        name=rule_set.name,
        jurisdiction=rule_set.jurisdiction,
        in_force=verdict.ready.in_force,
        standing=verdict.ready.standing,
        governing=rule_set.id == governing,
        outcome=verdict.outcome.value,
        verdict=verdict.says,
        tier=verdict.tier_says,
        criteria=tuple(map(_criterion, verdict.criteria)),
        cautions=tuple(map(_criterion, verdict.cautions)),
        note=rule_set.note,
        dates=rule_set.dates,
    )


def _criterion(result: CriterionResult) -> CriterionAnswer:
    return CriterionAnswer(
        rule=result.id,
        says=result.says,
        state=result.state.value,
        measured=result.measured,
        at_least=result.at_least,
        missing=result.missing,
        operator=result.operator,
        limit=result.bound,
        unit="minutes" if result.in_minutes else "count" if result.bound is not None else "words",
        margin=result.margin,
        tier=result.tier,
        next_limit=result.next_limit,
        note=result.note,
        other_views=result.other_views,
        source=cited(result.id, result.citation),
    )


def _report(given: WetWorkGiven, quantities: ShiftQuantities, book: Book, on: date) -> ReportAnswer:
    band = try_report(quantities, book, on, given.jurisdiction, given.rub_policy)
    return ReportAnswer(
        observe=band.observe,
        says=band.says,
        flips=band.flips,
        sources=tuple(cited(rule_id, citation) for rule_id, citation in band.citations),
    )


def _name_the_choices(schema: Schema, book: Book) -> Schema:
    """Add rule sets and jurisdictions: they stand in the book, not in the type."""
    properties: dict[str, Any] = dict(schema["properties"])
    places = [rule_id.removeprefix(GOVERNING) for rule_id in book.rules if rule_id.startswith(GOVERNING)]
    properties["jurisdiction"] = {"enum": places, "default": "generic"}
    properties["rule_set"] = {"enum": [*book.rule_sets, None], "default": None}
    return {**schema, "properties": properties}


DOOR = Door("wet-work", WetWorkGiven, WetWorkAnswer, _compute, _name_the_choices)
