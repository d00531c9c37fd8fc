"""A published risk ratio: of what, between whom, how sure, and within which contrast it may be used."""

from decimal import Decimal
from typing import Literal

from pydantic import Field
from pydantic.dataclasses import dataclass as checked

from thenar.knowledge.entries import STRICT, KnownAs, OtherView

Factor = Literal["washes", "cream_uses", "pairs", "gloves_on_wet_skin"]
Measure = Literal["risk ratio", "odds ratio"]
Positive = Field(gt=0)


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class RiskRatio:
    """Risk of hand eczema in those at or above a contrast, relative to those below it.

    A day counts as below under `below`, and as above from `from_on` up. Where a source pooled studies with
    different cut-offs the two differ, and what lies between them is neither. `unexposed_risk` is needed to
    turn an odds ratio into a risk ratio. `randomised` says whether chance decided who was exposed; if not,
    the ratio is an association.
    """

    id: str
    says: str
    factor: Factor
    below: Decimal
    from_on: Decimal
    measure: Measure
    estimate: Decimal = Positive
    lower: Decimal = Positive
    upper: Decimal = Positive
    confidence: Decimal = Field(gt=0, lt=1)
    design: str
    randomised: bool
    source: str
    locator: str
    known_as: KnownAs
    unexposed_risk: Decimal | None = Field(default=None, gt=0, lt=1)
    note: str = ""
    other_view: tuple[OtherView, ...] = ()
    why_in_use: str = ""

    @property
    def in_words(self) -> str:
        """The ratio with its interval: `risk ratio 1.66 (1.51 to 1.83)`."""
        level = "" if self.confidence == Decimal("0.95") else f", {self.confidence:.0%} interval"
        return f"{self.measure} {self.estimate} ({self.lower} to {self.upper}{level})"


def unfit(ratio: RiskRatio) -> list[tuple[str, str]]:
    """What in a risk ratio does not fit together: the fault, and why it matters."""
    found: list[tuple[str, str]] = []
    if not ratio.lower <= ratio.estimate <= ratio.upper:
        found.append(("has an estimate outside its interval", "One of the three is a slip."))
    if ratio.from_on < ratio.below:
        found.append(("starts before it ends", "A day would be both above and below the contrast."))
    if ratio.measure == "odds ratio" and ratio.unexposed_risk is None:
        found.append(("is an odds ratio without unexposed_risk", "Read as a risk ratio it overstates."))
    return found
