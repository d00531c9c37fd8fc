"""A shift counted on a tally sheet: plain numbers, asked back where they can't all be right."""

from collections.abc import Iterator
from dataclasses import asdict, dataclass, fields
from datetime import date

from thenar.errors import BadInput
from thenar.exposure.shift import ShiftQuantities
from thenar.exposure.shift_log import Query, ShiftQueries
from thenar.knowledge import Book

PLAUSIBLE = "shift.plausible."
# Where the first is a part of the second, it can't be more.
_PARTS = (
    ("gel_rubs", "rubs"),
    ("gloves_on_wet_skin", "pairs"),
    ("longest_glove_wear_minutes", "glove_minutes"),
    ("wet_minutes", "minutes_observed"),
    ("glove_minutes", "minutes_observed"),
)
# There and back: no more than two changes for each.
_TWICE = (
    ("wet_glove_alternations", "wet_contacts"),
    ("wet_glove_alternations", "pairs"),
    ("wash_glove_alternations", "washes"),
    ("wash_glove_alternations", "pairs"),
)
_NOT_COUNTED = {"minutes_observed", "whole_shift", "convention"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Tally:
    """Counts over a stretch of `minutes_observed`. What was not counted is None. [counts and minutes, >= 0]

    `convention` says what one change was taken to be.
    """

    minutes_observed: float
    whole_shift: bool
    washes: int | None = None
    rubs: int | None = None
    gel_rubs: int | None = None
    wet_contacts: int | None = None
    wet_minutes: float | None = None
    pairs: int | None = None
    glove_minutes: float | None = None
    longest_glove_wear_minutes: float | None = None
    gloves_on_wet_skin: int | None = None
    wet_glove_alternations: int | None = None
    wash_glove_alternations: int | None = None
    cream_uses: int | None = None
    convention: str | None = None


class NotACount(BadInput):
    """A number on the tally can't be a count or a time."""

    def __init__(self, field: str, given: object) -> None:
        super().__init__(
            what=f"{in_words(field)}: {given!r} is not a number from 0 up.",
            why="Nothing was counted from it.",
            todo=f"Correct {in_words(field)}, or leave it empty if nobody counted.",
        )


class TallyWithoutMinutes(BadInput):
    """A tally of no time: counts that belong to no length of work."""

    def __init__(self, given: object) -> None:
        super().__init__(
            what=f"The tally was kept over {_figures(given)} minutes.",
            why="Ten washes in an hour and ten in a shift are not the same load.",
            todo="Give the minutes from the first to the last look.",
        )


def measure_tally(tally: Tally) -> ShiftQuantities:
    """The quantities a tally sheet gives; what nobody counted stays not known.

    Parameters
    ----------
    tally
        The counts, with the minutes they were kept over.

    Raises
    ------
    TallyWithoutMinutes
        The minutes are missing or not above zero.
    NotACount
        A number is negative, or not a number.
    ShiftQueries
        Two numbers can't both be right.

    Notes
    -----
    It is not scaled up: a tally of part of a shift gives quantities of part of a shift.

    Examples
    --------
    >>> shift = measure_tally(Tally(minutes_observed=480, whole_shift=True, washes=14))
    >>> shift.washes, shift.wet_minutes
    (14, None)
    """
    if not _is_amount(tally.minutes_observed) or tally.minutes_observed == 0:
        raise TallyWithoutMinutes(tally.minutes_observed)
    for field in _numbers(tally):
        given = getattr(tally, field)
        if not (_is_amount(given) if field.endswith("minutes") else _is_count(given)):
            raise NotACount(field, given)
    queries = tuple(_contradictions(tally))
    if queries:
        raise ShiftQueries(queries)
    return ShiftQuantities(**asdict(tally))


def query_counts(quantities: ShiftQuantities, book: Book, on: date) -> tuple[Query, ...]:
    """Counts so high that they are asked back, by the plausibility limits in force.

    Parameters
    ----------
    quantities
        A shift, counted either way.
    book
        The knowledge that holds the limits. They are a choice of this software, printed as such.
    on
        Day of the shift.

    Notes
    -----
    Nothing is refused for good: a count that a person confirms stands.

    Examples
    --------
    >>> from thenar.knowledge import load
    >>> shift = ShiftQuantities(whole_shift=True, washes=300)
    >>> [query.says for query in query_counts(shift, load(), date(2026, 11, 25))]
    ['300 washes in one shift: more than 150 are asked back.']
    """
    queries = []
    for rule in book.rules.values():
        if rule.id.startswith(PLAUSIBLE):
            field = rule.id.removeprefix(PLAUSIBLE).replace("-", "_")
            counted, limit = getattr(quantities, field), rule.on(on)
            if counted is not None and not limit.met_by(counted):
                says = f"{counted:g} {in_words(field)} in one shift: more than {limit.amount} are asked back."
                queries.append(Query(0, says))
    return tuple(queries)


def in_words(field: str) -> str:
    """A quantity's name as a person says it."""
    return _WORDS.get(field, field.replace("_", " "))


_WORDS = {
    "minutes_observed": "minutes observed",
    "wet_glove_alternations": "changes between wet contact and gloves",
    "wet_glove_alternations_with_gels": "changes between wet contact or gel and gloves",
    "wet_glove_alternations_with_rubs": "changes between wet contact or rub and gloves",
    "wash_glove_alternations": "changes between washing and gloves",
    "longest_glove_wear_minutes": "minutes of the longest glove wear",
    "gloves_on_wet_skin": "pairs put on wet skin",
    "pairs": "pairs of gloves",
    "cream_uses": "uses of cream",
}


def _numbers(tally: Tally) -> Iterator[str]:
    for each in fields(tally):
        if each.name not in _NOT_COUNTED and getattr(tally, each.name) is not None:
            yield each.name


def _figures(given: object) -> str:
    return f"{given:g}" if isinstance(given, float) else repr(given)


def _is_count(given: object) -> bool:
    return type(given) is int and given >= 0


def _is_amount(given: object) -> bool:
    return isinstance(given, int | float) and not isinstance(given, bool) and 0 <= given < float("inf")


def _contradictions(tally: Tally) -> Iterator[Query]:
    for pairs, most in ((_PARTS, 1), (_TWICE, 2)):
        for part, whole in pairs:
            counted, of = getattr(tally, part), getattr(tally, whole)
            if counted is not None and of is not None and counted > most * of:
                says = f"{in_words(part)} ({counted:g}) do not fit {in_words(whole)} ({of:g})."
                yield Query(0, says[:1].upper() + says[1:])
    both = (tally.wet_minutes or 0) + (tally.glove_minutes or 0)
    if both > tally.minutes_observed:
        yield Query(0, f"Wet and glove minutes add up to {both:g}, over {tally.minutes_observed:g} observed.")
