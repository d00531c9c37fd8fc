"""Changes to the work that lighten its load on hands, alone or in order, never below the floor."""

from dataclasses import dataclass, fields
from math import floor, isfinite
from typing import ClassVar

from thenar.errors import BadInput
from thenar.exposure.floor import (
    Change,
    Held,
    WorkedShift,
    change_within_floor,
    raise_to_floor,
    refuse_below_floor,
    spare_pairs,
    spare_washes,
)

MOST = 24 * 60
MOST_PEOPLE = 20
_WHOLE = ("times", "people", "washes", "rubs", "pairs", "cream_uses")


@dataclass(frozen=True, slots=True)
class WashToRub:
    """A share of the washes that did not need soap become rubs. [above 0, to 1]"""

    share: float = 1.0
    does: ClassVar[str] = "washes that did not need soap become rubs"
    cautions: ClassVar[tuple[str, ...]] = ("rub",)

    def wanted(self, shift: WorkedShift) -> Change:
        """As many rubs more as washes less."""
        swapped = floor(self.share * spare_washes(shift))
        return Change(washes=-swapped, rubs=swapped)


@dataclass(frozen=True, slots=True)
class GlovesOff:
    """A share of the gloves that were not indicated stay off. [above 0, to 1]"""

    share: float = 1.0
    does: ClassVar[str] = "gloves that were not indicated stay off"
    cautions: ClassVar[tuple[str, ...]] = ()

    def wanted(self, shift: WorkedShift) -> Change:
        """Fewer pairs, and their minutes as far as a pair's mean wear tells."""
        off = floor(self.share * spare_pairs(shift))
        load = shift.load
        if not off or not load.pairs or load.glove_minutes is None:
            return Change(pairs=-off)
        return Change(pairs=-off, glove_minutes=-load.glove_minutes * off / load.pairs)


@dataclass(frozen=True, slots=True)
class GlovesOn:
    """Gloves go on for wet tasks: so many times a shift, sparing and adding minutes. [a shift]"""

    times: int
    wet_minutes_spared: float
    glove_minutes: float
    does: ClassVar[str] = "gloves go on for wet tasks"
    cautions: ClassVar[tuple[str, ...]] = ("gloves-on",)

    def wanted(self, shift: WorkedShift) -> Change:  # noqa: ARG002
        """Less water on skin, more gloves; whether skin is dry under them is not known."""
        return Change(
            wet_minutes=-self.wet_minutes_spared,
            pairs=self.times,
            glove_minutes=self.glove_minutes,
            unknown=frozenset({"gloves_on_wet_skin"}),
        )


@dataclass(frozen=True, slots=True)
class DryBeforeGloves:
    """Hands are dry before gloves go on."""

    does: ClassVar[str] = "hands are dry before gloves go on"
    cautions: ClassVar[tuple[str, ...]] = ()

    def wanted(self, shift: WorkedShift) -> Change:
        """No pair on wet skin."""
        return Change(gloves_on_wet_skin=-(shift.load.gloves_on_wet_skin or 0))


@dataclass(frozen=True, slots=True)
class CreamAtBreaks:
    """Cream is used so many times more. [a shift]"""

    times: int
    does: ClassVar[str] = "cream at breaks"
    cautions: ClassVar[tuple[str, ...]] = ("cream",)

    def wanted(self, shift: WorkedShift) -> Change:  # noqa: ARG002
        """More uses of cream."""
        return Change(cream_uses=self.times)


@dataclass(frozen=True, slots=True)
class Machine:
    """A machine takes over what was cleaned by hand. Hands themselves are cleaned as before. [min a shift]"""

    wet_minutes_spared: float
    does: ClassVar[str] = "a machine instead of cleaning things by hand"
    cautions: ClassVar[tuple[str, ...]] = ("machine",)

    def wanted(self, shift: WorkedShift) -> Change:  # noqa: ARG002
        """Less water on skin."""
        return Change(wet_minutes=-self.wet_minutes_spared)


@dataclass(frozen=True, slots=True)
class SharedTask:
    """People share a wet task that one did alone. [minutes of the task in a shift; 2 people or more]"""

    wet_minutes: float
    people: int = 2
    does: ClassVar[str] = "people share a wet task"
    cautions: ClassVar[tuple[str, ...]] = ("shared",)

    def wanted(self, shift: WorkedShift) -> Change:
        """This person's part is left; the rest goes to colleagues."""
        task = min(self.wet_minutes, shift.load.wet_minutes or 0)
        return Change(wet_minutes=-task * (self.people - 1) / self.people)


@dataclass(frozen=True, slots=True)
class OwnMeasure:
    """A site's own measure, by what it adds to a shift or, below 0, takes away. [counts and minutes]"""

    washes: int = 0
    rubs: int = 0
    wet_minutes: float = 0
    pairs: int = 0
    glove_minutes: float = 0
    cream_uses: int = 0
    does: ClassVar[str] = "the site's own measure"
    cautions: ClassVar[tuple[str, ...]] = ()

    def wanted(self, shift: WorkedShift) -> Change:  # noqa: ARG002
        """What the site expects."""
        return Change(**{field.name: getattr(self, field.name) for field in fields(self)})


Control = (
    WashToRub | GlovesOff | GlovesOn | DryBeforeGloves | CreamAtBreaks | Machine | SharedTask | OwnMeasure
)


