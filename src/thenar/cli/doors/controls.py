"""The door to comparing controls for an area and role."""

from dataclasses import asdict, dataclass
from datetime import date
from decimal import Decimal

from thenar.cli.doors import Cited, Door, cited, not_after
from thenar.cli.doors.care_acts import explain_kinds
from thenar.cli.doors.controls_given import BaselineGiven, ControlsGiven, WorkedShiftGiven
from thenar.cli.doors.shift import quantities_of
from thenar.exposure.controls import PlannedShift
from thenar.exposure.effects import Effect, Range
from thenar.exposure.floor import WorkedShift
from thenar.exposure.obligations import Obligations, obligations
from thenar.exposure.plan_costs import Costs, Prices, Spending
from thenar.exposure.plan_verdicts import VerdictChange, verdict_changes
from thenar.exposure.ranking import AreaRole, Baseline, Option, rank_plans
from thenar.exposure.rule_sets import RubPolicy
from thenar.knowledge import Book

REACHED = "controls.gloves-off.reached"


@dataclass(frozen=True, slots=True)
class ReasonAnswer:
    """A rule that asked for something, in how many acts. `held`: for want of an answer."""

    says: str
    asks: str
    acts: int
    held: bool
    seen_otherwise: tuple[str, ...]
    source: Cited


@dataclass(frozen=True, slots=True)
class BothAnswer:
    """Where skin protection and infection control point apart: both, for a person to choose."""

    act: str
    acts: int
    infection_control: str
    infection_control_source: Cited
    skin: str
    skin_source: Cited


@dataclass(frozen=True, slots=True)
class ObligationsAnswer:
    """The least a shift's acts required."""

    soap_acts: int
    rub_or_wash_acts: int
    gloves_sterile: int
    gloves_examination: int
    held_for_want_of_answers: int
    both_reasons: tuple[BothAnswer, ...]
    reasons: tuple[ReasonAnswer, ...]


@dataclass(frozen=True, slots=True)
class LoadAnswer:
    """A shift's load. Null is not known."""

    washes: int | None
    rubs: int | None
    wet_minutes: float | None
    pairs: int | None
    glove_minutes: float | None
    gloves_on_wet_skin: int | None
    cream_uses: int | None


@dataclass(frozen=True, slots=True)
class ShiftAnswer:
    """One shift under a plan: the load before and after, what was made good, and what the floor held back."""

    before: LoadAnswer
    after: LoadAnswer
    made_good: tuple[str, ...]
    held_back: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class EffectAnswer:
    """What one published ratio says. `fraction` null is not known, for the reason in `why_not_known`."""

    ratio: str
    says: str
    factor: str
    design: str
    association: bool
    turned_from_odds_ratio: bool
    fraction_of_cases_spared: Range | None
    why_not_known: str
    note: str
    seen_otherwise: tuple[str, ...]
    source: Cited


@dataclass(frozen=True, slots=True)
class CautionAnswer:
    """What must stand beside a plan."""

    says: str
    source: Cited


@dataclass(frozen=True, slots=True)
class OptionAnswer:
    """A plan. Null is not known, which is not none. Effects of several factors are never added."""

    plan: str
    does: tuple[str, ...]
    cases_spared_a_year: Range | None
    ranked_by: str | None
    chance_best: float | None
    chance_helps: float | None
    effects: tuple[EffectAnswer, ...]
    changes_of_unknown_effect: tuple[str, ...]
    costs: Costs
    verdicts: tuple[VerdictChange, ...]
    shifts: tuple[ShiftAnswer, ...]
    cautions: tuple[CautionAnswer, ...]


@dataclass(frozen=True, slots=True)
class ReachedAnswer:
    """What a campaign against unneeded gloves reached elsewhere; never taken as this site's."""

    share: Decimal
    seen_otherwise: tuple[str, ...]
    source: Cited


@dataclass(frozen=True, slots=True)
class ControlsAnswer:
    """The plans, best first; and whether that order is certain. Local infection control policy decides."""

    order: str
    certain: bool
    options: tuple[OptionAnswer, ...]
    obligations: tuple[ObligationsAnswer | None, ...]
    gloves_off_elsewhere: ReachedAnswer
    seed: int
    draws: int
    on: date
    edition: str


def _compute(given: ControlsGiven, book: Book, today: date) -> ControlsAnswer:
    on = not_after(given.on, today)
    shifts = tuple(_worked(one, book, on) for one in given.shifts)
    ranking = rank_plans(
        AreaRole(shifts, _baseline(given.baseline), given.shifts_a_year),
        [plan.plan() for plan in given.plans],
        book,
        on,
        seed=given.seed,
        prices=None if given.prices is None else Prices(**asdict(given.prices)),
        spending={plan.name: Spending(plan.once, plan.a_year) for plan in given.plans},
        draws=given.draws,
    )
    return ControlsAnswer(
        order=ranking.says,
        certain=ranking.certain,
        options=tuple(_option(each, given.rub_policy, book, on) for each in ranking.options),
        obligations=tuple(_obligations(shift.required) for shift in shifts),
        gloves_off_elsewhere=_reached(book, on),
        seed=ranking.seed,
        draws=ranking.draws,
        on=on,
        edition=ranking.edition,
    )


