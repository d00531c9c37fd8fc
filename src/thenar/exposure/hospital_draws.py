"""In the whole hospital: where do usual shifts pass a limit, in how many posts, and how sure is that?"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

import numpy as np
import numpy.typing as npt

from thenar.errors import BadInput
from thenar.exposure.load_chances import Limit, Worked, refuse_impossible
from thenar.exposure.rates import MIDDLE

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Post:
    """A role in an area, and what its shift is made of: rates, each with its hours."""

    area: str
    role: str
    worked: Worked


@dataclass(frozen=True, slots=True)
class PostChance:
    """What a post's shifts bring on average, with the middle 95 % of it, and the chance that this passes."""

    area: str
    role: str
    mean: float
    lower: float
    upper: float
    chance: float


@dataclass(frozen=True, slots=True)
class AreaChance:
    """The chance that the usual shift of some role in an area passes, and that the area has the highest."""

    area: str
    chance: float
    highest: float


@dataclass(frozen=True, slots=True)
class Hospital:
    """All posts, in the order given; all areas, the likeliest to pass first.

    `posts_over` is how many posts pass: expected, and the middle 95 %.
    """

    posts: tuple[PostChance, ...]
    areas: tuple[AreaChance, ...]
    posts_over: tuple[float, float, float]
    draws: int


class ImpossibleHospital(BadInput):
    """Posts that can't be drawn."""

    def __init__(self, says: str) -> None:
        super().__init__(
            what=says,
            why="The hospital's figures would leave something out, or mix two things.",
            todo="Give each post its rates of the limit's quantity, and at least 100 draws.",
        )


def draw_hospital(posts: Sequence[Post], limit: Limit, *, draws: int, seed: int) -> Hospital:
    """Draw what every post's shifts bring on average, and see which pass a limit together.

    Parameters
    ----------
    posts
        Each role of each area once.
    limit
        On a quantity that is counted.
    draws
        How many times the whole hospital is drawn. [100 or more]
    seed
        Makes the draws repeatable.

    Returns
    -------
    Hospital
        For each post, each area and all posts together.

    Raises
    ------
    ImpossibleHospital
        No post, one twice, one with no rate or a rate of another quantity, or too few draws.
    ImpossibleLimit
        The limit is negative or not a number.

    Notes
    -----
    Averages of many shifts are compared with the limit, for the rules ask what is usual; a single shift
    varies more. Rates of different posts are drawn independently: where they share a start that is wrong for
    the whole hospital, the number of posts that pass is less sure than shown. One area is held in memory at a
    time.

    Examples
    --------
    >>> from thenar.exposure.sessions import Quantity, Seen
    >>> from thenar.exposure.rates import Rate
    >>> busy = Rate(Quantity.WASHES, "early", Seen(90, 30.0), 90.5, 30.0)
    >>> quiet = Rate(Quantity.WASHES, "early", Seen(30, 30.0), 30.5, 30.0)
    >>> posts = [Post("north", "nurse", [(quiet, 8.0)]), Post("south", "nurse", [(busy, 8.0)])]
    >>> hospital = draw_hospital(posts, Limit("fifteen", Quantity.WASHES, ">=", 15), draws=1000, seed=1)
    >>> [(area.area, area.chance, area.highest) for area in hospital.areas]
    [('south', 1.0, 1.0), ('north', 0.0, 0.0)]
    """
    _refuse_impossible(posts, limit, draws)
    stream = np.random.default_rng(seed)
    found: list[PostChance] = []
    names: list[str] = []
    passed: list[float] = []
    over = np.zeros(draws, dtype=np.int32)
    most, leader = np.full(draws, -1.0), np.zeros(draws, dtype=np.int32)
    for number, (area, roles) in enumerate(_by_area(posts)):
        usual = np.stack([_usual(post.worked, stream, draws) for post in roles])
        passing = usual > limit.amount if limit.operator == ">" else usual >= limit.amount
        found += map(_post_chance, roles, usual, passing)
        names.append(area)
        passed.append(float(passing.any(axis=0).mean()))
        over += passing.sum(axis=0, dtype=np.int32)
        highest = usual.max(axis=0)
        np.copyto(leader, number, where=highest > most)
        np.maximum(most, highest, out=most)
    leads = np.bincount(leader, minlength=len(names)) / draws
    areas = [
        AreaChance(area, chance, float(lead)) for area, chance, lead in zip(names, passed, leads, strict=True)
    ]
    lower, upper = np.quantile(over, MIDDLE)
    return Hospital(
        posts=_as_given(found, posts),
        areas=tuple(sorted(areas, key=lambda area: (-area.chance, -area.highest, area.area))),
        posts_over=(float(over.mean()), float(lower), float(upper)),
        draws=draws,
    )


def _by_area(posts: Sequence[Post]) -> Iterator[tuple[str, list[Post]]]:
    ordered = sorted(posts, key=lambda post: (post.area, post.role))
    for area, roles in groupby(ordered, key=lambda post: post.area):
        yield area, list(roles)


def _usual(worked: Worked, stream: np.random.Generator, draws: int) -> Floats:
    (rate, hours), *others = worked
    drawn = stream.standard_gamma(rate.shape, draws)
    drawn *= hours / rate.hours
    for other, more in others:
        drawn += stream.standard_gamma(other.shape, draws) * (more / other.hours)
    return drawn


def _post_chance(post: Post, usual: Floats, passing: npt.NDArray[np.bool_]) -> PostChance:
    lower, upper = _middle(usual)
    mean = sum(rate.mean * hours for rate, hours in post.worked)
    return PostChance(post.area, post.role, mean, lower, upper, float(passing.mean()))


def _middle(usual: Floats) -> tuple[float, float]:
    """The draws at both ends of the middle: the nearest ones, with no sorting of the rest."""
    ends = [round(share * (len(usual) - 1)) for share in MIDDLE]
    ordered = np.partition(usual, ends)
    return float(ordered[ends[0]]), float(ordered[ends[1]])


def _as_given(found: Sequence[PostChance], posts: Sequence[Post]) -> tuple[PostChance, ...]:
    by_name = {(post.area, post.role): post for post in found}
    return tuple(by_name[post.area, post.role] for post in posts)


def _refuse_impossible(posts: Sequence[Post], limit: Limit, draws: int) -> None:
    refuse_impossible([limit])
    if not posts:
        raise ImpossibleHospital("There is no post.")
    if len({(post.area, post.role) for post in posts}) < len(posts):
        raise ImpossibleHospital("A role of an area stands twice.")
    if draws < 100:
        raise ImpossibleHospital(f"{draws!r} draws are too few to read a chance from.")
    for post in posts:
        if not post.worked or any(rate.quantity is not limit.quantity for rate, _ in post.worked):
            raise ImpossibleHospital(f"{post.role} in {post.area} has no rate of {limit.quantity}.")
