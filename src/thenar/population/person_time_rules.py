"""By which stated rules is time at risk counted?"""

from dataclasses import dataclass
from enum import StrEnum

from thenar.errors import BadInput
from thenar.population.stated import Period

LONGEST_WASHOUT = 3650


class PartTime(StrEnum):
    """What a day of someone who works part-time counts."""

    PEOPLE = "people"
    HOURS = "hours"


_COUNTED = {
    PartTime.PEOPLE: "A day at risk counts one person-day, however many hours are worked; where posts overlap"
    " it is shared among them by their hours",
    PartTime.HOURS: "A day at risk counts the share of full hours worked; where posts overlap they count no"
    " more than one day together",
}


@dataclass(frozen=True, slots=True)
class TimeRules:
    """What counts as time at risk, and in which days. The wash-out has no default: it must be chosen.

    Parameters
    ----------
    period
        First and last day counted.
    washout_days
        How long after the closing of a case its worker is not yet at risk of a new one. [days, 0 to 3650]
    part_time
        Whether a day counts one person or the hours worked.

    Raises
    ------
    BadInput
        The wash-out is no whole number of days from 0 to 3650.
    """

    period: Period
    washout_days: int
    part_time: PartTime = PartTime.PEOPLE

    def __post_init__(self) -> None:
        if type(self.washout_days) is not int or not 0 <= self.washout_days <= LONGEST_WASHOUT:
            raise BadInput(
                what=f"washout_days: is {self.washout_days!r}; it must be 0 to {LONGEST_WASHOUT} whole days.",
                why="Time after a case would be counted wrongly.",
                todo="State the days after closing during which new trouble is still the same episode.",
            )

    @property
    def in_words(self) -> str:
        """The rules as they stand beside a figure.

        Examples
        --------
        >>> from datetime import date
        >>> print(TimeRules(Period(date(2026, 1, 1), date(2026, 6, 30)), washout_days=90).in_words)
        A day at risk counts one person-day, however many hours are worked; where posts overlap it is shared
        among them by their hours. Days of leave don't count. From the day after a case opens until 90 days
        after it closes its worker is not at risk. Cases closed as no skin condition of the hands change
        nothing.
        """
        return (
            f"{_COUNTED[self.part_time]}. Days of leave don't count. From the day after a case opens until"
            f" {self.washout_days} days after it closes its worker is not at risk. Cases closed as no skin"
            " condition of the hands change nothing."
        )
