"""The Hand Eczema Severity Index against its published formula and bands.

No worked example was found in print. The cases are derived by hand from the published formula (Held, Skoet,
Johansen and Agner, Br J Dermatol 2005;152:302-307): in each area the sum of six signs times the extent.
Bands: Oosterhaven and Schuttelaar, Br J Dermatol 2020;182:932-939, doi 10.1111/bjd.18295.
"""

from datetime import date

import pytest

from thenar.knowledge import load
from thenar.skin.severity import (
    AreaSigns,
    HandSigns,
    ImpossibleTotal,
    band_of,
    refuse_impossible_total,
    score_hands,
)

BOOK = load()
DAY = date(2026, 11, 25)


def area(*, e=0, i=0, v=0, f=0, s=0, o=0, extent=0):
    """Erythema, induration, vesicles, fissures, scaling, oedema; and extent."""
    return AreaSigns(e, i, v, f, s, o, extent)


CLEAR = area()
WORST = area(e=3, i=3, v=3, f=3, s=3, o=3, extent=4)  # 18 x 4 = 72

CASES = {
    "all clear": (HandSigns(CLEAR, CLEAR, CLEAR, CLEAR, CLEAR), [0, 0, 0, 0, 0], 0, "clear"),
    "early, from washing": (
        HandSigns(
            fingertips=area(e=1, s=1, extent=1),  # (1+1) x 1 = 2
            fingers=area(e=1, f=1, s=1, extent=1),  # (1+1+1) x 1 = 3
            palms=CLEAR,
            backs=area(e=1, s=1, extent=2),  # (1+1) x 2 = 4
            wrists=CLEAR,
        ),
        [2, 3, 0, 4, 0],
        9,  # 2 + 3 + 4
        "almost clear",
    ),
    "cracked and scaly fingers": (
        HandSigns(
            fingertips=area(e=2, i=1, f=1, s=2, extent=2),  # (2+1+1+2) x 2 = 12
            fingers=area(e=2, i=1, f=1, s=2, extent=2),  # (2+1+1+2) x 2 = 12
            palms=area(e=1, s=1, extent=1),  # (1+1) x 1 = 2
            backs=CLEAR,
            wrists=CLEAR,
        ),
        [12, 12, 2, 0, 0],
        26,  # 12 + 12 + 2
        "moderate",
    ),
    "widespread": (
        HandSigns(
            fingertips=area(e=2, i=1, f=2, s=2, extent=2),  # 7 x 2 = 14
            fingers=area(e=2, i=2, v=1, f=2, s=2, extent=3),  # 9 x 3 = 27
            palms=area(e=2, f=1, s=2, extent=2),  # 5 x 2 = 10
            backs=area(e=2, i=1, v=1, s=2, o=1, extent=3),  # 7 x 3 = 21
            wrists=area(e=1, s=1, extent=1),  # 2 x 1 = 2
        ),
        [14, 27, 10, 21, 2],
        74,  # 14 + 27 + 10 + 21 + 2
        "severe",
    ),
    "everything at its worst": (
        HandSigns(WORST, WORST, WORST, WORST, WORST),
        [72, 72, 72, 72, 72],
        360,  # 5 x 72
        "very severe",
    ),
    "top of almost clear": (
        HandSigns(area(e=3, i=2, v=1, f=1, s=1, extent=2), CLEAR, CLEAR, CLEAR, CLEAR),  # 8 x 2 = 16
        [16, 0, 0, 0, 0],
        16,
        "almost clear",
    ),
    "bottom of moderate": (
        HandSigns(area(e=3, i=3, v=3, f=3, s=3, o=2, extent=1), CLEAR, CLEAR, CLEAR, CLEAR),  # 17 x 1 = 17
        [17, 0, 0, 0, 0],
        17,
        "moderate",
    ),
}


@pytest.mark.parametrize(("signs", "scores", "total", "band"), CASES.values(), ids=CASES)
def test_score_agrees_with_the_formula_worked_by_hand(signs, scores, total, band):
    severity = score_hands(signs, BOOK, DAY)
    assert [score.score for score in severity.areas] == scores
    assert severity.total == total
    assert severity.band.label == band


@pytest.mark.parametrize(
    ("total", "band"),
    [
        (0, "clear"),
        (1, "almost clear"),
        (16, "almost clear"),
        (17, "moderate"),
        (37, "moderate"),
        (38, "severe"),
        (116, "severe"),
        (117, "very severe"),
        (360, "very severe"),
    ],
)
def test_bands_agree_with_oosterhaven_and_schuttelaar_2020(total, band):
    assert band_of(total, BOOK, DAY).label == band


# Worked by hand: an area not at its worst (72) loses 4, 8, 12 ... points (fewer signs at extent 4) or
# 18, 21, 24 ... (18, 17, 16 ... signs at extent 3). So 360 - d can occur only if d is the sum of at
# most five such losses. The d that are not: all below 18 that 4 does not divide, then 19 and 23
# (22 = 18 + 4, 25 = 21 + 4).
MISSING = (1, 2, 3, 5, 6, 7, 9, 10, 11, 13, 14, 15, 17, 19, 23)


def test_exactly_the_fifteen_totals_that_no_hands_can_have_are_refused():
    refused = set()
    for total in range(361):
        try:
            refuse_impossible_total(total)
        except ImpossibleTotal:
            refused.add(total)
    assert refused == {360 - missing for missing in MISSING}
    assert refused == {337, 341, 343, 345, 346, 347, 349, 350, 351, 353, 354, 355, 357, 358, 359}