@dataclass(frozen=True, slots=True)
class Plan:
    """Controls applied in order, under a name."""

    name: str
    controls: tuple[Control, ...]

    @property
    def cautions(self) -> tuple[str, ...]:
        """Rules to show beside the plan, each once."""
        named = ("floor", *(caution for control in self.controls for caution in control.cautions))
        return tuple(f"controls.caution.{caution}" for caution in dict.fromkeys(named))


@dataclass(frozen=True, slots=True)
class Step:
    """One control's part in a plan: what it changed, and what the floor held back."""

    does: str
    change: Change
    held: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PlannedShift:
    """A shift under a plan. `made_good` says what was required, not done, and is added first."""

    before: WorkedShift
    made_good: tuple[str, ...]
    steps: tuple[Step, ...]
    after: WorkedShift


class UnusablePlan(BadInput):
    """A plan with nothing in it, or with a figure a control can't have."""

    def __init__(self, field: str, says: str) -> None:
        super().__init__(
            what=f"{field}: {says}.",
            why="The plan's effect would be worked out from something that can't be done.",
            todo=f"Correct {field}.",
        )


def plan_shift(shift: WorkedShift, plan: Plan) -> PlannedShift:
    """A shift as it would be under a plan: what was missed is made good, then each control in order.

    Parameters
    ----------
    shift
        The shift as worked, with what its acts required.
    plan
        Controls in the order in which they are taken.

    Returns
    -------
    PlannedShift
        The new load, each step's change, and what the floor held back. What is not known stays not known.

    Raises
    ------
    UnusablePlan
        A control has a figure out of range.
    BelowFloor
        Never, unless this software is at fault: then nothing is returned.

    Notes
    -----
    A control takes away only what the acts did not require. Where nobody logged the acts, no wash, rub or
    glove is taken away. Changes between water and gloves stay "at most" as before.

    Examples
    --------
    >>> from thenar.exposure.obligations import Obligations
    >>> from thenar.exposure.shift import ShiftQuantities
    >>> required = Obligations(6, 30, 0, 4, 0, (), (), "2026.1")
    >>> shift = WorkedShift(ShiftQuantities(whole_shift=True, washes=20, rubs=25, pairs=10), required)
    >>> planned = plan_shift(shift, Plan("rub where it will do", (WashToRub(), GlovesOff(share=0.5))))
    >>> planned.after.load.washes, planned.after.load.rubs, planned.after.load.pairs
    (6, 39, 7)
    """
    refuse_unusable_plan(plan)
    raised = raise_to_floor(shift)
    steps: list[Step] = []
    here = raised.shift
    for control in plan.controls:
        held = _apply(control, here)
        here = held.shift
        steps.append(Step(control.does, held.change, held.says))
    refuse_below_floor(here)
    return PlannedShift(shift, raised.says, tuple(steps), here)


def refuse_unusable_plan(plan: Plan, field: str = "plan") -> None:
    """Refuse a plan that can't be taken, naming the field.

    Raises
    ------
    UnusablePlan
        It has no controls, or a figure is out of range.

    Examples
    --------
    >>> refuse_unusable_plan(Plan("cream", (CreamAtBreaks(times=-1),)))  # doctest: +ELLIPSIS
    Traceback (most recent call last):
    ...
    thenar.exposure.controls.UnusablePlan: plan.controls[0].times: is -1; it must be ...
    """
    if not plan.controls:
        raise UnusablePlan(f"{field}.controls", "is empty")
    for place, control in enumerate(plan.controls):
        for each in fields(control):
            _refuse_figure(f"{field}.controls[{place}].{each.name}", control, each.name)


def _apply(control: Control, shift: WorkedShift) -> Held:
    held = change_within_floor(shift, control.wanted(shift))
    return Held(held.shift, held.change, (*held.says, *_why_not(control, shift)))


def _why_not(control: Control, shift: WorkedShift) -> tuple[str, ...]:
    """Why a control that takes away could not even begin."""
    load = shift.load
    if isinstance(control, WashToRub | GlovesOff) and shift.required is None:
        return ("What was required is not known, so nothing is taken away.",)
    if isinstance(control, WashToRub) and (load.washes is None or load.rubs is None):
        return ("Washes or rubs were not counted, so neither is taken away.",)
    if isinstance(control, GlovesOff) and load.pairs is None:
        return ("Gloves were not counted, so none is taken away.",)
    return ()


def _refuse_figure(field: str, control: Control, name: str) -> None:
    figure = getattr(control, name)
    least, most = _range(control, name)
    if name in _WHOLE and type(figure) is not int:
        raise UnusablePlan(field, f"is {figure!r}; it must be a whole number from {least} to {most}")
    if isinstance(figure, bool) or not isfinite(figure) or not least <= figure <= most:
        raise UnusablePlan(field, f"is {figure!r}; it must be from {least} to {most}")
    if name == "share" and figure == 0:
        raise UnusablePlan(field, "is 0; it must be above 0")


def _range(control: Control, name: str) -> tuple[int, int]:
    if name == "share":
        return 0, 1
    if name == "people":
        return 2, MOST_PEOPLE
    return (-MOST if isinstance(control, OwnMeasure) else 0), MOST
