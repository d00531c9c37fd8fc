"""How sure the loads of a role are: few words for the margin, every word and source for the fold."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from thenar.exposure.rates import CAUTIONS, ObserverRate, PartRate, PostRates
from thenar.exposure.sessions import Quantity
from thenar.exposure.spread import Spread
from thenar.exposure.tally import in_words
from thenar.knowledge import Book
from thenar.screens.workplace.exposure_of import ASSUMED_HOURS, PARTS, PostExposure
from thenar.screens.workplace.wording import about, exact, percents

SPREAD = "rates.spread-by-chance"
WATCHED, NO_TARGET = CAUTIONS
TOGETHER = "Two or more observers are taken together; the area’s page shows each apart."


@dataclass(frozen=True, slots=True)
class Apart:
    """What one observer saw of one quantity in one part of the day, by the counts alone."""

    part: str
    counted: str
    observer: str
    seen: str
    an_hour: str
    between: str


@dataclass(frozen=True, slots=True)
class Source:
    """A rule used, and where its value comes from."""

    rule_id: str
    label: str


@dataclass(frozen=True, slots=True)
class HowSure:
    """What belongs beside the loads of a role. `every` and `sources` hold in full what `brief` sums up."""

    brief: tuple[str, ...]
    every: tuple[str, ...]
    sources: tuple[Source, ...]
    apart: tuple[Apart, ...]


def how_sure(exposure: PostExposure, book: Book, on: date) -> HowSure:
    """What the loads of a role rest on, and what to be careful of.

    Parameters
    ----------
    exposure
        The role's loads.
    book, on
        The knowledge, and the day whose values are used.

    Returns
    -------
    HowSure
        Nothing where nothing is known of the role.
    """
    rates = exposure.rates
    if rates is None:
        return HowSure((), (), (), ())
    start = exposure.start
    working = [f"Washes and rubs start from a published rate: {start.working}"] if start else []
    used = [key for key, _ in start.citations] if start else []
    return HowSure(
        brief=_brief(exposure, rates, book, on),
        every=(*working, *map(_sentence, exposure.cautions)),
        sources=tuple(_source(key, book, on) for key in dict.fromkeys((*used, SPREAD, *CAUTIONS))),
        apart=tuple(_apart(part, one) for part in _taken_together(rates) for one in part.observers),
    )


def caution_in_words(rule_id: str, book: Book, on: date) -> str:
    """A caution as the knowledge words it, and how it is known."""
    value = book.rule(rule_id).on(on)
    return f"{value.text} ({book.cite(value).known_as})"


def _source(rule_id: str, book: Book, on: date) -> Source:
    return Source(rule_id, book.cite(book.rule(rule_id).on(on)).label)


def _brief(exposure: PostExposure, rates: PostRates, book: Book, on: date) -> tuple[str, ...]:
    said = [_start(exposure)]
    if exposure.hours_assumed:
        said.append(f"Nobody has described the shift; {ASSUMED_HOURS:g} hours are assumed.")
    said += [_sentence(caution) for part in exposure.parts for caution in part.load.cautions]
    if _taken_together(rates):
        said.append(TOGETHER)
    if where := _where([one for one in rates.rates if _seldom(one.between_observers, book, on)]):
        said.append(f"Observers differ more than chance makes them ({where}). Find out why first.")
    if where := _where([one for one in rates.rates if _seldom(one.between_sessions, book, on)]):
        said.append(f"Sessions differ more than chance makes them ({where}), so shifts vary more than shown.")
    if exposure.watched_hours:
        said.append(caution_in_words(WATCHED, book, on))
    return tuple(dict.fromkeys(said))


def _start(exposure: PostExposure) -> str:
    """What the washes and rubs start from, and how much of them that is."""
    if exposure.start is None:
        return _sentence(exposure.no_start or "No published rate to start from: the counts stand alone.")
    shares = [
        share
        for part in exposure.parts
        for quantity in (Quantity.WASHES, Quantity.RUBS)
        if (share := part.load.load(quantity).share_of_start) is not None
    ]
    how_much = percents(min(shares), max(shares)) if min(shares) < 1 else "all"
    return (
        f"Washes and rubs start from a published rate worth {exposure.start.weight_hours:g} h of watching: "
        f"{how_much} of what they rest on."
    )


def _taken_together(rates: PostRates) -> list[PartRate]:
    return [part for part in rates.rates if len(part.observers) > 1]


def _seldom(spread: Spread | None, book: Book, on: date) -> bool:
    """Whether chance alone would seldom spread the counts so far."""
    return spread is not None and book.rule(SPREAD).on(on).met_by(Decimal(spread.by_chance))


def _where(rates: Sequence[PartRate]) -> str:
    """Parts of the day, each with its quantities."""
    counted: dict[str, list[str]] = {}
    for one in rates:
        counted.setdefault(one.shift_part, []).append(in_words(one.quantity))
    return "; ".join(f"{part}: {', '.join(names)}" for part, names in counted.items())


def _apart(part: PartRate, one: ObserverRate) -> Apart:
    rate = one.rate
    return Apart(
        part=PARTS.get(part.shift_part, part.shift_part.capitalize()),
        counted=_sentence(in_words(part.quantity)),
        observer=one.observer,
        seen=f"{rate.seen.count} in {exact(rate.seen.hours)} h",
        an_hour=about(rate.mean),
        between=f"{about(rate.lower)} to {about(rate.upper)}",
    )


def _sentence(says: str) -> str:
    return says[:1].upper() + says[1:]
