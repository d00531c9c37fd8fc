"""Finds workers, and tells one worker's story."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from difflib import SequenceMatcher

from django.db import transaction
from django.db.models import Q

from thenar.records.audit import note
from thenar.records.days import day_of
from thenar.records.models import Case, Letter, Plan, Post, Review, SkinCheck, User, Worker
from thenar.records.models.people import readings_of
from thenar.records.queries.posts import current_post, managers_of
from thenar.records.queries.standing import Standing, adjustment_standings
from thenar.records.rights import Act, NotVisible, may, require

FOUND_AT_MOST = 30
LIKE_AT_MOST = 8
_COMPARED_AT_MOST = 500  # names beginning alike; beyond that the first letters say too little
_CLOSE = 0.75  # of 1, as difflib counts letters in common; our choice: "openshw" and "Openshaw" share 0.93
_WORDS_AT_MOST = 6


@dataclass(frozen=True, slots=True)
class Found:
    """A worker as a search shows them."""

    worker: Worker
    post: Post | None


@dataclass(frozen=True, slots=True)
class WorkerStory:
    """One worker: who they are, and, for those who may see it, what happened.

    `standings` tells how each adjustment stands, by its id; `managers` answer for where the worker works.
    """

    worker: Worker
    posts: tuple[Post, ...]
    clinical: bool
    checks: tuple[SkinCheck, ...] = ()
    cases: tuple[Case, ...] = ()
    letters: tuple[Letter, ...] = ()
    reviews_to_come: tuple[Review, ...] = ()
    plan: Plan | None = None
    standings: Mapping[int, Standing] = field(default_factory=dict)
    managers: tuple[User, ...] = ()

    @property
    def open_case(self) -> Case | None:
        """The case now open, if any."""
        return next((case for case in self.cases if not hasattr(case, "closing")), None)


@transaction.atomic
def find_workers(*, text: str, by: User, now: datetime) -> tuple[Found, ...]:
    """Workers whose name or staff number begins like the words typed. Names only: nothing clinical."""
    require(by, Act.SEE_IDENTITY)
    readings = readings_of(text)
    if not any(readings):
        return ()
    today = day_of(now)
    matches = Q(staff_number__iexact=text.strip())
    for words in readings:
        matches |= _all_begin(words)
    found = Worker.objects.visible_to(by, today).filter(matches)
    workers = list(found.order_by("family_name", "given_name")[:FOUND_AT_MOST])
    note("workers searched", by=by, now=now, data_class="C4", why=f"{len(workers)} found")
    return _with_posts(workers, today)


@transaction.atomic
def workers_like(*, text: str, by: User, now: datetime) -> tuple[Found, ...]:
    """Workers whose names are nearly those typed, the nearest first: for a misspelling. Names only.

    Every word typed must come close to a word of the name that begins with the same two letters; names that
    begin with the same three are looked at first.
    """
    require(by, Act.SEE_IDENTITY)
    today = day_of(now)
    words = readings_of(text)[-1][:_WORDS_AT_MOST]
    near: list[int] = []
    for letters in (3, 2):
        near = near or _nearest(words, letters, by=by, on=today)
    workers = sorted(Worker.objects.filter(pk__in=near), key=lambda worker: near.index(worker.pk))
    note("workers searched", by=by, now=now, data_class="C4", why=f"{len(workers)} with like names found")
    return _with_posts(workers, today)


def _nearest(words: list[str], letters: int, *, by: User, on: date) -> list[int]:
    if not words or min(map(len, words)) < letters:
        return []
    alike = Worker.objects.visible_to(by, on).filter(_all_begin([word[:letters] for word in words]))
    names = alike.order_by("family_name", "given_name").values_list("pk", "search_name")[:_COMPARED_AT_MOST]
    scored = ((min(_closeness(word, name) for word in words), pk) for pk, name in names)
    close = sorted((-score, place, pk) for place, (score, pk) in enumerate(scored) if score >= _CLOSE)
    return [pk for _, _, pk in close[:LIKE_AT_MOST]]


def _closeness(word: str, name: str) -> float:
    """How near the nearest word of a name comes. [0 to 1]"""
    parts = name.split()
    return max(1.0 if part.startswith(word) else SequenceMatcher(None, word, part).ratio() for part in parts)


def _all_begin(words: list[str]) -> Q:
    """Names of which some word begins with each of these."""
    matches = Q()
    for word in words:
        matches &= Q(search_name__startswith=word) | Q(search_name__contains=f" {word}")
    return matches


def _with_posts(workers: list[Worker], today: date) -> tuple[Found, ...]:
    posts = {
        post.worker_id: post
        for post in Post.objects.running_on(today).filter(worker__in=workers).select_related("area", "role")
    }
    return tuple(Found(worker, posts.get(worker.pk)) for worker in workers)


def visible_worker(ref: str, *, by: User, on: date) -> Worker:
    """The worker of that ref if this person may see them; else the same answer as for nobody."""
    worker = Worker.objects.visible_to(by, on).filter(ref=ref).first()
    if worker is None:
        raise NotVisible(by=by, target=f"worker {ref}"[:40])
    return worker


@transaction.atomic
def worker_identity(*, ref: str, by: User, now: datetime, why: str) -> WorkerStory:
    """Who one worker is and where they work, without anything clinical."""
    require(by, Act.SEE_IDENTITY)
    worker = visible_worker(ref, by=by, on=day_of(now))
    note("worker looked at", by=by, now=now, worker_ref=worker.ref, data_class="C4", why=why)
    posts = tuple(worker.posts.select_related("area", "role").order_by("-from_on"))
    return WorkerStory(worker, posts, clinical=False)


@transaction.atomic
def worker_story(*, ref: str, by: User, now: datetime, why: str = "worker page") -> WorkerStory:
    """One worker's story. A clerk gets identity and posts only."""
    if not may(by, Act.SEE_CLINICAL):
        return worker_identity(ref=ref, by=by, now=now, why=why)
    worker = visible_worker(ref, by=by, on=day_of(now))
    posts = tuple(worker.posts.select_related("area", "role").order_by("-from_on"))
    note("record looked at", by=by, now=now, worker_ref=worker.ref, why=why)
    post = current_post(worker, day_of(now))
    managers = managers_of(post, day_of(now)) if post else ()
    return replace(whole_story(worker, posts), managers=managers)


def whole_story(worker: Worker, posts: tuple[Post, ...]) -> WorkerStory:
    """Everything known of a worker. The caller has checked the right to it and noted the look."""
    letters = tuple(
        worker.letters.select_related("recipient", "adjustment")
        .prefetch_related("steps")
        .order_by("-at", "-pk")
    )
    return WorkerStory(
        worker=worker,
        posts=posts,
        clinical=True,
        checks=tuple(worker.checks.select_related("sorting").order_by("-submitted_at")),
        cases=tuple(
            worker.cases.select_related("closing")
            .prefetch_related("examinations__by", "plans", "adjustments", "reviews__outcome")
            .order_by("-opened_on", "-pk")
        ),
        letters=letters,
        standings=adjustment_standings(letters),
        reviews_to_come=tuple(
            Review.objects.filter(case__worker=worker, outcome__isnull=True).order_by("due_on")
        ),
        plan=Plan.objects.filter(case__worker=worker).order_by("-at", "-pk").first(),
    )
