"""What share truly has hand trouble, when people were only asked?"""

from dataclasses import dataclass
from datetime import date
from math import sqrt

from scipy import stats

from thenar.errors import BadInput
from thenar.knowledge import Book, SelfReportAccuracy
from thenar.population.cautions import Caution, caution
from thenar.population.counts import check_amount, check_confidence, check_count, check_share
from thenar.population.intervals import Interval, ShareMethod, share_interval
from thenar.population.prevalence import MEASURES, Asked, Recall, cautions_of_asking
from thenar.population.stated import AnswerFrom, Denominator, Grounds, Stated, Unit

TRANSPORT = "population.caution.transport"
BORROWED = "population.caution.borrowed"


class CannotCorrect(BadInput):
    """The correction would give a share below 0 or above 1, or none at all."""

    def __init__(self, says: str, todo: str) -> None:
        super().__init__(what=f"{says}.", why="No true share of people gives such answers.", todo=todo)


class NoPublishedAccuracy(BadInput):
    """Nobody has published how often this role answers this question rightly."""

    def __init__(self, asked: str, there_are: list[str]) -> None:
        super().__init__(
            what=f"No published accuracy of self-report is known for {asked}.",
            why="A question that works in one job can fail in another.",
            todo=f"Examine a sample and give its counts, or borrow one of: {', '.join(there_are)}.",
        )


@dataclass(frozen=True, slots=True)
class Accuracy:
    """How often yes and no are right, and in how many people each was found out.

    [shares 0 to 1; people 1 or more]
    """

    sensitivity: float
    specificity: float
    with_trouble: int
    without_trouble: int

    def __post_init__(self) -> None:
        for field in ("with_trouble", "without_trouble"):
            check_count(field, getattr(self, field))
            check_amount(field, getattr(self, field))
        refuse_a_coin(self.sensitivity, self.specificity)

    @property
    def in_words(self) -> str:
        """Both shares with the people they were found in."""
        return (
            f"sensitivity {100 * self.sensitivity:.0f} % of {self.with_trouble}, "
            f"specificity {100 * self.specificity:.0f} % of {self.without_trouble}"
        )


def refuse_a_coin(sensitivity: float, specificity: float) -> None:
    """Refuse answers that say no more than tossing a coin."""
    check_share("sensitivity", sensitivity)
    check_share("specificity", specificity)
    if sensitivity + specificity <= 1:
        raise CannotCorrect(
            f"Sensitivity {sensitivity:.3g} and specificity {specificity:.3g} together are not above 1",
            "Examine people: the answers tell no more than chance would.",
        )


def true_share(apparent: float, sensitivity: float, specificity: float) -> float:
    """The share that would give the apparent one, by Rogan and Gladen; below 0 or above 1 where none can.

    Parameters
    ----------
    apparent
        Share who answered yes. [0 to 1]
    sensitivity, specificity
        Shares of right answers. [0 to 1, together above 1]

    Raises
    ------
    CannotCorrect
        Sensitivity and specificity together are 1 or less.

    References
    ----------
    .. [1] Rogan and Gladen, American Journal of Epidemiology 1978;107:71-76.

    Examples
    --------
    >>> round(true_share(0.15, 0.58, 0.988), 3)
    0.243
    """
    refuse_a_coin(sensitivity, specificity)
    check_share("apparent", apparent)
    return (apparent + specificity - 1) / (sensitivity + specificity - 1)


def interval_if_known(
    cases: int,
    people: int,
    sensitivity: float,
    specificity: float,
    *,
    method: ShareMethod = ShareMethod.WILSON,
    confidence: float = 0.95,
) -> Interval:
    """The true share, with sensitivity and specificity taken as known exactly. Not cut off at 0 and 1.

    Notes
    -----
    Too narrow wherever sensitivity and specificity come from a study: use `interval_with_errors` there.

    References
    ----------
    .. [1] Reiczigel, Földi and Ózsvári, Epidemiology and Infection 2010;138:1674-1678.

    Examples
    --------
    >>> round(interval_if_known(6, 151, 0.964, 0.927).estimate, 3)
    -0.037
    """
    seen = share_interval(cases, people, method, confidence)
    return Interval(
        estimate=true_share(seen.estimate, sensitivity, specificity),
        lower=true_share(seen.lower, sensitivity, specificity),
        upper=true_share(seen.upper, sensitivity, specificity),
        confidence=confidence,
        method=f"Rogan-Gladen, {method}",
    )


