"""The door to scoring hands."""

from dataclasses import asdict, dataclass
from datetime import date
from typing import Annotated

from pydantic import ConfigDict, Field
from pydantic.dataclasses import dataclass as checked

from thenar.cli.doors import Cited, Door, cited, not_after
from thenar.knowledge import Book
from thenar.skin.severity import AreaSigns, HandSigns, score_hands

STRICT = ConfigDict(extra="forbid", strict=True)
STRUCTURE = "severity.structure.total-most"

Grade = Annotated[int, Field(ge=0, le=3, description="0 none, 1 mild, 2 moderate, 3 severe")]
Extent = Annotated[
    int, Field(ge=0, le=4, description="0 none of the area, 1 up to 25 %, 2 up to 50 %, 3 up to 75 %, 4 more")
]


@checked(frozen=True, slots=True, config=STRICT)
class AreaGiven:
    """One area of both hands as seen."""

    erythema: Grade
    induration: Grade
    vesicles: Grade
    fissures: Grade
    scaling: Grade
    oedema: Grade
    extent: Extent

    def signs(self) -> AreaSigns:
        """The area as the computation takes it."""
        return AreaSigns(**asdict(self))


@checked(frozen=True, slots=True, config=STRICT)
class AreasGiven:
    """All five areas."""

    fingertips: AreaGiven
    fingers: AreaGiven
    palms: AreaGiven
    backs: AreaGiven
    wrists: AreaGiven


@checked(frozen=True, slots=True, config=STRICT)
class SeverityGiven:
    """What was seen. `on` is the day of the examination, today if left out."""

    areas: AreasGiven
    hard_to_judge: bool = False
    on: date | None = None


@dataclass(frozen=True, slots=True)
class AreaAnswer:
    """One area's part in the total: signs times extent."""

    signs: int
    extent: int
    score: int


@dataclass(frozen=True, slots=True)
class SeverityAnswer:
    """The total, its band, each area's score, and where the rules come from."""

    total: int
    band: str
    band_rule: str
    areas: dict[str, AreaAnswer]
    hard_to_judge: bool
    on: date
    sources: tuple[Cited, ...]
    edition: str


def _compute(given: SeverityGiven, book: Book, today: date) -> SeverityAnswer:
    on = not_after(given.on, today)
    seen = given.areas
    signs = HandSigns(
        fingertips=seen.fingertips.signs(),
        fingers=seen.fingers.signs(),
        palms=seen.palms.signs(),
        backs=seen.backs.signs(),
        wrists=seen.wrists.signs(),
    )
    severity = score_hands(signs, book, on, hard_to_judge=given.hard_to_judge)
    structure = book.cite(book.rule(STRUCTURE).on(on))
    return SeverityAnswer(
        total=severity.total,
        band=severity.band.label,
        band_rule=severity.band.rule_id,
        areas={area.area.value: AreaAnswer(area.signs, area.extent, area.score) for area in severity.areas},
        hard_to_judge=severity.hard_to_judge,
        on=on,
        sources=(cited(STRUCTURE, structure), cited(severity.band.rule_id, severity.band.citation)),
        edition=severity.edition,
    )


DOOR = Door("severity", SeverityGiven, SeverityAnswer, _compute)
