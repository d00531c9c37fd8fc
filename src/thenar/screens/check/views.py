from django.http import HttpResponse


def check_start(request, **kwargs):
    return HttpResponse("check_start is not made yet")


def check_link(request, **kwargs):
    return HttpResponse("check_link is not made yet")


def check_page(request, **kwargs):
    return HttpResponse("check_page is not made yet")


def check_answers(request, **kwargs):
    return HttpResponse("check_answers is not made yet")


def check_sent(request, **kwargs):
    return HttpResponse("check_sent is not made yet")
