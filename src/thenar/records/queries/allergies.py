"""What one worker reacts to, as the practitioner and as the worker sees it; and the lists given out."""

from dataclasses import dataclass
from datetime import datetime

from django.db import models, transaction

from thenar.records.audit import note
from thenar.records.days import day_of
from thenar.records.models import (
    Area,
    GloveSize,
    ImmediateAllergy,
    IssuedList,
    Overruling,
    PatchTest,
    Post,
    Sensitisation,
    User,
    Worker,
)
from thenar.records.queries.mine import own_worker
from thenar.records.queries.posts import current_posts
from thenar.records.queries.workers import visible_worker
from thenar.records.rights import Act, NotVisible, require


@dataclass(frozen=True, slots=True)
class AllergyStory:
    """Everything on record of a worker's allergies.

    `sensitisations` and `immediate` stand, by name of the allergen; `withdrawn` no longer do. The rest comes
    newest first, posts held now and older glove sizes too.
    """

    worker: Worker
    posts: tuple[Post, ...]
    sensitisations: tuple[Sensitisation, ...]
    immediate: tuple[ImmediateAllergy, ...]
    withdrawn: tuple[Sensitisation | ImmediateAllergy, ...]
    patch_tests: tuple[PatchTest, ...]
    overrulings: tuple[Overruling, ...]
    glove_sizes: tuple[GloveSize, ...]
    issued: tuple[IssuedList, ...]

    @property
    def post(self) -> Post | None:
        """The newest post held now; None without one."""
        return self.posts[0] if self.posts else None

    @property
    def areas(self) -> tuple[Area, ...]:
        """Where the worker works now: the areas of all posts held."""
        return tuple(dict.fromkeys(one.area for one in self.posts))

    @property
    def glove_size(self) -> str:
        """The size worn now; empty where nobody knows."""
        return self.glove_sizes[0].size if self.glove_sizes else ""


@dataclass(frozen=True, slots=True)
class KnownAllergies:
    """What stands of a worker's allergies, by name of the allergen, and their patch tests, newest first."""

    sensitisations: tuple[Sensitisation, ...]
    immediate: tuple[ImmediateAllergy, ...]
    patch_tests: tuple[PatchTest, ...]


def known_allergies(worker: Worker) -> KnownAllergies:
    """What a worker reacts to, in short. The caller has noted the look."""
    standing = {"withdrawal__isnull": True}
    return KnownAllergies(
        sensitisations=tuple(worker.sensitisations.filter(**standing).order_by("allergen", "pk")),
        immediate=tuple(worker.immediate_allergies.filter(**standing).order_by("allergen", "pk")),
        patch_tests=tuple(worker.patch_tests.select_related("end").order_by("-applied_on", "-pk")),
    )


@transaction.atomic
def allergy(*, ref: str, by: User, now: datetime) -> Sensitisation | ImmediateAllergy:
    """One allergy, withdrawn or not, for those who may see its worker; the look is noted."""
    require(by, Act.SEE_CLINICAL)
    kinds = (Sensitisation, ImmediateAllergy)
    rows = (kind.objects.filter(ref=ref).select_related("worker", "withdrawal__by") for kind in kinds)
    kept = next((found for found in (one.first() for one in rows) if found), None)
    if kept is None:
        raise NotVisible(by=by, target="allergy")
    worker = visible_worker(kept.worker.ref, by=by, on=day_of(now))
    note("record looked at", by=by, now=now, worker_ref=worker.ref, why="allergies")
    return kept


@transaction.atomic
def allergies_story(*, worker_ref: str, by: User, now: datetime) -> AllergyStory:
    """One worker's allergies, for those who may see them; the look is noted."""
    require(by, Act.SEE_CLINICAL)
    worker = visible_worker(worker_ref, by=by, on=day_of(now))
    note("record looked at", by=by, now=now, worker_ref=worker.ref, why="allergies")
    return _story(worker, now)


@transaction.atomic
def own_allergies(*, by: User, now: datetime) -> AllergyStory:
    """One's own allergies, who set them down, and the lists given out."""
    require(by, Act.SEE_OWN)
    worker = own_worker(by)
    note("own allergies looked at", by=by, now=now, worker_ref=worker.ref)
    return _story(worker, now)


@transaction.atomic
def issued_list(*, ref: str, by: User, now: datetime) -> IssuedList:
    """One list as it was given out, for the practitioner; the look is noted."""
    require(by, Act.SEE_CLINICAL)
    kept = _issued().filter(ref=ref).first()
    if kept is None:
        raise NotVisible(by=by, target="product list")
    worker = visible_worker(kept.worker.ref, by=by, on=day_of(now))
    note("record looked at", by=by, now=now, worker_ref=worker.ref, why="product list")
    return kept


@transaction.atomic
def own_list(*, ref: str, by: User, now: datetime) -> IssuedList:
    """One of one's own lists, those for supplies too."""
    require(by, Act.SEE_OWN)
    worker = own_worker(by)
    kept = _issued().filter(ref=ref, worker=worker).first()
    if kept is None:
        raise NotVisible(by=by, target="product list")
    note("own product list looked at", by=by, now=now, worker_ref=worker.ref)
    return kept


def _story(worker: Worker, now: datetime) -> AllergyStory:
    sensitisations = list(
        worker.sensitisations.select_related("by", "test", "withdrawal__by").order_by("allergen", "-pk")
    )
    immediate = list(
        worker.immediate_allergies.select_related("by", "withdrawal__by").order_by("allergen", "-pk")
    )
    everything: list[Sensitisation | ImmediateAllergy] = [*sensitisations, *immediate]
    return AllergyStory(
        worker=worker,
        posts=current_posts(worker, day_of(now)),
        sensitisations=tuple(one for one in sensitisations if not hasattr(one, "withdrawal")),
        immediate=tuple(one for one in immediate if not hasattr(one, "withdrawal")),
        withdrawn=tuple(one for one in everything if hasattr(one, "withdrawal")),
        patch_tests=tuple(
            worker.patch_tests.select_related("by", "end")
            .prefetch_related("readings")
            .order_by("-applied_on", "-pk")
        ),
        overrulings=tuple(
            worker.overrulings.select_related("by", "declaration__product").order_by("-at", "-pk")
        ),
        glove_sizes=tuple(worker.glove_sizes.select_related("by").order_by("-at", "-pk")),
        issued=tuple(worker.issued_lists.select_related("by").order_by("-at", "-pk")),
    )


def _issued() -> models.QuerySet[IssuedList]:
    return IssuedList.objects.select_related("worker", "by")
