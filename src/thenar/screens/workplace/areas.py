"""Pages of areas."""

from django.http import HttpRequest, HttpResponse


def areas(request: HttpRequest, ref: str = "") -> HttpResponse:  # noqa: ARG001
    """To come."""
    return HttpResponse(status=501)


def area(request: HttpRequest, ref: str = "") -> HttpResponse:  # noqa: ARG001
    """To come."""
    return HttpResponse(status=501)
