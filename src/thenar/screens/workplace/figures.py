"""The small multiples: for each role what a shift brings of each thing, with the limits drawn in."""

from collections.abc import Sequence
from dataclasses import dataclass

from thenar.exposure.load_chances import Chance
from thenar.exposure.rule_sets import ReadyRuleSet
from thenar.exposure.sessions import Quantity, Timed
from thenar.exposure.shift_load import Load
from thenar.screens.charts.intervals import IntervalChart, LimitLine, Span, interval_chart, top_of
from thenar.screens.workplace.exposure_of import PARTS, PartExposure, PostExposure
from thenar.screens.workplace.limits_here import single_limits
from thenar.screens.workplace.wording import about, exact, passes_in_words, percent, percents

SHOWN: tuple[tuple[Quantity | Timed, str, str], ...] = (
    (Quantity.WASHES, "Washes", ""),
    (Quantity.RUBS, "Rubs", ""),
    (Timed.WET_MINUTES, "Wet contact", " min"),
    (Timed.GLOVE_MINUTES, "Gloves worn", " min"),
)


@dataclass(frozen=True, slots=True)
class FigureRow:
    """One part of the day as a line of the table."""

    part: str
    expected: str
    between: str
    chances: tuple[str, ...]
    not_known: str


@dataclass(frozen=True, slots=True)
class Figure:
    """One quantity of a role: its finding, the drawing, and the same as a table.

    `chart` is None where the quantity is not known in any part of the day.
    """

    key: str
    label: str
    unit: str
    finding: str
    limits: tuple[str, ...]
    chart: IntervalChart | None
    rows: tuple[FigureRow, ...]
    not_known: tuple[str, ...]


def figures_of(
    exposure: PostExposure, drawn: ReadyRuleSet, beside: Sequence[PostExposure]
) -> tuple[Figure, ...]:
    """The figures of a role, on scales shared with the roles `beside` it."""
    return tuple(_figure(exposure, drawn, beside, shown) for shown in SHOWN)


def _figure(
    exposure: PostExposure,
    drawn: ReadyRuleSet,
    beside: Sequence[PostExposure],
    shown: tuple[Quantity | Timed, str, str],
) -> Figure:
    quantity, label, unit = shown
    parts = in_order(exposure.parts)
    known = [(part, load) for part in parts if (load := part.load.load(quantity)).mean is not None]
    lines = _lines(drawn, quantity)
    spans = [_span(part, load, lines) for part, load in known]
    everyone = [
        _span(part, load, lines)
        for one in beside
        for part in one.parts
        if (load := part.load.load(quantity)).mean is not None
    ]
    top = top_of(everyone or spans, [line.at for line in lines])
    return Figure(
        key=quantity.value,
        label=label,
        unit=unit,
        finding=_finding(label, unit, known),
        limits=tuple(
            f"{passes_in_words(ready.criterion.operator, ready.bound)}{unit}"
            for ready in single_limits(drawn, quantity.value)
        ),
        chart=interval_chart(spans, lines, top) if spans else None,
        rows=tuple(_row(part, part.load.load(quantity)) for part in parts),
        not_known=tuple(
            dict.fromkeys(load.not_known for part in parts if (load := part.load.load(quantity)).not_known)
        ),
    )


def in_order(parts: Sequence[PartExposure]) -> tuple[PartExposure, ...]:
    """Parts of the day as the day goes."""
    order = list(PARTS)
    return tuple(sorted(parts, key=lambda part: order.index(part.part) if part.part in order else len(order)))


def _lines(drawn: ReadyRuleSet, quantity: Quantity | Timed) -> list[LimitLine]:
    """Every limit on the quantity alone, and every tier that opens above it."""
    bounds = [
        bound
        for ready in single_limits(drawn, quantity.value)
        for bound in (ready.bound, *(tier.bound for tier in ready.tiers))
    ]
    return [LimitLine(bound, exact(bound)) for bound in sorted(set(bounds))]


def _span(part: PartExposure, load: Load, lines: Sequence[LimitLine]) -> Span:
    assert load.mean is not None
    lower, upper = load.lower or 0.0, load.upper if load.upper is not None else load.mean
    lowest = min((line.at for line in lines), default=None)
    return Span(part.name, load.mean, lower, upper, marked=lowest is not None and load.mean >= lowest)


def _row(part: PartExposure, load: Load) -> FigureRow:
    if load.mean is None or load.lower is None or load.upper is None:
        return FigureRow(part.name, "not known", "", (), load.not_known)
    return FigureRow(
        part=part.name,
        expected=about(load.mean),
        between=f"{load.lower:.0f} to {load.upper:.0f}",
        chances=tuple(_chance(chance) for chance in load.chances),
        not_known="",
    )


def _chance(chance: Chance) -> str:
    limit = passes_in_words(chance.limit.operator, chance.limit.amount)
    return f"{limit}: {percent(chance.chance)} ({percents(chance.lower, chance.upper)})"


def _finding(label: str, unit: str, known: Sequence[tuple[PartExposure, Load]]) -> str:
    if not known:
        return f"{label}: not known"
    chances = [(part, chance) for part, load in known for chance in load.chances]
    if not chances:
        part, load = max(known, key=lambda pair: pair[1].mean or 0)
        return f"{label}: about {about(load.mean or 0)}{unit} in {_a(part)} shift"
    part, chance = max(chances, key=lambda pair: pair[1].chance)
    limit = passes_in_words(chance.limit.operator, chance.limit.amount)
    return f"{label}: {percent(chance.chance)} of {part.name.lower()} shifts bring {limit}{unit}"


def _a(part: PartExposure) -> str:
    name = part.name.lower()
    return f"an {name}" if name[0] in "aeiou" else f"a {name}"
