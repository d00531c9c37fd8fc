"""A fortnight's tasks in four areas of Saltmere, and who does each of them now."""

import tomllib
from collections.abc import Iterable
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from thenar.demo.pen import Pen, moment, working
from thenar.demo.staff import Member, Staff
from thenar.records.models import TaskList

DAYS, WEEK, SHIFTS_A_WEEK = 14, 7, 5
FORM = 1  # of the kept tasks, as in thenar.exchange.task_list
_FILE = Path(__file__).parent / "tasks.toml"


def write_task_lists(pen: Pen, staff: Staff, today: date) -> None:
    """The tasks of four areas, from the Monday of this week; the demo's worker stands on one of them."""
    first_day = today - timedelta(days=today.weekday())
    at = moment(working(first_day - timedelta(days=6)), 11, 20)
    by = staff.accounts["demo-practitioner"]
    for drawn in tomllib.loads(_FILE.read_text(encoding="utf-8"))["area"]:
        team = _team(staff, drawn["name"], first_day)
        tasks = [one for day in range(DAYS) for one in _day(day, drawn, team)]
        post = team[0].post_on(today)
        assert post is not None
        kept = TaskList(
            ref=pen.ref(),
            area=post.area,
            first_day=first_day,
            content={"form": FORM, "tasks": tasks},
            at=at,
            by=by,
        )
        pen.keep(kept)
        why = post.area.ref
        pen.note("task list kept", by=by, at=at, target=kept.ref, data_class="C5", why=why)


def _team(staff: Staff, place: str, first_day: date) -> list[Member]:
    """Who works there through the fortnight; the demo's worker, where she is one of them, first."""
    told = staff.accounts["demo-worker"]
    last = first_day + timedelta(days=DAYS)
    here = [
        one
        for one in staff.members
        if one.place.name == place
        and not one.manages
        and one.worker.left_on is None
        and (post := one.post_on(first_day))
        and post is one.post_on(last)
    ]
    return sorted(here, key=lambda one: one.worker.user is not told)


def _day(day: int, drawn: dict[str, Any], team: list[Member]) -> Iterable[dict[str, Any]]:
    """The tasks of one day, each given to those at work whose shift is lightest so far."""
    for part, people in _at_work(day, drawn, team).items():
        carried = {one.worker.staff_number: 0 for one in people}
        for task in (task for task in drawn["task"] if part in task["people"]):
            can = [one for one in people if _role(one) in task["who"]]
            can.sort(key=lambda one: carried[one.worker.staff_number])
            now = [one.worker.staff_number for one in can[: task["people"][part]]]
            washes, wet, gloves, pairs = task["load"]
            for number in now:
                carried[number] += 10 * washes + wet + gloves + 1
            yield {
                "day": day,
                "part": part,
                "task": task["name"],
                "washes": washes,
                "wet_minutes": wet,
                "glove_minutes": gloves,
                "pairs": pairs,
                "soap": task.get("soap", False),
                "latex": task.get("latex", False),
                "patient_contact": task.get("contact", False),
                "people": task["people"][part],
                "roles": task["who"],
                "only": [],
                "now": now,
            }


def _at_work(day: int, drawn: dict[str, Any], team: list[Member]) -> dict[str, list[Member]]:
    """Who works in each part of a day: everyone keeps to one part, five days in seven."""
    waiting = list(team)
    at_work: dict[str, list[Member]] = {}
    for part, roles in drawn["at_work"].items():
        for role, number in roles.items():
            pool = [one for one in waiting if _role(one) == role][: -(-number * WEEK // SHIFTS_A_WEEK)]
            waiting = [one for one in waiting if one not in pool]
            on = [one for place, one in enumerate(pool) if (day + place * 3) % WEEK < SHIFTS_A_WEEK]
            at_work.setdefault(part, []).extend(on)
    return at_work


def _role(member: Member) -> str:
    return member.posts[-1].role.name
