"""The records as an extract takes them: all of them, without names or free text, as one audited look."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import TypeVar

from django.db import models, transaction
from django.db.models import QuerySet

from thenar.records.audit import note
from thenar.records.models import (
    Area,
    Case,
    Examination,
    ObservedSession,
    Post,
    Product,
    RecordedControl,
    Role,
    SkinCheck,
    Stock,
    User,
    Worker,
)
from thenar.records.rights import Act, require

Kept = TypeVar("Kept", bound=models.Model)
_AT_ONCE = 5000


@dataclass(frozen=True, slots=True)
class ExtractReading:
    """Everything an extract is made of, read row by row. Make one with `read_for_extract`.

    Only the named columns are fetched; asking a row for another one would fetch it, so nobody should.
    """

    def areas(self) -> Iterator[Area]:
        """All areas."""
        return _rows(Area.objects.only("parent"))

    def posts(self) -> Iterator[Post]:
        """All posts, past ones and those of leavers too."""
        held = Post.objects.select_related("worker")
        return _rows(held.only("area", "role", "from_on", "until_on", "hours_share", "worker__born_on"))

    def checks(self) -> Iterator[SkinCheck]:
        """All skin checks with what was made of them."""
        told = ("given_by", "submitted_at", "answers", "urgency", "patient_contact", "worker__born_on")
        sorted_as = ("sorting__decision", "sorting__case")
        return _rows(SkinCheck.objects.select_related("worker", "sorting").only(*told, *sorted_as))

    def cases(self) -> Iterator[Case]:
        """All cases with their closings."""
        told = ("opened_on", "earlier", "worker__born_on", "closing__closed_on", "closing__outcome")
        return _rows(Case.objects.select_related("worker", "closing").only(*told))

    def examinations(self) -> Iterator[Examination]:
        """All examinations; those that were corrected know by which."""
        told = ("examined_on", "total", "band", "hard_to_judge", "under_treatment")
        linked = ("case__worker", "corrected_by__id")
        return _rows(Examination.objects.select_related("case", "corrected_by").only(*told, *linked))

    def sessions(self) -> Iterator[ObservedSession]:
        """All observed sessions. Who was watched is not on record; who watched is not read."""
        return _rows(ObservedSession.objects.only("area", "role", "observed_on", "shift_part", "counts"))

    def stock(self) -> Iterator[Stock]:
        """Where every product stood, and when."""
        told = ("product__category", "area", "from_on", "until_on")
        return _rows(Stock.objects.select_related("product").only(*told))

    def controls(self) -> Iterator[RecordedControl]:
        """All controls, without their words and owners."""
        return _rows(
            RecordedControl.objects.only("area", "role", "control", "hierarchy", "start_on", "review_on")
        )

    def workers_by_number(self) -> dict[str, int]:
        """Each worker's row by staff number, to find whom a list from elsewhere means."""
        return dict(Worker.objects.values_list("staff_number", "pk"))

    def place_names(self) -> Iterator[tuple[str, int, str]]:
        """What areas, roles and products are called, for whoever may read the extract's keys."""
        for kind, rows in (("area", Area.objects), ("role", Role.objects), ("product", Product.objects)):
            for pk, name in rows.order_by("pk").values_list("pk", "name"):
                yield kind, pk, name


@transaction.atomic
def read_for_extract(*, by: User, now: datetime) -> ExtractReading:
    """Open the records for an extract.

    Raises
    ------
    NotAllowed
        This person may not see clinical records.
    """
    require(by, Act.SEE_CLINICAL)
    note("extract written", by=by, now=now, data_class="C1", why="pseudonymised, all workers")
    return ExtractReading()


def _rows(rows: QuerySet[Kept]) -> Iterator[Kept]:
    return rows.order_by("pk").iterator(chunk_size=_AT_ONCE)
