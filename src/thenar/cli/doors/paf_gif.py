"""The door to the share of cases that goes with an exposure, or that a change would spare."""

from dataclasses import dataclass
from datetime import date
from typing import Annotated, Literal

from pydantic import Field
from pydantic.dataclasses import dataclass as checked

from thenar.cli.doors import Cited, Door, cited, not_after
from thenar.cli.doors.stated import STRICT
from thenar.exposure.attributable import bruzzi, impact_fraction, levin, miettinen
from thenar.knowledge import Book

ASSOCIATION = "controls.caution.association"
DO_NOT_ADD = "Fractions of several factors do not add up: two causes can share a case."

Share = Annotated[float, Field(description="share of people or of cases, 0 to 1")]
Ratio = Annotated[float, Field(description="risk relative to the level of comparison, above 0")]


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class AmongEveryone:
    """From how common the exposure is among everyone, with a crude ratio (Levin)."""

    method: Literal["levin"]
    exposed_share: Share
    risk_ratio: Ratio

    def fraction(self) -> float:
        """Share of all cases that goes with the exposure."""
        return levin(self.exposed_share, self.risk_ratio)


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class AmongCases:
    """From how common the exposure is among cases, with an adjusted ratio (Miettinen)."""

    method: Literal["miettinen"]
    exposed_share_of_cases: Share
    risk_ratio: Ratio

    def fraction(self) -> float:
        """Share of all cases that goes with the exposure."""
        return miettinen(self.exposed_share_of_cases, self.risk_ratio)


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class LevelsAmongCases:
    """From several levels among cases, with adjusted ratios (Bruzzi)."""

    method: Literal["bruzzi"]
    shares_of_cases: tuple[Share, ...]
    risk_ratios: tuple[Ratio, ...]

    def fraction(self) -> float:
        """Share of all cases that goes with the exposure."""
        return bruzzi(self.shares_of_cases, self.risk_ratios)


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class Shift:
    """From shares of people at each level before and after a change; below 0 it would add cases."""

    method: Literal["impact"]
    before: tuple[Share, ...]
    after: tuple[Share, ...]
    risk_ratios: tuple[Ratio, ...]

    def fraction(self) -> float:
        """Share of all cases that the change would spare."""
        return impact_fraction(self.before, self.after, self.risk_ratios)


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class FractionGiven:
    """One of four ways to the share, named by its `method`."""

    figures: Annotated[AmongEveryone | AmongCases | LevelsAmongCases | Shift, Field(discriminator="method")]
    on: date | None = None


@dataclass(frozen=True, slots=True)
class FractionAnswer:
    """The share of all cases. It has no interval: the ratio's own is not asked for here."""

    fraction_of_cases: float
    method: str
    cautions: tuple[str, ...]
    source_of_caution: Cited
    edition: str


def _compute(given: FractionGiven, book: Book, today: date) -> FractionAnswer:
    association = book.rule(ASSOCIATION).on(not_after(given.on, today))
    return FractionAnswer(
        fraction_of_cases=given.figures.fraction(),
        method=given.figures.method,
        cautions=(association.text or "", DO_NOT_ADD),
        source_of_caution=cited(ASSOCIATION, book.cite(association)),
        edition=book.edition,
    )


DOOR = Door("paf-gif", FractionGiven, FractionAnswer, _compute)
