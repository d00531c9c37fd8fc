"""Pages of describing."""

from django.http import HttpRequest, HttpResponse


def describe_work(request: HttpRequest, ref: str = "") -> HttpResponse:  # noqa: ARG001
    """To come."""
    return HttpResponse(status=501)
