"""The hand map as a drawing: which shape lies where, and one picture for letters and plans."""

import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from thenar.skin.hand_map import HANDS, SIDES, Hand, Part, Region, Side, describe, read_marks, regions_of

INK, CLAY = "#1d1b18", "#933a19"
_GAP = 26
_CAPTION = 34
_HATCH_STEP = 8


@dataclass(frozen=True, slots=True)
class Master:
    """The line drawing of one side of a hand, thumb at the left."""

    edge: str
    lines: str
    parting: str
    shapes: dict[str, str]


@dataclass(frozen=True, slots=True)
class Spot:
    """One region, the path that bounds it, and whether it is marked."""

    region: Region
    path: str
    marked: bool

    @property
    def is_small(self) -> bool:
        """Whether a finger needs a wider reach than the shape itself to hit it."""
        return self.region.part is Part.WEB


@dataclass(frozen=True, slots=True)
class HandDrawing:
    """One side of one hand, ready to be drawn in a frame of `width` by `height`.

    `transform` turns the master (thumb at the left) into this hand, as an SVG transform.
    """

    hand: Hand
    side: Side
    title: str
    words: str
    transform: str
    edge: str
    lines: str
    parting: str
    spots: tuple[Spot, ...]
    width: int
    height: int

    @property
    def key(self) -> str:
        """A short name for ids in a page."""
        return f"{self.hand}-{self.side}"


@cache
def _paths() -> tuple[int, int, dict[Side, Master]]:
    text = files("thenar.documents").joinpath("hand_paths.toml").read_text(encoding="utf-8")
    read = tomllib.loads(text)
    masters: dict[Side, Master] = {}
    for side in SIDES:
        part = read[side]
        masters[side] = Master(part["edge"], part["lines"], part["parting"], part["regions"])
    return read["width"], read["height"], masters


def draw_hands(marked: Iterable[str]) -> tuple[HandDrawing, ...]:
    """The four drawings in the order they are laid out: the backs, then the palms, left before right.

    Raises
    ------
    UnknownRegion
        If a marked id is not on the hand map.

    Examples
    --------
    >>> [hand.title for hand in draw_hands([])]
    ['Left hand, back', 'Right hand, back', 'Left hand, palm', 'Right hand, palm']
    """
    marks = frozenset(read_marks(marked))
    return tuple(_draw_hand(hand, side, marks) for side in SIDES for hand in HANDS)


def _draw_hand(hand: Hand, side: Side, marks: frozenset[Region]) -> HandDrawing:
    width, height, masters = _paths()
    master = masters[side]
    regions = regions_of(hand, side)
    labels = [one.label for one in regions if one in marks]
    return HandDrawing(
        hand=hand,
        side=side,
        title=f"{hand.capitalize()} hand, {side}",
        words=f"Marked: {', '.join(labels)}." if labels else "Nothing marked.",
        transform="" if _thumb_at_left(hand, side) else f"matrix(-1 0 0 1 {width} 0)",
        edge=master.edge,
        lines=master.lines,
        parting=master.parting,
        spots=tuple(Spot(one, master.shapes[one.shape], one in marks) for one in regions),
        width=width,
        height=height,
    )


def _thumb_at_left(hand: Hand, side: Side) -> bool:
    """One's own hands held out in front: left palm and right back have the thumb at the left."""
    return (hand == "left") == (side == "palm")


def hand_map_svg(marked: frozenset[str]) -> str:
    """One picture of all four hands with the marks, complete in itself.

    Presentation attributes only, no style sheet, so any drawing program or typesetter reads it.

    Parameters
    ----------
    marked
        Ids of the marked regions.

    Raises
    ------
    UnknownRegion
        If a marked id is not on the hand map.

    Examples
    --------
    >>> hand_map_svg(frozenset({"left-palm-wrist"})).count('data-marked="yes"')
    1
    """
    drawings = draw_hands(marked)
    width, height = drawings[0].width, drawings[0].height
    total = len(drawings) * width + (len(drawings) - 1) * _GAP
    hands = "".join(_hand_group(one, place * (width + _GAP)) for place, one in enumerate(drawings))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {total} {height + _CAPTION}" '
        f'width="{total}" height="{height + _CAPTION}" role="img">'
        f"<title>Hand map</title><desc>{describe(read_marks(marked))}</desc>"
        f"<defs>{_hatch(width, height)}</defs>{hands}</svg>"
    )


def _hatch(width: int, height: int) -> str:
    """Slanted lines over one frame. Drawn out, since typesetters break hatch patterns at the tiles' edges."""
    rise = width * 3 // 4
    lines = "".join(f"M0 {y}l{width} {rise}" for y in range(-rise, height, _HATCH_STEP))
    return (
        f'<path id="hatch" d="{lines}" fill="none" stroke="{CLAY}" stroke-width="1.4" stroke-opacity="0.85"/>'
    )


def _hand_group(drawing: HandDrawing, left: int) -> str:
    transform = f' transform="{drawing.transform}"' if drawing.transform else ""
    spots = "".join(_spot_path(spot) for spot in drawing.spots)
    lines = f'<path d="{drawing.lines}" fill="{INK}" fill-opacity="0.62"/>'
    ink = f'{lines}<path d="{drawing.edge}" fill="{INK}"/>'
    caption = (
        f'<text x="{_wrist_middle(drawing)}" y="{drawing.height + 24}" text-anchor="middle" '
        f'font-family="Atkinson Hyperlegible Next, sans-serif" font-size="19" fill="{INK}">'
        f"{drawing.title}</text>"
    )
    body = f"<g{transform}>{spots}{_hatching(drawing)}{ink}</g>"
    return f'<g transform="translate({left} 0)">{body}{caption}</g>'


def _hatching(drawing: HandDrawing) -> str:
    marked = "".join(f'<path d="{spot.path}"/>' for spot in drawing.spots if spot.marked)
    if not marked:
        return ""
    clip = f"marked-{drawing.key}"
    return f'<clipPath id="{clip}">{marked}</clipPath><g clip-path="url(#{clip})"><use href="#hatch"/></g>'


def _wrist_middle(drawing: HandDrawing) -> int:
    share = 0.38 if drawing.transform else 0.62
    return round(drawing.width * share)


def _spot_path(spot: Spot) -> str:
    fill = (
        f'fill="{CLAY}" fill-opacity="0.2" stroke="{CLAY}" stroke-width="1.2"'
        if spot.marked
        else 'fill="none"'
    )
    state = "yes" if spot.marked else "no"
    return f'<path data-region="{spot.region.id}" data-marked="{state}" d="{spot.path}" {fill}/>'
