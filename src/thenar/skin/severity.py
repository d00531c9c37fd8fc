"""How bad do the hands look? The Hand Eczema Severity Index, its bands, and when a change is a change."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum
from functools import cache
from typing import Literal

from thenar.errors import BadInput
from thenar.knowledge import Book, Citation

MOST_SIGN = 3
MOST_EXTENT = 4
BAND = "severity.band."
YARDSTICK = "severity.change."


class Area(StrEnum):
    """Where signs are graded. Each is scored for both hands together."""

    FINGERTIPS = "fingertips"
    FINGERS = "fingers"
    PALMS = "palms"
    BACKS = "backs"
    WRISTS = "wrists"


class Sign(StrEnum):
    """What is graded in each area."""

    ERYTHEMA = "erythema"
    INDURATION = "induration"
    VESICLES = "vesicles"
    FISSURES = "fissures"
    SCALING = "scaling"
    OEDEMA = "oedema"


class QueryKind(StrEnum):
    """Why an area's entries can't both be right."""

    EXTENT_WITHOUT_SIGNS = "extent without signs"
    SIGNS_WITHOUT_EXTENT = "signs without extent"


@dataclass(frozen=True, slots=True)
class AreaSigns:
    """One area as seen: six signs [0 none to 3 severe] and extent [0 none to 4 more than three quarters]."""

    erythema: int
    induration: int
    vesicles: int
    fissures: int
    scaling: int
    oedema: int
    extent: int

    def grade(self, sign: Sign) -> int:
        """The grade of one sign. [0 to 3]"""
        grade: int = getattr(self, sign)
        return grade

    def sum_of_signs(self) -> int:
        """All six grades added. [0 to 18]"""
        return sum(self.grade(sign) for sign in Sign)


@dataclass(frozen=True, slots=True)
class HandSigns:
    """Both hands as seen. Every area must be looked at: a total with a part missing is not a score."""

    fingertips: AreaSigns
    fingers: AreaSigns
    palms: AreaSigns
    backs: AreaSigns
    wrists: AreaSigns

    def at(self, area: Area) -> AreaSigns:
        """The signs of one area."""
        signs: AreaSigns = getattr(self, area)
        return signs


@dataclass(frozen=True, slots=True)
class AreaScore:
    """One area's part in the total: `score` is `signs` times `extent`. [0 to 72]"""

    area: Area
    signs: int
    extent: int
    score: int


@dataclass(frozen=True, slots=True)
class Band:
    """The word for a total, and the rule it comes from."""

    code: str
    label: str
    rule_id: str
    citation: Citation


@dataclass(frozen=True, slots=True)
class Severity:
    """A scored examination, with the edition of the knowledge that named its band."""

    total: int
    band: Band
    areas: tuple[AreaScore, ...]
    edition: str
    hard_to_judge: bool


@dataclass(frozen=True, slots=True)
class Query:
    """A pair of entries in one area that can't both be right, to be asked back."""

    area: Area
    kind: QueryKind
    says: str


Verdict = Literal["improved", "worse", "no change that can be told"]


@dataclass(frozen=True, slots=True)
class Judgement:
    """What one published yardstick says of a change. `difference` is after minus before. [points]"""

    yardstick: str
    threshold: Decimal
    difference: int
    verdict: Verdict
    note: str
    citation: Citation


class GradeOutOfRange(BadInput):
    """A sign or an extent has a grade the scale doesn't have."""

    def __init__(self, area: Area, field: str, grade: object, most: int) -> None:
        super().__init__(
            what=f"{area}: {field} is {grade!r}; it must be a whole number from 0 to {most}.",
            why="A grade outside the scale would make a score nobody can compare.",
            todo=f"Look at the {area} again and give {field} a grade from 0 to {most}.",
        )


class ImpossibleSigns(BadInput):
    """Signs and extent contradict each other, so the entry is asked back and not scored."""

    def __init__(self, queries: tuple[Query, ...]) -> None:
        super().__init__(
            what=" ".join(query.says for query in queries),
            why="One of the two entries is a slip, and scoring it would hide the slip.",
            todo="Look at the areas named again and correct the signs or the extent.",
        )
        self.queries = queries


class ImpossibleTotal(BadInput):
    """No set of grades adds up to this total."""

    def __init__(self, total: object) -> None:
        super().__init__(
            what=f"No examination can give a total of {total!r}.",
            why="The total adds five areas of signs times extent, which can't make every number up to 360.",
            todo="Check the number, or enter the signs and let the total be added up.",
        )


