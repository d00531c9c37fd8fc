"""Which plan spares an area the most cases, how sure is that, and what does it cost?"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from datetime import date
from decimal import Decimal
from math import isfinite

import numpy as np

from thenar.errors import BadInput
from thenar.exposure.attributable import Draws
from thenar.exposure.controls import MOST, Plan, PlannedShift, plan_shift, refuse_unusable_plan
from thenar.exposure.effects import (
    Chance,
    Effect,
    Range,
    chance_for,
    changes_without_ratio,
    effects_of,
    in_range,
)
from thenar.exposure.floor import WorkedShift
from thenar.exposure.plan_costs import Costs, Prices, Spending, costs_of
from thenar.knowledge import Book

CERTAIN = "controls.certain-from"
MOST_SHIFTS = 400
MOST_PLANS = 40
MOST_DRAWS = 200_000
_A_TIE = 1e-12


@dataclass(frozen=True, slots=True)
class Baseline:
    """The site's own cases and person-years in this area and role, and the people there now."""

    cases: int
    person_years: float
    people: int


@dataclass(frozen=True, slots=True)
class AreaRole:
    """An area and role: shifts as worked, and the site's own baseline if it knows one."""

    shifts: tuple[WorkedShift, ...]
    baseline: Baseline | None = None
    shifts_a_year: int | None = None


@dataclass(frozen=True, slots=True)
class Option:
    """A plan with what it does to the load, to cases and to money.

    `ranked_by` is the effect it is ranked by: of each factor's first ratio that applies, the least
    favourable. `avoided` is cases a year. `chance_best` is among the plans whose effect is known;
    `chance_helps` is the chance that it spares any case. None is "not known".
    """

    plan: Plan
    shifts: tuple[PlannedShift, ...]
    effects: tuple[Effect, ...]
    ranked_by: Effect | None
    not_known: tuple[str, ...]
    avoided: Range | None
    chance_best: float | None
    chance_helps: float | None
    costs: Costs


@dataclass(frozen=True, slots=True)
class Ranking:
    """The plans, best first, then those whose effect is not known; and whether the order is certain."""

    options: tuple[Option, ...]
    certain: bool
    says: str
    draws: int
    seed: int
    edition: str


class UnusableRanking(BadInput):
    """A ranking that can't be made."""

    def __init__(self, field: str, says: str) -> None:
        super().__init__(
            what=f"{field}: {says}.",
            why="The order of the plans would rest on something that can't be.",
            todo=f"Correct {field}.",
        )


@dataclass(frozen=True, slots=True)
class _Weighed:
    """A plan's effects with the draws of the one it is ranked by."""

    plan: Plan
    shifts: tuple[PlannedShift, ...]
    effects: tuple[Effect, ...]
    ranked_by: Effect | None
    draws: Draws | None
    not_known: tuple[str, ...]


