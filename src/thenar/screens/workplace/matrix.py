"""The rule matrix as a page shows it: each rule set's verdict, its nearest limit, every limit by itself."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from thenar.exposure.rule_matrix import Outcome
from thenar.exposure.rule_sets import RubPolicy
from thenar.exposure.self_report import Reading, ReportBand, try_report
from thenar.exposure.shift import ShiftQuantities
from thenar.exposure.wet_work import CriterionResult, CriterionState, RuleSetVerdict, judge_shift
from thenar.knowledge import Book
from thenar.screens.clinic.reasons import Reason, reason_for
from thenar.screens.workplace.wording import exact, passes_in_words

_MARKS = {
    Outcome.WET_WORK: "met",
    Outcome.NOT_WET_WORK: "not-met",
    Outcome.IN_WORDS: "words",
    Outcome.NOT_KNOWN: "not-known",
}


@dataclass(frozen=True, slots=True)
class LimitRow:
    """One limit of a rule set. Figures are in minutes or counts."""

    says: str
    state: str
    measured: str
    limit: str
    margin: str
    reason: Reason


@dataclass(frozen=True, slots=True)
class RuleSetRow:
    """One rule set. `mark` is met, not-met, words or not-known."""

    name: str
    jurisdiction: str
    standing: str
    in_force: bool
    governing: bool
    mark: str
    verdict: str
    tier: str
    nearest: str
    limits: tuple[LimitRow, ...]
    cautions: tuple[LimitRow, ...]
    note: str
    dates: str


@dataclass(frozen=True, slots=True)
class TrustRow:
    """One rule set's verdict under the three readings of the counts, each with its name."""

    name: str
    governing: bool
    readings: tuple[tuple[str, str], ...]
    flips: bool


@dataclass(frozen=True, slots=True)
class Trust:
    """Whether the verdicts would stand if the counts were a report that is off."""

    observe: bool
    says: str
    readings: tuple[str, ...]
    rows: tuple[TrustRow, ...]
    reasons: tuple[Reason, ...]


def rule_rows(
    usual: ShiftQuantities, book: Book, on: date, policy: RubPolicy, governing: str
) -> tuple[RuleSetRow, ...]:
    """Every rule set on a usual shift: the governing one first, then those in force, then the others."""
    rows = [_row(verdict, book, governing) for verdict in judge_shift(usual, book, on, policy)]
    return tuple(sorted(rows, key=lambda row: (not row.governing, not row.in_force)))


def trust_in(usual: ShiftQuantities, book: Book, on: date, jurisdiction: str, policy: RubPolicy) -> Trust:
    """The verdicts as logged, with half the time, and with twice the count."""
    band = try_report(usual, book, on, jurisdiction, policy)
    return Trust(
        observe=band.observe,
        says=band.says,
        readings=tuple(reading.value for reading in Reading),
        rows=_trust_rows(band),
        reasons=tuple(reason_for(rule_id, book) for rule_id, _ in band.citations),
    )


def _trust_rows(band: ReportBand) -> tuple[TrustRow, ...]:
    by_set = zip(*(band.verdicts[reading] for reading in Reading), strict=True)
    flipped = {flip.rule_set_id for flip in band.flips}
    rows = [
        TrustRow(
            name=read[0].ready.rule_set.name,
            governing=read[0].rule_set_id == band.governing,
            readings=tuple(
                (reading.value, in_short(verdict)) for reading, verdict in zip(Reading, read, strict=True)
            ),
            flips=read[0].rule_set_id in flipped,
        )
        for read in by_set
        if read[0].ready.in_force and read[0].ready.criteria
    ]
    return tuple(sorted(rows, key=lambda row: (not row.governing, not row.flips)))


def in_short(verdict: RuleSetVerdict) -> str:
    """A verdict in a few words, with its tier."""
    said = {
        Outcome.WET_WORK: verdict.ready.rule_set.calls_it,
        Outcome.NOT_WET_WORK: "no limit passed",
        Outcome.IN_WORDS: "words only",
        Outcome.NOT_KNOWN: "not known",
    }[verdict.outcome]
    return f"{said}, {verdict.tier_says}" if verdict.ready.rule_set.tiers and verdict.tier_rank else said


def _row(verdict: RuleSetVerdict, book: Book, governing: str) -> RuleSetRow:
    rule_set, results = verdict.ready.rule_set, verdict.criteria
    return RuleSetRow(
        name=rule_set.name,
        jurisdiction=rule_set.jurisdiction,
        standing=verdict.ready.standing,
        in_force=verdict.ready.in_force,
        governing=rule_set.id == governing,
        mark=_MARKS[verdict.outcome],
        verdict=verdict.says,
        tier=verdict.tier_says if rule_set.tiers else "",
        nearest=_nearest(results),
        limits=tuple(_limit(result, book) for result in results),
        cautions=tuple(_limit(result, book) for result in verdict.cautions),
        note=rule_set.note,
        dates=rule_set.dates,
    )


def _limit(result: CriterionResult, book: Book) -> LimitRow:
    unit = " min" if result.in_minutes else ""
    return LimitRow(
        says=result.says,
        state=result.state.value,
        measured=_measured(result, unit),
        limit=f"{passes_in_words(result.operator, result.bound)}{unit}" if result.bound is not None else "",
        margin=_margin(result, unit),
        reason=reason_for(result.id, book, note=result.note),
    )


def _measured(result: CriterionResult, unit: str) -> str:
    if result.measured is None:
        return "" if result.state is CriterionState.IN_WORDS else "not known"
    return f"{'at least ' if result.at_least else ''}{exact(result.measured)}{unit}"


def _margin(result: CriterionResult, unit: str) -> str:
    if result.margin is None:
        return ""
    if result.margin == 0:
        return "at the limit"
    return f"{exact(abs(result.margin))}{unit} {'over' if result.margin < 0 else 'below'}"


def _nearest(results: Sequence[CriterionResult]) -> str:
    """The limit passed by most, or else the one with least room, as a share of the limit."""
    weighed = [result for result in results if result.margin is not None and result.bound]
    if not weighed:
        return ""
    nearest = min(weighed, key=lambda result: (result.margin or 0) / (result.bound or 1))
    unit = " min" if nearest.in_minutes else ""
    return f"{nearest.says.rstrip('.')}: {_measured(nearest, unit)} expected, {_margin(nearest, unit)}"
