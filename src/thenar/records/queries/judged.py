"""What products mean for those who are to use them: one worker's answers, and groups for a formulary."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction
from django.db.models import Q

from thenar.allergy.allergies import Allergies
from thenar.knowledge import Book
from thenar.records.audit import note
from thenar.records.judging import Answers, Judged, allergies_of
from thenar.records.models import Area, GloveSize, Post, ProductDeclaration, User, Worker
from thenar.records.rights import Act, require


@dataclass(frozen=True, slots=True)
class WorkerGroup:
    """Workers of some areas with the same allergies and the same glove size (empty: not known).

    `members` names them, without whoever asks; for workers without allergies nobody is named.
    """

    pattern: str
    allergies: Allergies
    glove_size: str
    workers: int
    members: tuple[Worker, ...]


def judged_for(worker: Worker, declarations: Sequence[ProductDeclaration], book: Book) -> tuple[Judged, ...]:
    """The answers for one worker, in the order of the declarations. The caller has noted the look."""
    answers = Answers(allergies_of([worker.pk], book), declarations, book)
    return tuple(answers.of(worker.pk, declaration) for declaration in declarations)


@transaction.atomic
def sensitised_groups(
    *, areas: Sequence[Area], on: date, book: Book, by: User, now: datetime
) -> tuple[WorkerGroup, ...]:
    """Everyone with a running post in these areas or beneath, grouped; the largest groups first.

    Overrulings are about one worker and one declaration, so groups go by the rules alone.
    """
    require(by, Act.SEE_CLINICAL)
    ids = _workers_in(areas, on)
    known = _allergies_known(ids, book)
    sizes = _glove_sizes(ids)
    grouped: dict[tuple[Allergies, str], list[int]] = defaultdict(list)
    for pk in ids:
        grouped[known.get(pk, Allergies()), sizes.get(pk, "")].append(pk)
    patterns = _patterns(grouped)
    visible = Worker.objects.visible_to(by, on).in_bulk(known)
    note("groups looked at", by=by, now=now, why=f"{len(known)} workers with allergies")
    return tuple(
        WorkerGroup(
            pattern=patterns[allergies] + (f", size {size}" if size else ""),
            allergies=allergies,
            glove_size=size,
            workers=len(members),
            members=tuple(visible[pk] for pk in members if pk in visible),
        )
        for (allergies, size), members in sorted(grouped.items(), key=lambda one: (-len(one[1]), one[1]))
    )


def _workers_in(areas: Sequence[Area], on: date) -> list[int]:
    inside = Q(pk__in=[])
    for area in areas:
        inside |= Q(area__path__startswith=area.path)
    posts = Post.objects.running_on(on).filter(inside, worker__left_on__isnull=True)
    return list(posts.order_by("worker").values_list("worker", flat=True).distinct())


def _allergies_known(ids: Sequence[int], book: Book) -> dict[int, Allergies]:
    """Those of whom an allergy is known; people of whom none is known are left out."""
    sensitised = Worker.objects.filter(sensitisations__withdrawal__isnull=True, sensitisations__isnull=False)
    immediate = Worker.objects.filter(
        immediate_allergies__withdrawal__isnull=True, immediate_allergies__isnull=False
    )
    somewhere = {*sensitised.values_list("pk", flat=True), *immediate.values_list("pk", flat=True)}
    return allergies_of([pk for pk in ids if pk in somewhere], book)


def _glove_sizes(ids: Sequence[int]) -> dict[int, str]:
    """The newest size of each worker."""
    wanted = set(ids)
    rows = GloveSize.objects.order_by("at", "pk").values_list("worker_id", "size")
    return {worker: size for worker, size in rows if worker in wanted}


def _patterns(grouped: dict[tuple[Allergies, str], list[int]]) -> dict[Allergies, str]:
    """A number for each pattern of allergies, the most frequent first; a number tells nobody's allergies."""
    workers: dict[Allergies, list[int]] = defaultdict(list)
    for (allergies, _), members in grouped.items():
        workers[allergies] += members
    ordered = sorted(workers, key=lambda one: (-len(workers[one]), min(workers[one])))
    numbered = [one for one in ordered if one != Allergies()]
    return {Allergies(): "no allergy known"} | {
        one: f"pattern {number}" for number, one in enumerate(numbered, 1)
    }
