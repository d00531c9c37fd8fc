"""Draws the two master hands (palm and back, thumb at the left) and writes their paths.

Run `python scripts/draw_hand_map.py`. It writes the path data that pages and documents share,
and the style rules that fill a shape when its box is ticked. Tune the numbers in PALM_POINTS, FINGERS
and the crease lists; look at the result; run it again.

Curves through points follow J. D. Hobby, "Smooth, easy to compute interpolating splines",
Discrete and Computational Geometry 1 (1986) 123-140, doi:10.1007/BF02187690.
"""

import cmath
import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

from thenar.skin.hand_map import REGIONS

PACKAGE = Path(__file__).parents[1] / "src" / "thenar"
PATHS_FILE = PACKAGE / "documents" / "hand_paths.toml"
STYLE_FILE = PACKAGE / "screens" / "static" / "thenar" / "hand-map.css"
WIDTH, HEIGHT = 270, 428
SHIFT = complex(8, -14)  # from the drawing board to the frame
LIGHT = cmath.rect(1, math.radians(-125))  # from the upper left: lines away from it are heavier


@dataclass(frozen=True, slots=True)
class Cubic:
    """One cubic Bézier piece."""

    start: complex
    lead: complex
    trail: complex
    end: complex

    def reversed(self) -> "Cubic":
        return Cubic(self.end, self.trail, self.lead, self.start)


Curve = list[Cubic]


def hobby(points: Sequence[complex]) -> Curve:
    """The smooth open curve through the points, with mild ends (curl 1, tension 1)."""
    last = len(points) - 1
    chords = [b - a for a, b in pairwise(points)]
    if last == 1:
        return [Cubic(points[0], points[0] + chords[0] / 3, points[1] - chords[0] / 3, points[1])]
    size = [abs(chord) for chord in chords]
    turn = [0.0] + [cmath.phase(b / a) for a, b in pairwise(chords)] + [0.0]
    below, middle, above, right = [0.0], [1.0], [1.0], [-turn[1]]
    for k in range(1, last):
        below.append(1 / size[k - 1])
        middle.append(2 / size[k - 1] + 2 / size[k])
        above.append(1 / size[k])
        right.append(-2 * turn[k] / size[k - 1] - turn[k + 1] / size[k])
    below.append(1.0)
    middle.append(1.0)
    above.append(0.0)
    right.append(0.0)
    leave = _solve_tridiagonal(below, middle, above, right)
    curve = []
    for k, chord in enumerate(chords):
        theta, phi = leave[k], -turn[k + 1] - leave[k + 1]
        lead = points[k] + cmath.rect(_pull(theta, phi), theta) * chord
        trail = points[k + 1] - cmath.rect(_pull(phi, theta), -phi) * chord
        curve.append(Cubic(points[k], lead, trail, points[k + 1]))
    return curve


def _pull(theta: float, phi: float) -> float:
    root = math.sqrt(5)
    bow = (math.sin(theta) - math.sin(phi) / 16) * (math.sin(phi) - math.sin(theta) / 16)
    top = 2 + math.sqrt(2) * bow * (math.cos(theta) - math.cos(phi))
    return top / (3 * (1 + (root - 1) / 2 * math.cos(theta) + (3 - root) / 2 * math.cos(phi)))


def _solve_tridiagonal(
    below: list[float], middle: list[float], above: list[float], right: list[float]
) -> list[float]:
    for k in range(1, len(middle)):
        factor = below[k] / middle[k - 1]
        middle[k] -= factor * above[k - 1]
        right[k] -= factor * right[k - 1]
    found = [right[-1] / middle[-1]]
    for k in range(len(middle) - 2, -1, -1):
        found.append((right[k] - above[k] * found[-1]) / middle[k])
    return found[::-1]


def back_along(curve: Curve) -> Curve:
    """The same curve walked the other way."""
    return [piece.reversed() for piece in reversed(curve)]


