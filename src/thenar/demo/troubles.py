"""When whose hands are sore, how badly, and what they answer when asked."""

from dataclasses import dataclass
from datetime import date, timedelta

from thenar.demo.chance import Chance
from thenar.demo.figures import GRADES, NOT_SURE_OF_ONE, TROUBLE_LASTS, TROUBLE_RESTS
from thenar.knowledge import Book
from thenar.skin.triage import triage_table

MILD, MODERATE, SEVERE = 1, 2, 3


@dataclass(frozen=True, slots=True)
class Trouble:
    """A stretch of sore hands."""

    first: date
    last: date
    grade: int

    def on(self, day: date) -> bool:
        """Whether it is there on a day."""
        return self.first <= day <= self.last


# How often a sign or an effect is answered with yes, by grade. Invented; only their order is meant.
_YES: dict[str, tuple[float, float, float]] = {
    "dryness": (0.85, 0.9, 0.95),
    "flaking": (0.4, 0.6, 0.8),
    "itch": (0.6, 0.8, 0.9),
    "soreness": (0.3, 0.6, 0.85),
    "cracks": (0.15, 0.45, 0.8),
    "blisters": (0.06, 0.2, 0.4),
    "colour_change": (0.25, 0.5, 0.7),
    "weeping": (0.0, 0.03, 0.15),
    "straw_crust": (0.0, 0.015, 0.07),
    "pus": (0.0, 0.004, 0.03),
    "growing_pain": (0.002, 0.02, 0.1),
    "growing_heat": (0.001, 0.01, 0.05),
    "growing_redness": (0.002, 0.02, 0.08),
    "swelling": (0.004, 0.04, 0.15),
    "spread_beyond_hands": (0.002, 0.01, 0.05),
    "feeling_unwell": (0.001, 0.003, 0.01),
    "wheals_within_minutes": (0.01, 0.02, 0.03),
    "one_hand_only": (0.05, 0.04, 0.03),
    "night_itch_contacts": (0.002, 0.002, 0.002),
    "work_affected": (0.06, 0.3, 0.7),
    "sleep_affected": (0.02, 0.15, 0.45),
}


def troubles(chance: Chance, start: date, end: date) -> list[Trouble]:
    """The stretches of sore hands of someone prone to them: trouble and rest in turn."""
    found = []
    share = TROUBLE_LASTS / (TROUBLE_LASTS + TROUBLE_RESTS)
    day = start - timedelta(days=chance.whole(0, TROUBLE_LASTS))
    if not chance.yes(share):
        day = start + timedelta(days=round(chance.wait(TROUBLE_RESTS)))
    while day < end:
        last = day + timedelta(days=max(4, round(chance.spell(TROUBLE_LASTS))))
        found.append(Trouble(day, last, chance.weighed(GRADES)))
        day = last + timedelta(days=max(10, round(chance.wait(TROUBLE_RESTS))))
    return found


def how_long(trouble: Trouble | None, on: date) -> str:
    """The answer to how long it has lasted.

    Examples
    --------
    >>> how_long(Trouble(date(2026, 1, 1), date(2026, 3, 1), MILD), date(2026, 1, 20))
    'weeks'
    """
    if trouble is None:
        return "no_trouble"
    days = (on - trouble.first).days
    return "under_week" if days < 7 else "weeks" if days < 91 else "over_3_months"


def answers(
    chance: Chance, book: Book, trouble: Trouble | None, on: date, *, touches: str, allergic: bool
) -> dict[str, str]:
    """A whole set of answers, one for each question of this edition."""
    known = {"how_long": how_long(trouble, on), "patients": touches, "known_allergy": _said(allergic)}
    given = {}
    for question in triage_table(book).questions:
        if question.id in known:
            given[question.id] = known[question.id]
        elif question.answers:
            given[question.id] = question.answers[0]
        else:
            share = _YES.get(question.id, (0.0, 0.0, 0.0))[trouble.grade - 1] if trouble else 0.0
            given[question.id] = _said(chance.yes(share))
    if chance.yes(NOT_SURE_OF_ONE):
        given[chance.one_of(list(given))] = "not_sure"
    return given


def plain_answers(book: Book, *, touches: str, how_long: str, yes: tuple[str, ...]) -> dict[str, str]:
    """Answers chosen by hand, for the stories: no to everything but what is named."""
    given = {question.id: _said(question.id in yes) for question in triage_table(book).questions}
    unknown = set(yes) - set(given)
    if unknown:
        raise ValueError(f"This edition asks no such question: {', '.join(sorted(unknown))}")
    return {**given, "patients": touches, "how_long": how_long}


def _said(true: bool) -> str:
    return "yes" if true else "no"
