"""The controls a page offers, each with the figures it needs and where it stands in the hierarchy."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from thenar.exposure.controls import (
    Control,
    CreamAtBreaks,
    DryBeforeGloves,
    GlovesOff,
    GlovesOn,
    Machine,
    OwnMeasure,
    SharedTask,
    WashToRub,
)

Figures = Mapping[str, float]


@dataclass(frozen=True, slots=True)
class FigureAsked:
    """A figure a control needs: a share in per cent, minutes, or a whole number; `least` to `most`."""

    name: str
    label: str
    least: float
    most: float
    whole: bool = False
    needed: bool = True


@dataclass(frozen=True, slots=True)
class ReadyControl:
    """A control as it is offered. `hierarchy` is where it usually stands; empty for a site's own measure."""

    kind: str
    label: str
    hint: str
    hierarchy: str
    figures: tuple[FigureAsked, ...]
    build: Callable[[Figures], Control]
    cautions: tuple[str, ...] = ()


def _share(label: str) -> FigureAsked:
    return FigureAsked("share", label, 1, 100)


def _minutes(name: str, label: str) -> FigureAsked:
    return FigureAsked(name, label, 0, 1440)


def _added(name: str, label: str, whole: bool) -> FigureAsked:
    return FigureAsked(name, label, -1440, 1440, whole, needed=False)


READY: tuple[ReadyControl, ...] = (
    ReadyControl(
        "wash_to_rub",
        "Washes become rubs",
        "Only those that did not need soap.",
        "substitution",
        (_share("Share that change (%)"),),
        lambda given: WashToRub(given["share"] / 100),
        ("controls.caution.rub",),
    ),
    ReadyControl(
        "gloves_off",
        "Gloves come off",
        "Only those that were not indicated.",
        "elimination",
        (_share("Share that come off (%)"),),
        lambda given: GlovesOff(given["share"] / 100),
        ("controls.gloves-off.reached",),
    ),
    ReadyControl(
        "machine",
        "A machine instead of cleaning by hand",
        "Dishes, bowls, instruments. Hands themselves are cleaned as before.",
        "engineering",
        (_minutes("wet_minutes_spared", "Wet minutes spared a shift"),),
        lambda given: Machine(given["wet_minutes_spared"]),
        ("controls.caution.machine",),
    ),
    ReadyControl(
        "shared_task",
        "People share a wet task",
        "The team’s wet time stays the same.",
        "organisation",
        (
            _minutes("wet_minutes", "Wet minutes of the task"),
            FigureAsked("people", "People who share it", 2, 20, whole=True),
        ),
        lambda given: SharedTask(given["wet_minutes"], int(given["people"])),
        ("controls.caution.shared",),
    ),
    ReadyControl(
        "gloves_on",
        "Gloves go on for wet tasks",
        "Dry hands only, and no longer than the task.",
        "protection",
        (
            FigureAsked("times", "Times a shift", 1, 1440, whole=True),
            _minutes("wet_minutes_spared", "Wet minutes spared a shift"),
            _minutes("glove_minutes", "Glove minutes added a shift"),
        ),
        lambda given: GlovesOn(int(given["times"]), given["wet_minutes_spared"], given["glove_minutes"]),
        ("controls.caution.gloves-on",),
    ),
    ReadyControl(
        "dry_before_gloves",
        "Hands are dry before gloves go on",
        "Asks for seconds, not for things.",
        "protection",
        (),
        lambda given: DryBeforeGloves(),  # noqa: ARG005  every control is built from figures
    ),
    ReadyControl(
        "cream_at_breaks",
        "Cream at breaks",
        "Offered where people rest.",
        "protection",
        (FigureAsked("times", "Uses more a shift", 1, 1440, whole=True),),
        lambda given: CreamAtBreaks(int(given["times"])),
        ("controls.caution.cream",),
    ),
    ReadyControl(
        "own_measure",
        "A measure of your own",
        "What it adds to a shift; below 0 is taken away.",
        "",
        (
            _added("washes", "Washes", whole=True),
            _added("rubs", "Rubs", whole=True),
            _added("wet_minutes", "Wet minutes", whole=False),
            _added("pairs", "Pairs of gloves", whole=True),
            _added("glove_minutes", "Glove minutes", whole=False),
            _added("cream_uses", "Uses of cream", whole=True),
        ),
        lambda given: OwnMeasure(
            washes=int(given.get("washes", 0)),
            rubs=int(given.get("rubs", 0)),
            wet_minutes=given.get("wet_minutes", 0),
            pairs=int(given.get("pairs", 0)),
            glove_minutes=given.get("glove_minutes", 0),
            cream_uses=int(given.get("cream_uses", 0)),
        ),
    ),
)
BY_KIND = {ready.kind: ready for ready in READY}
