"""The door to areas steadied by each other."""

from dataclasses import dataclass
from datetime import date
from typing import Annotated

from pydantic import Field
from pydantic.dataclasses import dataclass as checked

from thenar.cli.doors import Door
from thenar.cli.doors.funnel import AreaGiven
from thenar.cli.doors.stated import STRICT, Confidence, GroundsGiven
from thenar.knowledge import Book
from thenar.population.shrinkage import (
    GammaFit,
    MomentEstimate,
    NoSpread,
    ShrunkAreas,
    fit_gamma,
    shrink_by_moments,
    shrink_ratios,
)
from thenar.population.stated import Grounds


@checked(frozen=True, slots=True, kw_only=True, config=STRICT)
class AreasGiven:
    """All areas compared, also those without a case. The same `seed` gives the same answer."""

    grounds: GroundsGiven
    areas: tuple[AreaGiven, ...]
    target: Annotated[float, Field(description="ratio areas are held against, above 0")] = 1.0
    level: Confidence = 0.95
    seed: Annotated[int, Field(ge=0)] = 1


@dataclass(frozen=True, slots=True)
class AreasAnswer:
    """Areas by name, places as ranges.

    `likeliest` (null where areas differ no more than chance) and `by_moments` (in the order given) are two
    simpler answers, for comparison.
    """

    shrunk: ShrunkAreas
    likeliest: GammaFit | None
    by_moments: MomentEstimate
    grounds: Grounds
    edition: str


def _compute(given: AreasGiven, book: Book, today: date) -> AreasAnswer:  # noqa: ARG001
    areas = [one.area_count() for one in given.areas]
    try:
        likeliest = fit_gamma(areas)
    except NoSpread:
        likeliest = None
    return AreasAnswer(
        shrunk=shrink_ratios(areas, seed=given.seed, target=given.target, level=given.level),
        likeliest=likeliest,
        by_moments=shrink_by_moments(areas),
        grounds=given.grounds.grounds(),
        edition=book.edition,
    )


DOOR = Door("empirical-bayes", AreasGiven, AreasAnswer, _compute)
