"""A dot and its interval on a scale, with limits drawn in: where a shift lies and how sure that is."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from math import ceil, floor, log10

WIDTH, LEFT, RIGHT = 300, 46, 10
TOP, ROW, FOOT = 22, 26, 22
HALF = 5  # half a mark's width


@dataclass(frozen=True, slots=True)
class Span:
    """One row: what is expected, and the range single shifts lie in. `marked` where the limit is passed."""

    label: str
    mean: float
    lower: float
    upper: float
    marked: bool = False


@dataclass(frozen=True, slots=True)
class LimitLine:
    """A limit on the scale, as the rule writes it."""

    at: float
    label: str


@dataclass(frozen=True, slots=True)
class DrawnRow:
    """A row in drawing units. `cut` where the range runs on past the scale."""

    label: str
    y: float
    text_y: float
    bar_y: float
    mean: float
    left: float
    width: float
    marked: bool
    cut: bool
    diamond: str


@dataclass(frozen=True, slots=True)
class DrawnLine:
    """A limit or a tick in drawing units."""

    x: float
    label: str
    anchor: str


@dataclass(frozen=True, slots=True)
class IntervalChart:
    """Everything the drawing needs. Sizes are in its own units, `width` across."""

    height: float
    bottom: float
    ticks_y: float
    limits_y: float
    rows: tuple[DrawnRow, ...]
    limits: tuple[DrawnLine, ...]
    ticks: tuple[DrawnLine, ...]
    width: int = WIDTH
    left: int = LEFT
    right: int = WIDTH - RIGHT
    top: int = TOP
    limits_from: int = TOP - 5


def top_of(spans: Iterable[Span], limits: Iterable[float]) -> float:
    """The end of a scale that shows every mean and limit, without a wild range squeezing the rest.

    Examples
    --------
    >>> top_of([Span("Early", 12, 6, 20)], [15])
    20.0
    >>> top_of([Span("Early", 12, 0, 400)], [15])
    40.0
    """
    spans, limits = list(spans), list(limits)
    core = max([span.mean for span in spans] + limits, default=0)
    most = max([min(span.upper, 2.5 * core) for span in spans] + [1.2 * limit for limit in limits], default=0)
    return _round_up(max(most, core * 1.1, 1.0))


def interval_chart(spans: Sequence[Span], limits: Sequence[LimitLine], top: float) -> IntervalChart:
    """Lay out rows, limits and ticks on a scale from 0 to `top`.

    Examples
    --------
    >>> chart = interval_chart([Span("Early", 10, 5, 20)], [LimitLine(15, "15")], 20)
    >>> chart.rows[0].left, chart.rows[0].width, chart.limits[0].x
    (107.0, 183.0, 229.0)
    """

    def x(amount: float) -> float:
        return round(LEFT + min(amount, top) / top * (WIDTH - LEFT - RIGHT), 1)

    bottom = TOP + ROW * len(spans)
    return IntervalChart(
        height=bottom + FOOT,
        bottom=bottom,
        ticks_y=bottom + FOOT - 6,
        limits_y=TOP - 9,
        rows=tuple(_row(span, TOP + ROW * place + ROW / 2, x, top) for place, span in enumerate(spans)),
        limits=tuple(DrawnLine(x(limit.at), limit.label, _anchor(x(limit.at))) for limit in limits),
        ticks=tuple(DrawnLine(x(at), f"{at:g}", _anchor(x(at))) for at in (0.0, top / 2, top)),
    )


def _row(span: Span, y: float, x: Callable[[float], float], top: float) -> DrawnRow:
    left, right, mean = x(span.lower), x(span.upper), x(span.mean)
    diamond = f"{mean},{y - HALF - 1} {mean + HALF + 1},{y} {mean},{y + HALF + 1} {mean - HALF - 1},{y}"
    width = round(max(right - left, 1.0), 1)
    cut = span.upper > top
    return DrawnRow(span.label, y, y + 4.5, y - 2.5, mean, left, width, span.marked, cut, diamond)


def _anchor(x: float) -> str:
    return "end" if x > WIDTH - 40 else "middle"


def _round_up(amount: float) -> float:
    """The next 1, 1.5, 2, 2.5, 3, 4, 5, 6 or 8 times a power of ten.

    Examples
    --------
    >>> [_round_up(amount) for amount in (7, 12, 26, 130, 1000)]
    [8.0, 15.0, 30.0, 150.0, 1000.0]
    """
    power = 10.0 ** floor(log10(amount))
    step = next(step for step in (1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10) if ceil(amount) <= step * power + 1e-9)
    return float(step * power)