def halved(piece: Cubic) -> tuple[Cubic, Cubic]:
    """The two halves of a piece (de Casteljau)."""
    a, b, c = (piece.start + piece.lead) / 2, (piece.lead + piece.trail) / 2, (piece.trail + piece.end) / 2
    d, e = (a + b) / 2, (b + c) / 2
    return Cubic(piece.start, a, d, (d + e) / 2), Cubic((d + e) / 2, e, c, piece.end)


# ---- writing paths -------------------------------------------------------------------------------------


class Pen:
    """Writes path data with one decimal, relative, without letting rounding add up."""

    def __init__(self) -> None:
        self.words: list[str] = []
        self.here = 0j

    def move(self, to: complex) -> None:
        self.here = _rounded(to + SHIFT)
        self.words.append(f"M{_short(self.here.real)} {_short(self.here.imag)}")

    def draw(self, curve: Iterable[Cubic]) -> None:
        for piece in curve:
            steps = [_rounded(p + SHIFT - self.here) for p in (piece.lead, piece.trail, piece.end)]
            flat = [_short(part) for step in steps for part in (step.real, step.imag)]
            self.words.append("c" + " ".join(flat).replace(" -", "-"))
            self.here = _rounded(piece.end + SHIFT)

    def close(self) -> None:
        self.words.append("z")

    def text(self) -> str:
        return "".join(self.words)


def _rounded(point: complex) -> complex:
    return complex(round(point.real, 1), round(point.imag, 1))


def _short(number: float) -> str:
    text = f"{round(number, 1):g}"
    return text.replace("0.", ".", 1) if text.startswith(("0.", "-0.")) else text


def closed(*curves: Curve) -> str:
    """Path data of a closed region made of curves that meet end to end."""
    pen = Pen()
    pen.move(curves[0][0].start)
    for curve in curves:
        pen.draw(curve)
    pen.close()
    return pen.text()


def inked(
    curve: Curve, weight: float, *, ends: tuple[float, float] = (0.25, 0.25), shade: float = 0.45
) -> str:
    """A stroke as a filled shape: heavier away from the light, thinning towards both ends.

    `ends` are the lengths, as shares of the stroke, over which each end thins.
    """
    lengths = [abs(piece.end - piece.start) for piece in curve]
    total, walked, widths = sum(lengths), 0.0, []
    normals = []
    for k in range(len(curve) + 1):
        along = _direction(curve, k)
        normal = along * 1j
        outside = -(normal.real * LIGHT.real + normal.imag * LIGHT.imag)
        share = walked / total
        thin = min(1.0, _ease(share, ends[0]), _ease(1 - share, ends[1]))
        widths.append(weight * (1 - shade * outside) * max(thin, 0.16) / 2)
        normals.append(normal)
        walked += lengths[k] if k < len(curve) else 0
    one = _offset(curve, normals, widths)
    other = _offset(curve, normals, [-width for width in widths])
    pen = Pen()
    pen.move(one[0].start)
    pen.draw(one)
    pen.draw(_cap(one[-1].end, other[-1].end))
    pen.draw(back_along(other))
    pen.draw(_cap(other[0].start, one[0].start))
    pen.close()
    return pen.text()


def _direction(curve: Curve, knot: int) -> complex:
    piece = curve[min(knot, len(curve) - 1)]
    tangent = piece.lead - piece.start if knot < len(curve) else piece.end - piece.trail
    return tangent / abs(tangent)


def _ease(share: float, reach: float) -> float:
    return 1.0 if reach <= 0 else math.sin(min(1.0, share / reach) * math.pi / 2)


def _offset(curve: Curve, normals: list[complex], widths: list[float]) -> Curve:
    moved = []
    for k, piece in enumerate(curve):
        start, end = piece.start + normals[k] * widths[k], piece.end + normals[k + 1] * widths[k + 1]
        grow = abs(end - start) / abs(piece.end - piece.start)
        lead, trail = start + (piece.lead - piece.start) * grow, end + (piece.trail - piece.end) * grow
        moved.append(Cubic(start, lead, trail, end))
    return moved


