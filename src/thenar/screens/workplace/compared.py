"""Controls compared for a post: new loads and verdicts, cases spared, costs, what the floor held back."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from thenar.exposure.controls import Plan, PlannedShift
from thenar.exposure.effects import Effect, Range
from thenar.exposure.floor import WorkedShift
from thenar.exposure.plan_costs import Costs, Prices, Spending
from thenar.exposure.plan_verdicts import VerdictChange, verdict_changes
from thenar.exposure.ranking import AreaRole, Baseline, Option, rank_plans
from thenar.exposure.rule_sets import RubPolicy
from thenar.exposure.tally import in_words
from thenar.knowledge import Book
from thenar.screens.clinic.reasons import Reason, reason_for
from thenar.screens.workplace.drawn_shifts import some_of
from thenar.screens.workplace.exposure_of import SEED, PartExposure, PostExposure, asked_of, shifts_drawn
from thenar.screens.workplace.wording import about, percent

SHIFTS, DRAWS = 100, 10_000
LOADS = {
    "washes": "Washes",
    "rubs": "Rubs",
    "wet_minutes": "Wet minutes",
    "pairs": "Pairs of gloves",
    "glove_minutes": "Glove minutes",
    "gloves_on_wet_skin": "Pairs on wet skin",
    "cream_uses": "Uses of cream",
}

COSTS_IN_WORDS = {"once": "what it costs once", "a_year": "what it costs a year"}
LEADING = ("washes", "rubs", "wet_minutes", "glove_minutes")


@dataclass(frozen=True, slots=True)
class LoadChange:
    """One load of a usual shift before and after a plan."""

    label: str
    before: str
    after: str
    changed: bool
    leads: bool


@dataclass(frozen=True, slots=True)
class EffectView:
    """What one published ratio says of a plan."""

    says: str
    spared: str
    between: str
    why_not: str
    association: bool
    ratio: str
    reason: Reason


@dataclass(frozen=True, slots=True)
class HeldBack:
    """What the floor held back, or made good, and in how many of the shifts."""

    says: str
    shifts: int


@dataclass(frozen=True, slots=True)
class Compared:
    """A plan, for a page. Empty words are "not known", which is said."""

    name: str
    place: str
    loads: tuple[LoadChange, ...]
    verdicts: tuple[VerdictChange, ...]
    effects: tuple[EffectView, ...]
    not_known: tuple[str, ...]
    avoided: str
    share: str
    ranked_by: str
    chance_best: str
    chance_helps: str
    costs: Costs
    missing: tuple[str, ...]
    saved: str
    held: tuple[HeldBack, ...]
    cautions: tuple[Reason, ...]
    expected: dict[str, Any]

    @property
    def changes(self) -> bool:
        """Whether any load changes."""
        return any(load.changed for load in self.loads)


@dataclass(frozen=True, slots=True)
class Comparison:
    """All plans, best first, and whether that order is certain. Every plan makes the same good first."""

    says: str
    certain: bool
    plans: tuple[Compared, ...]
    shifts: int
    floor_known: bool
    made_good: tuple[HeldBack, ...]


def compare(
    post: PostExposure,
    part: PartExposure,
    plans: Sequence[Plan],
    *,
    book: Book,
    on: date,
    policy: RubPolicy,
    drawn_id: str,
    baseline: Baseline | None = None,
    shifts_a_year: int | None = None,
    prices: Prices | None = None,
    spending: Mapping[str, Spending] | None = None,
) -> Comparison:
    """Compare plans on shifts to come of a post.

    Parameters
    ----------
    post, part
        Whose shifts, in which part of the day.
    plans
        The plans, each with its own name.
    book, on, policy
        As for `judge_shift`.
    drawn_id
        The rule set whose verdicts lead.
    baseline, shifts_a_year, prices, spending
        The site's own figures; what is missing makes a result "not known".

    Raises
    ------
    UnusablePlan, UnusableRanking
        A figure is out of range.

    Notes
    -----
    The shifts are drawn from what is known of the post. An interval of cases carries the published ratio and
    the spread of the shifts, not how well this post's own rate is known.
    """
    asked = asked_of(post.post.described, book, on)
    required, sterile = (asked.required, asked.done.sterile_pairs) if asked else (None, None)
    shifts = tuple(
        WorkedShift(
            load, required, None if sterile is None or load.pairs is None else min(sterile, load.pairs)
        )
        for load in some_of(shifts_drawn(post, part), SHIFTS)
    )
    ranking = rank_plans(
        AreaRole(shifts, baseline, shifts_a_year),
        plans,
        book,
        on,
        seed=SEED,
        prices=prices,
        spending=spending,
        draws=DRAWS,
    )
    views = tuple(
        _compared(option, place, _verdicts(option, book, on, policy, drawn_id), book, on)
        for place, option in enumerate(ranking.options, start=1)
    )
    made_good = _counted(says for one in ranking.options[0].shifts for says in one.made_good)
    return Comparison(ranking.says, ranking.certain, views, SHIFTS, required is not None, made_good)


def _verdicts(
    option: Option, book: Book, on: date, policy: RubPolicy, drawn_id: str
) -> tuple[VerdictChange, ...]:
    """Verdicts by every rule set in force that has numbers: the one whose limits are drawn comes first."""
    found = verdict_changes(option.shifts, book, on, policy)
    counted = [one for one in found if _has_numbers(book, one, on)]
    return tuple(sorted(counted, key=lambda one: one.rule_set_id != drawn_id))


def _compared(
    option: Option, place: int, verdicts: tuple[VerdictChange, ...], book: Book, on: date
) -> Compared:
    known = option.ranked_by is not None
    return Compared(
        name=option.plan.name,
        place=f"Place {place}" if known else "Effect not known",
        loads=tuple(_load_change(name, label, option.shifts) for name, label in LOADS.items()),
        verdicts=verdicts,
        effects=tuple(_effect(one, book) for one in option.effects),
        not_known=tuple(in_words(name) for name in option.not_known),
        avoided=_cases(option.avoided),
        share=_share(option.ranked_by.fraction) if option.ranked_by else "",
        ranked_by=option.ranked_by.ratio.says if option.ranked_by else "",
        chance_best="" if option.chance_best is None else percent(option.chance_best),
        chance_helps="" if option.chance_helps is None else percent(option.chance_helps),
        costs=option.costs,
        missing=tuple(COSTS_IN_WORDS.get(name, name) for name in option.costs.missing),
        saved=_money(option.costs.saved_on_cases_a_year),
        held=_counted(says for one in option.shifts for step in one.steps for says in _once(step.held)),
        cautions=tuple(reason_for(key, book, says=_text(key, book, on)) for key in _cautions(option)),
        expected=_expected(option, verdicts),
    )


def _has_numbers(book: Book, verdict: VerdictChange, on: date) -> bool:
    rule_set = book.rule_sets[verdict.rule_set_id]
    return rule_set.in_force_on(on) and bool(rule_set.criterion)


def mean_of(shifts: Sequence[PlannedShift], name: str, *, after: bool) -> float | None:
    """The mean of a load over the shifts; None as soon as one is not known."""
    loads = [getattr((one.after if after else one.before).load, name) for one in shifts]
    return None if None in loads else sum(loads) / len(loads)


def _load_change(name: str, label: str, shifts: Sequence[PlannedShift]) -> LoadChange:
    before, after = (mean_of(shifts, name, after=each) for each in (False, True))
    return LoadChange(label, _mean_words(before), _mean_words(after), before != after, name in LEADING)


def _mean_words(mean: float | None) -> str:
    return "not known" if mean is None else about(mean)


def _effect(effect: Effect, book: Book) -> EffectView:
    spread = effect.fraction
    return EffectView(
        says=effect.ratio.says,
        spared="" if spread is None else _signed(spread.estimate),
        between="" if spread is None else f"{_signed(spread.lower)} to {_signed(spread.upper)}",
        why_not=effect.why_not,
        association=effect.association,
        ratio=effect.ratio.in_words,
        reason=reason_for(effect.ratio.id, book, note=effect.ratio.note),
    )


def _share(spared: Range | None) -> str:
    if spared is None:
        return ""
    return f"{_signed(spared.estimate)} ({_signed(spared.lower)} to {_signed(spared.upper)})"


def _signed(share: float) -> str:
    return f"{share:z.0%}".replace("%", " %").replace("-", "−")


def _cases(avoided: Range | None) -> str:
    if avoided is None:
        return ""
    return f"{avoided.estimate:z.1f} ({avoided.lower:z.1f} to {avoided.upper:z.1f})".replace("-", "−")


def _money(saved: Range | None) -> str:
    return "" if saved is None else f"{saved.estimate:,.0f} ({saved.lower:,.0f} to {saved.upper:,.0f})"


def _once(said: Sequence[str]) -> tuple[str, ...]:
    """What was held in one step, without the counts, which differ from shift to shift."""
    return tuple(dict.fromkeys(_without_counts(says) for says in said))


def _without_counts(says: str) -> str:
    if says.startswith("Only ") and " could be spared" in says:
        what = says.split(" could be spared", maxsplit=1)[0].split(" of ", 1)[1].split(" ", 1)[1]
        return f"Not all {what} asked for could be spared: they were required."
    return says


def _counted(said: Any) -> tuple[HeldBack, ...]:
    plain = Counter(_plain(says) for says in said)
    return tuple(HeldBack(says, count) for says, count in plain.most_common())


def _plain(says: str) -> str:
    """A sentence that begins with a count, without it."""
    count, _, rest = says.partition(" ")
    return rest[:1].upper() + rest[1:] if count.isdigit() else says


def _cautions(option: Option) -> tuple[str, ...]:
    known = [effect for effect in option.effects if effect.fraction is not None]
    named = [*option.plan.cautions]
    if any(effect.association for effect in known):
        named.append("controls.caution.association")
    if any(effect.from_odds for effect in known):
        named.append("controls.caution.odds-ratio")
    return tuple(named)


def _text(rule_id: str, book: Book, on: date) -> str:
    return book.rule(rule_id).on(on).text or ""


def _expected(option: Option, verdicts: Sequence[VerdictChange]) -> dict[str, Any]:
    """What is kept with a recorded control, to hold the next count against."""

    def means(after: bool) -> dict[str, float | None]:
        found = {name: mean_of(option.shifts, name, after=after) for name in LOADS}
        return {name: None if mean is None else round(mean, 2) for name, mean in found.items()}

    return {
        "shifts_drawn": len(option.shifts),
        "before": means(after=False),
        "after": means(after=True),
        "wet_work": {one.rule_set_id: [one.wet_work_before, one.wet_work_after] for one in verdicts},
        "cases_spared_a_year": None if option.avoided is None else asdict(option.avoided),
        "ranked_by": option.ranked_by.ratio.id if option.ranked_by else None,
        "share_of_cases": asdict(option.ranked_by.fraction)
        if option.ranked_by and option.ranked_by.fraction
        else None,
    }
