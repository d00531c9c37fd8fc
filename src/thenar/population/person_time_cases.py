"""Which cases are new cases of which area, role and month, and what became of all the others?"""

from dataclasses import dataclass, fields
from enum import StrEnum

import ibis
from ibis import _

from thenar.population.person_time_rules import TimeRules
from thenar.population.person_time_spans import clipped, month_of, skin_cases, spells


class Fate(StrEnum):
    """What the count makes of a case. The first that holds, from the top."""

    NOT_SKIN = "not_skin"
    OUTSIDE_PERIOD = "outside_period"
    OUTSIDE_POSTS = "outside_posts"
    ON_LEAVE = "on_leave"
    NOT_AT_RISK = "not_at_risk"
    COUNTED = "counted"


_SAYS = {
    Fate.COUNTED: "counted as new",
    Fate.NOT_SKIN: "closed as no skin condition of the hands",
    Fate.OUTSIDE_PERIOD: "opened outside the period",
    Fate.OUTSIDE_POSTS: "opened on a day without a post",
    Fate.ON_LEAVE: "opened on a day of leave",
    Fate.NOT_AT_RISK: "opened during another case or its wash-out",
}


@dataclass(frozen=True, slots=True)
class CaseTally:
    """How many cases were counted, and how many were not and why: none is dropped without a number."""

    counted: int = 0
    not_skin: int = 0
    outside_period: int = 0
    outside_posts: int = 0
    on_leave: int = 0
    not_at_risk: int = 0

    @property
    def total(self) -> int:
        """All cases of the extract."""
        return sum(getattr(self, one.name) for one in fields(self))

    @property
    def in_words(self) -> str:
        """The tally as it stands beside a figure.

        Examples
        --------
        >>> print(CaseTally(counted=40, outside_posts=2, not_at_risk=1).in_words)
        Cases: 43; 40 counted as new, 2 opened on a day without a post, 1 opened during another case or its
        wash-out.
        """
        told = [f"{count:,} {says}" for fate, says in _SAYS.items() if (count := getattr(self, fate.value))]
        return f"Cases: {self.total:,}; {', '.join(told)}." if told else "Cases: 0."


def fates(posts: ibis.Table, cases: ibis.Table, leave: ibis.Table, rules: TimeRules) -> ibis.Table:
    """Each case with its fate, and the area, role and month to which it belongs."""
    skin, period = skin_cases(cases), rules.period
    inside = skin.filter(_.opened_on.between(ibis.literal(period.first), ibis.literal(period.last)))
    told = (
        _flagged(cases, inside.select("case"), "in_period")
        .pipe(_flagged, skin.select("case"), "is_skin")
        .pipe(_flagged, _opened_within(inside, clipped(leave, rules)), "on_leave")
        .pipe(_flagged, _repeats(inside, spells(cases, rules), rules), "repeats")
    )
    placed = told.left_join(_places(inside, clipped(posts, rules)), "case").drop("case_right")
    fate = ibis.cases(
        (_.is_skin.isnull(), Fate.NOT_SKIN.value),
        (_.in_period.isnull(), Fate.OUTSIDE_PERIOD.value),
        (_.area.isnull(), Fate.OUTSIDE_POSTS.value),
        (_.on_leave.notnull(), Fate.ON_LEAVE.value),
        (_.repeats.notnull(), Fate.NOT_AT_RISK.value),
        else_=Fate.COUNTED.value,
    )
    return placed.select("case", "area", "role", month=month_of(placed.opened_on), fate=fate)


def new_cases(fated: ibis.Table) -> ibis.Table:
    """New cases by area, role and month."""
    counted = fated.filter(_.fate == Fate.COUNTED.value)
    return counted.group_by("area", "role", "month").agg(cases=counted.count())


def tally_of(fated: ibis.Table) -> CaseTally:
    """How many cases met each fate."""
    found = fated.group_by("fate").agg(number=fated.count()).to_pyarrow().to_pylist()
    return CaseTally(**{row["fate"]: row["number"] for row in found})


def _flagged(cases: ibis.Table, keys: ibis.Table, flag: str) -> ibis.Table:
    """`flag` is filled in for cases among `keys`."""
    marked = keys.distinct().select(_.case.name(flag))
    return cases.left_join(marked, cases.case == marked[flag])


def _opened_within(cases: ibis.Table, held: ibis.Table) -> ibis.Table:
    return _meeting(cases, held.select("worker", "starts", "ends")).select("case")


def _meeting(cases: ibis.Table, held: ibis.Table) -> ibis.Table:
    """Each case beside everything its worker held on the day it opened."""
    opened = cases.select("case", "worker", "opened_on")
    return opened.join(held, "worker").filter(_.opened_on >= _.starts, _.opened_on < _.ends)


def _repeats(cases: ibis.Table, barred: ibis.Table, rules: TimeRules) -> ibis.Table:
    """Cases opened while another one or its wash-out ran; of several opened on one day, all but one."""
    return _opened_within(cases, clipped(barred, rules)).union(_second_of_a_day(cases))


def _second_of_a_day(cases: ibis.Table) -> ibis.Table:
    in_turn = ibis.window(group_by=["worker", "opened_on"], order_by="case")
    return cases.select("case", turn=ibis.row_number().over(in_turn)).filter(_.turn > 0).select("case")


def _places(cases: ibis.Table, held: ibis.Table) -> ibis.Table:
    """Where each case belongs: of the posts held on its day the one with most hours, then the newest."""
    main_first = ibis.window(
        group_by="case", order_by=[ibis.desc("hours_percent"), ibis.desc("from_on"), "post"]
    )
    ranked = _meeting(cases, held).mutate(place=ibis.row_number().over(main_first))
    return ranked.filter(_.place == 0).select("case", "area", "role")
