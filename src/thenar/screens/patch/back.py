"""The drawing of a back: which chamber lies where, and what is drawn in it."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from thenar.allergy.patch_test import Position

CELL = 44  # drawing units, of which the page shows about one to a pixel
CHAMBER = 38
ACROSS, DOWN = 2, 5  # chambers of a strip: tens in two columns, as strips are mostly sold
STRIPS_ACROSS = 4
TOP, BELOW = 158, 56
STRIP_GAP = 30
WIDTH = 560
_LEFTS = (74, 172, 300, 398)  # two strips on each side of the spine


@dataclass(frozen=True, slots=True)
class Chamber:
    """One chamber. `x` and `y` are its upper left corner. [drawing units]"""

    position: Position
    x: int
    y: int

    @property
    def size(self) -> int:
        """Length of its side. [drawing units]"""
        return CHAMBER

    @property
    def number_at(self) -> tuple[int, int]:
        """Where its number stands."""
        return self.x + 4, self.y + 13

    @property
    def grade_at(self) -> tuple[int, int]:
        """Where its grade stands, by the middle."""
        return self.x + CHAMBER // 2, self.y + 31


@dataclass(frozen=True, slots=True)
class Strip:
    """Up to ten chambers that were put on together."""

    series: str
    chambers: tuple[Chamber, ...]


@dataclass(frozen=True, slots=True)
class Back:
    """The whole drawing. `sides` are the lines of its outline, as paths."""

    strips: tuple[Strip, ...]
    height: int
    sides: tuple[str, ...]
    spine: tuple[int, int, int]

    @property
    def width(self) -> int:
        """Width of the drawing. [drawing units]"""
        return WIDTH


def back_of(positions: Sequence[Position]) -> Back:
    """A back with every position in its chamber, strip by strip.

    A new series begins a new strip. Where a strip sat is not on record, so this is a scheme: strips from the
    upper left, row by row.

    Examples
    --------
    >>> one = back_of([Position(number, "x", "1", "pet") for number in range(1, 13)])
    >>> [[chamber.position.number for chamber in strip.chambers] for strip in one.strips]
    [[1, 2, 3, 4, 5, 6, 7, 8, 9, 10], [11, 12]]
    """
    tens = list(_tens(positions))
    rows = -(-len(tens) // STRIPS_ACROSS)
    height = TOP + rows * (DOWN * CELL + STRIP_GAP) + BELOW - STRIP_GAP
    strips = tuple(_strip(place, ten) for place, ten in enumerate(tens))
    return Back(strips, height, tuple(_sides(height)), (WIDTH // 2, 92, height - 8))


def _tens(positions: Iterable[Position]) -> Iterator[list[Position]]:
    most = ACROSS * DOWN
    for _, of_series in groupby(positions, key=lambda one: one.series):
        together = list(of_series)
        for first in range(0, len(together), most):
            yield together[first : first + most]


def _strip(place: int, ten: Sequence[Position]) -> Strip:
    row, column = divmod(place, STRIPS_ACROSS)
    left, top = _LEFTS[column], TOP + row * (DOWN * CELL + STRIP_GAP)
    return Strip(
        ten[0].series,
        tuple(
            # Down the first column, then down the second.
            Chamber(one, left + CELL * (number // DOWN), top + CELL * (number % DOWN))
            for number, one in enumerate(ten)
        ),
    )


def _sides(height: int) -> Iterator[str]:
    """Neck, shoulder, outer arm and flank on the left; the same mirrored on the right."""
    for side in (1, -1):

        def x(left: int, side: int = side) -> int:
            return left if side > 0 else WIDTH - left

        yield (
            f"M {x(238)} 6 C {x(242)} 46 {x(236)} 64 {x(190)} 78 C {x(128)} 98 {x(60)} 96 {x(30)} 140 "
            f"C {x(12)} 170 {x(8)} 230 {x(6)} {height - 30}"
        )
        yield f"M {x(56)} 214 C {x(62)} 260 {x(64)} {height - 120} {x(66)} {height - 6}"
        yield f"M {x(246)} 96 C {x(214)} 98 {x(180)} 104 {x(150)} 118"
