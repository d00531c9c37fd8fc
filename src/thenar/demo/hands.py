"""What the practitioner would see on sore hands, week by week: signs, extent and marks on the hand map."""

import math
from dataclasses import dataclass
from datetime import date

from thenar.demo.chance import Chance
from thenar.knowledge import Book
from thenar.skin.hand_map import REGIONS
from thenar.skin.severity import Area, AreaSigns, HandSigns, Sign, score_hands

# How often each area is the sore one, and how strong each sign is where the skin is sore. Invented.
_AREAS = {Area.BACKS: 5.0, Area.FINGERS: 5.0, Area.FINGERTIPS: 3.0, Area.PALMS: 2.0, Area.WRISTS: 1.5}
_SIGNS = {
    Sign.ERYTHEMA: 1.0,
    Sign.SCALING: 1.0,
    Sign.FISSURES: 0.7,
    Sign.INDURATION: 0.5,
    Sign.VESICLES: 0.25,
    Sign.OEDEMA: 0.2,
}
_STRENGTH = {1: (0.7, 1.3), 2: (1.0, 1.9), 3: (1.4, 2.8)}
_TOTALS = {1: range(2, 17), 2: range(17, 38), 3: range(38, 140)}  # the bands by which each grade is meant
_MOST_EXTENT, _MOST_SIGN = 4, 3


@dataclass(frozen=True, slots=True)
class Pattern:
    """Where and how one person's hands are sore when it is at its worst."""

    extent: dict[Area, float]
    signs: dict[Area, dict[Sign, float]]
    marks: tuple[str, ...]

    def at(self, activity: float) -> HandSigns:
        """The hands at an activity from 0, clear, over 1, as drawn, to a little more in a flare."""
        return HandSigns(**{area.value: self._area(area, activity) for area in Area})

    def _area(self, area: Area, activity: float) -> AreaSigns:
        extent = min(_MOST_EXTENT, round(self.extent.get(area, 0) * math.sqrt(activity)))
        grades = {
            sign.value: min(_MOST_SIGN, round(self.signs.get(area, {}).get(sign, 0) * activity))
            for sign in Sign
        }
        if not extent or not any(grades.values()):
            return AreaSigns(0, 0, 0, 0, 0, 0, 0)
        return AreaSigns(**grades, extent=extent)


def pattern(chance: Chance, grade: int, book: Book, on: date) -> Pattern:
    """A pattern whose real score falls in the bands meant by a grade."""
    while True:
        drawn = _drawn(chance, grade)
        if score_hands(drawn.at(1), book, on).total in _TOTALS[grade]:
            return drawn


def _drawn(chance: Chance, grade: int) -> Pattern:
    weights, areas = dict(_AREAS), []
    for _ in range(chance.whole(grade, min(5, grade + 2))):
        areas.append(chance.weighed(weights))
        del weights[areas[-1]]
    low, high = _STRENGTH[grade]
    return Pattern(
        extent={area: chance.between(0.8, 1.2 + grade) for area in areas},
        signs={
            area: {sign: strength * chance.between(low, high) for sign, strength in _SIGNS.items()}
            for area in areas
        },
        marks=_marks(chance, areas),
    )


def _marks(chance: Chance, areas: list[Area]) -> tuple[str, ...]:
    """Some regions of each sore area, mostly the same on both hands."""
    marks: list[str] = []
    for area in areas:
        right = [one for one in REGIONS if one.area == area.value and one.hand == "right"]
        for region in chance.some_of(right, chance.whole(1, max(1, len(right) // 2))):
            marks.append(region.id)
            if chance.yes(0.8):
                marks.append(region.id.replace("right-", "left-", 1))
    return tuple(marks)


def activity(course: str, weeks: float, pace: float) -> float:
    """How active the trouble is so many weeks after the first look.

    Parameters
    ----------
    course
        `quick`, `slow`, `flare` (first worse, then better) or `relapse` (better, worse again, better).
    weeks
        Since the first examination. [weeks, from 0]
    pace
        In which it falls to about a third. [weeks]

    Examples
    --------
    >>> activity("slow", 0, 8), round(activity("slow", 8, 8), 2)
    (1.0, 0.37)
    """
    calm = math.exp(-weeks / pace)
    if course == "quick":
        return math.exp(-2 * weeks / pace)
    if course == "flare":
        return calm * (1 + 0.6 * math.exp(-((weeks - 2.5) ** 2) / 3))
    if course == "relapse":
        return calm + 0.7 * math.exp(-((weeks - 1.8 * pace) ** 2) / pace)
    return calm
