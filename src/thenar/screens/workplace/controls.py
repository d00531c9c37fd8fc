"""Pages of controls."""

from django.http import HttpRequest, HttpResponse


def compare_controls(request: HttpRequest, ref: str = "") -> HttpResponse:  # noqa: ARG001
    """To come."""
    return HttpResponse(status=501)