def _cap(a: complex, b: complex) -> Curve:
    return [Cubic(a, a + (b - a) / 3, b - (b - a) / 3, b)]


# ---- fingers -------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Finger:
    """A finger as an axis with widths: a tapered form, a little swollen at the joints."""

    name: str
    base: complex
    lean: float  # degrees from upright, to the right
    length: float
    widths: tuple[tuple[float, float], ...]  # (share of the length, full width)
    bend: float  # sideways bow of the axis, as a share of the length
    joints: tuple[float, ...]  # shares of the length; the last one is where the tip begins
    foot: tuple[float, float]  # where the left and the right side begin, as shares of the length

    def at(self, along: float, across: float = 0.0) -> complex:
        """A point of the finger: `along` 0 at the base and 1 at the tip, `across` -1 left to 1 right."""
        up = cmath.rect(1, math.radians(self.lean - 90))
        right = up * 1j
        bow = self.bend * self.length * 4 * along * (along - 0.5)
        return self.base + up * self.length * along + right * (bow + across * self.width(along) / 2)

    def width(self, along: float) -> float:
        """Full width at a share of the length, smoothly between the given ones."""
        stations = self.widths
        if along <= stations[0][0]:
            return stations[0][1]
        for (a, wide), (b, wider) in pairwise(stations):
            if a <= along <= b:
                share = (along - a) / (b - a)
                return wide + (wider - wide) * (1 - math.cos(share * math.pi)) / 2
        return stations[-1][1]

    def left_side(self) -> list[complex]:
        """Knots from the foot to where the tip begins."""
        return [self.at(a, -1) for a in self._stations(self.foot[0])]

    def right_side(self) -> list[complex]:
        """Knots from where the tip begins to the foot."""
        return [self.at(a, 1) for a in reversed(self._stations(self.foot[1]))]

    def _stations(self, foot: float) -> list[float]:
        inner = [a for a, _ in self.widths if foot + 0.05 < a < self.joints[-1] - 0.03]
        return [foot, *inner, self.joints[-1]]

    def cap(self) -> list[complex]:
        """Knots of the rounded tip, between its two lower corners."""
        pad = self.widths[-1][0]
        knots = [(pad, -1.0), (pad + (1 - pad) * 0.72, -0.72), (1.0, 0.0)]
        return [self.at(a, s) for a, s in knots] + [self.at(a, -s) for a, s in reversed(knots[:-1])]

    def across(self, along: float, sag: float, reach: float = 1.0, skew: float = 0.0) -> list[complex]:
        """Knots of a line across the finger that sags towards the base (negative: arches)."""
        drop = sag / self.length
        return [
            self.at(along + skew, -reach),
            self.at(along - drop, 0),
            self.at(along - skew, reach),
        ]


def _long(
    name: str,
    base: complex,
    *,
    lean: float,
    length: float,
    girth: float,
    bend: float,
    foot: tuple[float, float],
) -> Finger:
    widths = (
        (0.0, girth * 0.99),
        (0.19, girth * 1.0),
        (0.37, girth * 1.05),
        (0.53, girth * 0.955),
        (0.68, girth * 0.945),
        (0.85, girth * 0.84),
    )
    return Finger(name, base, lean, length, widths, bend, (0.37, 0.68), foot)


