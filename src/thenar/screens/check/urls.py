"""Addresses: a worker's own look at their hands, on a phone."""

from django.urls import path

from thenar.screens.check import views

urlpatterns = [
    path("check/", views.check_start, name="check_start"),
    path("check/link/<str:token>/", views.check_link, name="check_link"),
    path("check/<int:number>/", views.check_page, name="check_page"),
    path("check/answers/", views.check_answers, name="check_answers"),
    path("check/sent/", views.check_sent, name="check_sent"),
]
