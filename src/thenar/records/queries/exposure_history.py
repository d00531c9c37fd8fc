"""What is kept of the work in each post that one worker held, while they held it."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TypeVar

from django.db import models

from thenar.records.models import (
    AreaAssessment,
    ObservedSession,
    Post,
    RecordedControl,
    User,
    WorkDescription,
)
from thenar.records.queries.workers import WorkerStory
from thenar.records.rights import Act, require

Kept = TypeVar("Kept", bound=models.Model)


@dataclass(frozen=True, slots=True)
class PostHeld:
    """A post with the sessions of its role in its area: `during` the post, `before` it, and `after` it.

    `description` is the newest by the end of the post. Controls are those of the role, or of all roles, that
    start during the post; assessments those made during it. All oldest first.
    """

    post: Post
    during: tuple[ObservedSession, ...]
    before: tuple[ObservedSession, ...]
    after: tuple[ObservedSession, ...]
    description: WorkDescription | None
    assessments: tuple[AreaAssessment, ...]
    controls: tuple[RecordedControl, ...]


def exposure_history(story: WorkerStory, *, by: User) -> tuple[PostHeld, ...]:
    """Each post of a worker with what is kept of its work, the newest first.

    The look that gave the story is the one that is noted: of the worker nothing more is read here.
    """
    require(by, Act.SEE_CLINICAL)
    require(by, Act.SEE_WORKPLACE)
    areas = {post.area_id for post in story.posts}
    sessions = _of(ObservedSession, areas, "observed_on")
    described = _of(WorkDescription, areas, "at")
    assessments = _of(AreaAssessment, areas, "assessed_on")
    controls = _of(RecordedControl, areas, "start_on")
    held = sorted(story.posts, key=lambda post: post.from_on, reverse=True)
    return tuple(_held(post, sessions, described, assessments, controls) for post in held)


def _of(kind: type[Kept], areas: Iterable[int], day: str) -> list[Kept]:
    return list(kind._default_manager.filter(area__in=areas).order_by(day, "pk"))


def _held(
    post: Post,
    sessions: Sequence[ObservedSession],
    described: Sequence[WorkDescription],
    assessments: Sequence[AreaAssessment],
    controls: Sequence[RecordedControl],
) -> PostHeld:
    first, last = post.from_on, post.until_on or date.max
    seen = [one for one in sessions if (one.area_id, one.role_id) == (post.area_id, post.role_id)]
    told = [
        one
        for one in described
        if (one.area_id, one.role_id) == (post.area_id, post.role_id) and one.described_on <= last
    ]
    return PostHeld(
        post=post,
        during=tuple(one for one in seen if first <= one.observed_on <= last),
        before=tuple(one for one in seen if one.observed_on < first),
        after=tuple(one for one in seen if one.observed_on > last),
        description=told[-1] if told else None,
        assessments=tuple(
            one for one in assessments if one.area_id == post.area_id and first <= one.assessed_on <= last
        ),
        controls=tuple(
            one
            for one in controls
            if one.area_id == post.area_id
            and one.role_id in (None, post.role_id)
            and first <= one.start_on <= last
        ),
    )