THUMB = Finger(
    "thumb",
    complex(78, 309),
    -39,
    112,
    ((0.0, 41.5), (0.27, 34), (0.5, 36), (0.68, 35), (0.84, 31)),
    -0.03,
    (0.5,),
    (-0.04, 0.24),
)
INDEX = _long("index", complex(112, 225), lean=-7.5, length=147, girth=31.5, bend=0.03, foot=(-0.08, 0.135))
MIDDLE = _long("middle", complex(150, 211), lean=-1.2, length=167, girth=32.5, bend=0.008, foot=(0.045, 0.07))
RING = _long("ring", complex(187.5, 217), lean=5, length=153, girth=31, bend=-0.014, foot=(0.11, 0.015))
LITTLE = _long(
    "little", complex(221, 240), lean=11.5, length=119, girth=26.5, bend=-0.034, foot=(0.215, -0.03)
)
FINGERS = (THUMB, INDEX, MIDDLE, RING, LITTLE)


# ---- the outline and its regions -----------------------------------------------------------------------

Knot = tuple[complex, str]  # a point of the outline and the name of the border that starts there, or ""

WRIST_LEFT = (complex(112, 438), complex(111, 420), complex(110.5, 400))
THENAR = (complex(100.5, 382), complex(79.5, 355))
WEB_FLOORS = (complex(87, 279.5), complex(132, 214), complex(169.5, 209), complex(205, 225))
ULNAR = (complex(239.5, 281), complex(241.5, 313), complex(237, 349), complex(225.5, 378))
WRIST_RIGHT = (complex(214.5, 400), complex(210.5, 420), complex(210.5, 438))


@dataclass(frozen=True, slots=True)
class Outline:
    """The whole edge of a hand, from the left of the wrist round to the right of the wrist."""

    curve: Curve
    places: dict[str, int]

    def piece(self, start: str, end: str) -> Curve:
        """The part of the edge between two named knots."""
        return self.curve[self.places[start] : self.places[end]]

    def point(self, name: str) -> complex:
        """A named knot."""
        return self.curve[self.places[name]].start


def outline() -> Outline:
    """The edge of the hand through all its knots."""
    knots: list[Knot] = [(WRIST_LEFT[0], "cut-left"), (WRIST_LEFT[1], ""), (WRIST_LEFT[2], "wrist-left")]
    knots += [(point, "") for point in THENAR]
    for finger, floor in zip(FINGERS, (*WEB_FLOORS, None), strict=True):
        knots += _finger_knots(finger)
        if floor is not None:
            knots.append((floor, f"floor-{finger.name}"))
    knots += [(point, "") for point in ULNAR]
    knots += [(WRIST_RIGHT[0], "wrist-right"), (WRIST_RIGHT[1], ""), (WRIST_RIGHT[2], "cut-right")]
    return Outline(
        hobby([point for point, _ in knots]), {name: k for k, (_, name) in enumerate(knots) if name}
    )


def _finger_knots(finger: Finger) -> list[Knot]:
    left, cap, right = finger.left_side(), finger.cap(), finger.right_side()
    names = [f"{finger.name}-foot-left", *[""] * (len(left) - 2), f"{finger.name}-tip-left"]
    other = [f"{finger.name}-tip-right", *[""] * (len(right) - 2), f"{finger.name}-foot-right"]
    return list(zip(left, names, strict=True)) + [(p, "") for p in cap] + list(zip(right, other, strict=True))


@dataclass(frozen=True, slots=True)
class Web:
    """Lower edge of a web, left to right: along the left finger, under the web, along the right finger."""

    left: Curve
    under: Curve
    right: Curve


@dataclass(frozen=True, slots=True)
class Borders:
    """The inner lines that part the regions. All run left to right; webs go by their left finger."""

    tips: dict[str, Curve]
    roots: dict[str, Curve]  # finger from palm
    webs: dict[str, Web]
    wrist: Curve
    cut: Curve


