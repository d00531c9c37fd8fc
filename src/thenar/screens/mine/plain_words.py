"""An examination in words a worker uses: where, what, how strong, how far."""

from collections.abc import Mapping
from dataclasses import dataclass

from thenar.records.models import Examination
from thenar.skin.severity import Area, Sign

_AREAS = {
    Area.FINGERTIPS: "Fingertips",
    Area.FINGERS: "Fingers",
    Area.PALMS: "Palms",
    Area.BACKS: "Backs of your hands",
    Area.WRISTS: "Wrists",
}
_SIGNS = {
    Sign.OEDEMA: "swelling",
    Sign.FISSURES: "cracks",
    Sign.VESICLES: "small blisters",
    Sign.SCALING: "flaking",
    Sign.INDURATION: "raised or thick skin",
    Sign.ERYTHEMA: "redness or another change of colour",
}
_GRADES = {1: "mild", 2: "moderate", 3: "severe"}
_EXTENTS = {
    1: "on up to a quarter",
    2: "on a quarter to a half",
    3: "on a half to three quarters",
    4: "on nearly all of it",
}
_BANDS = {
    "clear": "Your hands looked clear.",
    "almost clear": "Your hands looked almost clear.",
    "almost-clear": "Your hands looked almost clear.",
    "moderate": "Your hands showed moderate trouble.",
    "severe": "Your hands showed severe trouble.",
    "very severe": "Your hands showed very severe trouble.",
    "very-severe": "Your hands showed very severe trouble.",
}


@dataclass(frozen=True, slots=True)
class Seen:
    """One area of the hands as it was seen."""

    area: str
    says: str


def what_was_seen(examination: Examination) -> tuple[Seen, ...]:
    """Every area with something to see, from the fingertips up."""
    signs: Mapping[str, Mapping[str, int]] = examination.signs
    return tuple(
        Seen(_AREAS[area], in_words(signs[area]))
        for area in Area
        if any(signs.get(area, {}).get(sign) for sign in Sign)
    )


def in_words(seen: Mapping[str, int]) -> str:
    """Signs and extent of one area, what can be felt before colour.

    Examples
    --------
    >>> in_words({"fissures": 2, "scaling": 1, "erythema": 1, "extent": 1})
    'Moderate cracks, mild flaking, mild redness or another change of colour, on up to a quarter.'
    """
    signs = [f"{_GRADES[seen[sign]]} {words}" for sign, words in _SIGNS.items() if seen.get(sign)]
    extent = _EXTENTS.get(seen.get("extent", 0))
    sentence = ", ".join([*signs, extent] if extent else signs)
    return f"{sentence[:1].upper()}{sentence[1:]}."


def verdict(examination: Examination) -> str:
    """The band as a sentence."""
    return _BANDS.get(examination.band, f"Your hands were scored as {examination.band}.")
