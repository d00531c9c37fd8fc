"""Records a measure taken in an area: from a day, with an owner and a day on which it is looked at again."""

from collections.abc import Mapping
from datetime import date, datetime

from django.db import transaction

from thenar.errors import BadInput
from thenar.records.audit import note
from thenar.records.days import day_of
from thenar.records.models import Area, RecordedControl, Role, User
from thenar.records.models.workplace import HIERARCHY
from thenar.records.rights import Act, require

MOST_YEARS = 5  # a start further off than this, either way, is a slip


@transaction.atomic
def record_control(
    *,
    area: Area,
    role: Role | None,
    control: Mapping[str, object],
    words: str,
    hierarchy: str,
    start_on: date,
    review_on: date,
    owner: str,
    expected: Mapping[str, object],
    edition: str,
    by: User,
    now: datetime,
) -> RecordedControl:
    """Keep one control. `control` is its kind and figures; `expected` what it was chosen for.

    Raises
    ------
    BadInput
        It has no owner or words, no known kind, or days that can't be.
    """
    require(by, Act.WRITE_WORKPLACE)
    _refuse_unusable(words, hierarchy, owner)
    _refuse_days(start_on, review_on, day_of(now))
    kept = RecordedControl.objects.create(
        area=area,
        role=role,
        control=dict(control),
        words=words.strip(),
        hierarchy=hierarchy,
        start_on=start_on,
        review_on=review_on,
        owner=owner.strip(),
        expected=dict(expected),
        edition=edition,
        at=now,
        by=by,
    )
    note("control recorded", by=by, now=now, target=kept.ref, data_class="C5")
    return kept


def _refuse_unusable(words: str, hierarchy: str, owner: str) -> None:
    if not words.strip() or not owner.strip():
        raise _unusable("The control has no words or no owner.", "Say what is done, and who sees to it.")
    if hierarchy not in dict(HIERARCHY):
        raise _unusable(
            f"{hierarchy!r} is no kind of measure.", f"Name one of: {', '.join(dict(HIERARCHY))}."
        )


def _refuse_days(start_on: date, review_on: date, today: date) -> None:
    if abs(start_on.year - today.year) > MOST_YEARS or abs(review_on.year - today.year) > 2 * MOST_YEARS:
        raise _unusable(f"From {start_on}, reviewed on {review_on}: too far from today.", "Correct the year.")
    if review_on < start_on:
        raise _unusable(
            f"The review on {review_on} is before the start on {start_on}.", "Correct one of them."
        )


def _unusable(what: str, todo: str) -> BadInput:
    return BadInput(what=what, why="A control nobody sees to, or looks at again, is none.", todo=todo)