def score_hands(signs: HandSigns, book: Book, on: date, hard_to_judge: bool = False) -> Severity:
    """Score both hands: for each area the sum of six signs times the extent, added over five areas.

    Parameters
    ----------
    signs
        What was seen in each area. [signs 0 to 3, extent 0 to 4]
    book
        The knowledge that names the band.
    on
        Day of the examination; the band is the one in force on it.
    hard_to_judge
        The examiner found redness hard to judge on this skin. Kept beside the score; changes no number.

    Returns
    -------
    Severity
        Total [points, 0 to 360], band, and each area's score [points, 0 to 72].

    Raises
    ------
    GradeOutOfRange
        A grade is not a whole number on its scale.
    ImpossibleSigns
        Some areas have extent without signs, or signs without extent; every one is listed.

    Notes
    -----
    For signs seen on the hands themselves, not on photographs. It measures how hands look, not their cause,
    and says nothing about whether a person can work.

    References
    ----------
    .. [1] Held, Skoet, Johansen and Agner, Br J Dermatol 2005;152:302-307: structure of the score.
    .. [2] Oosterhaven and Schuttelaar, Br J Dermatol 2020;182:932-939, doi 10.1111/bjd.18295: bands.

    Examples
    --------
    Redness and scaling, both mild, on up to half of the backs: 2 points of signs times an extent of 2.

    >>> from thenar.knowledge import load
    >>> clear = AreaSigns(0, 0, 0, 0, 0, 0, 0)
    >>> backs = AreaSigns(erythema=1, induration=0, vesicles=0, fissures=0, scaling=1, oedema=0, extent=2)
    >>> severity = score_hands(HandSigns(clear, clear, clear, backs, clear), load(), date(2026, 11, 25))
    >>> severity.total, severity.band.label
    (4, 'almost clear')
    """
    _refuse_grades_off_the_scale(signs)
    queries = query_signs(signs)
    if queries:
        raise ImpossibleSigns(queries)
    areas = tuple(_score_area(area, signs.at(area)) for area in Area)
    total = sum(area.score for area in areas)
    return Severity(total, band_of(total, book, on), areas, book.edition, hard_to_judge)


def query_signs(signs: HandSigns) -> tuple[Query, ...]:
    """Every area whose signs and extent contradict each other, for asking back."""
    return tuple(query for area in Area if (query := _query_area(area, signs.at(area))) is not None)


def band_of(total: int, book: Book, on: date) -> Band:
    """The band a total falls in on a day: of all bands whose bound it meets, the highest.

    Parameters
    ----------
    total
        [points, 0 to 360]
    book
        The knowledge that holds the bands.
    on
        Day whose bands are used.

    Raises
    ------
    ImpossibleTotal
        No examination can give this total.

    Notes
    -----
    These bands have no "mild". Another source calls 1 to 16 mild; the rule keeps both views.

    References
    ----------
    .. [1] Oosterhaven and Schuttelaar, Br J Dermatol 2020;182:932-939, doi 10.1111/bjd.18295.

    Examples
    --------
    >>> from thenar.knowledge import load
    >>> band_of(17, load(), date(2026, 11, 25)).label
    'moderate'
    """
    refuse_impossible_total(total)
    bounds = [(rule.id, rule.on(on)) for rule in book.rules.values() if rule.id.startswith(BAND)]
    rule_id, bound = max(
        ((rule_id, bound) for rule_id, bound in bounds if bound.met_by(total)),
        key=lambda reached: reached[1].amount or 0,
    )
    code = rule_id.removeprefix(BAND)
    return Band(code, code.replace("-", " "), rule_id, book.cite(bound))


def scored_from(book: Book) -> date:
    """The first day whose examinations can be scored: every band has a bound from then on.

    Parameters
    ----------
    book
        The knowledge that holds the bands.

    References
    ----------
    .. [1] Oosterhaven and Schuttelaar, Br J Dermatol 2020;182:932-939, doi 10.1111/bjd.18295.

    Examples
    --------
    >>> from thenar.knowledge import load
    >>> scored_from(load())
    datetime.date(2019, 9, 5)
    """
    bands = (rule for rule in book.rules.values() if rule.id.startswith(BAND))
    return max(min(value.in_force_from for value in band.value) for band in bands)