def interval_with_errors(apparent: float, people: int, accuracy: Accuracy, confidence: float) -> Interval:
    """The true share, with an interval that carries how unsure sensitivity and specificity are.

    Parameters
    ----------
    apparent, people
        Share who answered yes, and of how many. [0 to 1; 1 or more]
    accuracy
        Sensitivity and specificity with the people they were found in.
    confidence
        Level of the interval. [above 0, below 1]

    Returns
    -------
    Interval
        [shares]. Its ends are cut off at 0 and 1; the estimate is not.

    Raises
    ------
    CannotCorrect
        The errors were found in too few people to tell answers from chance.

    Notes
    -----
    The variance printed in the paper's equation 4 has (1 + P) where (1 - P) gives its published limits.

    References
    ----------
    .. [1] Lang and Reiczigel, Preventive Veterinary Medicine 2014;113:13-22.

    Examples
    --------
    >>> share = interval_with_errors(51 / 509, 509, Accuracy(23 / 41, 187 / 195, 41, 195), 0.95)
    >>> round(share.estimate, 3), round(share.lower, 3), round(share.upper, 3)
    (0.114, 0.037, 0.195)
    """
    check_confidence(confidence)
    check_amount("people", people)
    z = float(stats.norm.isf((1 - confidence) / 2))
    n, n_with, n_without = people + z**2, accuracy.with_trouble + 2, accuracy.without_trouble + 2
    seen = (people * apparent + z**2 / 2) / n
    sensitivity = (accuracy.with_trouble * accuracy.sensitivity + 1) / n_with
    specificity = (accuracy.without_trouble * accuracy.specificity + 1) / n_without
    youden = sensitivity + specificity - 1
    if youden <= 0:
        raise _found_in_too_few(accuracy)
    share = true_share(seen, sensitivity, specificity)
    of_yes = sensitivity * (1 - sensitivity) / n_with
    of_no = specificity * (1 - specificity) / n_without
    shift = 2 * z**2 * (share * of_yes - (1 - share) * of_no)
    spread = sqrt(seen * (1 - seen) / n + of_yes * share**2 + of_no * (1 - share) ** 2) / youden
    return Interval(
        estimate=true_share(apparent, accuracy.sensitivity, accuracy.specificity),
        lower=min(1.0, max(0.0, share + shift - z * spread)),
        upper=max(0.0, min(1.0, share + shift + z * spread)),
        confidence=confidence,
        method="Lang-Reiczigel",
    )


def _found_in_too_few(accuracy: Accuracy) -> CannotCorrect:
    return CannotCorrect(
        f"Sensitivity was found in {accuracy.with_trouble} people and specificity in "
        f"{accuracy.without_trouble}: too few to correct by",
        "Examine more people, or take a published accuracy.",
    )


def choose_accuracy(role: str, recall: Recall, question: str, book: Book) -> SelfReportAccuracy:
    """The published accuracy for this role, time and kind of question.

    Raises
    ------
    NoPublishedAccuracy
        Nobody has published one. Another role's is never taken in silence.

    Examples
    --------
    >>> from thenar.knowledge import load
    >>> choose_accuracy("cleaner", Recall.NOW, "direct", load()).in_words
    'sensitivity 28 % of 43, specificity 100 % of 181'
    """
    asked = (role.strip().casefold(), recall, question)
    for accuracy in book.self_reports.values():
        if (accuracy.role, accuracy.recall, accuracy.question) == asked:
            return accuracy
    raise NoPublishedAccuracy(f"role {role!r}, {recall}, question {question!r}", list(book.self_reports))


def accuracy_of(published: SelfReportAccuracy) -> Accuracy:
    """A published accuracy as the correction takes it."""
    return Accuracy(
        published.sensitivity, published.specificity, published.with_trouble, published.without_trouble
    )


