"""Which parts of the two hands can be marked, and how marks read in words.

Left and right are the person's own left and right, whatever the language or the layout of the page.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum
from itertools import pairwise
from typing import Literal

from thenar.errors import ThenarError

Hand = Literal["left", "right"]
Side = Literal["palm", "back"]
FingerName = Literal["thumb", "index", "middle", "ring", "little"]
Area = Literal["fingertips", "fingers", "palms", "backs", "wrists"]

HANDS: tuple[Hand, ...] = ("left", "right")
SIDES: tuple[Side, ...] = ("back", "palm")
FINGERS: tuple[FingerName, ...] = ("thumb", "index", "middle", "ring", "little")
AREAS: tuple[Area, ...] = ("fingertips", "fingers", "palms", "backs", "wrists")


class Part(Enum):
    """The kinds of region a hand is divided into."""

    TIP = "tip"
    FINGER = "finger"
    WEB = "web"
    PALM = "palm"
    BACK = "back"
    WRIST = "wrist"


class UnknownRegion(ThenarError):
    """A mark names a region that is not on the hand map."""

    def __init__(self, region_id: str) -> None:
        super().__init__(
            what=f"There is no region {region_id!r} on the hand map.",
            why="A mark without a place can't be shown or scored.",
            todo="Use an id from the hand map, such as 'right-palm-index-tip'.",
        )


@dataclass(frozen=True, slots=True)
class Region:
    """One part of one side of one hand that can be marked.

    A web lies between `finger` and its next neighbour; palm, back and wrist belong to no finger.
    `area` is the scored area the region counts towards. `label` names the part within its hand and side.
    """

    id: str
    hand: Hand
    side: Side
    part: Part
    finger: FingerName | None
    area: Area
    label: str

    @property
    def shape(self) -> str:
        """The id without hand and side: mirrored hands share their shapes."""
        return self.id.split("-", 2)[2]


def _regions_of(hand: Hand, side: Side) -> tuple[Region, ...]:
    def make(shape: str, part: Part, area: Area, label: str, finger: FingerName | None = None) -> Region:
        return Region(f"{hand}-{side}-{shape}", hand, side, part, finger, area, label)

    tips = (make(f"{f}-tip", Part.TIP, "fingertips", _tip_label(f), f) for f in FINGERS)
    fingers = (make(f"{f}-finger", Part.FINGER, "fingers", _finger_label(f), f) for f in FINGERS)
    webs = (
        make(f"web-{f}-{g}", Part.WEB, "fingers", f"web between {f} and {g}", f) for f, g in pairwise(FINGERS)
    )
    if side == "palm":
        middle = make("hand", Part.PALM, "palms", "palm")
    else:
        middle = make("hand", Part.BACK, "backs", "back of the hand")
    return (*tips, *fingers, *webs, middle, make("wrist", Part.WRIST, "wrists", "wrist"))


def _tip_label(finger: FingerName) -> str:
    return "thumb tip" if finger == "thumb" else f"{finger} fingertip"


def _finger_label(finger: FingerName) -> str:
    return "thumb" if finger == "thumb" else f"{finger} finger"


REGIONS: tuple[Region, ...] = tuple(
    one for side in SIDES for hand in HANDS for one in _regions_of(hand, side)
)
_BY_ID = {one.id: one for one in REGIONS}
_ORDER = {one.id: place for place, one in enumerate(REGIONS)}


def region(region_id: str) -> Region:
    """The region with this id.

    Raises
    ------
    UnknownRegion
        If the hand map has no such region.

    Examples
    --------
    >>> region("left-back-web-index-middle").label
    'web between index and middle'
    """
    try:
        return _BY_ID[region_id]
    except KeyError:
        raise UnknownRegion(region_id) from None


def regions_of(hand: Hand, side: Side) -> tuple[Region, ...]:
    """The regions of one side of one hand, tips first.

    Examples
    --------
    >>> len(regions_of("left", "palm"))
    16
    """
    return tuple(one for one in REGIONS if (one.hand, one.side) == (hand, side))


def read_marks(region_ids: Iterable[str]) -> tuple[Region, ...]:
    """The marked regions, each once, in the order of the hand map.

    Raises
    ------
    UnknownRegion
        If an id is not on the hand map.

    Examples
    --------
    >>> [one.id for one in read_marks(["right-palm-wrist", "left-back-hand", "right-palm-wrist"])]
    ['left-back-hand', 'right-palm-wrist']
    """
    return tuple(sorted({region(one) for one in region_ids}, key=lambda one: _ORDER[one.id]))


def areas_marked(regions: Iterable[Region]) -> tuple[Area, ...]:
    """The scored areas that hold at least one marked region, fingertips first.

    Notes
    -----
    Marks say where, not how much: the extent within an area is judged by eye and entered beside it.

    Examples
    --------
    >>> areas_marked(read_marks(["left-palm-wrist", "left-back-thumb-tip"]))
    ('fingertips', 'wrists')
    """
    found = {one.area for one in regions}
    return tuple(area for area in AREAS if area in found)


def describe(regions: Iterable[Region]) -> str:
    """The marks as one plain sentence, hand by hand.

    Examples
    --------
    >>> describe(read_marks(["right-palm-index-tip", "right-palm-web-index-middle", "left-back-wrist"]))
    'Left back: wrist; right palm side: index fingertip, web between index and middle.'
    >>> describe([])
    'Nothing is marked.'
    """
    marked = tuple(regions)
    groups = []
    for side in SIDES:
        for hand in HANDS:
            labels = [one.label for one in marked if (one.hand, one.side) == (hand, side)]
            if labels:
                groups.append(f"{hand} {_side_words(side)}: {', '.join(labels)}")
    if not groups:
        return "Nothing is marked."
    sentence = "; ".join(groups)
    return f"{sentence[0].upper()}{sentence[1:]}."


def _side_words(side: Side) -> str:
    return "palm side" if side == "palm" else "back"
