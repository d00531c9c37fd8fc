from django.http import HttpResponse


def rules(request, **kwargs):
    return HttpResponse("rules is not made yet")


def rule(request, **kwargs):
    return HttpResponse("rule is not made yet")


def sources(request, **kwargs):
    return HttpResponse("sources is not made yet")
