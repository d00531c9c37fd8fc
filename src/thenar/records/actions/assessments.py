"""Keeps the numbered assessments of an area."""

from collections.abc import Callable, Mapping
from datetime import date, datetime

from django.db import transaction

from thenar.errors import BadInput
from thenar.records.audit import note
from thenar.records.days import day_of
from thenar.records.frozen import content_hash
from thenar.records.models import Area, AreaAssessment, User
from thenar.records.rights import Act, require


@transaction.atomic
def record_assessment(
    *,
    area: Area,
    review_on: date,
    content_for: Callable[[int], Mapping[str, object]],
    edition: str,
    by: User,
    now: datetime,
) -> AreaAssessment:
    """Keep the next assessment of an area, as it will be printed.

    Parameters
    ----------
    area
        What was assessed. Its assessments are numbered from 1 without a gap.
    review_on
        The day on which it is looked at again.
    content_for
        Gives the content for the number it gets.

    Raises
    ------
    BadInput
        The review is before today.
    """
    require(by, Act.WRITE_WORKPLACE)
    today = day_of(now)
    if review_on < today:
        raise BadInput(
            what=f"The review on {review_on} is before today.",
            why="An assessment that nobody looks at again grows wrong unseen.",
            todo="Choose a day to come.",
        )
    Area.objects.select_for_update().get(pk=area.pk)  # one number at a time
    last = AreaAssessment.objects.filter(area=area).order_by("-version").first()
    version = last.version + 1 if last else 1
    content = dict(content_for(version))
    kept = AreaAssessment.objects.create(
        area=area,
        version=version,
        assessed_on=today,
        review_on=review_on,
        content=content,
        content_hash=content_hash(content),
        edition=edition,
        at=now,
        by=by,
    )
    note("area assessed", by=by, now=now, target=kept.ref, data_class="C5", why=f"assessment {version}")
    return kept
