"""Writing down one day's grades, and correcting those of a day before."""

from collections.abc import Mapping

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods

from thenar.allergy.patch_days import Standing, readings_due
from thenar.allergy.patch_rules import reading_rules
from thenar.allergy.patch_test import PatchGrade
from thenar.records.actions.patch_tests import read_patch_test
from thenar.records.models import PatchReading
from thenar.records.patch_tests import grades_of
from thenar.records.queries.patch_tests import PatchTestStory, patch_test_story
from thenar.records.rights import Act, NotVisible
from thenar.screens import clock
from thenar.screens.book import book
from thenar.screens.clinic.reasons import reason_for
from thenar.screens.clinic.taking import taken, typed
from thenar.screens.patch.page import patch_page, typed_pairs
from thenar.screens.patch.read_form import ReadForm, as_graded, grade_name
from thenar.screens.patch.wording import GRADES, prepared, put_on, series_name
from thenar.screens.people import for_those_who, person

_GRADE_RULES = {
    PatchGrade.NEGATIVE: "negative",
    PatchGrade.DOUBTFUL: "doubtful",
    PatchGrade.WEAK: "weak",
    PatchGrade.STRONG: "strong",
    PatchGrade.EXTREME: "extreme",
    PatchGrade.IRRITANT: "irritant",
    PatchGrade.NOT_TESTED: "not-tested",
}


@require_http_methods(["GET", "HEAD", "POST"])
@for_those_who(Act.WRITE_CLINICAL)
def patch_test_read(request: HttpRequest, ref: str) -> HttpResponse:
    """One day's grades. What was left open becomes negative only after being asked back."""
    story = patch_test_story(ref=ref, by=person(request), now=clock.now())
    mistaken = _mistaken(request, story)
    form = _form(request, story, mistaken)
    if form.is_bound and request.method == "POST" and request.POST.get("do") != "change":
        if form.is_valid() and form.takes_open_as_negative and request.POST.get("do") != "sure":
            return _ask_back(request, story, form, mistaken)
        if taken(request, f"patch_test_read {ref}", form, lambda: _kept(request, story, form, mistaken).ref):
            return redirect("patch_test", ref=ref)
    return _page(request, story, form, mistaken)


def _mistaken(request: HttpRequest, story: PatchTestStory) -> PatchReading | None:
    """The reading to be corrected, if one is named."""
    ref = (typed(request) or request.GET).get("corrects", "")
    if not ref:
        return None
    found = next((one for one in story.readings if one.ref == ref), None)
    if found is None:
        raise NotVisible(by=person(request), target="patch test reading")
    return found


def _form(request: HttpRequest, story: PatchTestStory, mistaken: PatchReading | None) -> ReadForm:
    sent = typed(request)
    first: Mapping[str, object] = _first(story)
    if mistaken:
        first = as_graded(grades_of(mistaken), mistaken)
    if sent and request.POST.get("do") == "change":
        sent, first = None, request.POST.dict()
    return ReadForm(sent, test=story.as_read, book=book(), correcting=mistaken is not None, initial=first)


def _first(story: PatchTestStory) -> dict[str, object]:
    """A fresh form: today, and what was found not readable before stays so until somebody says otherwise."""
    test = story.as_read
    untested = [one.number for one in test.positions if test.is_not_tested(one.number)]
    return {
        "read_on": clock.today(),
        **{grade_name(number): PatchGrade.NOT_TESTED.value for number in untested},
    }


def _kept(
    request: HttpRequest, story: PatchTestStory, form: ReadForm, mistaken: PatchReading | None
) -> PatchReading:
    return read_patch_test(
        test=story.test,
        read_on=form.cleaned_data["read_on"],
        grades=form.grades(),
        note_text=form.cleaned_data["note"],
        book=book(),
        by=person(request),
        now=clock.now(),
        patches_off_on=form.cleaned_data["patches_off_on"],
        corrects=mistaken,
        correction_reason=form.cleaned_data.get("correction_reason", ""),
    )


def _ask_back(
    request: HttpRequest, story: PatchTestStory, form: ReadForm, mistaken: PatchReading | None
) -> HttpResponse:
    known = book()
    grades = form.grades()
    context = {
        "pairs": typed_pairs(request),
        "mistaken": mistaken,
        "read_on": form.cleaned_data["read_on"],
        "day": story.as_read.day(form.cleaned_data["read_on"]),
        "open_ones": [(one.number, put_on(one, known), prepared(one)) for one in form.open_ones],
        "graded": [
            (one.number, put_on(one, known), GRADES[grades[one.number]])
            for one in story.positions
            if one not in form.open_ones
        ],
    }
    return patch_page(request, story, "patch/read_sure.html", context)


def _page(
    request: HttpRequest, story: PatchTestStory, form: ReadForm, mistaken: PatchReading | None
) -> HttpResponse:
    known, test = book(), story.as_read
    due = readings_due(test, reading_rules(known, test.applied_on), clock.today())
    context = {
        "form": form,
        "mistaken": mistaken,
        "rows": form.table(),
        "series_names": {one: series_name(one, known) for one in story.test.series},
        "legend": list(GRADES.values()),
        "due": next((one for one in due if one.standing in (Standing.DUE, Standing.OVERDUE)), None),
        "grade_reasons": [
            reason_for(f"patch-test.grade.{name}", known, says=_means(grade, name))
            for grade, name in _GRADE_RULES.items()
        ],
    }
    return patch_page(request, story, "patch/read.html", context)


def _means(grade: PatchGrade, name: str) -> str:
    value = book().rule(f"patch-test.grade.{name}").on(clock.today())
    return f"{GRADES[grade].sign} {GRADES[grade].word}: {value.text}"
