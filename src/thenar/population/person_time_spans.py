"""How long was each role of each area at risk in each month? As one expression for any engine.

Whole numbers only, so that every engine gives the same: days are counted in millionths. Nothing is spread
over days or months. What is summed is where someone's share of a day changes: all changes up to a month's end
give its days in full, and each change inside the month takes off the days before it.
"""

from calendar import monthrange
from datetime import timedelta
from typing import TYPE_CHECKING

import ibis
from ibis import _

from thenar.population.person_time_rules import PartTime, TimeRules

if TYPE_CHECKING:
    from datetime import date

    import pyarrow as pa
    from ibis.expr.types import IntegerColumn

DAY = 1_000_000
_FULL = 100
_NOT_SKIN = "not_skin"


def clipped(held: ibis.Table, rules: TimeRules) -> ibis.Table:
    """Rows that touch the period, as `starts` and `ends`: the first day in it and the first one after."""
    beyond = rules.period.last + timedelta(days=1)
    cut = held.mutate(
        starts=ibis.greatest(_.from_on, ibis.literal(rules.period.first)),
        ends=ibis.least(day_after(held.until_on).fill_null(beyond), ibis.literal(beyond)),
    )
    return cut.filter(_.starts < _.ends)


def day_after(day: ibis.Column, days: int = 1) -> ibis.Column:
    """A column of days, so many days later."""
    return (day + ibis.interval(days=days)).cast("date")


def skin_cases(cases: ibis.Table) -> ibis.Table:
    """Cases but those that turned out to be no skin condition of the hands."""
    return cases.filter(_.outcome.isnull() | (_.outcome != _NOT_SKIN))


def spells(cases: ibis.Table, rules: TimeRules) -> ibis.Table:
    """Days on which a worker is not at risk of a new case, from the day after each opening."""
    return skin_cases(cases).select(
        worker=_.worker,
        from_on=day_after(cases.opened_on),
        until_on=day_after(cases.closed_on, rules.washout_days),
    )


def time_at_risk(posts: ibis.Table, cases: ibis.Table, leave: ibis.Table, rules: TimeRules) -> ibis.Table:
    """Millionths of person-days at risk, by area, role and month (counted from the year 0)."""
    held = clipped(posts, rules)
    away = clipped(spells(cases, rules).union(leave.select("worker", "from_on", "until_on")), rules)
    return _by_month(_changes(held, _spans(held, away), rules), held, rules)


def _spans(held: ibis.Table, away: ibis.Table) -> ibis.Table:
    """Stretches of days at risk on which a worker's posts stay the same, with the hours of them all."""
    percent = held.hours_percent.cast("int64")
    moments = ibis.union(
        held.select("worker", day=_.starts, hours=percent, away=0),
        held.select("worker", day=_.ends, hours=-percent, away=0),
        away.select("worker", day=_.starts, hours=ibis.literal(0, "int64"), away=1),
        away.select("worker", day=_.ends, hours=ibis.literal(0, "int64"), away=-1),
    )
    days = moments.group_by("worker", "day").agg(hours=_.hours.sum(), away=_.away.sum())
    so_far = ibis.cumulative_window(group_by="worker", order_by="day")
    then = ibis.window(group_by="worker", order_by="day")
    running = days.select(
        "worker",
        since=_.day,
        until=_.day.lead().over(then),
        hours=_.hours.sum().over(so_far).cast("int64"),
        away=_.away.sum().over(so_far),
    )
    return running.filter(_.until.notnull() & (_.hours > 0) & (_.away == 0))


def _changes(held: ibis.Table, spans: ibis.Table, rules: TimeRules) -> ibis.Table:
    """Where the share of a day of some post begins and ends, with the share."""
    of = held.select("worker", "area", "role", "starts", "ends", percent=_.hours_percent.cast("int64"))
    within = (
        of.join(spans, "worker")
        .filter(_.since >= _.starts, _.since < _.ends)
        .mutate(share=_share(_.percent, _.hours, rules.part_time))
    )
    return within.select("area", "role", day=_.since, share=_.share).union(
        within.select("area", "role", day=_.until, share=-_.share)
    )


def _share(percent: "IntegerColumn", together: "IntegerColumn", part_time: PartTime) -> "IntegerColumn":
    whole = together if part_time is PartTime.PEOPLE else ibis.greatest(together, _FULL)
    return ((2 * DAY * percent + whole) // (2 * whole)).cast("int64")  # to the nearest millionth


def _by_month(changes: ibis.Table, held: ibis.Table, rules: TimeRules) -> ibis.Table:
    per_month = changes.group_by("area", "role", month=month_of(changes.day)).agg(
        shares=_.share.sum().cast("int64"),
        missed=(_.share * (_.day.day().cast("int64") - 1)).sum().cast("int64"),
    )
    every = held.select("area", "role").distinct().cross_join(ibis.memtable(_months(rules)))
    filled = every.left_join(per_month, ["area", "role", "month"]).select(
        "area", "role", "month", "days", shares=_.shares.fill_null(0), missed=_.missed.fill_null(0)
    )
    standing = _.shares.sum().over(ibis.cumulative_window(group_by=["area", "role"], order_by="month"))
    return filled.select("area", "role", "month", at_risk=(standing * _.days - _.missed).cast("int64"))


def month_of(day: ibis.Column) -> ibis.Column:
    """The month of a day, counted from the year 0."""
    return (day.year().cast("int64") * 12 + day.month().cast("int64") - 1).cast("int64")


def _months(rules: TimeRules) -> "pa.Table":
    """The months of the period with their length."""
    import pyarrow as pa

    first, last = map(_month, (rules.period.first, rules.period.last))
    months = list(range(first, last + 1))
    return pa.table({"month": months, "days": [monthrange(m // 12, m % 12 + 1)[1] for m in months]})


def _month(day: "date") -> int:
    return day.year * 12 + day.month - 1
