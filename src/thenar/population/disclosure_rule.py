"""Which figures must not be shown by themselves, and how are the others written?"""

from dataclasses import astuple, dataclass, fields
from datetime import date
from enum import Enum
from math import ceil

from thenar.errors import BadInput
from thenar.knowledge import Book, Citation, load
from thenar.population.counts import check_count

RULES = "population.disclosure."


class LaxerThanShipped(BadInput):
    """A site's rule would show what the shipped one hides."""

    def __init__(self, field: str, site: int, shipped: int) -> None:
        super().__init__(
            what=f"{field}: is {site}; it may not be below {shipped}.",
            why="A site may protect its staff more than the shipped rule, never less.",
            todo=f"Set {field} to {shipped} or more, or leave it out of the site's file.",
        )


class Why(Enum):
    """Why a figure is hidden."""

    FEW_PEOPLE = "too few people"
    FEW_WITH = "none, or too few of them, with the finding"
    FEW_WITHOUT = "all of them, or all but a few, with the finding"
    LINKED = "hidden with the figure it is counted from"
    OTHERS = "to protect another figure"


@dataclass(frozen=True, slots=True)
class DisclosureRule:
    """What a figure must be like to be shown, and how far an attacker must be kept from one that is not.

    All are counts of people, but for `days_between`. A larger number protects more.
    """

    least_people: int
    least_with: int
    least_without: int
    rounded_to: int
    margin: int
    days_between: int

    def __post_init__(self) -> None:
        for field in fields(self):
            check_count(field.name, getattr(self, field.name))
        if self.rounded_to == 0:
            raise BadInput(
                what="rounded_to: is 0.", why="Nothing can be rounded to it.", todo="Give 1 or more."
            )

    def hides(self, count: int, people: int) -> Why | None:
        """Why a figure can't be shown by itself; None if it can.

        Examples
        --------
        >>> rule = rule_of(load(), date(2026, 11, 26))
        >>> [rule.hides(count, 20) for count in (0, 4, 5, 15, 16)]
        [<Why.FEW_WITH: 'none, or too few of them, with the finding'>,
         <Why.FEW_WITH: 'none, or too few of them, with the finding'>,
         None, None,
         <Why.FEW_WITHOUT: 'all of them, or all but a few, with the finding'>]
        """
        if people < self.least_people:
            return Why.FEW_PEOPLE
        if count < self.least_with:
            return Why.FEW_WITH
        return Why.FEW_WITHOUT if people - count < self.least_without else None

    def rounded(self, count: int) -> int:
        """A count as it is written. Halves go up."""
        return (count + self.rounded_to // 2) // self.rounded_to * self.rounded_to

    def window(self, count: int, people: int) -> tuple[int, int]:
        """What a reader of the written count knows: the least and the most that it can stand for.

        Examples
        --------
        7 is written 5. A 5 stands for 3 to 7, but fewer than 5 would not show.

        >>> rule_of(load(), date(2026, 11, 26)).window(7, 30)
        (5, 7)
        """
        least = self.rounded(count) - self.rounded_to // 2
        most = least + self.rounded_to - 1
        if self.hides(count, people) is None:
            return max(least, self.least_with), min(most, people - self.least_without)
        return max(least, 0), min(most, people)

    def kept_from(self, count: int, people: int) -> tuple[int, int]:
        """What an attacker must still hold possible of a hidden count: one so low, and one so high."""
        return max(0, count - self.margin), min(people, count + self.margin)


def rule_of(book: Book, on: date) -> DisclosureRule:
    """The rule in force, which a site's file may have made stricter.

    Parameters
    ----------
    book, on
        The knowledge, with the site's file over it, and the day of the release.

    Raises
    ------
    LaxerThanShipped
        The site's file would show more.

    Notes
    -----
    All amounts are choices made for this software. National practice for hospitals hides 1 to 7 [1]_;
    wards are smaller and colleagues know each other, so near-full and empty figures are hidden here too.

    References
    ----------
    .. [1] NHS Digital, change to the disclosure control method for hospital episodes, September 2018.

    Examples
    --------
    >>> rule_of(load(), date(2026, 11, 26)).least_people
    10
    """
    site = _read(book, on)
    refuse_laxer(site, on)
    return site


def refuse_laxer(rule: DisclosureRule, on: date) -> None:
    """Refuse a rule that protects less, in anything, than the shipped one."""
    for field, asked, shipped in zip(fields(rule), astuple(rule), astuple(_read(load(), on)), strict=True):
        if asked < shipped:
            raise LaxerThanShipped(field.name, asked, shipped)


def citations(book: Book, on: date) -> tuple[tuple[str, Citation], ...]:
    """Each value of the rule with where it comes from."""
    ids = [rule_id for rule_id in book.rules if rule_id.startswith(RULES)]
    return tuple((rule_id, book.cite(book.rule(rule_id).on(on))) for rule_id in ids)


def _read(book: Book, on: date) -> DisclosureRule:
    def amount(name: str) -> int:
        value = book.rule(RULES + name).on(on)
        assert value.amount is not None  # a rule in counts or days has one
        return ceil(value.amount)

    return DisclosureRule(
        least_people=amount("least-people"),
        least_with=amount("least-with"),
        least_without=amount("least-without"),
        rounded_to=amount("rounded-to"),
        margin=amount("margin"),
        days_between=amount("days-between"),
    )