def refuse_impossible_total(total: int) -> None:
    """Refuse a total that no set of grades adds up to, such as 359.

    Parameters
    ----------
    total
        A total from elsewhere: typed in or imported. [points]

    Raises
    ------
    ImpossibleTotal
        It is not a whole number from 0 to 360, or falls in a gap of the scale.

    Notes
    -----
    The gaps follow from the structure of the score alone; all lie above 336.

    Examples
    --------
    >>> refuse_impossible_total(360)
    >>> refuse_impossible_total(359)  # doctest: +ELLIPSIS
    Traceback (most recent call last):
    ...
    thenar.skin.severity.ImpossibleTotal: No examination can give a total of 359. ...
    """
    if type(total) is not int or total not in _possible_totals():
        raise ImpossibleTotal(total)


def judge_change(before: int, after: int, book: Book, on: date) -> tuple[Judgement, ...]:
    """Whether hands improved or got worse between two scores, by each published yardstick.

    Parameters
    ----------
    before, after
        Totals of two examinations, earlier first. [points, 0 to 360]
    book
        The knowledge that holds the yardsticks.
    on
        Day of the later examination.

    Returns
    -------
    tuple of Judgement
        One for each yardstick. A change below a yardstick is never called improved by it.

    Raises
    ------
    ImpossibleTotal
        No examination can give one of the totals.

    Notes
    -----
    The two yardsticks differ fivefold and are never averaged. Not for totals by different examiners or from
    photographs, where the error is larger.

    References
    ----------
    .. [1] Oosterhaven and Schuttelaar, Br J Dermatol 2020;182:932-939, doi 10.1111/bjd.18295.
    .. [2] Yüksel, Agner and Ofenloch, Contact Dermatitis 2021;85:164-170, doi 10.1111/cod.13828.

    Examples
    --------
    >>> from thenar.knowledge import load
    >>> [(j.yardstick, j.verdict) for j in judge_change(30, 18, load(), date(2026, 11, 25))]
    [('oosterhaven-2020', 'no change that can be told'), ('yuksel-2021', 'improved')]
    """
    refuse_impossible_total(before)
    refuse_impossible_total(after)
    yardsticks = [rule for rule in book.rules.values() if rule.id.startswith(YARDSTICK)]
    return tuple(_judge_by(rule.id, after - before, book, on) for rule in yardsticks)


def _judge_by(rule_id: str, difference: int, book: Book, on: date) -> Judgement:
    threshold = book.rule(rule_id).on(on)
    verdict: Verdict = "no change that can be told"
    if threshold.met_by(abs(difference)):
        verdict = "improved" if difference < 0 else "worse"
    return Judgement(
        yardstick=rule_id.removeprefix(YARDSTICK),
        threshold=threshold.amount or Decimal(0),
        difference=difference,
        verdict=verdict,
        note=threshold.note,
        citation=book.cite(threshold),
    )


def _refuse_grades_off_the_scale(signs: HandSigns) -> None:
    for area in Area:
        seen = signs.at(area)
        for sign in Sign:
            _refuse_off_the_scale(area, sign, seen.grade(sign), MOST_SIGN)
        _refuse_off_the_scale(area, "extent", seen.extent, MOST_EXTENT)


def _refuse_off_the_scale(area: Area, field: str, grade: int, most: int) -> None:
    if type(grade) is not int or not 0 <= grade <= most:
        raise GradeOutOfRange(area, field, grade, most)


def _query_area(area: Area, seen: AreaSigns) -> Query | None:
    if seen.extent and not seen.sum_of_signs():
        says = f"{area}: extent is {seen.extent}, but every sign is 0."
        return Query(area, QueryKind.EXTENT_WITHOUT_SIGNS, says)
    if seen.sum_of_signs() and not seen.extent:
        named = ", ".join(f"{sign} {seen.grade(sign)}" for sign in Sign if seen.grade(sign))
        return Query(area, QueryKind.SIGNS_WITHOUT_EXTENT, f"{area}: {named}, but extent is 0.")
    return None


def _score_area(area: Area, seen: AreaSigns) -> AreaScore:
    signs = seen.sum_of_signs()
    return AreaScore(area, signs, seen.extent, signs * seen.extent)


@cache
def _possible_totals() -> frozenset[int]:
    """Every total that five areas can add up to."""
    most_signs = MOST_SIGN * len(Sign)
    scores = {signs * extent for signs in range(most_signs + 1) for extent in range(MOST_EXTENT + 1)}
    totals = {0}
    for _ in Area:
        totals = {total + score for total in totals for score in scores}
    return frozenset(totals)