def _worked(given: WorkedShiftGiven, book: Book, on: date) -> WorkedShift:
    load = quantities_of(given.shift, book, on)
    acts = None if given.acts is None else [each.act() for each in given.acts]
    required = None if acts is None else obligations(acts, book, on)
    return WorkedShift(load, required, given.sterile_pairs)


def _baseline(given: BaselineGiven | None) -> Baseline | None:
    return None if given is None else Baseline(given.cases, given.person_years, given.people)


def _option(option: Option, rub_policy: RubPolicy, book: Book, on: date) -> OptionAnswer:
    return OptionAnswer(
        plan=option.plan.name,
        does=tuple(control.does for control in option.plan.controls),
        cases_spared_a_year=option.avoided,
        ranked_by=option.ranked_by.ratio.id if option.ranked_by else None,
        chance_best=option.chance_best,
        chance_helps=option.chance_helps,
        effects=tuple(_effect(each) for each in option.effects),
        changes_of_unknown_effect=option.not_known,
        costs=option.costs,
        verdicts=verdict_changes(option.shifts, book, on, rub_policy),
        shifts=tuple(_shift(each) for each in option.shifts),
        cautions=_cautions(option, book, on),
    )


def _effect(effect: Effect) -> EffectAnswer:
    ratio = effect.ratio
    return EffectAnswer(
        ratio=ratio.in_words,
        says=ratio.says,
        factor=ratio.factor,
        design=ratio.design,
        association=effect.association,
        turned_from_odds_ratio=effect.from_odds,
        fraction_of_cases_spared=effect.fraction,
        why_not_known=effect.why_not,
        note=ratio.note,
        seen_otherwise=tuple(f"{says} {citation.label}" for says, citation in effect.other_views),
        source=cited(ratio.id, effect.citation),
    )


def _cautions(option: Option, book: Book, on: date) -> tuple[CautionAnswer, ...]:
    known = [effect for effect in option.effects if effect.fraction is not None]
    named = [*option.plan.cautions]
    if any(effect.association for effect in known):
        named.append("controls.caution.association")
    if any(effect.from_odds for effect in known):
        named.append("controls.caution.odds-ratio")
    return tuple(_caution(rule_id, book, on) for rule_id in named)


def _caution(rule_id: str, book: Book, on: date) -> CautionAnswer:
    value = book.rule(rule_id).on(on)
    return CautionAnswer(value.text or "", cited(rule_id, book.cite(value)))


def _shift(planned: PlannedShift) -> ShiftAnswer:
    return ShiftAnswer(
        before=_load(planned.before),
        after=_load(planned.after),
        made_good=planned.made_good,
        held_back=tuple(says for step in planned.steps for says in step.held),
    )


def _load(shift: WorkedShift) -> LoadAnswer:
    load = shift.load
    return LoadAnswer(
        washes=load.washes,
        rubs=load.rubs,
        wet_minutes=load.wet_minutes,
        pairs=load.pairs,
        glove_minutes=load.glove_minutes,
        gloves_on_wet_skin=load.gloves_on_wet_skin,
        cream_uses=load.cream_uses,
    )


def _obligations(required: Obligations | None) -> ObligationsAnswer | None:
    if required is None:
        return None
    return ObligationsAnswer(
        soap_acts=required.soap_acts,
        rub_or_wash_acts=required.rub_or_wash_acts,
        gloves_sterile=required.gloves_sterile,
        gloves_examination=required.gloves_examination,
        held_for_want_of_answers=required.held,
        both_reasons=tuple(
            BothAnswer(
                act=both.kind,
                acts=both.acts,
                infection_control=both.infection_control,
                infection_control_source=cited(f"gloves.act.{both.kind}", both.infection_control_citation),
                skin=both.skin,
                skin_source=cited(f"gloves.act.{both.kind}", both.skin_citation),
            )
            for both in required.both_reasons
        ),
        reasons=tuple(
            ReasonAnswer(
                says=reason.says,
                asks=reason.asks,
                acts=reason.acts,
                held=reason.held,
                seen_otherwise=tuple(f"{says} {source.label}" for says, source in reason.other_views),
                source=cited(reason.rule_id, reason.citation),
            )
            for reason in required.reasons
        ),
    )


def _reached(book: Book, on: date) -> ReachedAnswer:
    value = book.rule(REACHED).on(on)
    views = book.entry(REACHED).other_views
    return ReachedAnswer(
        share=value.amount or Decimal(0),
        seen_otherwise=tuple(f"{says} {citation.label}" for says, citation in views),
        source=cited(REACHED, book.cite(value)),
    )


DOOR = Door("controls", ControlsGiven, ControlsAnswer, _compute, explain_kinds)
