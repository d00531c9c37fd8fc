"""What comparing controls is given: shifts with their acts, plans, and the site's own figures and prices."""

from datetime import date
from decimal import Decimal
from typing import Annotated, Literal

from pydantic import ConfigDict, Field
from pydantic.dataclasses import dataclass as checked

from thenar.cli.doors.care_acts import CareActGiven
from thenar.cli.doors.shift import ShiftGiven
from thenar.exposure.controls import (
    Control,
    CreamAtBreaks,
    DryBeforeGloves,
    GlovesOff,
    GlovesOn,
    Machine,
    OwnMeasure,
    Plan,
    SharedTask,
    WashToRub,
)
from thenar.exposure.rule_sets import RubPolicy

STRICT = ConfigDict(extra="forbid", strict=True)

Share = Annotated[float, Field(gt=0, le=1, description="share taken up, above 0 to 1")]
Times = Annotated[int, Field(ge=1, le=1440, description="times a shift")]
Minutes = Annotated[float, Field(ge=0, le=1440, description="minutes a shift")]
Count = Annotated[int, Field(ge=0)]
Price = Annotated[Decimal, Field(ge=0, description="the site's own; left out is not known")]
By = Annotated[int, Field(ge=-1440, le=1440, description="added a shift; below 0 taken away")]
ByMinutes = Annotated[
    float, Field(ge=-1440, le=1440, description="minutes added a shift; below 0 taken away")
]


@checked(frozen=True, slots=True, config=STRICT)
class WashToRubGiven:
    """Washes that did not need soap become rubs."""

    kind: Literal["wash_to_rub"]
    share: Share

    def control(self) -> Control:
        """The control as the computation takes it."""
        return WashToRub(self.share)


@checked(frozen=True, slots=True, config=STRICT)
class GlovesOffGiven:
    """Gloves that were not indicated stay off."""

    kind: Literal["gloves_off"]
    share: Share

    def control(self) -> Control:
        """The control as the computation takes it."""
        return GlovesOff(self.share)


@checked(frozen=True, slots=True, config=STRICT)
class GlovesOnGiven:
    """Gloves go on for wet tasks."""

    kind: Literal["gloves_on"]
    times: Times
    wet_minutes_spared: Minutes
    glove_minutes: Minutes

    def control(self) -> Control:
        """The control as the computation takes it."""
        return GlovesOn(self.times, self.wet_minutes_spared, self.glove_minutes)


@checked(frozen=True, slots=True, config=STRICT)
class DryBeforeGlovesGiven:
    """Hands are dry before gloves go on."""

    kind: Literal["dry_before_gloves"]

    def control(self) -> Control:
        """The control as the computation takes it."""
        return DryBeforeGloves()


@checked(frozen=True, slots=True, config=STRICT)
class CreamAtBreaksGiven:
    """Cream is used so many times more."""

    kind: Literal["cream_at_breaks"]
    times: Times

    def control(self) -> Control:
        """The control as the computation takes it."""
        return CreamAtBreaks(self.times)


@checked(frozen=True, slots=True, config=STRICT)
class MachineGiven:
    """A machine takes over what was cleaned by hand."""

    kind: Literal["machine"]
    wet_minutes_spared: Minutes

    def control(self) -> Control:
        """The control as the computation takes it."""
        return Machine(self.wet_minutes_spared)


@checked(frozen=True, slots=True, config=STRICT)
class SharedTaskGiven:
    """People share a wet task that one did alone."""

    kind: Literal["shared_task"]
    wet_minutes: Minutes
    people: Annotated[int, Field(ge=2, le=20)] = 2

    def control(self) -> Control:
        """The control as the computation takes it."""
        return SharedTask(self.wet_minutes, self.people)


@checked(frozen=True, slots=True, config=STRICT)
class OwnMeasureGiven:
    """The site's own measure, by what it adds to a shift or takes away."""

    kind: Literal["own_measure"]
    washes: By = 0
    rubs: By = 0
    wet_minutes: ByMinutes = 0
    pairs: By = 0
    glove_minutes: ByMinutes = 0
    cream_uses: By = 0

    def control(self) -> Control:
        """The control as the computation takes it."""
        return OwnMeasure(
            self.washes, self.rubs, self.wet_minutes, self.pairs, self.glove_minutes, self.cream_uses
        )


ControlGiven = Annotated[
    WashToRubGiven
    | GlovesOffGiven
    | GlovesOnGiven
    | DryBeforeGlovesGiven
    | CreamAtBreaksGiven
    | MachineGiven
    | SharedTaskGiven
    | OwnMeasureGiven,
    Field(discriminator="kind"),
]


@checked(frozen=True, slots=True, config=STRICT)
class WorkedShiftGiven:
    """A shift as worked, and its acts. Without acts no wash, rub or glove is taken away."""

    shift: ShiftGiven
    acts: tuple[CareActGiven, ...] | None = None
    sterile_pairs: Annotated[int, Field(ge=0, description="sterile pairs among all pairs")] | None = None


@checked(frozen=True, slots=True, config=STRICT)
class PlanGiven:
    """Controls taken in order, and what the plan costs besides consumables."""

    name: Annotated[str, Field(min_length=1, max_length=80)]
    controls: Annotated[tuple[ControlGiven, ...], Field(min_length=1, max_length=20)]
    once: Price | None = None
    a_year: Price | None = None

    def plan(self) -> Plan:
        """The plan as the computation takes it."""
        return Plan(self.name, tuple(each.control() for each in self.controls))


@checked(frozen=True, slots=True, config=STRICT)
class BaselineGiven:
    """The site's own cases and person-years in this area and role, and the people there now."""

    cases: Count
    person_years: Annotated[float, Field(gt=0)]
    people: Annotated[int, Field(ge=1)]


@checked(frozen=True, slots=True, config=STRICT)
class PricesGiven:
    """The site's own prices for one of each. None is assumed."""

    currency: str
    wash: Price | None = None
    rub: Price | None = None
    pair: Price | None = None
    sterile_pair: Price | None = None
    cream_use: Price | None = None
    case: Price | None = None


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class ControlsGiven:
    """Shifts of one area and role, and plans to compare. The same `seed` gives the same figures."""

    shifts: Annotated[tuple[WorkedShiftGiven, ...], Field(min_length=1, max_length=400)]
    plans: Annotated[tuple[PlanGiven, ...], Field(min_length=1, max_length=40)]
    baseline: BaselineGiven | None = None
    shifts_a_year: Annotated[int, Field(ge=1, le=366)] | None = None
    prices: PricesGiven | None = None
    rub_policy: RubPolicy = RubPolicy.EXCLUDED
    seed: Count = 1
    draws: Annotated[int, Field(ge=1_000, le=200_000)] = 20_000
    on: date | None = None
