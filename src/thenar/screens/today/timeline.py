"""A worker's story as dated entries in words, newest first."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from django.urls import reverse
from django.utils import timezone

from thenar.records.actions.letters import state_of
from thenar.records.queries.standing import Standing
from thenar.records.queries.workers import WorkerStory


@dataclass(frozen=True, slots=True)
class TimelineEntry:
    """Something that happened on a day.

    `marked` asks for attention; what is `struck` counts no more, and `became` says why.
    """

    on: date
    what: str
    words: str = ""
    url: str = ""
    by: str = ""
    urgency: str = ""
    contact: str = ""
    marked: bool = False
    struck: bool = False
    became: str = ""


_BECAME = {
    Standing.REPLACED: "Replaced by a newer wording.",
    Standing.REFUSED: "Was not sent: the worker did not agree.",
    Standing.WITHDRAWN: "Was not sent: withdrawn.",
}


def timeline_of(story: WorkerStory) -> list[TimelineEntry]:
    """Checks, cases, examinations, plans, adjustments, letters and reviews, newest first."""
    entries = [*_checks(story), *_cases(story), *_letters(story)]
    return sorted(entries, key=lambda entry: entry.on, reverse=True)


def _checks(story: WorkerStory) -> Iterator[TimelineEntry]:
    for check in story.checks:
        sorting = getattr(check, "sorting", None)
        yield TimelineEntry(
            on=timezone.localdate(check.submitted_at),
            what="Skin check",
            words=sorting.get_decision_display() + "." if sorting else "Waits to be dealt with.",
            url=reverse("check_report", args=[check.ref]),
            by=f"by {check.get_given_by_display().lower()}",
            urgency=check.urgency,
            contact=check.patient_contact,
            marked=check.urgency in ("emergency", "same_day"),
        )


def _cases(story: WorkerStory) -> Iterator[TimelineEntry]:
    """Each case inside out, so that what closed it stands above what opened it on the same day."""
    for case in story.cases:
        url = reverse("case", args=[case.ref])
        closing = getattr(case, "closing", None)
        if closing:
            yield TimelineEntry(closing.closed_on, "Case closed", f"{closing.get_outcome_display()}.", url)
        for review in case.reviews.all():
            outcome = getattr(review, "outcome", None)
            if outcome:
                said = f"{outcome.get_outcome_display()}. {outcome.note}".strip()
                yield TimelineEntry(outcome.done_on, "Review", said, reverse("review", args=[review.ref]))
        for adjustment in sorted(case.adjustments.all(), key=lambda one: one.pk, reverse=True):
            standing = story.standings.get(adjustment.pk, Standing.ON_ITS_WAY)
            yield TimelineEntry(
                on=timezone.localdate(adjustment.at),
                what="Adjustment agreed",
                words=f"{_things(len(adjustment.measures), 'measure')} from {_day(adjustment.start_on)}.",
                url=url,
                struck=not standing.stands,
                became=_BECAME.get(standing, ""),
            )
        for plan in case.plans.all():
            yield TimelineEntry(plan.made_on, "Plan handed over", "", reverse("plan", args=[plan.ref]))
        yield from _examinations(case)
        yield TimelineEntry(case.opened_on, "Case opened", "", url)


def _examinations(case) -> Iterator[TimelineEntry]:  # type: ignore[no-untyped-def]
    examinations = sorted(case.examinations.all(), key=lambda one: (one.examined_on, one.pk), reverse=True)
    corrected = {one.corrects_id for one in examinations}
    for one in examinations:
        words = f"HECSI {one.total}, {one.band.replace('-', ' ').replace('_', ' ')}."
        if one.hard_to_judge:
            words += " Hard to judge on this skin."
        if one.pk in corrected:
            words = f"Corrected later. It said: {words}"
        yield TimelineEntry(
            one.examined_on,
            "Examination",
            words,
            reverse("examination", args=[one.ref]),
            by=f"by {one.by.called}",
        )


def _letters(story: WorkerStory) -> Iterator[TimelineEntry]:
    for letter in story.letters:
        steps = list(letter.steps.all())
        yield TimelineEntry(
            on=steps[-1].on if steps else timezone.localdate(letter.at),
            what=f"Letter to {letter.recipient.called}",
            words=f"{state_of(letter).label}.",
            url=reverse("letter", args=[letter.ref]),
        )


def _things(count: int, thing: str) -> str:
    """How many of a thing.

    Examples
    --------
    >>> _things(1, "measure"), _things(3, "measure")
    ('1 measure', '3 measures')
    """
    return f"{count} {thing}{'' if count == 1 else 's'}"


def _day(day: date) -> str:
    return f"{day.day} {day:%B %Y}"