def corrected_prevalence(
    asked: Asked,
    grounds: Grounds,
    recall: Recall,
    book: Book,
    on: date,
    *,
    accuracy: Accuracy,
    borrowed: bool = False,
    confidence: float = 0.95,
) -> Stated:
    """The share that truly has hand trouble, from self-reports and how often they are right.

    Parameters
    ----------
    asked
        How many answered yes, and of how many.
    grounds, recall
        What an examination would have found, in which days, and the time the answers speak of.
    book, on
        The knowledge that holds the cautions, and the day whose words are used.
    accuracy
        How often this question is right in these people.
    borrowed
        The accuracy was found in another role.
    confidence
        Level of the interval. [above 0, below 1]

    Returns
    -------
    Stated
        [share, 0 to 1]

    Raises
    ------
    CannotCorrect
        Fewer said yes than wrong answers alone would give, more than right answers ever could, or the errors
        were found in so few people that the estimate lies outside its own interval.

    Notes
    -----
    Holds as far as these people answer like those of the study. It corrects errors of answering, not who
    answered.

    References
    ----------
    .. [1] Rogan and Gladen, American Journal of Epidemiology 1978;107:71-76.
    .. [2] Lang and Reiczigel, Preventive Veterinary Medicine 2014;113:13-22.

    Examples
    --------
    Of 224 hospital cleaners 12 said yes; at 28 % sensitivity that stands for 43, as examination found.

    >>> from thenar.knowledge import load
    >>> from thenar.population.stated import Period
    >>> book, month = load(), Period(date(2026, 3, 1), date(2026, 3, 31))
    >>> grounds = Grounds("hand eczema now", AnswerFrom.SELF_REPORT, month)
    >>> errors = accuracy_of(choose_accuracy("cleaner", Recall.NOW, "direct", book))
    >>> found = corrected_prevalence(
    ...     Asked(12, 224, 234), grounds, Recall.NOW, book, date(2026, 11, 26), accuracy=errors)
    >>> round(224 * found.interval.estimate, 6)
    43.0
    """
    if grounds.answer_from is not AnswerFrom.SELF_REPORT:
        raise CannotCorrect(
            f"answer_from: is {grounds.answer_from}, not self-report",
            "Leave figures of other sources as they are.",
        )
    interval = interval_with_errors(asked.cases / asked.answered, asked.answered, accuracy, confidence)
    _refuse_the_impossible(asked, accuracy, interval.estimate)
    if not interval.lower <= interval.estimate <= interval.upper:
        raise _found_in_too_few(accuracy)
    return Stated(
        measure=f"{MEASURES[recall]}, self-report corrected for its errors",
        unit=Unit.SHARE,
        interval=interval,
        grounds=grounds,
        denominators=(
            asked.denominator,
            Denominator(accuracy.with_trouble, "people with hand trouble, in whom sensitivity was found"),
            Denominator(accuracy.without_trouble, "people without, in whom specificity was found"),
        ),
        cautions=(*_of_the_errors(borrowed, book, on), *cautions_of_asking(asked, book, on)),
    )


def _refuse_the_impossible(asked: Asked, accuracy: Accuracy, estimate: float) -> None:
    said = f"{asked.cases} of {asked.answered} answered yes"
    if estimate < 0:
        wrong = f"{100 * (1 - accuracy.specificity):.3g} %"
        raise CannotCorrect(
            f"{said}: fewer than the {wrong} that wrong answers alone would give",
            "Show the uncorrected share; the specificity may not be that of these people.",
        )
    if estimate > 1:
        right = f"{100 * accuracy.sensitivity:.3g} %"
        raise CannotCorrect(
            f"{said}: more than the {right} that would say yes if everyone had hand trouble",
            "Show the uncorrected share; the sensitivity may not be that of these people.",
        )


def _of_the_errors(borrowed: bool, book: Book, on: date) -> tuple[Caution, ...]:
    rules = (BORROWED, TRANSPORT) if borrowed else (TRANSPORT,)
    return tuple(caution(rule, book, on) for rule in rules)