def borders(edge: Outline, *, arch: float) -> Borders:
    """Inner lines; `arch` lets joints sag on the palm (positive) or arch on the back (negative)."""
    webs = [
        _crescent(edge) if one is THUMB else _drop(edge, one, two, floor)
        for (one, two), floor in zip(pairwise(FINGERS), WEB_FLOORS, strict=True)
    ]
    names = [finger.name for finger in FINGERS[:-1]]
    lefts = [edge.point("thumb-foot-left"), *[web.under[-1].end for web in webs]]
    rights = [*[web.under[0].start for web in webs], edge.point("little-foot-right")]
    roots = {}
    for finger, left, right in zip(FINGERS, lefts, rights, strict=True):
        sag = 0j if finger is THUMB else 2.2j
        roots[finger.name] = hobby([left, (left + right) / 2 + sag, right])
    wrist = [edge.point("wrist-left"), complex(162, 402), edge.point("wrist-right")]
    cut = [WRIST_LEFT[0], complex(160, 442 if arch > 0 else 434), WRIST_RIGHT[2]]
    tips = {finger.name: _tip_line(edge, finger, arch) for finger in FINGERS}
    return Borders(tips, roots, dict(zip(names, webs, strict=True)), hobby(wrist), hobby(cut))


def _crescent(edge: Outline) -> Web:
    """The wide web from thumb to index finger."""
    start, end = edge.point("thumb-foot-right"), edge.point("index-foot-left")
    return Web([], [Cubic(start, start + 15 + 34j, end + 20 + 58j, end)], [])


def _drop(edge: Outline, one: Finger, two: Finger, floor: complex) -> Web:
    """A web between two fingers: a drop that takes a corner of each finger's root."""
    start, end, point = edge.point(f"{one.name}-foot-right"), edge.point(f"{two.name}-foot-left"), floor + 22j
    left, low_left = halved(Cubic(start, start - 13 + 9j, point - 10 - 8j, point))
    low_right, right = halved(Cubic(point, point + 10 - 8j, end + 13 + 9j, end))
    return Web([left], [low_left, low_right], [right])


def _tip_line(edge: Outline, finger: Finger, arch: float) -> Curve:
    middle = finger.at(finger.joints[-1] - arch / finger.length)
    return hobby([edge.point(f"{finger.name}-tip-left"), middle, edge.point(f"{finger.name}-tip-right")])


def regions(edge: Outline, inner: Borders) -> dict[str, str]:
    """Path data of each region, by its shape name. Neighbours share borders, so nothing is left bare."""
    found = {}
    for k, finger in enumerate(FINGERS):
        name = finger.name
        tip = edge.piece(f"{name}-tip-left", f"{name}-tip-right")
        found[f"{name}-tip"] = closed(tip, back_along(inner.tips[name]))
        up = edge.piece(f"{name}-foot-left", f"{name}-tip-left")
        down = edge.piece(f"{name}-tip-right", f"{name}-foot-right")
        around = [up, inner.tips[name], down]
        if k < 4:
            around.append(inner.webs[name].left)
        around.append(back_along(inner.roots[name]))
        if k > 0:
            around.append(inner.webs[FINGERS[k - 1].name].right)
        found[f"{name}-finger"] = closed(*around)
    for one, two in pairwise(FINGERS):
        top = edge.piece(f"{one.name}-foot-right", f"{two.name}-foot-left")
        sides = back_along(inner.webs[one.name].right), back_along(inner.webs[one.name].under)
        found[f"web-{one.name}-{two.name}"] = closed(top, *sides, back_along(inner.webs[one.name].left))
    upper = [inner.roots["thumb"]]
    for one, two in pairwise(FINGERS):
        upper += [inner.webs[one.name].under, inner.roots[two.name]]
    found["hand"] = closed(
        edge.piece("wrist-left", "thumb-foot-left"),
        *upper,
        edge.piece("little-foot-right", "wrist-right"),
        back_along(inner.wrist),
    )
    found["wrist"] = closed(
        edge.piece("cut-left", "wrist-left"),
        inner.wrist,
        edge.piece("wrist-right", "cut-right"),
        back_along(inner.cut),
    )
    return found


