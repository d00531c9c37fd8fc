"""Patch tests as a file: written out without names, and another clinic's file read for its figures."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods

from thenar.errors import BadInput
from thenar.exchange.patch_tests import NamedTest, PatchTestFile, read_patch_tests, write_patch_tests
from thenar.records.queries.patch_tests import clinic_tests
from thenar.records.rights import Act
from thenar.screens import clock
from thenar.screens.book import book
from thenar.screens.keeping import new_form_key
from thenar.screens.patch.quality import caution_of_quality, figures_of, reasons_of_quality
from thenar.screens.patch.quality_forms import DAY_FIRST, FileForm, PeriodForm
from thenar.screens.people import for_those_who, person


@require_http_methods(["GET", "HEAD", "POST"])
@for_those_who(Act.SEE_CLINICAL)
def patch_test_file(request: HttpRequest) -> HttpResponse:
    """GET writes the tests of a period out; POST reads a file and keeps nothing of it."""
    return _read(request) if request.method == "POST" else _written(request)


def _written(request: HttpRequest) -> HttpResponse:
    form = PeriodForm(request.GET, book=book())
    if not form.is_valid():
        return _page(request, form=FileForm(), refusal="Choose the period on the page of figures first.")
    tests = clinic_tests(
        from_on=form.cleaned_data["from_on"],
        until_on=form.cleaned_data["until_on"],
        by=person(request),
        now=clock.now(),
        to_file=True,
    )
    try:
        text = write_patch_tests(NamedTest(one.ref, one.test) for one in tests)
    except BadInput as problem:
        return _page(request, form=FileForm(), refusal=str(problem))
    response = HttpResponse(text, content_type="text/csv; charset=utf-8")
    response.headers["Content-Disposition"] = 'attachment; filename="patch-tests.csv"'
    return response


def _read(request: HttpRequest) -> HttpResponse:
    form = FileForm(request.POST, request.FILES)
    if not form.is_valid():
        return _page(request, form=form)
    given: dict[str, Any] = form.cleaned_data
    try:
        read = read_patch_tests(
            given["file"],
            name="The file",
            today=clock.today(),
            day_first=DAY_FIRST[given["dates"]],
        )
    except BadInput as problem:
        form.add_error("file", str(problem))
        return _page(request, form=form)
    return _page(request, form=form, read=read)


def _page(
    request: HttpRequest, *, form: FileForm, read: PatchTestFile | None = None, refusal: str = ""
) -> HttpResponse:
    known = book()
    context = {
        "form": form,
        "read": read,
        "refusal": refusal,
        "serious": [one for one in read.problems if one.serious] if read else [],
        "figures": figures_of([one.test for one in read.tests], known, clock.today())
        if read and read.tests
        else None,
        "caution_list": [caution_of_quality(known, clock.today())],
        "reasons": reasons_of_quality(known),
        "form_key": new_form_key(person(request)),
    }
    return render(request, "patch/file.html", context)
