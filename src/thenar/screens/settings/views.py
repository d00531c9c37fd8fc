from django.http import HttpResponse


def rules(request, **kwargs):
    return HttpResponse("rules is not made yet")


def rule(request, **kwargs):
    return HttpResponse("rule is not made yet")


def staff_list(request, **kwargs):
    return HttpResponse("staff_list is not made yet")


def staff_list_changes(request, **kwargs):
    return HttpResponse("staff_list_changes is not made yet")
