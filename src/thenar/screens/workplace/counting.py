"""Pages of counting."""

from django.http import HttpRequest, HttpResponse


def count_shift(request: HttpRequest, ref: str = "") -> HttpResponse:  # noqa: ARG001
    """To come."""
    return HttpResponse(status=501)


def tally_sheet(request: HttpRequest, ref: str = "") -> HttpResponse:  # noqa: ARG001
    """To come."""
    return HttpResponse(status=501)


def count_on_phone(request: HttpRequest, ref: str = "") -> HttpResponse:  # noqa: ARG001
    """To come."""
    return HttpResponse(status=501)


def sync_sessions(request: HttpRequest, ref: str = "") -> HttpResponse:  # noqa: ARG001
    """To come."""
    return HttpResponse(status=501)


def counting_manifest(request: HttpRequest, ref: str = "") -> HttpResponse:  # noqa: ARG001
    """To come."""
    return HttpResponse(status=501)


def counting_worker(request: HttpRequest, ref: str = "") -> HttpResponse:  # noqa: ARG001
    """To come."""
    return HttpResponse(status=501)
