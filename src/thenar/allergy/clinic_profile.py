"""Whom does a clinic patch test? Without the MOAHLFA(P) index, rates of two clinics can't be compared."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from thenar.allergy.patch_intervals import Share, share_of
from thenar.allergy.patch_reading import Outcome, read_position
from thenar.allergy.patch_rules import ReadingRules
from thenar.allergy.patch_test import Kind, PatchTest
from thenar.errors import BadInput

OLDER_FROM = 40  # years; part of the index's definition
_OPEN = (Outcome.NOT_SETTLED, Outcome.NOT_TESTED)
OLDEST = 120  # years; above that it is a slip of the pen


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonTested:
    """One person who was patch tested. None where nobody knows.

    `hand`, `leg`, `face` say where the dermatitis is, `positive` whether the person was positive to at least
    one allergen of the baseline series. `age` is in years on the day of the test.
    """

    male: bool | None = None
    occupational: bool | None = None
    atopic_dermatitis: bool | None = None
    hand: bool | None = None
    leg: bool | None = None
    face: bool | None = None
    age: int | None = None
    positive: bool | None = None

    def __post_init__(self) -> None:
        if self.age is not None and not 0 <= self.age <= OLDEST:
            raise BadInput(
                what=f"An age of {self.age} years can't be.",
                why="It would count in the clinic's profile.",
                todo="Correct the age, or leave it out.",
            )

    @property
    def older(self) -> bool | None:
        """Whether the person is 40 or older."""
        return None if self.age is None else self.age >= OLDER_FROM


@dataclass(frozen=True, slots=True)
class ProfileLine:
    """One letter of the index: its share of those of whom it is known, and how many are not known."""

    letter: str
    says: str
    share: Share | None
    not_known: int


@dataclass(frozen=True, slots=True)
class ClinicProfile:
    """The index of a group of people tested."""

    people: int
    lines: tuple[ProfileLine, ...]


_LINES: tuple[tuple[str, str, Callable[[PersonTested], bool | None]], ...] = (
    ("M", "male", lambda one: one.male),
    ("O", "occupational dermatitis", lambda one: one.occupational),
    ("A", "atopic dermatitis", lambda one: one.atopic_dermatitis),
    ("H", "hand dermatitis", lambda one: one.hand),
    ("L", "leg dermatitis", lambda one: one.leg),
    ("F", "face dermatitis", lambda one: one.face),
    ("A", "aged 40 or older", lambda one: one.older),
    ("P", "positive to at least one allergen of the baseline series", lambda one: one.positive),
)


def clinic_profile(people: Sequence[PersonTested]) -> ClinicProfile:
    """The shares that describe the people a clinic tests, each with its 95 % interval.

    Parameters
    ----------
    people
        Everyone tested in a period, each once.

    Returns
    -------
    ClinicProfile
        Eight lines in the order of the letters. People of whom something is not known are left out of that
        line's share, and counted.

    Notes
    -----
    If those not known differ from the others, the share is off by more than its interval (Wilson) says.

    References
    ----------
    .. [1] MOAHLFA(P): lup.lub.lu.se/record/1e081d68-0984-4b6f-905b-f5c9dda18b10.

    Examples
    --------
    >>> profile = clinic_profile([PersonTested(male=True, age=40), PersonTested(male=False), PersonTested()])
    >>> male = profile.lines[0]
    >>> male.share.part, male.share.whole, male.not_known
    (1, 2, 1)
    """
    return ClinicProfile(
        len(people), tuple(_line(letter, says, [ask(one) for one in people]) for letter, says, ask in _LINES)
    )


def positive_to_series(test: PatchTest, series: str, rules: ReadingRules) -> bool | None:
    """Whether a person was positive to at least one allergen of a series, for the last letter of the index.

    Returns
    -------
    bool or None
        None where nothing of the series was put on, or nothing was positive and some position is not settled.

    Examples
    --------
    >>> from datetime import date
    >>> from thenar.allergy.patch_test import PatchGrade, Position, Reading
    >>> test = PatchTest(date(2026, 3, 2), None, (Position(1, "nickel-sulfate", "5", "pet", "baseline"),),
    ...     (Reading(1, date(2026, 3, 6), PatchGrade.WEAK),))
    >>> from thenar.allergy.patch_rules import reading_rules
    >>> from thenar.knowledge import load
    >>> rules = reading_rules(load(), date(2026, 11, 25))
    >>> positive_to_series(test, "baseline", rules)
    True
    """
    numbers = [one.number for one in test.of_kind(Kind.ALLERGEN) if one.series == series]
    reads = [read_position(test, number, rules) for number in numbers]
    if any(read.is_positive for read in reads):
        return True
    if not reads or any(read.outcome in _OPEN for read in reads):
        return None
    return False


def _line(letter: str, says: str, answers: Sequence[bool | None]) -> ProfileLine:
    known = [answer for answer in answers if answer is not None]
    return ProfileLine(letter, says, share_of(sum(known), len(known)), len(answers) - len(known))
