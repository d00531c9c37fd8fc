"""The infection-control floor: no change to a shift takes away a required wash, rub or glove."""

from dataclasses import dataclass, fields, replace

from thenar.errors import BadInput
from thenar.exposure.obligations import Obligations
from thenar.exposure.shift import ShiftQuantities

_NO_LOG = "What was required is not known, so nothing is taken away: {what} stay as they were."


@dataclass(frozen=True, slots=True)
class WorkedShift:
    """A shift's load, the sterile pairs among its gloves, and what its acts required.

    `required` is None where nobody logged the acts: then nothing may be taken away.
    """

    load: ShiftQuantities
    required: Obligations | None = None
    sterile_pairs: int | None = None


@dataclass(frozen=True, slots=True)
class Change:
    """What is added to a shift's load or, below 0, taken from it. [counts and minutes]

    `unknown` names quantities of which it is no longer known what they will be.
    """

    washes: int = 0
    rubs: int = 0
    wet_minutes: float = 0
    pairs: int = 0
    sterile_pairs: int = 0
    glove_minutes: float = 0
    gloves_on_wet_skin: int = 0
    cream_uses: int = 0
    unknown: frozenset[str] = frozenset()


NO_CHANGE = Change()


@dataclass(frozen=True, slots=True)
class Held:
    """A changed shift, the change that was let through, and what was held back, in words."""

    shift: WorkedShift
    change: Change
    says: tuple[str, ...]


class BelowFloor(BadInput):
    """A plan would leave less than the acts required. It is never returned, only refused."""

    def __init__(self, what: str, left: int, least: int) -> None:
        super().__init__(
            what=f"The plan would leave {left} {what} where the acts required {least}.",
            why="Patients would be less protected.",
            todo="Leave the plan as it is and report this: it is a fault of the software.",
        )


def change_within_floor(shift: WorkedShift, wanted: Change) -> Held:
    """Change a shift's load as far as the floor allows, and say what was held back.

    Parameters
    ----------
    shift
        The shift before.
    wanted
        The change asked for.

    Notes
    -----
    What is below the floor before the change is not raised here, only never lowered further: `raise_to_floor`
    makes it good. Where a count is not known, nothing is taken from what it is weighed with.

    Examples
    --------
    >>> from thenar.exposure.obligations import Obligations
    >>> required = Obligations(8, 20, 0, 0, 0, (), (), "2026.1")
    >>> shift = WorkedShift(ShiftQuantities(whole_shift=True, washes=15, rubs=30), required)
    >>> held = change_within_floor(shift, Change(washes=-10, rubs=-10))
    >>> held.shift.load.washes, held.shift.load.rubs
    (8, 20)
    >>> held.says[0]
    'Only 7 of 10 washes could be spared: 8 were required.'
    """
    if shift.required is None:
        return _held_without_log(shift, wanted)
    says: list[str] = []
    change = _hold_cleansing(shift, shift.required, wanted, says)
    change = _hold_gloves(shift, shift.required, change, says)
    return Held(_changed(shift, change), change, tuple(says))


def raise_to_floor(shift: WorkedShift) -> Held:
    """Add the required washes, rubs and gloves that the load shows were missed.

    Examples
    --------
    >>> from thenar.exposure.obligations import Obligations
    >>> required = Obligations(8, 20, 0, 0, 0, (), (), "2026.1")
    >>> made_good = raise_to_floor(
    ...     WorkedShift(ShiftQuantities(whole_shift=True, washes=5, rubs=10), required))
    >>> made_good.shift.load.washes, made_good.shift.load.rubs
    (8, 20)
    """
    required, load = shift.required, shift.load
    if required is None:
        return Held(shift, NO_CHANGE, ())
    washes = _missing(load.washes, required.soap_acts)
    rubs = 0
    if load.washes is not None:
        rubs = _missing(load.rubs, required.cleansings - load.washes - washes)
    sterile = _missing(shift.sterile_pairs, required.gloves_sterile)
    pairs = _missing(load.pairs, _least_pairs(required, shift.sterile_pairs))
    change = Change(
        washes=washes,
        rubs=rubs,
        sterile_pairs=sterile,
        pairs=pairs,
        unknown=frozenset({"glove_minutes", "gloves_on_wet_skin"} if pairs else ()),
    )
    asked = "required, or held to be for want of an answer," if required.held else "required"
    added = {"washes": washes, "rubs": rubs, "sterile pairs": sterile, "pairs of gloves": pairs}
    says = tuple(
        f"{count} {what} were {asked} and not done; every plan adds them."
        for what, count in added.items()
        if count
    )
    return Held(_changed(shift, change), change, says)


def refuse_below_floor(shift: WorkedShift) -> None:
    """Refuse a shift that has less than its acts required, as far as its load is known.

    Raises
    ------
    BelowFloor
        Washes, rubs and washes, or gloves are below what was required.
    """
    required, load = shift.required, shift.load
    if required is None:
        return
    _refuse_less("washes", load.washes, required.soap_acts)
    if load.washes is not None and load.rubs is not None:
        _refuse_less("rubs and washes", load.washes + load.rubs, required.cleansings)
    _refuse_less("pairs of gloves", load.pairs, required.gloves)
    _refuse_less("sterile pairs", shift.sterile_pairs, required.gloves_sterile)


def spare_washes(shift: WorkedShift) -> int:
    """Washes above those that needed soap; 0 where that is not known."""
    if shift.required is None or shift.load.washes is None or shift.load.rubs is None:
        return 0
    return max(shift.load.washes - shift.required.soap_acts, 0)


