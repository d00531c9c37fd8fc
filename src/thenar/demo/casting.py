"""Finds someone at Saltmere for a story about allergies."""

from datetime import date, timedelta
from typing import Any

from thenar.demo.chance import Chance
from thenar.demo.pen import Pen
from thenar.demo.staff import Member, Staff
from thenar.records.models import Case, CaseClosing, CheckSorting, SkinCheck

_SETTLED = timedelta(days=60)


class Casting:
    """Hands out workers who are at work today, each once, and no one of whom something else is told."""

    def __init__(self, pen: Pen, staff: Staff, today: date) -> None:
        self.staff, self.today = staff, today
        closed = {id(row.case) for row in pen.rows[CaseClosing] if isinstance(row, CaseClosing)}
        cases = [row for row in pen.rows[Case] if isinstance(row, Case)]
        self.open = {id(case.worker): case for case in cases if id(case) not in closed}
        sorted_ones = {
            id(row.check_report) for row in pen.rows[CheckSorting] if isinstance(row, CheckSorting)
        }
        checks = [row for row in pen.rows[SkinCheck] if isinstance(row, SkinCheck)]
        waiting = {id(one.worker) for one in checks if id(one) not in sorted_ones}
        self.taken = waiting | {id(case.worker) for case in cases} - self.open.keys()

    def cast(self, drawn: dict[str, Any], chance: Chance) -> tuple[Member, Case | None]:
        """The worker a story asks for, with their open case where it is told in one."""
        test = drawn.get("test", {})
        if "username" in drawn:
            member = self.staff.member(drawn["username"])
        else:
            began = self.today - timedelta(days=max(_days(drawn)))
            fit = [one for one in self.staff.members if self._fits(one, drawn, began)]
            known = [one for one in fit if one.allergic]  # they say so in their skin checks
            member = chance.one_of(known or fit)
        self.taken.add(id(member.worker))
        return member, self.open.get(id(member.worker)) if test.get("case") else None

    def _fits(self, member: Member, drawn: dict[str, Any], began: date) -> bool:
        post, worker = member.post_on(self.today), member.worker
        if post is None or post.from_on > self.today - _SETTLED or post.role.name != drawn["role"]:
            return False
        if worker.user is not None or worker.left_on is not None or id(worker) in self.taken:
            return False
        if drawn.get("case"):
            case = self.open.get(id(worker))
            return case is not None and case.opened_on < began
        here = post.area.name == drawn["area"] and member.posts[0].from_on < began
        return here and id(worker) not in self.open


def _days(drawn: dict[str, Any]) -> list[int]:
    """How far back a story goes, week of the test included."""
    test = drawn.get("test", {})
    told = [*drawn.get("delayed", ()), *drawn.get("immediate", ())]
    return [test.get("put_on", test.get("days", 0)) + 10, *(one["days"] + 14 for one in told)]
