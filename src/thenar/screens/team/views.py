from django.http import HttpResponse


def team(request, **kwargs):
    return HttpResponse("team is not made yet")


def team_letter(request, **kwargs):
    return HttpResponse("team_letter is not made yet")


def team_letter_pdf(request, **kwargs):
    return HttpResponse("team_letter_pdf is not made yet")
