"""A patch test done elsewhere, taken over from a file for the worker whose page it is."""

from datetime import date
from itertools import groupby

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods

from thenar.allergy.patch_test import Reading
from thenar.errors import BadInput
from thenar.exchange.patch_tests import NamedTest, PatchTestFile, read_patch_tests, write_patch_tests
from thenar.exchange.problems import Problem
from thenar.records.actions.patch_tests import apply_patch_test, read_patch_test
from thenar.records.models import PatchTest, Worker
from thenar.records.queries.workers import worker_story
from thenar.records.rights import Act
from thenar.screens import clock
from thenar.screens.book import book
from thenar.screens.clinic.taking import taken
from thenar.screens.patch.applying import post_now
from thenar.screens.patch.page import worker_page
from thenar.screens.patch.quality_forms import DAY_FIRST, FileForm
from thenar.screens.patch.wording import GRADES, prepared, put_on
from thenar.screens.people import for_those_who, person

LONGEST_TEXT = 400_000  # one test of 120 positions and ten days has some 100,000 characters


class KeepForm(forms.Form):
    """The test as it was looked over, in the form of a file."""

    text = forms.CharField(max_length=LONGEST_TEXT, widget=forms.HiddenInput, strip=False)


@require_http_methods(["GET", "HEAD", "POST"])
@for_those_who(Act.WRITE_CLINICAL)
def patch_test_from_file(request: HttpRequest, ref: str) -> HttpResponse:
    """Choose a file with one test, look it over, keep it with all its readings or not at all."""
    story = worker_story(ref=ref, by=person(request), now=clock.now(), why="patch test")
    form: forms.Form = FileForm()
    context: dict[str, object] = {}
    if request.POST.get("do") == "keep":
        form = keep = KeepForm(request.POST)
        made = taken(
            request,
            f"patch_test_from_file {ref}",
            keep,
            lambda: _kept(request, story.worker, keep.cleaned_data["text"]).ref,
        )
        if made:
            return redirect("patch_test", ref=made)
    elif request.method == "POST":
        form = sent = FileForm(request.POST, request.FILES)
        context = _looked_over(sent)
    context |= {"form": form, "file_form": form if isinstance(form, FileForm) else FileForm()}
    return worker_page(request, story.worker, post_now(story), "patch/from_file.html", context)


def _looked_over(form: FileForm) -> dict[str, object]:
    """What the page shows of a file; what is wrong with it is asked back at its field."""
    if not form.is_valid():
        return {}
    try:
        read = _read(form.cleaned_data["file"], DAY_FIRST[form.cleaned_data["dates"]])
        problems: tuple[Problem, ...] = read.problems
        if not read.tests:
            return {"problems": problems}
        named = _only(read)
        return {"problems": problems, **_shown(named), "text": write_patch_tests([named])}
    except BadInput as problem:
        form.add_error("file", str(problem))
        return {}


def _read(raw: bytes, day_first: bool | None = None) -> PatchTestFile:
    return read_patch_tests(raw, name="The file", today=clock.today(), day_first=day_first)


def _only(read: PatchTestFile) -> NamedTest:
    if len(read.tests) != 1:
        raise BadInput(
            what=f"The file holds {len(read.tests)} tests.",
            why="This page is one worker's, and a test kept for the wrong person could harm them.",
            todo="Leave only the rows of this worker's test in the file.",
        )
    return read.tests[0]


def _shown(named: NamedTest) -> dict[str, object]:
    known, test = book(), named.test
    days = sorted({one.on for one in test.readings})
    grades = {(one.position, one.on): GRADES[one.grade] for one in test.readings}
    return {
        "called": named.id,
        "applied_on": test.applied_on,
        "days": [(test.day(on), on) for on in days],
        "positions": [
            (one.number, put_on(one, known), prepared(one), [grades.get((one.number, on)) for on in days])
            for one in test.positions
        ],
    }


def _kept(request: HttpRequest, worker: Worker, text: str) -> PatchTest:
    """The test and every reading of it; the form is taken in one transaction."""
    test = _only(_read(text.encode())).test
    by, now = person(request), clock.now()
    kept = apply_patch_test(
        worker=worker,
        case=None,
        applied_on=test.applied_on,
        series=list(dict.fromkeys(one.series for one in test.positions if one.series)),
        positions=test.positions,
        note_text="Taken over from a file.",
        book=book(),
        by=by,
        now=now,
    )
    by_day = groupby(sorted(test.readings, key=_day), key=_day)
    for on, readings in by_day:
        grades = {one.position: one.grade for one in readings}
        off = test.occluded_until
        read_patch_test(
            test=kept,
            read_on=on,
            grades=grades,
            patches_off_on=off,
            note_text="",
            book=book(),
            by=by,
            now=now,
        )
    return kept


def _day(reading: Reading) -> date:
    return reading.on
