"""By which published rules is a patch test read: what counts, what is due when, what a missed day costs?"""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from thenar.knowledge import Book
from thenar.knowledge.entries import Citation, KnownAs, Value

NAME = "patch-test."
_MISSED_SECOND = ("day-2-only", "without-day-3")
_MISSED_LAST = ("without-day-7", "without-day-7-after-day-3", "without-day-7-after-day-4")


@dataclass(frozen=True, slots=True)
class Known:
    """A whole number of the reading rules, and where it comes from."""

    amount: int
    citation: Citation


@dataclass(frozen=True, slots=True)
class Caution:
    """Something to keep in mind beside a result, and where it comes from."""

    says: str
    citations: tuple[Citation, ...] = ()

    @property
    def is_from_memory(self) -> bool:
        """Whether some of it was never confirmed in a source."""
        return any(one.known_as is KnownAs.FROM_MEMORY for one in self.citations)


@dataclass(frozen=True, slots=True)
class MissRate:
    """What others missed who left a reading out, as a published share. [0 to 1]"""

    share: Decimal
    says: str
    note: str
    citation: Citation

    def __str__(self) -> str:
        counted = f" ({_counts(self.note)})" if self.note else ""
        return f"{self.says.rstrip('.')}: {percent(self.share)}{counted}."


@dataclass(frozen=True, slots=True)
class Stage:
    """A reading that is due from one day of the test to another. [days from application]

    It still counts until the next stage begins. `if_missed` is what is published of leaving it out.
    """

    name: str
    first_day: int
    last_day: int
    citation: Citation
    if_missed: tuple[MissRate, ...] = ()


@dataclass(frozen=True, slots=True)
class ReadingRules:
    """How a patch test is read. Make one with `reading_rules`.

    Parameters
    ----------
    occlusion
        How long patches stay on. [days]
    positive_from, positive_to
        A position is positive if it is weak or stronger on one of these days. [days from application]
    sensitised_from
        A first reaction from this day on may come from the test itself. [days from application]
    stages
        The readings that are due, in order.
    late
        The question to ask after the last reading.
    control_positive
        What is published of people who react to the irritant control.
    many_positives
        From so many positive positions on, the skin may react to everything; None where no rule says. [count]
    """

    occlusion: Known
    positive_from: Known
    positive_to: Known
    sensitised_from: Known
    stages: tuple[Stage, ...]
    late: Caution
    control_positive: Caution
    many_positives: Known | None = None


def reading_rules(book: Book, on: date) -> ReadingRules:
    """The rules of reading in force on a day.

    Parameters
    ----------
    book
        The knowledge that holds them.
    on
        Day of application of the test.

    Notes
    -----
    The last reading is due from the day after the days that count: what first appears then is late.

    Examples
    --------
    >>> from thenar.knowledge import load
    >>> rules = reading_rules(load(), date(2026, 11, 25))
    >>> rules.positive_from.amount, rules.positive_to.amount, [stage.name for stage in rules.stages]
    (3, 5, ['D2', 'D3 or D4', 'about D7'])
    """
    until = _known(book, "positive.until-day", on)
    return ReadingRules(
        occlusion=_known(book, "occlusion", on),
        positive_from=_known(book, "positive.from-day", on),
        positive_to=until,
        sensitised_from=_known(book, "late.from-day", on),
        stages=_stages(book, on, until.amount),
        late=_late(book, on),
        control_positive=_control_positive(book, on),
        many_positives=_known(book, "many-positives", on) if f"{NAME}many-positives" in book.rules else None,
    )


def percent(share: Decimal) -> str:
    """A share as it is published. [0 to 1]

    Examples
    --------
    >>> percent(Decimal("0.128")), percent(Decimal("0.24"))
    ('12.8 %', '24 %')
    """
    return f"{(100 * share).normalize():f} %"


def _stages(book: Book, on: date, until: int) -> tuple[Stage, ...]:
    first, second, latest, third = (
        _known(book, f"reading.{name}", on) for name in ("first", "second", "second-latest", "third")
    )
    return (
        Stage(f"D{first.amount}", first.amount, first.amount, first.citation),
        Stage(
            f"D{second.amount} or D{latest.amount}",
            second.amount,
            latest.amount,
            second.citation,
            _miss_rates(book, _MISSED_SECOND, on),
        ),
        Stage(
            f"about D{third.amount}",
            until + 1,
            third.amount,
            third.citation,
            _miss_rates(book, _MISSED_LAST, on),
        ),
    )


def _miss_rates(book: Book, names: tuple[str, ...], on: date) -> tuple[MissRate, ...]:
    rates = []
    for name in names:
        rule = book.rule(f"{NAME}missed.{name}")
        value = rule.on(on)
        assert value.amount is not None
        rates.append(MissRate(value.amount, rule.says, value.note, book.cite(value)))
    return tuple(rates)


def _late(book: Book, on: date) -> Caution:
    value = _value(book, "missed.late-allergens", on)
    says = (
        "Ask for any reaction that comes after the last reading, and look at it on the day. "
        f"Often late: {value.text}."
    )
    return Caution(says, (book.cite(value),))


def _control_positive(book: Book, on: date) -> Caution:
    low, further = (_value(book, f"control.{name}", on) for name in ("low", "further-positive"))
    assert further.amount is not None
    says = (
        f"Weak and doubtful reactions are less certain ({_counts(low.note)}). Another positive test is "
        f"{percent(further.amount)} likelier ({_counts(further.note)})."
    )
    return Caution(says, (book.cite(low), book.cite(further)))


def _counts(note: str) -> str:
    """The first sentence of a note, for parentheses: the counts. What follows is for the rule's page."""
    first = note.split(". ", maxsplit=1)[0].rstrip(".")
    return first[:1].lower() + first[1:]


def _known(book: Book, name: str, on: date) -> Known:
    value = _value(book, name, on)
    assert value.amount is not None
    return Known(int(value.amount), book.cite(value))


def _value(book: Book, name: str, on: date) -> Value:
    return book.rule(NAME + name).on(on)
