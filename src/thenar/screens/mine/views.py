from django.http import HttpResponse


def mine(request, **kwargs):
    return HttpResponse("mine is not made yet")


def my_check(request, **kwargs):
    return HttpResponse("my_check is not made yet")


def my_plan_pdf(request, **kwargs):
    return HttpResponse("my_plan_pdf is not made yet")


def my_letter(request, **kwargs):
    return HttpResponse("my_letter is not made yet")


def my_letter_pdf(request, **kwargs):
    return HttpResponse("my_letter_pdf is not made yet")


def who_looked(request, **kwargs):
    return HttpResponse("who_looked is not made yet")
