"""Assess an area, and print an assessment."""

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from thenar.documents.assessment import AssessmentContent, from_json, to_json
from thenar.documents.assessment import assessment_pdf as pdf_of
from thenar.records.actions.assessments import record_assessment
from thenar.records.queries.workplace import AreaStory, area_story, assessment
from thenar.records.rights import Act
from thenar.screens import clock
from thenar.screens.book import book
from thenar.screens.clinic.service import contact
from thenar.screens.clinic.taking import taken, typed
from thenar.screens.keeping import new_form_key
from thenar.screens.papers import pdf_page
from thenar.screens.people import for_those_who, person
from thenar.screens.workplace.assessment_forms import AssessForm
from thenar.screens.workplace.findings import assessment_content, assessor
from thenar.screens.workplace.looking import Look, limits_asked, look_at, rub_choices, rule_choices


@require_http_methods(["GET", "HEAD", "POST"])
@for_those_who(Act.WRITE_WORKPLACE)
def assess_area(request: HttpRequest, ref: str) -> HttpResponse:
    """Read the findings, agree actions, and keep the next assessment."""
    on = clock.today()
    story = area_story(ref=ref, by=person(request), on=on)
    sent = typed(request)
    look = look_at(story.record, request.GET if sent is None else sent, on)
    form = AssessForm(sent)
    if taken(request, f"assess_area {ref}", form, lambda: _assessed(request, story, look, form)):
        return redirect(f"{reverse('area', args=[ref])}#assessments")
    limits = limits_asked(request.GET if sent is None else sent, on)
    return render(
        request,
        "workplace/assess.html",
        {
            "story": story,
            "area": story.area,
            "look": look,
            "form": form,
            "findings": _content(request, story, look, None, None).roles,
            "rule_choices": rule_choices(limits, on),
            "rub_choices": rub_choices(limits),
            "number": len(story.assessments) + 1,
            "form_key": new_form_key(person(request)),
        },
    )


@require_safe
@for_those_who(Act.SEE_WORKPLACE)
def assessment_pdf(request: HttpRequest, ref: str) -> HttpResponse:
    """An assessment as it was printed."""
    kept = assessment(ref=ref, by=person(request))
    return pdf_page(pdf_of(from_json(kept.content), demo=settings.DEMO), f"assessment-{kept.ref}")


def _assessed(request: HttpRequest, story: AreaStory, look: Look, form: AssessForm) -> str:
    by, now = person(request), clock.now()

    def numbered(number: int) -> dict[str, object]:
        content = _content(request, story, look, form, number)
        pdf_of(content, demo=settings.DEMO)  # what can't be printed is not kept
        return to_json(content)

    return record_assessment(
        area=story.area,
        review_on=form.cleaned_data["review_on"],
        content_for=numbered,
        edition=book().edition,
        by=by,
        now=now,
    ).ref


def _content(
    request: HttpRequest, story: AreaStory, look: Look, form: AssessForm | None, number: int | None
) -> AssessmentContent:
    return assessment_content(
        look,
        area=story.area.name,
        controls=story.controls,
        actions=form.actions() if form else (),
        own_words=form.cleaned_data["own_words"] if form else "",
        number=number,
        review_on=form.cleaned_data["review_on"] if form else None,
        made_by=assessor(person(request), contact(), clock.today()),
        book=book(),
        jurisdiction=settings.JURISDICTION,
    )