def rank_plans(
    area_role: AreaRole,
    plans: Sequence[Plan],
    book: Book,
    on: date,
    *,
    seed: int,
    prices: Prices | None = None,
    spending: Mapping[str, Spending] | None = None,
    draws: int = 20_000,
) -> Ranking:
    """Rank plans for an area and role by the cases they are expected to spare.

    Parameters
    ----------
    area_role
        Shifts as worked, each whole, and the site's own cases, person-years and people.
    plans
        The plans to compare. [1 to 40, each with its own name]
    book
        The knowledge that holds the risk ratios.
    on
        Day whose rules are used.
    seed
        Makes the draws repeatable. [0 or more]
    prices, spending
        The site's own prices, and what each plan costs by name. What is missing makes a cost "not known".
    draws
        How many draws carry the intervals through. [1000 to 200 000]

    Returns
    -------
    Ranking
        Plans by expected cases spared, each with interval, chance of being best, and cost.

    Raises
    ------
    UnusableRanking
        No shifts or plans, two plans of one name, or a number out of range.
    UnusablePlan
        A control has a figure out of range.

    Notes
    -----
    Cases spared are the site's own rate times people times the fraction spared; without a baseline plans are
    ranked by the fraction. The rate is drawn from a gamma distribution with half a case added, the fraction
    from published intervals. Plans resting on one ratio rise and fall together. Where a plan's effect is not
    known it is listed last and may still be the best.

    Examples
    --------
    >>> from thenar.exposure.controls import CreamAtBreaks, WashToRub
    >>> from thenar.exposure.obligations import Obligations
    >>> from thenar.exposure.shift import ShiftQuantities
    >>> from thenar.knowledge import load
    >>> required = Obligations(6, 30, 0, 0, 0, (), (), "2026.1")
    >>> shift = WorkedShift(ShiftQuantities(whole_shift=True, washes=22, rubs=20, cream_uses=2), required)
    >>> ranking = rank_plans(
    ...     AreaRole((shift,), Baseline(cases=6, person_years=30.0, people=30)),
    ...     [Plan("cream", (CreamAtBreaks(2),)), Plan("rub", (WashToRub(),))],
    ...     load(), date(2026, 11, 25), seed=1)
    >>> [(option.plan.name, option.avoided is not None) for option in ranking.options]
    [('rub', True), ('cream', False)]
    >>> round(ranking.options[0].avoided.estimate, 1)
    2.4
    """
    _refuse_unusable(area_role, plans, draws, seed)
    chance = chance_for(len(area_role.shifts), draws, seed)
    weighed = [_weigh(area_role, plan, book, chance) for plan in plans]
    yearly = _cases_a_year(area_role.baseline, chance)
    best = _chances_best([each.draws for each in weighed], yearly)
    options = [
        _option(
            each,
            area_role,
            chance_best=chance_best,
            yearly=yearly,
            prices=prices or Prices(),
            spending=(spending or {}).get(each.plan.name, Spending()),
        )
        for each, chance_best in zip(weighed, best, strict=True)
    ]
    ordered = tuple(sorted(options, key=_order))
    certain, says = _how_certain(ordered, book, on)
    return Ranking(ordered, certain, says, draws, seed, book.edition)


def refuse_impossible_load(shift: WorkedShift, field: str) -> None:
    """Refuse a load with a negative or absurd figure, naming it.

    Raises
    ------
    UnusableRanking
        A count or a time is below 0, above one a minute all day, or not a number.
    """
    for each in fields(shift.load):
        figure = getattr(shift.load, each.name)
        if figure is None or isinstance(figure, bool | str):
            continue
        if not isfinite(figure) or not 0 <= figure <= MOST:
            raise UnusableRanking(f"{field}.{each.name}", f"is {figure!r}; it must be from 0 to {MOST}")
    sterile, pairs = shift.sterile_pairs, shift.load.pairs
    if sterile is not None and not 0 <= sterile <= (MOST if pairs is None else pairs):
        raise UnusableRanking(f"{field}.sterile_pairs", f"is {sterile!r}; it must be from 0 to all pairs")


def _refuse_unusable(area_role: AreaRole, plans: Sequence[Plan], draws: int, seed: int) -> None:
    if not 1 <= len(area_role.shifts) <= MOST_SHIFTS:
        raise UnusableRanking("shifts", f"has {len(area_role.shifts)}; it must have from 1 to {MOST_SHIFTS}")
    if not 1 <= len(plans) <= MOST_PLANS:
        raise UnusableRanking("plans", f"has {len(plans)}; it must have from 1 to {MOST_PLANS}")
    if not 1_000 <= draws <= MOST_DRAWS:
        raise UnusableRanking("draws", f"is {draws!r}; it must be from 1000 to {MOST_DRAWS}")
    if seed < 0:
        raise UnusableRanking("seed", f"is {seed!r}; it must be 0 or more")
    names = [plan.name for plan in plans]
    for place, plan in enumerate(plans):
        if plan.name in names[:place]:
            raise UnusableRanking(f"plans[{place}].name", f"{plan.name!r} stands twice")
        refuse_unusable_plan(plan, f"plans[{place}]")
    for place, shift in enumerate(area_role.shifts):
        refuse_impossible_load(shift, f"shifts[{place}]")
    if area_role.baseline is not None:
        _refuse_baseline(area_role.baseline)


def _refuse_baseline(baseline: Baseline) -> None:
    if baseline.cases < 0:
        raise UnusableRanking("baseline.cases", f"is {baseline.cases!r}; it must be 0 or more")
    if not isfinite(baseline.person_years) or baseline.person_years <= 0:
        raise UnusableRanking("baseline.person_years", f"is {baseline.person_years!r}; it must be above 0")
    if baseline.people < 1:
        raise UnusableRanking("baseline.people", f"is {baseline.people!r}; it must be 1 or more")


