from django.http import HttpResponse


def check_report(request, **kwargs):
    return HttpResponse("check_report is not made yet")


def case(request, **kwargs):
    return HttpResponse("case is not made yet")


def examine(request, **kwargs):
    return HttpResponse("examine is not made yet")


def score(request, **kwargs):
    return HttpResponse("score is not made yet")


def plan_new(request, **kwargs):
    return HttpResponse("plan_new is not made yet")


def adjustment_new(request, **kwargs):
    return HttpResponse("adjustment_new is not made yet")


def review_new(request, **kwargs):
    return HttpResponse("review_new is not made yet")


def close_case(request, **kwargs):
    return HttpResponse("close_case is not made yet")


def examination(request, **kwargs):
    return HttpResponse("examination is not made yet")


def correct(request, **kwargs):
    return HttpResponse("correct is not made yet")


def plan(request, **kwargs):
    return HttpResponse("plan is not made yet")


def plan_pdf(request, **kwargs):
    return HttpResponse("plan_pdf is not made yet")


def letter(request, **kwargs):
    return HttpResponse("letter is not made yet")


def letter_pdf(request, **kwargs):
    return HttpResponse("letter_pdf is not made yet")


def review(request, **kwargs):
    return HttpResponse("review is not made yet")
