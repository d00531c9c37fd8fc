"""What was put on the skin for a patch test, and what was seen of it on which day?"""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from thenar.allergy.product import Category
from thenar.errors import BadInput

LAST_DAY = 90  # no reading is taken so late: it is a slip of the pen in a date


class PatchGrade(StrEnum):
    """How one test site looks, graded as the ICDRG does.

    Doubtful is faint redness only; weak adds infiltration; strong adds vesicles; in an extreme reaction they
    run together. `IRRITANT` is no allergic reaction. `NOT_TESTED` says that the patch could not be read.
    """

    NEGATIVE = "-"
    DOUBTFUL = "?+"
    WEAK = "+"
    STRONG = "++"
    EXTREME = "+++"
    IRRITANT = "IR"
    NOT_TESTED = "NT"


POSITIVE = (PatchGrade.WEAK, PatchGrade.STRONG, PatchGrade.EXTREME)  # weakest first
GRADE_WORDS = {
    PatchGrade.NEGATIVE: "negative",
    PatchGrade.DOUBTFUL: "doubtful",
    PatchGrade.WEAK: "weak",
    PatchGrade.STRONG: "strong",
    PatchGrade.EXTREME: "extreme",
    PatchGrade.IRRITANT: "irritant",
    PatchGrade.NOT_TESTED: "not tested",
}
_WRITTEN = {
    **{grade.value.casefold(): grade for grade in PatchGrade},
    **{words: grade for grade, words in GRADE_WORDS.items()},
    "+?": PatchGrade.DOUBTFUL,
    "\u2212": PatchGrade.NEGATIVE,  # a minus sign, as word processors write it
    "\u2013": PatchGrade.NEGATIVE,  # a dash
}


class Kind(StrEnum):
    """What a position holds."""

    ALLERGEN = "allergen"
    OWN_PRODUCT = "own product"
    IRRITANT_CONTROL = "irritant control"


class ImpossibleTest(BadInput):
    """A patch test that can't have been done as it is written down."""

    def __init__(self, what: str, todo: str) -> None:
        super().__init__(what=what, why="A result read from it could be wrong for years.", todo=todo)


class UnknownGrade(BadInput):
    """A grade that is none of those in use."""

    def __init__(self) -> None:
        signs = ", ".join(f"{grade.value} ({words})" for grade, words in GRADE_WORDS.items())
        super().__init__(
            what="A grade is none of those in use.",
            why="Guessing it could hide a reaction or invent one.",
            todo=f"Write one of: {signs}.",
        )


@dataclass(frozen=True, slots=True)
class OwnProduct:
    """What the worker brought: the kind of product, and how it was prepared, in words."""

    category: Category
    dilution: str


@dataclass(frozen=True, slots=True)
class Position:
    """One test site, numbered from 1.

    `hapten` is an allergen's id, the code of an own product, or the name of a control. `concentration` is
    as on the preparation: `1`, `0.1`, `as is`. `own` is given for own products and only for them.
    """

    number: int
    hapten: str
    concentration: str
    vehicle: str
    series: str = ""
    kind: Kind = Kind.ALLERGEN
    own: OwnProduct | None = None

    def __post_init__(self) -> None:
        if self.number < 1:
            raise ImpossibleTest(f"A position has the number {self.number}.", "Number positions from 1.")
        if not self.hapten.strip():
            raise ImpossibleTest(
                f"Position {self.number} does not say what was put on.", "Name the allergen or product."
            )
        if (self.kind is Kind.OWN_PRODUCT) != (self.own is not None) or (
            self.own and not self.own.dilution.strip()
        ):
            raise ImpossibleTest(
                f"Position {self.number}: only an own product, and every one, says how it was prepared.",
                "Write down what kind of product it is and how it was diluted, or 'as is'.",
            )


@dataclass(frozen=True, slots=True)
class Reading:
    """The grade of one position on one day."""

    position: int
    on: date
    grade: PatchGrade


