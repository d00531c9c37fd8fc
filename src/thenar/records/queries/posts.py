"""Where someone works on a day, and who answers for the place."""

from datetime import date

from thenar.records.models import AreaManager, Post, User, Worker


def current_post(worker: Worker, on: date) -> Post | None:
    """The post a worker holds on a day; the newest if there are several."""
    return next(iter(current_posts(worker, on)), None)


def current_posts(worker: Worker, on: date) -> tuple[Post, ...]:
    """Every post a worker holds on a day, the newest first."""
    posts = Post.objects.running_on(on).filter(worker=worker).select_related("area", "role")
    return tuple(posts.order_by("-from_on", "-pk"))


def managers_of(post: Post, today: date) -> tuple[User, ...]:
    """Who answers for a post's area, nearest first."""
    path = post.area.path
    above = [path[: end + 1] for end in range(1, len(path)) if path[end] == "/"]
    managing = AreaManager.objects.running_on(today).filter(area__path__in=above)
    rows = managing.select_related("user", "area").order_by("-area__path")
    return tuple(dict.fromkeys(row.user for row in sorted(rows, key=lambda row: -len(row.area.path))))
