"""Pages of duties."""

from django.http import HttpRequest, HttpResponse


def task_list(request: HttpRequest, ref: str = "") -> HttpResponse:  # noqa: ARG001
    """To come."""
    return HttpResponse(status=501)


def find_duties(request: HttpRequest, ref: str = "") -> HttpResponse:  # noqa: ARG001
    """To come."""
    return HttpResponse(status=501)


def duty_search(request: HttpRequest, ref: str = "") -> HttpResponse:  # noqa: ARG001
    """To come."""
    return HttpResponse(status=501)
