"""How an area is looked at: whose work, which part of the day, which rules. All from the address."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.conf import settings
from django.http import HttpRequest, QueryDict

from thenar.exposure.rule_sets import RubPolicy
from thenar.records.queries.workplace import AreaRecord
from thenar.screens.book import book
from thenar.screens.workplace.exposure_of import PartExposure, PostExposure, exposure_of
from thenar.screens.workplace.kept_work import given_posts
from thenar.screens.workplace.limits_here import WORDS_OF_POLICY, Limits, limits_here, with_numbers


@dataclass(frozen=True, slots=True)
class Choice:
    """One option of a choice, and whether it is the one in use."""

    value: str
    label: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class Look:
    """An area's posts as they are looked at. `post` and `part` are in view; None where nothing is known."""

    limits: Limits
    exposures: tuple[PostExposure, ...]
    post: PostExposure | None
    part: PartExposure | None

    @property
    def known(self) -> tuple[PostExposure, ...]:
        """Posts of which something is known."""
        return tuple(one for one in self.exposures if one.parts)

    @property
    def unknown(self) -> tuple[PostExposure, ...]:
        """Posts of which nothing is known."""
        return tuple(one for one in self.exposures if not one.parts)


def limits_asked(given: QueryDict, on: date) -> Limits:
    """The limits the address asks for; anything it can't ask for is passed over."""
    return limits_here(settings.JURISDICTION, book(), on, policy_asked(given), given.get("rules", ""))


def policy_asked(given: QueryDict) -> RubPolicy:
    """Whether rubs are wet contact, as the address asks."""
    asked = given.get("rubs", "")
    return RubPolicy(asked) if asked in set(RubPolicy) else RubPolicy.EXCLUDED


def look_at(record: AreaRecord, given: QueryDict, on: date) -> Look:
    """An area as the address asks: by default the post and part of the day likeliest to pass a limit."""
    limits = limits_asked(given, on)
    exposures = tuple(exposure_of(post, limits.drawn, book(), on) for post in given_posts(record))
    known = [one for one in exposures if one.parts]
    asked = next((one for one in known if one.post.role_ref == given.get("role", "")), None)
    post = asked or max(known, key=_chance, default=None)
    part = None
    if post is not None:
        part = post.part(given.get("part", "")) or post.likeliest or post.parts[0]
    return Look(limits, exposures, post, part)


def rule_choices(limits: Limits, on: date) -> tuple[Choice, ...]:
    """Rule sets whose limits can be drawn."""
    sets = with_numbers(book(), on, limits.policy)
    return tuple(Choice(one.id, one.rule_set.name, one.id == limits.drawn.id) for one in sets)


def rub_choices(limits: Limits) -> tuple[Choice, ...]:
    """Whether rubs are wet contact."""
    return tuple(Choice(p.value, says, p is limits.policy) for p, says in WORDS_OF_POLICY.items())


def post_choices(exposures: Sequence[PostExposure], chosen: PostExposure | None) -> tuple[Choice, ...]:
    """Roles that can be looked at."""
    return tuple(Choice(one.post.role_ref, one.role, one is chosen) for one in exposures)


def part_choices(post: PostExposure | None, chosen: PartExposure | None) -> tuple[Choice, ...]:
    """Parts of the day that can be looked at."""
    return tuple(Choice(part.part, part.name, part is chosen) for part in post.parts) if post else ()


def view_choices(request: HttpRequest, look: Look, on: date) -> dict[str, object]:
    """The form at the top of a page, with what is in use."""
    return {
        "role_choices": post_choices(look.known, look.post),
        "part_choices": part_choices(look.post, look.part),
        "rule_choices": rule_choices(look.limits, on),
        "rub_choices": rub_choices(look.limits),
        "query": request.GET.urlencode(),
    }


def _chance(exposure: PostExposure) -> tuple[bool, float]:
    """Watched posts come before those with a published rate only."""
    likeliest = exposure.likeliest
    chance = likeliest.chance.chance if likeliest and likeliest.chance else -1.0
    return exposure.watched_hours > 0, chance


def governing_id(limits: Limits) -> str:
    """Id of the rule set that governs; empty where it is not known."""
    return limits.governing.id if limits.governing else ""
