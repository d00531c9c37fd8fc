from django.http import HttpResponse


def home(request, **kwargs):
    return HttpResponse("home is not made yet")


def sign_in(request, **kwargs):
    return HttpResponse("sign_in is not made yet")


def sign_out(request, **kwargs):
    return HttpResponse("sign_out is not made yet")


def demo_door(request, **kwargs):
    return HttpResponse("demo_door is not made yet")
