"""Brings the hand map into a page: to show marks, or to choose them."""

from collections.abc import Iterable

from django import template

from thenar.documents.hand_map import HandDrawing, draw_hands
from thenar.skin.hand_map import describe, read_marks

register = template.Library()


@register.inclusion_tag("pieces/hand_map.html")
def hand_map(
    marked: Iterable[str] = (),
    mode: str = "show",
    name: str = "marks",
    uid: str = "hand-map",
    fold: bool = False,
) -> dict[str, object]:
    """The hand map with these regions marked.

    Parameters
    ----------
    marked
        Ids of the marked regions.
    mode
        `show` for a picture, `choose` for a picture with check boxes.
    name
        Name of the form field that carries the chosen ids.
    uid
        Prefix of every element id; give each map on a page its own.
    fold
        Fold the lists of check boxes away, one per hand, until opened. For small screens.
    """
    return {"marked": tuple(marked or ()), "mode": mode, "name": name, "uid": uid, "fold": fold}


@register.simple_tag
def hand_drawings(marked: Iterable[str] = ()) -> tuple[HandDrawing, ...]:
    """The four hands with their spots, for the include."""
    return draw_hands(marked or ())


@register.simple_tag
def hand_words(marked: Iterable[str] = ()) -> str:
    """The marks as one sentence."""
    return describe(read_marks(marked or ()))
