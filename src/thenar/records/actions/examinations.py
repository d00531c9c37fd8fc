"""Records what the practitioner saw and scored."""

from dataclasses import asdict, dataclass
from datetime import date, datetime

from django.db import transaction

from thenar.errors import BadInput, Conflict
from thenar.knowledge import Book
from thenar.records.actions.cases import require_open
from thenar.records.audit import note
from thenar.records.days import not_after_today
from thenar.records.models import Case, Examination, User
from thenar.records.rights import Act, require, require_not_own
from thenar.skin.hand_map import read_marks
from thenar.skin.severity import HandSigns, score_hands


@dataclass(frozen=True, slots=True)
class Circumstances:
    """What the practitioner must know to read a score later."""

    hard_to_judge: bool = False
    days_since_wet_shift: int | None = None
    under_treatment: str = "unknown"
    note: str = ""


@transaction.atomic
def record_examination(
    *,
    case: Case,
    signs: HandSigns,
    marks: tuple[str, ...],
    examined_on: date,
    circumstances: Circumstances,
    by: User,
    now: datetime,
    book: Book,
    corrects: Examination | None = None,
    correction_reason: str = "",
) -> Examination:
    """Score the signs and keep them with the edition used. A correction names what it corrects, and why."""
    require(by, Act.WRITE_CLINICAL)
    require_not_own(case.worker, by)
    not_after_today(examined_on, now, field="Examined on")
    require_open(case)
    if corrects is not None:
        _may_correct(corrects, case, correction_reason)
    severity = score_hands(signs, book, examined_on, hard_to_judge=circumstances.hard_to_judge)
    examination = Examination.objects.create(
        case=case,
        examined_on=examined_on,
        signs=asdict(signs),
        marks=[region.id for region in read_marks(marks)],
        total=severity.total,
        band=severity.band.code,
        edition=severity.edition,
        corrects=corrects,
        correction_reason=correction_reason,
        at=now,
        by=by,
        **asdict(circumstances),
    )
    note("examination recorded", by=by, now=now, target=examination.ref, worker_ref=case.worker.ref)
    return examination


def _may_correct(corrects: Examination, case: Case, reason: str) -> None:
    if corrects.case_id != case.pk or not reason.strip():
        raise BadInput(
            what="A correction needs its reason, and an examination of the same case.",
            why="The first entry stays as it was; the reason tells which one to believe.",
            todo="Say in a few words what was wrong.",
        )
    if Examination.objects.filter(corrects=corrects).exists():
        raise Conflict(
            what="This examination was already corrected.",
            why="Two corrections of one entry would contradict each other.",
            todo="Correct the newer entry instead.",
        )
