"""What is kept of the posts of an area, as the exposure room computes with it."""

from dataclasses import dataclass

from thenar.exposure.sessions import ObservationSession
from thenar.records.actions.descriptions import DescribedWork, described
from thenar.records.queries.observations import as_session
from thenar.records.queries.workplace import AreaRecord, PostRecord


@dataclass(frozen=True, slots=True)
class GivenPost:
    """A role in an area: what was watched and what was described. Equal records give equal posts."""

    area: str
    role: str
    role_ref: str
    people: int
    sessions: tuple[ObservationSession, ...]
    described: DescribedWork | None


def given_posts(record: AreaRecord) -> tuple[GivenPost, ...]:
    """Every role of an area."""
    return tuple(given_post(record.area.name, post) for post in record.posts)


def given_post(area: str, post: PostRecord) -> GivenPost:
    """One role of an area."""
    return GivenPost(
        area=area,
        role=post.role.name,
        role_ref=post.role.ref,
        people=post.people,
        sessions=tuple(as_session(kept, area, post.role.name) for kept in post.sessions),
        described=described(post.description) if post.description else None,
    )
