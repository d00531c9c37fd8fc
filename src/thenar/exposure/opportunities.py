"""How often should hands be cleansed, by patients and hours, and how many acts do the litres used make?"""

from dataclasses import dataclass
from enum import StrEnum

from thenar.errors import BadInput

HOURS_IN_A_DAY = 24


class Covers(StrEnum):
    """Which hours of the day a rate was counted in."""

    DAYTIME = "daytime"
    ROUND_THE_CLOCK = "24 hours"
    NOT_KNOWN = "not known"


@dataclass(frozen=True, slots=True)
class PerPatientDay:
    """Opportunities a patient-day. [count, 0 or more] `caution` must be shown wherever the number is."""

    opportunities: float
    caution: str = ""


class NotTheseHours(BadInput):
    """A rate of some hours of the day was about to be used for all of them."""

    def __init__(self, per_patient_hour: float, covers: Covers) -> None:
        super().__init__(
            what=f"{per_patient_hour:g} opportunities an hour were counted over these hours: {covers}.",
            why="Nights have fewer, so 24 times an hour by day is too much: on a medical ward by half.",
            todo="Use a rate counted over 24 hours, or ask for the scaling by name and show its caution.",
        )


class NotAnAmount(BadInput):
    """A number that can't be an amount of anything."""

    def __init__(self, field: str, given: object, bounds: str) -> None:
        super().__init__(
            what=f"{field} is {given!r}; it must be {bounds}.",
            why="The result would mean nothing.",
            todo=f"Correct {field}.",
        )


def opportunities_per_shift(
    per_patient_hour: float, role_share: float, patients_per_worker: float, hours: float
) -> float:
    """How many opportunities for hand hygiene fall to one worker in a shift.

    Parameters
    ----------
    per_patient_hour
        Opportunities of all staff together. [count for each patient and hour, 0 or more]
    role_share
        Share of them that falls to the worker's role. [0 to 1]
    patients_per_worker
        Patients to each worker of that role. [above 0]
    hours
        Length of the shift. [above 0, to 24]

    Returns
    -------
    float
        Opportunities. [count, 0 or more]

    Raises
    ------
    NotAnAmount
        A number is outside its range.

    Notes
    -----
    Opportunities, not acts: what is done is less. A rate counted by day holds for a shift by day.

    References
    ----------
    .. [1] Goodliffe and others, Infect Control Hosp Epidemiol 2014;35:225, doi 10.1086/675286: rates, shares.

    Examples
    --------
    Intensive care, one nurse to one patient, a day of 8 hours.

    >>> round(opportunities_per_shift(13.2, 0.77, 1, 8))
    81
    """
    _refuse_outside("per_patient_hour", per_patient_hour, 0 <= per_patient_hour < float("inf"), "0 or more")
    _refuse_outside("role_share", role_share, 0 <= role_share <= 1, "from 0 to 1")
    _refuse_outside("patients_per_worker", patients_per_worker, 0 < patients_per_worker < 1000, "above 0")
    _refuse_outside("hours", hours, 0 < hours <= HOURS_IN_A_DAY, "above 0 and at most 24")
    return per_patient_hour * role_share * patients_per_worker * hours


def opportunities_per_patient_day(
    per_patient_hour: float, covers: Covers, *, scale_anyway: bool = False
) -> PerPatientDay:
    """Opportunities a patient-day from an hourly rate that was counted over all its hours.

    Parameters
    ----------
    per_patient_hour
        Opportunities of all staff together. [count for each patient and hour, 0 or more]
    covers
        Which hours it was counted in.
    scale_anyway
        Multiply a rate of other hours by 24 all the same. The caution then comes with the number.

    Raises
    ------
    NotTheseHours
        The rate was not counted over 24 hours, and scaling was not asked for by name.
    NotAnAmount
        The rate is negative or not a number.

    References
    ----------
    .. [1] Diller and others, Am J Infect Control 2014;42:602, doi 10.1016/j.ajic.2014.02.020: 71.6 a day.

    Examples
    --------
    >>> opportunities_per_patient_day(4.5, Covers.DAYTIME, scale_anyway=True).opportunities
    108.0
    >>> opportunities_per_patient_day(4.5, Covers.DAYTIME)  # doctest: +ELLIPSIS
    Traceback (most recent call last):
    ...
    thenar.exposure.opportunities.NotTheseHours: 4.5 opportunities an hour were counted ... daytime. ...
    """
    _refuse_outside("per_patient_hour", per_patient_hour, 0 <= per_patient_hour < float("inf"), "0 or more")
    a_day = per_patient_hour * HOURS_IN_A_DAY
    if covers is Covers.ROUND_THE_CLOCK:
        return PerPatientDay(a_day)
    if not scale_anyway:
        raise NotTheseHours(per_patient_hour, covers)
    return PerPatientDay(a_day, f"Scaled to 24 hours from other hours ({covers}): likely too much.")


def rubs_per_patient_day(litres: float, patient_days: float, millilitres_per_rub: float) -> float:
    """How many rubs for each patient-day the rub used makes.

    Parameters
    ----------
    litres
        Rub used over a period. [litres, 0 or more]
    patient_days
        Days that patients lay there in it. [above 0]
    millilitres_per_rub
        Taken at one act. [mL, above 0]

    Raises
    ------
    NotAnAmount
        A number is outside its range.

    Notes
    -----
    Consumption, never adherence: washes are left out, doses differ, visitors use rub too, and spilt or
    expired rub counts as used.

    References
    ----------
    .. [1] BMC Infect Dis 2021, doi 10.1186/s12879-021-06427-7: 137.4 mL a patient-day in intensive care.

    Examples
    --------
    >>> round(rubs_per_patient_day(137.4, 1000, 3), 1)
    45.8
    """
    _refuse_outside("litres", litres, 0 <= litres < float("inf"), "0 or more")
    _refuse_outside("patient_days", patient_days, 0 < patient_days < float("inf"), "above 0")
    _refuse_outside("millilitres_per_rub", millilitres_per_rub, 0 < millilitres_per_rub < 100, "above 0")
    return litres * 1000 / patient_days / millilitres_per_rub


def _refuse_outside(field: str, given: float, inside: bool, bounds: str) -> None:
    if not inside:
        raise NotAnAmount(field, given, bounds)
