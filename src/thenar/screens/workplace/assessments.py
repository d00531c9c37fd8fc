"""Pages of assessments."""

from django.http import HttpRequest, HttpResponse


def assess_area(request: HttpRequest, ref: str = "") -> HttpResponse:  # noqa: ARG001
    """To come."""
    return HttpResponse(status=501)


def assessment_pdf(request: HttpRequest, ref: str = "") -> HttpResponse:  # noqa: ARG001
    """To come."""
    return HttpResponse(status=501)
