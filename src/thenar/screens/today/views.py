from django.http import HttpResponse


def today(request, **kwargs):
    return HttpResponse("today is not made yet")


def workers(request, **kwargs):
    return HttpResponse("workers is not made yet")


def worker(request, **kwargs):
    return HttpResponse("worker is not made yet")


def invite(request, **kwargs):
    return HttpResponse("invite is not made yet")


def open_case(request, **kwargs):
    return HttpResponse("open_case is not made yet")
