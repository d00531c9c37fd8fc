"""What share of the staff has hand trouble, now or over a while?"""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from thenar.errors import BadInput
from thenar.knowledge import Book
from thenar.population.cautions import Caution, caution, non_response
from thenar.population.counts import UnusableCount, check_count, check_part
from thenar.population.intervals import ShareMethod, share_interval
from thenar.population.stated import AnswerFrom, Denominator, Grounds, Stated, Unit

AT_WORK_ONLY = "population.caution.at-work-only"
SELF_REPORT = "population.caution.self-report"
SEEN_ONLY = "population.caution.seen-only"


class Recall(StrEnum):
    """The time an answer speaks of."""

    NOW = "now"
    YEAR = "12 months"
    EVER = "ever"


MEASURES = {
    Recall.NOW: "point prevalence",
    Recall.YEAR: "one-year prevalence",
    Recall.EVER: "lifetime prevalence",
}


@dataclass(frozen=True, slots=True)
class Asked:
    """Cases among those who answered, or were looked at. `invited` is None where nobody knows.

    [cases 0 to answered; answered 1 to invited]
    """

    cases: int
    answered: int
    invited: int | None = None

    def __post_init__(self) -> None:
        check_count("answered", self.answered)
        if self.answered == 0:
            raise UnusableCount("answered", self.answered, "1 or more: a share of nobody is not 0")
        check_part("cases", self.cases, self.answered)
        if self.invited is not None:
            check_count("invited", self.invited)
            check_part("answered", self.answered, self.invited)

    @property
    def denominator(self) -> Denominator:
        """Those who answered, and of how many, as it stands beside the share."""
        of = "" if self.invited is None else f" of {self.invited:,} invited"
        return Denominator(self.answered, f"people who answered{of}")


def prevalence(
    asked: Asked,
    grounds: Grounds,
    recall: Recall,
    book: Book,
    on: date,
    *,
    method: ShareMethod = ShareMethod.WILSON,
    confidence: float = 0.95,
) -> Stated:
    """The share of people who have, or had, hand trouble, as counted.

    Parameters
    ----------
    asked
        Cases, and among how many.
    grounds
        Case definition, source of the answer, and the days in which it was given.
    recall
        The time the answer speaks of.
    book, on
        The knowledge that holds the cautions, and the day whose words are used.
    method, confidence
        How the interval is made, and its level. [above 0, below 1]

    Returns
    -------
    Stated
        [share, 0 to 1]

    Raises
    ------
    UnusableCount
        Nobody answered, more cases than people, or a negative or broken count.

    Notes
    -----
    Uncorrected; see `population.self_report`. Those who left are not in it, nor those who did not answer.

    References
    ----------
    .. [1] Newcombe, Statistics in Medicine 1998;17:857-872.

    Examples
    --------
    >>> from thenar.knowledge import load
    >>> from thenar.population.stated import Period
    >>> month = Period(date(2026, 3, 1), date(2026, 3, 31))
    >>> grounds = Grounds("hand eczema now", AnswerFrom.SELF_REPORT, month)
    >>> found = prevalence(Asked(12, 224, 234), grounds, Recall.NOW, load(), date(2026, 11, 26))
    >>> found.measure, round(found.interval.estimate, 3)
    ('point prevalence', 0.054)
    """
    if grounds.answer_from is AnswerFrom.LINKED:
        raise BadInput(
            what="answer_from: linked sources have no people who answered.",
            why="A share of those asked would mean nothing.",
            todo="Use capture-recapture for two linked sources.",
        )
    return Stated(
        measure=MEASURES[recall],
        unit=Unit.SHARE,
        interval=share_interval(asked.cases, asked.answered, method, confidence),
        grounds=grounds,
        denominators=(asked.denominator,),
        cautions=(*_of_the_answer(grounds, book, on), *cautions_of_asking(asked, book, on)),
    )


def cautions_of_asking(asked: Asked, book: Book, on: date) -> tuple[Caution, ...]:
    """Who is missing from any share of people asked: those who left, and those who did not answer."""
    missing = non_response(asked.cases, asked.answered, asked.invited, book, on)
    return (caution(AT_WORK_ONLY, book, on), *missing)


def _of_the_answer(grounds: Grounds, book: Book, on: date) -> tuple[Caution, ...]:
    if grounds.answer_from is AnswerFrom.SELF_REPORT:
        return (caution(SELF_REPORT, book, on),)
    if grounds.answer_from in (AnswerFrom.CLINIC, AnswerFrom.SICKNESS):
        return (caution(SEEN_ONLY, book, on),)
    return ()