def parting_lines(inner: Borders) -> str:
    """Path data of every inner border, each drawn once."""
    webs = [web.left + web.under + web.right for web in inner.webs.values()]
    pen = Pen()
    for line in (*inner.tips.values(), *inner.roots.values(), *webs, inner.wrist):
        pen.move(line[0].start)
        pen.draw(line)
    return pen.text()


# ---- ink -----------------------------------------------------------------------------------------------


def edge_strokes(edge: Outline) -> list[str]:
    """The outline as a draughtsman's strokes, each from one web to the next."""
    floors = [f"floor-{finger.name}" for finger in FINGERS[:-1]]
    stops = ["cut-left", *floors, "cut-right"]
    strokes = []
    for k, (start, end) in enumerate(pairwise(stops)):
        thin = (0.0 if k == 0 else 0.06, 0.0 if k == len(stops) - 2 else 0.06)
        strokes.append(inked(edge.piece(start, end), 2.5, ends=thin))
    return strokes


def crease(points: Sequence[complex], weight: float = 1.25) -> str:
    """A quiet line, thin at both ends."""
    return inked(hobby(points), weight, ends=(0.5, 0.5), shade=0.15)


def palm_creases() -> list[str]:
    """Joint creases of the fingers, the thenar curve, the two transverse lines, the wrist."""
    lines = []
    for finger in FINGERS[1:]:
        lines += [crease(finger.across(0.37, 1.6, 0.8)), crease(finger.across(0.345, 1.4, 0.62), 0.9)]
        lines.append(crease(finger.across(0.68, 1.4, 0.78)))
        low = max(finger.foot) - 0.01
        lines.append(crease(finger.across(low, 2.2, 0.82), 1.3))
    lines.append(crease(THUMB.across(0.48, 1.6, 0.8)))
    lines.append(crease(THUMB.across(0.445, 1.2, 0.55), 0.9))
    lines.append(crease(THUMB.across(0.1, 2.5, 0.66)))
    thenar = [complex(103, 272), complex(128, 290), complex(143, 325), complex(144, 362), complex(136, 388)]
    lines.append(crease(thenar, 1.8))
    head = [complex(104, 268), complex(139, 281), complex(178, 301), complex(209, 325)]
    lines.append(crease(head, 1.5))
    heart = [complex(236, 284), complex(206, 273), complex(170, 264), complex(146, 246), complex(139, 237)]
    lines.append(crease(heart, 1.5))
    lines.append(crease([complex(114, 400), complex(160, 404.5), complex(208, 402)], 1.5))
    lines.append(crease([complex(122, 408), complex(160, 411.5), complex(198, 410)], 0.9))
    return lines


KNUCKLES = (
    (complex(113, 246), -14),
    (complex(151, 236), -3),
    (complex(188, 243), 8),
    (complex(220, 262), 20),
)
TENDONS = (
    (complex(118, 268), complex(128, 305), complex(137, 345)),
    (complex(152, 260), complex(152, 300), complex(151, 345)),
    (complex(185, 267), complex(177, 305), complex(168, 342)),
    (complex(212, 284), complex(199, 315), complex(184, 345)),
)


def back_lines() -> list[str]:
    """Nails, knuckle folds, the run of the tendons, the head of the ulna."""
    lines = []
    for finger in FINGERS[1:]:
        for along, sag, reach in ((0.40, -2.6, 0.5), (0.375, -0.6, 0.62), (0.35, 2.2, 0.5)):
            lines.append(crease(finger.across(along, sag, reach), 1.0))
        lines.append(crease(finger.across(0.685, -1.0, 0.5), 0.9))
        lines.append(crease(finger.across(0.665, 0.9, 0.5), 0.9))
    lines.append(crease(THUMB.across(0.49, -1.5, 0.55), 1.0))
    lines.append(crease(THUMB.across(0.46, 0.8, 0.6), 1.0))
    for finger in FINGERS:
        lines += nail(finger)
    for knuckle, slant in KNUCKLES:
        turn = cmath.rect(1, math.radians(slant))
        lines.append(crease([knuckle + point * turn for point in (-11 + 3j, 0 - 2j, 11 + 3j)], 1.0))
    for tendon in TENDONS:
        lines.append(crease(tendon, 1.2))
    lines.append(crease([complex(189, 401), complex(196.5, 397), complex(203, 403)], 1.0))
    return lines