@dataclass(frozen=True, slots=True)
class PatchTest:
    """A patch test as put on and as read so far.

    Days are counted from the day it was put on, which is D0; calendar days of the site are meant.

    Parameters
    ----------
    applied_on
        The day it was put on.
    occluded_until
        The day the patches came off; None where nobody wrote it down.
    positions
        What was put on, each at its own number.
    readings
        One grade for each position and day that was read, in any order.

    Raises
    ------
    ImpossibleTest
        A number used twice, a grade for a number at which nothing was put on, a position graded twice on one
        day, or a reading on the day of application, before it, under the patch, or over 90 days later.

    Examples
    --------
    >>> nickel = Position(1, "nickel-sulfate", "5", "pet")
    >>> test = PatchTest(date(2026, 3, 2), date(2026, 3, 4), (nickel,),
    ...     (Reading(1, date(2026, 3, 6), PatchGrade.STRONG),))
    >>> test.days_of(1)
    ((4, <PatchGrade.STRONG: '++'>),)
    """

    applied_on: date
    occluded_until: date | None
    positions: tuple[Position, ...]
    readings: tuple[Reading, ...] = ()

    def __post_init__(self) -> None:
        _refuse_positions(self)
        _refuse_readings(self)

    def day(self, on: date) -> int:
        """The day of the test that a date is. [days; 0 is the day it was put on]"""
        return (on - self.applied_on).days

    def days_of(self, position: int) -> tuple[tuple[int, PatchGrade], ...]:
        """The days on which a position was read and its grades, in order. Days not readable are left out."""
        marks = sorted((self.day(one.on), one.grade) for one in self.readings if one.position == position)
        return tuple(mark for mark in marks if mark[1] is not PatchGrade.NOT_TESTED)

    def is_not_tested(self, position: int) -> bool:
        """Whether it was found on some day that this position can't be read."""
        return any(one.position == position and one.grade is PatchGrade.NOT_TESTED for one in self.readings)

    def of_kind(self, kind: Kind) -> Iterator[Position]:
        """The positions that hold one kind of thing."""
        return (position for position in self.positions if position.kind is kind)


def read_grade(text: str) -> PatchGrade:
    """The grade that a sign or a word stands for.

    Raises
    ------
    UnknownGrade
        It stands for none.

    Examples
    --------
    >>> read_grade("+?"), read_grade("Strong"), read_grade("ir")
    (<PatchGrade.DOUBTFUL: '?+'>, <PatchGrade.STRONG: '++'>, <PatchGrade.IRRITANT: 'IR'>)
    """
    grade = _WRITTEN.get(" ".join(text.split()).casefold())
    if grade is None:
        raise UnknownGrade
    return grade


def refuse_days_to_come(test: PatchTest, today: date) -> None:
    """Refuse a test that was put on, or read, on a day that has not come.

    Raises
    ------
    ImpossibleTest
        Application or a reading is later than `today`.

    Examples
    --------
    >>> nickel = Position(1, "nickel-sulfate", "5", "pet")
    >>> refuse_days_to_come(PatchTest(date(2026, 3, 2), None, (nickel,)), date(2026, 3, 2))
    """
    for says, on in (("was put on", test.applied_on), *(("was read", one.on) for one in test.readings)):
        if on > today:
            raise ImpossibleTest(f"The test {says} on {on}, which is still to come.", "Correct the date.")


def _refuse_positions(test: PatchTest) -> None:
    if not test.positions:
        raise ImpossibleTest("Nothing was put on in this test.", "Add what was put on, position by position.")
    for number, times in Counter(position.number for position in test.positions).items():
        if times > 1:
            raise ImpossibleTest(
                f"Position {number} is used {times} times.", "Give each preparation its own number."
            )
    if test.occluded_until is not None and test.occluded_until <= test.applied_on:
        raise ImpossibleTest(
            f"Patches put on on {test.applied_on} came off on {test.occluded_until}.",
            "Correct one of the days.",
        )


def _refuse_readings(test: PatchTest) -> None:
    numbers = {position.number for position in test.positions}
    seen: dict[tuple[int, date], PatchGrade] = {}
    for reading in test.readings:
        _refuse_day(test, reading)
        if reading.position not in numbers:
            raise ImpossibleTest(
                f"There is a grade for position {reading.position}, at which nothing was put on.",
                "Add what was put on there, or correct the number.",
            )
        before = seen.setdefault((reading.position, reading.on), reading.grade)
        if before is not reading.grade:
            raise ImpossibleTest(
                f"Position {reading.position} has two grades on {reading.on}: {before} and {reading.grade}.",
                "Keep the grade that was seen.",
            )
    if len(seen) < len(test.readings):
        raise ImpossibleTest("A position is graded twice on one day.", "Write each grade down once.")


def _refuse_day(test: PatchTest, reading: Reading) -> None:
    day = test.day(reading.on)
    where = f"Position {reading.position} has a reading on {reading.on}"
    if day < 0:
        raise ImpossibleTest(
            f"{where}, before the test was put on on {test.applied_on}.", "Correct one of the days."
        )
    if day == 0:
        raise ImpossibleTest(
            f"{where}, the day the test was put on.", "A delayed reaction takes days: correct the day."
        )
    if test.occluded_until is not None and reading.on < test.occluded_until:
        raise ImpossibleTest(
            f"{where}, under a patch that came off on {test.occluded_until}.", "Correct one of the days."
        )
    if day > LAST_DAY:
        raise ImpossibleTest(
            f"{where}, {day} days after the test was put on; readings up to day {LAST_DAY} are taken.",
            "Look at the year of both days.",
        )