def _weigh(area_role: AreaRole, plan: Plan, book: Book, chance: Chance) -> _Weighed:
    planned = tuple(plan_shift(shift, plan) for shift in area_role.shifts)
    before = [one.before.load for one in planned]
    after = [one.after.load for one in planned]
    found = effects_of(before, after, book, chance)
    first: dict[str, tuple[Effect, Draws]] = {}
    for effect, draws in found:
        if effect.fraction is not None and draws is not None:
            first.setdefault(effect.ratio.factor, (effect, draws))
    least = min(first.values(), key=lambda pair: _estimate(pair[0]), default=None)
    unknown = {effect.ratio.factor for effect, _ in found} - set(first)
    return _Weighed(
        plan=plan,
        shifts=planned,
        effects=tuple(effect for effect, _ in found),
        ranked_by=least[0] if least else None,
        draws=least[1] if least else None,
        not_known=(*sorted(unknown), *changes_without_ratio(before, after, book)),
    )


def _estimate(effect: Effect) -> float:
    assert effect.fraction is not None
    return effect.fraction.estimate


def _cases_a_year(baseline: Baseline | None, chance: Chance) -> Draws | None:
    """Plausible cases a year among the people there now (Jeffreys prior: half a case added)."""
    if baseline is None:
        return None
    stream = np.random.default_rng([chance.seed, 0])
    rate = stream.standard_gamma(baseline.cases + 0.5, chance.draws) / baseline.person_years
    return np.asarray(rate * baseline.people)


def _chances_best(draws: Sequence[Draws | None], yearly: Draws | None) -> list[float | None]:
    """How often each plan is the best of those known; those that tie share the honour."""
    known = [each if yearly is None else each * yearly for each in draws if each is not None]
    if not known:
        return [None for _ in draws]
    table = np.vstack(known)
    best = table >= table.max(axis=0) - _A_TIE
    shares = iter((best / best.sum(axis=0)).mean(axis=1).tolist())
    return [None if each is None else next(shares) for each in draws]


def _option(
    weighed: _Weighed,
    area_role: AreaRole,
    *,
    chance_best: float | None,
    yearly: Draws | None,
    prices: Prices,
    spending: Spending,
) -> Option:
    avoided = _avoided(weighed, area_role.baseline, yearly)
    people = area_role.baseline.people if area_role.baseline else None
    return Option(
        plan=weighed.plan,
        shifts=weighed.shifts,
        effects=weighed.effects,
        ranked_by=weighed.ranked_by,
        not_known=weighed.not_known,
        avoided=avoided,
        chance_best=chance_best,
        chance_helps=None if weighed.draws is None else float((weighed.draws > 0).mean()),
        costs=costs_of(
            weighed.shifts,
            people=people,
            shifts_a_year=area_role.shifts_a_year,
            avoided=avoided,
            prices=prices,
            spending=spending,
        ),
    )


def _avoided(weighed: _Weighed, baseline: Baseline | None, yearly: Draws | None) -> Range | None:
    if weighed.ranked_by is None or weighed.draws is None or baseline is None or yearly is None:
        return None
    rate = baseline.cases / baseline.person_years
    return in_range(rate * baseline.people * _estimate(weighed.ranked_by), weighed.draws * yearly)


def _order(option: Option) -> tuple[bool, float]:
    if option.ranked_by is None:
        return True, 0.0
    return False, -_estimate_of(option)


def _how_certain(options: tuple[Option, ...], book: Book, on: date) -> tuple[bool, str]:
    known = [option for option in options if option.chance_best is not None]
    unknown = len(options) - len(known)
    rest = f" The effect of {unknown} more is not known; one of them may be better." if unknown else ""
    if not known:
        return False, "The effect of no plan is known, so there is no order."
    first = known[0]
    if len(known) == 1:
        return (
            False,
            f"Only the effect of {first.plan.name!r} is known: there is nothing to rank it with.{rest}",
        )
    if _estimate_of(first) <= 0:
        return False, f"No plan whose effect is known is expected to spare cases.{rest}"
    limit = book.rule(CERTAIN).on(on)
    sure = min(first.chance_best or 0, first.chance_helps or 0)
    often = f"{first.chance_best:.0%}".replace("%", " %")
    share = f"{first.plan.name!r} is best in {often} of the draws."
    if not unknown and limit.met_by(Decimal(str(sure))):
        return True, share
    return False, f"The order is not certain: {share}{rest}"


def _estimate_of(option: Option) -> float:
    return 0.0 if option.ranked_by is None else _estimate(option.ranked_by)