def nail(finger: Finger) -> list[str]:
    """The nail plate with its half-moon; the thumb's is seen from the side."""
    root, brim, half, shift = (0.785, 0.965, 0.6, 0.0) if finger is not THUMB else (0.7, 0.95, 0.56, -0.2)

    def at(along: float, across: float) -> complex:
        return finger.at(along, shift + across * half)

    corners = at(brim - 0.02, -0.95), at(brim - 0.02, 0.95)
    plate = [corners[0], at(root + 0.09, -1.0), at(root + 0.022, -0.8), at(root, 0)]
    plate += [at(root + 0.022, 0.8), at(root + 0.09, 1.0), corners[1]]
    free = [corners[0], at(brim - 0.001, -0.5), at(brim + 0.005, 0), at(brim - 0.001, 0.5), corners[1]]
    moon = [at(root + 0.018, -0.55), at(root + 0.046, 0), at(root + 0.018, 0.55)]
    return [
        inked(hobby(plate), 1.3, ends=(0.05, 0.05), shade=0.3),
        inked(hobby(free), 1.1, ends=(0.1, 0.1), shade=0.2),
        crease(moon, 0.8),
    ]


# ---- files ---------------------------------------------------------------------------------------------


def paths_text() -> str:
    """The path file: for each side the ink of edge and lines, and every region."""
    edge = outline()
    out = [
        "# The hand map's two master hands, thumb at the left: the left palm and the right back.",
        "# Drawn by scripts/draw_hand_map.py; change that, not this.",
        f"width = {WIDTH}",
        f"height = {HEIGHT}",
    ]
    sides: tuple[tuple[str, float, Callable[[], list[str]]], ...]
    sides = (("palm", 1.4, palm_creases), ("back", -1.4, back_lines))
    for side, arch, lines in sides:
        inner = borders(edge, arch=arch)
        cut = inked(inner.cut, 1.2, ends=(0.0, 0.0))
        out += [
            "",
            f"[{side}]",
            f'edge = "{"".join([*edge_strokes(edge), cut])}"',
            f'lines = "{"".join(lines())}"',
        ]
        out.append(f'parting = "{parting_lines(inner)}"')
        out += ["", f"[{side}.regions]"]
        out += [f'{shape} = "{path}"' for shape, path in regions(edge, inner).items()]
    return "\n".join(out) + "\n"


MARK = "/* rules from here on are written by scripts/draw_hand_map.py */"


def with_rules(style: str) -> str:
    """The style sheet with its last part written anew: which box fills which shape."""
    head, mark, _ = style.partition(MARK)
    filled = ",\n".join(_rule(one.id, ":checked") for one in REGIONS)
    focused = ",\n".join(_rule(one.id, ":focus-visible") for one in REGIONS)
    fill = "opacity: 1;"
    ring = "opacity: 1; stroke: var(--map-petrol); stroke-width: 3;"
    empty = ",\n".join(_rule(one.id, ":focus-visible:not(:checked)") for one in REGIONS)
    return f"{head}{mark}\n{filled} {{ {fill} }}\n{focused} {{ {ring} }}\n{empty} {{ fill: none; }}\n"


def _rule(region_id: str, state: str) -> str:
    return f'.hand-map:has([value="{region_id}"]{state}) [data-region="{region_id}"] path:first-child'


def main() -> None:
    """Write the path file and the style rules."""
    PATHS_FILE.write_text(paths_text(), encoding="utf-8")
    STYLE_FILE.write_text(with_rules(STYLE_FILE.read_text(encoding="utf-8")), encoding="utf-8")


if __name__ == "__main__":
    main()