def spare_pairs(shift: WorkedShift) -> int:
    """Pairs of gloves above those indicated; 0 where that is not known."""
    if shift.required is None or shift.load.pairs is None:
        return 0
    return max(shift.load.pairs - _least_pairs(shift.required, shift.sterile_pairs), 0)


def _least_pairs(required: Obligations, sterile_pairs: int | None) -> int:
    """Sterile pairs stay sterile: they don't stand in for the examination gloves of other acts."""
    return max(required.gloves_sterile, sterile_pairs or 0) + required.gloves_examination


def _held_without_log(shift: WorkedShift, wanted: Change) -> Held:
    change = replace(
        wanted,
        washes=max(wanted.washes, 0),
        rubs=max(wanted.rubs, 0),
        pairs=max(wanted.pairs, 0),
        sterile_pairs=max(wanted.sterile_pairs, 0),
    )
    says = (_NO_LOG.format(what="washes, rubs and gloves"),) if change != wanted else ()
    return Held(_changed(shift, change), change, says)


def _hold_cleansing(shift: WorkedShift, required: Obligations, wanted: Change, says: list[str]) -> Change:
    load = shift.load
    if load.washes is None or load.rubs is None:
        change = replace(wanted, washes=max(wanted.washes, 0), rubs=max(wanted.rubs, 0))
        if change != wanted:
            says.append("Washes or rubs were not counted, so neither is taken away.")
        return change
    least = max(required.soap_acts, required.cleansings - load.rubs - max(wanted.rubs, 0))
    washes = _held_at(load.washes, wanted.washes, least)
    rubs = _held_at(load.rubs, wanted.rubs, required.cleansings - load.washes - washes)
    if washes != wanted.washes:
        says.append(_spared("washes", washes, wanted.washes, least))
    if rubs != wanted.rubs:
        says.append(_spared("rubs", rubs, wanted.rubs, required.cleansings - load.washes - washes))
    return replace(wanted, washes=washes, rubs=rubs)


def _hold_gloves(shift: WorkedShift, required: Obligations, wanted: Change, says: list[str]) -> Change:
    change = wanted
    if shift.sterile_pairs is None or shift.load.pairs is None:
        change = replace(change, sterile_pairs=max(change.sterile_pairs, 0))
    else:
        least = required.gloves_sterile
        change = replace(change, sterile_pairs=_held_at(shift.sterile_pairs, change.sterile_pairs, least))
    if shift.load.pairs is None:
        change = replace(change, pairs=max(change.pairs, 0))
    else:
        sterile = None if shift.sterile_pairs is None else shift.sterile_pairs + change.sterile_pairs
        least = _least_pairs(required, sterile)
        change = replace(change, pairs=_held_at(shift.load.pairs, change.pairs, least))
    if change.pairs != wanted.pairs or change.sterile_pairs != wanted.sterile_pairs:
        says.append("Not all the gloves asked for could be spared: they were indicated, or not counted.")
    return change


def _held_at(before: int, change: int, least: int) -> int:
    """The change, but never down past `least` or 0, nor further down where it was below already."""
    if change >= 0:
        return change
    return max(change, min(max(least, 0) - before, 0))


def _spared(what: str, change: int, wanted: int, required: int) -> str:
    return f"Only {max(-change, 0)} of {-wanted} {what} could be spared: {max(required, 0)} were required."


def _missing(count: int | None, least: int) -> int:
    return 0 if count is None else max(least - count, 0)


def _refuse_less(what: str, left: int | None, least: int) -> None:
    if left is not None and left < least:
        raise BelowFloor(what, left, least)


def _changed(shift: WorkedShift, change: Change) -> WorkedShift:
    """The shift with the change made: nothing below 0, and nothing unknown turned into a number."""
    load = shift.load
    after = {field: _after(load, change, field) for field in _COUNTED}
    if after["gloves_on_wet_skin"] is not None and after["pairs"] is not None:
        after["gloves_on_wet_skin"] = min(after["gloves_on_wet_skin"], after["pairs"])
    changed = replace(load, **after, **_no_longer_known(change))  # type: ignore[arg-type]
    sterile = None if shift.sterile_pairs is None else shift.sterile_pairs + change.sterile_pairs
    return replace(shift, load=changed, sterile_pairs=sterile)


_COUNTED = tuple(field.name for field in fields(Change) if field.name not in ("unknown", "sterile_pairs"))


def _after(load: ShiftQuantities, change: Change, field: str) -> int | float | None:
    before: int | float | None = getattr(load, field)
    if before is None or field in change.unknown:
        return None
    by: int | float = getattr(change, field)
    return max(before + by, 0)


def _no_longer_known(change: Change) -> dict[str, None]:
    """Figures that more gloves, washes or rubs raise by an unknown amount. Fewer leave them "at most"."""
    raised: list[str] = []
    if change.pairs > 0:
        raised += ["longest_glove_wear_minutes", "wash_glove_alternations"]
        raised += ["wet_glove_alternations", *_WITH_RUBS]
    if change.washes > 0:
        raised.append("wash_glove_alternations")
    if change.rubs > 0:
        raised += ["gel_rubs", *_WITH_RUBS]
    return dict.fromkeys(raised)


_WITH_RUBS = ("wet_glove_alternations_with_gels", "wet_glove_alternations_with_rubs")
