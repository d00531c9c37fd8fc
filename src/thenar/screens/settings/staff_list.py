from django.http import HttpResponse


def staff_list(request, **kwargs):
    return HttpResponse("staff_list is not made yet")


def staff_list_changes(request, **kwargs):
    return HttpResponse("staff_list_changes is not made yet")
